"""Areas given by an outline, with openings, or measured bay by bay: every bay a part of its own (rules G10 to G12).

A bay carries its own clear run, low end and catchment; all that follows from them is worked out as for any part.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from baybook.job.rates import Rates
from baybook.job.records import Area, Framing, Liner, Measured
from baybook.numbers import r6, sixteenths_up
from baybook.outline import Outline, outline_of
from baybook.problems import OutOfRange
from baybook.takeoff.cells import Band, Frame, Hole
from baybook.takeoff.cutout import Cutout, MemberPiece, Segment, crossings, edge_members, piece_letter, segments_of
from baybook.takeoff.lowlines import LowLine
from baybook.takeoff.members import Strip, members_of
from baybook.takeoff.model import AreaTake, EdgeLine, Part
from baybook.takeoff.outlets import outlet_trim_in, takes_extension
from baybook.takeoff.parts import bay_of, cut_and_fall, flush_beams
from baybook.water.flow import catchment_sq_ft, flow_gpm

__all__ = ["MOST_BAYS", "OPENING_PLIES", "drawn_take", "is_drawn"]

OUTSIDE_IN = -1.0  # the first of neighbours owns what lies at the edge itself
MOST_BAYS = 360  # of one area, the pieces of a cut bay counted singly; a workbook has room for no more
FAR_TOO_MANY = 2  # times as many are refused before they are cut
OPENING_PLIES = 2  # of trimmers and headers unless stated; what they must be is the designer's


def is_drawn(area: Area, framing: Iterable[Framing], measured: Iterable[Measured]) -> bool:
    """G10. Whether an area's bays differ in their ends, or were measured, so that each is a part of its own."""
    name = area.area.casefold()
    return (
        area.shape is not None
        or any(row.kind == "opening" for row in framing)
        or any(row.area.casefold() == name for row in measured)
    )


def _holes(area: Area, framing: Iterable[Framing]) -> tuple[Hole, ...]:
    """G11. Openings, each with its headers."""
    return tuple(
        Hole(
            left_in=row.x_in or 0.0,
            right_in=(row.x_in or 0.0) + (row.width_in or 0.0),
            near_in=row.y_in or 0.0,
            far_in=(row.y_in or 0.0) + (row.projection_in or 0.0),
            header_in=(row.plies or OPENING_PLIES) * area.joist_thickness_in,
            gutter=row.water,
        )
        for row in framing
        if row.kind == "opening"
    )


def _trimmers(holes: Iterable[Hole], width_in: float) -> Iterator[Strip]:
    """G11. The joists beside each opening, as thick as its headers."""
    for hole in holes:
        yield r6(max(0.0, hole.left_in - hole.header_in)), r6(max(0.0, hole.left_in))
        yield r6(min(width_in, hole.right_in)), r6(min(width_in, hole.right_in + hole.header_in))


def _bands(framing: Iterable[Framing], rates: Rates) -> tuple[Band, ...]:
    return tuple(Band(y - wide / 2, y + wide / 2, y) for y, wide in flush_beams(framing, rates))


def _too_many(pieces: str) -> OutOfRange:
    return OutOfRange(
        f"its outline cuts the joist bays into {pieces} pieces, the most is {MOST_BAYS}: "
        "check its corners, or enter it as several areas (G10)"
    )


class _Drawing:
    """An area while it is taken off."""

    def __init__(
        self, area: Area, framing: Sequence[Framing], liner: Liner, rates: Rates, measured: Iterable[Measured]
    ) -> None:
        self.area, self.liner, self.rates = area, liner, rates
        box = ((0.0, 0.0), (area.width_in, 0.0), (area.width_in, area.projection_in), (0.0, area.projection_in))
        self.outline: Outline = area.shape or outline_of(box)
        self.rim_in = area.rim_plies * area.joist_thickness_in
        holes = _holes(area, framing)
        more = [*edge_members(self.outline, holes, area.joist_thickness_in), *_trimmers(holes, area.width_in)]
        self.members = members_of(area, framing, rates, [strip for strip in more if strip[1] > strip[0]])
        strips = [(member.left_in, member.right_in) for member in self.members]
        about = crossings(self.outline, strips)
        if about > FAR_TOO_MANY * MOST_BAYS:
            raise _too_many(f"some {about:,}")
        self.bands = _bands(framing, rates)
        self.cutout: Cutout = segments_of(
            self.outline,
            strips,
            self.bands,
            holes,
            Frame(ledger_in=rates.ledger_thickness_in, rim_in=self.rim_in, gutter_side=area.gutter_side),
        )
        name = area.area.casefold()
        self.measured = {row.bay.casefold(): row for row in measured if row.area.casefold() == name}
        self.by_bay: dict[int, list[Segment]] = defaultdict(list)  # each bay's parts from the ledger out
        for segment in self.cutout.segments:
            self.by_bay[segment.number].append(segment)
        self.lines = _lines(area, self.cutout.lines)
        self.walls_in = sum(segment.wall_in for segment in self.cutout.segments)
        middles = [(m.left_in + m.right_in) / 2 for m in self.members]
        self.bounds = [self.members[0].left_in, *middles[1:-1], self.members[-1].right_in]

    # ------------------------------------------------------------------------------------------------------ bays

    def lap_in(self, high: str, thick_in: float, slant: float) -> float:
        """P2. Lap at a high end; over a rim that stands at an angle it is the longer."""
        if high == "ledger":
            return self.liner.high_lap_in
        return self.rim_in * slant + self.rates.rim_turn_down_in if high == "rim" else thick_in

    def bay(self, segment: Segment, owns: tuple[float, float, float, float], rain: float) -> Part:
        """G10. One bay, or one part of it, as a part of its own."""
        area, rates = self.area, self.rates
        found = self.measured.get(segment.label)
        clear = segment.run_in if found is None or found.clear_run_in is None else found.clear_run_in
        wide = r6(segment.clear_in if found is None or found.clear_width_in is None else found.clear_width_in)
        share = segment.wall_in / self.walls_in if self.walls_in > 0 else 0.0
        sheds = (area.wall_height_in / 12, area.wall_in / 12, area.roof_area_sq_ft)
        plan = segment.plan_sq_in / 144
        wall = catchment_sq_ft(0.0, rates.wall_share, *sheds) * share
        name = f"{area.area}-{segment.label}"
        part = self.part(name, clear, self.lap_in(segment.high, segment.high_in, segment.high_slant))
        letter = piece_letter(segment.piece, segment.pieces)
        whole = f"{area.area}-{segment.number}"
        bay = bay_of(part, whole, segment.number, segment.left_in, wide, segment.low, rates, letter)
        return replace(
            part,
            near_in=segment.near_in,
            far_in=segment.far_in,
            plan_to_in=owns[3],
            line=self.lines[segment.line].name,
            toward_ledger=_toward_ledger(segment, area),
            plan_area_sq_ft=plan,
            flow_gpm=flow_gpm(rain, plan + wall),
            bays=(bay,),
            narrow_strip_in=0.0 if bay.drains else wide + 2 * self.liner.side_lap_in,
            owns=owns,
        )

    def part(self, name: str, clear_in: float, lap_in: float) -> Part:
        """P1 to P3. A part of which only the length is known."""
        area, liner = self.area, self.liner
        cut, fall = cut_and_fall(clear_in, lap_in, area, liner, self.rates)
        return Part(
            name=name,
            area=area,
            liner=liner,
            number=1,
            near_in=0.0,
            far_in=0.0,
            plan_to_in=0.0,
            line="",
            line_in=0.0,
            toward_ledger=area.gutter_side == "ledger",
            clear_run_in=clear_in,
            cut_length_in=cut,
            fall_in_per_ft=fall,
            plan_area_sq_ft=0.0,
            flow_gpm=0.0,
            bays=(),
            narrow_strip_in=0.0,
            wide_strip_in=0.0,
            wide_members=0,
        )

    def owned(self, segment: Segment) -> tuple[float, float, float, float]:
        """Return left, right, near and far of what a part of a bay owns: half-way to its neighbours."""
        same, at = self.by_bay[segment.number], segment.piece
        near = OUTSIDE_IN if at == 0 else (same[at - 1].far_in + segment.near_in) / 2
        far = self.area.projection_in if at == len(same) - 1 else (segment.far_in + same[at + 1].near_in) / 2
        left = OUTSIDE_IN if segment.number == 1 else self.bounds[segment.number - 1]
        return left, self.bounds[segment.number], near, far

    # ------------------------------------------------------------------------------------------------ cap strips

    def strips(self) -> Iterator[Part]:
        """P5. Yield the cap strip of each piece of a member that is or may be capped, end members excepted.

        One of several plies may be, another is if the liner laps so little that even a single ply is wide.
        """
        least = min(r6(self.area.joist_thickness_in), r6(self.rates.wide_member * self.liner.side_lap_in))
        for number, member in enumerate(self.members[1:-1], 2):
            if member.width_in > least:
                pieces = [one for one in self.cutout.members if r6(one.left_in) == r6(member.left_in)]
                ends = [one for piece in pieces for one in self.between_beams(piece)]
                for at, (clear, high, thick) in enumerate(ends):
                    name = f"{self.area.area} member {number}{piece_letter(at, len(ends))}"
                    yield self.strip(name, member.width_in, clear, high, thick)

    def between_beams(self, piece: MemberPiece) -> Iterator[tuple[float, str, float]]:
        """G6. Yield clear length, high end and thickness of the beam there of what flush beams leave of a member."""
        ledger, rim = self.rates.ledger_thickness_in, self.rim_in
        to_rim = self.area.gutter_side == "rim"
        beams = [one for one in self.bands if piece.near_in < one.near_in and one.far_in < piece.far_in]
        if not beams:
            yield piece.length_in - ledger - rim, "ledger" if to_rim else "rim", 0.0
            return
        widths = [("beam", one.far_in - one.near_in) for one in beams]
        starts = [piece.near_in + ledger, *(one.far_in for one in beams)]
        stops = [*(one.near_in for one in beams), piece.far_in - rim]
        highs = [("ledger", 0.0), *widths] if to_rim else [*widths, ("rim", 0.0)]
        for start, stop, (high, thick) in zip(starts, stops, highs, strict=True):
            if r6(stop) > r6(start):
                yield stop - start, high, thick

    def strip(self, name: str, wide_in: float, clear_in: float, high: str, thick_in: float) -> Part:
        """P5. The cap strip over a piece of a member, as long as a panel beside it would be."""
        wide = r6(wide_in)
        capped = wide > r6(self.rates.wide_member * self.liner.side_lap_in)
        return replace(
            self.part(name, clear_in, self.lap_in(high, thick_in, 1.0)),
            fall_in_per_ft=0.0,
            wide_strip_in=wide if capped else 0.0,
            wide_members=int(capped),
            member_in=wide,
            high=high,
            high_in=thick_in,
        )

    # ---------------------------------------------------------------------------------------------------- tape

    def taped(self) -> tuple[tuple[float, float], ...]:
        """T1, G8. Width and length of tape: along members, and along high edges that no flashing covers."""
        along = [(r6(one.right_in - one.left_in), one.length_in) for one in self.cutout.members]
        edges = [
            (0.0, self.pitch_in(segment) * segment.high_slant)
            for segment in self.cutout.segments
            if segment.high in {"rim", "header"}
        ]
        return (*along, *edges)

    def pitch_in(self, segment: Segment) -> float:
        return self.bounds[segment.number] - self.bounds[segment.number - 1]

    def apron_in(self) -> float:
        """G8. Length of apron: along the low ends at the ledger. [in]."""
        return sum(self.pitch_in(segment) for segment in self.cutout.segments if segment.low == "ledger")


def _toward_ledger(segment: Segment, area: Area) -> bool:
    """Whether the low end of a segment is its near one."""
    if segment.low in {"ledger", "rim"}:
        return segment.low == "ledger"
    if segment.high in {"ledger", "rim"}:
        return segment.high == "rim"
    return area.gutter_side == "ledger"


def _lines(area: Area, lines: Sequence[LowLine]) -> tuple[EdgeLine, ...]:
    """G12, W4. Names of the gutter lines of an outline: the longest is the area's own."""
    longest = max(range(len(lines)), key=lambda at: (r6(lines[at].length_in), -at), default=0)
    named, found = 1, []
    for at, line in enumerate(lines):
        if at == longest:
            name = area.gutter_line or area.area
        else:
            named += 1
            name = f"{area.area} line {named}"
        found.append(
            EdgeLine(
                name=name,
                stretches_in=tuple(one.length_in for one in line.stretches),
                turns_deg=tuple(one.angle_deg for one in line.corners),
                ends_deg=line.ends_deg,
                places=tuple((one.x0, one.y0, one.x1, one.y1) for one in line.stretches),
            )
        )
    return tuple(found)


def drawn_take(
    area: Area,
    framing: Sequence[Framing],
    liner: Liner,
    rates: Rates,
    measured: Iterable[Measured],
    rain_in_per_h: float,
) -> AreaTake:
    """G10 to G12. An area of any outline, with members, bays as parts, cap strips and gutter lines.

    Parameters
    ----------
    area : Area
        The area; without an outline its box.
    framing : sequence of Framing
        Its framing rows, openings among them.
    liner, rates
        Its liner record and the rates in force.
    measured : iterable of Measured
        What the tape measure found; it wins over the drawing.
    rain_in_per_h : float
        Design rain. [in/h]

    Returns
    -------
    AreaTake
        Before the stock on offer is known.

    Raises
    ------
    OutOfRange
        If the outline cannot be cut into bays or gives more than `MOST_BAYS`, or a measured bay is none of its bays.
    """
    drawing = _Drawing(area, framing, liner, rates, measured)
    count = len(drawing.cutout.segments)
    if not count:
        raise OutOfRange("its outline leaves no bay between joists: check its corners and the spacing (G4)")
    if count > MOST_BAYS:
        raise _too_many(f"{count:,}")
    bays = [drawing.bay(one, drawing.owned(one), rain_in_per_h) for one in drawing.cutout.segments]
    unknown = drawing.measured.keys() - {one.label for one in drawing.cutout.segments}
    if unknown:
        known = ", ".join(one.label for one in drawing.cutout.segments)
        raise OutOfRange(f"measured bay {min(unknown)} is none of its bays: {known}")
    apron = drawing.apron_in()
    return AreaTake(
        area=area,
        liner=liner,
        members=drawing.members,
        parts=(*bays, *drawing.strips()),
        outlet_trim_in=outlet_trim_in(area.joist_depth_in, liner.outlet_made_for_in),
        extended=takes_extension(area.joist_depth_in, liner.outlet_made_for_in),
        apron_pieces=(sixteenths_up(apron),) if r6(apron) > 0 else (),
        taped=drawing.taped(),
        edges=_main_first(drawing.lines, area),
        drawing=drawing.cutout,
        apron_in=apron,
    )


def _main_first(lines: Sequence[EdgeLine], area: Area) -> tuple[EdgeLine, ...]:
    own = area.gutter_line or area.area
    return tuple(sorted(lines, key=lambda line: line.name != own))
