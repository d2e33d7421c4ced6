"""Other prices for a workbook: what its input cells must hold for a job to be priced by another list."""

from __future__ import annotations

import datetime as dt
from typing import Any

from baybook.estimate import Estimate
from baybook.job.fields import fields_of
from baybook.job.records import PriceRow
from baybook.problems import BookError, Problem
from baybook.workbook.read import Address, ReadBook
from baybook.workbook.redeclare import CURE
from baybook.workbook.semantics import cell_value
from baybook.workbook.shape import offers_here
from baybook.workbook.sheets.inputs import Units

__all__ = ["offers_given"]


def offers_given(book: ReadBook, estimate: Estimate, on: dt.date) -> dict[Address, Any]:
    """Return the cells of prices and of their day.

    Parameters
    ----------
    book : ReadBook
        The workbook.
    estimate : Estimate
        Its job by the other prices.
    on : date
        The day whose prices count; a job that was quoted is quoted anew on it.

    Returns
    -------
    dict
        (sheet, row, column) to value; None for a blank.

    Raises
    ------
    BookError
        If the workbook has no room for so many offers.
    """
    rows = offers_here(estimate)
    units = Units(estimate.inputs.rates.units == "metric")
    found: dict[Address, Any] = {}
    for one in fields_of(PriceRow):
        where = book.names.get(f"v_{one.name}")
        if where is None:
            continue
        if len(rows) > where.rows:
            message = f"there are {len(rows)} offers in force, the workbook has room for {where.rows}: {CURE}"
            raise BookError(Problem(book.source, 0, f"{where.sheet}", message))
        values = [cell_value(units.shown(one, getattr(row, one.attribute))) for row in rows]
        values += [None] * (where.rows - len(rows))
        found |= {(where.sheet, where.row + row, where.col): value for row, value in enumerate(values)}
    days = ["job_prices_on", *(["job_quoted_on"] if estimate.inputs.job.quoted_on else [])]
    for key in days:
        if key in book.names:
            where = book.names[key]
            found[where.sheet, where.row, where.col] = cell_value(on)
    return found
