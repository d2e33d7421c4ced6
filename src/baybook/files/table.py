"""CSV in and out: read kindly, written so that every spreadsheet program takes text as text."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from numbers import Integral, Real
from pathlib import Path
from typing import Any, Literal

from baybook.files.guard import check_text_bytes, read_bounded
from baybook.files.limits import Limits, limits_in_force
from baybook.files.text import clean_text
from baybook.files.write import whole_file
from baybook.problems import FileRefused, Problem

__all__ = ["Row", "Table", "read_table", "table_text", "write_table"]

_SEPARATORS = ",;\t"
_SEPARATOR_LINE = re.compile(r'\s*"?sep=([,;\t])"?\s*', re.IGNORECASE)
_QUOTED = re.compile(r'"[^"]*(?:"|$)')
# A spreadsheet program takes a cell that begins so for a formula; a cell of ours that begins with ' says "text".
_RISKY = re.compile(r"[\t\r\n]|\s*[=+\-@'＝＋－＠]")
_UNIT = r"\s?[^\d\s.,]{0,6}"
_GROUP = r"\d{1,3}(?:[.\u00a0\u202f]\d{3})+,\d+"
_COMMA_NUMBER = re.compile(rf"[-+]?[$€£]?\s?(?:\d+,(?:\d\d?|\d{{4,}})|0,\d+|{_GROUP}){_UNIT}")
_POINT_NUMBER = re.compile(rf"[-+]?[$€£]?\s?(?:\d*\.(?:\d\d?|\d{{4,}})|0?\.\d+|\d{{1,3}}(?:,\d{{3}})+\.\d+){_UNIT}")


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line of the file it begins on, and its cells, as many as the header has."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A CSV file as text.

    Parameters
    ----------
    source : str
        The file's name.
    header : tuple of str
        The column names as written, no two alike without case.
    rows : tuple of Row
        The rows that hold anything, without comments.
    encoding : str
        ``utf-8``, ``utf-8-sig``, ``utf-16`` or ``cp1252``.
    delimiter : str
        What separates the cells.
    decimal : str
        ``.`` or ``,``, as the file's numbers are written; ``?`` where no comma separates cells and the numbers do not
        tell, so that 1.234 may be a thousand and more.
    """

    source: str
    header: tuple[str, ...]
    rows: tuple[Row, ...]
    encoding: str
    delimiter: str
    decimal: Literal[".", ",", "?"]


def read_table(path: str | os.PathLike[str], *, delimiter: str | None = None, limits: Limits | None = None) -> Table:
    r"""Read a CSV file of any usual encoding and separator.

    The first row names the columns and decides the separator: comma, semicolon or tab. Cells are trimmed; rows that
    hold nothing and rows whose first cell begins with ``#`` are skipped; a short row is filled up with empty cells.
    The apostrophe with which `write_table` marks text is taken off again.

    Parameters
    ----------
    path : path
        The file.
    delimiter : str, optional
        The separator, if the header line is not to decide.
    limits : Limits, optional
        Those in force if not given.

    Returns
    -------
    Table
        Everything as text, each row with its line.

    Raises
    ------
    FileRefused
        With every problem found: encoding, size, quotes, a column without a name or named twice, a row with more
        cells than columns, a cell too long.
    """
    limits = limits or limits_in_force()
    source = Path(path).name
    text, encoding = check_text_bytes(read_bounded(path, limits.text_bytes), source, limits)
    first, separator = _first_line(text)
    separator = delimiter or separator
    rows = _kept_rows(_parsed(text, separator, source, limits), first)
    line, names = next(rows, (1, ()))
    header = _header(names, source, line)
    found: list[Row] = []
    problems: list[Problem] = []
    for line, cells in rows:
        problem = _row_problem(cells, header, source, line, limits)
        if problem is None:
            found.append(Row(line, (*cells[: len(header)], *[""] * (len(header) - len(cells)))))
        elif len(problems) < limits.problems:
            problems.append(problem)
    if problems:
        raise FileRefused(problems)
    return Table(source, header, tuple(found), encoding, separator, _decimal(found, separator))


def write_table(
    path: str | os.PathLike[str],
    header: Sequence[str],
    rows: Iterable[Sequence[Any]],
    *,
    inside: str | os.PathLike[str] | None = None,
) -> tuple[Problem, ...]:
    """Write a CSV file (UTF-8, commas, CR LF) whole or not at all.

    Numbers given as numbers are written as such, without exponents. Everything else is text: one that a spreadsheet
    program would take for a formula gets a leading apostrophe, which `read_table` takes off again.

    Parameters
    ----------
    path : path
        The file.
    header : sequence of str
        The column names.
    rows : iterable of sequences
        Cells: text, numbers, dates, yes/no (1 or 0), or None for an empty one.
    inside : path, optional
        The folder the file must not leave.

    Returns
    -------
    tuple of Problem
        What had to be removed: characters that no workbook can hold.

    Raises
    ------
    WriteFailed
        If the file cannot be written.
    BookError
        If a text is longer than a cell holds.
    ValueError
        If a row does not fit the header, or a number is not finite.

    References
    ----------
    .. [1] RFC 4180, Common Format and MIME Type for Comma-Separated Values (CSV) Files, 2005, section 2.
    """
    text, removed = table_text(header, rows, Path(path).name)
    with whole_file(path, inside=inside) as stream:
        stream.write(text.encode("utf-8"))
    return removed


def table_text(
    header: Sequence[str], rows: Iterable[Sequence[Any]], source: str = ""
) -> tuple[str, tuple[Problem, ...]]:
    """Return the text that `write_table` writes, and what had to be removed; parameters and errors are the same."""
    removed: list[Problem] = []
    text = io.StringIO(newline="")
    names = [_written(name, source, 1, "header", removed, first=not at) for at, name in enumerate(header)]
    tricky = any(separator in name for name in names for separator in ";\t")
    csv.writer(text, quoting=csv.QUOTE_ALL if tricky else csv.QUOTE_MINIMAL, lineterminator="\r\n").writerow(names)
    writer = csv.writer(text, lineterminator="\r\n")
    for number, row in enumerate(rows, 2):
        if len(row) != len(header):
            raise ValueError(f"row {number} has {len(row)} cells for {len(header)} columns")
        cells = zip(row, header, strict=True)
        writer.writerow(
            _written(cell, source, number, name, removed, first=not at) for at, (cell, name) in enumerate(cells)
        )
    return text.getvalue(), tuple(removed)


def _first_line(text: str) -> tuple[int, str]:
    """Return the number of the line before which nothing counts, and the separator that it states or uses most."""
    for number, line in enumerate(io.StringIO(text, newline=""), 1):
        stated = _SEPARATOR_LINE.fullmatch(line)
        if number == 1 and stated:
            return 2, stated[1]
        if line.strip(f' \r\n"{_SEPARATORS}') and not line.lstrip(' "').startswith("#"):
            bare = _QUOTED.sub("", line)
            return number, max(_SEPARATORS, key=bare.count)
    return 1, ","


def _parsed(text: str, separator: str, source: str, limits: Limits) -> Iterator[tuple[int, list[str]]]:
    """Yield each row with the line it begins on."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True, strict=True)
    line = 1
    try:
        for cells in reader:
            if len(cells) > limits.fields:
                raise _problem(
                    source,
                    line,
                    f"has more than {limits.fields:,} cells, the most that is read in a row; is it a CSV file?",
                )
            yield line, cells
            line = reader.line_num + 1
    except csv.Error as error:
        raise _problem(source, line, _quote_trouble(str(error))) from None


def _quote_trouble(error: str) -> str:
    if "expected after" in error:
        return (
            "a cell that begins with a quote mark goes on after the closing one; put quote marks around the whole "
            'cell and write each one inside it twice, as in "14\' 3-1/2"""'
        )
    if "unexpected end" in error or "field larger" in error:
        return "a quote mark opens a cell that begins on this line and never closes it; add the closing quote mark"
    return f"cannot be read as a row of cells ({error}); look at its quote marks, or save the file again as CSV UTF-8"


def _kept_rows(rows: Iterable[tuple[int, list[str]]], first: int) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Yield the rows that hold anything, trimmed, without comments."""
    for line, raw in rows:
        if line < first:
            continue
        cells = [cell.strip() for cell in raw]
        if not any(cells) or cells[0].startswith("#"):
            continue
        yield line, tuple(_unmarked(cell, first=not at) for at, cell in enumerate(cells))


def _header(names: Sequence[str], source: str, line: int) -> tuple[str, ...]:
    header = list(names)
    while header and not header[-1]:
        header.pop()  # a spreadsheet program writes these for columns that were emptied
    if not header:
        raise _problem(source, line, "is empty; its first row must name the columns")
    problems: list[Problem] = []
    seen: set[str] = set()
    for number, name in enumerate(header, 1):
        if not name:
            message = f"column {number} has no name; name it, or begin its name with x_ if it is your own"
            problems.append(Problem(source, line, "", message))
        elif name.casefold() in seen:
            problems.append(Problem(source, line, name, "two columns have this name; rename or remove one"))
        seen.add(name.casefold())
    if problems:
        raise FileRefused(problems)
    return tuple(header)


def _row_problem(cells: Sequence[str], header: Sequence[str], source: str, line: int, limits: Limits) -> Problem | None:
    if any(cells[len(header) :]):
        message = (
            f"has {len(cells)} cells and the header names {len(header)} columns; put quote marks around a cell "
            "that holds the separator, or name the column"
        )
        return Problem(source, line, "", message)
    for name, cell in zip(header, cells, strict=False):
        if len(cell) > limits.field_length:
            message = f"the text is {len(cell):,} characters long and a cell holds {limits.field_length:,}; shorten it"
            return Problem(source, line, name, message)
    return None


def _decimal(rows: Iterable[Row], separator: str) -> Literal[".", ",", "?"]:
    if separator == ",":
        return "."
    point = comma = False
    for row in rows:
        for cell in row.cells:
            point = point or _POINT_NUMBER.fullmatch(cell) is not None
            comma = comma or _COMMA_NUMBER.fullmatch(cell) is not None
    return "?" if point == comma else "." if point else ","


def _written(cell: Any, source: str, line: int, name: str, removed: list[Problem], *, first: bool) -> str:
    """Return the text of a cell as the file holds it."""
    if cell is None:
        return ""
    if isinstance(cell, Integral):
        return str(int(cell))
    if isinstance(cell, Real | Decimal):
        number = cell if isinstance(cell, Decimal) else Decimal(repr(float(cell)))
        if not number.is_finite():
            raise ValueError(f"{name}: {cell} is no number that a file can hold")
        return format(number, "f")
    text, dropped = clean_text(str(cell), source, name)
    if dropped:
        removed.append(Problem(source, line, name, f"removed {', '.join(dropped)}, which no workbook can hold"))
    return f"'{text}" if _risky(text, first=first) else text


def _unmarked(cell: str, *, first: bool) -> str:
    return cell[1:] if cell.startswith("'") and _risky(cell[1:], first=first) else cell


def _risky(text: str, *, first: bool) -> bool:
    """Tell text that needs the mark: it would act as a formula or, in the first column, as a comment."""
    if not text or text.isspace():
        return False
    return _RISKY.match(text) is not None or (first and text.lstrip().startswith("#"))


def _problem(source: str, line: int, message: str) -> FileRefused:
    return FileRefused(Problem(source, line, "", message))
