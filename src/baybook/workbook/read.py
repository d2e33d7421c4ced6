"""A workbook read back, whoever saved it last: values, formulas and defined names of its sheets."""

from __future__ import annotations

import io
import os
import posixpath
import re
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree.ElementTree import Element
from xml.parsers.expat import ExpatError

from baybook.files.guard import check_workbook
from baybook.problems import FileRefused, Problem
from baybook.workbook.declare import column_letter
from baybook.workbook.sheetxml import SheetScan, place_of, scan_sheet, shared_texts

__all__ = ["Address", "Range", "ReadBook", "read_workbook"]

Address = tuple[str, int, int]

_RANGE = re.compile(
    r"(?:'((?:[^']|'')+)'|([^'!#\[\]]+))!(\$?[A-Za-z]{1,3}\$?[0-9]{1,7})(?::(\$?[A-Za-z]{1,3}\$?[0-9]{1,7}))?"
)
_WORKSHEET = "/worksheet"


class Range(NamedTuple):
    """The cells a defined name leads to: first row and column counted from 1, how many rows and columns."""

    sheet: str
    row: int
    col: int
    rows: int = 1
    cols: int = 1

    def __str__(self) -> str:
        first = f"{column_letter(self.col)}{self.row}"
        last = f"{column_letter(self.col + self.cols - 1)}{self.row + self.rows - 1}"
        return f"{self.sheet}!{first}" + (f":{last}" if last != first else "")


@dataclass(frozen=True, slots=True)
class ReadBook:
    """A workbook as read.

    Parameters
    ----------
    source : str
        Name of the file.
    data : bytes
        The whole file.
    parts : mapping of str to str
        Sheet title to the part of the zip that holds it, in the order of the tabs.
    names : mapping of str to Range
        Defined names of the whole workbook that lead to cells of one sheet.
    broken : mapping of str to str
        The other defined names, with what they say, such as ``#REF!``.
    scans : mapping of str to SheetScan
        Sheet title to its cells as the file holds them.
    shared : tuple of str
        The texts that its cells refer to by number.
    values : mapping
        (sheet, row, column) to float, str, bool or `ErrorValue`; blanks are left out. A date is its serial number.
    formulas : mapping
        (sheet, row, column) to formula, with the equals sign.
    """

    source: str
    data: bytes
    parts: Mapping[str, str]
    names: Mapping[str, Range]
    broken: Mapping[str, str]
    scans: Mapping[str, SheetScan]
    shared: tuple[str, ...]
    values: Mapping[Address, Any]
    formulas: Mapping[Address, str]

    def at(self, key: str, row: int = 0) -> Any:
        """Return the value of a named cell, or of the row (counted from 0) of a named column."""
        where = self.names[key]
        return self.values.get((where.sheet, where.row + row, where.col))


def read_workbook(path: str | os.PathLike[str]) -> ReadBook:
    """Read a workbook, saved by this program, LibreOffice, Excel or another.

    Parameters
    ----------
    path : path
        An .xlsx or .xlsm file; it passes the guard first, and the bytes that passed are the ones read.

    Returns
    -------
    ReadBook
        Values, formulas and defined names.

    Raises
    ------
    FileRefused
        If the file is not safe to read, damaged, or counts its dates from 1904.
    """
    return book_of(check_workbook(path), Path(path).name)


def book_of(data: bytes, source: str) -> ReadBook:
    """Read a workbook from bytes that have passed the guard; errors as for `read_workbook`."""
    from xml.etree.ElementTree import ParseError

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return _Package(package, source).book(data)
    except (KeyError, ValueError, ExpatError, ParseError) as found:
        message = f"is damaged ({found}); get it again or restore a copy"
        raise FileRefused(Problem(source, 0, "", message)) from None


class _Package:
    """The zip being read."""

    def __init__(self, package: zipfile.ZipFile, source: str) -> None:
        self.package, self.source = package, source

    def xml(self, part: str) -> Element:
        from defusedxml.ElementTree import fromstring

        root: Element = fromstring(self.package.read(part), forbid_dtd=True)
        return root

    def links(self, part: str) -> dict[str, tuple[str, str]]:
        """Return what a part is linked to: id to (kind, part)."""
        folder, name = posixpath.split(part)
        listed = f"{folder}/_rels/{name}.rels".lstrip("/")
        found = {}
        for link in self.xml(listed):
            target = link.get("Target", "")
            whole = target if target.startswith("/") else posixpath.join("/", folder, target)
            found[link.get("Id", "")] = (link.get("Type", ""), posixpath.normpath(whole).lstrip("/"))
        return found

    def book(self, data: bytes) -> ReadBook:
        mains = [part for kind, part in self.links("").values() if kind.endswith("/officeDocument")]
        if not mains:
            raise ValueError("no part of it is named as the workbook")
        main = mains[0]
        workbook, links = self.xml(main), self.links(main)
        if any(_on(one.get("date1904")) for one in workbook if _local(one) == "workbookPr"):
            message = (
                "counts its dates from 1904; switch that off in the program's options, set its dates again and save"
            )
            raise FileRefused(Problem(self.source, 0, "", message))
        texts = [part for kind, part in links.values() if kind.endswith("/sharedStrings")]
        shared = shared_texts(self.package.read(texts[0])) if texts else ()
        parts = {}
        for sheet in (one for group in workbook if _local(group) == "sheets" for one in group):
            link = next((value for name, value in sheet.items() if name.endswith("}id")), "")
            if links[link][0].endswith(_WORKSHEET):
                parts[sheet.get("name", "")] = links[link][1]
        names, broken = _names(workbook)
        scans = {title: scan_sheet(self.package.read(part), shared) for title, part in parts.items()}
        values: dict[Address, Any] = {}
        formulas: dict[Address, str] = {}
        for title, scan in scans.items():
            for (row, col), cell in scan.cells.items():
                if cell.value is not None:
                    values[title, row, col] = cell.value
                if cell.formula is not None:
                    formulas[title, row, col] = cell.formula
        return ReadBook(self.source, data, parts, names, broken, scans, shared, values, formulas)


def _local(one: Element) -> str:
    return one.tag.rpartition("}")[2]


def _on(flag: str | None) -> bool:
    return flag in {"1", "true"}


def _names(workbook: Element) -> tuple[dict[str, Range], dict[str, str]]:
    """Return the names of the whole workbook: those that lead to cells, and the rest."""
    found: dict[str, Range] = {}
    broken: dict[str, str] = {}
    for one in (one for group in workbook if _local(group) == "definedNames" for one in group):
        name, text = one.get("name", ""), (one.text or "").strip()
        if one.get("localSheetId") is not None or name.startswith("_xlnm"):
            continue
        match = _RANGE.fullmatch(text)
        if match is None:
            broken[name] = text
            continue
        (top, left), (bottom, right) = place_of(match[3]), place_of(match[4] or match[3])
        title = match[1].replace("''", "'") if match[1] else match[2]
        found[name] = Range(title, min(top, bottom), min(left, right), abs(bottom - top) + 1, abs(right - left) + 1)
    return found, broken
