"""A workbook that was read, declared anew from the inputs in it, in its own shape: what it should hold."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from baybook.data import dressed_depths
from baybook.estimate import Estimate
from baybook.job.fields import Reading, parse
from baybook.job.rates import LEADER_SIZES
from baybook.problems import BookError, FileRefused, Problem
from baybook.workbook.build import spec_of
from baybook.workbook.declare import BookSpec, Layout, layout
from baybook.workbook.given import Given, GivenText, given_in, rate_fields
from baybook.workbook.layouts import declared_keys, layout_id, marked, with_values
from baybook.workbook.read import Address, Range, ReadBook
from baybook.workbook.shape import Shape, lacking, stock_here
from baybook.workbook.sheets.inputs import Units

__all__ = ["CURE", "Redeclared", "redeclare", "shape_in", "values_in"]

MEASURED = ("ms_clear_width", "ms_clear_run")
CURE = "baybook export, then baybook build"
_RATES = {one.name for one in rate_fields()}  # their bare numbers have a unit in every book
_TABLES = {
    "areas": "w_no", "framing": "f_no", "liners": "m_no", "offers": "x_no", "members": "c_no", "bays": "b_no",
    "segments": "sg_no", "stretches": "gs_no", "ribs": "rib_area", "leaders": "ld_no",
    "extras": "ex_no", "overrides": "h_no", "offcuts": "r_no", "posts": "pp_area",
    "suppliers": "fr_no", "codes": "code_size",
    "acceptances": "acc_rule", "quoted": "qp_use", "sites": "site_area",
    "decisions": "dec_area", "planned": "n_block",
    "patterns": "pat_item", "pieces": "job_label", "rolls": "roll_name",
}  # fmt: skip  # of the shape: a column that tells the rows, on a working sheet where there is one: few touch those


@dataclass(frozen=True, slots=True)
class Redeclared:
    """What a workbook should hold.

    Parameters
    ----------
    book : ReadBook
        The workbook as read.
    given : Given
        Its inputs.
    estimate : Estimate
        What the engine makes of them.
    shape : Shape
        Rows of its tables, and which row each record stands in.
    spec : BookSpec
        Declared anew: inputs and what is kept from the file, the cut plan from the engine.
    layout : Layout
        Where everything stands; the same as in the file.
    mended : mapping
        Input cells whose text the formulas cannot read, with the value it says.
    lacking : tuple of str
        What does not fit the tables of the file; the plan of the engine is then left out.
    """

    book: ReadBook
    given: Given
    estimate: Estimate
    shape: Shape
    spec: BookSpec
    layout: Layout
    mended: Mapping[Address, Any]
    lacking: tuple[str, ...]

    def with_file(self, keys: Iterable[str]) -> Redeclared:
        """Return the same with the values that the file holds under some keys."""
        spec = with_values(self.spec, {key: values_in(self.book, key) for key in keys})
        return replace(self, spec=spec, layout=layout(spec))


def redeclare(book: ReadBook, when: dt.datetime) -> Redeclared:
    """Declare anew what a workbook should hold, from the inputs in it.

    Parameters
    ----------
    book : ReadBook
        The workbook as read.
    when : datetime
        The moment of the run.

    Returns
    -------
    Redeclared
        In the file's own shape: every address is the one in the file.

    Raises
    ------
    BookError
        If an input cannot be read or is refused by a rule; if sheets, rows or columns were moved, renamed or deleted;
        or if the workbook is of another layout.
    """
    given = given_in(book)
    estimate = given.estimate()
    shape = shape_in(book, estimate)
    short = tuple(lacking(estimate, shape))
    try:
        spec = spec_of(replace(estimate, cuts=()) if short else estimate, when, shape)
    except ValueError as found:  # a table that cannot be declared with the rows the file has
        why = short or (f"its tables do not fit together ({found})",)
        raise BookError(Problem(book.source, 0, "", f"{sentence}: {CURE}") for sentence in why) from None
    placed = layout(spec)
    moved = list(_moved(book, placed, layout_id(spec)))
    if moved:
        raise BookError(moved)
    mended = dict(_mended(given, book))
    theirs = {}
    for one in declared_keys(spec):
        if one.key in MEASURED:  # they stand beside the bays, whose rows may have moved
            continue
        if one.role == "input" or one.origin == "kept":
            where = book.names[one.key]
            places = [(where.sheet, where.row + row, where.col) for row in range(where.rows)]
            theirs[one.key] = [mended.get(at, book.values.get(at)) for at in places]
    spec = marked(with_values(spec, theirs))
    return Redeclared(book, given, estimate, shape, spec, layout(spec), mended, short)


def values_in(book: ReadBook, key: str) -> list[Any]:
    """Return the values of a named cell or column as the file holds them, blanks as None."""
    where = book.names[key]
    return [book.values.get((where.sheet, where.row + row, where.col)) for row in range(where.rows)]


# ------------------------------------------------------------------------------------------------------------- shape


def shape_in(book: ReadBook, estimate: Estimate) -> Shape:
    """Return the shape that a workbook has, told by its defined names.

    Raises
    ------
    FileRefused
        If a name is gone that tells it.
    """
    names = book.names
    gone = [key for key in (*_TABLES.values(), "p_no", "u_block", "size_code") if key not in names]
    if gone:
        said = book.broken.get(gone[0])
        what = f"the name {gone[0]} leads to {said}" if said else f"the name {gone[0]} is missing"
        message = f"{what}: a column, row or sheet was deleted, or another version made the file; undo that, or {CURE}"
        raise FileRefused(Problem(book.source, 0, "", message))
    rows = {name: names[key].rows for name, key in _TABLES.items()}
    rows["bays"] -= rows["segments"]
    return Shape(
        **rows,
        beams=names["p_no"].rows - rows["areas"] - rows["segments"],
        lengths=names["u_block"].rows // (rows["liners"] + 2),
        cuts=sum(bool(re.fullmatch(r"bar_cut\d+", name)) for name in names),
        sizes=(*LEADER_SIZES, *(str(size) for size in values_in(book, "size_code")[len(LEADER_SIZES) :])),
        liner_rows=_rows(estimate.inputs.liners.values(), names["l_liner"]),
        area_rows=_rows(estimate.inputs.areas, names["a_area"]),
        framing_rows=_rows(estimate.inputs.framing, names["f_area"]),
        offcut_rows=_rows(stock_here(estimate), names["r_item"]),
    )


def _rows(records: Any, where: Range) -> tuple[int, ...]:
    return tuple(record.place.line - where.row for record in records)


# --------------------------------------------------------------------------------------------------------- structure


def _moved(book: ReadBook, placed: Layout, mark: str) -> Iterator[Problem]:
    """Yield what no longer stands where it was made, once a sheet."""
    theirs = book.at("layout_id") if "layout_id" in book.names else None
    if theirs is not None and theirs != mark:
        message = f"was made by a version of this program that lays workbooks out otherwise: {CURE}"
        yield Problem(book.source, 0, "", message)
        return
    told = set()
    for key in placed.names:
        sheet, row, col = placed.address(key)
        due = Range(sheet, row, col, placed.count(key), 1)
        found = book.names.get(key)
        if found == due or sheet in told:
            continue
        told.add(sheet)
        yield Problem(book.source, 0, str(due), f"{_what_moved(key, due, found, book)}; undo that, or {CURE}")


def _what_moved(key: str, due: Range, found: Range | None, book: ReadBook) -> str:
    if due.sheet not in book.parts:
        if found is not None and found.sheet in book.parts:
            return f"the sheet {due.sheet} is now called {found.sheet}"
        return f"the sheet {due.sheet} is gone"
    if found is None:
        return f"the name {key} leads to {book.broken.get(key, 'nothing')}: cells of the sheet {due.sheet} were deleted"
    return f"{key} stands at {found}: rows, columns or cells of the sheet {due.sheet} were inserted, deleted or moved"


# ------------------------------------------------------------------------------------------------------------- texts


def _mended(given: Given, book: ReadBook) -> Iterator[tuple[Address, Any]]:
    """Yield the input cells whose text says a value that the formulas cannot read from it, and the value."""
    units = Units(given.metric)

    def place(key: str, row: int) -> Address:
        where = book.names[key]
        return where.sheet, where.row + row, where.col

    for one in given.texts:
        reading = Reading(metric=given.metric and one.field.name not in _RATES)
        for key, value in _mend(one, units, reading):
            yield place(key, one.row), value


def _mend(one: GivenText, units: Units, reading: Reading) -> Iterator[tuple[str, Any]]:
    text = one.text.strip()
    if one.key == "a_joist":
        code = text.lower().replace(" ", "").replace("×", "x")
        if code in dressed_depths():
            yield from [(one.key, code)] if code != one.text.casefold() else []
        else:  # the depth of other lumber stands in a column of its own
            yield one.key, None
            yield "a_joist_depth", round(parse(one.field, text, reading) / units.small_in, 9)
    elif one.key == "a_joist_depth":
        yield one.key, round(parse(one.field, text, reading) / units.small_in, 9)
    elif one.key in {"h_item", "r_item"} and ":" in text:  # and so does the liner record of an item
        item, _, liner = (part.strip() for part in text.partition(":"))
        yield one.key, item
        yield one.key.replace("item", "liner"), liner
    else:
        value = units.shown(one.field, parse(one.field, text, reading))
        if not isinstance(value, str) or value.casefold() != one.text.casefold():
            yield one.key, value
