"""What the page, the terminal and the desk say in the same words."""

from __future__ import annotations

from collections.abc import Iterable

from talkaround.audit.report import Agreement, Report, Scope, Share

CAUTION = (
    "An audit of notes judges what was written, not how anybody works on a vehicle. Go over it with the person whom it "
    "concerns before anything is made of it."
)
_ALONE = "Nothing stands out; there is nobody to compare with."
_NOTHING = "Nothing stands out: nobody lies apart from all the others by more than chance explains."
TOO_FEW = "too few to tell"
VISIT_KINDS = {
    "came-back": "deferred, and came back", "got-worse": "got worse between visits",
    "tread-grew": "tread deeper than before", "side-changed": "the side changed",
    "odometer-fell": "the odometer went down",
}  # fmt: skip


def percent(share: float | None) -> str:
    """``65%``; what is not quite none or all is not rounded to it. A hyphen where nothing was due."""
    if share is None:
        return "-"
    if 0 < share < 0.01:
        return "under 1%"
    if 0.99 < share < 1:
        return "over 99%"
    return f"{share * 100:.0f}%"


def between(low: float, high: float) -> str:
    """The ends of an interval of shares, in percent."""
    return f"{low * 100:.0f} to {high * 100:.0f}"


def met_of(share: Share) -> str:
    """A share in words: ``3 of 12``."""
    return f"{share.met:,} of {share.due:,}"


def counted(n: int, one: str, many: str = "") -> str:
    """A number with its noun, plural where it is not one: ``1 note``, ``2 notes``."""
    return f"{n:,} {one if n == 1 else many or one + 's'}"


def scope_sentence(scope: Scope) -> str:
    """What was audited, in a sentence."""
    days = f" from {scope.first} to {scope.last}" if scope.first else ""
    who = [counted(n, word) for n, word in ((scope.technicians, "technician"), (scope.shops, "shop")) if n]
    by = f", by {' in '.join(who)}" if scope.technicians else f", of {who[0]}" if who else ""
    narrowed = f"; only {', '.join(scope.narrowed)}" if scope.narrowed else ""
    lines = counted(scope.lines, "line")
    return f"{scope.place}: {counted(scope.orders, 'order')} with {lines}{days}{by}{narrowed}."


def nothing(report: Report) -> str:
    """What is said where nothing stands out."""
    if not report.scope.orders:
        return "There was no order to audit."
    return _NOTHING if len(report.technicians) > 1 else _ALONE


def said(sentences: Iterable[str]) -> tuple[str, ...]:
    """Each sentence once."""
    return tuple(dict.fromkeys(s for s in sentences if s))


def what_stands_out(report: Report) -> tuple[str, ...]:
    """The sentences before all numbers: who stands out, what changed for good, what a new way brought; empty for nothing."""
    return said(
        (
            *(s.sentence for s in report.stands_out),
            *(c.sentence for c in report.charts if c.changed_from is not None),
            *(b.sentence for b in report.before_after if b.tells),
        )
    )


def played(agreement: Agreement) -> tuple[int, int]:
    """Lines that the technician ranked lower than the rule book, and lines that he ranked higher."""
    down = sum(n for row, cells in enumerate(agreement.table) for column, n in enumerate(cells) if row > column)
    up = sum(n for row, cells in enumerate(agreement.table) for column, n in enumerate(cells) if row < column)
    return down, up


def kappa_words(agreement: Agreement) -> str:
    """``0.71 (0.60 to 0.82)``."""
    if agreement.kappa is None:
        return "not defined"
    if agreement.low is None or agreement.high is None:
        return f"{agreement.kappa:.2f}"
    return f"{agreement.kappa:.2f} ({agreement.low:.2f} to {agreement.high:.2f})"


__all__ = [
    "CAUTION", "TOO_FEW", "VISIT_KINDS", "between", "counted", "kappa_words", "met_of", "nothing", "percent", "played",
    "said", "scope_sentence", "what_stands_out",
]  # fmt: skip
