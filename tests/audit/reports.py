"""Made-up reports: a rich one with every kind of record, a quiet one, and one of nothing at all. All people are invented."""

from __future__ import annotations

import random
from math import sqrt

from talkaround.audit.report import (
    Agreement,
    BeforeAfter,
    Chart,
    Example,
    Mean,
    Period,
    Point,
    Report,
    Row,
    Sample,
    Sampled,
    Scope,
    Seen,
    Share,
    StandsOut,
    Visits,
)

TECHNICIANS = [
    "Ada", "Bartholomew Featherstonehaugh-Winterbottom the Younger", "Chidi", "Dana & Sons <b>", "Élodie Ñandú", "=Farah",
    "Gus", "Hanne", "Igor", "Joy", "Kwame", "Zed",
]  # fmt: skip
SHOPS = ["Harbor Street", "North yard", "Truck bay at the old quarry road"]
SYSTEMS = ["brakes", "lamps", "starting and charging", "tires and wheels"]
POINTS = [
    Point(id="place-given", name="place given", asks="Where a part has sides or axles, does the note say which?", weight=3,
          unit="line"),
    Point(id="reading-given", name="reading given", asks="Where the part is measured, is there a reading?", weight=2,
          unit="line"),
    Point(id="concern-answered", name="concern answered",
          asks="Is what the customer reports taken up by a finding, or said to be not found?", weight=2, unit="concern"),
    Point(id="systems-covered", name="systems gone over", asks="Does a walkaround mention each system that it goes over?",
          weight=1, unit="system"),
    Point(id="unsafe-told", name="customer told of the unsafe",
          asks="Where a vehicle is unsafe, does the note say that the customer was told?", weight=4, unit="line"),
    Point(id="right-part", name="right part came", asks="Of the parts that have a side, was it the right one?", weight=1,
          unit="part"),
]  # fmt: skip
STANDS_OUT = "Gus, reading given: 31 of 100 occasions (120 in all), less often than all others together (78 of 100)."
CHANGED = "Everybody, place given: from 2026-03 on it rose, from 60 of 100 to 80 of 100, and stayed there."
BETTER = "Place given: 60 of 100 before, 80 of 100 since: better by 16 to 24 of 100."
NO_DIFFERENCE = "Reading given: 75 of 100 before, 76 of 100 since: these numbers show no difference."


def share(met: int, due: int) -> Share:
    """With its interval by Wilson (1927), z 1.96."""
    if not due:
        return Share(met=0, due=0, low=0, high=1, few=True)
    z, p = 1.96, met / due
    middle, half = p + z * z / (2 * due), z * sqrt(p * (1 - p) / due + z * z / (4 * due * due))
    low, high = ((middle + s * half) / (1 + z * z / due) for s in (-1, 1))
    return Share(met=met, due=due, low=max(low, 0), high=min(high, 1), few=due < 10)


def _row(who: str, orders: int, rates: dict[str, float], dice: random.Random) -> Row:
    points = {}
    for id, rate in rates.items():
        due = max(0, round(orders * dice.uniform(0.5, 2.5)))
        points[id] = share(round(due * rate), due)
    mean = sum(rates.values()) / len(rates)
    score = Mean(orders=orders, mean=mean, low=max(mean - 0.05, 0), high=min(mean + 0.05, 1), few=orders < 10)
    return Row(who=who, orders=orders, points=points, score=score)


def _chart(who: str, point: str, rates: list[float], each: int, sentence: str, changed: str | None = None) -> Chart:
    center, periods = sum(rates) / len(rates), []
    for n, rate in enumerate(rates):
        due = 0 if n == 4 and who else each + n % 3 * each // 2
        half = 3 * sqrt(center * (1 - center) / due) if due else 0
        met = round(due * rate)
        lower, upper = max(center - half, 0), min(center + half, 1)
        outside = bool(due) and not lower <= met / due <= upper
        periods.append(Period(period=f"{2025 + (n + 5) // 12}-{(n + 5) % 12 + 1:02d}", met=met, due=due,
                              lower=lower if due else 0, upper=upper if due else 1, outside=outside))  # fmt: skip
    sides = {"before": share(240, 400), "after": share(320, 400)} if changed else {}
    return Chart(who=who, point=point, center=center, periods=periods, changed_from=changed, sentence=sentence, **sides)


def _agreement(who: str, scale: int, kappa: float | None) -> Agreement:
    table = [[4, 1, 0, 0, 0], [2, 20, 3, 1, 0], [1, 9, 30, 4, 0], [0, 3, 6, 12, 1], [0, 0, 1, 2, 15]]
    table = [[n * scale // 4 for n in row] for row in table]
    lines = sum(map(sum, table))
    low, high = (None, None) if kappa is None else (kappa - 0.6 / scale, min(kappa + 0.6 / scale, 1))
    return Agreement(who=who, lines=lines, kappa=kappa, low=low, high=high, few=lines < 20, table=table)


def rich() -> Report:
    """Twelve technicians in three shops, with everything that a report can hold."""
    dice = random.Random(7)
    usual = {p.id: r for p, r in zip(POINTS, (0.71, 0.75, 0.9, 0.4, 0.995, 0.02), strict=True)}
    everybody = _row("", 900, usual, dice)
    technicians = []
    for n, who in enumerate(TECHNICIANS):
        rates = {id: min(max(r + dice.uniform(-0.12, 0.12), 0), 1) for id, r in usual.items()}
        if who == "Joy":
            del rates["unsafe-told"]
        technicians.append(_row(who, 3 if who == "Zed" else 40 + 11 * n, rates, dice))
    gus = technicians[6]
    technicians[6] = gus.model_copy(update={"points": {**gus.points, "reading-given": share(37, 120)}})
    return Report(
        scope=Scope(place="orders of the year", orders=1240, lines=10_412, first="2025-06-02", last="2026-05-29",
                    technicians=12, shops=3, unnamed=7, undated=4, unreadable=2, narrowed=["from 2025-06-01 to 2026-05-31"]),
        points=POINTS,
        everybody=everybody,
        technicians=technicians,
        shops=[_row(s, 300, usual, dice) for s in SHOPS],
        systems=[_row(s, 250, {k: usual[k] for k in ("place-given", "reading-given")}, dice) for s in SYSTEMS],
        stands_out=[
            StandsOut(who="Gus", point="reading-given", below=True, own=share(37, 120), others=share(900, 1150),
                      sentence=STANDS_OUT,
                      examples=[Example(order="41", date="2026-02-03", who="Gus", words="front pads are getting low"),
                                Example(order="57", date="2026-02-19", who="Gus", words="tires <worn> & \"bald\"")]),
            StandsOut(who="Zed", point="right-part", below=True, own=share(0, 12), others=share(700, 760),
                      sentence="Zed, right part came: 0 of 100 occasions (12 in all), less often than all others together "
                               "(92 of 100).",
                      examples=[Example(order="gray-wagon-with-a-very-long-name-of-its-note-2026-04", who="Zed")]),
        ],
        charts=[
            _chart("", "place-given", [0.6, 0.62, 0.58, 0.61, 0.6, 0.59, 0.62, 0.6, 0.59, 0.8, 0.81, 0.79], 300, CHANGED,
                   "2026-03"),
            _chart("", "reading-given", [0.75, 0.76, 0.74, 0.75, 0.6, 0.76, 0.77, 0.75, 0.74, 0.75, 0.76, 0.75], 200,
                   "Everybody, reading given: about 74 of 100 throughout, with no lasting change; beyond its limits in "
                   "2025-10."),
            _chart("Gus", "reading-given", [0.7, 0.7, 0.8, 0.7, 0.7, 0.7, 0.3, 0.2, 0.3, 0.25, 0.3, 0.3], 12,
                   "Gus, reading given: from 2025-12 on it fell, from 72 of 100 to 28 of 100, and stayed there.", "2025-12"),
            _chart("", "unsafe-told", [0.99, 1, 0.98] * 12, 60,
                   "Everybody, customer told of the unsafe: about 99 of 100 throughout, with no lasting change; every "
                   "period lies within its limits."),
            Chart(who="", point="right-part", center=0, periods=[], sentence="Everybody, right part came: never asked for."),
        ],
        agreement=[
            _agreement("", 40, 0.66),
            *(_agreement(who, 4, 0.5 + n / 30) for n, who in enumerate(TECHNICIANS[:-1])),
            Agreement(who="Zed", lines=0, kappa=None, low=None, high=None, few=True, table=[[0] * 5] * 5),
        ],
        marked="2026-03-01, training on places",
        before_after=[
            BeforeAfter(point="place-given", before=share(600, 1000), after=share(800, 1000), difference=0.2, low=0.16,
                        high=0.24, tells=True, sentence=BETTER),
            BeforeAfter(point="reading-given", before=share(750, 1000), after=share(190, 250), difference=0.01, low=-0.05,
                        high=0.07, tells=False, sentence=NO_DIFFERENCE),
        ],
        visits=Visits(
            vehicles=700, seen_again=210,
            counts={"came-back": 14, "got-worse": 9, "tread-grew": 2, "side-changed": 1, "odometer-fell": 0},
            examples={
                "came-back": [
                    Seen(vehicle="11111111111111111", what="left front brake pad", was="suggested, 4 mm", now="required, 2 mm",
                         first="12", first_date="2025-09-01", then="88", then_date="2026-01-14"),
                    Seen(vehicle="plate TRY 123", what="wiper blade", was="monitor", now="suggested, declined", first="15",
                         first_date="2025-09-03", then="91", then_date="2026-01-20"),
                ],
                "tread-grew": [
                    Seen(vehicle="plate TRY 123", what="right rear tire", was="suggested, 4/32 in", now="good, 7/32 in",
                         first="15", first_date="2025-09-03", then="91", then_date="2026-01-20"),
                ],
                "side-changed": [
                    Seen(vehicle="11111111111111111", what="lower ball joint", was="left, required", now="right, required",
                         first="12", first_date="2025-09-01", then="88", then_date="2026-01-14"),
                ],
            },
        ),
        empty_words=[("bad", 41), ("shot", 17), ("no good", 3)],
        sample=Sample(
            seed=11, precision=0.05, needed=294,
            orders=[
                Sampled(order="41", date="2026-02-03", technician="Gus", shop="Harbor Street",
                        text="Front pads are getting low.\nHorn works."),
                Sampled(order="102", date="", technician="", shop="", text="<script>alert(1)</script> Left rear tire is bald."),
            ],
        ),
        remarks=["7 of 1,240 do not say who wrote the note; they count for everybody and for nobody.",
                 "2 could not be read and are not counted."],
    )  # fmt: skip


def quiet() -> Report:
    """One technician, nothing that stands out, hardly anything to count."""
    return Report(
        scope=Scope(place="this desk", orders=4, lines=9, technicians=1),
        points=POINTS[:2],
        everybody=Row(who="", orders=4, points={"place-given": share(5, 6)}),
        technicians=[Row(who="Ada", orders=4, points={"place-given": share(5, 6)})],
    )


def empty() -> Report:
    return Report(
        scope=Scope(place="this desk", orders=0, lines=0), points=[], everybody=Row(who="", orders=0, points={})
    )


__all__ = ["BETTER", "CHANGED", "NO_DIFFERENCE", "POINTS", "SHOPS", "STANDS_OUT", "TECHNICIANS", "empty", "quiet", "rich",
           "share"]  # fmt: skip
