"""The ``talkaround`` command: arguments in, one call, output out.

Nothing heavy is imported up here, so that ``--help`` and shell completion answer at once.
"""

from __future__ import annotations

import atexit
import gc
import io
import sys
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

if TYPE_CHECKING:
    from datetime import date

    from talkaround.batch import Outcome, OutputFolder
    from talkaround.intake import Listener
    from talkaround.models import RepairOrder, RuleBook
    from talkaround.progress import Shown
    from talkaround.vocabulary import Lexicon, Vocabulary

FAILED, USAGE, INTERRUPTED = 1, 2, 130


class Format(StrEnum):
    """What an order, or an estimate of it, is written as."""

    json = "json"
    markdown = "markdown"
    csv = "csv"
    html = "html"
    prices = "prices"


class Transcript(StrEnum):
    """What a recording is written down as."""

    json = "json"
    srt = "srt"
    text = "text"


class Side(StrEnum):
    """Where the driver sits."""

    left_hand = "left-hand"
    right_hand = "right-hand"


class Book(StrEnum):
    """Whose published limits a reading is held against."""

    us_light = "us-light"
    us_commercial = "us-commercial"
    uk = "uk"
    eu = "eu"


class Span(StrEnum):
    """How long a period of an audit's charts is."""

    week = "week"
    month = "month"
    quarter = "quarter"
    year = "year"


class AuditFormat(StrEnum):
    """What an audit is given as."""

    table = "table"
    html = "html"
    csv = "csv"
    parquet = "parquet"
    json = "json"


class Listing(StrEnum):
    """What the lexicon's components are listed as."""

    table = "table"
    json = "json"


# Plain help and errors: one line each, the same on paper, in a log and on a terminal.
app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False)
lexicon_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Look into the trade vocabulary.")
app.add_typer(lexicon_app, name="lexicon")

LexiconOption = Annotated[
    Path | None,
    typer.Option(
        envvar="TALKAROUND_LEXICON", metavar="DIR", help="The shop's own lexicon folder, laid over the shipped one."
    ),
]
RecogniserOption = Annotated[
    str | None,
    typer.Option(
        envvar="TALKAROUND_RECOGNISER",
        metavar="MODEL",
        help="What writes recordings down: a faster-whisper model folder, or the name of one on this machine.",
        show_default=False,
    ),
]

PricesOption = Annotated[
    list[Path] | None,
    typer.Option(
        metavar="FILE",
        help="Your own prices, hours, rate and tax, for the estimate (--format prices gives such a file to fill in); "
        "more than one may be given, a later one over an earlier.",
        show_default=False,
    ),
]


_SEARCH_SELDOM = (50_000, 20, 20)
"""New objects, and searches, between the searches for garbage in the three generations of objects."""


def main() -> None:
    """Run the command; what the installed ``talkaround`` calls. Typer ends a broken pipe without a word."""
    # What is loaded stays to the end: searching it for garbage at the start, and once more at the exit, takes a tenth.
    gc.set_threshold(*_SEARCH_SELDOM)
    atexit.register(gc.freeze)
    _use_utf8()
    app(prog_name="talkaround")


@app.callback()
def talkaround(
    version: Annotated[
        bool,
        typer.Option("--version", is_eager=True, callback=lambda wanted: _version(wanted), help="Print the version."),
    ] = False,
) -> None:
    """Turn a technician's spoken or typed walkaround note into a repair order."""


@app.command()
def write(
    notes: Annotated[
        list[str],
        typer.Argument(
            metavar="NOTE",
            help="Typed notes (.txt), timed transcripts (.srt, .vtt, a recogniser's .json), recordings (.wav, .mp3, .m4a, "
            ".ogg, .webm, .flac), or - for standard input.",
        ),
    ],
    format: Annotated[
        Format | None,
        typer.Option(help="What to write; JSON unless one note goes to a terminal.", show_default=False),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Folder for the orders, one file a note named after it; made where missing."),
    ] = None,
    steering: Annotated[
        Side, typer.Option(help="Where the driver sits: decides what driver, passenger, nearside and offside mean.")
    ] = Side.left_hand,
    rule_book: Annotated[
        Book | None,
        typer.Option(
            help="Whose limits readings are held against; without it uk where the drive is right-hand, else us-commercial "
            "where the note has air brakes or a coupling, else us-light.",
            show_default=False,
        ),
    ] = None,
    explain: Annotated[
        bool,
        typer.Option(
            "--explain",
            help="Print, in place of the order, what each clause was read as, by which rule, and what came of it; "
            "with --out, write that beside the order as NAME.explain.txt.",
        ),
    ] = False,
    prices: PricesOption = None,
    recogniser: RecogniserOption = None,
    lexicon: LexiconOption = None,
) -> None:
    """Write the repair order of each note.

    Ends with 0 when every note was written, with 1 when one was not (the others still are), and with 2 when the
    command itself is wrong.
    """
    from talkaround import batch
    from talkaround.intake import read_note
    from talkaround.output import render
    from talkaround.pipeline import write_order

    chosen = (format or Format.json).value
    if explain and out is None and format is not None:
        _stop(
            f"--explain prints its text in place of the order: leave out --format {chosen}, or add --out DIR for both.",
            USAGE,
        )
    if out is None and len(notes) > 1 and chosen != "json":
        _stop(f"several notes as {chosen} need a folder: add --out DIR, or use --format json for one list.", USAGE)
    readable = format is None and out is None and len(notes) == 1 and sys.stdout.isatty()
    try:
        endings = {"order": batch.ENDINGS[chosen]} | ({"explanation": batch.EXPLANATION} if explain else {})
        folder = None if out is None else batch.OutputFolder(out, endings, notes)
    except batch.OutputError as error:
        _stop(str(error), USAGE)
    put_prices, remarks = _pricing(prices)
    vocabulary = _vocabulary(lexicon)
    book: RuleBook | None = rule_book.value if rule_book else None

    def texts_of(source: str, listener: Listener) -> list[str]:
        note = read_note(source, listener=listener)
        if explain:
            from talkaround.output import explanation
            from talkaround.pipeline import explain_order

            explained = explain_order(note, vocabulary=vocabulary, steering=steering.value, rule_book=book)
            told = explanation.render(explained)
            return [told] if out is None else [render(put_prices(explained.order), chosen), told]
        order = put_prices(write_order(note, vocabulary=vocabulary, steering=steering.value, rule_book=book))
        if readable:
            from talkaround.output import terminal

            return [terminal.render(order)]
        return [render(order, chosen)]

    outcome = _run(notes, texts_of, folder, recogniser, vocabulary, "orders")
    if folder is None:
        listed = len(notes) > 1 and not explain
        _print(_listed(outcome.texts) if listed else "\n".join(outcome.texts))
    _tell(remarks)
    if outcome.failed:
        raise typer.Exit(FAILED)


@app.command()
def price(
    orders: Annotated[
        list[str],
        typer.Argument(metavar="ORDER", help="Orders that `write` wrote as JSON, or - for standard input."),
    ],
    prices: PricesOption = None,
    format: Annotated[Format, typer.Option(help="What to write.")] = Format.html,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Folder for what is written, one file an order; made where missing."),
    ] = None,
) -> None:
    """Put your prices on orders that are written already, without reading the note again.

    Without --prices an order keeps the estimate that it has. Ends as `write` does.
    """
    from talkaround import batch
    from talkaround.intake import STANDARD_INPUT, NoteError
    from talkaround.order.written import ORDER_LIMIT, OrderError, order_from
    from talkaround.output import render

    if out is None and len(orders) > 1:
        _stop("several orders need a folder: add --out DIR.", USAGE)
    try:
        folder = None if out is None else batch.OutputFolder(out, {"order": batch.ENDINGS[format.value]}, orders)
    except batch.OutputError as error:
        _stop(str(error), USAGE)
    put_prices, remarks = _pricing(prices)

    def texts_of(source: str) -> list[str]:
        try:
            if source == STANDARD_INPUT:
                data = sys.stdin.buffer.read(ORDER_LIMIT + 1)
            else:
                with Path(source).open("rb") as file:
                    data = file.read(ORDER_LIMIT + 1)
            order = order_from(data)
        except OSError as error:
            raise NoteError(source, f"the order cannot be read ({error.strerror})", "Check the name") from None
        except OrderError as error:
            raise NoteError(source, error.problem, error.mend) from None
        return [render(put_prices(order), format.value)]

    outcome = batch.Outcome()
    batch.run(orders, texts_of, folder, lambda line: _tell([line]), outcome)
    _print("\n".join(outcome.texts))
    _tell(remarks)
    if outcome.failed:
        raise typer.Exit(FAILED)


@app.command()
def hear(
    recordings: Annotated[
        list[str],
        typer.Argument(metavar="FILE", help="Recordings: .wav, .mp3, .m4a, .ogg, .webm, .flac."),
    ],
    format: Annotated[
        Transcript, typer.Option(help="JSON with the time of every word, timed captions, or the words alone.")
    ] = Transcript.json,
    out: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Folder for the transcripts, one file a recording; made where missing."),
    ] = None,
    recogniser: RecogniserOption = None,
    lexicon: LexiconOption = None,
) -> None:
    """Write down what is said in each recording, to be read, mended and given to `write`.

    Ends as `write` does.
    """
    from talkaround import batch
    from talkaround.hearing import ENDINGS, as_format
    from talkaround.intake import NoteError, is_recording, sound_file

    if out is None and len(recordings) > 1:
        _stop("several recordings need a folder for their transcripts: add --out DIR.", USAGE)
    try:
        folder = None if out is None else batch.OutputFolder(out, {"transcript": ENDINGS[format.value]}, recordings)
    except batch.OutputError as error:
        _stop(str(error), USAGE)

    def texts_of(source: str, listener: Listener) -> list[str]:
        path = sound_file(source)
        if not is_recording(source):
            raise NoteError(source, "is no recording by its name", "Give its file the ending of its kind, such as .wav")
        return [as_format(listener(path), format.value)]

    outcome = _run(recordings, texts_of, folder, recogniser, _vocabulary(lexicon), "transcripts")
    _print("".join(outcome.texts))
    if outcome.failed:
        raise typer.Exit(FAILED)


@app.command()
def bulk(
    notes: Annotated[
        Path,
        typer.Argument(
            metavar="NOTES",
            help="A row a note: JSON Lines (.jsonl, .ndjson, also .gz), Parquet, or a folder of Parquet files. The field "
            "text is the note.",
        ),
    ],
    out: Annotated[
        Path, typer.Option(metavar="DIR", help="Folder for the orders, as Parquet parts; made where missing.")
    ],
    workers: Annotated[
        int | None,
        typer.Option(min=1, help="Processes on this machine; without it one for each core.", show_default=False),
    ] = None,
    scheduler: Annotated[
        str | None,
        typer.Option(
            metavar="ADDRESS",
            help="A Dask scheduler, such as tcp://host:8786, whose workers read in place of this machine; every one has "
            "to reach the folder under the same name.",
            show_default=False,
        ),
    ] = None,
    steering: Annotated[
        Side, typer.Option(help="Where the driver sits, where a row does not say it.")
    ] = Side.left_hand,
    rule_book: Annotated[
        Book | None,
        typer.Option(help="Whose limits readings are held against, where a row does not say it; else as in `write`."),
    ] = None,
    batch: Annotated[int, typer.Option(min=1, max=100_000, help="Notes in a part.")] = 1000,
    anew: Annotated[
        bool, typer.Option("--anew", help="Read all again, in place of the orders that are in the folder.")
    ] = False,
    lexicon: LexiconOption = None,
) -> None:
    """Write the orders of very many notes as a table, to be counted and searched.

    A run that was broken off goes on where it was when the same command is given again. Ends with 0 when every note was
    written, with 1 when one has an error in its row (the others still are), and with 2 when the command itself is wrong.
    """
    if scheduler and workers:
        _stop("--workers is for this machine and --scheduler for a cluster: leave one of them out.", USAGE)
    _vocabulary(lexicon)
    book: RuleBook | None = rule_book.value if rule_book else None
    try:
        from talkaround.bulk.job import BulkError, Outcome
        from talkaround.bulk.running import Settings, run
    except ModuleNotFoundError as error:
        _stop(f'bulk needs {error.name}: install it with pip install "talkaround[bulk]".', USAGE)
    outcome = Outcome()
    try:
        run(Settings(notes, out, workers, scheduler, steering.value, book, lexicon, batch, anew), outcome)
    except ModuleNotFoundError as error:
        _stop(f'--scheduler needs {error.name}: install it with pip install "talkaround[cluster]".', USAGE)
    except BulkError as error:
        _stop(str(error), USAGE)
    except KeyboardInterrupt:
        _stop(f"interrupted; {outcome.so_far()}. The same command goes on from there.", INTERRUPTED)
    _print(f"{outcome.so_far()}, in {outcome.seconds:.0f} s.")
    if outcome.errors:
        raise typer.Exit(FAILED)


@app.command()
def audit(
    place: Annotated[
        str,
        typer.Argument(
            metavar="PLACE",
            help="A folder of orders (from `write` or `bulk`), a .jsonl, .parquet or .json file of orders or notes, or a "
            "desk's store.",
        ),
    ],
    first: Annotated[str | None, typer.Option("--from", metavar="DAY", help="First day, as 2026-03-01.")] = None,
    last: Annotated[str | None, typer.Option("--to", metavar="DAY", help="Last day, itself included.")] = None,
    period: Annotated[Span, typer.Option(help="What is followed over time.")] = Span.month,
    technician: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Only these technicians' notes; may be given again.")
    ] = None,
    shop: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Only these shops; may be given again.")
    ] = None,
    system: Annotated[
        list[str] | None, typer.Option(metavar="ID", help="Only these systems, such as brakes; may be given again.")
    ] = None,
    since: Annotated[
        str | None,
        typer.Option(metavar="DAY[=WHAT]", help='Compare before and since a day, as "2026-09-01=brake training".'),
    ] = None,
    sample: Annotated[
        int, typer.Option(metavar="N", min=0, max=10_000, help="Draw so many orders at random, to be read by hand.")
    ] = 0,
    seed: Annotated[int, typer.Option(metavar="S", help="The same seed draws the same orders again.")] = 1,
    precision: Annotated[
        float,
        typer.Option(min=0.005, max=0.5, help="How near a share found by hand must come, to tell how many that takes."),
    ] = 0.05,
    about: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="CSV with the columns name,technician,shop,date, for orders that do not say these.",
        ),
    ] = None,
    format: Annotated[
        AuditFormat, typer.Option(help="A table to read, one HTML page, or files for other programs.")
    ] = AuditFormat.table,
    out: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="The file for html and json, the folder for csv and parquet."),
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Processes; without it, one a core.", show_default=False)
    ] = None,
    lexicon: LexiconOption = None,
) -> None:
    """Tell how findings are documented: what is left out, by whom, since when, and what agrees with the rule book.

    Ends with 0 when there was something to audit, with 1 when there was not, and with 2 when the command is wrong.
    """
    if format in (AuditFormat.csv, AuditFormat.parquet) and out is None:
        _stop(f"--format {format.value} gives several files: add --out FOLDER.", USAGE)
    vocabulary = _vocabulary(lexicon)
    for id in system or ():
        if id not in vocabulary.systems:
            _stop(f"there is no system {id!r}. Use one of: {', '.join(vocabulary.systems)}.", USAGE)
    since_day, _, what = (since or "").partition("=")
    try:
        from talkaround.audit import Asked, PlaceError
        from talkaround.audit import audit as audited
        from talkaround.audit.output import put
        from talkaround.batch import OutputError
        from talkaround.progress import counted

        asked = Asked(
            first=_day(first, "--from"), last=_day(last, "--to"), period=period.value,
            technicians=frozenset(technician or ()), shops=frozenset(shop or ()), systems=frozenset(system or ()),
            since=_day(since_day or None, "--since"), since_what=what.strip(),
            sample=sample, seed=seed, precision=precision,
        )  # fmt: skip
        with counted("orders") as progress:
            report = audited(place, vocabulary, asked, about=about, workers=workers, progress=progress)
        if not report.scope.orders:
            why = f": {report.remarks[-1]}" if report.scope.unreadable else " with what was asked for."
            _stop(f"{place}: there is no order to audit{why}", FAILED)
        text = put(report, format.value, out)
    except ModuleNotFoundError as error:
        _stop(f'the audit needs {error.name}: install it with pip install "talkaround[audit]".', USAGE)
    except (PlaceError, OutputError) as error:
        _stop(str(error), USAGE)
    except KeyboardInterrupt:
        _stop("interrupted; nothing written.", INTERRUPTED)
    _print(text)


@lexicon_app.command("list")
def list_components(
    format: Annotated[Listing, typer.Option(help="A table to read, or JSON for other programs.")] = Listing.table,
    count: Annotated[
        bool, typer.Option("--count", help="How much there is of everything, in place of the list.")
    ] = False,
    lexicon: LexiconOption = None,
) -> None:
    """List every component, with all the names that it is known by."""
    from talkaround import catalogue

    vocabulary = _vocabulary(lexicon)
    if count:
        import json

        counted = catalogue.counts(vocabulary)
        _print(json.dumps(counted, indent=1) if format is Listing.json else catalogue.counts_as_table(counted))
        return
    entries = catalogue.entries(vocabulary)
    _print(catalogue.as_json(entries) if format is Listing.json else catalogue.as_table(entries))


@lexicon_app.command("find")
def find_component(
    text: Annotated[list[str], typer.Argument(metavar="TEXT", help="A name as it is said or typed.")],
    lexicon: LexiconOption = None,
) -> None:
    """Show everything known of the component that a name means, and which ones come near."""
    from talkaround import catalogue

    wanted = " ".join(text)
    found = catalogue.found(_lexicon(lexicon), wanted)
    if not found:
        _stop(f'no component is called "{wanted}" or anything near it. Try another word for it.', FAILED)
    _print(found)


@lexicon_app.command("why")
def explain_phrase(
    text: Annotated[list[str], typer.Argument(metavar="PHRASE", help="Words as they stand in a note.")],
    lexicon: LexiconOption = None,
) -> None:
    """Show how a phrase is read: its words, what the lexicon takes them for and from where, and what lost."""
    from talkaround import catalogue

    _print(catalogue.why(_lexicon(lexicon), " ".join(text)))


@lexicon_app.command("check")
def check_lexicon(
    folder: Annotated[
        Path | None,
        typer.Argument(
            metavar="[DIR]",
            envvar="TALKAROUND_LEXICON",
            show_default=False,
            help="The shop's own lexicon folder; without one, the shipped lexicon is checked.",
        ),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Every remark, those on the shipped files alone too.")
    ] = False,
) -> None:
    """Tell every mistake in the lexicon by file and line, and remark on what may not do what was meant.

    Ends with 1 where there is a mistake, with 0 where there are only remarks.
    """
    from talkaround import catalogue
    from talkaround.vocabulary import LexiconError

    try:
        checked = catalogue.check(folder)
    except LexiconError as error:
        _stop(str(error), USAGE)
    _print(catalogue.report(checked, folder, everything=everything))
    if checked.errors:
        raise typer.Exit(FAILED)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a repair order."""
    import json

    from talkaround.models import RepairOrder

    document = {"$schema": "https://json-schema.org/draft/2020-12/schema", **RepairOrder.model_json_schema()}
    _print(json.dumps(document, indent=2))


@app.command()
def desk(
    host: Annotated[
        str, typer.Option(help="The address that it listens at; others reach only what is not loopback.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(min=0, max=65535, help="0 takes any that is free.")] = 8750,
    store: Annotated[
        str | None,
        typer.Option(
            metavar="URL",
            envvar="TALKAROUND_STORE",
            help="A file for SQLite, or postgresql://name@host/database; without it a file of this user's.",
            show_default=False,
        ),
    ] = None,
    certificate: Annotated[Path | None, typer.Option(metavar="FILE", help="PEM certificate, for TLS.")] = None,
    key: Annotated[Path | None, typer.Option(metavar="FILE", help="PEM key of the certificate.")] = None,
    recogniser: RecogniserOption = None,
    lexicon: LexiconOption = None,
) -> None:
    """Open the service desk in the browser: take notes, mend orders, sign them.

    Prints one address. The first account is made in the browser.
    """
    try:
        from talkaround.desk.serving import DeskError, Settings, serve

        serve(Settings(host, port, store, lexicon, recogniser, certificate, key), _print)
    except ModuleNotFoundError as error:
        _stop(f'the desk needs {error.name}: install it with pip install "talkaround[desk]".', USAGE)
    except DeskError as error:
        _stop(f"{error}.", USAGE)
    except KeyboardInterrupt:
        raise typer.Exit from None


def _day(text: str | None, option: str) -> date | None:
    from datetime import date

    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        _stop(f"{option} {text}: is no day. Write it as 2026-03-01.", USAGE)


def _version(wanted: bool) -> None:
    if not wanted:
        return
    from importlib.metadata import PackageNotFoundError, version

    try:
        _print(f"talkaround {version('talkaround')}")
    except PackageNotFoundError:
        _print("talkaround (run from its source, not installed)")
    raise typer.Exit


def _pricing(files: list[Path] | None) -> tuple[Callable[[RepairOrder], RepairOrder], list[str]]:
    """What puts the estimate on an order, and the list that it keeps its remarks in; broken files end the command."""
    if not files:
        return lambda order: order, []
    from talkaround.estimating import PriceFileError, read_prices
    from talkaround.estimating import price as estimate

    try:
        prices = read_prices(files)
    except PriceFileError as error:
        _tell(error.problems)
        raise typer.Exit(USAGE) from None
    remarks: list[str] = []

    def put(order: RepairOrder) -> RepairOrder:
        priced = estimate(order, prices)
        remarks.extend(priced.remarks)
        return order.model_copy(update={"estimate": priced.estimate})

    return put, remarks


def _tell(lines: list[str]) -> None:
    for line in lines:
        print(f"talkaround: {line}", file=sys.stderr, flush=True)


def _vocabulary(folder: Path | None) -> Vocabulary:
    """The shipped vocabulary with the shop's ``folder`` over it; a broken one ends the command before any note."""
    from talkaround.vocabulary import LexiconError, load_vocabulary

    try:
        return load_vocabulary(folder)
    except LexiconError as error:
        _stop(str(error), USAGE)


def _lexicon(folder: Path | None) -> Lexicon:
    """The same with where everything stands, read from the files themselves."""
    from talkaround.vocabulary import LexiconError, read_lexicon

    try:
        return read_lexicon(folder)
    except LexiconError as error:
        _stop(str(error), USAGE)


def _run(
    sources: list[str],
    texts_of: Callable[[str, Listener], list[str]],
    folder: OutputFolder | None,
    recogniser: str | None,
    vocabulary: Vocabulary,
    made: str,
) -> Outcome:
    """Make the texts of each source and put them away; recordings are listened to with the model ``recogniser``."""
    from talkaround import batch
    from talkaround.progress import shown

    outcome = batch.Outcome()
    try:
        with shown(sources) as show:
            listener = _listener(recogniser, vocabulary, show)
            batch.run(show.sources, lambda source: texts_of(source, listener), folder, show.report, outcome)
    except KeyboardInterrupt:
        done = "nothing" if folder is None else f"{outcome.written} of {len(sources)} {made}"
        _stop(f"interrupted; {done} written.", INTERRUPTED)
    return outcome


def _listener(recogniser: str | None, vocabulary: Vocabulary, show: Shown) -> Listener:
    """What writes recordings down; the model is loaded when the first one comes."""
    from functools import cache

    from talkaround import hearing
    from talkaround.intake import NoteError

    model = cache(lambda: hearing.load(recogniser, vocabulary.expected))

    def listener(path: Path) -> dict[str, Any]:
        try:
            return hearing.listen(path, model(), show.listening(path))
        except hearing.RecogniserError as error:
            raise NoteError(str(path), error.problem, error.mend) from None

    return listener


def _listed(texts: list[str]) -> str:
    """One JSON list of orders that are JSON themselves."""
    return "[\n" + ",\n".join(text.strip() for text in texts) + "\n]"


def _print(text: str) -> None:
    """``text`` to standard output, ended by one line end; flushed here, where a broken pipe can still be caught."""
    if text:
        sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
    sys.stdout.flush()


def _stop(line: str, status: int) -> NoReturn:
    _tell([line])
    raise typer.Exit(status)


def _use_utf8() -> None:
    """Orders are UTF-8 with their own line ends, whatever the machine's habit; a terminal keeps its encoding."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        if sys.stdout.isatty():
            sys.stdout.reconfigure(errors="replace")
        else:
            sys.stdout.reconfigure(encoding="utf-8", newline="")


if __name__ == "__main__":
    main()
