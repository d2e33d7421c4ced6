"""One sheet of a workbook as a paper of its own: values alone, nothing of cost or margin behind them."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import accumulate
from typing import Any

from baybook import __version__
from baybook.workbook.declare import Block, BookSpec, Layout, Part, Place, Sheet, Table, Text, layout
from baybook.workbook.semantics import cell_value

__all__ = ["paper", "paper_sheet"]

Values = Mapping[tuple[str, int, int], Any]


def paper_sheet(placed: Layout, values: Values, title: str) -> Sheet:
    """Return a sheet with the values of its formulas in place of them.

    Parameters
    ----------
    placed : Layout
        The workbook.
    values : mapping
        The values of its formulas.
    title : str
        The sheet.

    Returns
    -------
    Sheet
        Without rows of a table, and cells of a list, that say nothing.
    """
    (sheet,) = (one for one in placed.sheets if one.title == title)
    held: dict[str, dict[int, Any]] = {}
    lines: dict[int, Any] = {}
    for cell in placed.cells():
        if cell.sheet == title:
            value = values[cell.sheet, cell.row, cell.col] if cell.formula is not None else cell_value(cell.value)
            if cell.key:
                held.setdefault(cell.key, {})[cell.row_index] = None if value == "" else value
            else:
                lines[cell.row] = value
    places = [place for place in placed.places if place.sheet == title]
    if sheet.pages:
        return _pages(sheet, places, held)
    return replace(sheet, printed_from=1, parts=tuple(part for place in places for part in _part(place, held, lines)))


def _pages(sheet: Sheet, places: Sequence[Place], held: Mapping[str, Mapping[int, Any]]) -> Sheet:
    """Return a sheet of whole pages without those that say nothing; the others keep their blank rows unless tight."""
    (table,) = (place.part for place in places if isinstance(place.part, Table))
    ends = list(accumulate(sheet.pages))
    pages = [range(end - rows, end) for rows, end in zip(sheet.pages, ends, strict=True)]
    kept: list[Sequence[int]] = [page for page in pages if any(_says(table, held, row) for row in page)] or [pages[0]]
    if sheet.tight:
        kept = [[row for row in page if _says(table, held, row)] for page in kept]
    rows = [row for page in kept for row in page]
    heights = () if sheet.tight else tuple(sheet.row_heights[row] for row in rows)
    return replace(sheet, parts=(_with_rows(table, held, rows),), pages=tuple(map(len, kept)), row_heights=heights)


def _part(place: Place, held: Mapping[str, Mapping[int, Any]], lines: Mapping[int, Any]) -> Iterator[Part]:
    part = place.part
    if isinstance(part, Text):
        said = (str(lines[place.first + row] or "") for row in range(len(part.lines)))
        words = tuple(line for line in said if line)
        if words:
            yield replace(part, lines=words)
    elif isinstance(part, Block):
        known = ((one, held[one.key][0]) for one in part.scalars)
        scalars = tuple(replace(one, formula=None, value=value) for one, value in known if value is not None)
        if scalars:
            yield replace(part, scalars=scalars)
    else:
        rows = [row for row in range(part.rows) if _says(part, held, row)]
        if rows:
            yield _with_rows(part, held, rows)


def _says(part: Table, held: Mapping[str, Mapping[int, Any]], row: int) -> bool:
    return any(held[one.key].get(row) is not None for one in part.columns)


def _with_rows(part: Table, held: Mapping[str, Mapping[int, Any]], rows: Sequence[int]) -> Table:
    columns = tuple(
        replace(one, formula=None, values=tuple(held[one.key].get(row) for row in rows)) for one in part.columns
    )
    return replace(part, rows=len(rows), columns=columns)


def paper(placed: Layout, values: Values, title: str, heading: str, when: dt.datetime, size: str) -> bytes:
    """Return one sheet as a workbook of its own.

    Parameters
    ----------
    placed, values, title
        As of `paper_sheet`.
    heading : str
        What stands at the head of every page.
    when : datetime
        The moment of the run, for the file's properties.
    size : str
        ``Letter`` or ``A4``.

    Returns
    -------
    bytes
        The workbook.
    """
    from baybook.workbook.xlsx import write_xlsx

    spec = BookSpec(sheets=(paper_sheet(placed, values, title),), lists={})
    stream = io.BytesIO()
    properties = {"title": heading, "creator": f"baybook {__version__}"}
    write_xlsx(spec, layout(spec), {}, stream, properties=properties, modified=when, paper=size)
    return stream.getvalue()
