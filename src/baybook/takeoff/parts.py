"""Parts of an area between its beams, and the panels, strips and aprons in them (rules G5, G6, G8, P1 to P6)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from baybook.job.rates import Rates
from baybook.job.records import Area, Framing, Liner
from baybook.numbers import r6, sixteenths_up
from baybook.takeoff.members import Member, clear_widths_in
from baybook.takeoff.model import AreaTake, Bay, Part
from baybook.takeoff.panels import clear_run_in, cut_length_in, fall_in_per_ft, pieces_of_panel, width_needed_in
from baybook.water.flow import catchment_sq_ft, flow_gpm

__all__ = ["Bounds", "bay_of", "bounds_of", "cut_and_fall", "flush_beams", "part_of", "widest_need_in", "with_pieces"]


@dataclass(frozen=True, slots=True)
class Bounds:
    """G6. Where one part begins and ends, from the ledger out. [in]."""

    near_in: float
    far_in: float
    plan_from_in: float
    plan_to_in: float
    near_beam_in: float  # width of the beam it begins at, 0 at the ledger
    far_beam_in: float  # width of the beam it ends at, 0 at the rim


def flush_beams(framing: Iterable[Framing], rates: Rates) -> list[tuple[float, float]]:
    """G6. Centre and width of each flush beam, from the ledger out. [in]."""
    return sorted(
        (row.y_in or 0.0, (row.plies or 1) * rates.beam_ply_in) for row in framing if row.kind == "flush_beam"
    )


def bounds_of(area: Area, framing: Iterable[Framing], rates: Rates) -> tuple[Bounds, ...]:
    """G6. Parts of an area between ledger, flush beams and rim.

    Parameters
    ----------
    area : Area
        The area.
    framing : iterable of Framing
        Its framing rows; only flush beams split it.
    rates : Rates
        Thickness of ledger and beam plies.

    Returns
    -------
    tuple of Bounds
        From the ledger out; one if there is no flush beam.
    """
    beams = flush_beams(framing, rates)
    rim_face = rates.ledger_thickness_in + clear_run_in(
        area.projection_in, rates.ledger_thickness_in, area.rim_plies, area.joist_thickness_in
    )
    starts = [(rates.ledger_thickness_in, 0.0, 0.0)] + [(y + wide / 2, y, wide) for y, wide in beams]
    ends = [(y - wide / 2, y, wide) for y, wide in beams] + [(rim_face, area.projection_in, 0.0)]
    return tuple(
        Bounds(near, far, plan_from, plan_to, near_beam, far_beam)
        for (near, plan_from, near_beam), (far, plan_to, far_beam) in zip(starts, ends, strict=True)
    )


def _high_lap_in(bounds: Bounds, area: Area, liner: Liner, rates: Rates) -> float:
    """P2. Lap at the high end: up the ledger, over the rim, or over the beam a part begins at."""
    if area.gutter_side == "rim":
        return bounds.near_beam_in or liner.high_lap_in
    return bounds.far_beam_in or area.rim_plies * area.joist_thickness_in + rates.rim_turn_down_in


def _low_end(bounds: Bounds, area: Area) -> str:
    beam = bounds.far_beam_in if area.gutter_side == "rim" else bounds.near_beam_in
    return "beam" if beam else area.gutter_side


def cut_and_fall(clear_in: float, lap_in: float, area: Area, liner: Liner, rates: Rates) -> tuple[float, float]:
    """P2, P3. Cut length [in] and fall [in/ft] of a panel over a clear run; both 0 where nothing is clear."""
    if r6(clear_in) <= 0:
        return 0.0, 0.0
    cut = cut_length_in(clear_in, lap_in, liner.low_setback_in, rates.trim_allowance_in, rates.cut_step_in)
    return cut, fall_in_per_ft(liner.drape_in, clear_in, area.frame_fall_in_per_ft)


def bay_of(
    part: Part, name: str, number: int, left_in: float, clear_in: float, low_end: str, rates: Rates, piece: str = ""
) -> Bay:
    """G5, O1, P4. One bay of a part: whether it drains, and the liner it needs; trim-off waits for the stock width."""
    drains = clear_in > r6(rates.narrow_bay_in)
    return Bay(
        part=name,
        number=number,
        left_in=left_in,
        clear_in=clear_in,
        run_in=part.clear_run_in,
        low_end=low_end,
        cut_length_in=part.cut_length_in,
        drains=drains,
        width_needed_in=width_needed_in(clear_in, part.liner.drape_in, part.liner.side_lap_in),
        trim_off_in=0.0,
        narrow_outlet=drains and clear_in < r6(rates.outlet_min_bay_in),
        piece=piece,
    )


def part_of(
    bounds: Bounds,
    number: int,
    parts: int,
    area: Area,
    liner: Liner,
    members: Sequence[Member],
    rates: Rates,
    rain_in_per_h: float,
) -> Part:
    """G6, P1 to P5. One part with its bays, before the stock on offer is known.

    Parameters
    ----------
    bounds : Bounds
        Where it stands.
    number, parts : int
        Its place from the ledger out, and how many there are.
    area, liner, members, rates
        What it is a part of.
    rain_in_per_h : float
        Design rain. [in/h]

    Returns
    -------
    Part
        Without its pieces. A clear run of nothing is for the caller to refuse; its lengths are then 0.
    """
    name = area.area if parts == 1 else f"{area.area}/{number}"
    clear = bounds.far_in - bounds.near_in  # not rounded: a cut length that is a whole number of steps stays
    depth = bounds.plan_to_in - bounds.plan_from_in
    plan = area.width_in * depth / 144
    wall = (area.wall_height_in / 12, area.wall_in / 12, area.roof_area_sq_ft) if number == 1 else (0.0, 0.0, 0.0)
    at_low_side = number == (parts if area.gutter_side == "rim" else 1)
    wide = [m.width_in for m in members[1:-1] if m.width_in > r6(rates.wide_member * liner.side_lap_in)]
    lap = _high_lap_in(bounds, area, liner, rates)
    cut, fall = cut_and_fall(clear, lap, area, liner, rates)
    part = Part(
        name=name,
        area=area,
        liner=liner,
        number=number,
        near_in=bounds.near_in,
        far_in=bounds.far_in,
        plan_to_in=bounds.plan_to_in,
        line=(area.gutter_line or area.area) if at_low_side else name,
        line_in=area.width_in,
        toward_ledger=area.gutter_side == "ledger",
        clear_run_in=clear,
        cut_length_in=cut,
        fall_in_per_ft=fall,
        plan_area_sq_ft=plan,
        flow_gpm=flow_gpm(rain_in_per_h, catchment_sq_ft(max(0.0, plan), rates.wall_share, *wall)),
        bays=(),
        narrow_strip_in=0.0,
        wide_strip_in=max(wide, default=0.0),
        wide_members=len(wide),
    )
    low = _low_end(bounds, area)
    bays = tuple(
        bay_of(part, name, number, left.right_in, clear_in, low, rates)
        for number, (left, clear_in) in enumerate(zip(members, clear_widths_in(members), strict=False), 1)
    )
    narrow = [bay.clear_in + 2 * liner.side_lap_in for bay in bays if not bay.drains]
    return replace(part, bays=bays, narrow_strip_in=max(narrow, default=0.0))


def widest_need_in(take: AreaTake, rates: Rates) -> float:
    """P4. The widest liner an area needs: its bays, cap strips and apron. [in]."""
    widths = [bay.width_needed_in for part in take.parts for bay in part.bays if bay.drains]
    widths += [width for part in take.parts for width in (part.narrow_strip_in, part.wide_strip_in)]
    if take.area.gutter_side == "ledger":
        widths.append(rates.apron_in)
    return max(widths, default=0.0)


def with_pieces(part: Part, stock_width_in: float, longest_sixteenths: int, rates: Rates) -> Part:
    """P4, P6. The part once the stock is known: trim-off of each bay and the pieces of a panel.

    Raises
    ------
    OutOfRange
        If a splice's lap is as long as the stock.
    """
    bays = tuple(
        replace(bay, trim_off_in=stock_width_in - bay.width_needed_in if bay.drains else 0.0) for bay in part.bays
    )
    pieces = pieces_of_panel(
        sixteenths_up(part.cut_length_in), longest_sixteenths, rates.splice_lap_in, rates.min_piece_in
    )
    return replace(part, bays=bays, panel_pieces=pieces)
