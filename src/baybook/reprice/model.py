"""What a new price list does: to single offers, and to jobs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from baybook.problems import Problem

__all__ = ["SETTLED", "JobChange", "Left", "OfferChange", "as_json", "of_json", "offer_as_json", "offer_of_json"]

SETTLED = ("won", "lost", "done")


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferChange:
    """One SKU of a supplier in an old list and in the new one.

    Parameters
    ----------
    supplier, sku, item, description : str
        What it is.
    kind : str
        new, ended, changed, same or held (back).
    why : str
        Why it is held back.
    old_price, new_price : Decimal or None
        Price of a pack; None where a list has it not. [money]
    old_currency, new_currency : str
        ISO 4217 codes.
    change : float or None
        Share by which the price of one unit moves. [1]
    """

    supplier: str
    sku: str
    item: str
    description: str
    kind: str
    why: str
    old_price: Decimal | None
    new_price: Decimal | None
    old_currency: str
    new_currency: str
    change: float | None

    @property
    def name(self) -> str:
        """What `--accept` calls it."""
        return f"{self.supplier}/{self.sku}"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobChange:
    """A job priced by the old and by the new list.

    Parameters
    ----------
    source : str
        The book or workbook, within the folder.
    job, customer, status, currency : str
        Whose it is.
    old_price, new_price, old_cost, new_cost : Decimal or None
        None where the old list gives no price. [money]
    margin_stated : float or None
        Profit of the old price, as a share of it without tax on the whole. [1]
    margin_left : float or None
        What of it remains if the job is sold at the old price and bought at the new. [1]
    below_floor : bool
        That is less than the floor.
    days_left : int or None
        Days for which the offer of the old price is still open; below 0 it has run out. [days]
    effects : mapping of str to Decimal
        What each item, and what follows from all of them, adds to the price. [money]
    offers : tuple of str
        Lines that are bought elsewhere or in other packs.
    ended : tuple of str
        Items whose offer ended or ran out.
    cuts : tuple of str
        Stock of cut goods that the plan takes otherwise.
    held : tuple of str
        Offers it uses that are priced as before until somebody accepts them.
    unpriced : str
        Why there is no old price.
    file : str
        The workbook that was written, within the folder it goes to; empty if none.
    """

    source: str
    job: str
    customer: str
    status: str
    currency: str
    old_price: Decimal | None
    new_price: Decimal
    old_cost: Decimal | None
    new_cost: Decimal
    margin_stated: float | None
    margin_left: float | None
    below_floor: bool
    days_left: int | None
    effects: Mapping[str, Decimal]
    offers: tuple[str, ...] = ()
    ended: tuple[str, ...] = ()
    cuts: tuple[str, ...] = ()
    held: tuple[str, ...] = ()
    unpriced: str = ""
    file: str = ""

    @property
    def moved(self) -> Decimal:
        """What is added to the price; 0 where there was none."""
        return self.new_price - self.old_price if self.old_price is not None else Decimal(0)


@dataclass(frozen=True, slots=True)
class Left:
    """A job, or a file, that was left as it is.

    Parameters
    ----------
    source : str
        The book or workbook, within the folder.
    job : str
        The job; empty for all of the file.
    settled : bool
        Because it is won, lost or done, and so as it should be.
    problems : tuple of Problem
        Why, and the cure.
    """

    source: str
    job: str
    settled: bool
    problems: tuple[Problem, ...]


_MONEY = ("old_price", "new_price", "old_cost", "new_cost")
_WORDS = ("offers", "ended", "cuts", "held")
_PRICES = ("old_price", "new_price")


def as_json(change: JobChange) -> dict[str, Any]:
    """Return a change as JSON can hold it; money as text."""
    data = _with_money(change, _MONEY)
    data |= {name: list(data[name]) for name in _WORDS}
    return data | {"effects": {item: str(money) for item, money in change.effects.items()}}


def of_json(data: Mapping[str, Any]) -> JobChange:
    """Return the change that `as_json` gave.

    Raises
    ------
    KeyError, TypeError, ValueError, ArithmeticError
        If it is something else.
    """
    read = _without_text(JobChange, data, _MONEY)
    read |= {name: tuple(map(str, read[name])) for name in _WORDS}
    effects = {str(item): Decimal(money) for item, money in read["effects"].items()}
    return JobChange(**(read | {"effects": effects}))


def offer_as_json(change: OfferChange) -> dict[str, Any]:
    """Return what became of an offer as JSON can hold it."""
    return _with_money(change, _PRICES)


def offer_of_json(data: Mapping[str, Any]) -> OfferChange:
    """Return what `offer_as_json` gave; errors as of `of_json`."""
    return OfferChange(**_without_text(OfferChange, data, _PRICES))


def _with_money(change: JobChange | OfferChange, money: Iterable[str]) -> dict[str, Any]:
    data: dict[str, Any] = {one.name: getattr(change, one.name) for one in fields(change)}
    return data | {name: None if data[name] is None else str(data[name]) for name in money}


def _without_text(kind: type[JobChange | OfferChange], data: Mapping[str, Any], money: Iterable[str]) -> dict[str, Any]:
    read = {one.name: data[one.name] for one in fields(kind)}
    return read | {name: None if read[name] is None else Decimal(read[name]) for name in money}
