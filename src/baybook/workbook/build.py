"""A job's workbook: its declared sheets, every value, and the proof that formulas and engine agree."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping
from dataclasses import dataclass, replace
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
    members,
    money,
    parts,
    pictures,
    results,
    stock,
    water,
    waterwork,
)
from baybook.workbook.sheets.constants import constants_sheet
from baybook.workbook.sheets.inputchecks import input_checks_sheet

__all__ = ["Made", "make_workbook", "spec_of", "written"]

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
    given = (*inputs.input_sheets(estimate, shape), water.drainage_inputs_sheet(estimate, shape))
    sheets = (
        front.start_sheet(estimate),
        *given,
        results.deck_sheet(shape),
        results.bays_sheet(shape),
        pictures.plan_sheet(estimate, shape),
        results.cuts_sheet(estimate, shape),
        pictures.diagram_sheet(estimate, shape),
        results.cut_list_sheet(estimate, shape),
        results.water_sheet(shape),
        water.rain_sheet(estimate),
        water.water_checks_sheet(shape),
        decisions.decisions_sheet(estimate, shape),
        framer.framer_sheet(estimate, shape),
        money.quantities_sheet(shape),
        money.estimate_sheet(),
        money.orders_sheet(shape),
        front.quote_sheet(estimate),
        front.checks_sheet(shape.areas),
        front.sources_list_sheet(),
        front.log_sheet(estimate, when),
        constants_sheet(estimate, shape),
        input_checks_sheet(given, inputs.Units(estimate.inputs.rates.units == "metric")),
        members.areas_work_sheet(shape),
        members.sources_sheet(shape),
        members.members_sheet(shape),
        parts.parts_sheet(shape),
        parts.bays_work_sheet(shape),
        parts.lines_work_sheet(shape),
        waterwork.water_work_sheet(shape),
        framer.marks_sheet(shape),
        stock.offers_work_sheet(shape),
        stock.stock_sheet(estimate, shape),
        stock.pieces_sheet(estimate, shape),
        money.quantities_work_sheet(shape),
        money.extras_work_sheet(estimate, shape),
        money.orders_work_sheet(shape),
        money.totals_sheet(),
    )
    currency = estimate.inputs.job.currency
    spec = BookSpec(
        sheets=tuple(_in_currency(sheet, currency) for sheet in sheets),
        lists=inputs.lists_of(shape) | dict(water.LISTS),
    )
    return marked(spec)


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


def written(spec: BookSpec, made: Layout, values: Values, estimate: Estimate, when: dt.datetime) -> bytes:
    """Return a declared workbook with its values as a file; parameters as of `make_workbook`."""
    from baybook.workbook.xlsx import write_xlsx

    stream = io.BytesIO()
    job = estimate.inputs.job
    properties = {"title": f"{job.job} {job.customer}".strip(), "creator": f"baybook {__version__}"}
    paper = "A4" if estimate.inputs.rates.units == "metric" else "Letter"
    write_xlsx(spec, made, values, stream, properties=properties, modified=when, paper=paper)
    return stream.getvalue()
