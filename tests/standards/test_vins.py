"""VINs against ``vininfo``, a general-purpose library, and against worked numbers.

49 CFR 565.15(c) works the check digit of 1G4AH59H45G118341; 1M8GDM9AXKP042788 and the row of ones are the examples that
encyclopaedias work, with the check digits X and 1 (all three from memory, their sums worked by hand).
"""

from __future__ import annotations

import random

import pytest
from vininfo import Vin

from talkaround.models import Note
from talkaround.pipeline import write_order
from talkaround.reading.vins import check_digit, holds, likely
from talkaround.vocabulary import Vocabulary

WORKED = ["1G4AH59H45G118341", "1M8GDM9AXKP042788", "11111111111111111"]
# 49 CFR 565.13 and 565.15: no I, O or Q; for the model year also no U, Z or nought.
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
SOUND_ALIKE = ["BCDEGPTVZ", "AJK", "MN", "59"]


def _made_up(dice: random.Random) -> str:
    """A number of North America with a right check digit, by the arithmetic of the outside library."""
    any_of = LETTERS + "0123456789"
    head = dice.choice("12345") + "".join(dice.choices(any_of, k=7))
    year = dice.choice([c for c in any_of if c not in "UZ0"])
    tail = year + "".join(dice.choices(any_of, k=3)) + "".join(dice.choices("0123456789", k=4))
    right = [head + digit + tail for digit in "0123456789X" if Vin(head + digit + tail).verify_checksum()]
    assert len(right) == 1
    return right[0]


@pytest.mark.parametrize("vin", WORKED)
def test_worked_numbers_hold(vin: str) -> None:
    assert check_digit(vin) == vin[8]
    assert holds(vin)


def test_check_digits_agree_with_the_library() -> None:
    dice = random.Random(565)
    for _ in range(400):
        vin = _made_up(dice)
        assert check_digit(vin) == vin[8]
        other = vin[:8] + dice.choice([c for c in "0123456789X" if c != vin[8]]) + vin[9:]
        assert holds(vin) and not holds(other) and not Vin(other).verify_checksum()


def test_the_right_number_is_among_the_likely_ones_when_one_letter_was_misheard() -> None:
    dice = random.Random(17)
    tried = named = 0
    while tried < 300:
        vin = _made_up(dice)
        at = dice.randrange(17)
        alike = [x for group in SOUND_ALIKE if vin[at] in group for x in group if x != vin[at]]
        if at == 8 or not alike:
            continue
        heard = vin[:at] + dice.choice(alike) + vin[at + 1 :]
        if heard[0] not in "12345" or holds(heard):
            continue
        tried += 1
        named += vin in likely(heard, heard=True)[:8]
        assert all(Vin(x).verify_checksum() for x in likely(heard, heard=True))
    assert named / tried > 0.95


def _vehicle(text: str, vocabulary: Vocabulary) -> tuple[str | None, list[str], list[list[str]]]:
    order = write_order(Note(name="a", text=text), vocabulary=vocabulary)
    asked = [q for q in order.questions if q.field == "understanding"]
    assert order.vehicle is not None
    return order.vehicle.vin, [q.text for q in asked], [q.choices for q in asked]


@pytest.mark.parametrize(
    "text",
    [
        "1M8GDM9AXKP042788, front pads 3 mm",
        "VIN 1m8gdm9axkp042788 front pads 3 mm",
        "VIN: 1M8GD M9AXK P042788. Front pads 3 mm.",
        "vin one m eight g d m nine a x k p zero four two seven eight eight front pads 3 mm",
        "the vin is one em eight gee dee em nine a ex kay pee oh four two seven double eight. front pads 3 mm",
        "VIN is one mike eight golf delta mike nine alpha x-ray kilo papa zero forty two seven eighty eight, pads 3 mm",
        "VIN number 1 M 8 G D M 9 A X K P O 4 2 7 8 8, front pads 3 mm",
        "1-M-8-G-D-M-9-A-X-K-P-0-4-2-7-8-8 is on the stand, front pads 3 mm",
    ],
)
def test_a_number_is_read_as_typed_as_spoken_and_as_written_down(text: str, vocabulary: Vocabulary) -> None:
    assert _vehicle(text, vocabulary) == ("1M8GDM9AXKP042788", [], [])


def test_one_misheard_letter_is_asked_about_with_the_likely_numbers(vocabulary: Vocabulary) -> None:
    # "T" for "D" in position 5.
    said = "vin one m eight g t m nine a x k p zero four two seven eight eight. front pads 3 mm"
    vin, texts, choices = _vehicle(said, vocabulary)
    assert vin == "1M8GTM9AXKP042788"
    assert len(texts) == 1 and "check digit" in texts[0]
    assert "1M8GDM9AXKP042788" in choices[0]


def test_two_typed_digits_swapped_are_asked_about(vocabulary: Vocabulary) -> None:
    _, texts, choices = _vehicle("VIN 1M8GDM9AXKP047288, front pads 3 mm", vocabulary)
    assert len(texts) == 1 and "1M8GDM9AXKP042788" in choices[0]


# Made up, of other regions of ISO 3780: most makers there use position 9 as they like.
@pytest.mark.parametrize("vin", ["WZZZZZ1KZ6W123456", "SZZZZ12345A678901", "VZ9ZZZ00000123456", "JZ1AB23C0D4567890"])
def test_a_number_from_elsewhere_is_not_called_wrong(vin: str, vocabulary: Vocabulary) -> None:
    assert _vehicle(f"VIN {vin}, front pads 3 mm", vocabulary) == (vin, [], [])


def test_a_number_with_a_character_too_few_is_asked_about(vocabulary: Vocabulary) -> None:
    _, texts, _ = _vehicle("VIN is one m eight g d m nine a x k p zero four two seven eight. pads 3 mm", vocabulary)
    assert len(texts) == 1 and "16 characters" in texts[0]


@pytest.mark.parametrize(
    "text",
    [
        "VIN plate is missing",
        "front pads 3 mm, rear 4, LF RF LR RR all 6",
        "the vin is on the ticket",
        "ALL FOUR TIRES 7 6 5 4 OK LF RF LR RR",
        "a b c d 1 2 3",
    ],
)
def test_no_number_is_made_of_other_words(text: str, vocabulary: Vocabulary) -> None:
    vin, texts, _ = _vehicle(text, vocabulary)
    assert (vin, texts) == (None, [])
