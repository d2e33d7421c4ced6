"""Price lists compared: what is new, ended or changed, and what looks like a slip and is held back."""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from baybook.job.records import PriceRow
from baybook.reprice.model import OfferChange

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["FACTOR", "NewList", "compare_lists", "list_day"]

FACTOR = 8.0  # a price that moves by so much has probably lost or gained a digit; practice, no source
_SIZE_AS_IT_WAS = 1e-6
_CENT = Decimal("0.01")
_COLUMNS = ("list", "supplier_key", "sku_key", "currency", "row", "at")


@dataclass(frozen=True, slots=True)
class NewList:
    """A new price list as it applies to jobs.

    It speaks for the suppliers named in it: all their old offers give way to it. Offers of other suppliers stay.

    Parameters
    ----------
    rows : tuple of PriceRow
        The list.
    on : date
        The day of the re-pricing.
    accepted : frozenset of str
        SKUs, or ``SUPPLIER/SKU``, without case, that are taken over although they look like a slip.
    """

    rows: tuple[PriceRow, ...]
    on: dt.date
    accepted: frozenset[str] = frozenset()

    @property
    def suppliers(self) -> frozenset[str]:
        """The suppliers it speaks for, without case."""
        return frozenset(row.supplier.casefold() for row in self.rows)

    @property
    def unknown(self) -> frozenset[str]:
        """What is accepted and not in the list: a slip of the pen."""
        return self.accepted.difference(
            *({row.sku.casefold(), f"{row.supplier}/{row.sku}".casefold()} for row in self.rows)
        )

    def accepts(self, supplier: str, sku: str) -> bool:
        """Return whether an offer that looks like a slip is taken over."""
        return bool({sku.casefold(), f"{supplier}/{sku}".casefold()} & self.accepted)

    def over(self, old: Sequence[PriceRow], changes: Sequence[OfferChange]) -> tuple[PriceRow, ...]:
        """Return the prices that count for jobs with an old list.

        Parameters
        ----------
        old : sequence of PriceRow
            Their list.
        changes : sequence of OfferChange
            What the comparison with it found.

        Returns
        -------
        tuple of PriceRow
            The new offers; those of other suppliers; and, of what is held back, the old ones, in force until told.
        """
        held = {_key(one) for one in changes if one.kind == "held"}
        mine = self.suppliers
        kept = [row for row in old if row.supplier.casefold() not in mine]
        new = [row for row in self.rows if _key(row) not in held]
        return (*kept, *(self._still(row) for row in _last_of(old, held)), *new)

    def _still(self, row: PriceRow) -> PriceRow:
        """Keep an old offer in force on the day."""
        if row.in_force(self.on):
            return row
        return replace(row, valid_from=None, valid_to=None)


def _key(one: PriceRow | OfferChange) -> tuple[str, str]:
    return one.supplier.casefold(), one.sku.casefold()


def _last_of(rows: Sequence[PriceRow], keys: Collection[tuple[str, str]]) -> Iterator[PriceRow]:
    """Yield of each SKU the row that is in force longest."""
    last: dict[tuple[str, str, str], PriceRow] = {}
    for row in rows:
        if _key(row) in keys:
            at = (*_key(row), row.currency)
            last[at] = max(last.get(at, row), row, key=lambda one: one.valid_to or dt.date.max)
    yield from last.values()


def list_day(rows: Sequence[PriceRow], suppliers: Collection[str], on: dt.date) -> dt.date:
    """Return the last day, up to the one given, on which an old list was good: its prices are those before the new."""
    ends = [row.valid_to or dt.date.max for row in rows if row.supplier.casefold() in suppliers]
    return min([on, max(ends)]) if ends else on


def compare_lists(lists: Mapping[str, Sequence[PriceRow]], new: NewList) -> dict[str, tuple[OfferChange, ...]]:
    """Compare old lists with the new one, all of them in one join.

    Parameters
    ----------
    lists : mapping of str to sequence of PriceRow
        Old lists by any name.
    new : NewList
        The new one.

    Returns
    -------
    dict of str to tuple of OfferChange
        For each old list every SKU of the suppliers that the new one speaks for, by supplier and SKU.
    """
    import pandas as pd

    suppliers = new.suppliers
    old = pd.DataFrame(
        [
            _record(name, at, row)
            for name, rows in lists.items()
            for at, row in enumerate(rows)
            if row.supplier.casefold() in suppliers
        ],
        columns=list(_COLUMNS),
    )
    fresh = pd.DataFrame([_record("", at, row) for at, row in enumerate(new.rows)], columns=list(_COLUMNS))
    key = ["list", "supplier_key", "sku_key", "currency"]
    before = _chosen(old, key, new.on, later=False)
    after = _chosen(fresh, key, new.on, later=True).drop(columns="list")
    named = pd.DataFrame({"list": list(lists)})
    joined = before.merge(
        named.merge(after, how="cross"), on=key, how="outer", suffixes=("_old", "_new"), indicator=True
    )
    found: dict[str, list[OfferChange]] = {name: [] for name in lists}
    alone = joined[joined["_merge"] != "both"]
    turned = set()  # the same SKU in another currency
    left, right = alone[alone["_merge"] == "left_only"], alone[alone["_merge"] == "right_only"]
    for pair in left.merge(right, on=key[:3], suffixes=("", "_other")).to_dict("records"):
        mark = (pair["list"], pair["supplier_key"], pair["sku_key"])
        if mark not in turned:
            turned.add(mark)
            found[pair["list"]].append(_change(pair["row_old"], pair["row_new_other"], new))
    for row in joined.to_dict("records"):
        if (row["list"], row["supplier_key"], row["sku_key"]) not in turned:
            found[row["list"]].append(_change(_row(row["row_old"]), _row(row["row_new"]), new))
    return {name: tuple(sorted(changes, key=_key)) for name, changes in found.items()}


def _record(name: str, at: int, row: PriceRow) -> tuple[Any, ...]:
    return name, row.supplier.casefold(), row.sku.casefold(), row.currency, row, at


def _chosen(frame: pd.DataFrame, key: list[str], on: dt.date, *, later: bool) -> pd.DataFrame:
    """Return one row an offer: the one in force on the day; else the last of an old list, the next of a new one."""

    def rank(row: PriceRow) -> tuple[bool, int]:
        begins = (row.valid_from or dt.date.min).toordinal()
        waiting = row.valid_from is not None and row.valid_from > on
        return not row.in_force(on), begins if later and waiting else -begins

    ranks = [rank(row) for row in frame["row"]]
    ranked = frame.assign(late=[late for late, _ in ranks], order=[order for _, order in ranks])
    return ranked.sort_values(["late", "order", "at"]).drop_duplicates(key).drop(columns=["late", "order", "at"])


def _row(value: Any) -> PriceRow | None:
    return value if isinstance(value, PriceRow) else None


def _change(old: PriceRow | None, new: PriceRow | None, of: NewList) -> OfferChange:
    one = new or old
    assert one is not None  # noqa: S101  a joined row has at least one side
    change = None
    if old and new and old.pack_price and old.currency == new.currency:
        change = float(new.pack_price / old.pack_price) * old.pack_qty / new.pack_qty - 1
    kind, why = _kind(old, new, of)
    return OfferChange(
        supplier=one.supplier,
        sku=one.sku,
        item=one.item,
        description=one.description,
        kind=kind,
        why=why,
        old_price=_shown(old.pack_price) if old else None,
        new_price=_shown(new.pack_price) if new else None,
        old_currency=old.currency if old else "",
        new_currency=new.currency if new else "",
        change=change,
    )


def _shown(price: Decimal) -> Decimal:
    """Return a price with cents, however it was written."""
    return cents if (cents := price.quantize(_CENT)) == price else price


def _kind(old: PriceRow | None, new: PriceRow | None, of: NewList) -> tuple[str, str]:
    if old is None or new is None:
        return ("new" if old is None else "ended"), ""
    why = _suspicion(old, new)
    if why:
        return ("changed", "") if of.accepts(new.supplier, new.sku) else ("held", why)
    return ("same" if old.pack_price == new.pack_price else "changed"), ""


def _suspicion(old: PriceRow, new: PriceRow) -> str:
    """Return why a change looks like a slip; empty if it does not."""
    if old.item != new.item:
        return f"was {old.item}, is {new.item}"
    if old.currency != new.currency:
        return f"was priced in {old.currency}, is priced in {new.currency}"
    for name, unit in (("pack_qty", "in a pack"), ("length_in", "in long"), ("width_in", "in wide")):
        was, now = getattr(old, name) or 0.0, getattr(new, name) or 0.0
        if abs(was - now) > _SIZE_AS_IT_WAS:
            return f"was {was:g} {unit}, is {now:g}"
    low, high = sorted((old.pack_price, new.pack_price))
    if high > 0 and float(low) * FACTOR <= float(high):
        return f"was {_shown(old.pack_price)}, is {_shown(new.pack_price)}: a digit too many or too few?"
    return ""
