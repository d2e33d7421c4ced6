"""Areas given by an outline or measured bay by bay: their bays as drawn, the tape measure that wins, what follows.

What shapely cuts out of an outline is the engine's; every length after it is a formula (G10 to G12).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from baybook.estimate import Estimate
from baybook.job.fields import fields_of
from baybook.job.rates import Rates
from baybook.job.records import Framing, Measured
from baybook.numbers import r6
from baybook.outline import Corner
from baybook.takeoff.cutout import Segment
from baybook.takeoff.findings import beam_part
from baybook.takeoff.lowlines import SQUARE_DEG
from baybook.takeoff.model import AreaTake, Part
from baybook.takeoff.take import blocked_part, tape_in
from baybook.units import show_length
from baybook.workbook.declare import Block, Column, Scalar, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import sticks, work
from baybook.workbook.sheets.inputs import Units, input_column

__all__ = ["DRAWN_RATES", "RING", "drawn_parts", "measured_sheet", "outlines_work_sheet"]

DRAWN_RATES = ("ledger_thickness_in", "beam_ply_in", "board_width_in", "board_gap_in", "border_overhang_in",
               "joint_plies", "pack_gap_in")  # fmt: skip
RING = 9  # points that draw a bay on the plan, the first given again
_HIGH = {"ledger": 1, "rim": 2, "beam": 3, "header": 3}


def drawn_parts(estimate: Estimate, shape: Shape) -> Iterator[tuple[int, AreaTake, Part, Segment | None]]:
    """Yield (row of its area from 1, the area, the part, its segment or None for a cap strip), in the order of rows."""
    takes = estimate.takeoff.areas
    for row, take in zip(shape.rows("area", len(takes)), takes, strict=True):
        if take.drawing is not None:
            segments = iter(take.drawing.segments)
            for part in take.parts:
                yield row + 1, take, part, next(segments) if part.bays else None


def _plan(key: str, header: str, unit: str, values: Sequence[Any], rule: str = "G10", fmt: str = "") -> Column:
    return Column(key=key, header=header, unit=unit, values=tuple(values), rule=rule, origin="plan", fmt=fmt)


# ------------------------------------------------------------------------------------------------------- measured


def measured_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return the bays as drawn and the cells where the tape measure wins over the drawing."""
    units = Units(estimate.inputs.rates.units == "metric")
    given = {(row.area.casefold(), row.bay.casefold()): row for row in estimate.inputs.measured}
    rows: list[tuple[str | None, str | None, float | None, float | None, Measured | None]] = []
    for _, take, _, segment in drawn_parts(estimate, shape):
        if segment is None:
            rows.append((None, None, None, None, None))
            continue
        bay = segment.label
        found = given.get((take.area.area.casefold(), bay.casefold()))
        rows.append((take.area.area, bay, segment.clear_in, segment.run_in, found))

    def drawn(at: int, key: str, header: str, unit: str = "") -> Column:
        return Column(key=key, header=header, unit=unit, role="label", origin="plan", width=16,
                      fmt="#,##0.000" if unit else "", values=tuple(row[at] for row in rows))  # fmt: skip

    inputs = [
        replace(input_column("ms", one, (getattr(row[-1], one.attribute, None) for row in rows), units), width=16)
        for one in fields_of(Measured)
        if one.name not in {"job", "area", "bay"}
    ]
    columns = (
        drawn(0, "ms_area", "area"),
        drawn(1, "ms_bay", "bay"),
        drawn(2, "ms_drawn_w", "clear width as drawn", "in"),
        drawn(3, "ms_drawn_r", "clear run as drawn", "in"),
        *inputs,
    )
    return Sheet(
        title="Measured",
        purpose="Bays of areas that are drawn by corner points or were measured. What you type here wins over the drawing; "
        "all that follows from it is worked out again.",
        parts=(Table(key="measured", title="Bays, from the left", rows=shape.segments, columns=columns),),
    )


# ------------------------------------------------------------------------------------------------------- workings


def _areas(estimate: Estimate, shape: Shape) -> Table:
    takes, rates = estimate.takeoff.areas, estimate.inputs.rates
    found: list[AreaTake | None] = [None] * shape.areas
    for row, take in zip(shape.rows("area", len(takes)), takes, strict=True):
        found[row] = take if take.drawing is not None else None

    def of(value: Any, blank: Any = 0.0) -> tuple[Any, ...]:
        return tuple(blank if take is None else value(take) for take in found)

    def same(one: str, other: str) -> str:
        return f"ROUND([{one}]-{other},6)=0"

    columns = (
        _plan("oa_on", "drawn", "0/1", of(lambda _: 1, 0)),
        _plan("oa_outline", "outline it was drawn from", "", of(lambda take: take.area.outline or None, None)),
        _plan("oa_members", "members", "no", of(lambda take: len(take.members), 0), "G4"),
        _plan("oa_marks", "left face of each member", "", of(lambda take: _marks(take, rates.units), None), "G4"),
        _plan("oa_tape", "tape along members and high edges", "in", of(tape_in), "T1"),
        _plan("oa_apron", "apron along the ledger", "in", of(lambda take: take.apron_in), "G8"),
        _plan("oa_width", "drawn for width", "in", of(lambda take: take.area.width_in)),
        _plan("oa_projection", "projection", "in", of(lambda take: take.area.projection_in)),
        _plan("oa_spacing", "spacing", "in", of(lambda take: take.area.spacing_in)),
        _plan("oa_thick", "thickness", "in", of(lambda take: take.area.joist_thickness_in)),
        _plan("oa_layout", "layout", "code", of(lambda take: ("left", "right", "even").index(take.area.layout) + 1, 0)),
        _plan("oa_rims", "rim plies", "no", of(lambda take: take.area.rim_plies, 0)),
        _plan("oa_ledger", "drains to the ledger", "0/1", of(lambda take: int(take.area.gutter_side == "ledger"), 0)),
        _plan("oa_along", "joists along the house", "0/1", of(lambda take: int(take.area.joists == "along"), 0)),
        _plan("oa_borders", "borders", "no", of(lambda take: take.area.borders, 0)),
        _plan("oa_tape_w", "width of tape", "in", of(lambda take: take.liner.tape_width_in)),
        _plan("oa_thin", "single plies are capped", "0/1", of(lambda take: _thin_capped(take, rates), 0), "P5"),
        work("oa_rows_off", "framing rows that are others", "no", "=SUMIF(f_at,[w_no@],fo_off)+SUMIF(fo_at,[w_no@],fo_off)"),
        work("oa_openings", "openings", "no", "=SUMIF(f_at,[w_no@],f_opening)"),
        work("oa_along_now", "joists along the house now", "0/1", '=IF([a_joists@]="along",1,0)'),
        work("oa_text_off", "outline is another", "0/1", '=IF([a_outline@]&""=[oa_outline]&"",0,1)'),
        work("oa_size_off", "size or spacing is another", "0/1",
             "=IF(AND(" + ",".join((same("oa_width", "[w_width@]"), same("oa_projection", "[w_projection@]"),
                                    same("oa_spacing", "[w_spacing@]"), same("oa_thick", "[w_thick@]"),
                                    same("oa_tape_w", "INDEX(l_tape_width_in,[w_lix@])"))) + "),0,1)"),
        work("oa_thin_now", "single plies are capped now", "0/1", "=IF([w_thick@]>ROUND(wide_member*[w_lap@],6),1,0)", "P5"),
        work("oa_frame_off", "framing is another", "0/1",
             "=IF(AND(" + ",".join((same("oa_layout", "[w_layout@]"), same("oa_rims", "[w_rims@]"),
                                    same("oa_ledger", "[w_ledger@]"), same("oa_borders", "[w_borders@]"),
                                    same("oa_along", "[oa_along_now]"), same("oa_thin", "[oa_thin_now]"), "[oa_rows_off]=0", "drawn_rates_off=0")) + "),0,1)"),
        work("oa_undrawn", "has an outline or openings, and is not drawn", "0/1",
             '=IF(OR([a_outline@]<>"",[oa_openings]>0),[w_use@]*(1-[oa_on]),0)'),
        work("oa_off", "drawing is out of date", "0/1",
             "=MIN(1,[oa_text_off]+[oa_size_off]+[oa_frame_off]+1-[w_use@])*[oa_on]+[oa_undrawn]"),
        work("oa_last", "last of its bays", "row", "=[oa_last-]+COUNTIF(sg_area,[w_no@])"),
        work("oa_lastix", "that row", "row", "=MAX(1,[oa_last])"),
        work("oa_bays", "bays and parts of bays", "no", "=COUNTIFS(sg_area,[w_no@],sg_is_bay,1)"),
    )  # fmt: skip
    return Table(key="drawn_areas", title="Areas as drawn", rows=shape.areas, columns=columns)


def _marks(take: AreaTake, units: str) -> str:
    """G4. The framer's marks: where each member begins, and how wide those of several plies are."""
    ply = r6(take.area.joist_thickness_in)
    return ",  ".join(
        show_length(one.left_in, units) + (f" ({show_length(one.width_in, units)} wide)" if one.width_in > ply else "")
        for one in take.members
    )


def _thin_capped(take: AreaTake, rates: Rates) -> int:
    """P5. Whether the liner laps so little that a member of one ply is wide."""
    return int(r6(take.area.joist_thickness_in) > r6(rates.wide_member * take.liner.side_lap_in))


def _segments(estimate: Estimate, shape: Shape) -> Table:
    rows = list(drawn_parts(estimate, shape))
    big = Units(estimate.inputs.rates.units == "metric").big

    def of(value: Any, strip: Any = 0.0) -> tuple[Any, ...]:
        """Return a value a row; of a cap strip another."""
        return tuple(strip(take, part) if segment is None and callable(strip) else strip if segment is None
                     else value(take, part, segment) for _, take, part, segment in rows)  # fmt: skip

    def line(take: AreaTake, part: Part, _: Segment) -> int:
        return [edge.name for edge in take.edges].index(part.line) + 1

    def line_name(take: AreaTake, part: Part, segment: Segment) -> str:
        number = line(take, part, segment)
        return take.area.area if number == 1 else f"{take.area.area} line {number}"

    walls = {id(take): sum(one.wall_in for one in take.drawing.segments) for _, take, _, _ in rows if take.drawing}

    rings = [_ring(segment.corners if segment else ()) for _, _, _, segment in rows]

    def share(take: AreaTake, _: Part, segment: Segment) -> float:
        return segment.wall_in / walls[id(take)] if walls[id(take)] > 0 else 0.0

    columns = (
        work("sg_no", "no", "no", "=[sg_no-]+1"),
        _plan("sg_area", "area", "row", [row for row, _, _, _ in rows]),
        _plan("sg_is_bay", "bay", "0/1", of(lambda *_: 1, 0)),
        _plan("sg_is_strip", "member that may be capped", "0/1", of(lambda *_: 0, 1), "P5"),
        _plan("sg_name", "part", "", [part.name for _, _, part, _ in rows]),
        _plan("sg_number", "bay of its area", "no", of(lambda _t, _p, s: s.number, 0)),
        _plan("sg_left", "left edge", "in", of(lambda _t, _p, s: s.left_in)),
        _plan("sg_wide", "clear width, or member", "in", of(lambda _t, _p, s: s.clear_in, _member_width)),
        _plan("sg_near", "clear from", "in", of(lambda _t, _p, s: s.near_in), "P1"),
        _plan("sg_far", "clear to", "in", of(lambda _t, _p, s: s.far_in), "P1"),
        _plan("sg_run", "clear run as drawn", "in", of(lambda _t, _p, s: s.run_in, lambda _t, p: p.clear_run_in), "P1"),
        _plan("sg_high", "high end at", "1 ledger, 2 rim, 3 beam", of(lambda _t, _p, s: _HIGH[s.high], _strip_high), "P2"),
        _plan("sg_thick", "beam or header there", "in", of(lambda _t, _p, s: s.high_in, _strip_high_in), "P2"),
        _plan("sg_slant", "rim there is longer by", "times", of(lambda _t, _p, s: s.high_slant, 1.0), "P2"),
        _plan("sg_toward", "drains toward the ledger", "0/1", of(lambda _t, p, _s: int(p.toward_ledger), _strip_toward), "G8"),
        _plan("sg_plan", "plan area", "sq ft", of(lambda _t, p, _s: p.plan_area_sq_ft), "W1"),
        _plan("sg_share", "share of wall and roof", "share", of(share), "W1"),
        _plan("sg_line", "gutter line of its area", "no", of(line, 0), "G12"),
        _plan("sg_line_name", "own name of that line", "", of(line_name, None), "G12"),
        *(_plan(f"sg_own_{side}", f"owns {head}", "in", of(lambda _t, p, _s, at=at: p.owns[at]), "O2")
          for at, (side, head) in enumerate((("left", "from the left"), ("right", "to the right"),
                                             ("near", "from the ledger"), ("far", "to")))),
        _plan("sg_label", "its number", "", of(lambda _t, _p, s: s.label, "")),
        *(_plan(f"sg_{axis}{n}", f"corner {n}, {axis}", "in", [ring[n - 1][at] for ring in rings])
          for at, axis in enumerate("xy") for n in range(1, RING + 1)),
        work("sg_wide_now", "clear width that counts", "in",
             '=IF([ms_clear_width@]="",[sg_wide],ROUND([ms_clear_width@]*small_in,6))', "G10"),
        work("sg_run_now", "clear run that counts", "in",
             '=IF([ms_clear_run@]="",[sg_run],[ms_clear_run@]*small_in)', "P1"),
        work("sg_ix", "area", "row", "=MAX(1,[sg_area])"),
        work("sg_use", "used", "0/1", "=IF([sg_area]>0,INDEX(w_drawn,[sg_ix]),0)"),
        work("sg_lap", "high lap", "in",
             "=CHOOSE(MAX(1,[sg_high]),INDEX(l_high_lap_in,INDEX(w_lix,[sg_ix])),"
             "INDEX(w_rims,[sg_ix])*INDEX(w_thick,[sg_ix])*[sg_slant]+rim_turn_down_in,[sg_thick])", "P2"),
        work("sg_same", "same area as above", "0/1", "=IF([sg_area]=[sg_area-],[sg_use],0)"),
        work("sg_drains", "drains", "0/1", "=IF([sg_wide_now]>ROUND(narrow_bay_in,6),[sg_is_bay],0)", "G5"),
        work("sg_capped", "member is capped", "0/1",
             "=IF([sg_wide]>ROUND(wide_member*INDEX(w_lap,[sg_ix]),6),[sg_is_strip],0)", "P5"),
        work("sg_dmax", "widest draining bay so far", "in", "=MAX([sg_dmax-]*[sg_same],[sg_wide_now]*[sg_drains])", "P4"),
        work("sg_nmax", "widest narrow bay so far", "in",
             "=MAX([sg_nmax-]*[sg_same],[sg_wide_now]*([sg_is_bay]-[sg_drains]))", "P5"),
        work("sg_wmax", "widest capped member so far", "in", "=MAX([sg_wmax-]*[sg_same],[sg_wide]*[sg_capped])", "P5"),
        *(work(f"sg_at_{axis}{n}", f"on the plan, corner {n}", big, f"=({begin}[sg_{axis}{n}])/big_in*[sg_use]*[sg_is_bay]")
          for axis, begin in (("x", "INDEX(off_x,[sg_ix])+"), ("y", "")) for n in range(1, RING + 1)),
        work("sg_untyped", "measured, and no number", "0/1",
             '=IF(OR(AND([ms_clear_width@]<>"",COUNT([ms_clear_width@])=0),AND([ms_clear_run@]<>"",COUNT([ms_clear_run@])=0)),1,0)'),
    )  # fmt: skip
    return Table(key="segments", title="Bays and capped members as drawn", rows=shape.segments, columns=columns)


def _ring(corners: Sequence[Corner]) -> tuple[Corner, ...]:
    """Return the corners of a bay, back to the first, as many as the plan draws: the least of a curve are left out."""
    kept = list(corners)
    while len(kept) >= RING:
        around = zip([kept[-1], *kept[:-1]], kept, [*kept[1:], kept[0]], strict=True)
        kept.pop(min((abs(_turn(*three)), at) for at, three in enumerate(around))[1])
    kept += kept[:1] or [(0.0, 0.0)]
    return (*kept, *[kept[0]] * (RING - len(kept)))


def _turn(before: Corner, corner: Corner, after: Corner) -> float:
    """Return twice the area of a triangle. [sq in]."""
    (x0, y0), (x1, y1), (x2, y2) = before, corner, after
    return (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)


def _member_width(_: AreaTake, part: Part) -> float:
    return part.member_in


def _strip_high(_: AreaTake, part: Part) -> int:
    return _HIGH[part.high]


def _strip_high_in(_: AreaTake, part: Part) -> float:
    return part.high_in


def _strip_toward(take: AreaTake, _: Part) -> int:
    return int(take.area.gutter_side == "ledger")


def _stretches(estimate: Estimate, shape: Shape) -> Table:
    takes = estimate.takeoff.areas
    big = Units(estimate.inputs.rates.units == "metric").big
    rows: list[tuple[Any, ...]] = [
        (
            row + 1,
            number,
            length,
            line.turns_deg[at] if at < len(line.turns_deg) else 0.0,
            *line.places[at],
            line.ends_deg[0] if at == 0 else 0.0,
            line.ends_deg[1] if at + 1 == len(line.stretches_in) else 0.0,
        )
        for row, take in zip(shape.rows("area", len(takes)), takes, strict=True)
        for number, line in enumerate(take.edges, 1)
        for at, length in enumerate(line.stretches_in)
    ]
    columns = (
        work("gs_no", "no", "no", "=[gs_no-]+1"),
        _plan("gs_area", "area", "row", [row[0] for row in rows], "G12"),
        _plan("gs_line", "gutter line of its area", "no", [row[1] for row in rows], "G12"),
        _plan("gs_drawn", "length", "in", [row[2] for row in rows], "G12", "#,##0.000"),
        _plan("gs_turn", "inner angle at its end", "deg", [row[3] for row in rows], "G12", "0.00;;"),
        *(_plan(f"gs_{axis}", f"{axis[0]} of an end", "in", [row[4 + at] for row in rows])
          for at, axis in enumerate(("x0", "y0", "x1", "y1"))),
        _plan("gs_open", "inner angle where the line begins", "deg", [row[8] for row in rows], "G12", "0.00;;"),
        _plan("gs_shut", "and where it ends", "deg", [row[9] for row in rows], "G12", "0.00;;"),
        work("gs_ix", "area", "row", "=MAX(1,[gs_area])"),
        work("gs_use", "used", "0/1", "=IF([gs_area]>0,INDEX(w_drawn,[gs_ix]),0)"),
        work("gs_len", "length that counts", "in", "=[gs_drawn]*[gs_use]", "G12"),
        *(work(f"gs_at_{axis}", "on the plan", big, f"=({begin}[gs_{axis}])/big_in*[gs_use]")
          for axis, begin in (("x0", "INDEX(off_x,[gs_ix])+"), ("x1", "INDEX(off_x,[gs_ix])+"), ("y0", ""), ("y1", ""))),
        work("gs_named", "shares a name", "0/1", '=IF(OR(INDEX(a_gutter_line,[gs_ix])="",[gs_line]>1),0,[gs_use])', "W4"),
        work("gs_code", "line code", "", "=(IFERROR((1000+MATCH(INDEX(a_gutter_line,[gs_ix]),a_gutter_line,0))*[gs_named],0)"
             "+(1000+1000+[gs_ix]*100+[gs_line])*(1-[gs_named]))*[gs_use]", "W4"),
        work("gs_row", "its row", "row", "=IFERROR(MATCH([gs_code],g_code,0),1)", "W4"),
        work("gs_first", "first of its area's line", "0/1",
             "=IF(COUNTIFS([gs_area^],[gs_area],[gs_line^],[gs_line])=1,[gs_use],0)", "G12"),
        *sticks("gs", "as cut", "[gs_len]", "gutter_longest16", "T4"),
        work("gs_rests", "rest", "no", "=IF([gs_rest16]>0,1,0)", "T4"),
        work("gs_bend", "turns by", "deg", "=IF([gs_turn]>0,ABS(half_turn-[gs_turn]),0)", "G12"),
        work("gs_corner", "takes a corner piece", "0/1", "=IF(ROUND([gs_bend],6)>ROUND(gutter_turn_deg,6),[gs_use],0)", "G12"),
        work("gs_nth", "area along its line", "no", "=COUNTIFS([gs_code^],[gs_code],[gs_first^],1)", "G12"),
        work("gs_key", "key of its end", "code", "=([gs_code]*1000+[gs_nth])*IF([gs_shut]>0,[gs_use],0)", "G12"),
        work("gs_joint", "goes on from another area", "0/1",
             "=IF(OR([gs_nth]>1,SUMIF(g_code,[gs_code],g_width)>0),[gs_first],0)", "G12"),
        work("gs_angle", "inner angle there", "deg",
             "=(IFERROR(INDEX(gs_shut,MATCH([gs_code]*1000+[gs_nth]-1,gs_key,0)),square)+[gs_open])*[gs_joint]", "G12"),
        work("gs_elbow", "takes a corner piece there", "0/1",
             "=IF(ROUND(ABS(half_turn-[gs_angle]),6)>ROUND(gutter_turn_deg,6),[gs_joint],0)", "G12"),
        work("gs_elbow_out", "outside corner there", "0/1", "=IF([gs_angle]<half_turn,[gs_elbow],0)", "G12"),
        work("gs_turn_out", "outside corner at its end", "0/1", "=IF([gs_turn]<half_turn,[gs_corner],0)", "G12"),
        work("gs_kind", "joiner, outside or inside corner there", "1 to 3",
             "=1+[gs_turn_out]+2*([gs_corner]-[gs_turn_out])", "G12"),
        work("gs_out", "outside corners", "no", "=[gs_turn_out]+[gs_elbow_out]", "G12"),
        work("gs_in", "inside corners", "no", "=[gs_corner]+[gs_elbow]-[gs_out]", "G12"),
        work("gs_slight", "turn that takes a joiner", "0/1", "=IF([gs_turn]>0,[gs_use]-[gs_corner],0)", "G12"),
        work("gs_joiners", "joiners", "no", "=MAX(0,[gs_whole]+[gs_rests]-1)+[gs_slight]", "T4"),
        work("gs_hangers", "hangers", "no",
             "=(IFERROR(ROUNDUP(ROUND([gs_cut]/per_inch/INDEX(g_hang,[gs_row]),6),0),0)+1)*[gs_use]", "T4"),
    )  # fmt: skip
    return Table(
        key="stretches", title="Gutter along outlines, stretch by stretch", rows=shape.stretches, columns=columns
    )


def _framing(estimate: Estimate, shape: Shape) -> Table:
    """Return the framing rows of drawn areas as they were drawn, and which bay decides of blocking or a dropped beam."""
    numbers = {part.name: at for at, (_, _, part, _) in enumerate(drawn_parts(estimate, shape), 1)}
    areas = zip(shape.rows("area", len(estimate.takeoff.areas)), estimate.takeoff.areas, strict=True)
    takes = {take.area.area.casefold(): (row + 1, take) for row, take in areas if take.drawing is not None}
    rows: list[tuple[Any, ...]] = [(0, None, 0.0, 0.0, 0, 0.0, 0.0, 0, 0)] * shape.framing
    framing = estimate.inputs.framing
    for at, row in zip(shape.rows("framing", len(framing)), framing, strict=True):
        if row.area.casefold() in takes:
            number, take = takes[row.area.casefold()]
            part = _deciding(row, take, estimate)
            sizes = (row.x_in, row.y_in, row.plies, row.width_in, row.projection_in)
            rows[at] = (number, row.kind, *(size or 0.0 for size in sizes), int(row.water == "header"),
                        numbers[part.name] if part else 0)  # fmt: skip

    def plan(at: int, key: str, header: str, unit: str) -> Column:
        return _plan(key, header, unit, [row[at] for row in rows])

    columns = (
        work("fo_no", "no", "no", "=[fo_no-]+1"),
        plan(0, "fo_at", "area", "row"),
        plan(1, "fo_kind", "kind", ""),
        plan(2, "fo_x", "x", "in"),
        plan(3, "fo_y", "y", "in"),
        plan(4, "fo_plies", "plies", "no"),
        plan(5, "fo_width", "width", "in"),
        plan(6, "fo_projection", "projection", "in"),
        plan(7, "fo_header", "gutter at the header", "0/1"),
        plan(8, "fo_seg", "bay that decides", "row"),
        work("fo_header_now", "gutter at the header now", "0/1", '=IF([f_water@]="header",1,0)'),
        work("fo_word_off", "of another kind or area", "0/1",
             '=IF(AND([f_kind@]&""=[fo_kind]&"",[f_at@]=[fo_at],[fo_header_now]=[fo_header]),0,1)'),
        work("fo_size_off", "of another size or place", "0/1",
             "=IF(AND(ROUND([f_xin@]-[fo_x],6)=0,ROUND([f_yin@]-[fo_y],6)=0,[f_plies@]-[fo_plies]=0,"
             "ROUND([f_width@]*big_in-[fo_width],6)=0,ROUND([f_projection@]*big_in-[fo_projection],6)=0),0,1)"),
        work("fo_off", "not as it was drawn", "0/1", "=MIN(1,[fo_word_off]+[fo_size_off])"),
    )  # fmt: skip
    return Table(key="drawn_framing", title="Framing of drawn areas, as drawn", rows=shape.framing, columns=columns)


def _plan_framing(estimate: Estimate, shape: Shape) -> Table:
    """Return beams and openings as the plan draws them: a box, of an opening with its diagonal."""
    unit = Units(estimate.inputs.rates.units == "metric").big
    across = ("left", "right", "right", "left", "left", "end_x")
    out = ("near", "near", "far", "far", "near", "end_y")
    columns = (
        work("fd_on", "drawn", "0/1", "=([f_beam@]+[f_dropped@]+[f_opening@])*IF([f_at@]>0,1,0)"),
        work("fd_left", "left", "in", "=INDEX(off_x,[f_ix@])+[f_xin@]*[f_opening@]"),
        work("fd_right", "right", "in",
             "=[fd_left]+CHOOSE(1+[f_opening@],INDEX(w_width,[f_ix@]),[f_width@]*big_in)"),
        work("fd_near", "near", "in", "=[f_yin@]-[f_half@]*(1-[f_opening@])"),
        work("fd_far", "far", "in", "=[f_yin@]+CHOOSE(1+[f_opening@],[f_half@],[f_projection@]*big_in)"),
        work("fd_end_x", "last point", "in", "=CHOOSE(1+[f_opening@],[fd_left],[fd_right])"),
        work("fd_end_y", "out from the ledger", "in", "=CHOOSE(1+[f_opening@],[fd_near],[fd_far])"),
        *(work(f"fd_x{n}", f"point {n}", unit, f"=[fd_{of}]/big_in*[fd_on]") for n, of in enumerate(across, 1)),
        *(work(f"fd_y{n}", "out from it", unit, f"=[fd_{of}]/big_in*[fd_on]") for n, of in enumerate(out, 1)),
        work("fd_xm", "words at", unit, "=IF([fd_on]=1,([fd_left]+[fd_right])*half/big_in,0-apart_in)"),
        work("fd_ym", "out from it", unit, "=([fd_near]+[fd_far])*half/big_in*[fd_on]"),
        Column(key="fd_words", header="words",
               formula='=IF([f_beam@]=1,"flush beam","")&IF([f_dropped@]=1,"dropped beam","")&IF([f_opening@]=1,"opening","")'),
    )  # fmt: skip
    return Table(key="plan_framing", title="Beams and openings on the plan", rows=shape.framing, columns=columns)


def _deciding(row: Framing, take: AreaTake, estimate: Estimate) -> Part | None:
    """Return the bay that decides of a row of blocking or of a dropped beam."""
    if row.kind == "blocking":
        blocked = blocked_part(take, row.y_in or 0.0)
        return blocked[0] if blocked else None
    return beam_part(take, row, estimate.inputs.rates)[0] if row.kind == "dropped_beam" else None


def _rates(estimate: Estimate) -> Table:
    columns = (
        Column(
            key="dr_name", header="rate", role="label", values=tuple(name.replace("_", " ") for name in DRAWN_RATES)
        ),
        _plan("dr_drawn", "drawn for", "in or no", [getattr(estimate.inputs.rates, name) for name in DRAWN_RATES]),
        work("dr_now", "now", "in or no", tuple(f"={name}" for name in DRAWN_RATES)),
        work("dr_off", "is another", "0/1", "=IF(ROUND([dr_drawn]-[dr_now],6)=0,0,1)"),
    )
    return Table(key="drawn_rates", title="Rates it was drawn for", rows=len(DRAWN_RATES), columns=columns)


def outlines_work_sheet(estimate: Estimate, shape: Shape) -> Sheet:
    """Return what was drawn and for which inputs, the bays, the gutter's stretches."""
    fixed = Block(
        title="Figures",
        scalars=(
            Scalar(key="half_turn", label="half a turn", unit="deg", value=180),
            Scalar(key="square", label="a square corner", unit="deg", value=SQUARE_DEG),
            Scalar(key="segments_before", label="sources of parts before the drawn bays", unit="no",
                   value=shape.areas + shape.framing),
            Scalar(key="bays_before", label="rows of bays before them", unit="no", value=shape.bays),
            Scalar(key="drawn_rates_off", label="rates that are others", unit="no", rule="G10", formula="=SUM(dr_off)"),
        ),
    )  # fmt: skip
    return Sheet(
        title="Work outlines",
        purpose="Areas drawn by corner points, with openings, or measured: bays and gutter as the drawing gives them, for which "
        "inputs it was made, and what follows from what was measured.",
        parts=(fixed, _rates(estimate), _areas(estimate, shape), _segments(estimate, shape), _stretches(estimate, shape),
               _framing(estimate, shape), _plan_framing(estimate, shape)),
        working=True,
    )  # fmt: skip
