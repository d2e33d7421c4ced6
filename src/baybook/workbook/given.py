"""What a person gave in the input sheets, as the tables of a book: read by the same rules, refused by cell."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from baybook.estimate import Estimate, build_estimate
from baybook.job.fields import Field, Kind, fields_of, show
from baybook.job.rates import Rates, rate_field
from baybook.job.reading import BOOK_FILES, read_inputs
from baybook.job.records import (
    ITEMS,
    Acceptance,
    Area,
    CodeRow,
    Extra,
    Framing,
    Job,
    JobInputs,
    Liner,
    Measured,
    Override,
    Post,
    PriceRow,
    QuoteRow,
    StockPiece,
    Supplier,
)
from baybook.problems import BookError, FileRefused, Problem
from baybook.workbook.declare import column_letter
from baybook.workbook.read import Address, Range, ReadBook
from baybook.workbook.semantics import ErrorValue, number_text
from baybook.workbook.sheets.inputs import Units

__all__ = [
    "INPUT_TABLES",
    "Given",
    "GivenRow",
    "GivenTable",
    "GivenText",
    "InputTable",
    "given_in",
    "given_of",
    "inputs_of",
    "needs_value",
    "rate_fields",
]

DAY_KEY = "job_prices_on"
_EPOCH = dt.date(1899, 12, 30)
_LAST_DAY = 2_958_465  # 9999-12-31


@dataclass(frozen=True, slots=True)
class InputTable:
    """A table of a book in a workbook: its columns' prefix; a row without its key, or any of some, counts nowhere."""

    record: type
    prefix: str
    key: str = ""
    any_of: tuple[str, ...] = ()


INPUT_TABLES: Mapping[str, InputTable] = {
    "areas": InputTable(Area, "a", "area"),
    "framing": InputTable(Framing, "f", "area"),
    "measured": InputTable(Measured, "ms", "bay", ("clear_width", "clear_run")),
    "liners": InputTable(Liner, "l"),
    "prices": InputTable(PriceRow, "v", "item"),
    "extras": InputTable(Extra, "e"),
    "overrides": InputTable(Override, "h", "item"),
    "stock": InputTable(StockPiece, "r", "item"),
    "posts": InputTable(Post, "pp", "area"),
    "suppliers": InputTable(Supplier, "sp", "supplier"),
    "codes": InputTable(CodeRow, "code", "size"),
    "acceptances": InputTable(Acceptance, "acc", "rule"),
    "quote": InputTable(QuoteRow, "qt", "kind"),
}


@dataclass(frozen=True, slots=True)
class GivenRow:
    """A row of text with the row of the sheet it stands in."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class GivenTable:
    """A table of a book as its sheet has it; `source` is the sheet's title."""

    source: str
    header: tuple[str, ...]
    rows: tuple[GivenRow, ...]
    decimal: str | None = "."


@dataclass(frozen=True, slots=True)
class GivenText:
    """A text that stands in an input cell, and the field it is read as; rows of a column count from 0."""

    key: str
    row: int
    address: Address
    field: Field
    text: str


@dataclass(slots=True)
class Given:
    """The inputs of a workbook.

    Parameters
    ----------
    source : str
        The file, for messages.
    tables : dict
        The tables of a book, by file name without ``.csv``.
    inputs : JobInputs
        What they were read to; their places are sheet and row.
    texts : list of GivenText
        Cells of numbers, lists and dates that hold text.
    metric : bool
        Inputs are shown in metres and millimetres.
    cells : dict
        (sheet, row, column of the book) to address.
    """

    source: str
    tables: dict[str, GivenTable] = field(default_factory=dict)
    texts: list[GivenText] = field(default_factory=list)
    metric: bool = False
    cells: dict[tuple[str, int, str], Address] = field(default_factory=dict)
    _inputs: JobInputs | None = None

    @property
    def inputs(self) -> JobInputs:
        """What the tables were read to."""
        assert self._inputs is not None  # noqa: S101  given_of sets it before anybody sees this
        return self._inputs

    def told(self, problems: Iterable[Problem]) -> BookError:
        """Return problems that name the file, the sheet and the cell, in the order of the input sheets."""
        order = {table.source: at for at, table in enumerate(self.tables.values())}
        found = sorted(problems, key=lambda one: (order.get(one.source, len(order)), one.line))
        return BookError([self._told(problem) for problem in found])

    def estimate(self) -> Estimate:
        """Return the estimate of these inputs; what the rules refuse is told by cell."""
        try:
            return build_estimate(self.inputs)
        except BookError as refused:
            raise self.told(refused.problems) from None

    def _told(self, problem: Problem) -> Problem:
        at = self.cells.get((problem.source, problem.line, problem.field.removesuffix("_in")))
        at = at or self.cells.get((problem.source, problem.line, problem.field))
        message = problem.message
        for name, table in self.tables.items():
            message = message.replace(f"{name}.csv", f"sheet {table.source}")
        if at:
            return Problem(self.source, 0, f"{at[0]}!{column_letter(at[2])}{at[1]} {problem.field}", message)
        place = f"{problem.source} row {problem.line}" if problem.line else problem.source
        return Problem(self.source, 0, " ".join(filter(None, (place, problem.field))), message)


def needs_value(one: Field) -> bool:
    """Return whether a single cell must be filled: formulas know no default."""
    return one.required or one.default not in {None, "", 0}


def rate_fields() -> tuple[Field, ...]:
    """Return every rate that a workbook holds, the wastes included."""
    wastes = (rate_field(f"waste_{code}") for code, item in ITEMS.items() if not item.cut)
    return (*(one for one in fields_of(Rates) if one.name != "units"), *(one for one in wastes if one is not None))


def inputs_of(values: Mapping[Address, Any], names: Mapping[str, Range], source: str = "") -> JobInputs:
    """Return the inputs that the cells of a workbook hold.

    Parameters
    ----------
    values : mapping
        (sheet, row, column) to value; dates as serial numbers; a blank is left out, None or "".
    names : mapping of str to Range
        Where its defined names lead.
    source : str
        The file, for messages.

    Returns
    -------
    JobInputs
        As a book with the same values gives; places are sheet and row.

    Raises
    ------
    BookError
        With every input that cannot be read, named by sheet and cell.
    """
    return given_of(values, names, source).inputs


def given_of(values: Mapping[Address, Any], names: Mapping[str, Range], source: str = "") -> Given:
    """Return the inputs that the cells of a workbook hold, with the tables they were read from; see `inputs_of`."""
    return _Reader(values, names, source).given()


def given_in(book: ReadBook) -> Given:
    """Return the inputs of a workbook that was read; see `inputs_of`."""
    return given_of(book.values, book.names, book.source)


class _Reader:
    """Cells on their way to text."""

    def __init__(self, values: Mapping[Address, Any], names: Mapping[str, Range], source: str) -> None:
        self.values, self.names = values, names
        self.made = Given(source)
        self.problems: list[Problem] = []
        if "job_job" not in names or "a_area" not in names:
            raise FileRefused(
                Problem(
                    source,
                    0,
                    "",
                    "is no workbook of baybook, or its input sheets are gone: none of their names is in it",
                )
            )
        self.made.metric = self.raw("metric") == 1
        self.units = Units(self.made.metric)

    def raw(self, key: str, row: int = 0) -> Any:
        where = self.names.get(key)
        value = self.values.get((where.sheet, where.row + row, where.col)) if where else None
        return None if isinstance(value, str) and not value.strip() else value

    def given(self) -> Given:
        made = self.made
        job = self.job_table()
        made.tables = {"jobs": job, "rates": self.rates_table()}
        for name, one in INPUT_TABLES.items():
            table = self.table(one, self.text("job_job", next(iter(fields_of(Job)))))
            if table is not None:
                made.tables[name] = table
        made.tables = {name: made.tables[name] for name in BOOK_FILES if name in made.tables}
        day = self.day()
        if self.problems:
            raise made.told(self.problems)
        try:
            made._inputs = read_inputs(made.tables, day)[0]  # noqa: SLF001  the maker of this very object
        except BookError as refused:
            raise made.told(refused.problems) from None
        return made

    # ------------------------------------------------------------------------------------------------------- tables

    def job_table(self) -> GivenTable:
        declared = fields_of(Job)
        title = self.names["job_job"].sheet
        cells = tuple(self.cell(f"job_{one.name}", one, title, 0) for one in declared)
        for one, text in zip(declared, cells, strict=True):
            self.must_hold(f"job_{one.name}", one, text)
        return GivenTable(title, tuple(one.name for one in declared), (GivenRow(0, cells),))

    def rates_table(self) -> GivenTable:
        fixed = GivenRow(0, ("units", "metric" if self.made.metric else "us"))
        rows, title = [fixed], ""
        for one in rate_fields():
            where = self.names.get(one.name)
            if where is None:
                continue
            title = where.sheet
            text = self.cell(one.name, one, title, where.row)
            self.must_hold(one.name, one, text)
            if text:
                rows.append(GivenRow(where.row, (one.name, text)))
        return GivenTable(title, ("key", "value"), tuple(rows))

    def must_hold(self, key: str, one: Field, text: str) -> None:
        """Refuse a blank where a book would read a default that no formula knows."""
        where = self.names.get(key)
        if where is not None and not text and needs_value(one) and not one.required:
            self.say((where.sheet, where.row, where.col), one, f"is empty: its default is {show(one, one.default)}")

    def table(self, one: InputTable, job: str) -> GivenTable | None:
        declared = [each for each in fields_of(one.record) if each.name != "job"]
        known = [each for each in declared if f"{one.prefix}_{each.name}" in self.names]
        if not known:
            return None
        first = self.names[f"{one.prefix}_{known[0].name}"]
        of_job = len(declared) < len(fields_of(one.record))
        rows = []
        for row in range(first.rows):
            if one.key and self.raw(f"{one.prefix}_{one.key}", row) is None:
                continue
            if one.any_of and all(self.raw(f"{one.prefix}_{name}", row) is None for name in one.any_of):
                continue
            line = first.row + row
            cells = tuple(self.table_cell(one.prefix, each, first.sheet, line, row) for each in known)
            if any(cells):
                rows.append(GivenRow(line, (job, *cells) if of_job else cells))
        header = tuple(each.name for each in known)
        return GivenTable(first.sheet, ("job", *header) if of_job else header, tuple(rows))

    def table_cell(self, prefix: str, one: Field, sheet: str, line: int, row: int) -> str:
        key = f"{prefix}_{one.name}"
        if one.kind is Kind.JOIST and self.raw(f"{key}_depth", row) is not None:
            return self.cell(f"{key}_depth", one, sheet, line, row)
        text = self.cell(key, one, sheet, line, row)
        record = self.raw(f"{prefix}_liner", row) if one.name == "item" and prefix in {"h", "r"} else None
        return f"{text}: {_words(record)}" if record is not None else text

    def cell(self, key: str, one: Field, sheet: str, line: int, row: int = 0) -> str:
        """Return the text of a cell, and note where it stands."""
        where = self.names.get(key)
        if where is not None:
            self.made.cells[sheet, line, one.name] = (where.sheet, where.row + row, where.col)
        return self.text(key, one, row)

    # --------------------------------------------------------------------------------------------------------- text

    def text(self, key: str, one: Field, row: int = 0) -> str:
        value = self.raw(key, row)
        if value is None:
            return ""
        where = self.names[key]
        address = (where.sheet, where.row + row, where.col)
        if isinstance(value, ErrorValue):
            self.say(address, one, f"shows the error {value}: type the value itself")
            return ""
        if isinstance(value, bool):
            return str(value).upper()
        if isinstance(value, str):
            self.made.texts.append(GivenText(key, row, address, one, value))
            return value.strip()
        try:
            return self.number(float(value), one)
        except ValueError as found:
            self.say(address, one, str(found))
            return ""

    def number(self, value: float, one: Field) -> str:
        """Return a number as text that reads back to it, with its unit where a book needs one."""
        if one.kind in {Kind.LENGTH, Kind.JOIST} and not one.name.endswith(("_in", "_ft")):
            unit = self.units.of(one)
            return f"{_plain(round(value * 12, 12))} in" if unit == "ft" else f"{_plain(value)} {unit}"
        if one.kind is Kind.DATE:
            return _day(value).isoformat()
        if one.kind is Kind.PERCENT:
            return f"{_plain(Decimal(repr(value)) * 100)}%"
        if one.kind in {Kind.NAME, Kind.TEXT, Kind.WORD, Kind.CURRENCY, Kind.SIZE}:
            return number_text(value)
        return _plain(value) + {Kind.RAIN: " in/h", Kind.FALL: " in/ft", Kind.AREA: " sq ft"}.get(one.kind, "")

    def day(self) -> dt.date:
        """Return the day whose prices count while the job has no quote date."""
        one = Field(name="prices_on", kind=Kind.DATE, help="the day whose prices count while quoted on is empty")
        text = self.text(DAY_KEY, one)
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            where = self.names.get(DAY_KEY)
            if where is not None and self.raw("job_quoted_on") is None:
                read = f"{text!r} is not a date" if text else "is empty"
                self.say((where.sheet, where.row, where.col), one, f"{read}: write {one.help}, as 2026-11-25")
        return dt.date.min

    def say(self, address: Address, one: Field, message: str) -> None:
        sheet, row, _ = address
        self.made.cells[sheet, row, one.name] = address
        self.problems.append(Problem(sheet, row, one.name, message))


def _words(value: Any) -> str:
    return number_text(value) if isinstance(value, float | int) else str(value).strip()


def _plain(value: float | Decimal) -> str:
    """Return a number in digits, without an exponent."""
    text = format(value if isinstance(value, Decimal) else Decimal(repr(value)), "f")
    return text.rstrip("0").rstrip(".") if "." in text else text


def _day(value: float) -> dt.date:
    if value != int(value) or not 1 <= value <= _LAST_DAY:
        raise ValueError(f"{_plain(value)} is not a day: write a date without a time, as 2026-11-25")
    return _EPOCH + dt.timedelta(days=int(value))
