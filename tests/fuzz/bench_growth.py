"""How time grows with bad input: ``python tests/fuzz/bench_growth.py [patterns] [inputs] [notes] [WORD...]`` prints figures.

``patterns``: each regular expression of the program on texts made from it, one repeated part pumped and then a tail that
does not fit, of n to 8 n characters. ``inputs``: transcripts, price files, lexicon files and orders of n to 8 n rows.
``notes``: whole notes of bad texture, of n to 8 n characters; further words choose some of them, and a number is n. The
exponent is that of a power of the length, fitted through the four times: 1 is linear, 2 is a square.
"""

from __future__ import annotations

import math
import re
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parent.parent)]

from patterns import Found, all_patterns  # noqa: E402
from talkaround.estimating import PriceFileError, read_prices  # noqa: E402
from talkaround.intake import NoteError, note_from_bytes  # noqa: E402
from talkaround.models import Note  # noqa: E402
from talkaround.order.written import order_from  # noqa: E402
from talkaround.output import render  # noqa: E402
from talkaround.pipeline import write_order  # noqa: E402
from talkaround.vocabulary import LexiconError, load_vocabulary, read_lexicon  # noqa: E402

_QUICK_S = 0.002
"""What takes less at the full length cannot be timed, and need not be."""
_LINEAR = 1.35
_TOO_LONG_S = 120


def exponent(times: list[tuple[int, float]]) -> float:
    """The slope of the logarithms, by least squares."""
    xs, ys = [math.log(n) for n, _ in times], [math.log(max(t, 1e-7)) for _, t in times]
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys, strict=True)) / sum((a - x) ** 2 for a in xs)


def timed(do: Callable[[], object]) -> float:
    begun = time.process_time()
    do()
    return time.process_time() - begun


def _over(_number: int, _frame: FrameType | None) -> None:
    raise TimeoutError


# ----- patterns -------------------------------------------------------------------------------------------------------


def _sample(op: Any, arg: Any, pick: int) -> str:
    """A short text that fits a part of a pattern; ``pick`` chooses among what may stand there."""
    name = str(op)
    if name == "LITERAL":
        return chr(arg)
    if name in ("NOT_LITERAL", "ANY"):
        return "x "[pick % 2]
    if name == "IN":
        return _one_of(arg, pick)
    if name == "SUBPATTERN":
        return _samples(arg[3], pick)
    if name == "ATOMIC_GROUP":
        return _samples(arg, pick)
    if name == "BRANCH":
        return _samples(arg[1][pick % len(arg[1])], pick)
    if name.endswith("_REPEAT"):
        return _samples(arg[2], pick) * max(arg[0], 1)
    return ""


def _one_of(items: Any, pick: int) -> str:
    negate = str(items[0][0]) == "NEGATE"
    known = {"CATEGORY_DIGIT": "7", "CATEGORY_SPACE": " ", "CATEGORY_WORD": "w", "CATEGORY_NOT_SPACE": "x",
             "CATEGORY_NOT_WORD": ".", "CATEGORY_NOT_DIGIT": "x"}  # fmt: skip
    fits = [
        chr(a) if str(o) == "LITERAL" else chr(a[0]) if str(o) == "RANGE" else known[str(a)]
        for o, a in items
        if a is not None
    ]
    if not negate:
        return fits[pick % len(fits)]
    return next(c for c in ("x", " ", "7", ".", "-")[pick % 5 :] + ("x", " ", "7", ".", "“") if c not in fits)


def _samples(parts: Any, pick: int) -> str:
    return "".join(_sample(op, arg, pick) for op, arg in parts)


def _pumps(parts: Any, pick: int, before: str = "") -> Iterator[tuple[str, str]]:
    """What stands before each endless repeat, and what is repeated."""
    for op, arg in parts:
        name = str(op)
        if name.endswith("_REPEAT"):
            if arg[1] >= 40:
                yield before, _samples(arg[2], pick)
            yield from _pumps(arg[2], pick, before)
        elif name == "SUBPATTERN":
            yield from _pumps(arg[3], pick, before)
        elif name == "BRANCH":
            for branch in arg[1]:
                yield from _pumps(branch, pick, before)
        before += _sample(op, arg, pick)


def texts_against(found: Found) -> set[tuple[str, str, str]]:
    """Beginning, what is repeated, and the end of each text."""
    import importlib

    pattern = found.pattern.decode("latin-1") if isinstance(found.pattern, bytes) else found.pattern
    tree = importlib.import_module("re._parser").parse(pattern, found.flags)
    out = set()
    for pick in range(6):
        for before, again in [*_pumps(tree, pick), ("", _samples(tree, pick)), ("", _samples(tree, pick)[:-1])]:
            out |= {(before, again, end) for end in ("", "\x01", "!", "x")} if again else set()
    return out


def patterns(size: int = 2_000) -> None:
    tried = slow = 0
    worst = ("", 0.0, 0.0)
    found_all = all_patterns()
    for found in found_all:
        made = re.compile(found.pattern, found.flags)
        look = made.fullmatch if found.whole else made.search if found.anywhere else made.match
        for before, again, end in sorted(texts_against(found)):
            times = []
            for n in (size, 2 * size, 4 * size, 8 * size):
                text: Any = before + again * (n // len(again)) + end
                given = text.encode("latin-1", "replace") if isinstance(found.pattern, bytes) else text
                times.append((n, timed(lambda look=look, given=given: look(given))))  # type: ignore[misc]
            tried += 1
            grows = exponent(times) if times[-1][1] > _QUICK_S else 0.0
            if grows > worst[1]:
                worst = (found.where, grows, times[-1][1])
            if grows > _LINEAR:
                slow += 1
                print(
                    f"  {found.where}: n^{grows:.2f}, {times[-1][1] * 1e3:.0f} ms: {before!r} + {again!r} * n + {end!r}"
                )
    print(f"patterns: {len(found_all)}, texts: {tried}, steeper than n^{_LINEAR}: {slow}; steepest: {worst}")


# ----- whole notes ----------------------------------------------------------------------------------------------------

TEXTURES: dict[str, str] = {
    "one word": "x", "one part as one word": "tire", "the same word": "worn ", "the same part": "tire ", "no": "no ",
    "digits": "7", "numbers": "7 ", "numbers in words": "seven hundred ", "readings": "3 mm ", "fractions": "1/32 ",
    "punctuation": ".", "marks": ".,;:!? ", "dashes": "- ", "quotes": '"', "curly quotes": "“",
    "nested quotes": "(“'", "brackets": "((", "part names": "left front lower ball joint ", "no spaces": "tire,worn.",
    "combining": 'e\u0301', "right to left": '\u05d0\u05d1 ', "overrides": '\u202etire ', "zero width": 'ti\u200bre ',
    "emoji": "😀", "letters": "a b c d ", "vin letters": "one F T F W ", "line ends": "\n", "lines": "tire worn\n",
    "blank": "x" + " " * 40, "left": "left ", "and": "tire and ", "customer": "customer says ",
    "scratch that": "tire worn scratch that ", "same": "same on the other side ", "ditto": "right one too ",
    "need": "needs one ", "initials": "A.B.", "apostrophes": "a'", "slashes": "a/", "codes": "P0301 ",
    "date codes": "date code all ", "plates": "plate no no ", "misspelled": "bal joynt ", "unknown": "glorp ",
    "statements": "left front tire is worn replace it. ", "where": "on the ", "concern": "customer states noise. ",
    "both": "both fronts and rears ", "unit": "psi ", "odometer": "84,210 miles ", "tire size": "235/65R17 ",
    "spelled": "alpha bravo ", "commas": "tire, ", "except": "all tires good except ",
}  # fmt: skip


def notes(words: list[str], size: int) -> None:
    vocabulary = load_vocabulary()
    # All kinds of parts, which give as many lines.
    every = " is worn. ".join(c.name for c in vocabulary.components.values())
    for name, again in {**TEXTURES, "every part": every}.items():
        if words and name not in words:
            continue
        times, parts = [], []
        try:
            for n in (size, 2 * size, 4 * size, 8 * size):
                text = ("tire " + again * (n // len(again) + 1))[:n]
                note = note_from_bytes(text.encode(), source="note", name="note", suffix=".txt")
                signal.alarm(_TOO_LONG_S)
                times.append((n, timed(lambda note=note: write_order(note, vocabulary=vocabulary))))  # type: ignore[misc]
                signal.alarm(0)
                parts.append(f"{times[-1][1]:.2f}")
        except TimeoutError:
            print(f"  {name:22} {' '.join(parts)} and then more than {_TOO_LONG_S} s", flush=True)
            continue
        except NoteError as error:
            print(f"  {name:22} refused: {error}", flush=True)
            continue
        grows = exponent(times)
        mark = "  <--" if grows > _LINEAR and times[-1][1] > 0.2 else ""
        print(f"  {name:22} n^{grows:.2f}  {' '.join(parts)} s at {size} to {8 * size} characters{mark}", flush=True)


# ----- other inputs ---------------------------------------------------------------------------------------------------


def _order(n: int) -> str:
    held = write_order(note_of("Left front tire is at 3/32, replace it. Horn works."), vocabulary=load_vocabulary())
    lines = [held.lines[0].model_copy(update={"number": k + 1}) for k in range(n)]
    return held.model_copy(update={"lines": lines, "questions": [], "parts": [], "jobs": []}).model_dump_json()


def note_of(text: str, suffix: str = ".txt") -> Note:
    return note_from_bytes(text.encode(), source="note", name="note", suffix=suffix)


def _in_folder(name: str, text: str, read: Callable[[Path], object]) -> Callable[[], object]:
    path = Path(tempfile.mkdtemp(prefix="talkaround-growth-")) / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, "utf-8")
    return lambda: read(path)


def _lexicon_of(path: Path) -> object:
    told: list[LexiconError] = []
    return read_lexicon(path.parent, told.append)


def inputs() -> Iterator[tuple[str, int, Callable[[int], Callable[[], object]]]]:
    """Each with the least number of rows, and what reads so many."""
    cue = "00:00:01,000 --> 00:00:02,000\ntire <b is <c worn\n\n"
    word = '{"word": " tire", "start": 1, "end": 2},'
    yield "cues", 2_000, lambda n: lambda: note_of(cue * n, ".srt")
    yield "cues of one line", 2_000, lambda n: lambda: note_of(cue.strip() + " <c &#" * n, ".srt")
    yield "timed words", 2_000, lambda n: lambda: note_of("[" + word * n + word[:-1] + "]", ".json")
    for name, file, head, row in (
        ("prices", "p.toml", "[parts]\n", "a{} = 1\n"),
        ("prices, all wrong", "p.toml", "[parts]\n", 'a{} = "x"\n'),
        ("spellings", "spelling.toml", "[shorthand]\n", "zq{} = 'tire'\n"),
        ("names", "places.toml", "[left]\nnames = [\n", '"zq{}",\n'),
        ("names to drop, none there", "places.toml", "[left]\ndrop = [\n", '"zq{}",\n'),
        ("tables of nothing", "conditions.toml", "", "[zq{}]\nx = 1\n"),
    ):
        yield name, 1_000, _reading(file, head, row)
    for format in ("html", "markdown", "csv"):
        yield f"order as {format}", 100, lambda n, format=format: _rendered(_order(n), format)  # type: ignore[misc]


def _reading(file: str, head: str, row: str) -> Callable[[int], Callable[[], object]]:
    read = _priced if file == "p.toml" else _lexicon_of
    end = "]\n" if head.endswith("[\n") else ""
    return lambda n: _in_folder(file, head + "".join(row.format(k) for k in range(n)) + end, read)


def _priced(path: Path) -> object:
    try:
        return read_prices([path])
    except PriceFileError as error:
        return error


def _rendered(order: str, format: str) -> Callable[[], object]:
    return lambda: render(order_from(order), format)


def other_inputs(words: list[str]) -> None:
    for name, size, made in inputs():
        if words and name not in words:
            continue
        times = [(n, timed(made(n))) for n in (size, 2 * size, 4 * size, 8 * size)]
        mark = "  <--" if exponent(times) > _LINEAR and times[-1][1] > 0.2 else ""
        told = " ".join(f"{t:.2f}" for _, t in times)
        print(f"  {name:28} n^{exponent(times):.2f}  {told} s at {size} to {8 * size} rows{mark}", flush=True)


def main() -> None:
    signal.signal(signal.SIGALRM, _over)
    asked = sys.argv[1:] or ["patterns", "inputs", "notes"]
    if "patterns" in asked:
        patterns()
    if "inputs" in asked:
        other_inputs([a for a in asked if a != "inputs"])
    if "notes" in asked:
        sizes = [int(a) for a in asked if a.isdecimal()] or [2_000]
        notes([a for a in asked if a not in ("patterns", "notes") and not a.isdecimal()], sizes[0])


if __name__ == "__main__":
    main()
