"""From what a spreadsheet hands over to what the engine takes.

A cell arrives as a number, a text, a date, a truth value, or blank (None or an empty text); a range as rows of cells;
an error cell, where the program passes it on, as its text. A number is read as the same number written with the unit
that the argument's help states, so that a cell and a book's CSV are read by one rule.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from baybook.addin.declare import Argument, Span, unit_of
from baybook.job.fields import Field, Kind, Reading, parse

__all__ = ["Refusal", "is_blank", "is_heading", "read_argument", "read_cell", "rows_in"]

ERRORS = frozenset(
    {"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!", "#GETTING_DATA"}
)
_DAY_ZERO = dt.date(1899, 12, 30)
_READING = Reading()


class Refusal(ValueError):  # noqa: N818 - the call is refused, in a sentence
    """A call that cannot be answered; its text is one sentence for the cell.

    Parameters
    ----------
    message : str
        What was given, the limit, what would be right.
    missing : str
        What must be installed first, if that is the reason.
    """

    def __init__(self, message: str, missing: str = "") -> None:
        super().__init__(message)
        self.missing = missing


def is_blank(value: Any) -> bool:
    """Return whether a cell is blank or an argument left out."""
    return value is None or (isinstance(value, str) and not value.strip())


def is_heading(row: Sequence[Any]) -> bool:
    """Return whether a row holds words only, without a figure, as no row of quantities does."""
    return all(is_blank(cell) or (isinstance(cell, str) and not any(c.isdigit() for c in cell)) for cell in row)


def rows_in(value: Any) -> list[list[Any]]:
    """Return a range, or a single cell, as rows of cells."""
    if not isinstance(value, list | tuple):
        return [[value]]
    return [list(row) if isinstance(row, list | tuple) else [row] for row in value]


def read_argument(argument: Argument, value: Any) -> Any:
    """Read one argument of a call.

    Parameters
    ----------
    argument : Argument
        Its declaration.
    value : Any
        What the spreadsheet handed over.

    Returns
    -------
    Any
        One value; for a range, rows of values (`Span.CELLS`) or rows of raw cells (`Span.TABLE`); the default if it
        was left out.

    Raises
    ------
    Refusal
        If it cannot be read; the sentence names the argument.
    """
    one = argument.field
    if argument.span is Span.ONE:
        return read_cell(one, _only(one, value), one.name)
    rows = rows_in(value)
    if all(is_blank(cell) for row in rows for cell in row):
        if argument.optional:
            return one.default
        raise Refusal(f"{one.name} is empty and is needed: {one.help}")
    if argument.span is Span.TABLE:
        return rows
    many = len(rows) * len(rows[0]) > 1
    return [
        [
            "" if many and is_blank(cell) else read_cell(one, cell, _place(one.name, down, across, many))
            for across, cell in enumerate(row, 1)
        ]
        for down, row in enumerate(rows, 1)
    ]


def _place(name: str, down: int, across: int, many: bool) -> str:
    return f"{name}, row {down}{f', column {across}' if across > 1 else ''}" if many else name


def _only(one: Field, value: Any) -> Any:
    """Return the one cell of an argument that takes one."""
    if not isinstance(value, list | tuple):
        return value
    rows = rows_in(value)
    if len(rows) == 1 and len(rows[0]) == 1:
        return rows[0][0]
    size = f"{len(rows)} x {len(rows[0]) if rows else 0}"
    raise Refusal(f"{one.name} is a range of {size} cells; it takes one cell")


def read_cell(one: Field, value: Any, where: str) -> Any:
    """Read one cell by its declaration.

    Parameters
    ----------
    one : Field
        What the cell holds.
    value : Any
        What the spreadsheet handed over.
    where : str
        Name and place of the cell, for the sentence.

    Returns
    -------
    Any
        The value in the unit of the field's attribute, or the default.

    Raises
    ------
    Refusal
        If it cannot be read or is out of its limits.
    """
    if is_blank(value):
        if one.required:
            raise Refusal(f"{where} is empty and is needed: {one.help}{f' [{unit_of(one)}]' if unit_of(one) else ''}")
        return one.default
    try:
        return parse(one, _as_text(one, value), _READING)
    except ValueError as found:
        raise Refusal(f"{where}: {found}") from None


def _as_text(one: Field, value: Any) -> str:
    """Return a cell as it would stand in a book."""
    if isinstance(value, str):
        if value in ERRORS:
            raise ValueError(f"the cell holds the error {value}: mend it first")
        return value.strip()
    if isinstance(value, bool):
        raise ValueError(f"the cell holds {str(value).upper()}; {one.kind.value} is needed")  # noqa: TRY004 - one kind of refusal
    if isinstance(value, dt.date):
        if one.kind is not Kind.DATE:
            raise ValueError(f"the cell holds a date; {one.kind.value} is needed")
        return f"{value:%Y-%m-%d}"
    return _number_text(one, value)


def _number_text(one: Field, value: Any) -> str:
    if not isinstance(value, int | float | Decimal) or not math.isfinite(value):
        raise ValueError(f"the cell holds no number that can be used; {one.kind.value} is needed")
    size = float(value)
    if not abs(size) < 1e12:
        raise ValueError(f"{size:g} is larger than anything on a deck: check the number and its unit")
    if one.kind is Kind.DATE:
        if not 1 <= size < 2_958_466:
            raise ValueError(f"{size:g} is no date: write year-month-day, 2026-11-25")
        return (_DAY_ZERO + dt.timedelta(days=int(size))).isoformat()
    number = Decimal(repr(size)) if isinstance(value, float) else Decimal(value)
    if one.kind is Kind.PERCENT:
        return f"{_plain(number * 100)}%"
    unit = unit_of(one)
    return f"{_plain(number)} {unit}" if unit else _plain(number)


def _plain(number: Decimal) -> str:
    text = format(round(number, 15), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text
