"""Whether a workbook holds what its inputs give: worked out again and compared cell by cell."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any

from baybook.workbook.compare import Difference, compare, same_value
from baybook.workbook.declare import Column, Scalar
from baybook.workbook.due import due_cells
from baybook.workbook.evaluate import evaluate
from baybook.workbook.layouts import declared_keys, inputs_id
from baybook.workbook.planned import PlanFault, plan_costs, plan_faults
from baybook.workbook.prove import differences
from baybook.workbook.read import Address, read_workbook
from baybook.workbook.redeclare import Redeclared, redeclare
from baybook.workbook.sheets.stock import block_cuts

__all__ = ["Verified", "verify_workbook"]

CUTTING = {
    "n_block", "n_len16", "n_plan", "t_planned", "u_plan", "u_plan16", "u_plan_price", "r_plan_qty", "r_plan16",
    "r_plan_value", "r_plan_used", "planned_kerf", "planned_trim", "pat_item", "pat_stock", "pat_times", "pat_cuts",
    "pat_rest", "pat_where", "cut_cost", "cut_bound", "cut_proof",
}  # fmt: skip  # the cut plan itself
DECIDED = {"pat_item", "pat_stock", "pat_times", "pat_cuts", "u_plan", "r_plan_used"}  # what makes it another plan
DRAWN = (  # and its lists
    *("bar_", "tag_", "roll_"),
    *("job_label", "job_length", "job_said", "job_from", "job_stock", "job_where"),
)


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found in a workbook.

    Parameters
    ----------
    differences : tuple
        Cells that do not hold what they should, sums of the cut plan that do not add up, and where formulas and engine
        disagree.
    cells : int
        Cells compared.
    price : float or None
        The price that the inputs give; None if the workbook's checks refuse them.
    plan : str
        The state of the cut plan, in words.
    """

    differences: tuple[Difference | PlanFault | str, ...]
    cells: int
    price: float | None
    plan: str


def verify_workbook(path: str | os.PathLike[str], when: dt.datetime) -> Verified:
    """Work a workbook out again from the inputs in it and compare every cell.

    Parameters
    ----------
    path : path
        The workbook.
    when : datetime
        The moment of the run.

    Returns
    -------
    Verified
        Without differences if every formula is ours and every value stored beside it is the one its inputs give.

    Raises
    ------
    BookError
        If the file, an input or the place of a table cannot be read; see `redeclare`.
    """
    return verified(redeclare(read_workbook(path), when))


def verified(made: Redeclared) -> Verified:
    """Compare a workbook with what it should hold; see `verify_workbook`."""
    plan = [one.key for one in declared_keys(made.spec) if one.origin == "plan"]
    theirs = made.with_file(plan)
    values = evaluate(theirs.spec, theirs.layout)
    stale = values[theirs.layout.address("plans_stale")] != 0
    faults: list[Difference | PlanFault | str] = []
    changed = made.book.at("inputs_id") != inputs_id(made.spec)
    ours = _same(made, theirs, CUTTING)
    if not ours:
        faults = _plan(theirs, values)
        is_due = not changed if stale else bool(faults) or _same(made, theirs, DECIDED)
        if is_due and not made.lacking:  # the plan must be the engine's, which names the very cells that differ
            ours, faults, stale = True, [], False
            values = evaluate(made.spec, made.layout)
    theirs = made.with_file(_kept(plan, ours=ours, changed=changed))
    if not stale:
        faults += differences(made.estimate, theirs.layout, values, made.shape)
    due = due_cells(theirs.layout, values)
    found = compare(made.book, due, theirs.layout)
    found += [
        Difference(at, "text", made.book.values.get(at), value, "a text no formula can read")
        for at, value in made.mended.items()
        if not any(one.address == at for one in found)
    ]
    refused = values[theirs.layout.address("errors_found")] != 0
    price = None if refused else float(values[theirs.layout.address("total_price")])
    words = str(values[theirs.layout.address("plan_words")])
    return Verified((*found, *faults), len(due), price, words)


def _kept(plan: Sequence[str], *, ours: bool, changed: bool) -> list[str]:
    """Return what the engine stated when the workbook was made, and no longer needs to be so.

    That is the cut plan, unless it is the one the engine makes now, and all else once an input changed.
    """
    return [key for key in plan if (not ours if _of_cutting(key) else changed)]


def _of_cutting(key: str) -> bool:
    return key in CUTTING or key.startswith(DRAWN)


def _same(made: Redeclared, theirs: Redeclared, keys: Collection[str]) -> bool:
    """Return whether the file holds the very values that the engine states."""
    held = {one.key: one for one in declared_keys(theirs.spec) if one.key in keys}
    ours = (one for one in declared_keys(made.spec) if one.key in keys)
    pairs = (pair for one in ours for pair in zip_longest(_values(one), _values(held[one.key])))
    return all(same_value(ours, theirs) for ours, theirs in pairs)


def _values(one: Column | Scalar) -> Sequence[Any]:
    return [one.value] if isinstance(one, Scalar) else one.values or ()


def _plan(theirs: Redeclared, values: Mapping[Address, Any]) -> list[Difference | PlanFault | str]:
    """Hold the plan in the file to itself and, where it is current, to the least cost that the engine knows."""
    book, shape = theirs.book, theirs.shape
    faults: list[Difference | PlanFault | str] = list(plan_faults(book, shape, values))
    costs = plan_costs(book, shape)
    for block, cut in enumerate(block_cuts(theirs.estimate, shape)):
        fresh = values[theirs.layout.address("t_fresh", block)] == 1
        if cut is not None and fresh and cut.plan.proven and abs(cut.plan.cost / 100 - costs[block]) > 0.004:
            where = theirs.layout.address("cut_cost", block)
            faults.append(Difference(where, "text", costs[block], cut.plan.cost / 100, "cost of the plan"))
    return faults
