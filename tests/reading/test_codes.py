"""Trouble codes, odometer and plate in the order where they belong; values are invented, how they are said is common practice.

The form of a trouble code (P, B, C or U, a digit from 0 to 3, three more characters) is that of SAE J2012, from memory.
"""

import csv
import io

import pytest

from project_notes import order_of
from talkaround.models import Identifier, RepairOrder
from talkaround.output import render, terminal
from talkaround.vocabulary import Vocabulary


def of_vehicle(order: RepairOrder) -> list[Identifier]:
    return order.vehicle.identifiers if order.vehicle else []


@pytest.mark.parametrize(
    ("text", "codes"),
    [
        ("P0301, ignition coil 1 is dead", ["P0301"]),
        ("P 0301, ignition coil 1 is dead", ["P0301"]),
        ("p 03 01, ignition coil 1 is dead", ["P0301"]),
        ("p oh three oh one, ignition coil 1 is dead", ["P0301"]),
        ("P zero three zero one, ignition coil 1 is dead", ["P0301"]),
        ("p0 four twenty and p zero three hundred, ignition coil 1 is dead", ["P0420", "P0300"]),
        ("P, zero, three, zero, one, ignition coil 1 is dead", ["P0301"]),
        ("u zero one hundred, ignition coil 1 is dead", ["U0100"]),
        ("P zero A eight zero, ignition coil 1 is dead", ["P0A80"]),
        ("ignition coil 1 is dead, C1201 and B1000 stored", ["C1201", "B1000"]),
        ("SPN 3251 FMI 2, ignition coil 1 is dead", ["SPN 3251 FMI 2"]),
    ],
)
def test_a_trouble_code_stands_with_its_line(text: str, codes: list[str], vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    (line,) = order.lines
    assert sorted(x.value for x in line.identifiers) == sorted(codes)
    assert line.measurements == []
    for x in line.identifiers:
        assert any(e.begin <= x.evidence.begin and x.evidence.end <= e.end for e in line.evidence)


def test_a_trouble_code_of_no_line_is_the_vehicles(vocabulary: Vocabulary) -> None:
    order = order_of("P0442 stored. Front pads 3 mm.", vocabulary)
    assert [x.value for x in of_vehicle(order)] == ["P0442"]
    assert order.lines[0].identifiers == []
    assert all(a.reason != "chatter" or "P0442" not in order.note.text[a.begin : a.end] for a in order.set_aside)


@pytest.mark.parametrize("text", ["bay B 12 is free, front pads 3 mm", "P is worn off the shifter, front pads 3 mm",
                                  "see 4 techs about it, front pads 3 mm", "B pillar 2 dents, front pads 3 mm"])  # fmt: skip
def test_what_is_no_trouble_code(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert of_vehicle(order) == [] and all(line.identifiers == [] for line in order.lines)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("84k on the clock, left front strut leaking", 84_000, "mi"),
        ("84,213 miles, left front strut leaking", 84_213, "mi"),
        ("odometer 84213, left front strut leaking", 84_213, "mi"),
        ("mileage is 84213, left front strut leaking", 84_213, "mi"),
        ("eighty-four thousand on the clock, left front strut leaking", 84_000, "mi"),
        ("odometer reads eighty four thousand two hundred thirteen, left front strut leaking", 84_213, "mi"),
        ("one hundred and twelve thousand miles on it, left front strut leaking", 112_000, "mi"),
        ("one twelve four hundred on the clock, left front strut leaking", 112_400, "mi"),
        ("84 thousand miles on it, left front strut leaking", 84_000, "mi"),
        ("135,200 km, left front strut leaking", 135_200, "km"),
        ("mileage is ninety thousand kilometers, left front strut leaking", 90_000, "km"),
    ],
)
def test_odometer(text: str, value: float, unit: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert order.vehicle is not None and order.vehicle.odometer is not None
    assert (order.vehicle.odometer.value, order.vehicle.odometer.unit) == (value, unit)
    assert [line.measurements for line in order.lines] == [[]]


@pytest.mark.parametrize(
    "text",
    [
        "12,000 miles since the last service, left front strut leaking",
        "oil every 5,000 miles, left front strut leaking",
        "twenty thousand miles since the last belt, left front strut leaking",
        "left front strut replaced 30k ago, leaking",
        "due in 2000 miles, left front strut leaking",
    ],
)
def test_a_distance_since_or_until_something_is_no_odometer(text: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert order.vehicle is None or order.vehicle.odometer is None


@pytest.mark.parametrize(
    ("text", "plate"),
    [
        ("reg AB12 CDE, nearside front pads 3 mm", "AB12 CDE"),
        ("plate is alpha bravo one two charlie delta echo, front pads 3 mm", "AB12CDE"),
        ("registration number a b one two c d e, front pads 3 mm", "AB12CDE"),
    ],
)
def test_plate(text: str, plate: str, vocabulary: Vocabulary) -> None:
    vehicle = order_of(text, vocabulary, "right-hand").vehicle
    assert vehicle is not None and vehicle.plate == plate


@pytest.mark.parametrize(
    ("text", "date"),
    [
        ("battery dated 12/03/2021 is weak", "12/03/2021"),
        ("battery put in 14th of June 2021 is weak", "14th of June 2021"),
        ("battery put in 2021-06-14 is weak", "2021-06-14"),
        ("battery from March 2019 is weak", "March 2019"),
    ],
)
def test_a_date_stands_with_what_it_is_said_of(text: str, date: str, vocabulary: Vocabulary) -> None:
    (line,) = order_of(text, vocabulary).lines
    assert [(x.kind, x.value) for x in line.identifiers] == [("date", date)]
    assert line.measurements == []


@pytest.mark.parametrize(
    "text", ["tires 7/6/5/4", "front tires 7/6", "left front rotor 10.1 mm, 10.2 mm", "may 5 mm do"]
)
def test_what_is_no_date(text: str, vocabulary: Vocabulary) -> None:
    assert [x for line in order_of(text, vocabulary).lines for x in line.identifiers] == []


CODED = (
    "P0442 and U0100 stored. Left front tire 215/65R16 98H, date code 3623, is cracked. Ignition coil 1 is dead, P0301."
)


@pytest.mark.parametrize("format", ["terminal", "markdown", "html", "csv"])
def test_codes_show_in_every_format(format: str, vocabulary: Vocabulary) -> None:
    order = order_of(CODED, vocabulary)
    text = terminal.render(order) if format == "terminal" else render(order, format)
    codes = ["215/65R16 98H", "week 36 of 2023", "P0301"] + ([] if format == "csv" else ["P0442", "U0100"])
    flat = " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())
    assert [x for x in codes if x not in flat] == []


def test_codes_have_a_column_of_their_own(vocabulary: Vocabulary) -> None:
    rows = list(csv.DictReader(io.StringIO(render(order_of(CODED, vocabulary), "csv"))))
    assert [r["identifiers"] for r in rows if r["kind"] == "line" and r["component"] == "ignition coil"] == [
        "trouble code P0301 (powertrain)"
    ]


def test_the_uk_reads_of_tyres(vocabulary: Vocabulary) -> None:
    text = render(order_of("nearside front tyre 215/65R16 98H is perished", vocabulary, "right-hand"), "markdown")
    assert "tyre size 215/65R16 98H" in text
