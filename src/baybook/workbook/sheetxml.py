"""One sheet of a workbook as its XML stands: every cell with its formula, its value and where its bytes lie."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any
from xml.parsers import expat

from baybook.workbook.declare import column_letter
from baybook.workbook.semantics import ErrorValue, cell_value

__all__ = ["SheetScan", "XmlCell", "XmlRow", "as_utf8", "place_of", "plain_text", "scan_sheet", "shared_texts"]

_PLACE = re.compile(r"\$?([A-Za-z]{1,3})\$?([0-9]{1,7})")
_HEXED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_ENCODING = re.compile(r"""(<\?xml[^>]*?)\s+encoding\s*=\s*["'][^"']*["']""")
# a text, a quoted sheet title, a cell (not a function's or a name's letters), or anything else
_MOVABLE = re.compile(
    r"""("(?:[^"]|"")*"|'(?:[^']|'')*')|(?<![\w.$])(\$?)([A-Za-z]{1,3})(\$?)([0-9]{1,7})(?![\w.(])""", re.ASCII
)


@dataclass(slots=True)
class XmlCell:
    """A cell as it stands in the XML.

    Parameters
    ----------
    start, end : int
        Its bytes, ``data[start:end]``.
    kind : str
        Attribute ``t``: how its value is written.
    style : str
        Attribute ``s``, empty if it has none.
    formula : str or None
        With the equals sign; shared formulas are written out; ``{=...}`` for an array.
    shared : str
        Number of the shared formula it takes part in, empty if none.
    value : Any
        float, str, bool, `ErrorValue`, or None for a blank.
    """

    start: int
    end: int
    kind: str
    style: str
    formula: str | None = None
    shared: str = ""
    value: Any = None


@dataclass(slots=True)
class XmlRow:
    """A row as it stands in the XML; `inner` is where its last cell ends, 0 for a row written without an end tag."""

    start: int
    end: int
    inner: int


@dataclass(slots=True)
class SheetScan:
    """All cells and rows of one sheet, by (row, column) and by row, counted from 1."""

    xml: bytes
    cells: dict[tuple[int, int], XmlCell] = field(default_factory=dict)
    rows: dict[int, XmlRow] = field(default_factory=dict)
    body: tuple[int, int] = (0, 0)  # bytes of the sheetData element


def as_utf8(part: bytes) -> bytes:
    """Return an XML part in an encoding that contains ASCII, so that bytes can be put into it."""
    if part[:2] not in {b"\xff\xfe", b"\xfe\xff"}:
        return part
    return _ENCODING.sub(r"\1", part.decode("utf-16"), count=1).encode()


def plain_text(text: str) -> str:
    """Return a text without the marks a file writes for characters that XML cannot hold."""
    return _HEXED.sub(lambda found: chr(int(found[1], 16)), text) if "_x" in text else text


@lru_cache(maxsize=4096)
def _column_number(letters: str) -> int:
    number = 0
    for letter in letters.upper():
        number = 26 * number + ord(letter) - 64
    return number


def place_of(reference: str) -> tuple[int, int]:
    """Return row and column of a reference such as ``$B$7``."""
    found = _PLACE.fullmatch(reference)
    if found is None:
        raise ValueError(f"{reference!r} is no cell")
    return int(found[2]), _column_number(found[1])


def shared_texts(xml: bytes) -> tuple[str, ...]:
    """Return the texts that cells refer to by number."""
    found: list[str] = []
    words: list[str] = []
    state = {"text": False, "reading": 0}

    def start(name: str, _: dict[str, str]) -> None:
        local = name.rpartition(":")[2]
        state["text"] = local == "t" and not state["reading"]
        state["reading"] += local == "rPh"  # how a text is pronounced is no part of it

    def end(name: str) -> None:
        local = name.rpartition(":")[2]
        state["text"] = False
        state["reading"] -= local == "rPh"
        if local == "si":
            found.append(plain_text("".join(words)))
            words.clear()

    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler = lambda text: words.append(text) if state["text"] else None
    parser.Parse(xml, True)  # noqa: FBT003  expat takes no keywords
    return tuple(found)


def scan_sheet(part: bytes, shared: Sequence[str]) -> SheetScan:
    """Read one sheet that has passed the guard.

    Parameters
    ----------
    part : bytes
        Its XML.
    shared : sequence of str
        The shared texts of the workbook.

    Returns
    -------
    SheetScan
        Every cell that the part holds, styled blanks too.

    Raises
    ------
    ValueError
        If there is no place for rows, or a cell holds what no spreadsheet program writes; the message names it.
    """
    scan = _Scan(as_utf8(part), shared)
    scan.run()
    if not scan.found.body[1]:  # ECMA-376 part 1, 18.3.1.99 (from memory): every worksheet has one
        raise ValueError("a sheet of it has no sheetData, the part that holds the rows")
    return scan.found


class _Locals(dict[str, str]):
    """Names of elements without their prefix."""

    def __missing__(self, name: str) -> str:
        self[name] = local = name.rpartition(":")[2]
        return local


class _Scan:
    """Where the parser stands in the sheet."""

    def __init__(self, xml: bytes, shared: Sequence[str]) -> None:
        self.found = SheetScan(xml)
        self.shared = shared
        self.masters: dict[str, tuple[int, int, str]] = {}
        self.row = self.col = 0
        self.cell: XmlCell | None = None
        self.formula: dict[str, str] | None = None
        self.text: dict[str, str] = {}
        self.into = ""  # the element whose text is being read
        self.columns: dict[str, int] = {}
        self.locals = _Locals()
        self.spoken = 0
        self.parser = expat.ParserCreate()

    def run(self) -> None:
        parser = self.parser
        parser.buffer_text = True
        parser.StartElementHandler, parser.EndElementHandler = self.start, self.end
        parser.CharacterDataHandler = self.characters
        parser.Parse(self.found.xml, True)  # noqa: FBT003  expat takes no keywords

    def start(self, name: str, attributes: dict[str, str]) -> None:
        local = self.locals[name]
        if self.cell is not None:
            if local == "f":
                self.formula = attributes
            elif local == "rPh":  # how a text is pronounced is no part of it
                self.spoken += 1
            self.into = "" if self.spoken else local
        elif local == "c" and self.row:
            self.begin_cell(attributes)
        elif local == "row" and not self.found.body[1]:
            self.row, self.col = int(attributes.get("r") or self.row + 1), 0
            self.found.rows[self.row] = XmlRow(self.parser.CurrentByteIndex, 0, 0)
        elif local == "sheetData":
            self.found.body = (self.parser.CurrentByteIndex, 0)

    def begin_cell(self, attributes: dict[str, str]) -> None:
        reference = attributes.get("r")
        if reference:
            letters = reference.rstrip("0123456789")
            if letters not in self.columns:
                self.columns[letters] = place_of(f"{letters}1")[1]
            self.col = self.columns[letters]
        else:
            self.col += 1
        self.cell = XmlCell(self.parser.CurrentByteIndex, 0, attributes.get("t", "n"), attributes.get("s", ""))
        self.formula = None
        self.text.clear()

    def characters(self, text: str) -> None:
        if self.into:
            self.text[self.into] = self.text.get(self.into, "") + text

    def end(self, name: str) -> None:
        local = self.locals[name]
        if self.cell is not None:
            self.into = ""
            if local == "c":
                self.end_cell(self.cell, self.tag(name)[1])
            elif local == "rPh":
                self.spoken -= 1
        elif local == "row" and not self.found.body[1]:
            row = self.found.rows[self.row]
            row.inner, row.end = self.tag(name)
        elif local == "sheetData":
            self.found.body = (self.found.body[0], self.tag(name)[1])
            self.row = 0

    def tag(self, name: str) -> tuple[int, int]:
        """Return where the end tag stands that was just read: 0 and its end for an element that has none."""
        at, xml = self.parser.CurrentByteIndex, self.found.xml
        tag = b"</" + name.encode()
        if xml.startswith(tag, at) and xml[at + len(tag) : at + len(tag) + 1] in b"> \t\r\n":
            return at, xml.index(b">", at) + 1
        return 0, at

    def end_cell(self, cell: XmlCell, end: int) -> None:
        cell.end = end
        if self.formula is not None:
            cell.formula = self.written_out(cell, self.formula)
        try:
            cell.value = self.value(cell.kind)
        except (ValueError, IndexError):
            held = self.text.get("v", "")[:20]
            raise ValueError(
                f"the cell {column_letter(self.col)}{self.row} holds {held!r}, which is no value"
            ) from None
        self.found.cells[self.row, self.col] = cell
        self.cell = None

    def written_out(self, cell: XmlCell, attributes: Mapping[str, str]) -> str:
        """Return the formula of a cell; one that shares another's is moved to its own place."""
        text, kind = self.text.get("f", ""), attributes.get("t", "normal")
        if kind == "shared":
            cell.shared = attributes.get("si", "")
            if text:
                self.masters[cell.shared] = (self.row, self.col, text)
            elif cell.shared in self.masters:
                row, col, text = self.masters[cell.shared]
                text = moved(text, self.row - row, self.col - col)
        return "=" + text if kind in {"normal", "shared"} else f"{{={text}}}"

    def value(self, kind: str) -> Any:
        text = self.text.get("v", "")
        if kind == "inlineStr":
            return plain_text(self.text.get("t", "")) or None
        if kind == "s" and text:
            return self.shared[int(text)] or None
        return _VALUES.get(kind, _number)(text) if text else None


def _number(text: str) -> float:
    """Read a number; one beyond all limits is none."""
    value = float(text)
    if not math.isfinite(value):
        raise ValueError(text)
    return value


_VALUES: Mapping[str, Callable[[str], Any]] = {
    "str": plain_text,
    "b": lambda text: text.strip() in {"1", "true"},
    "e": ErrorValue,
    "d": lambda text: cell_value(dt.datetime.fromisoformat(text)),
}


@lru_cache(maxsize=2048)
def _template(formula: str) -> str:
    """Return a formula as a format string of (rows down, columns to the right)."""
    out, at = [], 0
    for found in _MOVABLE.finditer(formula):
        out.append(formula[at : found.start()].replace("{", "{{").replace("}", "}}"))
        at = found.end()
        if found[1] is not None:
            out.append(found[1].replace("{", "{{").replace("}", "}}"))
            continue
        fixed_col, letters, fixed_row, row = found[2], found[3], found[4], found[5]
        out.append(fixed_col + letters if fixed_col else f"{{0[{_column_number(letters)}]}}")
        out.append(fixed_row + row if fixed_row else f"{{1[{row}]}}")
    out.append(formula[at:].replace("{", "{{").replace("}", "}}"))
    return "".join(out)


class _Shifted:
    """Gives the moved column or row a format string asks for by its number."""

    __slots__ = ("by", "letters")

    def __init__(self, by: int, letters: bool) -> None:
        self.by, self.letters = by, letters

    def __getitem__(self, number: int) -> str:
        moved_to = number + self.by
        return column_letter(moved_to) if self.letters else str(moved_to)


def moved(formula: str, down: int, right: int) -> str:
    """Return a formula as it reads so many rows further down and columns to the right.

    Examples
    --------
    >>> moved("SUM(A$1:B2)*rate", 3, 1)
    'SUM(B$1:C5)*rate'
    """
    return _template(formula).format(_Shifted(right, letters=True), _Shifted(down, letters=False))
