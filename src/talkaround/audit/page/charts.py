"""The two drawings of an audit, in black ink: an interval on a common axis, and a p-chart.

Presentation attributes only, since the desk lets no page carry styles of its own. Colours are ``currentColor``, so that
they are the page's; what tells marks apart is their shape, filled or hollow, solid or dashed.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from math import ceil, floor

from talkaround.audit._wording import percent
from talkaround.audit.report import Chart, Period
from talkaround.output._markup import Safe, el

_QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)


def interval(low: float, high: float, at: float | None, *, few: bool, name: str, beside: float | None = None) -> Safe:
    """A dot at ``at`` on its interval, all 0 to 1; hollow and dashed where ``few``. ``beside`` is drawn as a dotted line.

    As wide as the cell it stands in: it is drawn in percent of that, so that nothing is stretched. Without a ``name`` it
    is for the eye alone.
    """
    grid = [
        el("line", x1=_pc(x), x2=_pc(x), y1="1", y2="19", stroke="currentColor", stroke_opacity="0.25")
        for x in _QUARTERS
    ]
    own = {"stroke": "currentColor", "stroke_width": "2", "stroke_dasharray": "3 3" if few else ""}
    ends = [
        el("line", x1=_pc(x), x2=_pc(x), y1="4", y2="16", stroke="currentColor", stroke_width="2") for x in (low, high)
    ]
    dot = (
        el("circle", cx=_pc(at), cy="10", r="3.5", stroke="currentColor", stroke_width="1.5",
           fill="Canvas" if few else "currentColor")
        if at is not None else ""
    )  # fmt: skip
    others = (
        el("line", x1=_pc(beside), x2=_pc(beside), y1="0", y2="20", stroke="currentColor", stroke_width="1.5",
           stroke_dasharray="1.5 2.5")
        if beside is not None else ""
    )  # fmt: skip
    line = el("line", x1=_pc(low), x2=_pc(high), y1="10", y2="10", **own)
    told = el("title", name) if name else ""
    seen = {"role": "img"} if name else {"aria_hidden": "true"}
    return el("svg", told, *grid, others, line, *ends, dot, class_="interval", width="100%", height="20",
              overflow="visible", **seen)  # fmt: skip


def axis(labels: tuple[str, str, str]) -> Safe:
    """The numbers over a column of intervals; the cell's own heading says what they are."""
    at = zip(("0%", "50%", "100%"), ("start", "middle", "end"), labels, strict=True)
    texts = [el("text", label, x=x, y="12", text_anchor=anchor, fill="currentColor") for x, anchor, label in at]
    return el("svg", *texts, class_="axis", width="100%", height="16", overflow="visible", aria_hidden="true")


def _pc(x: float) -> str:
    return f"{min(max(x, 0), 1) * 100:.2f}%"


# ----- p-chart --------------------------------------------------------------------------------------------------------

_WIDTH, _HEIGHT = 356, 196
_LEFT, _RIGHT, _TOP, _BOTTOM = 40, 350, 28, 168
_LABEL = 64
"""Room that a period's name takes below the chart."""
_LEAST_SPAN = 0.2


class _Scale:
    """Where a period and a share stand in the drawing."""

    def __init__(self, chart: Chart):
        shown = [p for p in chart.periods if p.due]
        values = [chart.center, *(x for p in shown for x in (p.met / p.due, p.lower, p.upper))]
        least, most = min(values), max(values)
        spare = max(0.0, _LEAST_SPAN - (most - least)) / 2
        least, most = max(0.0, least - spare), min(1.0, most + spare)
        span = most - least
        step = next(s for s in (0.05, 0.1, 0.2, 0.25) if span / s <= 5 or s == 0.25)
        self.first, self.last = floor(least / step + 1e-9), ceil(most / step - 1e-9)
        self.step = step
        self.low, self.high = self.first * step, self.last * step
        self.each = (_RIGHT - _LEFT) / max(len(chart.periods), 1)

    @property
    def ticks(self) -> Iterator[float]:
        return (n * self.step for n in range(self.first, self.last + 1))

    def x(self, n: float) -> float:
        """The middle of the nth period."""
        return _LEFT + (n + 0.5) * self.each

    def y(self, share: float) -> float:
        return _BOTTOM - (share - self.low) / (self.high - self.low) * (_BOTTOM - _TOP)


def p_chart(chart: Chart, id: str) -> Safe:
    """The share of each period, its control limits as dashed steps, and where a lasting change begins."""
    scale = _Scale(chart)
    grid = []
    for tick in scale.ticks:
        y = _n(scale.y(tick))
        grid.append(el("line", x1=str(_LEFT), x2=str(_RIGHT), y1=y, y2=y, stroke="currentColor", stroke_opacity="0.2"))
        grid.append(_text(percent(tick), _LEFT - 5, scale.y(tick) + 4, "end"))
    every = max(1, ceil(_LABEL / scale.each))
    names = [_text(p.period, scale.x(n), _BOTTOM + 18, "middle") for n, p in _labelled(chart.periods, every)]
    ticks = [
        el("line", x1=_n(scale.x(n)), x2=_n(scale.x(n)), y1=str(_BOTTOM), y2=str(_BOTTOM + 5), stroke="currentColor")
        for n, _ in _labelled(chart.periods, every)
    ]
    center = _n(scale.y(chart.center))
    middle = el("line", x1=str(_LEFT), x2=str(_RIGHT), y1=center, y2=center, stroke="currentColor", stroke_width="1.2")
    limits = [
        el("path", d=_steps(run, scale, which), fill="none", stroke="currentColor", stroke_width="1.2",
           stroke_dasharray="5 3")
        for run in _runs(chart.periods) for which in ("upper", "lower")
    ]  # fmt: skip
    joined = [
        el("polyline", points=" ".join(f"{_n(scale.x(n))},{_n(scale.y(p.met / p.due))}" for n, p in run), fill="none",
           stroke="currentColor", stroke_opacity="0.6")
        for run in _runs(chart.periods)
    ]  # fmt: skip
    marks = [period_mark(scale.x(n), scale.y(p.met / p.due), p.outside) for n, p in enumerate(chart.periods) if p.due]
    return el(
        "svg", el("title", chart.sentence, id=id), *grid, *ticks, *names, middle, *limits, *joined, *marks,
        _change(chart, scale), class_="p-chart", viewBox=f"0 0 {_WIDTH} {_HEIGHT}", role="img", aria_labelledby=id,
    )  # fmt: skip


def period_mark(x: float, y: float, outside: bool) -> Safe:
    """A filled dot, or a hollow diamond for a period beyond its limits."""
    if not outside:
        return el("circle", cx=_n(x), cy=_n(y), r="3.5", fill="currentColor")
    diamond = f"M{_n(x)} {_n(y - 7)}L{_n(x + 7)} {_n(y)}L{_n(x)} {_n(y + 7)}L{_n(x - 7)} {_n(y)}Z"
    return el("path", d=diamond, fill="Canvas", stroke="currentColor", stroke_width="2", class_="outside")


def _change(chart: Chart, scale: _Scale) -> Safe:
    at = next((n for n, p in enumerate(chart.periods) if p.period == chart.changed_from), None)
    if at is None:
        return Safe("")
    x = scale.x(at) - scale.each / 2
    right = x < (_LEFT + _RIGHT) / 2
    line = el("line", x1=_n(x), x2=_n(x), y1="4", y2=str(_BOTTOM), stroke="currentColor", stroke_width="2",
              stroke_dasharray="1.5 3")  # fmt: skip
    word = _text(f"changed from {chart.changed_from}", x + (5 if right else -5), 13, "start" if right else "end")
    return el("g", line, word, class_="change")


def _labelled(periods: list[Period], every: int) -> Iterator[tuple[int, Period]]:
    return ((n, p) for n, p in enumerate(periods) if n % every == 0)


def _runs(periods: list[Period]) -> Iterator[list[tuple[int, Period]]]:
    """Periods that follow one another with something due in each."""
    for due, run in groupby(enumerate(periods), key=lambda x: x[1].due > 0):
        if due:
            yield list(run)


def _steps(run: list[tuple[int, Period]], scale: _Scale, which: str) -> str:
    half = scale.each / 2
    out = f"M{_n(scale.x(run[0][0]) - half)} {_n(scale.y(getattr(run[0][1], which)))}"
    for n, period in run:
        out += f"V{_n(scale.y(getattr(period, which)))}H{_n(scale.x(n) + half)}"
    return out


def _text(words: str, x: float, y: float, anchor: str) -> Safe:
    return el("text", words, x=_n(x), y=_n(y), text_anchor=anchor, fill="currentColor", font_size="12")


def _n(x: float) -> str:
    return f"{x:.1f}"


def legend() -> Safe:
    """What the marks of a p-chart are."""

    def sign(*shapes: str) -> Safe:
        return el("svg", *shapes, class_="sign", viewBox="0 0 30 16", aria_hidden="true")

    def line(**look: str) -> Safe:
        return el("line", x1="1", x2="29", y1="8", y2="8", stroke="currentColor", **look)

    down = el(
        "line", x1="15", x2="15", y1="0", y2="16", stroke="currentColor", stroke_width="2", stroke_dasharray="1.5 3"
    )
    signs = (
        (sign(period_mark(15, 8, False)), "a period within its limits"),
        (sign(period_mark(15, 8, True)), "a period beyond them"),
        (sign(line(stroke_width="1.2")), "the share over all periods"),
        (sign(line(stroke_width="1.2", stroke_dasharray="5 3")), "limits of what chance explains"),
        (sign(down), "a lasting change"),
    )
    return el("ul", *(el("li", drawn, " ", words) for drawn, words in signs), class_="legend-of-charts")


def interval_legend(others: str) -> Safe:
    """What the marks of the interval rows are; ``others`` says what the dotted line is, empty where there is none."""

    def sign(few: bool) -> Safe:
        return el("span", interval(0.1, 0.9, 0.5, few=few, name=""), class_="sign")

    dotted = el("svg", el("line", x1="15", x2="15", y1="0", y2="16", stroke="currentColor", stroke_width="1.5",
                          stroke_dasharray="1.5 2.5"), class_="sign", viewBox="0 0 30 16", aria_hidden="true")  # fmt: skip
    items = [el("li", sign(False), " share and its interval"), el("li", sign(True), " the same, of too few to tell")]
    if others:
        items.append(el("li", dotted, " ", others))
    return el("ul", *items, class_="legend-of-charts")


__all__ = ["axis", "interval", "interval_legend", "legend", "p_chart", "period_mark"]
