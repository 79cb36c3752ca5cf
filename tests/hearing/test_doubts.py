"""What a recogniser makes up is told from what was said. The made-up texts are of the kinds that such models are known
for (common practice): the same over and over, and the prompt said back in silence."""

import pytest

from talkaround.hearing.doubts import made_up

PRIMED = ("ball joint", "tie rod end", "brake pads", "rotor", "caliper")


@pytest.mark.parametrize(
    "text",
    [
        "the left front " * 20,
        "Replace it. Replace it. Replace it. Replace it. Replace it. Replace it. Replace it. Replace it.",
        "Ball joint, tie rod end, brake pads, rotor.",
        "Repair order: tie rod end, brake pads, rotor, caliper.",
    ],
)
def test_circles_and_echoes_are_made_up(text: str) -> None:
    assert made_up(text, PRIMED)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Thank you.",
        "Front brake pads, rotor is scored.",
        "The left front tire is at five, the right front tire is at five, the left rear is at six, the right rear at six.",
        "Tie rod end is tight, ball joint is tight, caliper slides free, rotor is smooth.",
        "Replace it. Replace it.",
    ],
)
def test_speech_is_not(text: str) -> None:
    assert not made_up(text, PRIMED)
