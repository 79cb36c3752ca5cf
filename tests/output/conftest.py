"""A rich repair order and an empty one, built by hand, that every format is held to."""

from __future__ import annotations

import pytest

from talkaround.models import (
    Action,
    Because,
    ComponentRef,
    Concern,
    Condition,
    Customer,
    Evidence,
    Line,
    Measurement,
    Note,
    Odometer,
    PartRef,
    Position,
    Question,
    RepairOrder,
    SetAside,
    Span,
    Utterance,
    Vehicle,
)

TEXT = """\
Silver wagon, 118,400 miles, she is keeping it for good so original parts. <script>alert("hi")</script> um
She says it pulls to the left on the highway & hums, I could not feel it.
Left front lower ball joint is about to come out, do not drive it. It comes with the arm, one arm ordered.
Right rear flex hose is leaking badly at the crimp, hose that came is for the other side.
Front pads are at two millimeters, both rotors are grooved, one point oh four inches.
Drag link on axle two is a little loose on the right.
Plug number three is fouled, I put a new one in.
- rear main seal just damp, watch it
One of the front sway bar links knocks, needs a link.
Muffler has a hole in it, he said no.
Washer pump dead, lamp out at the center.
Right front tire nine thirty-seconds, 33 psi. Battery 12.6 volts, good.
=SUM(A1) was on the old ticket. The coupe in bay two has the bad rack. If it were mine I'd sell it. mumble wug.
"""


def at(words: str, start_s: float | None = None) -> Evidence:
    begin = TEXT.index(words)
    return Evidence(begin=begin, end=begin + len(words), start_s=start_s)


def aside(words: str, reason: str, note: str | None = None) -> SetAside:
    begin = TEXT.index(words)
    return SetAside.model_validate({"begin": begin, "end": begin + len(words), "reason": reason, "note": note})


def component(id: str, system: str, name: str | None = None) -> ComponentRef:
    return ComponentRef(id=id, name=name or id.replace("-", " "), system=system)


def build_rich_order() -> RepairOrder:
    lines = [
        Line(
            number=1,
            component=component("lower-ball-joint", "suspension"),
            position=Position(axle="front", side="left", level="lower"),
            conditions=[Condition(id="loose", degree="severe")],
            severity="unsafe",
            action=Action(
                verb="replace",
                part=PartRef(id="lower-control-arm", name="lower control arm"),
                quantity=1,
                also=[PartRef(id="wheel-alignment", name="wheel alignment")],
            ),
            work="ordered",
            evidence=[at("Left front lower ball joint", 14.2), at(" is about to come out, do not drive it", 15.9),
                      at("It comes with the arm, one arm ordered", 19.0)],
            because=[Because(field="part", rule="served-with", text="the joint is pressed into the arm & not sold")],
            concern="The left front lower ball joint is about to come apart.",
            cause="The joint is very loose.",
            correction="Replace the left front lower control arm <complete>.",
        ),
        Line(
            number=2,
            component=component("brake-hose", "brakes"),
            position=Position(axle="rear", side="right"),
            conditions=[Condition(id="leaking", degree="severe")],
            severity="unsafe",
            action=Action(verb="replace"),
            work="wrong-part",
            evidence=[at("Right rear flex hose is leaking badly at the crimp"),
                      at("hose that came is for the other side")],
        ),
        Line(
            number=3,
            component=component("brake-pads", "brakes"),
            position=Position(axle="front"),
            conditions=[Condition(id="worn")],
            measurements=[Measurement(quantity="pad-thickness", value=2, unit="mm", limit=3,
                                      limit_source="common practice", verdict="fail")],
            severity="required",
            action=Action(verb="replace", part=PartRef(id="brake-pads", name="brake pads"), quantity=1),
            basis="measured",
            evidence=[at("Front pads are at two millimeters", 3671)],
        ),
        Line(
            number=4,
            component=component("brake-rotor", "brakes"),
            position=Position(axle="front", side="both"),
            conditions=[Condition(id="scored")],
            measurements=[Measurement(quantity="rotor-thickness", value=1.04, unit="in")],
            severity="required",
            action=Action(verb="replace", part=PartRef(id="brake-rotor", name="brake rotor"), quantity=2),
            basis="measured",
            evidence=[at("both rotors are grooved, one point oh four inches")],
        ),
        Line(
            number=5,
            component=component("sway-bar-link", "suspension"),
            position=Position(axle="front"),
            conditions=[Condition(id="noisy")],
            severity="required",
            action=Action(verb="replace"),
            evidence=[at("One of the front sway bar links knocks, needs a link")],
        ),
        Line(
            number=6,
            component=component("washer-pump", "wipers-and-glass"),
            conditions=[Condition(id="inoperative", degree="complete")],
            severity="required",
            action=Action(verb="diagnose"),
            basis="reported",
            evidence=[at("Washer pump dead")],
        ),
        Line(
            number=7,
            component=component("drag-link", "steering"),
            position=Position(axle=2, side="right"),
            conditions=[Condition(id="loose", degree="slight")],
            severity="suggested",
            action=Action(verb="replace"),
            evidence=[at("Drag link on axle two is a little loose on the right")],
        ),
        Line(
            number=8,
            component=component("spark-plug", "ignition"),
            position=Position(place="cylinder=3 bank=1"),
            conditions=[Condition(id="contaminated")],
            severity="suggested",
            action=Action(verb="replace"),
            work="done",
            evidence=[at("Plug number three is fouled, I put a new one in")],
        ),
        Line(
            number=9,
            component=component("muffler", "exhaust-and-emissions"),
            conditions=[Condition(id="corroded")],
            severity="suggested",
            action=Action(verb="replace"),
            work="declined",
            evidence=[at("Muffler has a hole in it, he said no")],
        ),
        Line(
            number=10,
            component=component("rear-main-seal", "engine"),
            position=Position(side="center"),
            conditions=[Condition(id="seeping", degree="slight")],
            severity="monitor",
            action=Action(verb="monitor"),
            evidence=[at("- rear main seal just damp, watch it")],
        ),
        Line(
            number=11,
            component=component("tire", "tires-and-wheels"),
            position=Position(axle="front", side="right"),
            measurements=[
                Measurement(quantity="tread-depth", value=9, unit="1/32 in", limit=2,
                            limit_source="49 CFR 570.9(a)", verdict="pass"),
                Measurement(quantity="pressure", value=33, unit="psi"),
            ],
            severity="good",
            action=Action(verb="none"),
            basis="measured",
            evidence=[at("Right front tire nine thirty-seconds, 33 psi")],
        ),
        Line(
            number=12,
            component=component("battery-12v", "starting-and-charging", "12-volt battery"),
            measurements=[Measurement(quantity="voltage", value=12.6, unit="V")],
            severity="good",
            action=Action(verb="none"),
            basis="measured",
            evidence=[at("Battery 12.6 volts, good")],
        ),
    ]  # fmt: skip
    pulls = "it pulls to the left on the highway & hums"
    return RepairOrder(
        note=Note(
            name="wagon <1>.txt",
            kind="transcript",
            text=TEXT,
            utterances=[Utterance(begin=0, end=len(TEXT), start_s=0.0, end_s=90.0)],
        ),
        vehicle=Vehicle(
            description="silver wagon",
            odometer=Odometer(value=118400, unit="mi"),
            evidence=[Span(begin=0, end=TEXT.index(", she"))],
        ),
        customer=Customer(plan="keeping it for good", parts_preference="original", evidence=[Span(begin=30, end=52)]),
        concerns=[Concern(text=pulls, about="wheel alignment", symptoms=["pull"], evidence=[at(pulls, 9.0)])],
        lines=lines,
        questions=[
            Question(line=5, field="side", text="Which front sway bar link knocks: left or right?",
                     choices=["left", "right", "both"]),
            Question(line=2, field="understanding", text="Was the customer told that it is <not> to be driven?",
                     choices=["yes", "no"]),
            Question(field="measurement", text="What did the other *front* tire read?"),
        ],
        set_aside=[
            aside('<script>alert("hi")</script>', "not-understood"),
            aside("um\n", "chatter"),
            aside("=SUM(A1) was on the old ticket", "history"),
            aside("The coupe in bay two has the bad rack", "other-vehicle"),
            aside("If it were mine I'd sell it", "hypothetical"),
            aside("mumble wug", "not-understood", "no part sounds like this"),
        ],
        cautions=["Do not drive the vehicle until lines 1 & 2 are put right."],
    )  # fmt: skip


@pytest.fixture
def rich_order() -> RepairOrder:
    return build_rich_order()


@pytest.fixture
def empty_order() -> RepairOrder:
    return RepairOrder(note=Note(name="empty.txt", text=""))
