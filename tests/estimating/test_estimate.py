"""The estimate: sums worked out by hand, what is open, price files as people get them wrong, and the paper."""

from __future__ import annotations

import re
from contextlib import chdir
from decimal import Decimal
from html import unescape
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from talkaround import cli
from talkaround.estimating import PriceFileError, price, read_prices
from talkaround.estimating.estimate import Priced
from talkaround.estimating.prices import Prices
from talkaround.models import Estimate, Job, Line, Note, PartRow, RepairOrder, Vehicle
from talkaround.output import render, terminal


def line(number: int, id: str, work: str = "proposed", severity: str = "required", **position: object) -> Line:
    return Line.model_validate(
        {
            "number": number,
            "component": {"id": id, "name": id.replace("-", " "), "system": "brakes"},
            "position": position,
            "severity": severity,
            "action": {"verb": "none" if severity == "good" else "replace"},
            "work": work,
        }
    )


def part(id: str, lines: list[int], state: str = "to-order", quantity: int = 1, **position: object) -> PartRow:
    named = {"id": id, "name": id.replace("-", " ")}
    return PartRow.model_validate(
        {"part": named, "position": position, "quantity": quantity, "state": state, "lines": lines}
    )


def brakes(steering: str = "left-hand") -> RepairOrder:
    """Two front rotors in one job each, rear pads, one declined line, one good one, a wrong hose, a blade fitted."""
    return RepairOrder(
        note=Note(name="bay-3", text=""),
        vehicle=Vehicle.model_validate({"description": "silver wagon", "steering": steering}),
        lines=[
            line(1, "brake-rotor", axle="front", side="left"),
            line(2, "brake-rotor", axle="front", side="right"),
            line(3, "brake-pad", axle="rear"),
            line(4, "muffler", work="declined"),
            line(5, "brake-hose", severity="good", axle="front"),
            line(6, "brake-hose", work="wrong-part", axle="rear", side="left"),
            line(7, "wiper-blade", work="done", side="left"),
        ],
        parts=[
            part("brake-rotor", [1], axle="front", side="left"),
            part("brake-rotor", [2], axle="front", side="right"),
            part("brake-pad", [3], axle="rear"),
            part("muffler", [4]),
            part("brake-hose", [6], "to-return", axle="rear", side="right"),
            part("brake-hose", [6], axle="rear", side="left"),
            part("wiper-blade", [7], "fitted", side="left"),
        ],
        jobs=[
            Job(name="Front brakes", lines=[1, 2]),
            Job(name="Rear brakes", lines=[3, 6]),
            Job(name="Exhaust", lines=[4]),
        ],
    )


def bare() -> RepairOrder:
    """An order with nothing on it: what is charged stands under other_parts and other_labor."""
    return RepairOrder(note=Note(name="bare", text=""))


def prices_of(text: str) -> Prices:
    """What the file ``job.toml`` in the working folder says."""
    with TemporaryDirectory() as folder, chdir(folder):
        Path("job.toml").write_text(text, "utf-8")
        return read_prices([Path("job.toml")])


def priced(text: str, order: RepairOrder | None = None) -> Priced:
    return price(order or brakes(), prices_of(text))


def estimated(text: str, order: RepairOrder | None = None) -> Estimate:
    return priced(text, order).estimate


FULL = """
[shop]
name = "Harbor Lane Garage"
registration = "R-0001"
address = "12 Harbor Lane"
phone = "555 0142"
[visit]
customer = "A. Sample"
phone = "555 0199"
date = "3 May"
year_and_make = "2011, a wagon"
[terms]
currency = "$"
hourly_rate = "120.00"
rate_basis = "clock hours"
tax_percent = "8"
tax_on = "parts"
[parts]
"brake-rotor left front" = { price = "74.50", origin = "used original" }
"brake-rotor right front" = { price = "74.50", origin = "rebuilt" }
"brake-pad rear" = { price = "61.00", origin = "aftermarket" }
"brake-hose left rear" = { price = "20.00" }
"wiper-blade left" = { price = "12.00", origin = "reconditioned" }
[labor]
"front brakes" = { hours = "1.5" }
"rear brakes" = { hours = "1" }
"wiper-blade left" = { price = "0" }
[other_labor]
diagnosis = { hours = "0.5" }
[tear_down]
take_apart = "80.00"
put_together = "60.00"
parts_lost = "head gasket"
time = "two days"
"""


# Sums. Each row: price file, then parts, labor, tax and total, worked out by hand as the remark tells.

SUMS = {
    # 2 x 74.50 = 149.00; 1.5 x 120.00 = 180.00; 8% of 149.00 = 11.92; 149 + 180 + 11.92
    "tax on parts": (
        '[terms]\nhourly_rate = "120.00"\ntax_percent = "8"\ntax_on = "parts"\n'
        '[other_parts]\na = { price = "74.50", quantity = "2" }\n[other_labor]\nb = { hours = "1.5" }',
        "149.00", "180.00", "11.92", "340.92",
    ),
    # 0.333 x 129.95 = 43.27335
    "three decimals of an hour": (
        '[terms]\nhourly_rate = "129.95"\ntax_percent = "0"\n[other_labor]\nb = { hours = "0.333" }',
        "0.00", "43.27", "0.00", "43.27",
    ),
    "half a cent goes up": (
        '[terms]\ntax_percent = "0"\n[other_parts]\na = "0.005"', "0.01", "0.00", "0.00", "0.01",
    ),
    # 0.005 lies between 0.00 and 0.01: 0 is even. 0.015 lies between 0.01 and 0.02: 2 is even. 0.00 + 0.02
    "half a cent to the even cent": (
        '[terms]\ntax_percent = "0"\nrounding = "half-even"\n[other_parts]\na = "0.005"\nb = "0.015"',
        "0.02", "0.00", "0.00", "0.02",
    ),
    # 0.333 is 0.33 on each row, so 0.99, and not 0.999 = 1.00
    "rows are rounded before they are added": (
        '[terms]\ntax_percent = "0"\n[other_parts]\na = "0.333"\nb = "0.333"\nc = "0.333"',
        "0.99", "0.00", "0.00", "0.99",
    ),
    # 10% of 3.15 = 0.315, half up 0.32
    "tax once": (
        '[terms]\ntax_percent = "10"\ntax_on = "parts"\n[other_parts]\na = "1.05"\nb = "1.05"\nc = "1.05"',
        "3.15", "0.00", "0.32", "3.47",
    ),
    # 10% of 1.05 = 0.105, half up 0.11, three times 0.33
    "tax row by row": (
        '[terms]\ntax_percent = "10"\ntax_on = "parts"\ntax_rounded = "each-row"\n'
        '[other_parts]\na = "1.05"\nb = "1.05"\nc = "1.05"',
        "3.15", "0.00", "0.33", "3.48",
    ),
    # 0.105 to the even cent is 0.10, three times 0.30
    "tax row by row to the even cent": (
        '[terms]\ntax_percent = "10"\ntax_on = "parts"\ntax_rounded = "each-row"\nrounding = "half-even"\n'
        '[other_parts]\na = "1.05"\nb = "1.05"\nc = "1.05"',
        "3.15", "0.00", "0.30", "3.45",
    ),
    # 1.25 x 64.00 = 80.00; 20% of 128.20 = 25.64
    "tax on parts and labor": (
        '[terms]\nhourly_rate = "64.00"\ntax_percent = "20"\ntax_on = "parts and labour"\n'
        '[other_parts]\na = "48.20"\n[other_labour]\nb = { hours = "1.25" }',
        "48.20", "80.00", "25.64", "153.84",
    ),
    # 5.5 x 7.99 = 43.945
    "five and a half of it": (
        '[terms]\ntax_percent = "0"\n[other_parts]\noil = { price = "7.99", quantity = "5.5" }',
        "43.95", "0.00", "0.00", "43.95",
    ),
    "five and a half of it, downward": (
        '[terms]\ntax_percent = "0"\nrounding = "down"\n[other_parts]\noil = { price = "7.99", quantity = "5.5" }',
        "43.94", "0.00", "0.00", "43.94",
    ),
    # 89.99 + 2 x 95.50 = 89.99 + 191.00
    "a fixed price and a rate of its own": (
        '[terms]\nhourly_rate = "120"\ntax_percent = "0"\n'
        '[other_labor]\na = { price = "89.99" }\nb = { hours = "2", rate = "95.50" }',
        "0.00", "280.99", "0.00", "280.99",
    ),
    # 7.25% of 100.00 only; 121.00 + 7.25
    "a part without tax": (
        '[terms]\ntax_percent = "7.25"\ntax_on = "parts"\n'
        '[other_parts]\na = "100.00"\nsticker = { price = "21.00", taxed = false }',
        "121.00", "0.00", "7.25", "128.25",
    ),
    # The sum that binary fractions miss
    "a dime and two dimes": (
        '[terms]\ntax_percent = "0"\n[other_parts]\na = 0.1\nb = 0.2', "0.30", "0.00", "0.00", "0.30",
    ),
    # 2.75 x 185.40 = 509.85; 8.875% of 999999.99 = 88749.9991125; 999999.99 + 509.85 + 88750.00
    "large": (
        '[terms]\nhourly_rate = "185.40"\ntax_percent = "8.875"\ntax_on = "parts"\n'
        '[other_parts]\na = "999999.99"\n[other_labor]\nb = { hours = "2.75" }',
        "999999.99", "509.85", "88750.00", "1089259.84",
    ),
    # 6.35% of 10.10 = 0.64135
    "tax upward": (
        '[terms]\ntax_percent = "6.35"\ntax_on = "parts"\nrounding = "up"\n[other_parts]\na = "10.10"',
        "10.10", "0.00", "0.65", "10.75",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SUMS)
def test_sums_worked_out_by_hand(name: str) -> None:
    text, parts, labor, tax, total = SUMS[name]
    made = estimated(text, bare())
    sums = (made.parts_subtotal, made.labor_subtotal, made.tax, made.total)
    assert tuple(map(str, sums)) == (parts, labor, tax, total)
    assert made.open == []


def test_a_whole_order_worked_out_by_hand() -> None:
    """Parts 74.50 + 74.50 + 61.00 + 20.00 + 12.00 = 242.00; hours 1.5 + 1 + 0.5 at 120.00 = 360.00; 8% of 242.00 = 19.36."""
    made = priced(FULL)
    assert made.remarks == []
    e = made.estimate
    assert (e.parts_subtotal, e.labor_subtotal, e.tax, e.total) == tuple(
        map(Decimal, ("242.00", "360.00", "19.36", "621.36"))
    )
    assert e.open == []


def test_what_is_declined_good_or_wrong_costs_nothing_and_what_is_fitted_counts() -> None:
    made = estimated(FULL)
    assert [p.key for p in made.parts] == [
        "brake-rotor left front", "brake-rotor right front", "brake-pad rear", "brake-hose left rear", "wiper-blade left",
    ]  # fmt: skip
    assert [w.key for w in made.labor] == ["front brakes", "rear brakes", "wiper-blade left", "diagnosis"]
    assert made.left_out == ["line 4, muffler (declined)", "brake hose (wrong part, goes back)"]


def test_without_a_price_it_is_open_and_the_total_is_partial() -> None:
    text = FULL.replace('"brake-pad rear" = { price = "61.00"', '"brake-pad rear" = { price = ""')
    order = brakes()
    made = estimated(text, order)
    assert made.open == ["brake-pad rear"]
    # 621.36 less 61.00 and 8% of it, 4.88
    assert made.total == Decimal("555.48")
    order.estimate = made
    for shown in (render(order, "html"), render(order, "markdown"), terminal.render(order)):
        said = " ".join(shown.split())
        assert "Total so far" in said and "Not priced yet, and not in this total: Brake pad, rear." in said
    assert "partial total" in render(order, "csv")


def test_labor_that_waits_for_its_price_does_not_read_as_free() -> None:
    order = brakes()
    order.estimate = estimated('[terms]\ntax_percent = "0"\n[parts]\n"brake-pad rear" = "61.00"', order)
    said = words_of(order, "markdown")
    assert "- Labor: ________" in said and "- Total so far: 61.00" in said


def test_tax_that_nobody_gave_is_open_too() -> None:
    made = estimated('[other_parts]\na = "10.00"', bare())
    assert (made.open, made.total) == (["tax"], Decimal("10.00"))
    told = priced('[terms]\ntax_percent = "8"\n[other_parts]\na = "10.00"', bare())
    assert told.estimate.open == ["tax"]
    assert len(told.remarks) == 1 and "terms.tax_on" in told.remarks[0] and "parts and labor" in told.remarks[0]


# Keys


def test_one_price_does_for_every_place_and_the_closest_key_wins() -> None:
    made = estimated('[parts]\nbrake-rotor = "70.00"\n"brake-rotor Front LEFT" = "74.50"')
    assert [p.price for p in made.parts[:2]] == [Decimal("74.50"), Decimal("70.00")]


def test_a_price_for_both_holds_when_they_are_read_one_by_one() -> None:
    order = brakes()
    order.parts = [part("brake-rotor", [1, 2], quantity=2, axle="front", side="both")]
    (row,) = estimated("", order).parts
    file = f'[parts]\n"{row.key}" = "74.50"'
    assert estimated(file, order).parts_subtotal == estimated(file, brakes()).parts_subtotal == Decimal("149.00")


def test_two_keys_that_fit_equally_are_told_and_the_row_stays_open() -> None:
    made = priced('[parts]\n"brake-rotor left" = "74.50"\n"brake-rotor front" = "70.00"')
    assert made.estimate.parts[0].price is None and "brake-rotor left front" in made.estimate.open
    (remark,) = made.remarks
    assert 'give the price under "brake-rotor left front" itself' in remark


def test_keys_outlive_a_new_reading() -> None:
    """Another line comes before, so that every number moves on; the place is the same."""
    order = brakes()
    for each in order.lines:
        each.number += 1
    for row in (*order.parts, *order.jobs):
        row.lines = [n + 1 for n in row.lines]
    assert estimated(FULL, order).total == estimated(FULL).total


def test_hours_of_one_line_hold_when_more_work_joins_its_job() -> None:
    text = '[terms]\nhourly_rate = "100"\n[labor]\n"brake-rotor left front" = { hours = "2" }'
    alone, joined = brakes(), brakes()
    alone.jobs[0] = Job(name="Left front brake rotor", lines=[1])
    for order in (alone, joined):
        made = priced(text, order)
        assert made.remarks == [] and made.estimate.labor_subtotal == Decimal("200.00")


def test_a_fill_is_priced_as_a_whole_unless_it_is_said_how_much() -> None:
    """5.5 x 7.99 = 43.945, half up 43.95."""
    order = brakes()
    order.parts = [part("engine-oil", [3])]
    order.parts[0].unit = "fill"
    assert estimated('[parts]\nengine-oil = "40.00"', order).parts_subtotal == Decimal("40.00")
    measured = estimated('[parts]\nengine-oil = { price = "7.99", quantity = "5.5" }', order)
    assert measured.parts_subtotal == Decimal("43.95")
    order.estimate = estimated('[parts]\nengine-oil = "40.00"', order)
    assert "| Engine oil (new; line 3) | to fill | - | 40.00 |" in words_of(order, "markdown").replace("\xa0", " ")


def test_labor_may_be_named_by_a_line_of_its_job() -> None:
    made = estimated('[terms]\nhourly_rate = "100"\n[labor]\n"brake-pad rear" = { hours = "2" }')
    assert {w.key: w.amount for w in made.labor}["rear brakes"] == Decimal("200.00")


def test_a_later_file_stands_over_an_earlier_and_its_blanks_hide_nothing(tmp_path: Path) -> None:
    shop, job = tmp_path / "shop.toml", tmp_path / "job.toml"
    shop.write_text(
        '[terms]\nhourly_rate = "100"\ntax_percent = "5"\nrounding = "half-even"\n[parts]\nbrake-pad = "50"'
    )
    job.write_text(render(brakes(), "prices").replace('tax_percent = ""', 'tax_percent = "6"'))
    made = price(brakes(), read_prices([shop, job])).estimate
    assert (made.terms.hourly_rate, made.terms.tax_percent) == (Decimal(100), Decimal(6))
    assert made.terms.rounding == "half-even"
    assert made.parts[2].price == Decimal(50)


def test_the_blank_file_names_every_part_and_job_and_prices_nothing() -> None:
    for steering in ("left-hand", "right-hand"):
        order = brakes(steering)
        text = render(order, "prices")
        made = priced(text, order)
        assert made.remarks == []
        assert made.estimate.total == 0
        for row in (*made.estimate.parts, *made.estimate.labor):
            assert f'"{row.key}" = {{' in text and row.key in made.estimate.open
        assert ("[labour]" in text) == (steering == "right-hand")


def test_the_file_of_a_priced_order_gives_the_same_estimate_again() -> None:
    order = brakes()
    order.estimate = estimated(FULL)
    assert estimated(render(order, "prices")) == order.estimate


def test_a_json_order_keeps_its_amounts_to_the_digit() -> None:
    order = brakes()
    order.estimate = estimated(FULL)
    again = RepairOrder.model_validate_json(render(order, "json"))
    assert again == order
    assert '"total": "621.36"' in render(order, "json")
    with pytest.raises(ValueError, match="no exact amount"):
        Estimate(total=621.36)  # type: ignore[arg-type]


# What always holds

AMOUNT = st.decimals(min_value=0, max_value=99999, places=3)
PRICES = st.lists(st.tuples(AMOUNT, st.booleans()), min_size=1, max_size=8)


def file_of(parts: list[tuple[Decimal, bool]], labor: list[Decimal], terms: str) -> str:
    rows = [f'p{n} = {{ price = "{p:f}", taxed = {str(t).lower()} }}' for n, (p, t) in enumerate(parts)]
    work = [f'w{n} = {{ hours = "{h:f}" }}' for n, h in enumerate(labor)]
    return "\n".join([terms, "[other_parts]", *rows, "[other_labor]", *work])


@settings(deadline=None)
@given(PRICES, st.lists(AMOUNT, max_size=5), AMOUNT, st.sampled_from(["once", "each-row"]),
       st.sampled_from(["half-up", "half-even", "up", "down"]), st.randoms())  # fmt: skip
def test_the_total_is_its_parts_and_no_order_of_rows_changes_it(
    parts, labor, percent, rounded, rounding, random
) -> None:  # type: ignore[no-untyped-def]
    terms = (f'[terms]\nhourly_rate = "88.75"\ntax_percent = "{percent:f}"\ntax_on = "parts and labor"\n'
             f'tax_rounded = "{rounded}"\nrounding = "{rounding}"')  # fmt: skip
    made = estimated(file_of(parts, labor, terms), bare())
    assert made.total == made.parts_subtotal + made.labor_subtotal + made.tax
    assert made.parts_subtotal == sum(p.amount for p in made.parts)  # type: ignore[misc]
    assert made.open == []
    random.shuffle(parts)
    random.shuffle(labor)
    other = estimated(file_of(parts, labor, terms), bare())
    assert (other.tax, other.total) == (made.tax, made.total)


# Price files as people get them wrong: what is written, and what the one line about it must say.

WRONG = {
    "unknown table": ("[part]\na = 1", ("job.toml, line 1", "part", '"parts" comes near')),
    "unknown key": ('[terms]\nhourlyrate = "90"', ("line 2", "terms.hourlyrate", '"hourly_rate" comes near')),
    "no number": ('[terms]\nhourly_rate = "ninety"', ("line 2", "terms.hourly_rate", '"ninety" is no number')),
    "negative": ('[parts]\nbrake-pad = "-5"', ("line 2", "parts.brake-pad", "below nothing", "0 or more")),
    "negative bare": ("[parts]\nbrake-pad = -5.5", ("line 2", "below nothing")),
    "comma": ('[parts]\n"brake-pad rear" = "74,50"', ("line 2", 'parts."brake-pad rear"', '"74.50"')),
    "bare comma": ("[parts]\nbrake-pad = 74,50", ("line 2", "with a point")),
    "thousands": ('[parts]\nbrake-pad = "1,200"', ("line 2", '"1200"', '"1.200"')),
    "currency": ('[parts]\nbrake-pad = "€ 74.50"', ("line 2", '"74.50" alone', "[terms]")),
    "exponent": ("[parts]\nbrake-pad = 1e3", ("line 2", "no number")),
    "not a number at all": ("[parts]\nbrake-pad = nan", ("line 2", "no number")),
    "true": ("[parts]\nbrake-pad = { price = true }", ("line 2", "parts.brake-pad.price", "no number")),
    "too long": ('[parts]\nbrake-pad = "1.00000001"', ("line 2", "too long")),
    "left empty": ("[parts]\nbrake-pad = ", ("line 2", "no TOML", "between the quotes")),
    "origin": ('[parts]\nbrake-pad = { origin = "stolen" }', ("line 2", '"stolen" is no origin', "rebuilt")),
    "both": ('[labor]\n"rear brakes" = { hours = "1", price = "9" }', ("line 2", "both hours and a price", "keep")),
    "labor alone": ('[labor]\n"rear brakes" = "1"', ("line 2", "hours or a price", 'hours = "1.5"')),
    "twice": ('[parts]\n"brake-rotor left front" = "1"\n"brake-rotor front left" = "2"', ("line 3", "keep one")),
    "tax": ('[terms]\ntax_on = "everything"', ("line 2", "terms.tax_on", '"parts and labor"')),
    "none of it": ('[parts]\nbrake-pad = { price = "1", quantity = "0" }', ("line 2", "none of it")),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_price_file_is_refused_in_one_line(name: str) -> None:
    text, wanted = WRONG[name]
    with pytest.raises(PriceFileError) as refused:
        prices_of(text)
    (told,) = refused.value.problems
    assert told.startswith("job.toml") and "\n" not in told
    for words in wanted:
        assert words in told, told


def test_every_mistake_of_every_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "a.toml").write_text('[terms]\nhourly_rate = "x"\ntax_percent = "y"')
    with pytest.raises(PriceFileError) as refused:
        read_prices([tmp_path / "a.toml", tmp_path / "missing.toml"])
    assert len(refused.value.problems) == 3
    assert "missing.toml: there is no such price file" in refused.value.problems[2]


def test_a_key_that_fits_nothing_is_told_with_the_nearest_unless_it_stands_for_many_orders() -> None:
    text = '[parts]\n"brake-rotr left front" = "74.50"'
    (remark,) = priced(text).remarks
    assert remark.startswith("job.toml, line 2") and '"brake-rotor left front" comes near' in remark
    assert priced("standing = true\n" + text).remarks == []


def test_hours_without_a_rate_are_told_and_open() -> None:
    made = priced('[labor]\n"rear brakes" = { hours = "1" }')
    (remark,) = made.remarks
    assert 'labor."rear brakes"' in remark and "hourly_rate" in remark
    assert "rear brakes" in made.estimate.open


def test_original_parts_that_were_asked_for_and_priced_aftermarket_are_told() -> None:
    order = brakes()
    order.parts[2].make = "original"
    (remark,) = priced('[parts]\n"brake-pad rear" = { price = "61.00", origin = "aftermarket" }', order).remarks
    assert "asks for original" in remark


# The paper

# What the rules want a place for, as their texts read, and the words that show it on the page (a blank one, a filled one).
ELEMENTS = {
    "shop name: 16 CCR 3356(b), 15 NYCRR 82.5(a)": ("Shop", "Harbor Lane Garage"),
    "registration or facility number: 16 CCR 3356(b), 15 NYCRR 82.5(a)": ("Registration no.", "R-0001"),
    "shop address: 16 CCR 3356(b)": ("Address", "12 Harbor Lane"),
    "customer: 15 NYCRR 82.5(a)": ("Customer", "A. Sample"),
    "date: 15 NYCRR 82.5(a)": ("Date", "3 May"),
    "year and make: 15 NYCRR 82.5(a)": ("Year and make", "2011, a wagon"),
    "plate or VIN: 15 NYCRR 82.5(a)": ("VIN", "Plate"),
    "odometer in and out (common practice, no source)": ("Odometer in", "Odometer out"),
    "problem as reported: 15 NYCRR 82.5(a)": ("What the customer reports", "reports"),
    "each service and its price: 16 CCR 3356(c)(1)": ("Rear brakes", "$120.00"),
    "diagnosis and its price: 16 CCR 3356(c)(1)": ("Labor", "Diagnosis"),
    "each part: 16 CCR 3356(c)(2), 3353(a)": ("Brake rotor, left front", "$74.50"),
    "used parts: 16 CCR 3356(c)(2), VTL 398-d(1)": ("used", "used, original"),
    "rebuilt and reconditioned parts: 16 CCR 3356(c)(2)": ("rebuilt", "reconditioned"),
    "new parts else: 16 CCR 3353(a)": ("Parts are new unless it says", "new, aftermarket"),
    "labor rate and its basis: 15 NYCRR 82.8(a)": ("Labor rate and how it is reckoned", "$120.00 an hour, clock hours"),
    "subtotal labor: 16 CCR 3356(c)(3)": ("Labor", "$360.00"),
    "subtotal parts without tax: 16 CCR 3356(c)(4)": ("Parts, without tax", "$242.00"),
    "tax: 16 CCR 3356(c)(5)": ("Tax", "$19.36"),
    "total: 16 CCR 3356(c)(6)": ("Total", "$621.36"),
    "authorized before the work: 16 CCR 3353": ("Authorized before the work begins", "Authorized by"),
    "when and how it was authorized: 16 CCR 3356(d)": ("How", "in person"),
    "phone or e-mail of who authorized: 16 CCR 3356(d)": ("Phone or e-mail", "555 0199"),
    "consent to more work: 16 CCR 3354, 3356(e)": ("only after the customer has agreed", "Added cost"),
    "by whom, when, which number: 16 CCR 3356(e)": ("Agreed by", "Phone number called"),
    "added parts and labor: 16 CCR 3356(e)": ("Added parts and labor", "New total"),
    "replaced parts back: 15 NYCRR 82.5(a), VTL 398-d(1)": ("You may have the replaced parts back", "give back"),
    "tear-down and reassembly: 16 CCR 3353(c)(1)": ("Taking apart", "$80.00"),
    "reassembly if no repair follows: 16 CCR 3353(c)(1)": ("Putting together again if no repair follows", "$60.00"),
    "parts that the tear-down destroys: 16 CCR 3353(c)(1)": ("gaskets and seals", "head gasket"),
    "local rules first (our own)": ("Local rules on estimates", "come first"),
}


def words_of(order: RepairOrder, format: str) -> str:
    text = render(order, format)
    if format == "html":
        text = unescape(re.sub(r"<[^>]*>", " ", text[text.index("<body>") :]))
        return re.sub(r"\s+([,:;])", r"\1", " ".join(text.split()))
    return " ".join(re.sub(r"\\(?=[^\w\s])", "", text).split())


@pytest.mark.parametrize("format", ["html", "markdown"])
@pytest.mark.parametrize("element", ELEMENTS)
def test_what_the_rules_list_has_its_place_on_the_paper(element: str, format: str) -> None:
    blank, filled = ELEMENTS[element]
    assert blank in words_of(brakes(), format)
    order = brakes()
    order.estimate = estimated(FULL)
    said = words_of(order, format)
    assert blank in said and filled in said
    assert "comply" not in said and "complian" not in said


@pytest.mark.parametrize("format", ["html", "markdown"])
def test_right_hand_paper_says_vat_and_labour(format: str) -> None:
    order = brakes("right-hand")
    order.estimate = estimated(FULL.replace('"$"', '"£"'), order)
    said = words_of(order, format)
    for words in ("VAT (8% on parts)", "Parts, without VAT", "Labour", "VAT no.", "£621.36", "Authorised by", "penny"):
        assert words in said
    assert "Labor " not in said and "Authorized" not in said


def test_the_rounding_is_named_as_the_file_chose_it() -> None:
    order = brakes()
    order.estimate = estimated(FULL.replace("[parts]", 'rounding = "half-even"\ntax_rounded = "each-row"\n[parts]'))
    said = words_of(order, "markdown")
    assert "half a cent to the even cent" in said and "row by row" in said
    order.estimate = estimated(FULL)
    assert "half a cent upward; tax is reckoned once, on the taxed sum" in words_of(order, "markdown")


def test_what_the_price_file_says_is_shown_and_not_obeyed() -> None:
    order = brakes()
    order.estimate = estimated(FULL.replace("Harbor Lane Garage", "<script>x</script> | *Garage*"))
    assert "<script" not in render(order, "html")
    assert r"\<script\>x\</script\> \| \*Garage\*" in render(order, "markdown")


# The command


def call(*args: object, **options: object) -> object:
    return CliRunner().invoke(cli.app, [str(a) for a in args], prog_name="talkaround", **options)  # type: ignore[arg-type]


@pytest.fixture
def written(tmp_path: Path) -> Path:
    path = tmp_path / "bay-3.json"
    path.write_text(render(brakes(), "json"), encoding="utf-8")
    return path


def test_blank_file_filled_in_gives_the_priced_paper(written: Path, tmp_path: Path) -> None:
    blank = call("price", written, "--format", "prices").stdout  # type: ignore[attr-defined]
    job = tmp_path / "job.toml"
    job.write_text(
        blank.replace('price = ""', 'price = "10.00"').replace('{ hours = "" }', '{ hours = "1" }')
        .replace('hourly_rate = ""', 'hourly_rate = "50"').replace('tax_percent = ""', 'tax_percent = "0"')
        .replace('currency = ""', 'currency = "€"'), encoding="utf-8",
    )  # fmt: skip
    result = call("price", written, "--prices", job, "--format", "markdown")
    assert result.exit_code == 0 and result.stderr == ""  # type: ignore[attr-defined]
    # Five parts at 10.00; three jobs, diagnosis and inspection at 50.00 each.
    assert "- Total: €300.00" in result.stdout  # type: ignore[attr-defined]


def test_filled_in_prices_are_not_written_over(written: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert call("price", written, "--format", "prices", "--out", out).exit_code == 0  # type: ignore[attr-defined]
    (out / "bay-3.prices.toml").write_text("mine", encoding="utf-8")
    result = call("price", written, "--format", "prices", "--out", out)
    assert result.exit_code == 1 and "may hold prices that you filled in" in result.stderr  # type: ignore[attr-defined]
    assert (out / "bay-3.prices.toml").read_text(encoding="utf-8") == "mine"


def test_a_broken_price_file_ends_before_anything_is_written(written: Path, tmp_path: Path) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "out"
    job.write_text('[terms]\nhourly_rate = "x"\nrating = "1"', encoding="utf-8")
    out.mkdir()
    (out / "bay-3.html").write_text("before", encoding="utf-8")
    result = call("price", written, "--prices", job, "--out", out)
    assert result.exit_code == 2 and len(result.stderr.splitlines()) == 2  # type: ignore[attr-defined]
    assert (out / "bay-3.html").read_text(encoding="utf-8") == "before"


def test_a_key_that_fits_nothing_is_told_and_the_order_is_written(tmp_path: Path) -> None:
    note, job = tmp_path / "n.txt", tmp_path / "job.toml"
    note.write_text("Rear pads are at two millimeters, replace them.", encoding="utf-8")
    job.write_text('[parts]\n"flux-drive" = "1.00"', encoding="utf-8")
    result = call("write", note, "--prices", job, "--format", "markdown")
    assert result.exit_code == 0 and "## Estimate" in result.stdout  # type: ignore[attr-defined]
    (line,) = result.stderr.splitlines()  # type: ignore[attr-defined]
    assert line.startswith("talkaround: ") and "flux-drive" in line


def test_what_is_no_order_is_refused_in_one_line(tmp_path: Path) -> None:
    path = tmp_path / "x.json"
    path.write_text("[]", encoding="utf-8")
    result = call("price", path)
    assert result.exit_code == 1 and "is no order" in result.stderr and len(result.stderr.splitlines()) == 1  # type: ignore[attr-defined]
