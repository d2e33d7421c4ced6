"""Gutter lines: which parts share one, its reach, leaders, pieces and hangers (rules O3, W3, W4, T4, T5)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from baybook.job.rates import Rates
from baybook.numbers import down, r6, sixteenths_up, up
from baybook.problems import OutOfRange
from baybook.takeoff.lowlines import SQUARE_DEG
from baybook.takeoff.model import AreaTake, EdgeLine, GutterLine, Part
from baybook.takeoff.panels import pieces_of_line
from baybook.water.leaders import (
    leader_capacity_gpm,
    leader_length_in,
    leader_side_in,
    leaders_needed,
    longest_run_ft,
    straps_per_leader,
)

MOST_LEADERS = 1000  # of a line; only a slip of the pen asks for more

__all__ = ["MOST_LEADERS", "LineParts", "capacity_gpm", "group_lines", "hanger_step_in", "line_of"]


@dataclass(slots=True)
class LineParts:
    """The parts that drain into one gutter line, and the edges of outlines it follows."""

    name: str
    parts: list[Part] = field(default_factory=list)
    edges: list[EdgeLine] = field(default_factory=list)

    @property
    def stretches_in(self) -> tuple[float, ...]:
        """G12. Its straight stretches: one for all areas that are rectangles, then those along outlines. [in]."""
        plain = sum(part.line_in for part in self.parts)
        return (*((plain,) if plain else ()), *(length for edge in self.edges for length in edge.stretches_in))

    @property
    def joins_deg(self) -> tuple[float, ...]:
        """G12. The deck's inner angle where a shared line goes on along the next area, as the areas are listed.

        Two areas meet there: the angles at the end of the one and at the beginning of the other together.
        """
        ends = [edge.ends_deg for edge in self.edges]
        if any(part.line_in for part in self.parts):
            ends.insert(0, (SQUARE_DEG, SQUARE_DEG))
        return tuple(end + start for (_, end), (start, _) in pairwise(ends))


def group_lines(takes: Sequence[AreaTake]) -> tuple[LineParts, ...]:
    """W4. Parts by gutter line: those that share a ``gutter_line`` name, else each its own.

    Parameters
    ----------
    takes : sequence of AreaTake
        All areas of a job.

    Returns
    -------
    tuple of LineParts
        In the order in which the lines first occur. A line is named by its ``gutter_line``, else by its area;
        a line of an inner part by the part.
    """
    lines: dict[str, LineParts] = {}
    for take in takes:
        for part in take.parts:
            if part.line:
                lines.setdefault(part.line.casefold(), LineParts(part.line)).parts.append(part)
        for edge in take.edges:
            lines[edge.name.casefold()].edges.append(edge)
    return tuple(lines.values())


def capacity_gpm(rates: Rates) -> float:
    """W3. Capacity of one leader: as given, else by Wyly-Eaton on its smaller side. [gpm]."""
    return rates.leader_capacity_gpm or leader_capacity_gpm(leader_side_in(rates.leader_size))


def hanger_step_in(part: Part, rates: Rates) -> float:
    """T4. Hanger step of one area: at every so many joists, or along a nailer. [in]."""
    if part.area.gutter_fix == "nailer":
        return rates.hanger_spacing_in
    return part.area.spacing_in * max(1, down(rates.hanger_spacing_in / part.area.spacing_in))


@dataclass(frozen=True, slots=True)
class _Heights:
    bottom_in: float
    reach_ft: float
    more: Mapping[str, bool]


def _heights(line: LineParts, rates: Rates) -> _Heights:
    """O3, W4. Lowest joist bottom, reach, and which parts take one more extension an outlet."""
    nozzle = min(part.liner.nozzle_reach_in for part in line.parts)
    left = nozzle - rates.gutter_top_gap_in - rates.nozzle_in_gutter_in
    if r6(left) <= 0:
        raise OutOfRange(
            f"the outlet's nozzle reaches {nozzle:g} in below the joists; less the gutter's gap of "
            f"{rates.gutter_top_gap_in:g} in it does not stand {rates.nozzle_in_gutter_in:g} in in the gutter: "
            "hang the gutter closer"
        )
    bottom = min(part.area.joist_bottom_in for part in line.parts)
    steps = {part.name: part.area.joist_bottom_in - bottom for part in line.parts}
    highest = r6(max(steps.values()))
    if highest > r6(rates.max_step_in):
        raise OutOfRange(
            f"its areas' joist bottoms differ by {highest:g} in, more than {rates.max_step_in:g} in: "
            "give the higher area a gutter line of its own"
        )
    level = r6(rates.gutter_fall_in_per_ft) == 0
    # a step that leaves exactly nothing leaves a falling gutter no reach at all: it takes the extension too
    more = {name: r6(step) > r6(left) or (r6(step) == r6(left) and not level) for name, step in steps.items()}
    if level:
        return _Heights(bottom, float("inf"), more)
    rest = min(left - steps[name] for name in steps if not more[name])
    return _Heights(bottom, rest / rates.gutter_fall_in_per_ft, more)


def line_of(line: LineParts, rates: Rates, gutter_sixteenths: int, leader_sixteenths: int) -> GutterLine:
    """W3, W4, T4, T5. A gutter line with its leaders and pieces.

    Parameters
    ----------
    line : LineParts
        The parts that drain into it.
    rates : Rates
        The rates in force.
    gutter_sixteenths, leader_sixteenths : int
        Longest sticks on offer. [1/16 in]

    Returns
    -------
    GutterLine
        The line.

    Raises
    ------
    OutOfRange
        If a nozzle does not reach, areas stand too unevenly, areas differ in ``leader_at``, no leader fits below, or a
        count is beyond all reason.
    """
    places = {part.area.leader_at for part in line.parts}
    if len(places) > 1:
        raise OutOfRange("its areas differ in leader_at, end and middle: a line has one or the other")
    leader_at = places.pop()
    heights = _heights(line, rates)
    stretches = line.stretches_in
    length_in = sum(stretches)
    flow = sum(part.flow_gpm for part in line.parts)
    capacity = capacity_gpm(rates)
    leaders = leaders_needed(flow, capacity, length_in / 12, rates.leader_spacing_ft, heights.reach_ft, leader_at)
    if leaders > MOST_LEADERS:
        raise OutOfRange(
            f"{length_in / 12:g} ft would need {leaders:,} leaders: look at leader_spacing_ft "
            f"({rates.leader_spacing_ft:g}), a leader's capacity ({capacity:g} gpm) and the nozzle's reach "
            f"({heights.reach_ft:g} ft)"
        )
    run = longest_run_ft(length_in / 12, leaders, leader_at)
    discharge = rates.ledger_discharge_in if any(part.toward_ledger for part in line.parts) else 0.0
    length = leader_length_in(
        heights.bottom_in,
        rates.gutter_top_gap_in,
        rates.gutter_fall_in_per_ft,
        run,
        rates.gutter_depth_in,
        rates.leader_extra_in,
        discharge,
    )
    step = min(hanger_step_in(part, rates) for part in line.parts)
    cut = [sixteenths_up(length) for length in stretches]
    pieces = [pieces_of_line(length, gutter_sixteenths, rates.min_rest_in) for length in cut]
    turns = [*(turn for edge in line.edges for turn in edge.turns_deg), *line.joins_deg]
    cornered = [turn for turn in turns if r6(abs(180.0 - turn)) > r6(rates.gutter_turn_deg)]
    outside = sum(turn < 180.0 for turn in cornered)
    return GutterLine(
        name=line.name,
        parts=tuple(part.name for part in line.parts),
        length_in=length_in,
        flow_gpm=flow,
        capacity_gpm=capacity,
        reach_ft=heights.reach_ft,
        leaders=leaders,
        run_ft=run,
        joist_bottom_in=heights.bottom_in,
        leader_length_in=length,
        hanger_step_in=step,
        gutter_pieces=tuple(piece for of_stretch in pieces for piece in of_stretch),
        leader_pieces=pieces_of_line(sixteenths_up(length), leader_sixteenths, rates.min_rest_in),
        joiners=sum(len(of_stretch) - 1 for of_stretch in pieces) + len(turns) - len(cornered),
        corners_out=outside,
        corners_in=len(cornered) - outside,
        hangers=sum(up(length / 16 / step) + 1 for length in cut),
        straps=leaders * straps_per_leader(max(0.0, heights.bottom_in), rates.strap_spacing_in, rates.straps_fixed),
        more_extensions=heights.more,
    )
