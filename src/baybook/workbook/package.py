"""The zip of a workbook: every formula with its value beside it, and the same bytes for the same content."""
# ruff: noqa: SLF001  openpyxl writes no value beside a formula; its own writer is extended from the inside

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any, BinaryIO
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl.cell import Cell
from openpyxl.utils.datetime import to_excel
from openpyxl.worksheet._writer import WorksheetWriter
from openpyxl.writer.excel import ExcelWriter

from baybook.workbook.declare import column_letter
from baybook.workbook.semantics import ErrorValue

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["clean_text", "number_xml", "save", "text_xml"]

_ILLEGAL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_ESCAPED_LIKE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
_ROWS = b"<sheetData></sheetData>"


def save(workbook: Any, values: Mapping[tuple[str, int, int], Any], stream: BinaryIO) -> None:
    """Write an openpyxl workbook with a value beside each formula.

    Parameters
    ----------
    workbook : openpyxl.Workbook
        What to write; its properties already hold the dates they should.
    values : mapping
        (sheet, row, column) of each formula cell to its value.
    stream : binary file
        Where to.

    Raises
    ------
    ValueError
        If a formula cell has no value: a file with some of its values is one that misleads.
    """
    _Writer(workbook, _FixedZip(stream, "w", ZIP_DEFLATED), values).save()


def clean_text(value: str) -> str:
    """Return a text without the characters no workbook can hold."""
    return _ILLEGAL.sub("", value)


def number_xml(value: float) -> str:
    """Return a number as the file holds it, whole ones without a point."""
    return str(int(value)) if value == int(value) and abs(value) < 1e15 else repr(float(value))


class _FixedZip(ZipFile):
    """A zip whose entries bear no time of writing."""

    def writestr(self, name: Any, data: Any, *_: Any) -> None:
        entry = ZipInfo(str(name), (1980, 1, 1, 0, 0, 0))
        entry.compress_type, entry.external_attr, entry.create_system = ZIP_DEFLATED, 0o600 << 16, 3
        super().writestr(entry, data)


class _Writer(ExcelWriter):  # type: ignore[misc]  # openpyxl ships no types
    def __init__(self, workbook: Any, archive: ZipFile, values: Mapping[tuple[str, int, int], Any]) -> None:
        super().__init__(workbook, archive)
        self._values = values

    def write_worksheet(self, ws: Any) -> None:
        """Write one sheet; the base class's own steps around our rows."""
        from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing

        ws._drawing = SpreadsheetDrawing()
        ws._drawing.charts, ws._drawing.images = ws._charts, ws._images
        writer = _SheetWriter(ws, io.BytesIO())
        writer.write()
        ws._rels = writer._rels
        rows = _rows_xml(ws, self._values).encode()
        self._archive.writestr(
            ws.path[1:], writer.out.getvalue().replace(_ROWS, b"<sheetData>" + rows + b"</sheetData>")
        )
        self.manifest.append(ws)


class _SheetWriter(WorksheetWriter):  # type: ignore[misc]  # openpyxl ships no types
    def write_rows(self) -> None:
        """Leave room for the rows."""
        xf = self.xf.send(True)  # noqa: FBT003  openpyxl's own signal
        with xf.element("sheetData"):
            pass
        self.xf.send(None)


def _rows_xml(ws: Any, values: Mapping[tuple[str, int, int], Any]) -> str:
    rows: dict[int, list[Any]] = {row: [] for row in ws.row_dimensions}
    for (row, _), cell in sorted(ws._cells.items()):
        if isinstance(cell, Cell):  # not the rest of a merged range
            rows.setdefault(row, []).append(cell)
    styles: dict[int, int] = {}
    out: list[str] = []
    for row, cells in sorted(rows.items()):
        height = ws.row_dimensions[row].height if row in ws.row_dimensions else None
        out.append(f'<row r="{row}" ht="{height:g}" customHeight="1">' if height else f'<row r="{row}">')
        out += [_cell_xml(cell, styles, values) for cell in cells]
        out.append("</row>")
    return "".join(out)


def _cell_xml(cell: Any, styles: dict[int, int], values: Mapping[tuple[str, int, int], Any]) -> str:
    style = styles.get(id(cell._style))
    if style is None:
        style = styles[id(cell._style)] = cell.style_id
    start = f'<c r="{column_letter(cell.column)}{cell.row}" s="{style}"'
    value, kind = cell._value, cell.data_type
    if value is None:
        return start + "/>"
    if kind == "f":
        return start + _formula_xml(cell, values)
    if kind == "s":
        return f'{start} t="inlineStr"><is><t xml:space="preserve">{text_xml(value)}</t></is></c>'
    if kind == "b":
        return f'{start} t="b"><v>{int(value)}</v></c>'
    return f"{start}><v>{number_xml(to_excel(value) if kind == 'd' else value)}</v></c>"


def _formula_xml(cell: Any, values: Mapping[tuple[str, int, int], Any]) -> str:
    sheet = cell.parent.title
    value = values.get((sheet, cell.row, cell.column))
    if value is None:
        raise ValueError(f"{sheet}!{cell.coordinate} has a formula and no value; work out every formula first.")
    written = f"<f>{escape(cell._value[1:])}</f>" if isinstance(cell._value, str) else _array_xml(cell._value)
    if isinstance(value, ErrorValue):
        return f' t="e">{written}<v>{escape(value)}</v></c>'
    if isinstance(value, str):
        return f' t="str">{written}<v>{text_xml(value)}</v></c>'
    if isinstance(value, bool):
        return f' t="b">{written}<v>{int(value)}</v></c>'
    return f">{written}<v>{number_xml(value)}</v></c>"


def _array_xml(array: Any) -> str:
    """Write an array formula; the other cells of its range hold their values and no formula."""
    return f'<f t="array" ref="{array.ref}">{escape(array.text[1:])}</f>'


def text_xml(value: str) -> str:
    """Return a text as the file holds it, without the characters no workbook can hold."""
    return escape(_ESCAPED_LIKE.sub("_x005F_", clean_text(value)).replace("\r", "_x000D_"))
