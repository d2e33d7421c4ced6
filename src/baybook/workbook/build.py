"""A job's workbook: its declared sheets, every value, and the proof that formulas and engine agree."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, TypeVar

from baybook import __version__
from baybook.estimate import Estimate
from baybook.workbook.declare import Block, BookSpec, Column, Layout, Part, Scalar, Sheet, Table, layout
from baybook.workbook.layouts import marked
from baybook.workbook.prove import prove
from baybook.workbook.shape import Shape, shape_of
from baybook.workbook.sheets import (
    decisions,
    framer,
    front,
    inputs,
    listed,
    members,
    money,
    outlines,
    parts,
    pictures,
    planwork,
    quote,
    results,
    site,
    stock,
    water,
    waterwork,
)
from baybook.workbook.sheets.constants import constants_sheet
from baybook.workbook.sheets.inputchecks import input_checks_sheet

__all__ = ["Made", "make_workbook", "spec_of", "title_of", "written"]

D = TypeVar("D", Column, Scalar)
Values = Mapping[tuple[str, int, int], Any]


@dataclass(frozen=True, slots=True)
class Made:
    """A workbook in memory: what was declared, where it stands, every value, and the file."""

    spec: BookSpec
    layout: Layout
    values: Values
    data: bytes


def spec_of(estimate: Estimate, when: dt.datetime, shape: Shape | None = None) -> BookSpec:
    """Declare the workbook of a job.

    Parameters
    ----------
    estimate : Estimate
        The job.
    when : datetime
        The moment shown in the log.
    shape : Shape, optional
        Rows of each table; what the job needs, with room to add, if not given.

    Returns
    -------
    BookSpec
        Sheets in the order a person reads them, workings last.
    """
    shape = shape or shape_of(estimate)
    given = (
        *inputs.input_sheets(estimate, shape),
        water.drainage_inputs_sheet(estimate, shape),
        outlines.measured_sheet(estimate, shape),
        quote.offer_inputs_sheet(estimate, shape),
    )
    currency, metric = estimate.inputs.job.currency, estimate.inputs.rates.units == "metric"

    def own(sheet: Sheet) -> Sheet:
        return _in_currency(sheet, currency)

    def fixed(make: Callable[..., Sheet], *of: Any) -> Sheet:
        return _fixed(make, currency, *of)

    sheets = (
        own(front.start_sheet(estimate)),
        *map(own, given),
        fixed(results.deck_sheet, shape),
        fixed(results.bays_sheet, shape),
        own(pictures.plan_sheet(estimate, shape)),
        own(results.cuts_sheet(estimate, shape)),
        own(pictures.diagram_sheet(estimate, shape)),
        own(results.cut_list_sheet(estimate, shape)),
        fixed(results.water_sheet, shape),
        own(water.rain_sheet(estimate)),
        fixed(water.water_checks_sheet, shape),
        own(decisions.decisions_sheet(estimate, shape)),
        own(framer.framer_sheet(estimate, shape)),
        fixed(money.quantities_sheet, shape),
        fixed(money.estimate_sheet),
        fixed(money.orders_sheet, shape),
        fixed(quote.quote_sheet, shape),
        fixed(site.site_sheet, shape),
        own(site.labels_sheet(estimate, shape)),
        fixed(front.checks_sheet, shape.areas),
        fixed(front.sources_list_sheet),
        own(front.log_sheet(estimate, when)),
        own(constants_sheet(estimate, shape)),
        fixed(_input_checks, _Given(shape, metric, given)),
        own(outlines.outlines_work_sheet(estimate, shape)),
        own(planwork.plan_work_sheet(estimate, shape)),
        fixed(members.areas_work_sheet, shape),
        fixed(members.sources_sheet, shape),
        fixed(members.members_sheet, shape),
        fixed(parts.parts_sheet, shape),
        fixed(parts.bays_work_sheet, shape),
        fixed(parts.lines_work_sheet, shape),
        fixed(waterwork.water_work_sheet, shape),
        fixed(listed.listed_work_sheet, shape),
        fixed(framer.marks_sheet, shape),
        own(quote.quote_work_sheet(estimate, shape)),
        fixed(site.site_work_sheet, shape),
        fixed(stock.offers_work_sheet, shape),
        own(stock.stock_sheet(estimate, shape)),
        own(stock.pieces_sheet(estimate, shape)),
        fixed(money.quantities_work_sheet, shape),
        own(money.extras_work_sheet(estimate, shape)),
        fixed(money.orders_work_sheet, shape),
        fixed(money.totals_sheet),
    )
    return marked(BookSpec(sheets=sheets, lists=_lists(shape) | dict(water.LISTS) | dict(quote.LISTS)))


_lists = lru_cache(maxsize=16)(inputs.lists_of)


@lru_cache(maxsize=512)
def _fixed(make: Callable[..., Sheet], currency: str, *of: Any) -> Sheet:
    """Return a sheet of formulas alone, which all jobs of a shape share."""
    return _in_currency(make(*of), currency)


@dataclass(frozen=True, slots=True)
class _Given:
    """Input sheets: alike if their shape and units are, whatever stands in them."""

    shape: Shape
    metric: bool
    sheets: tuple[Sheet, ...] = field(compare=False)


def _input_checks(given: _Given) -> Sheet:
    return input_checks_sheet(given.sheets, inputs.Units(given.metric))


def _in_currency(sheet: Sheet, currency: str) -> Sheet:
    """Name the job's currency where a unit says money."""

    def named(one: D) -> D:
        return replace(one, unit=one.unit.replace("money", currency)) if "money" in one.unit else one

    def of_part(part: Part) -> Part:
        if isinstance(part, Table):
            return replace(part, columns=tuple(named(column) for column in part.columns))
        if isinstance(part, Block):
            return replace(part, scalars=tuple(named(scalar) for scalar in part.scalars))
        return part

    return replace(sheet, parts=tuple(of_part(part) for part in sheet.parts))


def make_workbook(estimate: Estimate, when: dt.datetime) -> Made:
    """Make a job's workbook.

    Every formula is worked out beforehand, and its answers are held against the engine's: a workbook that would show
    something else than the engine says is never written.

    Parameters
    ----------
    estimate : Estimate
        The job.
    when : datetime
        The moment of the run, for the log and the file's properties.

    Returns
    -------
    Made
        The workbook.

    Raises
    ------
    Disagreement
        If formulas and engine differ; that is a fault of this program, not of the inputs.
    """
    from baybook.workbook.evaluate import evaluate

    spec = spec_of(estimate, when)
    made = layout(spec)
    values = evaluate(spec, made)
    prove(estimate, made, values)
    return Made(spec, made, values, written(spec, made, values, estimate, when))


def title_of(estimate: Estimate) -> str:
    """Return what a job's workbook is called."""
    from baybook.workbook.package import clean_text

    job = estimate.inputs.job
    return clean_text(f"{job.job} {job.customer}".strip())


def written(spec: BookSpec, made: Layout, values: Values, estimate: Estimate, when: dt.datetime) -> bytes:
    """Return a declared workbook with its values as a file; parameters as of `make_workbook`."""
    from baybook.workbook.xlsx import write_xlsx

    stream = io.BytesIO()
    properties = {"title": title_of(estimate), "creator": f"baybook {__version__}"}
    paper = "A4" if estimate.inputs.rates.units == "metric" else "Letter"
    write_xlsx(spec, made, values, stream, properties=properties, modified=when, paper=paper)
    return stream.getvalue()
