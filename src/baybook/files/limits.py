"""How much of a file from outside is read: one table of limits for every guard."""

from __future__ import annotations

import os
from dataclasses import dataclass, fields, replace
from functools import lru_cache

from baybook.problems import BookError, Problem

__all__ = ["LIMITS", "VARIABLE", "Limits", "limits_in_force"]

VARIABLE = "BAYBOOK_LIMITS"
MIB = 1 << 20


@dataclass(frozen=True, slots=True)
class Limits:
    """The most that is accepted of a file from outside; more is refused before any parser sees it.

    The environment variable ``BAYBOOK_LIMITS`` changes single values for one run, as in
    ``BAYBOOK_LIMITS="rows=50000,text_bytes=40000000"``; a name that is not listed here is refused.

    Parameters
    ----------
    disk_bytes : int
        Size of a workbook or XML file as it lies on the disk. [bytes]
    unpacked_bytes : int
        Size of all parts of a workbook together once unpacked, and of an XML file. [bytes]
    ratio : int
        Unpacked over packed size of one part larger than 1 MiB.
    parts : int
        Parts (files inside the zip) of a workbook.
    elements : int
        XML elements in all parts of a workbook together, and in an XML file.
    depth : int
        XML elements inside one another.
    rows, columns : int
        The lowest row and the rightmost column of a sheet that holds a cell.
    spread : int
        Cells of a workbook covered by merged ranges and by links.
    text_bytes : int
        Size of a CSV file. [bytes]
    lines : int
        Lines of a CSV file.
    line_length : int
        Length of one line of a CSV file. [bytes in UTF-8]
    fields : int
        Cells of one row of a CSV file.
    field_length : int
        Length of one cell: what a spreadsheet cell holds. [characters]
    problems : int
        Problems of one file reported before the reading stops.
    """

    disk_bytes: int = 32 * MIB
    unpacked_bytes: int = 64 * MIB
    ratio: int = 200
    parts: int = 1_000
    elements: int = 1_000_000
    depth: int = 200
    rows: int = 20_000
    columns: int = 500
    spread: int = 200_000
    text_bytes: int = 16 * MIB
    lines: int = 200_000
    line_length: int = 262_144
    fields: int = 1_000
    field_length: int = 32_767
    problems: int = 100


LIMITS = Limits()


def limits_in_force() -> Limits:
    """Return the limits of this run: the defaults, changed by the environment variable ``BAYBOOK_LIMITS``.

    Returns
    -------
    Limits
        One record for the whole run, as long as the variable stays the same.

    Raises
    ------
    BookError
        If the variable holds an unknown name or a value that is not a positive whole number.
    """
    return _changed(os.environ.get(VARIABLE, ""))


@lru_cache(maxsize=8)
def _changed(text: str) -> Limits:
    known = [field.name for field in fields(Limits)]
    changes = {}
    for entry in filter(None, map(str.strip, text.split(","))):
        name, _, value = (part.strip() for part in entry.partition("="))
        if name not in known:
            raise BookError(Problem(VARIABLE, 0, name, f"no such limit; the limits are {', '.join(known)}"))
        if not (value.isascii() and value.isdigit() and len(value) < 19 and int(value) > 0):
            raise BookError(Problem(VARIABLE, 0, name, f"read {value!r}; write a whole number above 0"))
        changes[name] = int(value)
    return replace(LIMITS, **changes)
