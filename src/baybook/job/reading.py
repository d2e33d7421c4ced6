"""From the text of a book's tables to frozen job inputs, with all problems of all files at once."""

from __future__ import annotations

import datetime as dt
import difflib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, Protocol, TypeVar

from baybook.job.drainage import SourceRain, check_codes, with_drainage
from baybook.job.fields import Field, Kind, Reading, fields_of, parse
from baybook.job.quote import check_quote, quote_of
from baybook.job.rates import Rates, rate_field
from baybook.job.records import (
    CUT_GOODS,
    ITEMS,
    LINER_ITEMS,
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
    Place,
    Post,
    PriceRow,
    QuoteRow,
    StockPiece,
    Supplier,
)
from baybook.numbers import r6, same_or_less, sixteenths_down
from baybook.outline import outline_of, parse_outline
from baybook.problems import BookError, Problem
from baybook.units import parse_length

__all__ = ["BOOK_FILES", "SourceRow", "SourceTable", "read_inputs", "read_prices"]

R = TypeVar("R")


class SourceRow(Protocol):
    """A row of text with the line it stands in."""

    @property
    def line(self) -> int:
        """Line of the file, from 1."""
        ...

    @property
    def cells(self) -> tuple[str, ...]:
        """Its cells, as many as the table has columns."""
        ...


class SourceTable(Protocol):
    """A table of text as a file reader gives it."""

    @property
    def source(self) -> str:
        """Name of the file or sheet."""
        ...

    @property
    def header(self) -> tuple[str, ...]:
        """Column names as written."""
        ...

    @property
    def rows(self) -> Sequence[SourceRow]:
        """The rows that hold something."""
        ...

    @property
    def decimal(self) -> str | None:
        """The decimal mark the file uses."""
        ...


BOOK_FILES: Mapping[str, bool] = {  # name -> must it be there
    "jobs": True,
    "areas": True,
    "framing": False,
    "measured": False,
    "liners": True,
    "prices": True,
    "rates": False,
    "extras": False,
    "overrides": False,
    "stock": False,
    "suppliers": False,
    "posts": False,
    "codes": False,
    "acceptances": False,
    "quote": False,
}


@dataclass(slots=True)
class _Desk:
    """What is gathered while a book is read."""

    problems: list[Problem] = field(default_factory=list)
    metric_book: bool = False
    metric_jobs: dict[str, bool] = field(default_factory=dict)

    def say(self, place: Place, column: str, message: str) -> None:
        self.problems.append(place.problem(column, message))

    def metric(self, job: str | None) -> bool:
        return self.metric_book if job is None else self.metric_jobs.get(job.casefold(), self.metric_book)


def _nearest(word: str, known: Iterable[str]) -> str:
    close = difflib.get_close_matches(word.casefold(), list(known), n=1, cutoff=0.5)
    return f"; did you mean {close[0]}?" if close else ""


def _columns(table: SourceTable, declared: Mapping[str, Field], desk: _Desk) -> dict[str, int]:
    """Return where each declared column stands; an unknown one is a problem, one beginning x_ is the user's."""
    found: dict[str, int] = {}
    for at, name in enumerate(table.header):
        key = name.casefold()
        if key in declared:
            found[key] = at
        elif not key.startswith("x_"):
            desk.problems.append(
                Problem(
                    table.source,
                    1,
                    name,
                    f"unknown column{_nearest(key, declared)} (columns of your own begin with x_)",
                )
            )
    for key, one in declared.items():
        if one.required and key not in found:
            desk.problems.append(Problem(table.source, 1, key, f"column is missing: {one.help} is needed"))
    return found


def _record(
    table: SourceTable, row: SourceRow, where: Mapping[str, int], declared: Mapping[str, Field], desk: _Desk
) -> Any:
    """Read one row; None if any cell of it has a problem."""
    place = Place(table.source, row.line)
    job = row.cells[where["job"]] if "job" in where and "job" in declared else None
    reading = Reading(metric=desk.metric(job), decimal=table.decimal or ".")
    values: dict[str, Any] = {"place": place}
    good = True
    for key, one in declared.items():
        text = row.cells[where[key]] if key in where else ""
        if key not in where and one.required:
            good = False  # the missing column was reported once
            continue
        try:
            values[one.attribute] = parse(one, text, reading)
        except ValueError as found:
            desk.say(place, one.name, str(found))
            good = False
    return values if good else None


def _records(table: SourceTable | None, record: type[R], desk: _Desk) -> list[R]:
    if table is None:
        return []
    declared = {one.name: one for one in fields_of(record)}
    where = _columns(table, declared, desk)
    read = (_record(table, row, where, declared, desk) for row in table.rows)
    return [record(**values) for values in read if values is not None]


@dataclass(frozen=True, slots=True)
class _Written:
    """The names that stand in a book, without case, whether or not the rest of their row could be read.

    A name is None where its file or column is missing: what refers to it is not blamed for that.
    """

    jobs: frozenset[str] | None
    liners: Mapping[str, str] | None  # without case -> as written
    areas: frozenset[tuple[str, str]]

    def has_liner(self, name: str) -> bool:
        """Return whether a record of this name stands in liners.csv, as far as can be told."""
        return self.liners is None or name.casefold() in self.liners


def _column_of(table: SourceTable | None, name: str) -> list[str] | None:
    names = [one.casefold() for one in table.header] if table else []
    return [row.cells[names.index(name)] for row in table.rows] if table and name in names else None


def _written(tables: Mapping[str, SourceTable]) -> _Written:
    jobs, liners = _column_of(tables.get("jobs"), "job"), _column_of(tables.get("liners"), "liner")
    pairs = [_column_of(tables.get("areas"), name) or () for name in ("job", "area")]
    return _Written(
        jobs=None if jobs is None else frozenset(name.casefold() for name in jobs),
        liners=None if liners is None else {name.casefold(): name for name in liners if name},
        areas=frozenset((job.casefold(), area.casefold()) for job, area in zip(*pairs, strict=False)),
    )


def _one_each(records: Iterable[Any], key: Callable[[Any], Any], column: str, desk: _Desk) -> dict[Any, Any]:
    found: dict[Any, Any] = {}
    for one in records:
        if key(one) in found:
            first = found[key(one)].place
            desk.say(one.place, column, f"stands already in line {first.line} of {first.source}: keep one of them")
        else:
            found[key(one)] = one
    return found


# ---------------------------------------------------------------------------------------------- rates


@dataclass(frozen=True, slots=True, kw_only=True)
class _RateRow:
    job: str
    key: str
    text: str
    place: Place


def _rate_rows(table: SourceTable | None, desk: _Desk) -> list[_RateRow]:
    if table is None:
        return []
    declared = {
        "job": Field(name="job", attribute="job", kind=Kind.NAME, default=""),
        "key": Field(name="key", attribute="key", kind=Kind.TEXT, required=True, help="the rate"),
        "value": Field(name="value", attribute="text", kind=Kind.TEXT, required=True, help="its value"),
    }
    where = _columns(table, declared, desk)
    read = (_record(table, row, where, declared, desk) for row in table.rows)
    rows = [_RateRow(**{**values, "key": values["key"].casefold()}) for values in read if values is not None]
    _one_each(rows, lambda row: (row.job.casefold(), row.key), "key", desk)
    for row in rows:
        if row.key == "units":
            metric = row.text.casefold() == "metric"
            if row.job:
                desk.metric_jobs[row.job.casefold()] = metric
            else:
                desk.metric_book = metric
    return rows


def _unknown_rate(key: str) -> str:
    if key.startswith("waste_") and key.removeprefix("waste_") in CUT_GOODS:
        return "cut goods get no waste percentage, the cut plan is their waste: take this row out"
    known = [one.name for one in fields_of(Rates)] + [f"waste_{code}" for code in ITEMS]
    return f"unknown rate{_nearest(key, known)}"


def _rates(rows: Sequence[_RateRow], decimal: str, desk: _Desk) -> Callable[[str], Rates]:
    """Return job code -> its rates; a job's own rows win over those of the whole book."""
    parsed: dict[str, dict[str, Any]] = {}
    for row in rows:
        one = rate_field(row.key)
        if one is None:
            desk.say(row.place, row.key, _unknown_rate(row.key))
            continue
        try:
            value = parse(one, row.text, Reading(metric=False, decimal=decimal))
        except ValueError as found:
            desk.say(row.place, row.key, str(found))
            continue
        parsed.setdefault(row.job.casefold(), {})[one.attribute] = value

    def of_job(job: str) -> Rates:
        merged = parsed.get("", {}) | parsed.get(job.casefold(), {})
        waste = {key.removeprefix("waste_"): value for key, value in merged.items() if key.startswith("waste_")}
        plain = {key: value for key, value in merged.items() if not key.startswith("waste_")}
        return Rates(**plain, waste=MappingProxyType(waste))

    return of_job


# ---------------------------------------------------------------------------------------------- cross-checks

_UNIT_FACTORS: Mapping[str, Mapping[str, float]] = {
    "seam_tape": {"ft": 1.0, "m": 1 / 0.3048},
    **{code: {"piece": 1.0, "each": 1.0} for code in CUT_GOODS},
    "sealant": {"cartridge": 1.0, "each": 1.0},
}


def _check_price(row: PriceRow, written: _Written, desk: _Desk) -> PriceRow:
    item = ITEMS[row.item]
    factors = _UNIT_FACTORS.get(row.item, {"each": 1.0})
    unit = row.unit.casefold() or item.unit
    if unit not in factors:
        desk.say(row.place, "unit", f"{row.unit!r} does not fit {row.item}: use {' or '.join(factors)}")
    if item.cut and row.length_in is None:
        desk.say(row.place, "length", f"is empty: {row.item} is cut from stock, so its stock length is needed")
    if item.cut and row.pack_qty != 1:
        desk.say(
            row.place, "pack_qty", f"{row.pack_qty:g}: {row.item} is cut from single stock pieces, so this must be 1"
        )
    if row.item == "liner" and row.width_in is None:
        desk.say(row.place, "width", "is empty: the width of the liner decides whether it spans a bay")
    if row.liner and not written.has_liner(row.liner):
        desk.say(
            row.place, "liner", f"{row.liner!r} is no liner of liners.csv{_nearest(row.liner, written.liners or ())}"
        )
    if row.liner and row.item not in LINER_ITEMS:
        desk.say(row.place, "liner", f"{row.item} belongs to no liner: leave it empty")
    if row.valid_from and row.valid_to and row.valid_to < row.valid_from:
        desk.say(row.place, "valid_to", f"{row.valid_to} is before valid_from {row.valid_from}")
    factor = factors.get(unit, 1.0)
    if factor == 1.0:
        return row
    values = {one.attribute: getattr(row, one.attribute) for one in fields_of(PriceRow)}
    return PriceRow(**{**values, "pack_qty": round(row.pack_qty * factor, 6), "unit": item.unit, "place": row.place})


def _check_overlaps(rows: Sequence[PriceRow], desk: _Desk) -> None:
    by_sku: dict[tuple[str, str, str], list[PriceRow]] = {}
    for row in rows:
        by_sku.setdefault((row.supplier.casefold(), row.sku.casefold(), row.currency), []).append(row)
    for same in by_sku.values():
        same.sort(key=lambda row: row.valid_from or dt.date.min)
        last = same[0]  # of those that began before, the one in force longest
        for row in same[1:]:
            if (last.valid_to or dt.date.max) >= (row.valid_from or dt.date.min):
                desk.say(
                    row.place,
                    "valid_from",
                    f"{row.supplier} {row.sku} is priced twice for the same days: "
                    f"here and in line {last.place.line}; end one before the other begins",
                )
            last = max(last, row, key=lambda one: one.valid_to or dt.date.max)


def _needed_columns(row: Framing) -> tuple[str, ...]:
    return {
        "member": ("x_in", "plies"),
        "divider": ("x_in",),
        "flush_beam": ("y_in", "plies"),
        "dropped_beam": ("y_in", "plies"),
        "blocking": ("y_in",),
        "opening": ("x_in", "y_in", "width_in", "projection_in"),
    }[row.kind]


def _check_framing(row: Framing, area: Area, desk: _Desk) -> None:
    for attribute in _needed_columns(row):
        if getattr(row, attribute) is None:
            desk.say(row.place, attribute.removesuffix("_in"), f"is empty: a {row.kind.replace('_', ' ')} needs it")
    if row.x_in is not None and not same_or_less(row.x_in, area.width_in):
        desk.say(row.place, "x", f"{row.x_in / 12:g} ft lies outside area {area.area}, {area.width_in / 12:g} ft wide")
    if row.y_in is not None and not same_or_less(row.y_in, area.projection_in):
        desk.say(
            row.place, "y", f"{row.y_in / 12:g} ft lies outside area {area.area}, {area.projection_in / 12:g} ft deep"
        )
    if row.kind != "opening":
        return
    for column, begin, size, most, what in (
        ("width", row.x_in, row.width_in, area.width_in, "wide"),
        ("projection", row.y_in, row.projection_in, area.projection_in, "deep"),
    ):
        if begin is not None and size is not None and not same_or_less(begin + size, most):
            desk.say(
                row.place,
                column,
                f"the opening ends at {(begin + size) / 12:g} ft, outside area {area.area}, {most / 12:g} ft {what}",
            )


def _cut_item(text: str, written: _Written) -> tuple[str, str] | None:
    """Split ``liner: NAME`` into item and record; None if it names nothing known."""
    item, colon, name = (part.strip() for part in text.partition(":"))
    item = item.casefold()
    if item not in ITEMS or (colon and (item not in LINER_ITEMS or not written.has_liner(name))):
        return None
    return item, name.casefold()


def _check_items(overrides: Sequence[Override], stock: Sequence[StockPiece], written: _Written, desk: _Desk) -> None:
    liners = written.liners or {}
    known = [*ITEMS, *(f"{code}: {name}" for code in LINER_ITEMS for name in liners.values())]
    for over in overrides:
        split = _cut_item(over.item, written)
        if split is None:
            desk.say(over.place, "item", f"{over.item!r} is no item{_nearest(over.item, known)}")
        elif split[0] in CUT_GOODS and over.length_in is None:
            desk.say(over.place, "length", f"is empty: {split[0]} is bought by stock length")
        elif split[0] not in CUT_GOODS and over.length_in is not None:
            desk.say(over.place, "length", f"{split[0]} has no stock length: leave it empty")
        elif split[0] in CUT_GOODS and over.quantity != int(over.quantity):
            desk.say(over.place, "quantity", f"{over.quantity:g}: stock pieces are whole: write a whole number")
    for piece in stock:
        split = _cut_item(piece.item, written)
        if split is None or split[0] not in CUT_GOODS:
            desk.say(piece.place, "item", f"{piece.item!r} is not cut from lengths: use {', '.join(CUT_GOODS)}")
        elif split[0] == "liner" and not split[1] and len(liners) > 1:
            desk.say(
                piece.place, "item", "liners.csv has several liners: write `liner: NAME` so that the right one is used"
            )
        if sixteenths_down(piece.length_in) < 1:
            desk.say(piece.place, "length", f"{piece.length_in:g} in is under 1/16 in: nothing can be cut from it")


# ---------------------------------------------------------------------------------------------- the whole book


def _area_liner(area: Area, written: _Written, desk: _Desk) -> str:
    records = written.liners
    if records is None:
        return area.liner.casefold()
    if area.liner:
        if not written.has_liner(area.liner):
            desk.say(area.place, "liner", f"{area.liner!r} is no liner of liners.csv{_nearest(area.liner, records)}")
        return area.liner.casefold()
    if len(records) != 1:
        names = ", ".join(records.values()) or "none"
        desk.say(area.place, "liner", f"is empty, and liners.csv has {len(records)} liners ({names}): name one")
        return ""
    return next(iter(records))


def _settle_area(area: Area, code: str, liner: str, desk: _Desk) -> Area:
    """Return an area with its code, its liner, and the size its outline gives (G10)."""
    settled = replace(area, job=code, liner=liner)
    if area.outline:
        return _outlined(settled, desk)
    for column, size in (("width", area.width_in), ("projection", area.projection_in)):
        if size is None:
            desk.say(area.place, column, f"is empty: area {area.area} needs it, or an outline")
            settled = replace(settled, **{f"{column}_in": 1.0})  # the book is refused; its other rules are still held
    if area.joists == "along":
        desk.say(
            area.place,
            "joists",
            f"area {area.area} is a rectangle: measure its width across the joists and leave this out",
        )
    return settled


def _outlined(area: Area, desk: _Desk) -> Area:
    """G10. Return an area with the shape of its outline; a plain box becomes width and projection."""
    bare = None if desk.metric(area.job) else "ft"
    try:
        shape = parse_outline(area.outline, lambda text: parse_length(text, bare))
    except ValueError as found:
        desk.say(area.place, "outline", str(found))
        return replace(area, width_in=area.width_in or 1.0, projection_in=area.projection_in or 1.0)
    if area.joists == "along":
        shape = outline_of([(y, x) for x, y in shape.corners])
    for column, given, found_in in (
        ("width", area.width_in, shape.width_in),
        ("projection", area.projection_in, shape.projection_in),
    ):
        if given is not None and r6(given) != r6(found_in):
            desk.say(
                area.place,
                column,
                f"{given / 12:g} ft is not what the outline of area {area.area} says, {found_in / 12:g} ft across "
                "its corners: leave it empty, or change the outline",
            )
    sized = replace(area, width_in=shape.width_in, projection_in=shape.projection_in)
    return replace(sized, outline="", joists="out") if shape.rectangle else replace(sized, shape=shape)


def _check_measured(
    rows: Sequence[Measured], by_name: Mapping[str, Area], code: str, written: _Written, desk: _Desk
) -> None:
    for row in rows:
        if row.area.casefold() not in by_name and (code, row.area.casefold()) not in written.areas:
            desk.say(row.place, "area", f"{row.area!r} is no area of job {row.job}{_nearest(row.area, by_name)}")
        if row.clear_width_in is None and row.clear_run_in is None:
            desk.say(row.place, "clear_run", "is empty, and so is clear_width: give what was measured")
    _one_each(rows, lambda row: (row.area.casefold(), row.bay.casefold()), "bay", desk)


def _check_lines(job: Job, areas: Sequence[Area], desk: _Desk) -> None:
    own = {area.area.casefold() for area in areas if not area.gutter_line}
    for area in areas:
        if area.gutter_line and area.gutter_line.casefold() in own:
            desk.say(
                area.place,
                "gutter_line",
                f"{area.gutter_line!r} is also an area of job {job.job} with its own gutter: rename the line",
            )


def _of_job(rows: Iterable[R], jobs: frozenset[str] | None, desk: _Desk) -> dict[str, list[R]]:
    found: dict[str, list[R]] = {}
    for row in rows:
        code: str = row.job.casefold()  # type: ignore[attr-defined]  # every record of a job has its code
        if jobs is not None and code not in jobs:
            place: Place = row.place  # type: ignore[attr-defined]  # and its place
            desk.say(place, "job", f"{code!r} is no job of jobs.csv{_nearest(code, jobs)}")
        found.setdefault(code, []).append(row)
    return found


def _quote_date(job: Job, today: dt.date, desk: _Desk) -> dt.date:
    if job.quoted_on is None and job.status != "pricing":
        desk.say(job.place, "quoted_on", f"is empty: a job that is {job.status} was quoted on some day")
    if job.profit_basis == "margin" and job.profit >= 1:
        desk.say(job.place, "profit", f"{job.profit:%}: a margin of 100 % or more has no price; is it a markup?")
    return job.quoted_on or today


def _job_inputs(
    job: Job,
    today: dt.date,
    parts: Mapping[str, list[Any]],
    liners: Mapping[str, Liner],
    written: _Written,
    rates: Rates,
    prices: tuple[PriceRow, ...],
    stock: tuple[StockPiece, ...],
    desk: _Desk,
) -> JobInputs:
    code = job.job.casefold()
    if not any(one == code for one, _ in written.areas):
        desk.say(job.place, "job", f"job {job.job} has no area in areas.csv: an estimate needs at least one")
    areas = [_settle_area(area, job.job, _area_liner(area, written, desk), desk) for area in parts["areas"]]
    by_name = _one_each(areas, lambda area: area.area.casefold(), "area", desk)
    _check_lines(job, areas, desk)
    for row in parts["framing"]:
        area = by_name.get(row.area.casefold())
        if area is None and (code, row.area.casefold()) not in written.areas:
            desk.say(row.place, "area", f"{row.area!r} is no area of job {job.job}{_nearest(row.area, by_name)}")
        elif area is not None:
            _check_framing(row, area, desk)
    _check_measured(parts["measured"], by_name, code, written, desk)
    _one_each(parts["overrides"], lambda row: (row.item.casefold().replace(" ", ""), row.length_in), "item", desk)
    used = {area.liner for area in areas}
    for row in parts["overrides"]:
        if len(used) > 1 and row.item.casefold() in LINER_ITEMS:
            desk.say(row.place, "item", f"job {job.job} uses several liners: write `{row.item}: NAME`")
    return JobInputs(
        job=job,
        on=_quote_date(job, today, desk),
        areas=tuple(areas),
        framing=tuple(parts["framing"]),
        measured=tuple(parts["measured"]),
        liners=MappingProxyType({key: one for key, one in liners.items() if key in used}),
        rates=rates,
        prices=prices,
        extras=tuple(parts["extras"]),
        overrides=tuple(parts["overrides"]),
        stock=stock,
    )


def read_prices(table: SourceTable) -> tuple[PriceRow, ...]:
    """Read a price list that stands by itself: a liner it names may be of any book.

    Parameters
    ----------
    table : SourceTable
        The list, with the columns of prices.csv.

    Returns
    -------
    tuple of PriceRow
        In the order of the list.

    Raises
    ------
    BookError
        With every problem of it.
    """
    desk, written = _Desk(), _Written(jobs=None, liners=None, areas=frozenset())
    rows = tuple(_check_price(row, written, desk) for row in _records(table, PriceRow, desk))
    _check_overlaps(rows, desk)
    if not rows and not desk.problems:
        desk.problems.append(Problem(table.source, 0, "", "has no offer: a price list has one a row"))
    if desk.problems:
        raise BookError(sorted(desk.problems, key=lambda one: one.line))
    return rows


def read_inputs(
    tables: Mapping[str, SourceTable],
    today: dt.date,
    rain: SourceRain | None = None,
    advice: Callable[[str], str] = lambda _: "",
) -> tuple[JobInputs, ...]:
    """Read a book's tables into job inputs.

    Parameters
    ----------
    tables : mapping of str to SourceTable
        The tables found, by file name without ``.csv``.
    today : date
        The day whose prices count for jobs that are still in pricing and have no ``quoted_on``.
    rain : SourceRain, optional
        The point's rain, for jobs that state none.
    advice : callable, optional
        Site to what else is known of its rain, for the message to a job that has none.

    Returns
    -------
    tuple of JobInputs
        One a job, in the order of jobs.csv.

    Raises
    ------
    BookError
        With every problem of every table, in the order of files and lines.
    """
    desk, written = _Desk(), _written(tables)
    for name, needed in BOOK_FILES.items():
        if needed and name not in tables:
            desk.problems.append(
                Problem(f"{name}.csv", 0, "", "is missing: every book has one (see the templates folder)")
            )
    rate_rows = _rate_rows(tables.get("rates"), desk)
    jobs: dict[str, Job] = _one_each(
        _records(tables.get("jobs"), Job, desk), lambda job: job.job.casefold(), "job", desk
    )
    liners: dict[str, Liner] = _one_each(
        _records(tables.get("liners"), Liner, desk), lambda one: one.liner.casefold(), "liner", desk
    )
    prices = tuple(_check_price(row, written, desk) for row in _records(tables.get("prices"), PriceRow, desk))
    _check_overlaps(prices, desk)
    areas = _of_job(_records(tables.get("areas"), Area, desk), written.jobs, desk)
    framing = _of_job(_records(tables.get("framing"), Framing, desk), written.jobs, desk)
    measured = _of_job(_records(tables.get("measured"), Measured, desk), written.jobs, desk)
    extras = _of_job(_records(tables.get("extras"), Extra, desk), written.jobs, desk)
    overrides = _of_job(_records(tables.get("overrides"), Override, desk), written.jobs, desk)
    stock = tuple(_records(tables.get("stock"), StockPiece, desk))
    posts = _of_job(_records(tables.get("posts"), Post, desk), written.jobs, desk)
    acceptances = _of_job(_records(tables.get("acceptances"), Acceptance, desk), written.jobs, desk)
    codes = _records(tables.get("codes"), CodeRow, desk)
    quote = _records(tables.get("quote"), QuoteRow, desk)
    suppliers = tuple(
        _one_each(
            _records(tables.get("suppliers"), Supplier, desk),
            lambda one: (one.supplier.casefold(), one.currency),
            "supplier",
            desk,
        ).values()
    )
    _of_job([row for row in codes if row.job], written.jobs, desk)
    _of_job([row for row in quote if row.job], written.jobs, desk)
    check_codes(codes, desk.say)
    check_quote(quote, desk.say)
    _check_items([row for rows in overrides.values() for row in rows], stock, written, desk)
    for row in rate_rows:
        if row.job and written.jobs is not None and row.job.casefold() not in written.jobs:
            desk.say(row.place, "job", f"{row.job!r} is no job of jobs.csv{_nearest(row.job, written.jobs)}")
    rates_table = tables.get("rates")
    rates = _rates(rate_rows, (rates_table.decimal if rates_table else None) or ".", desk)
    found = []
    for code, job in jobs.items():
        own: dict[str, list[Any]] = {
            "areas": list(areas.get(code, [])),
            "framing": list(framing.get(code, [])),
            "measured": list(measured.get(code, [])),
            "extras": list(extras.get(code, [])),
            "overrides": list(overrides.get(code, [])),
        }
        inputs = replace(
            _job_inputs(job, today, own, liners, written, rates(code), prices, stock, desk),
            suppliers=suppliers,
            quote=quote_of(code, quote),
        )
        mine = posts.get(code, []), codes, acceptances.get(code, [])
        found.append(with_drainage(inputs, *mine, rain, advice, written.areas, desk.say))
    if desk.problems:
        order = {f"{name}.csv": at for at, name in enumerate(BOOK_FILES)}
        raise BookError(sorted(desk.problems, key=lambda one: (order.get(one.source, len(order)), one.line)))
    return tuple(found)
