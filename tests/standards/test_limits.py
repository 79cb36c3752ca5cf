"""Limits against the published numbers, typed here from the sources that stand beside them.

Each number is tried itself, just under it and just over it. ``MIN``: the part fails under the number. ``MAX``: over it.
What the number itself means is as published: ``passes`` where the text says "not less than" or "at most", ``fails``
where it says "or less" or "under".
"""

from __future__ import annotations

from pathlib import Path

import pytest

from talkaround.judging import judge
from talkaround.judging.limits import hold_against
from talkaround.models import Measurement, Note
from talkaround.pipeline import write_order
from talkaround.reading.types import Finding, Place, Reading
from talkaround.vocabulary import LexiconError, Vocabulary, load_vocabulary

MIN, MAX = "min", "max"
PASSES, FAILS = "passes", "fails"

Row = tuple[str, str, float, str, str, str]
# id, which bound, published number, unit, what the number itself means, citation

TREAD: list[Row] = [
    # 49 CFR 570.9(a), RCW 46.37.425(4): 2/32 in; (a)(1) rejects where the wear bars, 2/32 in high, touch the road.
    ("us-light-tread", MIN, 2, "1/32 in", FAILS, "49 CFR 570.9(a)"),
    # 49 CFR 570.62(a): front tires 4/32 in (not trailers), others 2/32 in.
    ("us-light-steer-tread", MIN, 4, "1/32 in", PASSES, "49 CFR 570.62(a)"),
    ("us-commercial-steer-tread-in-use", MIN, 4, "1/32 in", PASSES, "49 CFR 570.62(a)"),
    ("us-commercial-tread-in-use", MIN, 2, "1/32 in", PASSES, "49 CFR 570.62(a)"),
    # 49 CFR 393.75(b) front of a bus, truck or tractor 4/32 in; (c) all others 2/32 in.
    ("us-commercial-steer-tread", MIN, 4, "1/32 in", PASSES, "49 CFR 393.75(b)"),
    ("us-commercial-tread", MIN, 2, "1/32 in", PASSES, "49 CFR 393.75(c)"),
    ("us-commercial-trailer-tread", MIN, 2, "1/32 in", PASSES, "49 CFR 393.75(c)"),
    # 49 CFR 396 Appendix A item 10: 4/32 in steer of the power unit, 2/32 in others.
    ("us-commercial-steer-tread-annual", MIN, 4, "1/32 in", PASSES, "396 Appendix A item 10"),
    ("us-commercial-tread-annual", MIN, 2, "1/32 in", PASSES, "396 Appendix A item 10"),
    # California Vehicle Code 27465: 1/32 in.
    ("california-car-tread", MIN, 1, "1/32 in", PASSES, "Vehicle Code 27465"),
    # COMAR 11.14.03.05 motorcycles 1/32 in; 11.14.05.05 trailers 2/32 in.
    ("maryland-motorcycle-tread", MIN, 1, "1/32 in", PASSES, "COMAR 11.14.03.05"),
    ("maryland-trailer-tread", MIN, 2, "1/32 in", PASSES, "COMAR 11.14.05.05"),
    # Handbook PO-515 452.1: front 4/32 in; 462.2: 2/32 in.
    ("postal-front-tread", MIN, 4, "1/32 in", PASSES, "PO-515"),
    ("postal-tread", MIN, 2, "1/32 in", PASSES, "PO-515"),
    # Construction and Use Regulations 1986 reg 27: 1.6 mm; over 3,500 kg, heavy trailers, motorcycles 1 mm.
    ("uk-tread", MIN, 1.6, "mm", PASSES, "reg 27"),
    ("uk-heavy-tread", MIN, 1, "mm", PASSES, "reg 27"),
    # Directive 89/459/EEC: 1.6 mm.
    ("eu-tread", MIN, 1.6, "mm", PASSES, "89/459/EEC"),
]

TIRES_AND_WHEELS: list[Row] = [
    ("uk-tire-cut", MAX, 25, "mm", PASSES, "reg 27(1)(c)"),  # over 25 mm
    ("uk-heavy-tire-age", MAX, 10, "year", PASSES, "reg 27A"),  # over 10 years
    ("any-tire-age", MAX, 10, "year", PASSES, "common practice"),  # tire makers cap at 10
    ("any-dual-difference", MAX, 0.25, "in", PASSES, "common practice"),  # within 1/4 in
    ("maryland-dual-difference", MAX, 0.5, "in", PASSES, "COMAR 11.14.05.05"),  # within 1/2 in
    ("us-light-rim-runout", MAX, 0.125, "in", PASSES, "49 CFR 570.10(b)"),  # 1/8 in
    ("any-hub-face-runout", MAX, 0.06, "mm", PASSES, "a maker's manual"),  # 0.06 mm
    ("any-bearing-end-play", MIN, 0.001, "in", PASSES, "common practice"),  # 0.001 to 0.005 in
    ("any-bearing-end-play", MAX, 0.005, "in", PASSES, "common practice"),
    ("any-unit-hub-play", MAX, 0.0, "mm", PASSES, "a maker's manual"),  # 0.0 mm axial
]

PADS: list[Row] = [
    # 49 CFR 570.5(g), RCW 46.37.360(5): not less than 1/32 in over rivets, or over the backing if bonded.
    ("us-light-pad-law", MIN, 1, "1/32 in", PASSES, "49 CFR 570.5(g)"),
    ("us-light-lining-law", MIN, 1, "1/32 in", PASSES, "49 CFR 570.5(g)"),
    # 49 CFR 570.59(c), heavy: 1/32 in over the fastener, 1/16 in over the shoe if bonded.
    ("us-commercial-riveted-pad", MIN, 1, "1/32 in", PASSES, "49 CFR 570.59(c)"),
    ("us-commercial-riveted-lining", MIN, 1, "1/32 in", PASSES, "49 CFR 570.59(c)"),
    ("us-commercial-bonded-pad", MIN, 1 / 16, "in", PASSES, "49 CFR 570.59(c)"),
    ("us-commercial-bonded-lining", MIN, 1 / 16, "in", PASSES, "49 CFR 570.59(c)"),
    # 49 CFR 393.47(d)(1), steering axle: 3/16 in continuous, 1/4 in two-pad, 1/8 in air disc, 1/16 in hydraulic or
    # electric.
    ("us-commercial-continuous-lining", MIN, 3 / 16, "in", PASSES, "49 CFR 393.47(d)(1)"),
    ("us-commercial-two-pad-lining", MIN, 1 / 4, "in", PASSES, "49 CFR 393.47(d)(1)"),
    ("us-commercial-pad", MIN, 1 / 8, "in", PASSES, "49 CFR 393.47(d)"),
    ("us-commercial-hydraulic-pad", MIN, 1 / 16, "in", PASSES, "49 CFR 393.47(d)"),
    # 49 CFR 393.47(d)(2), other axles: 1/4 in air drum, 1/8 in air disc, 1/16 in hydraulic, electric.
    ("us-commercial-lining", MIN, 1 / 4, "in", PASSES, "49 CFR 393.47(d)(2)"),
    ("us-commercial-hydraulic-lining", MIN, 1 / 16, "in", PASSES, "49 CFR 393.47(d)(1), (2)"),
    ("us-commercial-electric-lining", MIN, 1 / 16, "in", PASSES, "49 CFR 393.47(d)(1), (2)"),
    # 49 CFR 396 Appendix A 1.a(6)(c): under 1/4 in air drum, 1/16 in or less hydraulic and electric drum, under 1/8 in
    # air disc; (d), steer: under 1/4 in drum, under 1/8 in air disc, 1/16 in or less hydraulic disc and electric.
    ("us-commercial-lining-annual", MIN, 1 / 4, "in", PASSES, "396 Appendix A 1.a(6)(c)"),
    ("us-commercial-steer-lining", MIN, 1 / 4, "in", PASSES, "396 Appendix A 1.a(6)(d)"),
    ("us-commercial-pad-annual", MIN, 1 / 8, "in", PASSES, "396 Appendix A 1.a(6)(c), (d)"),
    ("us-commercial-hydraulic-lining-annual", MIN, 1 / 16, "in", FAILS, "396 Appendix A 1.a(6)(c)"),
    ("us-commercial-electric-lining-annual", MIN, 1 / 16, "in", FAILS, "396 Appendix A 1.a(6)(c), (d)"),
    ("us-commercial-hydraulic-pad-annual", MIN, 1 / 16, "in", FAILS, "396 Appendix A 1.a(6)(d)"),
    # A maker's manual: heavy drum lining replaced at 6.3 mm.
    ("us-commercial-lining-maker", MIN, 6.3, "mm", PASSES, "a maker's manual"),
    # UK inspection manual 1.1.13(a): dangerous under 1.5 mm.
    ("uk-pad-law", MIN, 1.5, "mm", PASSES, "1.1.13(a)"),
    ("uk-lining", MIN, 1.5, "mm", PASSES, "1.1.13(a)"),
    # Makers: worn out at 2.0 mm; older manuals within 0.76 mm of the plate. Habit: replace at 2 mm, advise at 3 mm.
    ("any-pad-wear-out", MIN, 2.0, "mm", PASSES, "a maker's manual"),
    ("any-pad-wear-out-older", MIN, 0.76, "mm", FAILS, "makers' older manuals"),
    ("any-pad-advised", MIN, 3, "mm", PASSES, "common practice"),
    ("us-light-pad", MIN, 2, "mm", FAILS, "common practice"),
    ("uk-pad", MIN, 2, "mm", FAILS, "common practice"),
    ("eu-pad", MIN, 2, "mm", FAILS, "common practice"),
    ("us-light-lining", MIN, 2, "mm", FAILS, "common practice"),
    ("eu-lining", MIN, 2, "mm", FAILS, "common practice"),
]

ROTORS_AND_PEDAL: list[Row] = [
    ("any-rotor-runout", MAX, 0.004, "in", PASSES, "makers' manuals"),  # 0.05 to 0.10 mm, 0.002 to 0.004 in
    ("any-rotor-thickness-variation", MAX, 0.025, "mm", PASSES, "makers' manuals"),  # 0.010 to 0.025 mm
    ("any-rotor-thickness-variation-strict", MAX, 0.0005, "in", PASSES, "a parts guide"),  # 0.0005 in
    ("any-rotor-groove", MAX, 1.5, "mm", PASSES, "makers' manuals"),  # up to 1.5 mm
    ("us-light-pedal-travel", MAX, 80, "%", PASSES, "49 CFR 570.5(c)"),  # falls by more than 80 %
    ("missouri-pedal-travel", MAX, 80, "%", PASSES, "11 CSR 50-2.160(1)(A)"),  # under 1/5 left
    ("missouri-school-bus-pedal-travel", MAX, 60, "%", PASSES, "11 CSR 50-2.160(1)(A)"),  # under 2/5 left
    ("maryland-pedal-travel", MAX, 66.67, "%", PASSES, "COMAR 11.14.09.05"),  # under 1/3 left
    ("us-light-stopping-distance", MAX, 25, "ft", PASSES, "49 CFR 570.5(d)"),  # from 20 mph in 25 ft or less
    ("uk-brake-imbalance", MIN, 70, "%", PASSES, "1.2.1(b)"),  # under 70 % of the other side
    ("uk-brake-imbalance-dangerous", MIN, 50, "%", PASSES, "1.2.1(b)"),  # under 50 % on a steered axle
    # Cars 58 % from 2012 and 50 % before, vans 50 % and 45 %, parking brake 16 %.
    *[
        (f"{book}-{sort}brake-efficiency", MIN, number, "%", PASSES, paragraph)
        for book, paragraph in (("uk", "1.2.2(a)"), ("eu", "Annex I 1.2.2"))
        for sort, number in (("car-", 58), ("older-car-", 50), ("van-", 50), ("older-van-", 45))
    ],
    ("uk-parking-brake-efficiency", MIN, 16, "%", PASSES, "1.4.2(a)"),
    ("eu-parking-brake-efficiency", MIN, 16, "%", PASSES, "Annex I 1.4.2"),
]

FLUIDS: list[Row] = [
    # Habit: change at 3 % water (the UK trade from 2.5 %), 200 ppm copper, 2 years.
    ("us-light-moisture", MAX, 3, "%", FAILS, "common practice"),
    ("us-commercial-moisture", MAX, 3, "%", FAILS, "common practice"),
    ("eu-moisture", MAX, 3, "%", FAILS, "common practice"),
    ("uk-moisture", MAX, 2.5, "%", FAILS, "common practice"),
    ("any-fluid-copper", MAX, 200, "ppm", FAILS, "common practice"),
    ("any-fluid-age", MAX, 2, "year", FAILS, "common practice"),
    # 49 CFR 571.116: wet test at 3.7 % water; S5.1.1 dry and S5.1.2 wet boiling points.
    ("any-moisture-wet-test", MAX, 3.7, "%", PASSES, "49 CFR 571.116"),
    ("any-fluid-boiling-point", MIN, 140, "degC", PASSES, "571.116 S5.1.2"),
    ("any-dot-3-dry-boiling-point", MIN, 205, "degC", PASSES, "571.116 S5.1.1"),
    ("any-dot-3-wet-boiling-point", MIN, 140, "degC", PASSES, "571.116 S5.1.2"),
    ("any-dot-4-dry-boiling-point", MIN, 230, "degC", PASSES, "571.116 S5.1.1"),
    ("any-dot-4-wet-boiling-point", MIN, 155, "degC", PASSES, "571.116 S5.1.2"),
    ("any-dot-5-dry-boiling-point", MIN, 260, "degC", PASSES, "571.116 S5.1.1"),
    ("any-dot-5-wet-boiling-point", MIN, 180, "degC", PASSES, "571.116 S5.1.2"),
    ("any-dot-5-1-dry-boiling-point", MIN, 260, "degC", PASSES, "571.116 S5.1.1"),
    ("any-dot-5-1-wet-boiling-point", MIN, 180, "degC", PASSES, "571.116 S5.1.2"),
    # Habit: 40 % glycol -24, 50 % -34, 60 % -52, 70 % -64 degrees.
    ("any-coolant-40", MAX, -24, "degC", PASSES, "common practice"),
    ("any-coolant-50", MAX, -34, "degC", PASSES, "common practice"),
    ("any-coolant-60", MAX, -52, "degC", PASSES, "common practice"),
    ("any-coolant-70", MAX, -64, "degC", PASSES, "common practice"),
]

AIR_BRAKES: list[Row] = [
    # 49 CFR 393.47(e), clamp type: readjustment limits by chamber type, standard and long stroke.
    ("us-commercial-stroke-6", MAX, 1 + 1 / 4, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-9", MAX, 1 + 3 / 8, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-12", MAX, 1 + 3 / 8, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-12-long", MAX, 1 + 3 / 4, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-16", MAX, 1 + 3 / 4, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-16-long", MAX, 2, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-20", MAX, 1 + 3 / 4, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-20-long", MAX, 2, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-20-long-3-in", MAX, 2 + 1 / 2, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-30", MAX, 2, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-30-long", MAX, 2 + 1 / 2, "in", PASSES, "49 CFR 393.47(e)"),
    ("us-commercial-stroke-36", MAX, 2 + 1 / 4, "in", PASSES, "49 CFR 393.47(e)"),
    # 49 CFR 396 Appendix A 1.a(5)(b): 80 % of the rated stroke.
    ("us-commercial-stroke-unlisted", MAX, 80, "%", PASSES, "396 Appendix A 1.a(5)(b)"),
]

STEERING: list[Row] = [
    # 49 CFR 570.7(a) Table 1 and 570.60(a) Table 2: 16 in or less 2, 18 in 2 1/4, 20 in 2 1/2, 22 in 2 3/4.
    *[
        (f"{row}-{wheel}{tail}", MAX, number, "in", PASSES, paragraph)
        for row, tail, paragraph in (
            ("us-light-lash", "", "49 CFR 570.7(a) Table 1"),
            ("us-commercial-lash", "-in-use", "49 CFR 570.60(a) Table 2"),
        )
        for wheel, number in ((16, 2), (18, 2 + 1 / 4), (20, 2 + 1 / 2), (22, 2 + 3 / 4))
    ],
    # 49 CFR 393.209(b)(1): wheel, manual, power.
    *[
        (f"us-commercial-lash-{wheel}-{how}", MAX, number, "in", PASSES, "49 CFR 393.209(b)(1)")
        for wheel, manual, power in (
            (16, 2, 4 + 1 / 4),
            (18, 2 + 1 / 4, 4 + 3 / 4),
            (19, 2 + 3 / 8, 5),
            (20, 2 + 1 / 2, 5 + 1 / 4),
            (21, 2 + 5 / 8, 5 + 1 / 2),
            (22, 2 + 3 / 4, 5 + 3 / 4),
        )
        for how, number in (("manual", manual), ("power", power))
    ],
    ("us-commercial-lash-angle-manual", MAX, 14, "deg", PASSES, "49 CFR 393.209(b)(2)"),
    ("us-commercial-lash-angle-power", MAX, 30, "deg", PASSES, "49 CFR 393.209(b)(2)"),
    # States: Washington as federal, Missouri 2 in up to 18 and 3 in over, North Carolina 3 and 4 in, Utah 4 1/2 in.
    ("washington-lash", MAX, 2, "in", PASSES, "RCW 46.37.375(2)"),
    ("missouri-lash", MAX, 2, "in", PASSES, "11 CSR 50-2.200(1)(B)"),
    ("missouri-lash-large", MAX, 3, "in", PASSES, "11 CSR 50-2.200(1)(B)"),
    ("carolina-lash", MAX, 3, "in", PASSES, "03D .0535(b)(1)"),
    ("carolina-lash-large", MAX, 4, "in", PASSES, "03D .0535(b)(1)"),
    ("utah-lash-16-power", MAX, 4 + 1 / 2, "in", PASSES, "R714-162-9"),
    # One fifth of the wheel's diameter: 380 mm gives 76 mm.
    ("uk-lash", MAX, 380 / 5, "mm", PASSES, "2.3"),
    ("eu-lash", MAX, 380 / 5, "mm", PASSES, "Annex I 2.3"),
    # 49 CFR 570.7(b)(1): 1/4 in; 570.60(b) Table 3: rim 16 in or less 1/4, to 18 in 3/8, above 1/2.
    # RCW 46.37.375(3): 1/4.
    ("us-light-linkage", MAX, 1 / 4, "in", PASSES, "49 CFR 570.7(b)(1)"),
    ("washington-linkage", MAX, 1 / 4, "in", PASSES, "RCW 46.37.375(3)"),
    ("us-commercial-linkage-16", MAX, 1 / 4, "in", PASSES, "49 CFR 570.60(b) Table 3"),
    ("us-commercial-linkage-18", MAX, 3 / 8, "in", PASSES, "49 CFR 570.60(b) Table 3"),
    ("us-commercial-linkage-large", MAX, 1 / 2, "in", PASSES, "49 CFR 570.60(b) Table 3"),
    # Habit for ball joints: 0.050 in axial, 1/4 in at the rim.
    ("any-ball-joint", MAX, 0.050, "in", PASSES, "common practice"),
    ("any-ball-joint-at-rim", MAX, 1 / 4, "in", PASSES, "common practice"),
]

ELECTRICAL: list[Row] = [
    # Rested, by one table 12.45 V three quarters, 12.24 V half, 11.89 V empty; by a rounded one 12.4, 12.2, 11.6 V.
    ("any-battery-rested", MIN, 12.2, "V", FAILS, "common practice"),
    ("any-battery-rested-24", MIN, 2 * 12.2, "V", FAILS, "common practice"),
    ("any-battery-half-charged", MIN, 12.24, "V", PASSES, "12.24 V half"),
    ("any-battery-empty", MIN, 11.89, "V", FAILS, "11.89 V"),
    ("any-battery-empty-rounded", MIN, 11.6, "V", FAILS, "11.6 V"),
    ("any-battery-agm-full", MIN, 12.8, "V", PASSES, "common practice"),
    # Engine on: 13.5 to 14.7 V; sources 13.5 to 14.5 and 13.7 to 14.7 V.
    ("any-charging", MIN, 13.5, "V", PASSES, "common practice"),
    ("any-charging", MAX, 14.7, "V", PASSES, "common practice"),
    ("any-charging-24", MIN, 2 * 13.5, "V", PASSES, "common practice"),
    ("any-charging-24", MAX, 2 * 14.7, "V", PASSES, "common practice"),
    ("any-charging-narrow", MIN, 13.5, "V", PASSES, "handbook pages"),
    ("any-charging-narrow", MAX, 14.5, "V", PASSES, "handbook pages"),
    ("any-charging-high", MIN, 13.7, "V", PASSES, "handbook pages"),
    ("any-charging-high", MAX, 14.7, "V", PASSES, "handbook pages"),
    # Load test: 9.6 V or more at 21 degrees, then 9.5 at 60 F, 9.4 at 50, 9.3, 9.1, 8.9, 8.7 and 8.5 at 0 F.
    ("any-load-test", MIN, 9.6, "V", PASSES, "battery-council practice"),
    *[
        (f"any-load-test-{degrees}-f", MIN, number, "V", PASSES, "battery-council practice")
        for degrees, number in ((60, 9.5), (50, 9.4), (40, 9.3), (30, 9.1), (20, 8.9), (10, 8.7), (0, 8.5))
    ],
    ("any-parasitic-draw", MAX, 50, "mA", FAILS, "common practice"),  # under 50 mA
    ("uk-flash-rate", MIN, 60, "/min", PASSES, "4.4.4"),  # 60 to 120 a minute
    ("uk-flash-rate", MAX, 120, "/min", PASSES, "4.4.4"),
    ("eu-flash-rate", MIN, 60, "/min", PASSES, "4.4.4"),
    ("eu-flash-rate", MAX, 120, "/min", PASSES, "4.4.4"),
]

ROWS = [*TREAD, *TIRES_AND_WHEELS, *PADS, *ROTORS_AND_PEDAL, *FLUIDS, *AIR_BRAKES, *STEERING, *ELECTRICAL]

# Figures that nobody has checked against a text: their numbers are not asserted, and no reading is held against them.
UNCHECKED = {
    "us-light-brake-difference", "us-commercial-brake-difference", "us-commercial-rim-runout",
    "us-commercial-electric-brake-current", "us-commercial-leak-single", "us-commercial-leak-combination",
    "us-commercial-stroke-24", "us-commercial-stroke-24-long", "us-commercial-stroke-24-long-3-in",
    "us-commercial-stroke-24-later", "any-cranking-test",
}  # fmt: skip


def _verdict(vocabulary: Vocabulary, id: str, value: float, unit: str) -> str | None:
    held = hold_against(Reading(value, unit), vocabulary.limits[id], vocabulary)
    return held.verdict if held else None


@pytest.mark.parametrize(
    ("id", "bound", "number", "unit", "itself", "source"), ROWS, ids=[f"{r[0]}-{r[1]}" for r in ROWS]
)
def test_at_just_under_and_just_over_the_published_number(
    vocabulary: Vocabulary, id: str, bound: str, number: float, unit: str, itself: str, source: str
) -> None:
    hair = abs(number) / 1000 or 0.001
    bad, good = (number - hair, number + hair) if bound == MIN else (number + hair, number - hair)
    assert _verdict(vocabulary, id, bad, unit) == "fail"
    assert _verdict(vocabulary, id, good, unit) in ("pass", "near")
    at = _verdict(vocabulary, id, number, unit)
    assert at == "fail" if itself == FAILS else at in ("pass", "near")
    assert source in vocabulary.limits[id].source


def test_every_limit_is_held_to_a_published_number_or_listed_as_unchecked(vocabulary: Vocabulary) -> None:
    held = {row[0] for row in ROWS}
    assert held.isdisjoint(UNCHECKED)
    assert set(vocabulary.limits) == held | UNCHECKED


def test_an_unchecked_figure_judges_nothing(vocabulary: Vocabulary) -> None:
    for id in UNCHECKED:
        limit = vocabulary.limits[id]
        assert limit.applies != "verdict" and not limit.known_from, id
        assert limit.mark in ("memory", "habit"), id


def test_limits_that_stand_beside_each_other_are_there(vocabulary: Vocabulary) -> None:
    named = {other for limit in vocabulary.limits.values() for other in limit.stands_beside}
    assert named and named <= set(vocabulary.limits)


def _judged(
    vocabulary: Vocabulary, book: str, component: str, value: float, unit: str, axle: str | None = None
) -> Measurement:
    finding = Finding(component, Place(axle=axle), readings=[Reading(value, unit)])
    return judge(finding, vocabulary, book).measurements[0]


# What a shop sees day by day: book, component, axle, reading, unit, verdict, and words of the source that it is shown.
DAY_BY_DAY = [
    # 49 CFR 570.9(a): 2/32 in. 4/32 in is what road-safety pages advise for wet roads.
    ("us-light", "tire", "front", 1.9, "1/32 in", "fail", "570.9(a)"),
    ("us-light", "tire", "front", 2, "1/32 in", "fail", "570.9(a)"),
    ("us-light", "tire", "front", 2.1, "1/32 in", "near", "570.9(a)"),
    ("us-light", "tire", "rear", 4, "1/32 in", "near", "570.9(a)"),
    ("us-light", "tire", "rear", 4.1, "1/32 in", "pass", "570.9(a)"),
    # 1.5 mm is 1.9/32 in and 1.7 mm is 2.1/32 in.
    ("us-light", "tire", None, 1.5, "mm", "fail", "570.9(a)"),
    ("us-light", "tire", None, 1.7, "mm", "near", "570.9(a)"),
    # 49 CFR 393.75(b), (c): 4/32 in in front of a bus, truck or tractor, 2/32 in elsewhere and on trailers.
    ("us-commercial", "tire", "front", 3.9, "1/32 in", "fail", "393.75(b)"),
    ("us-commercial", "tire", "front", 4, "1/32 in", "near", "393.75(b)"),
    ("us-commercial", "tire", "rear", 3.9, "1/32 in", "near", "393.75(c)"),
    ("us-commercial", "tire", "rear", 1.9, "1/32 in", "fail", "393.75(c)"),
    ("us-commercial", "tire", "rear", 2, "1/32 in", "near", "393.75(c)"),
    ("us-commercial", "steer-tire", None, 3.9, "1/32 in", "fail", "393.75(b)"),
    ("us-commercial", "trailer-tire", "front", 3.9, "1/32 in", "near", "393.75(c)"),
    # A steer tire is a heavy vehicle's, also where the shop goes by the book for light ones: 49 CFR 570.62(a).
    ("us-light", "steer-tire", "front", 3.9, "1/32 in", "fail", "570.62(a)"),
    ("us-light", "steer-tire", "front", 4, "1/32 in", "near", "570.62(a)"),
    # Construction and Use Regulations reg 27: 1.6 mm, and 1 mm over 3,500 kg, which a drive tire tells.
    ("uk", "tire", None, 1.59, "mm", "fail", "1.6 mm"),
    ("uk", "tire", None, 1.6, "mm", "near", "1.6 mm"),
    ("uk", "tire", None, 3, "mm", "near", "1.6 mm"),
    ("uk", "tire", None, 3.1, "mm", "pass", "1.6 mm"),
    ("uk", "drive-tire", None, 1.1, "mm", "near", "1 mm across"),
    ("uk", "drive-tire", None, 0.9, "mm", "fail", "1 mm across"),
    # 2/32 in is 1.5875 mm: enough in the US, too little in the UK.
    ("uk", "tire", None, 2, "1/32 in", "fail", "1.6 mm"),
    ("eu", "tire", None, 1.5, "mm", "fail", "89/459/EEC"),
    ("eu", "tire", None, 1.6, "mm", "near", "89/459/EEC"),
    # Habit: pads replaced at 2 mm. A worn pad of 2 mm still passes the law in the US (1/32 in) and in the UK (1.5 mm).
    ("us-light", "brake-pad", "front", 2, "mm", "fail", "common practice"),
    ("us-light", "brake-pad", "front", 2.1, "mm", "near", "common practice"),
    ("us-light", "brake-pad", "front", 6, "mm", "pass", "common practice"),
    ("uk", "brake-pad", "rear", 2, "mm", "fail", "common practice"),
    ("eu", "brake-pad", "rear", 1.9, "mm", "fail", "common practice"),
    # 49 CFR 393.47(d): air disc 1/8 in, which is 3.175 mm; air drum 1/4 in.
    ("us-commercial", "brake-pad", "rear", 3.1, "mm", "fail", "393.47(d)"),
    ("us-commercial", "brake-pad", "rear", 3.2, "mm", "near", "393.47(d)"),
    ("us-commercial", "brake-shoe", "rear", 0.24, "in", "fail", "393.47(d)(2)"),
    ("us-commercial", "brake-shoe", "rear", 0.25, "in", "near", "393.47(d)(2)"),
    ("us-commercial", "brake-lining", "rear", 8, "1/32 in", "near", "393.47(d)(2)"),
    ("us-commercial", "brake-lining", "rear", 7, "1/32 in", "fail", "393.47(d)(2)"),
    # 396 Appendix A is the stricter of two sources for a steering axle.
    ("us-commercial", "brake-lining", "front", 3 / 16, "in", "fail", "396 Appendix A"),
    ("uk", "brake-lining", "rear", 1.4, "mm", "fail", "1.1.13(a)"),
    ("uk", "brake-lining", "rear", 1.5, "mm", "near", "1.1.13(a)"),
    # Makers: runout at most 0.002 to 0.004 in. 0.98 in is a thickness, and the law has no figure for it.
    ("us-light", "brake-rotor", "front", 0.0019, "in", "pass", "0.002 to 0.004 in"),
    ("us-light", "brake-rotor", "front", 0.003, "in", "near", "0.002 to 0.004 in"),
    ("us-light", "brake-rotor", "front", 0.0041, "in", "fail", "0.002 to 0.004 in"),
    ("uk", "brake-rotor", "front", 0.11, "mm", "fail", "0.002 to 0.004 in"),
    ("us-light", "brake-rotor", "front", 0.98, "in", None, None),
    # 49 CFR 570.10(b): 1/8 in.
    ("us-light", "wheel", None, 0.126, "in", "fail", "570.10(b)"),
    ("us-light", "alloy-wheel", None, 0.125, "in", "pass", "570.10(b)"),
    # 49 CFR 570.7(a): 2 in at a wheel of 16 in or less; 570.7(b)(1): 1/4 in for the linkage.
    ("us-light", "steering-wheel", None, 2, "in", "pass", "570.7(a)"),
    ("us-light", "steering-wheel", None, 2.1, "in", "fail", "570.7(a)"),
    ("us-light", "steering-linkage", None, 0.26, "in", "fail", "570.7(b)(1)"),
    # The wheel's size and the rim's are not in the reading, nor is where play of a single joint was taken.
    ("us-commercial", "steering-wheel", None, 4, "in", None, None),
    ("us-commercial", "steering-linkage", None, 0.3, "in", None, None),
    ("us-light", "outer-tie-rod-end", "front", 0.3, "in", None, None),
    ("us-light", "lower-ball-joint", "front", 0.06, "in", None, None),
    # Chamber types are not in the reading either: 2 1/4 in is too much for a type 30 and allowed for its long stroke.
    ("us-commercial", "brake-chamber", "rear", 2.25, "in", None, None),
    # 49 CFR 570.5(c): by more than 80 %.
    ("us-light", "brake-pedal", None, 80, "%", "pass", "570.5(c)"),
    ("us-light", "brake-pedal", None, 81, "%", "fail", "570.5(c)"),
    # Habits for brake fluid: 3 %, in the UK from 2.5 %.
    ("us-light", "brake-fluid", None, 3, "%", "fail", "common practice"),
    ("us-light", "brake-fluid", None, 2.9, "%", "near", "common practice"),
    ("us-light", "brake-fluid", None, 1.9, "%", "pass", "common practice"),
    ("uk", "brake-fluid", None, 2.5, "%", "fail", "common practice"),
    # 49 CFR 571.116: no grade may boil under 140 degrees; 284 F is the same.
    ("uk", "brake-fluid", None, 139, "degC", "fail", "571.116"),
    ("us-light", "brake-fluid", None, 283, "degF", "fail", "571.116"),
    ("us-light", "brake-fluid", None, 285, "degF", "near", "571.116"),
    # Rested batteries, 12 V and 24 V; charging; neither is mistaken for the other, nor for a battery under load.
    ("us-light", "battery", None, 12.6, "V", "pass", "common practice"),
    ("us-light", "12-volt-battery", None, 12.3, "V", "near", "common practice"),
    ("uk", "12-volt-battery", None, 12.2, "V", "fail", "common practice"),
    ("uk", "battery", None, 24.3, "V", "fail", "common practice"),
    ("uk", "battery", None, 25.2, "V", "pass", "common practice"),
    ("us-light", "battery", None, 14.2, "V", None, None),
    ("us-light", "battery", None, 9.9, "V", None, None),
    ("us-light", "alternator", None, 13.4, "V", "fail", "13.5 to 14.7 V"),
    ("us-light", "alternator", None, 13.5, "V", "pass", "13.5 to 14.7 V"),
    ("us-light", "alternator", None, 14.7, "V", "pass", "13.5 to 14.7 V"),
    ("us-light", "charging-system", None, 14.8, "V", "fail", "13.5 to 14.7 V"),
    ("us-commercial", "alternator", None, 28.0, "V", "pass", "twice"),
    ("us-commercial", "alternator", None, 26.9, "V", "fail", "twice"),
    ("us-light", "alternator", None, 200, "mV", None, None),
    ("us-light", "parasitic-draw", None, 49, "mA", "pass", "under 50 mA"),
    ("us-light", "parasitic-draw", None, 0.05, "A", "fail", "under 50 mA"),
    ("us-light", "battery-test", None, 9.5, "V", "fail", "battery-council practice"),
    ("us-light", "battery-test", None, 9.6, "V", "pass", "battery-council practice"),
    # How cold coolant must stand is for the climate to say.
    ("us-light", "coolant", None, -20, "degC", None, None),
]


@pytest.mark.parametrize(
    ("book", "component", "axle", "value", "unit", "verdict", "source"),
    DAY_BY_DAY,
    ids=[f"{r[0]}-{r[1]}-{r[2] or 'any'}-{r[3]:g}-{r[4]}" for r in DAY_BY_DAY],
)
def test_the_verdict_that_the_rule_book_gives(
    vocabulary: Vocabulary, book: str, component: str, axle: str | None, value: float, unit: str, verdict: str | None,
    source: str | None,
) -> None:  # fmt: skip
    m = _judged(vocabulary, book, component, value, unit, axle)
    assert m.verdict == verdict
    if source is None:
        assert m.limit is None and m.limit_source is None
    else:
        assert source in (m.limit_source or "")


# Two sources, two figures, one subject: both must be there, name each other, and stay apart.
CONFLICTS = [
    # 570.5(g) 1/32 in bonded, light, against 570.59(c) 1/16 in bonded, heavy.
    ("us-light-lining-law", 1 / 32, "us-commercial-bonded-lining", 1 / 16),
    # 393.47(d)(1) 3/16 in continuous against 396 Appendix A 1/4 in.
    ("us-commercial-continuous-lining", 3 / 16, "us-commercial-steer-lining", 1 / 4),
    # 393.209(b)(1) 4 1/4 in federal against 4 1/2 in in Utah, wheel of 16 in with power.
    ("us-commercial-lash-16-power", 4.25, "utah-lash-16-power", 4.5),
    # 2/32 in federal against 1/32 in for cars in California.
    ("us-light-tread", 2 / 32, "california-car-tread", 1 / 32),
    # 570.7(a) 2 1/4 in at 18 in against Missouri's 2 in and North Carolina's 3 in.
    ("us-light-lash-18", 2.25, "missouri-lash", 2.0),
    ("us-light-lash-18", 2.25, "carolina-lash", 3.0),
    # Pads: 1.5 mm in the UK manual against the habit of 2 mm; makers 2 mm against 0.76 mm.
    ("uk-pad-law", 1.5 / 25.4, "uk-pad", 2 / 25.4),
    ("any-pad-wear-out", 2 / 25.4, "any-pad-wear-out-older", 0.76 / 25.4),
    # 1.6 mm for cars against 1 mm for heavy vehicles in the UK.
    ("uk-tread", 1.6 / 25.4, "uk-heavy-tread", 1 / 25.4),
]


@pytest.mark.parametrize(("one", "inches", "other", "other_inches"), CONFLICTS)
def test_conflicting_sources_are_both_kept_and_told_apart(
    vocabulary: Vocabulary, one: str, inches: float, other: str, other_inches: float
) -> None:
    between = (inches + other_inches) / 2
    fails = [_verdict(vocabulary, id, between, "in") == "fail" for id in (one, other)]
    assert sorted(fails) == [False, True]
    a, b = vocabulary.limits[one], vocabulary.limits[other]
    assert other in a.stands_beside or one in b.stands_beside
    assert a.source != b.source


def test_the_conflict_over_charging_voltage_shows_at_13_6_and_14_6_volts(vocabulary: Vocabulary) -> None:
    # Sources: 13.5 to 14.5 V and 13.7 to 14.7 V.
    assert _verdict(vocabulary, "any-charging-narrow", 13.6, "V") == "pass"
    assert _verdict(vocabulary, "any-charging-high", 13.6, "V") == "fail"
    assert _verdict(vocabulary, "any-charging-narrow", 14.6, "V") == "fail"
    assert _verdict(vocabulary, "any-charging-high", 14.6, "V") == "pass"


@pytest.mark.parametrize(
    ("book", "steering", "shown", "verdict"),
    [
        # 1.59 mm is a hair over 2/32 in (1.5875 mm) and under 1.6 mm.
        (None, "left-hand", "us-light", "near"),
        (None, "right-hand", "uk", "fail"),
        ("eu", "left-hand", "eu", "fail"),
        ("us-commercial", "right-hand", "us-commercial", "near"),
    ],
)
def test_the_rule_book_follows_the_drive_side_unless_one_is_chosen(
    vocabulary: Vocabulary, book: str | None, steering: str, shown: str, verdict: str
) -> None:
    note = Note(name="n", text="Left rear tire is at 1.59 mm.")
    order = write_order(note, vocabulary=vocabulary, steering=steering, rule_book=book)  # type: ignore[arg-type]
    assert order.rule_book == shown
    assert [m.verdict for line in order.lines for m in line.measurements] == [verdict]


SHOP_LIMIT = """
[our-pad]
book = "us-light"
quantity = "pad-thickness"
components = ["brake-pad"]
below = 5
unit = "mm"
source = "shop rule"
mark = "habit"
"""


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('["brake-pad"]', '["brake-pud"]', 5, "brake-pud"),
        ('"pad-thickness"', '"pad-thicknes"', 4, "pad-thicknes"),
        ('"mm"', '"psi"', 7, "psi"),
        ("below = 5\n", "", 2, "below, above or both"),
        ("below = 5\n", "below = 5\nnear = 4\n", 2, "near must lie on the good side"),
        ("below = 5\n", 'below = 5\napplies = "named"\n', 2, "only_if"),
    ],
)
def test_a_shop_is_told_where_its_limit_is_wrong(tmp_path: Path, old: str, new: str, line: int, says: str) -> None:
    (tmp_path / "limits.toml").write_text(SHOP_LIMIT.replace(old, new), encoding="utf-8")
    with pytest.raises(LexiconError) as error:
        load_vocabulary(tmp_path)
    assert f"limits.toml, line {line}" in str(error.value)
    assert says in str(error.value) and "\n" not in str(error.value)


def test_a_shop_can_set_a_limit_of_its_own_and_switch_one_off(tmp_path: Path) -> None:
    text = "[us-light-pad]\noff = true\n" + SHOP_LIMIT.replace("[our-pad]", "[our-own-pad]")
    (tmp_path / "limits.toml").write_text(text, encoding="utf-8")
    m = _judged(load_vocabulary(tmp_path), "us-light", "brake-pad", 4.9, "mm")
    assert (m.verdict, m.limit, m.limit_source) == ("fail", 5, "shop rule")
