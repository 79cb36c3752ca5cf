"""A report in the format that was asked for, to a file, a folder or standard output."""

from __future__ import annotations

from pathlib import Path

from talkaround.audit.report import Report
from talkaround.batch import OutputError, replace_whole


def put(report: Report, format: str, out: Path | None) -> str:
    """What goes to standard output: the report itself, or where it was written.

    Raises:
        OutputError: it cannot be written there.
    """
    if format in ("csv", "parquet"):
        from talkaround.audit.as_files import as_files

        assert out is not None
        return "\n".join(str(path) for path in as_files(report, out, format))  # type: ignore[arg-type]
    text = _text(report, format)
    if out is None:
        return text
    if out.is_dir():
        raise OutputError(f"{out}: is a folder. Name the file that the report goes to, as {out / ('audit.' + format)}.")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise OutputError(f"{out.parent}: cannot be made ({error.strerror}). Choose another --out.") from None
    replace_whole(out, text)
    return str(out)


def _text(report: Report, format: str) -> str:
    if format == "json":
        return report.model_dump_json(indent=1) + "\n"
    if format == "html":
        from talkaround.audit.page import as_html

        return as_html(report)
    from talkaround.audit.as_table import as_table

    return as_table(report)


__all__ = ["put"]
