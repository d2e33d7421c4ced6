"""Hold a workbook's formulas against the engine before anybody sees them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Protocol

from baybook.estimate import Estimate
from baybook.workbook.shape import Shape, shape_of
from baybook.workbook.sheets.money import TASKS
from baybook.workbook.sheets.stock import block_cuts, line_rows
from baybook.workbook.sheets.water import figures

__all__ = ["Addresses", "Disagreement", "differences", "prove"]


class Disagreement(Exception):
    """Formulas and engine differ; a fault of this program."""


def _scalars(estimate: Estimate, _: Shape) -> Iterator[tuple[str, int, float]]:
    """Yield (key, row, what the engine says) of single figures."""
    totals = estimate.totals
    yield "total_materials", 0, float(totals.materials)
    yield "total_labour", 0, float(totals.labour)
    yield "total_other", 0, float(totals.other)
    yield "total_overhead", 0, float(totals.overhead)
    yield "total_contingency", 0, float(totals.contingency)
    yield "total_profit", 0, float(totals.profit)
    yield "total_tax", 0, float(totals.tax)
    yield "total_price", 0, float(totals.price)
    yield "bays_listed", 0, estimate.takeoff.bays
    yield "flow_gpm", 0, estimate.takeoff.flow_gpm
    yield "bead_ft", 0, estimate.takeoff.bead_ft
    yield "errors_found", 0, 0
    yield "plans_stale", 0, 0


def _lines(estimate: Estimate, shape: Shape) -> Iterator[tuple[str, int, float]]:
    rows = shape.rows("liner", len(estimate.inputs.liners))
    liners = {name: row + 1 for row, name in zip(rows, estimate.inputs.liners, strict=True)}
    lines = {(line.need.item, liners.get(line.need.liner, 0)): line for line in estimate.lines}
    cuts = block_cuts(estimate, shape)
    for at, row in enumerate(line_rows(shape)):
        line = lines.get((row.item, row.liner))
        if line is not None:
            yield "i_calc", at, line.need.net
            yield "i_net", at, line.net
            yield "i_order", at, line.order
            yield "i_packs", at, line.packs
            yield "i_cost", at, float(line.cost)
        cut = cuts[row.block - 1] if row.block else None
        if cut is not None:
            yield "i_calc", at, len(cut.cut.pieces)
            yield "i_order", at, cut.pieces
            yield "i_cost", at, float(cut.cost)
    for at, (line_of, _) in enumerate(zip(estimate.labour, TASKS, strict=True)):
        yield "lab_count", at, line_of.count
        yield "lab_hours", at, float(line_of.hours)
        yield "lab_cost", at, float(line_of.cost)


def _deck(estimate: Estimate, shape: Shape) -> Iterator[tuple[str, int, float]]:
    areas = estimate.takeoff.areas
    for at, take in zip(shape.rows("area", len(areas)), areas, strict=True):
        yield "w_members", at, len(take.members)
        yield "w_trim", at, take.outlet_trim_in
    for row, part in enumerate(estimate.takeoff.parts):
        yield "p_clear", row, part.clear_run_in
        yield "p_cut", row, part.cut_length_in
        yield "p_fall", row, part.fall_in_per_ft
        yield "p_outlets", row, part.outlets
        yield "p_plan", row, part.plan_area_sq_ft
        yield "p_flow", row, part.flow_gpm
    names = [part.name for part in estimate.takeoff.parts]
    for line in estimate.takeoff.lines:
        at = names.index(line.parts[0])
        yield "g_feet", at, line.length_ft
        yield "g_q", at, line.flow_gpm
        yield "g_leaders", at, line.leaders
        yield "g_run", at, line.run_ft
        yield "g_lowest", at, line.joist_bottom_in
        yield "d_len", at, line.leader_length_in
    bays = sorted(
        (
            (part.area.area, bay.left_in, number, bay)
            for number, part in enumerate(part for take in areas if take.drawing is None for part in take.parts)
            for bay in part.bays
        ),
        key=lambda one: (names_of_areas(estimate).index(one[0]), one[1], one[2]),
    )
    drawn = [part for take in areas if take.drawing is not None for part in take.parts]
    placed = [(at, bay) for at, (_, _, _, bay) in enumerate(bays)]
    placed += [(shape.bays + at, bay) for at, part in enumerate(drawn) for bay in part.bays]
    for at, bay in placed:
        yield "b_clear", at, bay.clear_in
        yield "b_cut", at, bay.cut_length_in
        yield "b_left", at, bay.left_in


def _water(estimate: Estimate, shape: Shape) -> Iterator[tuple[str, int, float]]:
    del shape  # parts and lines stand one after the other whatever the rows of their areas
    yield from figures(estimate)


def names_of_areas(estimate: Estimate) -> list[str]:
    """Return the areas in order."""
    return [take.area.area for take in estimate.takeoff.areas]


class Addresses(Protocol):
    """Where everything stands: a layout, or whatever else tells the place of a key."""

    def address(self, key: str, row: int = 0) -> tuple[str, int, int]:
        """Return the place of a row of a key."""
        ...


def differences(
    estimate: Estimate, made: Addresses, values: Mapping[tuple[str, int, int], Any], shape: Shape | None = None
) -> list[str]:
    """Return a sentence for each figure in which formulas and engine differ.

    Parameters
    ----------
    estimate : Estimate
        What the engine says.
    made : Addresses
        Where everything stands.
    values : mapping
        What the formulas give, by place.
    shape : Shape, optional
        The workbook's shape, if it is not the one that the estimate would be given.

    Returns
    -------
    list of str
        Empty if all agree within one part in 10^9 or one millionth.
    """
    found = []
    shape = shape or shape_of(estimate)
    for source in (_scalars, _deck, _lines, _water):
        for key, row, says in source(estimate, shape):
            at = made.address(key, row)
            got = values.get(at)
            close = isinstance(got, int | float) and abs(got - says) <= max(1e-6, 1e-9 * abs(says))
            if not close:
                found.append(f"{at[0]} {key} row {row + 1}: the formula gives {got!r}, the engine {says!r}")
    return found


def prove(
    estimate: Estimate, made: Addresses, values: Mapping[tuple[str, int, int], Any], shape: Shape | None = None
) -> None:
    """Refuse a workbook whose formulas and engine differ.

    Raises
    ------
    Disagreement
        With the first differences.
    """
    found = differences(estimate, made, values, shape)
    if found:
        raise Disagreement(f"job {estimate.inputs.job.job}: " + "; ".join(found[:5]))
