"""What a declared workbook holds, cell by cell, headings and all: what `write_xlsx` writes, without the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from baybook.workbook.declare import Block, Layout, Table
from baybook.workbook.package import clean_text
from baybook.workbook.read import Address
from baybook.workbook.semantics import cell_value

__all__ = ["Held", "due_cells", "headings"]


class Held(NamedTuple):
    """What a cell holds: its value, and the formula that gives it, if one does; None is a blank."""

    value: Any
    formula: str | None = None


def due_cells(placed: Layout, values: Mapping[Address, Any]) -> dict[Address, Held]:
    """Return every cell of a declared workbook.

    Parameters
    ----------
    placed : Layout
        Where everything is declared.
    values : mapping
        The values of its formulas.

    Returns
    -------
    dict
        (sheet, row, column) to what stands there; declared blanks too.
    """
    found = {(sheet, row, col): Held(_held(text)) for sheet, row, col, text in headings(placed)}
    for cell in placed.cells():
        at = (cell.sheet, cell.row, cell.col)
        if cell.formula is None:
            found[at] = Held(_held(cell_value(cell.value)))
        else:
            value = values[at]
            found[at] = Held(clean_text(value) if type(value) is str else value, cell.formula)
    return found


def _held(value: Any) -> Any:
    return clean_text(value) or None if isinstance(value, str) else value


def headings(placed: Layout) -> Iterator[tuple[str, int, int, str]]:
    """Yield sheet, row, column and text of every title, purpose, head, unit, label and note."""
    for sheet in placed.sheets:
        yield sheet.title, 1, 1, sheet.title
        yield sheet.title, 3, 1, sheet.purpose
    for place in placed.places:
        part, title = place.part, place.sheet
        if isinstance(part, Table | Block):
            yield title, place.top, 1, f"{part.title} – {part.note}" if part.note else part.title
        if isinstance(part, Table):
            for col, column in enumerate(part.columns, start=1):
                yield title, place.top + 1, col, column.header
                yield title, place.top + 2, col, column.unit
        elif isinstance(part, Block):
            for row, scalar in enumerate(part.scalars, start=place.first):
                yield title, row, 1, scalar.label
                yield title, row, 3, scalar.unit
                yield title, row, 4, scalar.note or scalar.help
