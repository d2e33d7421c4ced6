"""What a take-off warns of, and the checks that stand in the way of an offer (rules P3, P6, O1 to O3, G9, T4)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from baybook.job.rates import Rates
from baybook.job.records import Framing, JobInputs, Liner
from baybook.numbers import r6
from baybook.takeoff.model import AreaTake, Blocking, Finding, GutterLine, Part
from baybook.takeoff.outlets import beam_room_in, eighths_down_in
from baybook.water.leaders import nozzle_touches_bottom

__all__ = ["HANGERS_APART_IN", "beam_part", "findings_of"]

HANGERS_APART_IN = 36.0  # University of Missouri Extension WQ322: 36 in at most, 18 where ice and snow last


def _part_findings(part: Part, rates: Rates) -> Iterator[Finding]:
    if part.bays and r6(part.fall_in_per_ft) < r6(rates.min_fall_in_per_ft):
        yield Finding(
            "P3",
            failed=False,
            where=part.name,
            message=f"fall {part.fall_in_per_ft:.4f} in/ft is under {rates.min_fall_in_per_ft:g}: water may stand",
        )
    if len(part.panel_pieces) > 1:
        yield Finding(
            "P6",
            failed=False,
            where=part.name,
            message=f"panels of {part.cut_length_in:g} in are spliced from {len(part.panel_pieces)} pieces, "
            "upper over lower like shingles",
        )
    narrow = sum(bay.narrow_outlet for bay in part.bays)
    if narrow:
        yield Finding("O1", failed=False, where=part.name, message=f"bay outlets cut narrower: {narrow}")


def _beam_findings(take: AreaTake, inputs: JobInputs) -> Iterator[Finding]:
    """G9. A dropped beam must leave room for the gutter at the low end of the part it lies under."""
    rates, area = inputs.rates, take.area
    for row in inputs.framing:
        if row.kind != "dropped_beam" or row.area.casefold() != area.area.casefold():
            continue
        part, room = beam_part(take, row, rates)
        if room < r6(rates.beam_clearance_in):
            yield Finding(
                "G9",
                failed=True,
                where=part.name,
                message=f"the dropped beam leaves {room:g} in at the low end of {rates.beam_clearance_in:g} in needed: "
                "it"
                " stands where the gutter goes; move it, drain to the other side, or frame it flush",
            )


def beam_part(take: AreaTake, row: Framing, rates: Rates) -> tuple[Part, float]:
    """G9. The part that a dropped beam lies under, of several bays the one that leaves least room, and the room."""
    y, wide = row.y_in or 0.0, (row.plies or 1) * rates.beam_ply_in
    under = [one for one in take.parts if one.owns and one.owns[2] <= y <= one.owns[3]] or [take.part_at(0.0, y)]
    faces = [one.near_in if one.toward_ledger else one.far_in for one in under]
    room, at = min((beam_room_in(y, wide, face), at) for at, face in enumerate(faces))
    return under[at], room


def _line_findings(line: GutterLine, liners: Sequence[Liner], rates: Rates) -> Iterator[Finding]:
    if r6(line.length_ft) > r6(rates.expansion_joint_ft):
        yield Finding(
            "T4",
            failed=False,
            where=line.name,
            message=f"{line.length_ft:g} ft of gutter, over {rates.expansion_joint_ft:g} ft, needs an expansion joint",
        )
    if r6(line.hanger_step_in) > HANGERS_APART_IN:
        yield Finding(
            "T4",
            failed=False,
            where=line.name,
            message=f"hangers {line.hanger_step_in:g} in apart; at most {HANGERS_APART_IN:g}, 18 where ice lasts",
        )
    nozzle = max(liner.nozzle_reach_in for liner in liners)
    if nozzle_touches_bottom(nozzle, rates.gutter_top_gap_in, rates.gutter_depth_in, rates.gutter_bottom_gap_in):
        yield Finding(
            "O3",
            failed=True,
            where=line.name,
            message="the nozzle touches the gutter's bottom at its high end: hang it lower or take a deeper gutter",
        )


def _blocking_findings(blocking: Sequence[Blocking], rates: Rates) -> Iterator[Finding]:
    for row in blocking:
        if row.low:
            yield Finding(
                "O2",
                failed=False,
                where=row.area,
                message=f"blocking at {row.y_in / 12:g} ft has {eighths_down_in(row.height_left_in):g} in left: lower "
                f"than the usual {rates.blocking_share:.0%} (IRC R507.6; value from memory): ask the designer; "
                "consider the other gutter side or less drape",
            )


def findings_of(
    takes: Sequence[AreaTake], lines: Sequence[GutterLine], blocking: Sequence[Blocking], inputs: JobInputs
) -> tuple[Finding, ...]:
    """Return all findings of a take-off: areas first, then gutter lines, then blocking."""
    rates = inputs.rates
    liners = {part.name: take.liner for take in takes for part in take.parts}
    found: list[Finding] = []
    for take in takes:
        for part in take.parts:
            found += _part_findings(part, rates)
        found += _beam_findings(take, inputs)
    for line in lines:
        found += _line_findings(line, [liners[name] for name in line.parts], rates)
    return (*found, *_blocking_findings(blocking, rates))
