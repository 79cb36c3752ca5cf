"""How serious a finding is: what is said outright, what is dangerous in itself, the condition and the part's role."""

from __future__ import annotations

from pathlib import Path

import pytest

from project_notes import order_of, shipped_vocabulary
from talkaround.models import Line, Note, Steering
from talkaround.pipeline import write_order
from talkaround.vocabulary import load_vocabulary


def line_of(text: str, component: str, steering: Steering = "left-hand") -> Line:
    found = [x for x in order_of(text, shipped_vocabulary(), steering).lines if x.component.id == component]
    assert len(found) == 1, [line.component.id for line in found]
    return found[0]


def rule_of(line: Line) -> str:
    return next((b.rule for b in line.because if b.field == "severity"), "")


@pytest.mark.parametrize(
    ("text", "severity"),
    [
        # Said outright: it stands, and nothing is concluded.
        ("Left lower ball joint is loose, do not drive it.", "unsafe"),
        ("Left lower ball joint is loose, don't let it leave.", "unsafe"),
        ("Left lower ball joint is loose, park it.", "unsafe"),
        ("Left lower ball joint is loose, I would not drive it.", "unsafe"),
        ("Left lower ball joint is loose, off road till that's done.", "unsafe"),
        ("Left lower ball joint is loose, needs one.", "required"),
        ("Left lower ball joint is loose, that can't wait.", "required"),
        ("Left lower ball joint is loose, I'd put one in.", "suggested"),
        ("Left lower ball joint is loose, can wait.", "suggested"),
        ("Left lower ball joint is loose, keep an eye on it.", "monitor"),
        ("Left lower ball joint is loose, recheck it next service.", "monitor"),
    ],
)
def test_what_the_technician_says_outright_stands(text: str, severity: str) -> None:
    line = line_of(text, "lower-ball-joint")
    assert line.severity == severity
    assert not rule_of(line)


@pytest.mark.parametrize(
    ("text", "component"),
    [
        ("Left front brake hose is leaking.", "brake-hose"),
        ("Right rear tire has the cord showing.", "tire"),
        ("Left lower ball joint is about to come apart.", "lower-ball-joint"),
        ("Rear pads are metal to metal.", "brake-pad"),
        ("Fuel line is leaking.", "fuel-line"),
        ("Steering column is about to come apart.", "steering-column"),
        ("Left outer tie rod end came off.", "outer-tie-rod-end"),
        ("Right front wheel is about to come off.", "wheel"),
        ("Brakes hardly work.", "brake-system"),
        ("Alternator cable is a fire risk.", "alternator-cable"),
        ("Steel belts are coming through on the inside of the left rear tire.", "tire"),
        ("Right front tire's got a bubble on the sidewall.", "tire"),
        ("Brake pedal goes right to the floor.", "brake-pedal"),
        ("No brakes on the rear axle.", "brake-system"),
        ("Right lower ball joint popped out of the knuckle.", "lower-ball-joint"),
        ("Rear caliper is hanging by the hose.", "brake-caliper"),
        ("Left front brake hose blew out.", "brake-hose"),
        ("There's brake fluid running down the inside of the left rear wheel.", "brake-fluid"),
        ("Fuel's dripping off the tank.", "fuel-tank"),
        ("Fifth wheel jaws don't lock.", "fifth-wheel-jaw"),
        ("Frame rail is cracked clear through.", "frame-rail"),
        ("Orange cable's jacket is cut, you can see copper.", "high-voltage-cable"),
        ("Exhaust is coming into the cab.", "exhaust-system"),
        ("Pads are gone on the right front, it's eating the rotor.", "brake-pad"),
    ],
)
def test_what_is_dangerous_in_itself_is_unsafe_and_says_why(text: str, component: str) -> None:
    line = line_of(text, component)
    assert line.severity == "unsafe"
    assert rule_of(line).startswith("severity.")


@pytest.mark.parametrize(
    ("text", "severity"),
    [
        # The same words on a part that holds, stops and steers nothing, or of another degree.
        ("Serpentine belt has the cords showing.", "required"),
        ("Radiator hose is about to burst.", "required"),
        ("Glove box lid is about to fall off.", "required"),
        ("Left brake caliper is seeping.", "suggested"),
        ("Valve cover gasket is seeping.", "monitor"),
        ("Left lower ball joint has slight play.", "monitor"),
        ("Left lower ball joint has a lot of play.", "required"),
        ("Air brake hose is leaking.", "required"),
        ("Left front rotor is heat cracked.", "required"),
        ("Ball joint is damaged.", "required"),
        ("Rear pads are gone.", "required"),
        ("Air filter is due.", "suggested"),
    ],
)
def test_condition_degree_and_role_decide_where_nothing_is_said(text: str, severity: str) -> None:
    (line,) = order_of(text, shipped_vocabulary()).lines
    assert line.severity == severity
    assert rule_of(line)


@pytest.mark.parametrize(
    "text",
    [
        "Front pads are metal to metal, the rest can wait.",
        "Front pads are metal to metal. Rotors can wait.",
        "Front pads are metal to metal, everything else just keep an eye on.",
        "Front pads are metal to metal, I'd do them soon.",
        "Front pads are metal to metal, needs pads.",
    ],
)
def test_no_softer_word_lowers_what_is_dangerous(text: str) -> None:
    assert line_of(text, "brake-pad").severity == "unsafe"


def test_where_the_note_is_softer_the_order_says_that_it_was_not_lowered() -> None:
    line = line_of("Left front brake hose is leaking, keep an eye on it.", "brake-hose")
    assert line.severity == "unsafe"
    assert any("does not lower it" in b.text for b in line.because)


@pytest.mark.parametrize(
    ("rest", "other"),
    [("the rest can wait", None), ("everything else can wait", None), ("the belt can wait", "serpentine-belt")],
)
def test_a_softer_word_about_the_rest_says_nothing_of_the_part_before(rest: str, other: str | None) -> None:
    text = f"Serpentine belt is cracked. Left outer tie rod end is loose, {rest}."
    assert line_of(text, "outer-tie-rod-end").severity == "required"
    if other:
        assert line_of(text, other).severity == "suggested"


@pytest.mark.parametrize(
    "text",
    [
        "No leaks at the brake hoses.",
        "No cord showing on the left front tire.",
        "Left lower ball joint is not about to come apart, it's fine.",
        "If that left front brake hose was leaking I'd stop him, but it's dry.",
    ],
)
def test_a_danger_that_is_ruled_out_is_none(text: str) -> None:
    assert all(line.severity == "good" for line in order_of(text, shipped_vocabulary()).lines)


def test_a_danger_that_was_put_right_on_this_visit_is_not_unsafe_any_more() -> None:
    line = line_of("Left front brake hose was leaking, replaced it.", "brake-hose")
    assert line.work == "done"
    assert line.severity != "unsafe"


def test_a_leaking_cylinder_gives_way_to_the_word_on_it_and_a_hose_does_not() -> None:
    # UK inspection manual 1.1.16(b): a cylinder's leak is major, dangerous once the braking suffers; 1.1.12(c): a hydraulic
    # hose's is dangerous.
    assert line_of("Left rear wheel cylinder is leaking.", "wheel-cylinder").severity == "unsafe"
    assert line_of("Left rear wheel cylinder is leaking, needs one.", "wheel-cylinder").severity == "required"
    assert line_of("Left front brake hose is leaking, needs one.", "brake-hose").severity == "unsafe"


@pytest.mark.parametrize(
    ("text", "severity"),
    [
        # An advisory: suggested, or watched where the condition asks for no more (common practice, no source).
        ("Nearside lower arm bush is split, adv.", "suggested"),
        ("Rocker cover gasket weeping, adv.", "monitor"),
        ("Flexi pipe blowing slightly, adv, keep an eye on it.", "monitor"),
    ],
)
def test_an_advisory(text: str, severity: str) -> None:
    (line,) = order_of(text, shipped_vocabulary(), "right-hand").lines
    assert line.severity == severity


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        ("Brake fluid is low.", "low"),
        ("Front pads are low.", "worn"),
        ("Steering stabilizer is leaking oil, I'd put one on it.", "leaking"),
        ("Brake line on the left frame rail is leaking.", "leaking"),
    ],
)
def test_one_line_with_the_condition_that_was_meant(text: str, condition: str) -> None:
    (line,) = order_of(text, shipped_vocabulary()).lines
    assert [c.id for c in line.conditions] == [condition]
    assert line.component.id != "frame-rail"


@pytest.mark.parametrize(
    ("text", "component", "severity"),
    [
        ("No brake lights.", "stop-lamp", "required"),
        ("There's no low beam on the left.", "low-beam-headlamp", "required"),
        ("No horn at all.", "horn", "required"),
    ],
)
def test_none_of_what_works_or_does_not_is_a_fault(text: str, component: str, severity: str) -> None:
    line = line_of(text, component)
    assert [c.id for c in line.conditions] == ["inoperative"]
    assert line.severity == severity


@pytest.mark.parametrize("text", ["No leaks at the tail lamps.", "No spare tire.", "No low beam problems."])
def test_none_of_anything_else_is_no_lamp_that_is_out(text: str) -> None:
    assert all(line.severity == "good" for line in order_of(text, shipped_vocabulary()).lines)


@pytest.mark.parametrize("text", ["Do not drive. Left inner tie rod is loose.", "I wouldn't drive this thing."])
def test_that_it_must_not_be_driven_is_asked_about_where_no_part_is_named(text: str) -> None:
    order = order_of(text, shipped_vocabulary())
    asked = [q for q in order.questions if q.field == "understanding"]
    assert len(asked) == 1
    assert text.split(".")[0] in asked[0].text


@pytest.mark.parametrize(
    "text",
    [
        "Fuel line is good, no leaks.",
        "Customer said the muffler was about to fall off but it's tight.",
        "Left rear wheel is missing its hubcap.",
        "Steering wheel cover is torn.",
        "Brake hose bracket is broken.",
        "Ball joint boot is cracked.",
        "Brake pedal rubber is cracked.",
        "Left front wheel is curbed.",
        "Rear drums have light heat cracks.",
        "Fuel injector is leaking down.",
        "Fuel cap is missing.",
        "Spare tire has a bulge.",
        "Wheel bearing cap is missing.",
        "Brake pad wear sensor is broken.",
        "The brakes won't stop squealing.",
        "Brake fluid is low.",
    ],
)
def test_words_of_danger_about_something_harmless_make_nothing_unsafe(text: str) -> None:
    assert all(line.severity != "unsafe" for line in order_of(text, shipped_vocabulary()).lines)


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        ("Left front wheel is missing two lug nuts.", "lug-nut"),
        ("Left rear wheel is missing its hubcap.", "hubcap"),
        ("Caliper's missing a slide pin boot.", "caliper-slide-pin-boot"),
    ],
)
def test_what_a_part_is_missing_is_missing_and_not_the_part(text: str, missing: str) -> None:
    (line,) = order_of(text, shipped_vocabulary()).lines
    assert line.component.id == missing
    assert [c.id for c in line.conditions] == ["missing"]
    assert not line.measurements


def test_a_shop_sets_its_own_rules(tmp_path: Path) -> None:
    (tmp_path / "judgement.toml").write_text(
        '[any]\nrules = [{ said = "cord", when = ["belt"], severity = "unsafe", verb = "replace" }]\n'
        '[seeping]\nrules = [{ when = ["oil-pan-gasket"], severity = "required", verb = "replace" }]\n',
        encoding="utf-8",
    )
    ours = load_vocabulary(tmp_path)
    note = Note(name="n", text="Serpentine belt has the cords showing. Oil pan gasket is seeping.")
    found = {line.component.id: line.severity for line in write_order(note, vocabulary=ours).lines}
    assert found == {"serpentine-belt": "unsafe", "oil-pan-gasket": "required"}
