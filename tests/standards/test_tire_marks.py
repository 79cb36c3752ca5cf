"""Tire marks against the published tables: load index (ISO 4223-1), speed symbol (ISO 4000-1), date code (49 CFR 574.5).

The rows are restated from tables that three open-source programs carry alike; some letter pairs are from memory.
"""

from __future__ import annotations

import pytest

from project_notes import order_of
from talkaround.models import Identifier, RepairOrder
from talkaround.reading.tire_marks import load_of, speed_of
from talkaround.vocabulary import Vocabulary

LOADS = {
    50: 190, 60: 250, 65: 290, 70: 335, 75: 387, 82: 475, 88: 560, 91: 615, 94: 670, 98: 750, 100: 800, 104: 900,
    109: 1030, 112: 1120, 116: 1250, 118: 1320, 121: 1450, 126: 1700, 130: 1900, 139: 2430,
}  # fmt: skip
SPEEDS = {"F": 80, "J": 100, "L": 120, "N": 140, "Q": 160, "S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270,
          "Y": 300}  # fmt: skip


@pytest.mark.parametrize(("index", "kilos"), LOADS.items())
def test_load_index(index: int, kilos: int) -> None:
    assert load_of(index) == kilos


def test_load_rises_by_about_a_thirtieth_with_each_index() -> None:
    # The series doubles every 24 or 25 indices, so neighbours differ by 2 to 4 percent.
    loads = [load_of(n) or 0 for n in range(50, 140)]
    assert all(1.015 < b / a < 1.04 for a, b in zip(loads, loads[1:], strict=False))


@pytest.mark.parametrize(("symbol", "speed"), SPEEDS.items())
def test_speed_symbol(symbol: str, speed: int) -> None:
    assert speed_of(symbol) == speed


@pytest.mark.parametrize("symbol", ["I", "O", "X", "Z"])
def test_letters_with_no_speed_of_their_own(symbol: str) -> None:
    assert speed_of(symbol) is None


def _marks(order: RepairOrder) -> dict[str, Identifier]:
    assert order.vehicle is not None
    return {x.kind: x for x in (*order.vehicle.identifiers, *(i for line in order.lines for i in line.identifiers))}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("Left front tire 215/65R16 98H is cracked.", "215/65R16 98H"),
        ("left front tire P215/65R16 cracked", "P215/65R16"),
        ("left front tire LT245/75R17 121/118S is cracked", "LT245/75R17 121S"),
        ("Left front tire, 215 65 16, cracked.", "215/65R16"),
        ("Left front tire is a 2156516, cracked.", "215/65R16"),
        ("left front tire two fifteen sixty five sixteen is cracked", "215/65R16"),
        ("left front tire two oh five fifty five R sixteen ninety one V is cracked", "205/55R16 91V"),
        ("left front tire 295/75R22.5 is cracked", "295/75R22.5"),
        ("left front tire 11R22.5 is cracked", "11R22.5"),
    ],
)
def test_a_size_stands_with_the_tire(text: str, value: str, vocabulary: Vocabulary) -> None:
    (line,) = order_of(text, vocabulary).lines
    assert [x.value for x in line.identifiers] == [value]
    assert line.measurements == []


def test_a_size_is_told_with_its_load_and_speed(vocabulary: Vocabulary) -> None:
    meaning = _marks(order_of("Left front tire 215/65R16 98H is cracked.", vocabulary))["tire-size"].meaning
    assert meaning is not None and "750 kg" in meaning and "210 km/h" in meaning


@pytest.mark.parametrize(
    ("text", "value", "week"),
    [
        ("Left rear tire date code 3623, cracked.", "3623", "week 36 of 2023"),
        ("left rear tire DOT 0119 cracked", "0119", "week 1 of 2019"),
        ("left rear tire dated thirty six twenty three, cracked", "3623", "week 36 of 2023"),
        ("Left rear tire, they code 36 23, cracked.", "3623", "week 36 of 2023"),
        ("Left rear tire, date code 36 to 23, cracked.", "3623", "week 36 of 2023"),
        ("left rear tire date code is oh one nineteen, cracked", "0119", "week 1 of 2019"),
    ],
)
def test_a_date_code_stands_with_the_tire(text: str, value: str, week: str, vocabulary: Vocabulary) -> None:
    (line,) = order_of(text, vocabulary).lines
    assert [(x.value, x.meaning) for x in line.identifiers] == [(value, week)]
    assert line.measurements == []


@pytest.mark.parametrize("text", ["date code 5419 on the left rear tire, cracked", "brake fluid is DOT 4, dark",
                                  "brake fluid is DOT 5.1, dark"])  # fmt: skip
def test_what_is_no_date_code(text: str, vocabulary: Vocabulary) -> None:
    # There is no week 54.
    assert "date-code" not in _marks(order_of(text, vocabulary))


def test_marks_of_all_tires_are_the_vehicles(vocabulary: Vocabulary) -> None:
    order = order_of("Tires are 215 65 16, date codes all 3623. Left front strut is leaking.", vocabulary)
    assert order.vehicle is not None
    assert [x.value for x in order.vehicle.identifiers] == ["215/65R16", "3623"]
    assert [x.identifiers for x in order.lines] == [[]]
