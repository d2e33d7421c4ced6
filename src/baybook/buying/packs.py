"""Units as orders and invoices name them, and what a quantity in one of them is in packs of an order line."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from baybook.buying.orders import OrderLine
from baybook.job.records import PriceRow
from baybook.numbers import decimal_of

__all__ = ["PACK_CODE", "UNIT_CODES", "factors_to_packs", "kind_of", "packs_of_other"]

# UNECE Recommendation 20, Codes for Units of Measure Used in International Trade; those that begin with X are packages
# of Recommendation 21. The withdrawn codes of earlier revisions (RO, RL, BX, CA, CQ, TU) are read and never written.
UNIT_CODES: Mapping[str, str] = {"each": "EA", "piece": "H87", "ft": "FOT", "m": "MTR", "cartridge": "XTU", "in": "INH"}
PACK_CODE = "XPK"

_WORDS: Mapping[str, str] = {
    word: kind
    for kind, words in {
        "count": "each ea c62 h87 one piece pieces pc pcs pce unit units nr no",
        "ft": "ft fot foot feet lf",
        "kg": "kg kgm kilogram kilograms",
        "m": "m mtr metre metres meter meters",
        "in": "in inh inch inches",
        "cartridge": "cartridge cartridges xtu tu tube tubes cq xcq",
        "pack": "pack packs pk xpk package packages roll rolls ro xro rl box boxes bx xbx case cases cs xcs carton xct",
    }.items()
    for word in words.split()
}
_IN_FEET: Mapping[str, Decimal] = {"ft": Decimal(1), "m": 1 / Decimal("0.3048"), "in": 1 / Decimal(12)}


def kind_of(unit: str) -> str:
    """Return what kind of unit a word or code is: count, ft, m, in, cartridge, pack; any other is its own kind."""
    word = unit.strip().casefold().rstrip(".")
    return _WORDS.get(word, word)


def factors_to_packs(unit: str, line: OrderLine) -> tuple[Decimal, ...]:
    """Return how many packs of an order line one unit can be.

    Parameters
    ----------
    unit : str
        As billed; empty: packs.
    line : OrderLine
        What was ordered.

    Returns
    -------
    tuple of Decimal
        One factor, or two where the word leaves open whether the pack or what is in it is counted (12 each of a box
        of 25); empty where the unit cannot be converted.
    """
    billed, content = kind_of(unit), kind_of(line.unit)
    inside = 1 / line.pack_qty
    if billed in {"", "pack"}:
        return (Decimal(1),)
    if billed == "count":
        return (Decimal(1), inside) if content == "count" and line.pack_qty != 1 else (Decimal(1),)
    if billed == content:
        return (inside,)
    if billed in _IN_FEET and content in _IN_FEET:
        return (_IN_FEET[billed] / _IN_FEET[content] * inside,)
    return ()


def packs_of_other(offer: PriceRow, line: OrderLine, ordered: PriceRow | None) -> Decimal | None:
    """Return how many packs of an order line one pack of another offer of the same item is.

    Parameters
    ----------
    offer : PriceRow
        What was delivered or billed instead.
    line : OrderLine
        What was ordered.
    ordered : PriceRow or None
        The offer that was ordered, as the price list has it.

    Returns
    -------
    Decimal or None
        None where one cannot stand for the other: another stock length, width or liner.
    """
    if ordered is not None:
        mine = (ordered.item, ordered.liner.casefold(), ordered.length_in, ordered.width_in)
        if mine != (offer.item, offer.liner.casefold(), offer.length_in, offer.width_in):
            return None
    elif offer.item != line.item.casefold() or offer.length_in is not None:
        return None
    return decimal_of(offer.pack_qty) / line.pack_qty
