"""Cells changed inside a workbook's zip; every other byte stays as it was."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from xml.sax.saxutils import escape

from baybook.workbook.declare import column_letter
from baybook.workbook.due import Held
from baybook.workbook.package import number_xml, text_xml
from baybook.workbook.semantics import ErrorValue
from baybook.workbook.sheetxml import SheetScan

__all__ = ["Place", "patched_sheet", "replaced_parts", "without_values"]

_FORMULA = re.compile(rb"<(?:\w+:)?f\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?f>)")
_VALUE = re.compile(rb"<(?:\w+:)?v\b(?:[^>]*/>|[^>]*>[^<]*</(?:\w+:)?v>)")
_KIND = re.compile(rb"""\st=(?:"[^"]*"|'[^']*')""")
_PREFIX = re.compile(rb"<(\w+:)?sheetData")
_SHORT = re.compile(rb"\s*/>$")


Place = tuple[int, int]


def patched_sheet(scan: SheetScan, cells: Mapping[Place, Held]) -> bytes:
    """Return a sheet's XML with new contents in some cells.

    A cell keeps its style. Where the formula stays, its element stays byte for byte, shared or not; where one formula
    of a shared group changes, all of the group are written out.

    Parameters
    ----------
    scan : SheetScan
        The sheet as it stands.
    cells : mapping
        (row, column) to new content.

    Returns
    -------
    bytes
        The XML, ASCII where it is new.
    """
    found = _PREFIX.match(scan.xml, scan.body[0])
    prefix = (found[1] or b"").decode() if found else ""
    apart = _unshared(scan, cells)
    cells = {**apart, **cells}
    edits = [
        (scan.cells[place].start, scan.cells[place].end, _kept(scan, place, new, prefix, own=place in apart))
        for place, new in cells.items()
        if place in scan.cells
    ]
    edits += _inserted(scan, {place: new for place, new in cells.items() if place not in scan.cells}, prefix)
    return _edited(scan.xml, edits)


def without_values(scan: SheetScan, places: Iterable[Place]) -> bytes:
    """Return a sheet's XML with formulas that have no value beside them, so that every program works them out anew."""
    edits = []
    for place in places:
        cell = scan.cells[place]
        old = scan.xml[cell.start : cell.end]
        head, tail = old[: old.index(b">")], old[old.index(b">") :]
        edits.append((cell.start, cell.end, _KIND.sub(b"", head) + _VALUE.sub(b"", tail)))
    return _edited(scan.xml, edits)


def replaced_parts(data: bytes, parts: Mapping[str, bytes]) -> bytes:
    """Return a zip with some of its parts replaced: the order, names, dates and all other parts stay."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(stream, "w") as new:
        new.comment = old.comment
        for part in old.infolist():
            content = parts.get(part.filename)
            new.writestr(part, old.read(part) if content is None else content)
    return stream.getvalue()


def _edited(xml: bytes, edits: Iterable[tuple[int, int, bytes]]) -> bytes:
    out, at = [], 0
    for start, end, text in sorted(edits, key=lambda one: one[:2]):
        out += [xml[at:start], text]
        at = end
    return b"".join([*out, xml[at:]])


def _unshared(scan: SheetScan, cells: Mapping[Place, Held]) -> dict[Place, Held]:
    """Return all cells that share a formula with one whose formula changes, as they stand."""
    changed = {
        scan.cells[place].shared
        for place, new in cells.items()
        if place in scan.cells and new.formula != scan.cells[place].formula
    }
    return {
        place: Held(cell.value, cell.formula)
        for place, cell in scan.cells.items()
        if cell.shared and cell.shared in changed
    }


def _kept(scan: SheetScan, place: Place, new: Held, prefix: str, *, own: bool) -> bytes:
    """Return a cell in its old style with its new content; `own`: its formula is written out."""
    cell = scan.cells[place]
    found = None
    if new.formula is not None and new.formula == cell.formula and not own:
        found = _FORMULA.search(scan.xml, cell.start, cell.end)
    return _cell_xml(place, new, cell.style, prefix, found[0] if found else None)


def _cell_xml(place: Place, new: Held, style: str, prefix: str, formula: bytes | None = None) -> bytes:
    row, col = place
    kind, value = _value_xml(new, prefix)
    if new.formula is not None and formula is None:
        formula = _ascii(f"<{prefix}f>{escape(new.formula[1:])}</{prefix}f>")
    head = f'<{prefix}c r="{column_letter(col)}{row}"' + (f' s="{style}"' if style else "") + kind
    inner = (formula or b"") + _ascii(value)
    return _ascii(f"{head}>") + inner + _ascii(f"</{prefix}c>") if inner else _ascii(f"{head}/>")


def _ascii(text: str) -> bytes:
    return text.encode("ascii", "xmlcharrefreplace")


def _value_xml(new: Held, prefix: str) -> tuple[str, str]:
    value = new.value
    if value is None or (value == "" and new.formula is None):
        return "", ""
    if isinstance(value, ErrorValue):
        return ' t="e"', f"<{prefix}v>{escape(value)}</{prefix}v>"
    if isinstance(value, bool):
        return ' t="b"', f"<{prefix}v>{int(value)}</{prefix}v>"
    if not isinstance(value, str):
        return "", f"<{prefix}v>{number_xml(value)}</{prefix}v>"
    if new.formula is not None:
        return ' t="str"', f"<{prefix}v>{text_xml(value)}</{prefix}v>"
    inner = f'<{prefix}t xml:space="preserve">{text_xml(value)}</{prefix}t>'
    return ' t="inlineStr"', f"<{prefix}is>{inner}</{prefix}is>"


def _inserted(scan: SheetScan, cells: Mapping[Place, Held], prefix: str) -> Iterator[tuple[int, int, bytes]]:
    """Yield the edits that put cells where the file has none."""
    rows: dict[int, list[Place]] = {}
    for place in sorted(cells):
        if cells[place].value is not None or cells[place].formula is not None:
            rows.setdefault(place[0], []).append(place)
    by_row: dict[int, list[int]] = {}
    for row, col in sorted(scan.cells):
        by_row.setdefault(row, []).append(col)

    def text(place: Place) -> bytes:
        above = scan.cells.get((place[0] - 1, place[1]))
        return _cell_xml(place, cells[place], above.style if above else "", prefix)

    for row, places in rows.items():
        if row not in scan.rows:
            whole = f'<{prefix}row r="{row}">'.encode() + b"".join(map(text, places)) + f"</{prefix}row>".encode()
            yield _new_row(scan, row, whole, prefix)
        elif not scan.rows[row].inner:
            start, end = scan.rows[row].start, scan.rows[row].end
            head = _SHORT.sub(b">", scan.xml[start:end])
            yield start, end, head + b"".join(map(text, places)) + f"</{prefix}row>".encode()
        else:
            for place in places:
                after = next((col for col in by_row.get(row, ()) if col > place[1]), None)
                at = scan.cells[row, after].start if after else scan.rows[row].inner
                yield at, at, text(place)


def _new_row(scan: SheetScan, row: int, whole: bytes, prefix: str) -> tuple[int, int, bytes]:
    after = min((other for other in scan.rows if other > row), default=0)
    start, end = scan.body
    if after:
        at = scan.rows[after].start
        return at, at, whole
    if _SHORT.search(scan.xml, start, end):
        head = _SHORT.sub(b">", scan.xml[start:end])
        return start, end, head + whole + f"</{prefix}sheetData>".encode()
    at = scan.xml.rindex(b"<", start, end)
    return at, at, whole
