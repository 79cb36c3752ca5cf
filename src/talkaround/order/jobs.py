"""Lines whose work opens the same place of the vehicle, put together so that the labor is quoted once."""

from __future__ import annotations

from collections.abc import Sequence

from talkaround.models import Job, Line
from talkaround.vocabulary import Vocabulary


def jobs_of(lines: Sequence[Line], vocabulary: Vocabulary) -> list[Job]:
    """Every line that is still to be worked on, in one job each, in the order of the lines.

    Lines go together where ``opens`` of their components in the lexicon is the same, or where their system says that its
    work opens one corner, one axle or all of it (``job`` in ``systems.toml``).
    """
    names: dict[object, str] = {}
    members: dict[object, list[int]] = {}
    for line in lines:
        if line.severity == "good" or line.work in ("done", "declined") or line.action.verb in ("none", "monitor"):
            continue
        key, name = _opened(line, vocabulary)
        names.setdefault(key, name)
        members.setdefault(key, []).append(line.number)
    single = {
        numbers[0]: line
        for numbers in members.values()
        if len(numbers) == 1
        for line in lines
        if line.number == numbers[0]
    }
    return [
        Job(name=_of_one(single[numbers[0]]) if len(numbers) == 1 else names[key], lines=numbers)
        for key, numbers in members.items()
    ]


def _opened(line: Line, v: Vocabulary) -> tuple[object, str]:
    """What tells the place that the line opens from others, and its name."""
    comp = v.components[line.action.part.id if line.action.part else line.component.id]
    faulty = v.components[line.component.id]
    opens = faulty.opens or comp.opens
    if opens:
        return opens, _cap(opens)
    system = v.systems.get(faulty.system)
    axle, side = line.position.axle, line.position.side
    where = f"axle {axle}" if isinstance(axle, int) else axle or ""
    if system is None or system.job is None or faulty.kind == "service":
        return line.number, ""
    name = system.job_name or system.name
    if system.job == "whole":
        return name, _cap(name)
    if system.job == "axle" and axle is not None:
        return (name, axle), _cap(f"{where} {name}")
    if system.job == "corner" and axle is not None and side in ("left", "right"):
        return (name, axle, side), _cap(f"{side} {where} {name}")
    return line.number, ""


def _of_one(line: Line) -> str:
    p = line.position
    axle = f"axle {p.axle}" if isinstance(p.axle, int) else p.axle
    where = " ".join(
        w for w in (p.side if p.side != "both" else "left and right", axle) if w and w not in line.component.name
    )
    return _cap(f"{where} {line.component.name}".strip())


def _cap(text: str) -> str:
    return text[:1].upper() + text[1:]
