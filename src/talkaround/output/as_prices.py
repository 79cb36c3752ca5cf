"""A price file for an order, to be filled in: every part and job with room for its price, as TOML."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from talkaround.estimating import Prices, price
from talkaround.estimating.estimate import charged_parts, charged_work, quantity_of
from talkaround.models import PricedLabor, PricedPart, RepairOrder, Terms
from talkaround.output import _view


def render(order: RepairOrder) -> str:
    """The price file; what the order's estimate knows already is filled in."""
    estimate = order.estimate or price(order, Prices()).estimate
    british = order.vehicle is not None and order.vehicle.steering == "right-hand"
    labor = "labour" if british else "labor"
    terms, shop, visit, down = estimate.terms, estimate.shop, estimate.visit, estimate.tear_down
    rows = [
        f"# Prices for {_view.clean(' '.join(order.note.name.split()))}.",
        "# Fill in between the quotes, numbers with a point and without currency: 74.50.",
        "# What stays empty stays open on the paper. Then: talkaround write NOTE --prices THIS-FILE --format html",
        "# [shop] and [terms] may stand in a file of their own: --prices SHOP-FILE --prices THIS-FILE.",
        "",
        "# price is for one. origin: new (if left empty), used, rebuilt or reconditioned; original or aftermarket if known.",
        "[parts]",
    ]
    of_order = {key: quantity_of(row) for key, row in charged_parts(order)}
    rows += _once(_part(part, of_order[part.key], british) for part in estimate.parts if part.key in of_order)
    jobs = {row.key for row in charged_work(order)}
    rows += [
        "",
        '# hours at the hourly rate; for a fixed price, { price = "90.00" } in place of { hours = "" }.',
        f"[{labor}]",
    ]
    rows += _once(_work(work, terms, british) for work in estimate.labor if work.key in jobs)
    rows += ["", "# Anything else that is charged, each by its own name.", "[other_parts]"]
    rows += [f"{_text(p.key)} = {_part_values(p, Decimal(1))}" for p in estimate.parts if p.key not in of_order]
    rows += ["", f"[other_{labor}]"]
    others = [w for w in estimate.labor if w.key not in jobs]
    rows += [f"{_text(w.key)} = {_labor_values(w, terms)}" for w in others]
    rows += [
        f'{name} = {{ hours = "" }}' for name in ("diagnosis", "inspection") if name not in {w.key for w in others}
    ]
    rows += [
        "",
        "[shop]",
        *(f"{key} = {_text(value)}" for key, value in shop),
        "",
        "[visit]",
        *(f"{key} = {_text(value)}" for key, value in visit),
        "",
        "[terms]",
        f"currency = {_text(terms.currency)}",
        f"hourly_rate = {_number(terms.hourly_rate)}",
        f"rate_basis = {_text(terms.rate_basis)}   # clock hours, or flat rate and by which {labor} guide",
        f"tax_name = {_text(terms.tax_name)}",
        f"tax_percent = {_number(terms.tax_percent)}   # 0 where there is none",
        f'tax_on = {_text((terms.tax_on or "").replace("labor", labor))}   # "parts" or "parts and {labor}"',
        f"tax_rounded = {_text('' if terms.tax_rounded == 'once' else terms.tax_rounded)}   # once on the sum, or each-row",
        f"rounding = {_text('' if terms.rounding == 'half-up' else terms.rounding)}   # half-up, or half-even, up, down",
        "",
        "# Only where something must be taken apart to find the fault; not in the total.",
        "[tear_down]",
        f"take_apart = {_number(down.take_apart)}",
        f"put_together = {_number(down.put_together)}   # if no repair follows",
        f"parts_lost = {_text(down.parts_lost)}   # gaskets, seals",
        f"time = {_text(down.time)}   # until it is together again",
    ]
    return "\n".join(rows) + "\n"


def _once(rows: Iterable[tuple[str, str]]) -> list[str]:
    """Rows of one key stand once: a TOML key may not come twice."""
    return [f"{key} = {rest}" for key, rest in dict(rows).items()]


def _part(part: PricedPart, quantity: Decimal | None, british: bool) -> tuple[str, str]:
    where = _view.position_words(part.position, part.name, british)
    name = _view.clean(part.name) + (f", {where}" if where else "")
    return _text(part.key), _part_values(part, quantity) + _remark(
        f"{part.quantity or 'all of the'} × {name}".replace("the × ", "the "), part.lines
    )


def _part_values(part: PricedPart, quantity: Decimal | None) -> str:
    # New is left unsaid, so that it hides no other word of the shop's own list.
    origin = " ".join(w for w in (part.condition if part.condition != "new" else "", part.make) if w)
    values = [f"price = {_number(part.price)}", f"origin = {_text(origin)}"]
    if part.quantity != quantity:
        values.append(f"quantity = {_number(part.quantity)}")
    if not part.taxed:
        values.append("taxed = false")
    return f"{{ {', '.join(values)} }}"


def _work(work: PricedLabor, terms: Terms, british: bool) -> tuple[str, str]:
    where = _view.position_words(work.position, work.name, british)
    name = _view.clean(work.name) + (f", {where}" if where else "")
    return _text(work.key), _labor_values(work, terms) + _remark(name, work.lines)


def _labor_values(work: PricedLabor, terms: Terms) -> str:
    if work.hours is None and work.amount is not None:
        values = [f"price = {_number(work.amount)}"]
    else:
        values = [f"hours = {_number(work.hours)}"]
        if work.rate is not None and work.rate != terms.hourly_rate:
            values.append(f"rate = {_number(work.rate)}")
    if work.taxed != (terms.tax_on == "parts and labor"):
        values.append(f"taxed = {str(work.taxed).lower()}")
    return f"{{ {', '.join(values)} }}"


def _remark(name: str, lines: list[int]) -> str:
    numbers = f"{'line' if len(lines) == 1 else 'lines'} {', '.join(map(str, lines))}" if lines else ""
    said = "; ".join(w for w in (" ".join(name.split()), numbers) if w)
    return f"   # {said}" if said else ""


def _number(value: Decimal | None) -> str:
    return '""' if value is None else f'"{value:f}"'


def _text(value: str) -> str:
    """A TOML string."""
    escaped = _view.clean(" ".join(value.split())).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
