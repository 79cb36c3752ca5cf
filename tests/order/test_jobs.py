"""Labor that overlaps is one job, so that it is quoted once."""

from talkaround.models import Note, RepairOrder
from talkaround.pipeline import write_order
from talkaround.vocabulary import Vocabulary


def jobs(text: str, vocabulary: Vocabulary) -> dict[str, set[str]]:
    order = write_order(Note(name="bay", text=text), vocabulary=vocabulary)
    names = {line.number: line.component.id for line in order.lines}
    return {job.name: {names[n] for n in job.lines} for job in order.jobs}


def test_one_corner_is_one_job(vocabulary: Vocabulary) -> None:
    text = (
        "Left front lower ball joint is loose, needs replaced. Left front strut is leaking, needs replaced. "
        "Right front strut is leaking."
    )
    found = jobs(text, vocabulary)
    assert found["Left front suspension and steering"] == {"lower-ball-joint", "strut"}
    assert {"strut"} in [v for k, v in found.items() if "Right" in k]


def test_the_brakes_of_an_axle_are_one_job(vocabulary: Vocabulary) -> None:
    found = jobs(
        "Front pads are at 2 mm, replace. Both front rotors are cracked. Rear pads are at 2 mm, replace.", vocabulary
    )
    assert found["Front brakes"] == {"brake-pad", "brake-rotor"}
    assert {"brake-pad"} in [v for k, v in found.items() if k.startswith("Rear")]


def test_the_front_of_the_engine_is_opened_once(vocabulary: Vocabulary) -> None:
    found = jobs(
        "Water pump is leaking, needs a pump. Serpentine belt is cracked, needs a belt. Horn doesn't work.", vocabulary
    )
    assert found["Front of the engine"] == {"water-pump", "serpentine-belt"}


def test_done_declined_watched_and_good_are_no_job(vocabulary: Vocabulary) -> None:
    text = "Left headlight bulb was out, put one in. Rear wiper is broken, customer said no. Oil pan is seeping, watch it. Horn works."
    assert jobs(text, vocabulary) == {}


def test_every_line_to_be_worked_on_is_in_one_job(orders: dict[str, RepairOrder]) -> None:
    for order in orders.values():
        todo = [
            line.number
            for line in order.lines
            if line.severity != "good"
            and line.work not in ("done", "declined")
            and line.action.verb not in ("none", "monitor")
        ]
        assert sorted(n for job in order.jobs for n in job.lines) == todo
