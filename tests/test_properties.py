"""Any text at all gives a valid order, loses no word, and gives the same order twice."""

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st

from effort import tried
from project_notes import shipped_vocabulary
from talkaround.models import Note, Utterance
from talkaround.pipeline import write_order
from whole_orders import check_whole

FILLER = (
    "and but with the a on of is was it that this one ones other both all four each same too uh um okay so now then "
    "except everything rest not no never if would customer says he she they needs need got has just about "
    "under over between to from at around side here there scratch correction sorry wait I mean last time next week"
).split()
NUMBERS = (
    "0 1 2 3 4 5 6 7 11 12 32 110 .5 2.5 12.4 1/8 7/32 13/12 5/5/4/3 -25 1,200 118,000 2023 0.000 99999999999 one two "
    "three eleven twenty thirty forty hundred thousand point oh half quarter thirty-seconds thousandths "
    "mm psi volts amps percent degrees inch inches mil bar ohms ft-lb DOT P0301 235/65R17"
).split()
MARKS = [
    ".",
    ",",
    ";",
    ":",
    " - ",
    "\n",
    "\n\n",
    "?",
    "!",
    "(",
    ")",
    '"',
    "'",
    "/",
    "&",
    "…",
    "–",
    "%",
    "*",
    "\t",
    "\r\n",
    "½",
]


@cache
def words_of_the_trade() -> dict[str, list[str]]:
    """Every phrase of the lexicon by what it means: a component, a place, a condition, a cue."""
    kinds: dict[str, list[str]] = {}
    for phrase, tags in shipped_vocabulary().phrases.items():
        for tag in tags:
            kinds.setdefault(tag.kind, []).append(" ".join(phrase))
    return kinds


@cache
def notes() -> st.SearchStrategy[str]:
    """Notes made of the trade's words in any order, joined as somebody might type or dictate them."""
    kinds = words_of_the_trade()
    phrase = st.one_of(*(st.sampled_from(kinds[kind]) for kind in sorted(kinds)))
    piece = st.one_of(phrase, phrase, st.sampled_from(NUMBERS), st.sampled_from(FILLER), st.sampled_from(MARKS))
    joined = st.tuples(piece, st.sampled_from([" ", " ", " ", " ", ", ", ". ", "\n", "", " and ", "-", "/"]))
    written = st.lists(joined, min_size=1, max_size=40).map(lambda pieces: "".join(a + b for a, b in pieces))
    return st.tuples(written, st.sampled_from([str, str, str.upper, str.title])).map(lambda x: x[1](x[0]))


def check(note: Note) -> None:
    """All that holds of the order of any note, under both drive sides."""
    vocabulary = shipped_vocabulary()
    for steering in ("left-hand", "right-hand"):
        order = write_order(note, vocabulary=vocabulary, steering=steering)
        check_whole(order, note, vocabulary)
        again = write_order(note, vocabulary=vocabulary, steering=steering)
        assert again.model_dump_json() == order.model_dump_json()


@tried(150)
@given(text=st.text(max_size=300))
def test_any_text_gives_a_whole_and_constant_order(text: str) -> None:
    check(Note(name="any", text=text))


@tried(400)
@given(data=st.data())
def test_any_words_of_the_trade_give_a_whole_and_constant_order(data: st.DataObject) -> None:
    check(Note(name="any", text=data.draw(notes(), label="note")))


@tried(60)
@given(data=st.data())
def test_any_timed_transcript_gives_evidence_with_its_time(data: st.DataObject) -> None:
    pieces = data.draw(st.lists(notes(), min_size=1, max_size=4), label="stretches")
    begins = [sum(len(p) + 1 for p in pieces[:n]) for n in range(len(pieces))]
    utterances = [
        Utterance(begin=begin, end=begin + len(piece), start_s=float(n), end_s=n + 1.0)
        for n, (begin, piece) in enumerate(zip(begins, pieces, strict=True))
    ]
    note = Note(name="any", kind="transcript", text=" ".join(pieces), utterances=utterances)
    check(note)
    order = write_order(note, vocabulary=shipped_vocabulary())
    for evidence in (e for part in (*order.lines, *order.concerns) for e in part.evidence):
        times = [u.start_s for u in utterances if u.begin <= evidence.begin < u.end]
        assert evidence.start_s in (times or [None])


@pytest.mark.parametrize(
    "text",
    [
        "",
        " ",
        "\n\n\n",
        ".",
        "\x00",
        "/",
        "1",
        "one",
        "1/0",
        "0/0",
        "left",
        "no",
        "both",
        "except",
        "scratch that",
        "order me a splice,",
        "The tie rod is loose, needs one left,",
        "needs one",
    ]
    + [
        "😀 front 😀",
        "ＬＦ ｔｉｒｅ ３ｍｍ",
        "ﬁne",
        "İ ß ŉ",
        "‏left tire",
        "tire" * 500,
        "left " * 400,
        "9" * 400,
        "tire " + "7" * 5_000,
        "9" * 400 + " and a half mm, " + "9" * 400 + " point 5, 3/" + "9" * 400,
        "1 " * 400,
        "a.b.c." * 100,
    ],
)
def test_odd_texts_give_a_whole_and_constant_order(text: str) -> None:
    check(Note(name="odd", text=text))
