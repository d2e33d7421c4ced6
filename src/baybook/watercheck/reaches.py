"""Reach, heights and movement of gutter lines, and the height left below (O3, T4, T5)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from baybook.job.rates import Rates
from baybook.job.records import Framing
from baybook.numbers import r6, same_or_less
from baybook.takeoff.model import AreaTake, GutterLine, Part
from baybook.water.leaders import longest_run_ft
from baybook.water.movement import expansion_joints, thermal_movement_in
from baybook.watercheck.model import Height, LineFacts, ReachRow

__all__ = ["heights_of", "line_facts", "reach_rows", "rest_in"]

WAYS = (("one way", 1, "end"), ("two ways", 2, "end"), ("to the middle", 1, "middle"))


def rest_in(line: GutterLine, parts: Sequence[Part], rates: Rates) -> float:
    """O3, W4. What the least nozzle of a line leaves for the gutter's fall, once it stands as deep as asked. [in]."""
    nozzle = min(part.liner.nozzle_reach_in for part in parts)
    left = r6(nozzle - rates.gutter_top_gap_in - rates.nozzle_in_gutter_in)
    steps = [
        r6(part.area.joist_bottom_in - line.joist_bottom_in) for part in parts if not line.more_extensions[part.name]
    ]
    return min(r6(left - step) for step in steps)


def reach_rows(line: GutterLine, parts: Sequence[Part], rates: Rates) -> Iterator[ReachRow]:
    """O3. The line as planned, and one way, two ways, to the middle.

    Parameters
    ----------
    line : GutterLine
        The line.
    parts : sequence of Part
        The parts that drain into it.
    rates : Rates
        Fall of the gutter, and how deep a nozzle must stand in it.

    Yields
    ------
    ReachRow
        The run of each way, and how deep the nozzles stand at its low end.
    """
    rest, fall = rest_in(line, parts, rates), rates.gutter_fall_in_per_ft
    ways = [("as planned", line.leaders, line.run_ft)]
    ways += [(way, count, longest_run_ft(line.length_ft, count, at)) for way, count, at in WAYS]
    for way, leaders, run in ways:
        drop = fall * run
        nozzle = rates.nozzle_in_gutter_in + rest - drop
        yield ReachRow(line.name, way, leaders, run, drop, nozzle, same_or_less(rates.nozzle_in_gutter_in, nozzle))


def line_facts(line: GutterLine, rates: Rates) -> LineFacts:
    """O3, T4. Heights of a line at both ends, and its movement between expansion joints."""
    high = line.joist_bottom_in - rates.gutter_top_gap_in
    low = high - rates.gutter_fall_in_per_ft * line.run_ft
    joints = expansion_joints(line.length_ft, rates.expansion_joint_ft)
    stretch = line.length_ft / (joints + 1)
    moves = thermal_movement_in(stretch, rates.temperature_swing_f, rates.gutter_material)
    return LineFacts(line.name, high, low, low - rates.gutter_depth_in, joints, moves)


def heights_of(takes: Sequence[AreaTake], framing: Sequence[Framing], lines: Sequence[LineFacts]) -> tuple[Height, ...]:
    """T5. Height above grade below the joists, below dropped beams of stated depth, and below gutters at their low end.

    Parameters
    ----------
    takes : sequence of AreaTake
        The areas.
    framing : sequence of Framing
        All framing rows; a dropped beam hangs from the joist bottoms.
    lines : sequence of LineFacts
        The gutter lines.

    Returns
    -------
    tuple of Height
        Areas, beams, lines.
    """
    bottoms = {take.area.area.casefold(): take.area.joist_bottom_in for take in takes}
    beams = [row for row in framing if row.kind == "dropped_beam" and row.depth_in is not None]
    return (
        *(Height(take.area.area, "joists", take.area.joist_bottom_in) for take in takes),
        *(Height(row.area, "dropped beam", bottoms[row.area.casefold()] - (row.depth_in or 0.0)) for row in beams),
        *(Height(facts.line, "gutter", facts.under_low_in) for facts in lines),
    )
