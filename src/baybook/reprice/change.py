"""A job before and after: what moved, because of what, and whether it still earns its margin."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from decimal import Decimal

from baybook.estimate import Estimate, build_estimate, estimate_again
from baybook.job.records import JobInputs, PriceRow
from baybook.pricing.price import Totals
from baybook.problems import BookError
from baybook.reprice.lists import NewList
from baybook.reprice.model import JobChange, OfferChange
from baybook.units import show_length

__all__ = ["FOLLOWS", "change_of", "priced_again", "repriced_inputs"]

FOLLOWS = "overhead, profit and tax on it"


def repriced_inputs(inputs: JobInputs, prices: tuple[PriceRow, ...], on: dt.date) -> JobInputs:
    """Return a job with other prices, quoted anew on a day if it was quoted at all."""
    job = replace(inputs.job, quoted_on=on) if inputs.job.quoted_on else inputs.job
    return replace(inputs, job=job, on=on, prices=prices)


def priced_again(inputs: JobInputs, new: JobInputs) -> tuple[Estimate | None, Estimate, str]:
    """Estimate a job by its old prices and by the new ones.

    Parameters
    ----------
    inputs : JobInputs
        The job as it stands; its day is the one whose old prices count.
    new : JobInputs
        The same with the new prices.

    Returns
    -------
    tuple of Estimate or None, Estimate and str
        Before and after; and why there is no before.

    Raises
    ------
    BookError
        If the job cannot be priced by the new list.
    """
    try:
        before = build_estimate(inputs)
    except BookError as refused:
        return None, build_estimate(new), refused.problems[0].message
    return before, estimate_again(before, new), ""


def change_of(
    source: str, before: Estimate | None, after: Estimate, changes: Iterable[OfferChange], of: NewList,
    floor: float | None, unpriced: str = "",
) -> JobChange:  # fmt: skip
    """Return what a new list does to a job.

    Parameters
    ----------
    source : str
        Where the job stands.
    before, after : Estimate
        By the old prices (None where they give none) and by the new.
    changes : iterable of OfferChange
        What the comparison of the lists found.
    of : NewList
        The new list.
    floor : float or None
        The least margin; None: what the job's own profit makes of its price. [1]
    unpriced : str
        Why there is no estimate by the old prices.

    Returns
    -------
    JobChange
        Everything the report says of the job.
    """
    job, new = after.inputs.job, after.totals
    held = {(one.supplier.casefold(), one.sku.casefold()) for one in changes if one.kind == "held"}
    used = dict.fromkeys(f"{row.supplier}/{row.sku}" for row in _bought(after) if _key(row) in held)
    stated = left = quoted = None
    effects: dict[str, Decimal] = {}
    if before is not None:
        stated, left = _margins(before, after)
        effects = dict(_effects(before, after))
        quoted = before.inputs.job.quoted_on
    least = floor if floor is not None else stated
    return JobChange(
        source=source,
        job=job.job,
        customer=job.customer,
        status=job.status,
        currency=job.currency,
        old_price=before.totals.price if before else None,
        new_price=new.price,
        old_cost=before.totals.cost if before else None,
        new_cost=new.cost,
        margin_stated=stated,
        margin_left=left,
        below_floor=left is not None and least is not None and round(left, 6) < round(least, 6),
        days_left=None if quoted is None else (quoted - of.on).days + job.valid_days,
        effects=effects,
        offers=tuple(_bought_otherwise(before, after)) if before else (),
        ended=tuple(_ended(before, after, of)) if before else (),
        cuts=tuple(_cut_otherwise(before, after)) if before else (),
        held=tuple(used),
        unpriced=unpriced,
    )


def _key(row: PriceRow) -> tuple[str, str]:
    return row.supplier.casefold(), row.sku.casefold()


def _bought(made: Estimate) -> Iterator[PriceRow]:
    for cut in made.cuts:
        yield from (one.offer for one in cut.bought if one.pieces)
    yield from (line.taken.offer for line in made.lines if line.taken and line.packs)


# ------------------------------------------------------------------------------------------------------------ margin


def _margins(before: Estimate, after: Estimate) -> tuple[float | None, float | None]:
    """Return the margin of the old price at the old cost and at the new, as shares of the price without tax on it.

    A tax on the whole is the customer's and follows the price; one on materials is a cost and follows the goods.
    """
    old, new, on_total = before.totals, after.totals, after.inputs.job.tax_on == "total"
    net = old.price - old.tax if on_total else old.price
    if net <= 0:
        return None, None

    def margin(of: Totals) -> float:
        base = of.cost + of.overhead + of.contingency + (Decimal(0) if on_total else of.tax)
        return float((net - base) / net)

    return margin(old), margin(new)


# ----------------------------------------------------------------------------------------------------------- effects


def _costs(made: Estimate) -> dict[str, Decimal]:
    """Return the cost of each item, those of several liners together, and of each supplier's freight."""
    found: dict[str, Decimal] = {}
    for cut in made.cuts:
        found[cut.cut.item] = found.get(cut.cut.item, Decimal(0)) + cut.cost
    for line in made.lines:
        found[line.need.item] = found.get(line.need.item, Decimal(0)) + line.cost
    for freight in made.freight:
        name = f"freight of {freight.terms.supplier}"
        found[name] = found.get(name, Decimal(0)) + freight.cost
    return found


def _effects(before: Estimate, after: Estimate) -> Iterator[tuple[str, Decimal]]:
    """Yield what each item adds to the price; together they make the whole difference."""
    old, new = _costs(before), _costs(after)
    rest = after.totals.price - before.totals.price
    for item in dict.fromkeys([*old, *new]):
        more = new.get(item, Decimal(0)) - old.get(item, Decimal(0))
        rest -= more
        if more:
            yield item, more
    if rest:
        yield FOLLOWS, rest


# ------------------------------------------------------------------------------------------------------------- words


def _named(row: PriceRow) -> str:
    return f"{row.supplier} {row.sku}" + (f" (pack of {row.pack_qty:g})" if row.pack_qty != 1 else "")


def _bought_otherwise(before: Estimate, after: Estimate) -> Iterator[str]:
    """Yield lines whose offer changed, packs and cut goods alike."""
    old = {(line.need.item, line.need.liner): line.taken for line in before.lines if line.packs}
    for line in after.lines:
        was = old.get((line.need.item, line.need.liner))
        if was and line.taken and line.packs and _offer(was.offer) != _offer(line.taken.offer):
            yield f"{line.need.item}: {_named(was.offer)} -> {_named(line.taken.offer)}"
    lengths = {(cut.key, one.length): one.offer for cut in before.cuts for one in cut.bought if one.pieces}
    for cut in after.cuts:
        for one in cut.bought:
            offer = lengths.get((cut.key, one.length))
            if offer and one.pieces and _offer(offer) != _offer(one.offer):
                length = show_length(one.length / 16, after.inputs.rates.units)
                yield f"{cut.key} of {length}: {_named(offer)} -> {_named(one.offer)}"


def _offer(row: PriceRow) -> tuple[str, str, float]:
    return (*_key(row), row.pack_qty)


def _ended(before: Estimate, after: Estimate, of: NewList) -> Iterator[str]:
    """Yield items whose offer is no longer in the list, or not in force on the day."""
    now: dict[tuple[str, str], list[PriceRow]] = {}
    for row in after.inputs.prices:
        if row.currency == after.inputs.job.currency:
            now.setdefault(_key(row), []).append(row)
    for row in {id(one): one for one in _bought(before)}.values():
        rows = now.get(_key(row), [])
        if not rows:
            yield f"{row.item}: {row.supplier} {row.sku} is no longer offered"
        elif not any(one.in_force(of.on) for one in rows):
            begins = [one.valid_from for one in rows if one.valid_from and one.valid_from > of.on]
            until = max((one.valid_to or dt.date.max for one in rows), default=of.on)
            when = f"not in force before {min(begins)}" if begins else f"ran out on {until}"
            yield f"{row.item}: {row.supplier} {row.sku} {when}"


def _cut_otherwise(before: Estimate, after: Estimate) -> Iterator[str]:
    """Yield cut goods whose plan takes other stock: prices move it."""
    units = after.inputs.rates.units
    old = {cut.key: _stock({one.length: one.pieces for one in cut.bought}, units) for cut in before.cuts}
    for cut in after.cuts:
        now = _stock({one.length: one.pieces for one in cut.bought}, units)
        if old.get(cut.key, now) != now:
            yield f"{cut.key}: {old[cut.key] or 'none'} -> {now or 'none'}"


def _stock(pieces: Mapping[int, int], units: str) -> str:
    return ", ".join(
        f"{count} x {show_length(length / 16, units)}" for length, count in sorted(pieces.items()) if count
    )
