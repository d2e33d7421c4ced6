"""The modelling standard, held against a workbook as it was written: what the lint of formulas cannot see.

`findings` reads the file back with openpyxl and returns a sentence for everything that breaks the standard: the ICAEW's
Twenty Principles for Good Spreadsheet Practice and the FAST Standard, as far as a program can tell.
"""

from __future__ import annotations

import html
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import openpyxl
from openpyxl.utils.cell import range_boundaries

from baybook.job.fields import fields_of
from baybook.job.rates import Rates
from baybook.job.records import Area, Extra, Framing, Job, Override, PriceRow, StockPiece
from baybook.workbook.build import Made
from baybook.workbook.declare import MASTER, Block, Column, Place, Scalar, Table, column_letter
from baybook.workbook.semantics import ErrorValue

INPUT_SHEETS = (
    *("Job", "Areas", "Framing", "Liners", "Rates", "Prices"),
    *("Extras", "Posts and codes", "Measured", "Offer"),
)
NOTES = {"log_note"}  # a person's own words about a change; nothing reads them
PREFIXES = {"job": Job, "a": Area, "f": Framing, "v": PriceRow, "e": Extra, "h": Override, "r": StockPiece}
NO_LIST = {"job_currency", "v_currency"}  # any ISO 4217 code
UNITLESS = {
    "wide_member": "so many times the side lap",
    "liner_roughness": "Manning's n",
    "gutter_roughness": "Manning's n",
    "v_pack_qty": "in the unit that stands beside it",
    "e_quantity": "in the unit that stands beside it",
    "h_quantity": "in the item's unit",
    "qty_calc": "in the unit that stands beside it",
    "qty_net": "in the unit that stands beside it",
    "qty_order": "in the unit that stands beside it",
    "qty_pack": "in the unit that stands beside it",
    "ord_pack": "in the item's unit",
    "src_value": "in the unit that stands beside it",
}
_REFERENCE = re.compile(r"(?<![\w.$])(\$?)([A-Z]{1,3})(\$?)(\d+)(?![\w(])")
_QUOTED = re.compile(r'"(?:[^"]|"")*"')
_OUTSIDE = re.compile(r"\[\d+\]|https?:|file:|\.xls|\\\\|(?:WEBSERVICE|HYPERLINK|DDE|RTD)\(", re.IGNORECASE)
_NOTHING = re.compile(r"#|\b(?:None|nan|NaN|inf)\b")
_STORED = re.compile(
    rb'<c r="([A-Z]+)(\d+)"[^>]*?(?: t="(\w+)")?>'
    rb"(?:<f>[^<]*</f><v>([^<]*)</v>|<is><t[^>]*>([^<]*)</t></is>|<v>([^<]*)</v>)</c>"
)


@dataclass(frozen=True)
class Book:
    """A workbook in memory, as openpyxl reads it, the value stored in every cell, and the parts of the file."""

    made: Made
    read: Any
    values: dict[tuple[str, int, int], float | str | bool]
    parts: dict[str, bytes]

    @classmethod
    def of(cls, made: Made, data: bytes | None = None) -> Book:
        data = data or made.data
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = {name: packed.read(name) for name in packed.namelist()}
        read = openpyxl.load_workbook(io.BytesIO(data))
        titles = {f"xl/worksheets/sheet{number}.xml": sheet.title for number, sheet in enumerate(read, 1)}
        values = {}
        for name, title in titles.items():
            for letters, row, kind, worked, text, plain in _STORED.findall(parts[name]):
                value = html.unescape((worked or text or plain).decode())
                col = openpyxl.utils.column_index_from_string(letters.decode())
                values[title, int(row), col] = _as(kind.decode(), value)
        return cls(made, read, values, parts)

    def value(self, cell: Any) -> Any:
        return self.values.get((cell.parent.title, cell.row, cell.column))

    def declared(self) -> Iterator[tuple[Place, Column | Scalar]]:
        for place in self.made.layout.places:
            if isinstance(place.part, Block):
                yield from ((place, scalar) for scalar in place.part.scalars)
            elif isinstance(place.part, Table):
                yield from ((place, column) for column in place.part.columns)

    def cells_of(self, key: str) -> Iterator[Any]:
        sheet, row, col = self.made.layout.address(key)
        for at in range(self.made.layout.count(key)):
            yield self.read[sheet].cell(row + at, col)


def _as(kind: str, text: str) -> float | str | bool:
    if kind in {"", "n"}:
        return float(text)
    return text == "1" if kind == "b" else text


def inputs_are_open_and_nothing_else_is(book: Book) -> Iterator[str]:
    """Cells to fill in are unlocked and stand on input sheets; formulas and texts are locked."""
    open_cells = set()
    for _, one in book.declared():
        if one.role == "input":
            for cell in book.cells_of(one.key):
                open_cells.add((cell.parent.title, cell.coordinate))
                if cell.parent.title not in INPUT_SHEETS and one.key not in NOTES:
                    yield f"{cell.parent.title}!{cell.coordinate} ({one.key}) is an input outside the input sheets"
    for sheet in book.read:
        for row in sheet.iter_rows():
            for cell in row:
                is_open = not cell.protection.locked
                if is_open != ((sheet.title, cell.coordinate) in open_cells):
                    yield f"{sheet.title}!{cell.coordinate} is {'open' if is_open else 'locked'}"
                if is_open and cell.data_type == "f":
                    yield f"{sheet.title}!{cell.coordinate} is a formula that can be overwritten"


def sheets_are_protected_without_a_password(book: Book) -> Iterator[str]:
    """Protection guards against slips; it locks nobody out."""
    for sheet in book.read:
        if not sheet.protection.sheet:
            yield f"{sheet.title} is not protected"
        if sheet.protection.password or sheet.protection.hashValue:
            yield f"{sheet.title} has a password"


def input_sheets_hold_no_workings(book: Book) -> Iterator[str]:
    """Inputs, workings and results stand on sheets of their own; workings come last."""
    for place, one in book.declared():
        if place.sheet in INPUT_SHEETS and one.formula is not None and one.role != "label":
            yield f"{place.sheet} holds a formula: {one.key}"
    working = [sheet.working for sheet in book.made.layout.sheets]
    if working != sorted(working):
        yield "a sheet of workings stands before a sheet that is none"


def nothing_is_hidden(book: Book) -> Iterator[str]:
    """No hidden sheet, row, column, name or formula, and nothing too small to be seen."""
    for sheet in book.read:
        if sheet.sheet_state != "visible":
            yield f"{sheet.title} is hidden"
        for kind, dimensions in (("row", sheet.row_dimensions), ("column", sheet.column_dimensions)):
            for at, one in dimensions.items():
                size = one.height if kind == "row" else one.width
                if one.hidden or (size is not None and size < 1):
                    yield f"{sheet.title}: {kind} {at} is hidden"
        for row in sheet.iter_rows():
            for cell in row:
                if cell.protection.hidden or cell.number_format.replace('"', "").startswith(";"):
                    yield f"{sheet.title}!{cell.coordinate} is hidden"
    yield from (f"the name {name} is hidden" for name, one in book.read.defined_names.items() if one.hidden)


def no_cells_are_merged_in_tables(book: Book) -> Iterator[str]:
    """Merged cells break sorting, filling and reading by a program."""
    for place in book.made.layout.places:
        if isinstance(place.part, (Table, Block)):
            for merged in book.read[place.sheet].merged_cells.ranges:
                if merged.min_row <= place.last and merged.max_row >= place.top:
                    yield f"{place.sheet}!{merged.coord} is merged inside {place.part.title}"


def nothing_leads_outside(book: Book) -> Iterator[str]:
    """No link, connection, macro or outside reference."""
    for name, part in book.parts.items():
        if re.search(r"externalLink|connection|query|vba|embeddings|customXml|activeX|control", name, re.IGNORECASE):
            yield f"the file holds {name}"
        if name.endswith(".rels") and b'TargetMode="External"' in part:
            yield f"{name} leads outside"
    for sheet in book.read:
        if sheet._hyperlinks:
            yield f"{sheet.title} has a link"
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f" and _OUTSIDE.search(str(cell.value)):
                    yield f"{sheet.title}!{cell.coordinate} reads from outside: {cell.value}"


def every_list_is_offered(book: Book) -> Iterator[str]:
    """An input that takes words of a list offers them, in every one of its cells, and refuses others."""
    offered = {(sheet.title, *at): name for sheet in book.read for at, name in _offered(sheet)}
    enumerated = {"h_item": (), "r_item": (), "leader_size": (), "a_joist": ()}
    for prefix, record in PREFIXES.items():
        enumerated |= {f"{prefix}_{one.name}": one.choices for one in fields_of(record) if one.choices}
    enumerated |= {one.name: one.choices for one in fields_of(Rates) if one.choices and one.name != "units"}
    known = {one.key for _, one in book.declared()}
    for key, words in enumerated.items():
        if key not in known:
            yield f"{key} is no input of the workbook"
            continue
        for cell in book.cells_of(key):
            name = offered.get((cell.parent.title, cell.row, cell.column))
            if name is None:
                yield f"{cell.parent.title}!{cell.coordinate} ({key}) offers no list"
            elif words and list(words) != _words(book, name):
                yield f"{cell.parent.title}!{cell.coordinate} ({key}) offers {_words(book, name)}"


def _offered(sheet: Any) -> Iterator[tuple[tuple[int, int], str]]:
    """Yield row and column of each cell that takes the words of a list only, and the list's name."""
    for rule in sheet.data_validations.dataValidation:
        if rule.type == "list" and rule.showErrorMessage:
            for area in rule.sqref.ranges:
                left, top, right, bottom = range_boundaries(area.coord)
                yield from (
                    ((row, col), rule.formula1) for row in range(top, bottom + 1) for col in range(left, right + 1)
                )


def _words(book: Book, name: str) -> list[str]:
    sheet, cells = book.read.defined_names[name].attr_text.rsplit("!", 1)
    found = book.read[sheet.strip("'")][cells.replace("$", "")]
    return [row[0].value for row in found] if isinstance(found, tuple) else [found.value]


def one_formula_down_a_block(book: Book) -> Iterator[str]:
    """A column has as many different formulas, in relative terms, as were declared, each in rows of its own."""
    for place, column in book.declared():
        if not isinstance(column, Column) or column.formula is None:
            continue
        shapes: dict[str, str] = {}
        for at, cell in enumerate(book.cells_of(column.key)):
            if cell.data_type != "f":
                yield f"{place.sheet}!{cell.coordinate} ({column.key}) holds {cell.value!r} in place of its formula"
                continue
            template = str(column.template(at))
            shape = relative(cell.value, cell.row, cell.column)
            if shapes.setdefault(template, shape) != shape:
                yield f"{place.sheet}!{cell.coordinate} ({column.key}) differs from the formulas above it: {cell.value}"


def relative(formula: str, row: int, col: int) -> str:
    """Return a formula with its references counted from its own cell; whole words and texts stay."""

    def counted(match: re.Match[str]) -> str:
        fixed_col, letters, fixed_row, number = match.groups()
        down = f"R{number}" if fixed_row else f"R[{int(number) - row}]"
        at = openpyxl.utils.column_index_from_string(letters)
        return down + (f"C{at}" if fixed_col else f"C[{at - col}]")

    out, at = [], 0
    for text in _QUOTED.finditer(formula):
        out += [_REFERENCE.sub(counted, formula[at : text.start()]), text[0]]
        at = text.end()
    return "".join(out) + _REFERENCE.sub(counted, formula[at:])


def units_stand_beside_numbers(book: Book) -> Iterator[str]:
    """A column or cell of numbers names its unit, in the row or column meant for it."""
    for place, one in book.declared():
        head = one.header if isinstance(one, Column) else one.label
        if not head:
            yield f"{place.sheet}: {one.key} has no words at its head"
        named_number = isinstance(one, Scalar) and one.role == "work" and one.formula is None
        if one.role == "label" or one.key in UNITLESS or named_number or place.sheet in {"Constants", "Lists"}:
            continue
        if re.search(r"\b(key|code|lane)$", head):
            continue
        first = next((cell for cell in book.cells_of(one.key) if isinstance(book.value(cell), float)), None)
        if first is None or first.number_format.endswith("%"):
            continue
        sheet = book.read[place.sheet]
        unit = sheet.cell(place.top + 2, first.column) if isinstance(one, Column) else sheet.cell(first.row, 3)
        if not unit.value:
            yield f"{place.sheet}!{first.coordinate}: {one.key} ({head}) has no unit"


def the_master_check_stands_on_every_sheet(book: Book) -> Iterator[str]:
    """One line says on every sheet whether the workbook holds together."""
    (own,) = book.cells_of("master_text")
    for sheet in book.read:
        cell = own if sheet is own.parent else sheet["A2"]
        if cell is not own and cell.value != MASTER.lines[0]:
            yield f"{sheet.title} does not show the checks: {cell.value!r}"
        if not str(book.value(cell)).startswith("Checks: 0 refused"):
            yield f"{sheet.title} shows {book.value(cell)!r} for the checks"


def every_formula_has_its_value(book: Book) -> Iterator[str]:
    """A previewer, a script and LibreOffice show what is stored: it is there, right, and no error."""
    known = book.made.values
    found = 0
    for sheet in book.read:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type != "f":
                    continue
                found += 1
                at = (sheet.title, cell.row, cell.column)
                value = book.values.get(at)
                if at not in known:
                    yield f"{sheet.title}!{cell.coordinate} is a formula nobody declared"
                elif isinstance(known[at], ErrorValue):
                    yield f"{sheet.title}!{cell.coordinate} is {known[at]}"
                elif value is None or known[at] != value:
                    yield f"{sheet.title}!{cell.coordinate} stores {value!r}, the formula gives {known[at]!r}"
    if found != len(known):
        yield f"{len(known)} formulas were declared, {found} stand in the file"


def words_are_words(book: Book) -> Iterator[str]:
    """Nothing that a person reads is a sign of a missing value or an error."""
    for (title, row, col), value in book.values.items():
        if isinstance(value, bool) or (isinstance(value, str) and _NOTHING.search(value)):
            yield f"{title}!{column_letter(col)}{row} reads {value!r}"
    for sheet in book.read:
        shown = [("its title", sheet.title), ("its head", sheet.oddHeader.left.text)]
        for rule in sheet.data_validations.dataValidation:
            shown += [(str(rule.sqref), text) for text in (rule.prompt, rule.promptTitle, rule.error)]
        for at, text in shown:
            if isinstance(text, str) and _NOTHING.search(text):
                yield f"{sheet.title}!{at} reads {text!r}"
    for name, text in _drawn(book):
        if _NOTHING.search(text):
            yield f"{name} reads {text!r}"


def _drawn(book: Book) -> Iterator[tuple[str, str]]:
    for name, part in book.parts.items():
        if "chart" in name and name.endswith(".xml"):
            yield from ((name, text.decode()) for text in re.findall(rb"<(?:a:t|c:v|v|t)>([^<]*)<", part))


CHECKS = (
    inputs_are_open_and_nothing_else_is,
    sheets_are_protected_without_a_password,
    input_sheets_hold_no_workings,
    nothing_is_hidden,
    no_cells_are_merged_in_tables,
    nothing_leads_outside,
    every_list_is_offered,
    one_formula_down_a_block,
    units_stand_beside_numbers,
    the_master_check_stands_on_every_sheet,
    every_formula_has_its_value,
    words_are_words,
)


def findings(book: Book) -> list[str]:
    """Return what breaks the standard, each with the check that found it, at most five a check."""
    return [f"{check.__name__}: {said}" for check in CHECKS for said in list(check(book))[:5]]
