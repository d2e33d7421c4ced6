"""Many lines against many offers at once: a table in, a table out (rules M1, M5, M6)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from baybook.job.records import PriceRow
from baybook.numbers import cents, decimal_of
from baybook.pricing.offers import Taken, cheapest
from baybook.problems import BookError, Problem

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["PRICED_COLUMNS", "price_lines", "price_table"]

PRICED_COLUMNS = ("item", "quantity", "supplier", "sku", "pack_qty", "packs", "pack_price", "cost")


def _by_item(offers: Iterable[PriceRow]) -> dict[str, list[PriceRow]]:
    """Offers of each item, in the order that decides ties (M5)."""
    found: dict[str, list[PriceRow]] = {}
    for row in sorted(offers, key=lambda row: (row.supplier.casefold(), row.sku.casefold())):
        found.setdefault(row.item.strip().casefold(), []).append(row)
    return found


def price_lines(lines: Sequence[tuple[str, float]], offers: Iterable[PriceRow]) -> list[Taken | None]:
    """M1, M5, M6. Take the cheapest offer for each line.

    Parameters
    ----------
    lines : sequence of (str, float)
        Item, and order quantity in the unit of its offers. [-], >= 0
    offers : iterable of PriceRow
        Offers in force, all in one currency; any order.

    Returns
    -------
    list of Taken or None
        One a line; None where nothing is needed and nothing is on offer.

    Raises
    ------
    BookError
        If a needed item has no offer or a quantity is below zero: one problem a line, its number counted from 1.
    """
    on_offer = _by_item(offers)
    taken: list[Taken | None] = []
    problems = []
    for number, (item, quantity) in enumerate(lines, 1):
        if not 0 <= quantity < math.inf:
            problems.append(Problem("", number, item, f"the quantity is {quantity:g}; it must be 0 or more"))
            continue
        best = cheapest(quantity, on_offer.get(item.strip().casefold(), ()))
        if best is None and quantity > 0:
            known = ", ".join(sorted(on_offer)) or "none"
            problems.append(Problem("", number, item, f"no offer of it is in force (M6); there are offers of: {known}"))
        taken.append(best)
    if problems:
        raise BookError(problems)
    return taken


def _price_row(row: dict[Any, Any]) -> PriceRow:
    price = row["pack_price"]
    return PriceRow(
        supplier=str(row["supplier"]),
        sku=str(row["sku"]),
        item=str(row["item"]),
        pack_qty=float(row.get("pack_qty", 1.0)),
        pack_price=decimal_of(price),
        currency="",
    )


def price_table(lines: pd.DataFrame, offers: pd.DataFrame) -> pd.DataFrame:
    """M1, M5, M6. Price a table of lines from a table of offers.

    Shape: one row a line, in the order of the lines, with the lines' index; columns item (str), quantity (float),
    supplier (str), sku (str), pack_qty (float), packs (int), pack_price (Decimal), cost (Decimal, cents).

    Parameters
    ----------
    lines : DataFrame
        One row a line; columns item (str) and quantity (number >= 0, waste included, in the unit of the offers).
    offers : DataFrame
        One row an offer in force, all in one currency; columns supplier, sku, item (str), pack_price (Decimal, or a
        number taken to six places) and, if not 1, pack_qty (number > 0).

    Returns
    -------
    DataFrame
        Where nothing is needed and nothing is on offer, supplier and SKU are empty, pack_qty, packs, prices and cost 0.

    Raises
    ------
    BookError
        If a needed item has no offer or a quantity is below zero: one problem a line.
    KeyError
        If a column is missing.

    Examples
    --------
    >>> import pandas as pd
    >>> lines = pd.DataFrame({"item": ["seam_tape"], "quantity": [163.8]})
    >>> offers = pd.DataFrame({"supplier": ["A", "B"], "sku": ["a", "b"], "item": ["seam_tape"] * 2,
    ...                        "pack_qty": [50, 75], "pack_price": [31.0, 45.0]})
    >>> price_table(lines, offers)[["sku", "packs", "cost"]].values.tolist()
    [['a', 4, Decimal('124.00')]]
    """
    import pandas as pd

    rows = [_price_row(row) for row in offers.to_dict("records")]
    wanted = [(str(item), float(quantity)) for item, quantity in zip(lines["item"], lines["quantity"], strict=True)]
    nothing = ("", "", 0.0, 0, decimal_of(0), cents(decimal_of(0)))
    priced = [
        (item, quantity)
        + (
            nothing
            if one is None
            else (one.offer.supplier, one.offer.sku, one.offer.pack_qty, one.packs, one.offer.pack_price, one.cost)
        )
        for (item, quantity), one in zip(wanted, price_lines(wanted, rows), strict=True)
    ]
    return pd.DataFrame(priced, columns=list(PRICED_COLUMNS), index=lines.index)
