"""Offers in force and the cheapest of them for a quantity (rules M1, M5, M6, T7)."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.job.records import PriceRow
from baybook.numbers import cents, decimal_of, up

__all__ = ["Taken", "cheapest", "offers_on", "order_quantity"]


@dataclass(frozen=True, slots=True)
class Taken:
    """M5. The offer taken for a line, in packs."""

    offer: PriceRow
    packs: int
    cost: Decimal


def offers_on(prices: Iterable[PriceRow], on: dt.date, currency: str) -> tuple[PriceRow, ...]:
    """M6. Offers in force on a day in a currency, sorted by supplier, then SKU.

    Parameters
    ----------
    prices : iterable of PriceRow
        The price list.
    on : date
        The quote date.
    currency : str
        ISO 4217 code; nothing is converted.

    Returns
    -------
    tuple of PriceRow
        In the order that decides ties.
    """
    live = [row for row in prices if row.currency == currency and row.in_force(on)]
    return tuple(sorted(live, key=lambda row: (row.supplier.casefold(), row.sku.casefold())))


def order_quantity(net: float, waste: Decimal) -> float:
    """T7. Net quantity and waste, before whole packs; not rounded, the packs are."""
    return net * (1 + float(waste))


def cheapest(order: float, offers: Sequence[PriceRow]) -> Taken | None:
    """M1, M5. The offer of least cost for the packs needed; the first of equals.

    Parameters
    ----------
    order : float
        Order quantity, in the item's unit.
    offers : sequence of PriceRow
        Offers of the item, in the order that decides ties.

    Returns
    -------
    Taken or None
        None if there is no offer.
    """
    best: Taken | None = None
    for offer in offers:
        packs = up(order / offer.pack_qty)
        cost = cents(decimal_of(packs) * offer.pack_price)
        if best is None or cost < best.cost:
            best = Taken(offer, packs, cost)
    return best
