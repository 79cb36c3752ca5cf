"""The estimate in words, filled in or blank, for every format that is read by people."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from talkaround.estimating import Prices, price
from talkaround.models import Estimate, RepairOrder

_ROUNDED = {
    "half-up": "half a {coin} upward",
    "half-even": "half a {coin} to the even {coin}",
    "up": "upward",
    "down": "downward",
}


@dataclass(frozen=True, slots=True)
class PriceRow:
    """A part or a piece of work. Empty text where the paper needs a blank."""

    what: str
    detail: str
    many: str
    each: str
    amount: str


@dataclass(frozen=True, slots=True)
class EstimateView:
    """The estimate as it is read; ``given`` says whether the writer gave any prices at all."""

    given: bool
    shop: tuple[tuple[str, str], ...]
    visit: dict[str, str]
    parts: tuple[PriceRow, ...]
    labor: tuple[PriceRow, ...]
    sums: tuple[tuple[str, str], ...]
    total_label: str
    total: str
    partial: str
    rate: str
    rounding: str
    left_out: str
    tear_down: tuple[tuple[str, str], ...]


def estimate_view(order: RepairOrder) -> EstimateView:
    """The order's estimate in words, or the blank form of one."""
    from talkaround.output._view import clean, position_words, sentence, spelled

    british = order.vehicle is not None and order.vehicle.steering == "right-hand"
    labor = "labour" if british else "labor"
    e = order.estimate or price(order, Prices()).estimate
    terms = e.terms
    tax = clean(terms.tax_name) or ("VAT" if british else "Tax")

    def money(value: Decimal | None) -> str:
        return "" if value is None else in_money(value, clean(terms.currency))

    def of_lines(lines: list[int]) -> str:
        numbers = f"{'line' if len(lines) == 1 else 'lines'} {', '.join(map(str, lines))}"
        return numbers.replace(" ", "\N{NO-BREAK SPACE}") if lines else ""

    def what(name: str, where: str) -> str:
        return sentence(spelled(clean(name), british)) + (f", {where}" if where else "")

    parts = tuple(
        PriceRow(
            what(p.name, position_words(p.position, p.name, british)),
            "; ".join(
                w
                for w in (
                    ", ".join(w for w in (p.condition, p.make) if w) if p.price is not None or p.make else "",
                    of_lines(p.lines),
                    "" if p.taxed else f"no {tax}",
                )
                if w
            ),
            plain(p.quantity) if p.quantity is not None else "to fill",
            money(p.price) if p.quantity is not None else "-",
            money(p.amount),
        )
        for p in e.parts
    )
    work = tuple(
        PriceRow(
            what(w.name, position_words(w.position, w.name, british)),
            "; ".join(x for x in (of_lines(w.lines), f"plus {tax}" if w.taxed and terms.tax_on != "parts and labor" else "",
                                  f"no {tax}" if not w.taxed and terms.tax_on == "parts and labor" else "") if x),
            f"{plain(w.hours)} h" if w.hours is not None else ("fixed" if w.amount is not None else ""),
            money(w.rate),
            money(w.amount),
        )
        for w in e.labor
    )  # fmt: skip
    some = any(p.amount is not None for p in e.parts) or any(w.amount is not None for w in e.labor)
    taxed_on = {"parts": "parts", "parts and labor": f"parts and {labor}", None: ""}[terms.tax_on]
    percent = f"{plain(terms.tax_percent)}%" if terms.tax_percent is not None else ""
    basis = " on ".join(w for w in (percent, taxed_on if terms.tax_percent else "") if w)
    known_tax = some and terms.tax_percent is not None and (not terms.tax_percent or terms.tax_on is not None)
    # Nothing, where something is only waiting for its price, would read as free.
    known_parts = not e.parts or any(p.amount is not None for p in e.parts)
    known_labor = not e.labor or any(w.amount is not None for w in e.labor)
    sums = (
        (
            f"Parts, without {tax if tax.isupper() else tax.lower()}",
            money(e.parts_subtotal) if some and known_parts else "",
        ),
        (sentence(labor), money(e.labor_subtotal) if some and known_labor else ""),
        (f"{tax} ({basis})" if basis else tax, money(e.tax) if known_tax else ""),
    )
    open_rows = [
        *(row.what for row, p in zip(parts, e.parts, strict=True) if p.amount is None),
        *(f"{row.what} ({labor})" for row, w in zip(work, e.labor, strict=True) if w.amount is None),
        *([] if known_tax else [tax]),
    ]
    partial = f"Not priced yet, and not in this total: {'; '.join(open_rows)}." if some and open_rows else ""
    coin = "penny" if british else "cent"
    once = "each row’s" if terms.tax_rounded == "each-row" else "once, on the taxed sum"
    rounding = (
        f"Each row is rounded to the {coin}, {_ROUNDED[terms.rounding].format(coin=coin)}; "
        f"{tax if tax.isupper() else tax.lower()} is reckoned {'row by row' if once.startswith('each') else once}."
    )
    down = e.tear_down
    return EstimateView(
        given=order.estimate is not None,
        shop=_shop(e, british),
        visit={key: clean(value) for key, value in e.visit},
        parts=parts,
        labor=work,
        sums=sums,
        total_label="Total so far" if partial else "Total",
        total=money(e.total) if some else "",
        partial=partial,
        rate=", ".join(w for w in (f"{money(terms.hourly_rate)} an hour" if terms.hourly_rate is not None else "",
                                   clean(terms.rate_basis)) if w),
        rounding=rounding if some else "",
        left_out=spelled("; ".join(clean(w) for w in e.left_out), british),
        tear_down=(
            ("Taking apart", money(down.take_apart)),
            ("Putting together again if no repair follows", money(down.put_together)),
            ("Parts that it uses up, such as gaskets and seals", clean(down.parts_lost)),
            ("Time until it is together again", clean(down.time)),
        ),
    )  # fmt: skip


def _shop(e: Estimate, british: bool) -> tuple[tuple[str, str], ...]:
    from talkaround.output._view import clean

    facts = [("Shop", e.shop.name), ("Address", e.shop.address), ("Phone", e.shop.phone),
             ("Registration no.", e.shop.registration)]  # fmt: skip
    if british or e.shop.tax_number:
        facts.append(("VAT no." if british else "Tax no.", e.shop.tax_number))
    return tuple((label, clean(value)) for label, value in facts)


def in_money(value: Decimal, currency: str) -> str:
    """``$1,234.50``, ``EUR 74.50``, ``74.50``; always the two places, more where a price has them."""
    places = max(2, -int(value.normalize().as_tuple().exponent))
    digits = f"{value:,.{places}f}"
    if not currency:
        return digits
    return f"{currency}\N{NO-BREAK SPACE}{digits}" if currency[-1].isalpha() else f"{currency}{digits}"


def plain(value: Decimal) -> str:
    """A number without zeros that say nothing."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
