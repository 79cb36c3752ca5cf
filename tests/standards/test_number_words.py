"""Numbers in words against ``num2words`` (round trip), and against the categories of a published test set.

The set is the English inverse-normalisation cases of NVIDIA's NeMo text processing (Apache-2.0): cardinal, decimal, measure,
ordinal, money. The cases below are our own numbers said in the ways that its categories hold.
"""

from __future__ import annotations

import random

import pytest
from num2words import num2words

from talkaround.reading.number_words import ordinal, whole
from talkaround.reading.numbers import number_at
from talkaround.reading.quantities import find_quantities
from talkaround.vocabulary import Vocabulary

SEED = 5


def _folds(text: str, vocabulary: Vocabulary) -> list[str]:
    return [w.fold for w in vocabulary.folder.scan(text.replace(",", ""))]


def _both_ways(words: str) -> tuple[str, str]:
    """With "and" as in the UK, and without as in the US."""
    return words, words.replace(" and ", " ")


def _sample(least: int, most: int, count: int) -> list[int]:
    return random.Random(SEED).sample(range(least, most), count)


@pytest.mark.parametrize(
    "numbers",
    [range(2000), _sample(2000, 10_000, 2000), _sample(10_000, 1_000_000, 1500)],
    ids=["to 2,000", "to 10,000", "to 1,000,000"],
)
def test_whole_numbers_come_back(numbers: list[int], vocabulary: Vocabulary) -> None:
    wrong = []
    for n in numbers:
        for said in _both_ways(num2words(n)):
            folds = _folds(said, vocabulary)
            if whole(folds, 0) != (n, len(folds)):
                wrong.append((said, whole(folds, 0)))
    assert wrong == []


def test_decimals_come_back(vocabulary: Vocabulary) -> None:
    dice = random.Random(SEED)
    wrong = []
    for _ in range(1500):
        value = round(dice.uniform(0, 400), dice.choice((1, 2, 3)))
        for said in _both_ways(num2words(value)):
            folds = _folds(said, vocabulary)
            found = number_at(folds, 0)
            if found is None or found.value != pytest.approx(value) or found.end != len(folds):
                wrong.append((said, found))
    assert wrong == []


@pytest.mark.parametrize("numbers", [range(1, 1000), _sample(1000, 100_000, 500)], ids=["to 1,000", "to 100,000"])
def test_ordinals_come_back(numbers: list[int], vocabulary: Vocabulary) -> None:
    wrong = []
    for n in numbers:
        for said in _both_ways(num2words(n, to="ordinal")):
            folds = _folds(said, vocabulary)
            if ordinal(folds, 0) != (n, len(folds)):
                wrong.append((said, ordinal(folds, 0)))
    assert wrong == []


@pytest.mark.parametrize("value", _sample(0, 20_000, 300))
def test_a_number_keeps_its_words_in_the_middle_of_a_note(value: int, vocabulary: Vocabulary) -> None:
    folds = _folds(f"pump holds {num2words(value)} psi and is good", vocabulary)
    assert whole(folds, 2) == (value, folds.index("psi"))


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("twenty three hundred", 2300),
        ("fourteen hundred twelve", 1412),
        ("one forty", 140),
        ("one oh five", 105),
        ("six twenty", 620),
        ("a hundred and ten", 110),
        ("a thousand", 1000),
        ("two grand", 2000),
        ("eighty four thousand two fifteen", 84_215),
    ],
)
def test_whole_numbers_said_short(said: str, value: int, vocabulary: Vocabulary) -> None:
    folds = _folds(said, vocabulary)
    assert whole(folds, 0) == (value, len(folds))


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("point oh four five", 0.045),
        ("oh point three one", 0.31),
        ("zero point zero two", 0.02),
        ("seventeen point o six", 17.06),
        ("six hundred twelve point four", 612.4),
        ("thirteen point twenty five", 13.25),
        ("three point one million", 3_100_000),
        ("oh four five", 0.045),
    ],
)
def test_decimals_said_in_the_ways_of_the_set(said: str, value: float, vocabulary: Vocabulary) -> None:
    folds = _folds(said, vocabulary)
    found = number_at(folds, 0)
    assert found is not None
    assert (found.value, found.end) == (pytest.approx(value), len(folds))


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("three hundred fifty kilopascals", 350, "kPa"),
        ("minus forty degrees celsius", -40, "degC"),
        ("point three millimeters", 0.3, "mm"),
        ("ninety six point two percent", 96.2, "%"),
        ("six hundred forty two point eight millimeters", 642.8, "mm"),
        ("seventy kilograms", 70, "kg"),
        ("twenty ounces", 20, "oz"),
        ("two hundred fifty c c", 250, "mL"),
        ("forty micrometers", 40, "um"),
        ("nine point five centimeters", 9.5, "cm"),
        ("fourteen feet", 14, "ft"),
    ],
)
def test_measures_said_in_the_ways_of_the_set(said: str, value: float, unit: str, vocabulary: Vocabulary) -> None:
    words = vocabulary.folder.scan(said)
    (found,), _, _ = find_quantities(words, vocabulary)
    assert (found.values, found.unit) == ((pytest.approx(value),), unit)
    assert (found.begin, found.end) == (0, len(words))


@pytest.mark.parametrize(
    "said",
    [
        "twelve dollars", "thirty one dollars", "two hundred forty five dollars", "sixteen hundred dollars",
        "nine point five million dollars", "half past three", "quarter to four", "ten fifty p m", "three a m",
        "may seventeenth", "the third of august twenty nineteen", "five hours", "six hundred miles", "ten miles per hour",
    ],
)  # fmt: skip
def test_money_times_dates_and_distances_are_taken_whole_and_are_no_readings(said: str, vocabulary: Vocabulary) -> None:
    words = vocabulary.folder.scan(said)
    found, _, other = find_quantities(words, vocabulary)
    assert found == []
    assert other[-1][1] == len(words)
