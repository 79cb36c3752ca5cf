"""What is so, and what is only spoken of, after the published trigger phrases of NegEx and ConText.

The triggers, and how far each of them reaches, are those of

- NegEx: W. W. Chapman, W. Bridewell, P. Hanbury, G. F. Cooper, B. G. Buchanan, "A simple algorithm for identifying
  negated findings and diseases in discharge summaries", J Biomed Inform 34 (2001) 301-310, and the trigger list that
  its authors publish with it (pre-negation, post-negation, pseudo-negation and termination phrases);
- ConText: H. Harkema, J. N. Dowling, T. Thornblade, W. W. Chapman, "ConText: an algorithm for determining negation,
  experiencer, and temporal status from clinical reports", J Biomed Inform 42 (2009) 839-851.

The sentences are this trade's, with a part for the organ and a fault for the disease. What each expects is what the
sentence means to a service writer who reads it. Where the published method cannot tell (a fault denied by the customer
is still only the customer's word), the service writer decides.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest

from project_notes import order_of
from talkaround.vocabulary import Vocabulary


@dataclass(frozen=True)
class Case:
    """A note and what its order must show.

    ``faults``: every line that is not good, as part and condition ("" where none was said); ``good``: every part found
    good; ``aside``: words of the note with the reason why they are on no line.
    """

    trigger: str
    text: str
    faults: dict[str, str] = field(default_factory=dict)
    good: set[str] = field(default_factory=set)
    aside: dict[str, str] = field(default_factory=dict)


PRE_NEGATION = [
    Case("no", "No play in the lower ball joints.", good={"lower-ball-joint"}),
    Case("no, of a list", "No cracks or leaks on the brake hoses.", good={"brake-hose"}),
    Case("no, after a heading", "Ball joints: no play.", good={"ball-joint"}),
    Case("no evidence of", "No evidence of a leak at the rear main seal.", good={"rear-main-seal"}),
    Case("no new", "No new leaks at the oil pan.", good={"oil-pan"}),
    Case("no sign of", "No sign of leaks at the shocks.", good={"shock-absorber"}),
    Case("no signs of", "Wheel bearings show no signs of play.", good={"wheel-bearing"}),
    Case("no significant", "No significant wear on the rear brake pads.", good={"brake-pad"}),
    Case("no suggestion of", "No suggestion of a leak at the head gasket.", good={"head-gasket"}),
    Case("no findings of", "No findings of corrosion on the battery terminals.", good={"battery-terminal"}),
    Case("with no", "Steering rack is dry with no play.", good={"steering-rack"}),
    Case("without", "Front struts are without leaks.", good={"strut"}),
    Case("without any evidence of", "Radiator without any evidence of leaking.", good={"radiator"}),
    Case("without sign of", "CV boots without sign of cracking.", good={"cv-boot"}),
    Case("without indication of", "Oil pan gasket without indication of seepage.", good={"oil-pan-gasket"}),
    Case("absence of", "Absence of play in the idler arm bushing.", good={"idler-arm-bushing"}),
    Case("free of", "Brake hoses are free of cracks.", good={"brake-hose"}),
    Case("was free of", "Engine mount was free of cracks.", good={"engine-mount"}),
    Case("negative for", "Wheel bearings negative for play.", good={"wheel-bearing"}),
    Case("negative for, after a heading", "Head gasket: negative for leaks.", good={"head-gasket"}),
    Case("not", "The water pump is not leaking.", good={"water-pump"}),
    Case("not appear", "The radiator does not appear to be leaking.", good={"radiator"}),
    Case("not have", "The wheel bearing does not have any play.", good={"wheel-bearing"}),
    Case("not reveal", "Pressure test did not reveal a leak at the radiator.", good={"radiator"}),
    Case("not see", "I do not see any cracks in the serpentine belt.", good={"serpentine-belt"}),
    Case("not feel", "Did not feel any play in the outer tie rod ends.", good={"outer-tie-rod-end"}),
    Case("not demonstrate", "The strut mount does not demonstrate any play.", good={"strut-mount"}),
    Case("not exhibit", "The shock does not exhibit any leaks.", good={"shock-absorber"}),
    Case("cannot see", "Cannot see any leaks at the valve cover gasket.", good={"valve-cover-gasket"}),
    Case("fails to reveal", "Smoke test fails to reveal a leak at the intake manifold gasket.",
         good={"intake-manifold-gasket"}),
    Case("rules out", "Pressure test rules out a leak at the head gasket.", good={"head-gasket"}),
    Case("can rule out", "Can rule out a leak at the water pump.", good={"water-pump"}),
    Case("unremarkable for", "Fuel lines unremarkable for leaks.", good={"fuel-line"}),
]  # fmt: skip

POST_NEGATION = [
    Case("free", "Radiator is leak free.", good={"radiator"}),
    Case("was ruled out", "A leak at the water pump was ruled out.", good={"water-pump"}),
    Case("ruled out, before it", "I ruled out play in the outer tie rod ends.", good={"outer-tie-rod-end"}),
    Case("ruled out, on both", "Ball joints, ruled out play on both.", good={"ball-joint"}),
    Case("none seen", "Leaks at the rear main seal: none seen.", good={"rear-main-seal"}),
    Case("none found", "Cracks in the front rotors, none found.", good={"brake-rotor"}),
    Case("not seen", "A leak at the radiator was not seen.", good={"radiator"}),
    Case("not present", "Play in the left front wheel bearing is not present.", good={"wheel-bearing"}),
    Case("absent", "Play in the left front wheel bearing was absent.", good={"wheel-bearing"}),
    Case("absent, of the part itself", "Left front hub dust cap is absent.", {"hub-dust-cap": "missing"}),
]  # fmt: skip

# Words that look like a negation and deny nothing, or deny something other than the fault.
PSEUDO_NEGATION = [
    Case("no change", "No change in the oil pan leak.", {"oil-pan": "leaking"}),
    Case("no significant change", "No significant change in the play of the lower ball joint.",
         {"lower-ball-joint": "loose"}),
    Case("no increase", "No increase in the rear main seal leak.", {"rear-main-seal": "leaking"}),
    Case("not only", "Not only is the water pump leaking, the radiator is cracked.",
         {"water-pump": "leaking", "radiator": "cracked"}),
    Case("not only, of one part", "The CV boot is not only cracked but torn.", {"cv-boot": "torn"}),
    Case("without difficulty", "Without difficulty I found a leak at the radiator.", {"radiator": "leaking"}),
    Case("no doubt", "No doubt the wheel bearing is noisy.", {"wheel-bearing": "noisy"}),
    Case("negative, the name of a part", "Negative battery terminal is corroded.",
         {"negative-battery-terminal": "corroded"}),
    Case("not, of the work", "Do not drive it, the brake hose is leaking.", {"brake-hose": "leaking"}),
    Case("no, of what the part does", "Horn has no sound.", {"horn": "inoperative"}),
    Case("not, of what the part does", "Rear wiper does not work.", {"rear-wiper": "inoperative"}),
    Case("not, of what the part does, spelled out", "Left front seat belt will not latch.", {"seat-belt": ""}),
    Case("not, of what the part does, one word", "Starter won't crank.", {"starter": "inoperative"}),
    Case("not, of what the part does, two words", "Starter will not crank.", {"starter": "inoperative"}),
    Case("not, of coming on", "Left headlamp does not come on.", {"headlamp": "inoperative"}),
    Case("no longer", "The horn no longer works.", {"horn": "inoperative"}),
]  # fmt: skip

TERMINATION = [
    Case("but", "No play in the lower ball joints, but the outer tie rod end is loose.",
         {"outer-tie-rod-end": "loose"}, {"lower-ball-joint"}),
    Case("but, unpunctuated", "no leaks at the radiator but the water pump is leaking",
         {"water-pump": "leaking"}, {"radiator"}),
    Case("however", "No cracks in the brake hoses; however the CV boot is torn.", {"cv-boot": "torn"}, {"brake-hose"}),
    Case("though", "No leaks at the struts, though the strut mount is loose.", {"strut-mount": "loose"}, {"strut"}),
    Case("although", "Wheel bearing has no play although it is noisy.", {"wheel-bearing": "noisy"}),
    Case("yet", "Shocks are not leaking, yet the shock bushing is worn.",
         {"shock-bushing": "worn"}, {"shock-absorber"}),
    Case("still", "No leak at the radiator, the heater hose is still leaking.",
         {"heater-hose": "leaking"}, {"radiator"}),
    Case("nevertheless", "Battery shows no corrosion; nevertheless the battery cable is loose.",
         {"battery-cable": "loose"}, {"battery"}),
    Case("but not", "The battery cable is loose but not corroded.", {"battery-cable": "loose"}),
    Case("full stop", "No play in the ball joints. Outer tie rod end is loose.",
         {"outer-tie-rod-end": "loose"}, {"ball-joint"}),
    Case("or, on to the next part", "No leaks at the water pump or the radiator.", good={"water-pump", "radiator"}),
    Case("nor", "No play in the ball joint nor the outer tie rod end.", good={"ball-joint", "outer-tie-rod-end"}),
    Case("and, on to the next part", "Without leaks at the oil pan and the rear main seal.",
         good={"oil-pan", "rear-main-seal"}),
    Case("but ... is not", "The water pump is leaking but the radiator is not.", {"water-pump": "leaking"}, {"radiator"}),
    Case("but ... isn't", "the heater hose is cracked but the upper radiator hose isnt",
         {"heater-hose": "cracked"}, {"upper-radiator-hose"}),
    Case("except", "No leaks anywhere except at the water pump.", {"water-pump": "leaking"}),
    Case("apart from", "No play in the front end apart from the left outer tie rod end.", {"outer-tie-rod-end": "loose"}),
    Case("aside from", "no noises aside from a knock at the left rear shock", {"shock-absorber": "noisy"}),
    Case("other than", "No play anywhere other than the right front ball joint.", {"ball-joint": "loose"}),
    Case("rather than", "The heater hose is leaking rather than the water pump.", {"heater-hose": "leaking"}),
]  # fmt: skip

# A fault that is still to be ruled out is neither found nor denied.
POSSIBLE = [
    Case("not necessarily", "Not necessarily a bad battery, but the alternator belt is cracked.",
         {"alternator-belt": "cracked"}),
    Case("cannot rule out", "Cannot rule out a leak at the head gasket. Left front tire is cut.", {"tire": "torn"}),
    Case("rule out", "Pressure test needed to rule out a leak at the head gasket.", {}),
    Case("has not been ruled out", "A leak at the heater core has not been ruled out.", {"heater-core": "leaking"}),
    Case("did not rule out", "Did not rule out a leak at the head gasket. Left front tire is cut.",
         {"tire": "torn"}),
]  # fmt: skip

HISTORY = [
    Case("last year", "Had a new clutch last year. Muffler is rusted.", {"muffler": "corroded"},
         aside={"new clutch": "history"}),
    Case("previously", "Water pump was previously replaced. Radiator is leaking.", {"radiator": "leaking"},
         aside={"Water pump": "history"}),
    Case("history of", "History of a leaking water pump. The radiator is cracked.", {"radiator": "cracked"},
         aside={"water pump": "history"}),
    Case("in the past", "Water pump leaked in the past. Serpentine belt is cracked.", {"serpentine-belt": "cracked"},
         aside={"Water pump": "history"}),
    Case("months ago", "Alternator was replaced six months ago. Battery is weak.", {"battery": "weak"},
         aside={"Alternator": "history"}),
    Case("prior", "Prior leak at the rear main seal was repaired. Oil pan is leaking.", {"oil-pan": "leaking"},
         aside={"rear main seal": "history"}),
    Case("last visit", "At the last visit the left front strut was leaking. Horn is inoperative.",
         {"horn": "inoperative"}, aside={"strut": "history"}),
    Case("used to", "The water pump used to leak. The radiator is leaking.", {"radiator": "leaking"},
         aside={"water pump": "history"}),
    Case("today ends it", "Radiator was replaced last year, today the water pump is leaking.",
         {"water-pump": "leaking"}, aside={"Radiator": "history"}),
]  # fmt: skip

HYPOTHETICAL = [
    Case("if", "If the brake hose leaks, replace it. Radiator is leaking.", {"radiator": "leaking"},
         aside={"brake hose": "hypothetical"}),
    Case("if, after what is to be done", "Come back if the wheel bearing gets noisy. Muffler is rusted.",
         {"muffler": "corroded"}, aside={"wheel bearing": "hypothetical"}),
    Case("should the", "Should the water pump start leaking, call us. Battery is weak.", {"battery": "weak"},
         aside={"water pump": "hypothetical"}),
    Case("should there be", "Should there be a leak at the radiator, bring it back. Horn is inoperative.",
         {"horn": "inoperative"}, aside={"radiator": "hypothetical"}),
    Case("return if", "Return if the clutch slips. Left front tire is cut.", {"tire": "torn"},
         aside={"clutch": "hypothetical"}),
    Case("if, ended by because", "Call if it overheats because the radiator is leaking.", {"radiator": "leaking"}),
    Case("if, ended by since", "If it pulls let me know since the left front tire is worn.", {"tire": "worn"}),
    Case("a question, and its answer", "Should the rear shocks be replaced? They are leaking.",
         {"shock-absorber": "leaking"}),
    Case("in case", "Carry coolant in case the radiator leaks. Heater hose is cracked.", {"heater-hose": "cracked"},
         aside={"radiator": "hypothetical"}),
    Case("unless", "Unless the starter fails again, leave it. Battery cable is corroded.",
         {"battery-cable": "corroded"}, aside={"starter": "hypothetical"}),
]  # fmt: skip

# ConText's experiencer: the fault is there, and it is somebody else's.
EXPERIENCER = [
    Case("in the next bay", "The van in the next bay has a leaking water pump. On this one the horn is inoperative.",
         {"horn": "inoperative"}, aside={"water pump": "other-vehicle"}),
    Case("his other truck", "His other truck has a cracked radiator. Back to this one, the battery is weak.",
         {"battery": "weak"}, aside={"radiator": "other-vehicle"}),
    Case("her mother's car", "Her mother's car needs a clutch. On this car the muffler is rusted.",
         {"muffler": "corroded"}, aside={"clutch": "other-vehicle"}),
    Case("my own car", "My own car has a noisy wheel bearing. This one has a leaking water pump.",
         {"water-pump": "leaking"}, aside={"wheel bearing": "other-vehicle"}),
    Case("the last one", "The last one we had in here had a bad steering rack. This one needs a battery.",
         {"battery": ""}, aside={"steering rack": "other-vehicle"}),
    Case("the one before", "The car before this had a seized caliper. This car has a worn serpentine belt.",
         {"serpentine-belt": "worn"}, aside={"caliper": "other-vehicle"}),
]  # fmt: skip

GROUPS = {
    "pre-negation": PRE_NEGATION,
    "post-negation": POST_NEGATION,
    "pseudo-negation": PSEUDO_NEGATION,
    "termination": TERMINATION,
    "possible": POSSIBLE,
    "history": HISTORY,
    "hypothetical": HYPOTHETICAL,
    "experiencer": EXPERIENCER,
}


@pytest.mark.parametrize(
    "case", [pytest.param(c, id=f"{group}: {c.trigger}") for group, cases in GROUPS.items() for c in cases]
)
def test_scope_of_a_trigger(case: Case, vocabulary: Vocabulary) -> None:
    order = order_of(case.text, vocabulary)
    faults = {line.component.id: {c.id for c in line.conditions} for line in order.lines if line.severity != "good"}
    assert set(faults) == set(case.faults)
    for part, condition in case.faults.items():
        assert not condition or condition in faults[part]
    assert {line.component.id for line in order.lines if line.severity == "good"} == case.good
    for words, reason in case.aside.items():
        at = case.text.index(words)
        assert [a.reason for a in order.set_aside if a.begin <= at and at + len(words) <= a.end] == [reason]


# Whoever says it: the customer's word is a concern and no finding, whether it denies or claims.
@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Customer denies any brake noise. Radiator is leaking.", "brake noise"),
        ("Customer reports no leaks from the water pump. Radiator is leaking.", "water pump"),
        ("Customer complains of a noisy wheel bearing. Radiator is leaking.", "wheel bearing"),
    ],
)
def test_the_customers_word_is_no_finding(text: str, said: str, vocabulary: Vocabulary) -> None:
    order = order_of(text, vocabulary)
    assert [line.component.id for line in order.lines] == ["radiator"]
    assert [said in concern.text for concern in order.concerns] == [True]
