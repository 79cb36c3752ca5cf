"""The whole order in three sentences at most, for the customer first."""

from __future__ import annotations

from collections.abc import Sequence

from talkaround.models import Line
from talkaround.order.sentences import Sentences

# As many parts as a sentence names; the rest are counted.
_NAMED = 3


def summary_of(lines: Sequence[Line], sentences: Sentences) -> str:
    """What must be put right before it is driven, what else is to be done and was done, and what was found good."""
    open_lines = [x for x in lines if x.work not in ("done", "declined")]
    unsafe = [x for x in lines if x.severity == "unsafe" and x.work != "done"]
    required = [x for x in open_lines if x.severity == "required"]
    advised = [x for x in open_lines if x.severity == "suggested"]
    watched = [x for x in open_lines if x.severity == "monitor"]
    done = [x for x in lines if x.work == "done"]
    good = [x for x in lines if x.severity == "good" and x.work not in ("done", "declined")]
    declined = [x for x in lines if x.work == "declined"]
    said: list[str] = []
    if unsafe:
        said.append(f"Do not drive the vehicle until this is put right: {_names(unsafe, sentences)}.")
    wanted = [
        f"{_count(of, thing, things)}{f' ({_names(of, sentences)})' if name else ''}"
        for of, thing, things, name in (
            (required, "thing needs doing", "things need doing", not unsafe),
            (advised, "is advised", "are advised", not unsafe and not required),
            (watched, "is to be watched", "are to be watched", False),
        )
        if of
    ]
    if wanted:
        said.append(f"{_listed(wanted)}.")
    coming = [x for x in lines if x.work in ("ordered", "wrong-part")]
    rest = [
        _count(of, one, many)
        for of, one, many in (
            (done, "thing was done on this visit", "things were done on this visit"),
            (coming, "waits for a part", "wait for parts"),
            (declined, "was declined", "were declined"),
            (good, "was inspected and found good", "were inspected and found good"),
        )
        if of
    ]
    if rest:
        said.append(f"{_listed(rest)}.")
    return sentences.spelled(" ".join(said))


def _count(lines: Sequence[Line], one: str, many: str) -> str:
    return f"{len(lines)} {one if len(lines) == 1 else many}"


def _listed(items: Sequence[str]) -> str:
    return items[0] if len(items) == 1 else ", ".join(items[:-1]) + " and " + items[-1]


def _names(lines: Sequence[Line], sentences: Sentences) -> str:
    names = [sentences.named(x) for x in lines]
    names = [n[:1].lower() + n[1:] for n in names]
    if len(names) > _NAMED:
        names = [*names[: _NAMED - 1], f"{len(names) - _NAMED + 1} more"]
    return _listed(names)


__all__ = ["summary_of"]
