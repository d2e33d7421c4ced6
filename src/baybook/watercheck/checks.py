"""The water checks of a job: rows, reach, heights, posts, and what they find."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from baybook.job.records import JobInputs
from baybook.numbers import r6
from baybook.problems import OutOfRange
from baybook.takeoff.model import Finding, GutterLine, Part, Takeoff
from baybook.water.capacity import Capacity
from baybook.watercheck.capacities import busiest_share, code_capacity, line_rows, part_rows, profiles_of
from baybook.watercheck.model import CheckRow, Height, ReachRow, WaterChecks
from baybook.watercheck.posts import post_findings, post_rows
from baybook.watercheck.reaches import heights_of, line_facts, reach_rows

__all__ = ["check_water"]


def _adopted(inputs: JobInputs, found: list[Finding]) -> dict[str, Capacity | None]:
    """What the typed code gives the sizes in use; a size it lacks is said, and the other method decides."""
    sizes = {"gutter": inputs.rates.gutter_profile, "leader": inputs.rates.leader_size}
    adopted: dict[str, Capacity | None] = {}
    for kind, size in sizes.items():
        try:
            adopted[kind] = code_capacity(kind, size, inputs.codes, inputs.rates)
        except OutOfRange as why:
            adopted[kind] = None
            found.append(Finding("W2", failed=False, where=kind, message=f"the adopted code does not decide: {why}"))
    return adopted


def _cure(row: CheckRow) -> str:
    sized = [f"{row.least_size} would pass"] if row.least_size else []
    counted = [f"{row.leaders} leaders would pass"] if row.leaders else []
    return f": {' or '.join(sized + counted)}" if sized or counted else ""


def _row_findings(rows: Sequence[CheckRow]) -> Iterator[Finding]:
    """W2. A row that decides and does not pass stands in the way of an offer."""
    for row in rows:
        if row.governs and not row.passes:
            why = f" ({row.note})" if row.capacity_gpm <= 0 else ""
            yield Finding(
                "W2",
                failed=True,
                where=row.where,
                message=f"{row.flow_gpm:.2f} gpm come, {row.capacity_gpm:.2f} are carried{why} by {row.method}, "
                f"{row.edition}{_cure(row)}",
            )


def _line_findings(line: GutterLine, leader_at: str, rows: Sequence[CheckRow]) -> Iterator[Finding]:
    """W3. Leaders count as if they shared evenly; one between two others takes more."""
    decides = next(row for row in rows if row.what == "leaders" and row.governs)
    busiest = line.flow_gpm / busiest_share(line.leaders, leader_at)
    if decides.passes and r6(busiest) > r6(decides.capacity_gpm / line.leaders):
        yield Finding(
            "W3",
            failed=False,
            where=line.name,
            message=f"a leader between two others takes {busiest:.2f} gpm, more than one carries "
            f"({decides.capacity_gpm / line.leaders:.2f}): one more leader, or a larger one, evens it out",
        )


def _rate_findings(inputs: JobInputs, heights: Sequence[Height]) -> Iterator[Finding]:
    rates = inputs.rates
    depth = profiles_of(rates)[rates.gutter_profile].depth_in
    if r6(depth) != r6(rates.gutter_depth_in):
        yield Finding(
            "W2",
            failed=False,
            where=rates.gutter_profile,
            message=f"is {depth:g} in deep, the rate gutter_depth_in says {rates.gutter_depth_in:g}: nozzles and "
            "leaders go by the rate",
        )
    for one in heights:
        if r6(one.height_in) < r6(rates.min_headroom_in):
            yield Finding(
                "T5",
                failed=False,
                where=one.name,
                message=f"{one.height_in:g} in are left below the {one.below}, {rates.min_headroom_in:g} are asked for",
            )


def check_water(takeoff: Takeoff, inputs: JobInputs) -> WaterChecks:
    """Check where a job's water goes.

    Parameters
    ----------
    takeoff : Takeoff
        Its take-off.
    inputs : JobInputs
        What it states.

    Returns
    -------
    WaterChecks
        Every capacity with its method and edition, reach and heights of the gutters, posts, and what was found.
    """
    rates = inputs.rates
    found: list[Finding] = []
    adopted = _adopted(inputs, found)
    parts: Mapping[str, Part] = {part.name: part for part in takeoff.parts}
    rows = [row for part in takeoff.parts for row in part_rows(part, rates)]
    reaches: list[ReachRow] = []
    for line in takeoff.lines:
        mine = [parts[name] for name in line.parts]
        leader_at = mine[0].area.leader_at
        here = list(line_rows(line, leader_at, rates, inputs.codes, adopted))
        rows += here
        reaches += reach_rows(line, mine, rates)
        found += _line_findings(line, leader_at, here)
    facts = tuple(line_facts(line, rates) for line in takeoff.lines)
    heights = heights_of(takeoff.areas, inputs.framing, facts)
    posts = tuple(post_rows(takeoff.areas, inputs))
    found += [*_row_findings(rows), *_rate_findings(inputs, heights), *post_findings(posts, inputs)]
    return WaterChecks(tuple(rows), tuple(reaches), facts, heights, posts, tuple(found))
