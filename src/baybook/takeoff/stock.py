"""Stock on offer for cut goods: which offers count, how wide and how long they are (rules P4, P6, T4)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from baybook.job.records import PriceRow
from baybook.numbers import r6, sixteenths_down

__all__ = ["StockOnOffer", "stock_of"]


@dataclass(frozen=True, slots=True)
class StockOnOffer:
    """The eligible offers of one cut item.

    Parameters
    ----------
    offers : tuple of PriceRow
        Wide enough and in force, in the order of the list.
    width_in : float
        The narrowest of them; 0 for gutter and leader. [in]
    longest : int
        The longest of them, less the end trim. [1/16 in]
    """

    offers: tuple[PriceRow, ...]
    width_in: float
    longest: int


def stock_of(
    item: str, liner: str, widest_in: float, offers: Sequence[PriceRow], end_trim: int = 0
) -> StockOnOffer | None:
    """P4, P6. Eligible offers of a cut item.

    Parameters
    ----------
    item : str
        ``liner``, ``gutter`` or ``leader``.
    liner : str
        Record the liner must belong to (an offer without a record fits any); empty for other items.
    widest_in : float
        Widest need; narrower liner is not eligible. [in]
    offers : sequence of PriceRow
        Offers in force in the job's currency.
    end_trim : int
        Cut off every stock piece first; no piece can be longer than what is left. [1/16 in]

    Returns
    -------
    StockOnOffer or None
        None if no offer is eligible.
    """
    mine = [row for row in offers if row.item == item and row.liner.casefold() in {"", liner}]
    fits = tuple(row for row in mine if item != "liner" or r6(row.width_in or 0.0) >= r6(widest_in))
    if not fits:
        return None
    widths = [row.width_in or 0.0 for row in fits]
    longest = max(sixteenths_down(row.length_in or 0.0) for row in fits) - end_trim
    return StockOnOffer(fits, min(widths) if item == "liner" else 0.0, longest)
