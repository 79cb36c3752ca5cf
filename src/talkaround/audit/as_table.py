"""The audit as plain text for a terminal: the sentences first, then the figures they rest on."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence

from rich.box import Box
from rich.console import Console
from rich.table import Table
from rich.text import Text

from talkaround.audit._wording import (
    CAUTION,
    TOO_FEW,
    VISIT_KINDS,
    between,
    counted,
    kappa_words,
    met_of,
    nothing,
    percent,
    played,
    scope_sentence,
    what_stands_out,
)
from talkaround.audit.report import Report, Share
from talkaround.output._view import clean

WIDTH = 80
_AT_ONCE = 3
"""Points beside each other in a table of technicians."""
# A rule of dashes below the headings, and nothing else: it can be read aloud and pasted anywhere.
_PLAIN = Box("    \n    \n -  \n    \n    \n    \n    \n    \n", ascii=True)


def as_table(report: Report, width: int = WIDTH) -> str:
    """The report in rows of at most ``width`` characters (60 or more), without colour or control characters."""
    out = io.StringIO()
    console = Console(file=out, width=max(width, 60), color_system=None, force_terminal=False, highlight=False)
    page = _Page(console)
    page.says("AUDIT OF NOTES")
    page.says(scope_sentence(report.scope))
    page.says(CAUTION)
    page.heading("What stands out")
    page.listed(what_stands_out(report) or (nothing(report),))
    if report.before_after:
        page.heading(f"Before and since: {report.marked}")
        page.listed(b.sentence for b in report.before_after)
    _points(report, page)
    _technicians(report, page)
    _agreement(report, page)
    _rest(report, page)
    return "\n".join(row.rstrip() for row in out.getvalue().splitlines()) + "\n"


class _Page:
    def __init__(self, console: Console):
        self.console = console

    def says(self, words: str) -> None:
        self.console.print(Text(clean(words)))

    def heading(self, words: str) -> None:
        self.console.print()
        self.says(words.upper())

    def listed(self, sentences: Iterable[str]) -> None:
        grid = Table.grid(padding=(0, 1))
        for sentence in sentences:
            grid.add_row(Text("  -"), Text(clean(sentence)))
        self.console.print(grid)

    def table(self, heads: Sequence[str], rows: Iterable[Sequence[str]], right: frozenset[int] = frozenset()) -> None:
        """``right`` are the columns of numbers, which stand at the right; the first one is folded where it is long."""
        table = Table(box=_PLAIN, show_edge=False, pad_edge=False, header_style="")
        for n, head in enumerate(heads):
            table.add_column(head, justify="right" if n in right else "left", overflow="fold")
        for row in rows:
            table.add_row(*(Text(clean(cell)) for cell in row))
        self.console.print(table)


def _interval(share: Share | None) -> str:
    if share is None or not share.due:
        return "-"
    return f"{percent(share.share)} ({between(share.low, share.high)})" + (" few" if share.few else "")


def _points(report: Report, page: _Page) -> None:
    rows = []
    for p in report.points:
        share = report.everybody.points.get(p.id)
        rows.append((p.name, _interval(share), met_of(share) if share and share.due else "never due"))
    if rows:
        page.heading("Everybody, point by point")
        page.table(("Point", "Share (interval)", "Kept of due"), rows, frozenset({2}))
    if report.everybody.score:
        s = report.everybody.score
        page.says(
            f"All points together, weighted: {percent(s.mean)} ({between(s.low, s.high)}) of what a note is asked for."
        )


def _technicians(report: Report, page: _Page) -> None:
    named = {s.point for s in report.stands_out} | {
        c.point for c in report.charts if c.who and c.changed_from is not None
    }
    points = [p for p in report.points if p.id in named]
    if not points or not report.technicians:
        return
    page.heading("By technician, where something stands out")
    for first in range(0, len(points), _AT_ONCE):
        some = points[first : first + _AT_ONCE]
        rows = [(r.who, *(_interval(r.points.get(p.id)) for p in some)) for r in report.technicians]
        page.table(("Technician", *(p.name for p in some)), rows)
        page.console.print()
    page.says(f"By name, nobody is ranked; few: {TOO_FEW}.")


def _agreement(report: Report, page: _Page) -> None:
    if not report.agreement:
        return
    page.heading("Agreement with the rule book")
    rows = []
    for a in report.agreement:
        down, up = played(a)
        rows.append(
            (a.who or "Everybody", f"{a.lines:,}", kappa_words(a) + (" few" if a.few else ""), f"{down:,}", f"{up:,}")
        )
    page.table(("Technician", "Lines", "Kappa (interval)", "Played down", "Played up"), rows, frozenset({1, 3, 4}))


def _rest(report: Report, page: _Page) -> None:
    v = report.visits
    if v.vehicles:
        page.heading("Vehicles seen again")
        page.says(f"{counted(v.vehicles, 'vehicle')} known by VIN or plate, {v.seen_again:,} seen more than once.")
        page.table(("Kind", "How many"), [(words, f"{v.counts.get(k, 0):,}") for k, words in VISIT_KINDS.items()],
                   frozenset({1}))  # fmt: skip
    if report.empty_words:
        page.heading("Words that say nothing")
        page.says(", ".join(f'"{words}" {n:,}' for words, n in report.empty_words))
    if report.sample:
        s = report.sample
        page.heading("A sample to read by hand")
        page.says(
            f"Seed {s.seed}; {counted(s.needed, 'order')} would tell a share to within {s.precision * 100:g} of 100."
        )
        page.listed(", ".join(w for w in (f"order {o.order}", o.date, o.technician, o.shop) if w) for o in s.orders)
    if report.remarks:
        page.heading("Remarks")
        page.listed(report.remarks)


__all__ = ["WIDTH", "as_table"]
