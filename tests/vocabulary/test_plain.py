"""What parts are called for a customer. Common practice, no source."""

import pytest

from talkaround.vocabulary import Vocabulary

TRADE_WORDS = (
    "caliper", "rotor", "bushing", "strut", "knuckle", "control arm", "ball joint", "tie rod", "solenoid", "manifold",
    "turbocharger", "egr", "pcv", "differential", "gasket", "flange", "hub assembly", "sway bar", "yoke", "trunnion",
    "evaporator", "condenser", "actuator", "module", "harness", "camber", "toe", "backlash", "runout", "preload",
)  # fmt: skip


def explained(component: str, v: Vocabulary) -> bool:
    words = component.split("-")
    kinds = [component]
    while (c := v.components.get(kinds[-1])) is not None and c.kind_of and c.kind_of not in kinds:
        kinds.append(c.kind_of)
    return any("-".join(words[n:]) in v.plain for n in range(len(words))) or any(k in v.plain for k in kinds)


def test_every_part_is_explained_or_known_to_every_customer(vocabulary: Vocabulary) -> None:
    assert [id for id in vocabulary.components if not explained(id, vocabulary)] == []


def test_explanations_are_short_and_in_everyday_words(vocabulary: Vocabulary) -> None:
    for key, says in vocabulary.plain.items():
        assert len(says.split()) <= 12, key
        assert not says.endswith("."), key
        assert says[:1].islower() or not says, key
        assert not [w for w in TRADE_WORDS if f" {w} " in f" {says} "], key


def test_every_explanation_serves_some_part(vocabulary: Vocabulary) -> None:
    ids = vocabulary.components
    assert [k for k in vocabulary.plain if not any(id == k or id.endswith(f"-{k}") for id in ids)] == []


@pytest.mark.parametrize(
    ("component", "word"),
    [
        ("lower-ball-joint", "pivot"), ("brake-caliper", "clamp"), ("outer-tie-rod-end", "joint"),
        ("sway-bar-link", "level"), ("cv-boot", "cover"), ("strut", "spring"),
        ("water-pump", "coolant"), ("serpentine-belt", "belt"), ("catalytic-converter", "exhaust"), ("egr-valve", "exhaust"),
        ("thermostat", "coolant"), ("alternator", "battery"), ("wheel-bearing", "turn"), ("shock-absorber", "bounc"),
        ("brake-master-cylinder", "pedal"), ("blend-door-actuator", "air"), ("fuel-pump-relay", "switch"),
    ],
)  # fmt: skip
def test_explanation(component: str, word: str, vocabulary: Vocabulary) -> None:
    assert component in vocabulary.components
    assert word in vocabulary.plain_words(component)


@pytest.mark.parametrize("component", ["tire", "battery", "horn", "windshield", "door-mirror", "steering-wheel"])
def test_what_every_customer_knows_is_not_explained(component: str, vocabulary: Vocabulary) -> None:
    assert vocabulary.plain_words(component) == ""
