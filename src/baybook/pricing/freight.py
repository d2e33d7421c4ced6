"""Freight: what a supplier asks for one order, as a line of the order and of the estimate."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from baybook.job.records import JobInputs, Supplier
from baybook.numbers import cents
from baybook.pricing.cutgoods import CutLine
from baybook.pricing.price import Line

__all__ = ["FreightLine", "freight_due", "freight_lines"]


@dataclass(frozen=True, slots=True)
class FreightLine:
    """Freight of one supplier's order for the job, by terms that stand in suppliers.csv."""

    terms: Supplier
    goods: Decimal
    cost: Decimal


def freight_due(goods: Decimal, terms: Supplier | None) -> Decimal:
    """Return the freight of one order.

    Parameters
    ----------
    goods : Decimal
        Its goods. [money]
    terms : Supplier or None
        The supplier's terms; None where none are stated.

    Returns
    -------
    Decimal
        Freight; 0 from the limit of free freight on. [money]
    """
    if terms is None or (terms.free_freight_from is not None and goods >= terms.free_freight_from):
        return Decimal(0)
    return cents(terms.freight)


def freight_lines(inputs: JobInputs, lines: Sequence[Line], cuts: Sequence[CutLine]) -> tuple[FreightLine, ...]:
    """M3. Freight of every supplier whose terms are stated in the job's currency, in the order of suppliers.csv.

    Parameters
    ----------
    inputs : JobInputs
        For the terms.
    lines, cuts : sequence
        The priced lines; what a supplier sells in them is the goods of his order.

    Returns
    -------
    tuple of FreightLine
        One a supplier with terms; its cost is 0 where nothing is bought from him or freight is free.
    """
    goods: dict[str, Decimal] = {}
    bought = [(line.taken.offer.supplier, line.cost) for line in lines if line.taken and line.packs]
    bought += [(one.offer.supplier, one.cost) for cut in cuts for one in cut.bought if one.pieces]
    for supplier, cost in bought:
        goods[supplier.casefold()] = goods.get(supplier.casefold(), Decimal(0)) + cost
    found = []
    for terms in inputs.suppliers:
        if terms.currency == inputs.job.currency:
            sold = goods.get(terms.supplier.casefold(), Decimal(0))
            found.append(FreightLine(terms, sold, freight_due(sold, terms) if sold else cents(Decimal(0))))
    return tuple(found)
