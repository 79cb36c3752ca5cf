"""Readings just past, at, just inside and well inside published limits, spoken as a technician says them: the severity.

``test_limits`` holds the numbers themselves; here a phrase goes the whole way to its line. Past the limit is required,
at the limit goes by the wording of the rule, near it is suggested with the margin said, and well inside is good where
nothing but the reading is said. Limits that hold on what a phrase cannot tell (the size of a steering wheel of a
commercial vehicle, the type of a brake chamber) judge nothing and have no rows.
"""

from __future__ import annotations

import pytest

from project_notes import shipped_vocabulary
from talkaround.models import Line, Note, RuleBook
from talkaround.pipeline import write_order

# Rule book, phrase with its reading left open, and the readings: past the limit, at it, near it, well inside.
PAST, AT_FAILS, AT_PASSES, NEAR, INSIDE = "required", "required", "suggested", "suggested", "good"
READINGS: list[tuple[RuleBook, str, str, str, str]] = [
    # 49 CFR 570.9(a), RCW 46.37.425(4): 2/32 in; wear bars, 2/32 in high, that touch the road reject.
    ("us-light", "Left rear tire is at {}.", "1/32", PAST, "570.9(a)"),
    ("us-light", "Left rear tire is at {}.", "2/32", AT_FAILS, "570.9(a)"),
    ("us-light", "Left rear tire is at {}.", "3/32", NEAR, "570.9(a)"),
    ("us-light", "Left rear tire is at {}.", "8/32", INSIDE, "570.9(a)"),
    # 49 CFR 570.5(g), RCW 46.37.360(5): not less than 1/32 in; the trade's habit replaces earlier.
    ("us-light", "Front brake pads are at {}.", "0.7 mm", PAST, "570.5(g)"),
    ("us-light", "Front brake pads are at {}.", "1/32", PAST, "570.5(g)"),
    ("us-light", "Front brake pads are at {}.", "9 mm", INSIDE, "570.5(g)"),
    # 49 CFR 570.7(a) Table 1: 2 in at a wheel of 16 in or less; more rejects.
    ("us-light", "Steering wheel free play is {}.", "2.1 inches", PAST, "570.7(a)"),
    ("us-light", "Steering wheel free play is {}.", "2 inches", INSIDE, "570.7(a)"),
    ("us-light", "Steering wheel free play is {}.", "1.9 inches", INSIDE, "570.7(a)"),
    # 49 CFR 570.7(b)(1), RCW 46.37.375(3): 1/4 in.
    ("us-light", "Steering linkage moves {}.", "0.26 in", PAST, "570.7(b)(1)"),
    ("us-light", "Steering linkage moves {}.", "0.25 in", INSIDE, "570.7(b)(1)"),
    ("us-light", "Steering linkage moves {}.", "0.24 in", INSIDE, "570.7(b)(1)"),
    # 49 CFR 570.10(b): 1/8 in.
    ("us-light", "Left front wheel runout is {}.", "0.126 in", PAST, "570.10(b)"),
    ("us-light", "Left front wheel runout is {}.", "0.125 in", INSIDE, "570.10(b)"),
    ("us-light", "Left front wheel runout is {}.", "0.124 in", INSIDE, "570.10(b)"),
    # 49 CFR 570.5(c): falls by more than 80 %.
    ("us-light", "Brake pedal drops {}.", "81%", PAST, "570.5(c)"),
    ("us-light", "Brake pedal drops {}.", "80%", INSIDE, "570.5(c)"),
    # 49 CFR 393.75(b): 4/32 in on the front wheels of a bus, truck or tractor; (c): 2/32 in on all others.
    ("us-commercial", "Left steer tire is at {}.", "3/32", PAST, "393.75(b)"),
    ("us-commercial", "Left steer tire is at {}.", "4/32", AT_PASSES, "393.75(b)"),
    ("us-commercial", "Left steer tire is at {}.", "5/32", NEAR, "393.75(b)"),
    ("us-commercial", "Left steer tire is at {}.", "15/32", INSIDE, "393.75(b)"),
    ("us-commercial", "Left rear drive tire is at {}.", "1/32", PAST, "393.75(c)"),
    ("us-commercial", "Left rear drive tire is at {}.", "2/32", AT_PASSES, "393.75(c)"),
    ("us-commercial", "Left rear drive tire is at {}.", "3/32", NEAR, "393.75(c)"),
    ("us-commercial", "Left rear drive tire is at {}.", "18/32", INSIDE, "393.75(c)"),
    ("us-commercial", "Left trailer tire is at {}.", "1/32", PAST, "393.75(c)"),
    ("us-commercial", "Left trailer tire is at {}.", "2/32", AT_PASSES, "393.75(c)"),
    ("us-commercial", "Left trailer tire is at {}.", "3/32", NEAR, "393.75(c)"),
    # 49 CFR 393.47(d)(2): 6.4 mm (1/4 in), air drum brakes of other axles than the steering one.
    ("us-commercial", "Left rear brake lining is at {}.", "7/32", PAST, "393.47(d)(2)"),
    ("us-commercial", "Left rear brake lining is at {}.", "1/4 in", AT_PASSES, "393.47(d)(2)"),
    ("us-commercial", "Left rear brake lining is at {}.", "9/32", NEAR, "393.47(d)(2)"),
    ("us-commercial", "Left rear brake lining is at {}.", "3/4 in", INSIDE, "393.47(d)(2)"),
    # 49 CFR 396 Appendix A 1.a(6)(d): fails under 1/4 in on the steering axle, stricter than 393.47(d)(1).
    ("us-commercial", "Left front brake lining is at {}.", "7/32", PAST, "396 Appendix A"),
    ("us-commercial", "Left front brake lining is at {}.", "1/4 in", AT_PASSES, "396 Appendix A"),
    ("us-commercial", "Left front brake lining is at {}.", "9/32", NEAR, "396 Appendix A"),
    # 49 CFR 393.47(d): 3.2 mm (1/8 in), air disc brakes of any axle.
    ("us-commercial", "Left rear brake pads are at {}.", "3/32 in", PAST, "393.47(d)"),
    ("us-commercial", "Left rear brake pads are at {}.", "1/8 in", AT_PASSES, "393.47(d)"),
    ("us-commercial", "Left rear brake pads are at {}.", "5/32", NEAR, "393.47(d)"),
    ("us-commercial", "Left rear brake pads are at {}.", "5/8 in", INSIDE, "393.47(d)"),
    # Construction and Use Regulations 1986 reg 27: 1.6 mm, in the main grooves, for cars.
    ("uk", "Nearside rear tyre is at {}.", "1.5 mm", PAST, "reg 27"),
    ("uk", "Nearside rear tyre is at {}.", "1.6 mm", AT_PASSES, "reg 27"),
    ("uk", "Nearside rear tyre is at {}.", "1.7 mm", NEAR, "reg 27"),
    ("uk", "Nearside rear tyre is at {}.", "6 mm", INSIDE, "reg 27"),
    # UK inspection manual 1.1.13(a): dangerous under 1.5 mm. For pads the trade's habit of 2 mm comes before it.
    ("uk", "Front brake pads are at {}.", "1.4 mm", "unsafe", "1.1.13(a)"),
    ("uk", "Front brake pads are at {}.", "1.5 mm", "required", "1.1.13(a)"),
    ("uk", "Front brake pads are at {}.", "1.6 mm", "required", "1.1.13(a)"),
    ("uk", "Rear brake shoes are at {}.", "1.4 mm", "unsafe", "1.1.13(a)"),
    ("uk", "Rear brake shoes are at {}.", "1.5 mm", AT_PASSES, "1.1.13(a)"),
    ("uk", "Rear brake shoes are at {}.", "1.6 mm", NEAR, "1.1.13(a)"),
    ("uk", "Rear brake shoes are at {}.", "5 mm", INSIDE, "1.1.13(a)"),
]


def only_line(text: str, book: RuleBook) -> Line:
    steering = "right-hand" if book == "uk" else "left-hand"
    order = write_order(
        Note(name="n", text=text), vocabulary=shipped_vocabulary(), steering=steering, rule_book=book
    )  # fmt: skip
    (line,) = order.lines
    return line


def why(line: Line) -> str:
    (text,) = [b.text for b in line.because if b.field == "severity"]
    return text


@pytest.mark.parametrize(
    ("book", "phrase", "reading", "severity", "source"), READINGS, ids=[f"{r[0]}-{r[4]}-{r[2]}" for r in READINGS]
)
def test_a_reading_spoken_at_its_limit(book: RuleBook, phrase: str, reading: str, severity: str, source: str) -> None:
    line = only_line(phrase.format(reading), book)
    assert line.severity == severity
    assert source in (line.measurements[0].limit_source or "") + why(line)


@pytest.mark.parametrize(
    ("book", "text", "says"),
    [
        # The margin is the reading less its limit, worked out by hand.
        ("uk", "Nearside front tyre is at 2 mm.", "0.4 mm above the limit of 1.6 mm"),
        ("us-light", "Left front tire is at 4/32.", "2/32 in above the limit of 2/32 in"),
        ("us-commercial", "Left steer tire is at 5/32.", "1/32 in above the limit of 4/32 in"),
        ("us-commercial", "Left steer tire is at 4/32.", "at the limit of 4/32 in"),
        ("us-light", "Front brake pads are at 3 mm.", "1 mm above the limit of 2 mm"),
        ("us-light", "Front brake pads are a hair under 3 mm.", "less than 1 mm above the limit of 2 mm"),
        # An upper limit: 0.004 in of runout at most.
        ("us-light", "Left front rotor runout is 0.003 in.", "0.001 in below the limit of 0.004 in"),
    ],
)
def test_near_a_limit_is_suggested_with_its_margin(book: RuleBook, text: str, says: str) -> None:
    line = only_line(text, book)
    assert line.severity == "suggested"
    assert why(line).startswith(says)


def test_a_reading_past_a_published_limit_is_not_watched_though_the_note_would() -> None:
    line = only_line("Left rear tire is at 1/32, keep an eye on it.", "us-light")
    assert line.severity == "required"
    assert "2/32 in" in why(line)


def test_a_dangerous_figure_counts_also_where_the_note_names_a_limit() -> None:
    # UK inspection manual 1.1.13(a): dangerous under 1.5 mm.
    assert only_line("Front brake pads are at 1.2 mm, limit is 3 mm.", "uk").severity == "unsafe"


def test_a_habit_gives_way_to_the_word_of_the_technician() -> None:
    # 12.1 V fails the trade's habit of 12.2 V, and no law.
    line = only_line("Battery is at 12.1 volts, I'd replace it soon.", "us-light")
    assert line.severity == "suggested"


def test_play_inside_its_published_limit_is_watched_and_past_it_is_required() -> None:
    # 49 CFR 570.7(a): 2 in.
    assert only_line("Steering wheel has 1.9 inches of free play.", "us-light").severity == "monitor"
    assert only_line("Steering wheel has 2.1 inches of free play.", "us-light").severity == "required"
