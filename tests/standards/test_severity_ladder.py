"""Severity against the deficiency ladder of Directive 2014/45/EU: minor, major, dangerous.

``severity_ladder.tsv`` holds one row a rung: the item and its category as published in Annex I of the Directive or in the
UK inspection manual for cars and passenger vehicles (both read in excerpts; the manual keeps the Directive's numbers),
and in our own words what a technician would say of it. A phrase goes through the whole path and its line's severity is
held against the category. Where ours stands otherwise the row says why in its last column, and a row that says so and
agrees after all fails: the list stays true.
"""

from __future__ import annotations

import csv
from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest

from project_notes import shipped_vocabulary
from talkaround.models import Note
from talkaround.pipeline import write_order

# What each category is on a repair order. Minor passes the inspection: it is advised or watched.
MEANS = {"dangerous": {"unsafe"}, "major": {"required"}, "minor": {"suggested", "monitor"}}
RANK = {"unsafe": 3, "required": 2, "suggested": 1, "monitor": 1, "good": 0}
FLOOR = 0.96


class Rung(NamedTuple):
    item: str
    source: str
    category: str
    component: str
    """Ids of the parts that the line may be of, with strokes between."""
    phrase: str
    ours_stands_otherwise: str


def rungs() -> list[Rung]:
    with Path(__file__).with_name("severity_ladder.tsv").open(encoding="utf-8", newline="") as file:
        return [Rung(**row) for row in csv.DictReader(file, delimiter="\t", quoting=csv.QUOTE_NONE)]


RUNGS = rungs()


@cache
def severity(rung: Rung) -> str | None:
    """The gravest severity of the rung's part, by the UK rule book; None where the order has no line of it."""
    order = write_order(Note(name="rung", text=rung.phrase), vocabulary=shipped_vocabulary(), steering="right-hand")
    found = [line.severity for line in order.lines if line.component.id in rung.component.split("/")]
    return max(found, key=RANK.__getitem__, default=None)


def agrees(rung: Rung) -> bool:
    return severity(rung) in MEANS[rung.category]


@pytest.mark.parametrize("rung", RUNGS, ids=[f"{r.item}-{r.category}-{n}" for n, r in enumerate(RUNGS)])
def test_a_rung_of_the_ladder(rung: Rung) -> None:
    if rung.ours_stands_otherwise:
        assert not agrees(rung), f"agrees now; take its reason out of the list: {rung.phrase}"
        assert severity(rung) is not None, f"a disagreement is about a line: {rung.phrase}"
    else:
        assert agrees(rung), (
            f"{rung.phrase} {rung.category} in {rung.source} {rung.item}, {severity(rung)} on the order"
        )


def test_share_of_the_ladder_that_agrees() -> None:
    by_category = Counter(r.category for r in RUNGS)
    agreed = Counter(r.category for r in RUNGS if agrees(r))
    share = sum(agreed.values()) / len(RUNGS)
    table = ", ".join(f"{c} {agreed[c]} of {by_category[c]}" for c in ("dangerous", "major", "minor"))
    print(f"\nseverity ladder: {share:.3f} of {len(RUNGS)} rungs agree ({table})")
    assert share >= FLOOR
    # What must not be missed: a dangerous rung written as less, unless its reason is listed.
    assert agreed["dangerous"] >= by_category["dangerous"] - 1


def test_the_ladder_is_long_enough_and_says_what_each_rung_rests_on() -> None:
    assert len(RUNGS) >= 120
    assert len({r.item for r in RUNGS}) >= 80
    assert set(MEANS) == {r.category for r in RUNGS}
    assert all(r.item and r.source and r.phrase for r in RUNGS)
    assert len({r.phrase for r in RUNGS}) == len(RUNGS)
    known = shipped_vocabulary().components
    assert {id for r in RUNGS for id in r.component.split("/")} <= set(known)
