"""Lines whose work opens the same place of the vehicle, put together so that the labor is quoted once."""

from __future__ import annotations

from talkaround.models import Job, Line


def jobs_of(lines: list[Line]) -> list[Job]:
    """One job for each place with two lines or more that are still to be worked on; the lines of the order else."""
    by_place: dict[str, list[int]] = {}
    for line in lines:
        if line.severity == "good" or line.work in ("done", "declined") or line.action.verb in ("none", "monitor"):
            continue
        where = " ".join(str(w) for w in (line.position.side, line.position.axle) if w)
        by_place.setdefault(f"{where} {line.component.system}".strip().replace("-", " "), []).append(line.number)
    return [Job(name=name[:1].upper() + name[1:], lines=numbers) for name, numbers in by_place.items()]
