"""From the text of buying's tables to its records, with every problem of every row."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar, cast

from baybook.buying.records import InvoiceRow, MappingRow, Settings
from baybook.job.fields import Field, Kind, Reading, fields_of, parse
from baybook.job.reading import SourceRow, SourceTable
from baybook.job.records import Place
from baybook.problems import Problem

__all__ = ["Mapped", "mapped_table", "read_records", "read_settings"]

R = TypeVar("R")
SETTINGS_COLUMNS = {
    "job": Field(name="job", attribute="job", kind=Kind.NAME, default="", help="the job; empty: all"),
    "key": Field(name="key", attribute="key", kind=Kind.TEXT, required=True, help="the setting"),
    "value": Field(name="value", attribute="value", kind=Kind.TEXT, required=True, help="its value"),
}
_DATE = re.compile(r"(\d{1,4})[-/. ](\d{1,2})[-/. ](\d{1,4})")


def _nearest(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word.casefold(), list(known), n=1, cutoff=0.5)
    return f"; did you mean {close[0]}?" if close else ""


def _columns(table: SourceTable, declared: Mapping[str, Field], problems: list[Problem]) -> dict[str, int]:
    """Return where each declared column stands; an unknown one is a problem, one beginning x_ is the user's."""
    found: dict[str, int] = {}
    for at, name in enumerate(table.header):
        key = name.casefold()
        if key in declared:
            found[key] = at
        elif not key.startswith("x_"):
            said = f"unknown column{_nearest(key, declared)} (columns of your own begin with x_)"
            problems.append(Problem(table.source, 1, name, said))
    for key, one in declared.items():
        if one.required and key not in found:
            problems.append(Problem(table.source, 1, key, f"column is missing: {one.help} is needed"))
    return found


def _cells_reader(one: Field, reading: Reading) -> Callable[[str], Any]:
    """Return the reader of one column; a text that was read before is not read again."""
    seen: dict[str, Any] = {}

    def read(text: str) -> Any:
        try:
            return seen[text]
        except KeyError:
            value = seen[text] = parse(one, text, reading)
            return value

    return read


def _rows(
    table: SourceTable, declared: Mapping[str, Field], problems: list[Problem]
) -> Iterable[tuple[Place, dict[str, Any]]]:
    where = _columns(table, declared, problems)
    if any(one.required and key not in where for key, one in declared.items()):
        return
    reading = Reading(decimal=table.decimal or ".")
    readers = [(one, where[key], _cells_reader(one, reading)) for key, one in declared.items() if key in where]
    for row in table.rows:
        place, values, good = Place(table.source, row.line), {}, True
        for one, at, read in readers:
            try:
                values[one.attribute] = read(row.cells[at])
            except ValueError as found:
                problems.append(place.problem(one.name, str(found)))
                good = False
        if good:
            yield place, values


def read_records(table: SourceTable | None, record: type[R], problems: list[Problem]) -> list[R]:
    """Read a table of one kind of record.

    Parameters
    ----------
    table : SourceTable or None
        The table; None where the file is not there.
    record : type
        A record with declared fields and a place.
    problems : list of Problem
        What cannot be read is added to it.

    Returns
    -------
    list
        The rows that could be read, in order.
    """
    if table is None:
        return []
    declared = {one.name: one for one in fields_of(record)}
    make = cast("Callable[..., R]", record)
    return [make(**values, place=place) for place, values in _rows(table, declared, problems)]


# ---------------------------------------------------------------------------------------------- a supplier's own file


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Mapped:
    """A supplier's table under the names of invoices.csv.

    Parameters
    ----------
    source, header, rows, decimal
        As of any table.
    """

    source: str
    header: tuple[str, ...]
    rows: Sequence[SourceRow]
    decimal: str | None


def mapped_table(table: SourceTable, rows: Sequence[MappingRow], problems: list[Problem]) -> SourceTable:
    """Put a supplier's own file under the names of invoices.csv, by the mapping kept in the book.

    Columns of theirs that no row maps are left out. A date is turned into year-month-day.

    Parameters
    ----------
    table : SourceTable
        Their file.
    rows : sequence of MappingRow
        mapping.csv, all suppliers.
    problems : list of Problem
        A column of theirs that is not there is added to it.

    Returns
    -------
    SourceTable
        The same rows and lines under our names; the file as it is if no mapping begins with its name.
    """
    mine = [row for row in rows if table.source.casefold().startswith(row.files.casefold())]
    if not mine:
        return table
    longest = max(len(row.files) for row in mine)
    mine = [row for row in mine if len(row.files) == longest]
    theirs = {name.casefold(): at for at, name in enumerate(table.header)}
    known = {one.name: one for one in fields_of(InvoiceRow)}
    places: list[tuple[MappingRow, int]] = []
    for row in mine:
        column = row.column.casefold()
        if column not in known:
            problems.append(
                row.place.problem("column", f"{row.column!r} is no column of invoices.csv{_nearest(column, known)}")
            )
        elif row.theirs.casefold() not in theirs:
            said = f"{row.theirs!r} is no column of {table.source}{_nearest(row.theirs, theirs)}"
            problems.append(row.place.problem("theirs", said))
        else:
            places.append((row, theirs[row.theirs.casefold()]))
    named = any(row.column.casefold() == "supplier" for row in mine)
    supplier = () if named else (mine[0].supplier,)
    header = (*(row.column.casefold() for row, _ in places), *(() if named else ("supplier",)))
    made = [
        _Row(line.line, (*(_date(line.cells[at], one, known) for one, at in places), *supplier)) for line in table.rows
    ]
    return Mapped(table.source, header, made, table.decimal)


def _date(text: str, row: MappingRow, known: Mapping[str, Field]) -> str:
    """Return a date of theirs as year-month-day; anything else as it is."""
    found = _DATE.fullmatch(text) if known[row.column.casefold()].kind is Kind.DATE and row.dates != "ymd" else None
    if not found:
        return text
    parts = dict(zip(row.dates, found.groups(), strict=True))
    year = parts["y"] if len(parts["y"]) != 2 else f"20{parts['y']}"
    return f"{year}-{int(parts['m']):02d}-{int(parts['d']):02d}"


# ---------------------------------------------------------------------------------------------- settings


def read_settings(table: SourceTable | None, problems: list[Problem]) -> Callable[[str], Settings]:
    """Read buying.csv.

    Parameters
    ----------
    table : SourceTable or None
        Columns job, key, value; None where the file is not there.
    problems : list of Problem
        What cannot be read is added to it.

    Returns
    -------
    callable
        Job code (empty: none) -> its settings; a job's own rows win over those of the whole book.
    """
    declared = {one.name: one for one in fields_of(Settings)}
    parsed: dict[str, dict[str, Any]] = {}
    for place, values in _rows(table, SETTINGS_COLUMNS, problems) if table else ():
        key, job = values["key"].casefold(), values.get("job", "").casefold()
        if key not in declared:
            problems.append(place.problem(values["key"], f"unknown setting{_nearest(key, declared)}"))
            continue
        if job and key not in {"start", "ship_to", "buffer_days"}:
            problems.append(place.problem(key, "is the same for all jobs: leave the job empty"))
        if key in parsed.setdefault(job, {}):
            problems.append(place.problem(key, "is set twice: keep one of the rows"))
        try:
            parsed[job][key] = parse(declared[key], values["value"], Reading(decimal=(table and table.decimal) or "."))
        except ValueError as found:
            problems.append(place.problem(key, str(found)))
    common = Settings(**parsed.get("", {}))

    def of_job(job: str) -> Settings:
        return replace(common, **parsed.get(job.casefold(), {})) if job else common

    return of_job
