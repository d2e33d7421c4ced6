"""Every formula's value worked out in Python, from the same templates the cells are written from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from baybook.workbook.compiled import Compiler
from baybook.workbook.declare import MASTER, Block, Layout, Place, Scalar, Table, Text
from baybook.workbook.runs import Run, Worker
from baybook.workbook.semantics import cell_value

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from baybook.workbook.declare import BookSpec, Column

__all__ = ["Address", "evaluate"]

Address = tuple[str, int, int]
Inputs = dict[str, dict[int, Any]]


def evaluate(
    spec: BookSpec, layout: Layout, inputs: Mapping[tuple[str, int], Any] | None = None
) -> dict[Address, float | str | bool]:
    """Work out every formula of a declared workbook.

    Parameters
    ----------
    spec : BookSpec
        The declared workbook.
    layout : Layout
        Its layout.
    inputs : mapping of (key, row) to value, optional
        Values that take the place of declared ones; rows count from 0, a scalar's row is 0.

    Returns
    -------
    dict
        (sheet, row, column) of each formula cell to its value: float, str or bool; an error is an `ErrorValue`, a str
        such as ``#N/A``. A formula that reads a blank cell gives 0.

    Raises
    ------
    ValueError
        If formulas go in a circle, one cannot be read or uses an unknown name or function, or an input is none.
    """
    del spec  # the layout was made from it and holds all that is needed
    worker = Worker()
    runs: dict[str, Run] = {}
    compiler = Compiler(layout, runs)
    changed = _checked(layout, inputs or {})
    for place in layout.places:
        for run in _runs(place, compiler, worker, changed):
            runs[run.key] = run
    values = {}
    for run, row, address in _formula_cells(layout, runs, compiler, worker):
        worker.settle(run, row)
        values[address] = run.cells[row + 1]
    return values


def _checked(layout: Layout, inputs: Mapping[tuple[str, int], Any]) -> Inputs:
    changed: Inputs = {}
    for (key, row), value in inputs.items():
        if key not in layout.names or not 0 <= row < layout.count(key):
            raise ValueError(f"No cell is called {key} row {row + 1}.")
        if layout.declaration(key).formula is not None:
            raise ValueError(f"{key} is worked out by a formula; only inputs can be changed.")
        changed.setdefault(key, {})[row] = value
    return changed


def _runs(place: Place, compiler: Compiler, worker: Worker, changed: Inputs) -> Iterator[Run]:
    """Yield a run for every column or scalar of a part."""
    part = place.part
    if isinstance(part, Block):
        for scalar in part.scalars:
            work = [] if scalar.formula is None else [compiler.later(scalar.formula)]
            constants = [] if work else [cell_value(changed.get(scalar.key, {}).get(0, scalar.value))]
            yield Run(scalar.key, constants, work, worker)
    elif isinstance(part, Table):
        for column in part.columns:
            yield _column_run(column, part.rows, compiler, worker, changed.get(column.key, {}))


def _column_run(column: Column, rows: int, compiler: Compiler, worker: Worker, changed: dict[int, Any]) -> Run:
    opening = cell_value(column.opening)
    if column.formula is not None:
        work = [compiler.later(str(column.template(row))) for row in range(rows)]
        return Run(column.key, [], work, worker, opening)
    values = [*(column.values or ()), *[None] * (rows - len(column.values or ()))]
    for row, value in changed.items():
        values[row] = value
    return Run(column.key, [cell_value(value) for value in values], [], worker, opening)


def _formula_cells(
    layout: Layout, runs: dict[str, Run], compiler: Compiler, worker: Worker
) -> Iterator[tuple[Run, int, Address]]:
    """Yield the run, row and address of each formula, without writing the formula out."""
    for place in layout.places:
        part = place.part
        if isinstance(part, Text):
            for i, line in enumerate(part.lines):
                if line.startswith("="):
                    yield Run("", [], [compiler.later(line)], worker), 0, (place.sheet, place.first + i, 1)
        else:
            for declared in part.scalars if isinstance(part, Block) else part.columns:
                yield from _declared_cells(layout, runs, declared)
    for sheet, row, col in layout.masters():
        yield Run("", [], [compiler.later(MASTER.lines[0])], worker), 0, (sheet, row, col)


def _declared_cells(
    layout: Layout, runs: dict[str, Run], declared: Scalar | Column
) -> Iterator[tuple[Run, int, Address]]:
    if declared.formula is not None:
        run = runs[declared.key]
        sheet, first, col = layout.address(declared.key)
        for row in range(run.count):
            yield run, row, (sheet, first + row, col)
