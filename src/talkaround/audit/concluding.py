"""A tally -> the report: shares with their intervals, who stands out, what changed, and the sentences that say so.

Nobody is ranked. Somebody is named only where the interval is apart from that of all others together, widened for the
number of comparisons that were made, and where the difference is worth a word at all.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Literal

from talkaround.audit.points import Points
from talkaround.audit.report import (
    Agreement,
    BeforeAfter,
    Chart,
    Mean,
    Period,
    Point,
    Report,
    Row,
    Sample,
    Scope,
    Share,
    StandsOut,
    Visits,
)
from talkaround.audit.statistics import (
    FEW,
    change_point,
    newcombe,
    p_chart,
    per_comparison,
    ratio_mean,
    sample_size,
    share_of,
    standing_out,
    weighted_kappa,
)
from talkaround.audit.tally import Asked, Tally, sums_of
from talkaround.models import SEVERITIES

WORTH_A_WORD = 0.10
"""A difference of shares below which nobody is named, however sure the numbers are of it."""
MOVED = 0.05
"""The same for a whole shop before and since a day, of which there are many more notes."""

Counts = tuple[int, int]


def conclude(place: str, tally: Tally, visits: Visits, points: Points, asked: Asked) -> Report:
    """The report of a tally."""
    known = [p for p in points.points if any(k.point == p for k in tally.shares)]
    technicians = sorted({t for t, _ in tally.orders if t})
    shops = sorted({s for _, s in tally.orders if s})
    seen = {id: _named(points, id) for id in known}
    made = _Made(asked, seen, tally)
    comparisons = max(1, len(technicians) * len(known))
    stands_out = made.who_stands_out(technicians, comparisons) if len(technicians) > 1 else []
    charts = made.charts(technicians, comparisons)
    orders = sum(tally.orders.values())
    return Report(
        scope=Scope(
            place=place,
            orders=orders,
            lines=tally.lines,
            first=tally.first.isoformat() if tally.first else "",
            last=tally.last.isoformat() if tally.last else "",
            period=asked.period,
            technicians=len(technicians),
            shops=len(shops),
            unnamed=sum(n for (t, _), n in tally.orders.items() if not t),
            undated=tally.undated,
            unreadable=tally.unreadable,
            narrowed=_narrowed(asked),
            confidence=asked.confidence,
        ),
        points=[seen[id] for id in known],
        everybody=made.everybody(orders),
        technicians=made.rows("technician", technicians),
        shops=made.rows("shop", shops),
        systems=made.rows("system", sorted({k.system for k in tally.shares if k.system})),
        stands_out=stands_out,
        charts=charts,
        agreement=made.agreement(technicians),
        marked=f"{asked.since.isoformat()} {asked.since_what}".strip() if asked.since else "",
        before_after=made.before_after() if asked.since else [],
        visits=visits,
        empty_words=sorted(tally.empty_words.items(), key=lambda x: (-x[1], x[0]))[:20],
        sample=_sample(tally, asked, orders),
        remarks=_remarks(tally, orders),
    )


class _Made:
    """Makes the parts of a report from a tally."""

    def __init__(self, asked: Asked, points: dict[str, Point], tally: Tally):
        self.asked, self.points, self.tally = asked, points, tally

    def counts(self, *names: str) -> dict[tuple[object, ...], Counts]:
        """The counts added up along what is named of their keys."""
        out: dict[tuple[object, ...], list[int]] = defaultdict(lambda: [0, 0])
        for key, (met, due) in self.tally.shares.items():
            counts = out[tuple(getattr(key, n) for n in names)]
            counts[0] += met
            counts[1] += due
        return {k: (met, due) for k, (met, due) in out.items()}

    def share(self, met: int, due: int, confidence: float | None = None) -> Share:
        return share_of(met, due, confidence or self.asked.confidence)

    def everybody(self, orders: int) -> Row:
        return self._row("", orders, {str(p): c for (p,), c in self.counts("point").items()}, list(self.tally.scores))

    def rows(self, of: Literal["technician", "shop", "system"], names: list[str]) -> list[Row]:
        """A row for each of ``names``; a system has its points alone, for notes and scores are of no one system."""
        counts: dict[str, dict[str, Counts]] = defaultdict(dict)
        for (who, point), c in self.counts(of, "point").items():
            counts[str(who)][str(point)] = c
        at = {"technician": 0, "shop": 1}.get(of)
        out = []
        for name in names:
            own = [] if at is None else [key for key in self.tally.orders if key[at] == name]
            out.append(self._row(name, sum(self.tally.orders[key] for key in own), counts[name], own))
        return out

    def _row(self, who: str, orders: int, counts: dict[str, Counts], scored: Iterable[tuple[str, str]]) -> Row:
        n, sum_x, sum_xx = sums_of(self.tally.scores, scored)
        score = None
        if n:
            mean, low, high = ratio_mean(int(n), sum_x, sum_xx, self.asked.confidence)
            score = Mean(orders=int(n), mean=mean, low=low, high=high, few=n < FEW)
        points = {p: self.share(*counts[p]) for p in self.points if p in counts}
        return Row(who=who, orders=orders, points=points, score=score)

    def who_stands_out(self, technicians: list[str], comparisons: int) -> list[StandsOut]:
        sure = per_comparison(self.asked.confidence, comparisons)
        of_each = self.counts("technician", "point")
        out = []
        for point in self.points.values():
            counts = {who: of_each.get((who, point.id), (0, 0)) for who in technicians}
            apart_from = standing_out({who: c for who, c in counts.items() if c[1] >= FEW}, sure)
            for who in sorted(apart_from):
                own, others = self.share(*counts[who], sure), self.share(*apart_from[who], sure)
                a, b = own.share or 0, others.share or 0
                if abs(a - b) < WORTH_A_WORD:
                    continue
                examples = [e for _, _, e in self.tally.examples.get((who, point.id), [])] if a < b else []
                out.append(
                    StandsOut(
                        who=who,
                        point=point.id,
                        below=a < b,
                        own=own,
                        others=others,
                        sentence=_stands_out(who, point, own, others),
                        examples=examples,
                    )
                )
        return out

    def charts(self, technicians: list[str], comparisons: int) -> list[Chart]:
        everybody = self.counts("period", "point")
        each = self.counts("technician", "period", "point")
        periods = sorted({str(k[0]) for k in everybody if k[0]})
        if len(periods) < 2:
            return []
        out = []
        for point in self.points.values():
            counts = [everybody.get((p, point.id), (0, 0)) for p in periods]
            if not _sum(counts)[1]:
                continue
            out.append(self._chart("", point, periods, counts, len(self.points)))
            for who in technicians:
                counts = [each.get((who, p, point.id), (0, 0)) for p in periods]
                chart = self._chart(who, point, periods, counts, comparisons) if _sum(counts)[1] else None
                if chart is not None and chart.changed_from is not None:
                    out.append(chart)
        return out

    def _chart(self, who: str, point: Point, periods: list[str], counts: list[Counts], comparisons: int) -> Chart:
        center, limits = p_chart(counts)
        at = change_point(counts, 1 - self.asked.confidence, comparisons)
        before = after = None
        if at is not None:
            before, after = (self.share(*_sum(part)) for part in (counts[:at], counts[at:]))
            if abs((before.share or 0) - (after.share or 0)) < WORTH_A_WORD:
                at = before = after = None
        shown = [
            Period(period=p, met=met, due=due, lower=lower, upper=upper, outside=outside)
            for p, (met, due), (lower, upper, outside) in zip(periods, counts, limits, strict=True)
        ]
        chart = Chart(
            who=who,
            point=point.id,
            center=center,
            periods=shown,
            changed_from=None if at is None else periods[at],
            before=before,
            after=after,
            sentence="",
        )
        return chart.model_copy(update={"sentence": _of_chart(chart, point)})

    def agreement(self, technicians: list[str]) -> list[Agreement]:
        tables = self.tally.agreement
        if not tables:
            return []
        whole = [sum(cells) for cells in zip(*tables.values(), strict=True)]
        return [self._agreement("", whole), *(self._agreement(t, tables[t]) for t in technicians if t in tables)]

    def _agreement(self, who: str, cells: list[int]) -> Agreement:
        size = len(SEVERITIES)
        table = [cells[n * size : (n + 1) * size] for n in range(size)]
        kappa, low, high = weighted_kappa(table, "linear", self.asked.confidence)
        lines = sum(cells)
        return Agreement(who=who, lines=lines, kappa=kappa, low=low, high=high, few=lines < FEW, table=table)

    def before_after(self) -> list[BeforeAfter]:
        counts = self.counts("after", "point")
        sure = per_comparison(self.asked.confidence, max(1, len(self.points)))
        out = []
        for point in self.points.values():
            before, after = (self.share(*counts.get((late, point.id), (0, 0))) for late in (False, True))
            if before.due and after.due:
                difference, low, high = newcombe(before.met, before.due, after.met, after.due, sure)
                out.append(
                    BeforeAfter(
                        point=point.id,
                        before=before,
                        after=after,
                        difference=difference,
                        low=low,
                        high=high,
                        tells=(low > 0 or high < 0) and abs(difference) >= MOVED and not (before.few or after.few),
                        sentence=_of_before_after(point, before, after, low, high),
                    )
                )
        return out


# ----- sentences ------------------------------------------------------------------------------------------------------


def of_100(share: float | None) -> str:
    """A share as a writer says it: ``87 of 100``; less than one of 100 is not none."""
    if share is None:
        return "none asked for"
    if 0 < share < 0.01:
        return "fewer than 1 of 100"
    if 0.99 < share < 1:
        return "more than 99 of 100"
    return f"{round(share * 100)} of 100"


def _stands_out(who: str, point: Point, own: Share, others: Share) -> str:
    more = "more" if (own.share or 0) > (others.share or 0) else "less"
    return (
        f"{who}, {point.name}: {of_100(own.share)} occasions ({own.due:,} in all), {more} often than the others together "
        f"({of_100(others.share)})."
    )


def _of_chart(chart: Chart, point: Point) -> str:
    whose = f"{chart.who}, {point.name}" if chart.who else f"Everybody, {point.name}"
    if chart.changed_from is not None and chart.before and chart.after:
        which = "rose" if (chart.after.share or 0) > (chart.before.share or 0) else "fell"
        return (
            f"{whose}: from {chart.changed_from} on it {which}, from {of_100(chart.before.share)} to "
            f"{of_100(chart.after.share)}, and stayed there."
        )
    asked = [p for p in chart.periods if p.due]
    outside = [p.period for p in asked if p.outside]
    if not asked:
        return f"{whose}: never asked for."
    steady = f"{whose}: about {of_100(chart.center)} throughout, with no lasting change"
    if not outside:
        return f"{steady}; every period lies within its limits."
    return f"{steady}; beyond its limits in {_listed(outside)}."


def _of_before_after(point: Point, before: Share, after: Share, low: float, high: float) -> str:
    was, now = of_100(before.share), of_100(after.share)
    name = point.name[:1].upper() + point.name[1:]
    if before.few or after.few:
        return f"{name}: {was} before, {now} since; too few occasions to conclude from."
    if (low > 0 or high < 0) and abs((after.share or 0) - (before.share or 0)) < MOVED:
        return f"{name}: {was} before, {now} since: a difference too small to make anything of."
    if low > 0:
        return f"{name}: {was} before, {now} since: better by {_points(low)} to {_points(high)} of 100."
    if high < 0:
        return f"{name}: {was} before, {now} since: worse by {_points(-high)} to {_points(-low)} of 100."
    return f"{name}: {was} before, {now} since: these numbers show no difference."


def _points(x: float) -> str:
    return f"{x * 100:.0f}" if x >= 0.01 else "less than 1"


def _remarks(tally: Tally, orders: int) -> list[str]:
    out = [
        "Everybody is listed by name; where two intervals overlap, the numbers show no difference between the two.",
        "Lines of one note are not independent of each other, so that the true intervals are somewhat wider than those "
        "told for lines.",
    ]
    if tally.unreadable:
        first = f" (the first: {tally.troubles[0]})" if tally.troubles else ""
        out.append(f"{tally.unreadable} could not be read and are not counted{first}.")
    unnamed = sum(n for (t, _), n in tally.orders.items() if not t)
    if unnamed:
        out.append(f"{unnamed} of {orders} do not say who wrote the note; they count for everybody and for nobody.")
    if tally.undated:
        out.append(f"{tally.undated} of {orders} bear no date, and are in no chart and among no vehicle's visits.")
    return out


def _narrowed(asked: Asked) -> list[str]:
    out = []
    if asked.first or asked.last:
        out.append(" ".join(x for x in (
            f"from {asked.first}" if asked.first else "", f"to {asked.last}" if asked.last else "") if x))  # fmt: skip
    for what, names in (("technician", asked.technicians), ("shop", asked.shops), ("system", asked.systems)):
        if names:
            out.append(f"{what} {_listed(sorted(names))}")
    return out


def _sample(tally: Tally, asked: Asked, orders: int) -> Sample | None:
    if not asked.sample:
        return None
    drawn = [s for _, _, s in sorted(tally.drawn, key=lambda d: d[:2], reverse=True)]
    needed = sample_size(asked.precision, asked.confidence, population=orders)
    return Sample(seed=asked.seed, orders=drawn, precision=asked.precision, needed=needed)


def _named(points: Points, id: str) -> Point:
    p = points.points[id]
    return Point(id=id, name=p.name, asks=p.asks, weight=p.weight, unit=p.unit)


def _sum(counts: list[Counts]) -> Counts:
    return sum(met for met, _ in counts), sum(due for _, due in counts)


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


__all__ = ["WORTH_A_WORD", "conclude", "of_100"]
