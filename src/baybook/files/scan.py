"""One pass over XML that builds nothing: finds what would harm a parser or the reader behind it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from xml.parsers import expat

from baybook.files.limits import Limits

__all__ = ["Tally", "UnsafeError", "scan_xml"]

_CELL = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})")
_SPREADS = {"mergeCell", "hyperlink"}  # readers make every cell of these ranges
_TYPES = {"Override", "Default"}


class UnsafeError(ValueError):
    """What was found, as the end of a sentence that begins with the part's name."""


@dataclass(slots=True)
class Tally:
    """What the XML parts of one file add up to.

    Parameters
    ----------
    elements : int
        Elements so far.
    spread : int
        Cells covered by merged ranges and by links.
    types : dict
        Content types stated, by part name or by ``*.extension``.
    """

    elements: int = 0
    spread: int = 0
    types: dict[str, str] = field(default_factory=dict)


def scan_xml(chunks: Iterable[bytes], tally: Tally, limits: Limits, *, picture: bool = False) -> None:
    """Read one XML part to its end, whatever its encoding.

    Parameters
    ----------
    chunks : iterable of bytes
        The part. Each chunk should be at least as long as all before it together: the parser begins an unfinished
        token again with every chunk.
    tally : Tally
        Added to.
    limits : Limits
        Those to hold.
    picture : bool
        An SVG picture may name its document type, if it declares no entity.

    Raises
    ------
    UnsafeError
        At a document type declaration, a cell out of bounds, or a limit passed.
    xml.parsers.expat.ExpatError, LookupError, ValueError
        If it is no well-formed XML or of an unknown encoding.
    """
    scan = _Scan(tally, limits, picture=picture)
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = scan.doctype
    parser.EntityDeclHandler = scan.entity
    parser.StartElementHandler = scan.start
    parser.EndElementHandler = scan.end
    for chunk in chunks:
        parser.Parse(chunk)
    parser.Parse(b"", True)  # noqa: FBT003 - expat takes no keywords


class _Scan:
    """Where the parser stands in one part."""

    def __init__(self, tally: Tally, limits: Limits, *, picture: bool) -> None:
        self.tally, self.limits, self.picture = tally, limits, picture
        self.depth = 0
        self.cell_depth = -1  # that of the elements which stand directly inside a row
        self.row = self.column = 0
        self.columns: dict[str, int] = {}

    def doctype(self, *_declared: object) -> None:
        if not self.picture:
            raise UnsafeError("holds a document type declaration (DTD), which no office file needs")

    def entity(self, *_declared: object) -> None:
        raise UnsafeError("declares an entity, which no office file needs")

    def start(self, name: str, attributes: dict[str, str]) -> None:
        self.depth += 1
        self.tally.elements += 1
        if self.tally.elements > self.limits.elements:
            raise UnsafeError(
                f"brings the file to more than {self.limits.elements:,} XML elements, the most that is read"
            )
        if self.depth > self.limits.depth:
            raise UnsafeError(f"nests XML elements more than {self.limits.depth} deep, the most that is read")
        local = name.rpartition(":")[2]
        if self.depth == self.cell_depth or local == "c":
            self.cell(attributes.get("r"))
        elif local == "row":
            number = attributes.get("r", "")
            self.row = int(number) if number.isascii() and number.isdigit() and len(number) < 8 else self.row + 1
            self.column = 0
            self.cell_depth = self.depth + 1
        elif local in _SPREADS and "ref" in attributes:
            self.range(attributes["ref"])
        elif local in _TYPES and "ContentType" in attributes:
            part = attributes.get("PartName") or f"*.{attributes.get('Extension', '')}"
            self.tally.types[part.lstrip("/")] = attributes["ContentType"]

    def end(self, _name: str) -> None:
        if self.depth == self.cell_depth - 1:
            self.cell_depth = -1
        self.depth -= 1

    def cell(self, reference: str | None) -> None:
        if reference is None:
            self.column += 1
            row, column = self.row, self.column
        else:
            row, column = self.place(reference)
            self.column = column
        if row > self.limits.rows or column > self.limits.columns:
            self.out_of_bounds(reference or f"row {row}, column {column}")

    def range(self, reference: str) -> None:
        first, _, last = reference.partition(":")
        (top, left), (bottom, right) = self.place(first), self.place(last or first)
        if max(top, bottom) > self.limits.rows or max(left, right) > self.limits.columns:
            self.out_of_bounds(reference)
        self.tally.spread += (abs(bottom - top) + 1) * (abs(right - left) + 1)
        if self.tally.spread > self.limits.spread:
            raise UnsafeError(f"merges or links more than {self.limits.spread:,} cells, the most that is read")

    def place(self, reference: str) -> tuple[int, int]:
        """Return the row and the column of a reference such as AB12."""
        found = _CELL.fullmatch(reference)
        if found is None:
            raise UnsafeError(f"names a cell {reference[:40]!r}, which is no cell such as B7")
        letters, row = found.groups()
        column = self.columns.get(letters, 0)
        if not column:
            for letter in letters.upper():
                column = 26 * column + ord(letter) - 64
            self.columns[letters] = column
        return int(row), column

    def out_of_bounds(self, reference: str) -> None:
        rows, columns = self.limits.rows, self.limits.columns
        raise UnsafeError(f"holds the cell {reference}; at most {rows:,} rows and {columns:,} columns are read")
