"""The take-off of a job: areas, parts, lines, pieces, needs and tasks, with every refusal at once."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from baybook.job.records import Area, Framing, JobInputs, Liner, PriceRow
from baybook.numbers import r6, sixteenths_up, up
from baybook.problems import BookError, OutOfRange, Problem
from baybook.takeoff.cutout import piece_letter
from baybook.takeoff.drawn import drawn_take, is_drawn
from baybook.takeoff.findings import findings_of
from baybook.takeoff.gutters import group_lines, line_of
from baybook.takeoff.members import members_of
from baybook.takeoff.model import AreaTake, Blocking, CutPieces, GutterLine, Need, Part, Takeoff
from baybook.takeoff.outlets import deepest_lumber, height_left_in, outlet_trim_in, takes_extension
from baybook.takeoff.panels import pieces_of_line, side_by_side, widest_bay_in
from baybook.takeoff.parts import bounds_of, part_of, widest_need_in, with_pieces
from baybook.takeoff.stock import StockOnOffer, stock_of

__all__ = ["KnownAreas", "blocked_part", "take_off", "tape_in"]


@dataclass(slots=True)
class _Work:
    """What is gathered while a job is taken off."""

    inputs: JobInputs
    problems: list[Problem] = field(default_factory=list)
    stock: dict[tuple[str, str], StockOnOffer] = field(default_factory=dict)

    def refuse(self, area: Area, column: str, message: str) -> None:
        self.problems.append(area.place.problem(column, f"area {area.area}: {message}"))


def _framing_of(area: Area, inputs: JobInputs) -> list[Framing]:
    return [row for row in inputs.framing if row.area.casefold() == area.area.casefold()]


def _area_take(area: Area, work: _Work) -> AreaTake:
    """G1 to G6. One area with members and parts; a part without a clear run is refused (P1)."""
    inputs = work.inputs
    liner, framing = inputs.liner_of(area), _framing_of(area, inputs)
    if is_drawn(area, framing, inputs.measured):
        return _drawn_area(area, framing, liner, work)
    members = members_of(area, framing, inputs.rates)
    bounds = bounds_of(area, framing, inputs.rates)
    if len(members) < 2:
        work.refuse(
            area, "width", f"{area.width_in:g} in leaves no bay between the end joists: G4 needs a gap to drain"
        )
    parts = []
    for number, one in enumerate(bounds, 1):
        part = part_of(one, number, len(bounds), area, liner, members, inputs.rates, inputs.job.rain_in_per_h)
        if r6(part.clear_run_in) <= 0:
            work.refuse(
                area,
                "projection",
                f"part {part.name}: beams, ledger and rim leave a clear run of {part.clear_run_in:g} in (P1)",
            )
        elif part.cut_length_in <= 0:
            work.refuse(area, "projection", f"part {part.name}: the setback takes the whole panel (P2)")
        parts.append(part)
    apron = () if area.gutter_side == "rim" else (sixteenths_up(area.width_in),)  # pieced once the stock is known
    return AreaTake(
        area=area,
        liner=liner,
        members=members,
        parts=tuple(parts),
        outlet_trim_in=outlet_trim_in(area.joist_depth_in, liner.outlet_made_for_in),
        extended=takes_extension(area.joist_depth_in, liner.outlet_made_for_in),
        apron_pieces=apron,
        taped=(
            *((member.width_in, area.projection_in) for member in members),
            *(((0.0, area.width_in),) if area.gutter_side == "ledger" else ()),
        ),
    )


def _drawn_area(area: Area, framing: Sequence[Framing], liner: Liner, work: _Work) -> AreaTake:
    """G10 to G12. An area of which every bay is a part of its own."""
    inputs = work.inputs
    take = drawn_take(area, framing, liner, inputs.rates, inputs.measured, inputs.job.rain_in_per_h)
    for part in take.parts:
        if part.bays and r6(part.clear_run_in) <= 0:
            work.refuse(
                area,
                "outline",
                f"bay {part.name}: ledger, rim and headers leave a clear run of {part.clear_run_in:g} in",
            )
        elif part.bays and part.cut_length_in <= 0:
            work.refuse(area, "outline", f"bay {part.name}: the setback takes the whole panel (P2)")
    return take


# ---------------------------------------------------------------------------------------------- stock on offer


def _no_offer(item: str, liner: str, widest_in: float, offers: Sequence[PriceRow], inputs: JobInputs) -> str:
    """M6, P4. Say what is missing, and what was found instead."""
    wanted = f"liner of record {liner}" if item == "liner" else item
    mine = [row for row in offers if row.item == item and row.liner.casefold() in {"", liner}]
    if mine:  # only a liner can be too narrow
        widest = max(row.width_in or 0.0 for row in mine)
        record = inputs.liners[liner]
        bay = widest_bay_in(widest, record.drape_in, record.side_lap_in)
        thinnest = min(area.joist_thickness_in for area in inputs.areas if area.liner == liner)
        spacing = min(bay + thinnest, record.made_for_in)
        return (
            f"the widest piece needs {widest_in:.3f} in, the widest offer is {widest:g} in: it spans a clear bay of "
            f"{bay:.2f} in at most, so joists at {math.floor(spacing * 16) / 16:g} in on centre (P4)"
        )
    same = [row for row in inputs.prices if row.item == item and row.liner.casefold() in {"", liner}]
    found = "no offer of it at all" if not same else _what_was_found(same, inputs.on)
    return f"no offer for {wanted} on {inputs.on.isoformat()} in {inputs.job.currency}: the price list has {found} (M6)"


def _what_was_found(rows: Sequence[PriceRow], on: dt.date) -> str:
    shown = []
    for row in rows[:3]:
        when = "in force" if row.in_force(on) else f"valid {row.valid_from or 'open'} to {row.valid_to or 'open'}"
        shown.append(f"{row.supplier} {row.sku} in {row.currency}, {when} (line {row.place.line})")
    more = f" and {len(rows) - 3} more" if len(rows) > 3 else ""
    return "; ".join(shown) + more


def _find_stock(item: str, liner: str, widest_in: float, offers: Sequence[PriceRow], work: _Work) -> None:
    stock = stock_of(item, liner, widest_in, offers, sixteenths_up(work.inputs.rates.end_trim_in))
    if stock is None:
        source = work.inputs.prices[0].place.source if work.inputs.prices else "prices.csv"
        message = _no_offer(item, liner, widest_in, offers, work.inputs)
        work.problems.append(Problem(source, 0, item, f"job {work.inputs.job.job}: {message}"))
    elif stock.longest <= 0:
        place = stock.offers[0].place
        said = f"the longest {item} in force is no longer than its end trim: offer a longer one, or look at end_trim_in"
        work.problems.append(place.problem("length", said))
    else:
        work.stock[item, liner] = stock


def _refuse_spacing(takes: Iterable[AreaTake], work: _Work) -> None:
    """P4. A liner is not laid over joists wider apart than it is made for."""
    for take in takes:
        if r6(take.area.spacing_in) > r6(take.liner.made_for_in):
            work.refuse(
                take.area,
                "spacing",
                f"{take.area.spacing_in:g} in on centre is wider than liner {take.liner.liner} is made for: "
                f"{take.liner.made_for_in:g} in is the widest that fits (P4)",
            )


# ---------------------------------------------------------------------------------------------- pieces


def _pieced(take: AreaTake, work: _Work) -> AreaTake:
    """P4 to P6, G8. The area once its liner's stock is known."""
    stock = work.stock.get(("liner", take.area.liner))
    rates = work.inputs.rates
    if stock is None or any(r6(part.clear_run_in) <= 0 for part in take.parts if part.bays):
        return take
    parts = []
    for part in take.parts:
        try:
            parts.append(with_pieces(part, stock.width_in, stock.longest, rates))
        except OutOfRange as found:
            work.refuse(take.area, "projection", str(found))
            return take
        if len(parts[-1].panel_pieces) > 1 and rates.splices == "no":
            work.refuse(
                take.area,
                "projection",
                f"a panel of {part.cut_length_in:g} in is longer than the longest stock, {stock.longest / 16:g} in, "
                "and splices are not allowed: buy longer stock, add a flush beam, or set splices to yes (P6)",
            )
    try:
        apron = pieces_of_line(take.apron_pieces[0], stock.longest, rates.min_rest_in) if take.apron_pieces else ()
    except OutOfRange as found:
        work.refuse(take.area, "width", f"its apron: {found}")
        return take
    return replace(take, parts=tuple(parts), apron_pieces=apron)


def _strip_lengths(part: Part, stock_width_in: float) -> list[tuple[str, int]]:
    """P5. Cut lengths the strips of a part take: kind and how many panels' worth."""
    kinds = (("cap", part.narrow_bays, part.narrow_strip_in), ("member cap", part.wide_members, part.wide_strip_in))
    return [(kind, math.ceil(n / side_by_side(stock_width_in, wide))) for kind, n, wide in kinds if n]


def _drawn_strips(take: AreaTake, stock_width_in: float) -> list[tuple[int, str]]:
    """P5, G10. Cap strips of an outline: those of one kind and length lie side by side in one piece."""
    pieces: list[tuple[int, str]] = []
    narrow = [part for part in take.parts if part.narrow_bays]
    wide = [part for part in take.parts if part.wide_members]
    for kind, capped, widest in (
        ("cap", narrow, max((part.narrow_strip_in for part in narrow), default=0.0)),
        ("member cap", wide, max((part.wide_strip_in for part in wide), default=0.0)),
    ):
        numbered = 0
        for lengths in dict.fromkeys(part.panel_pieces for part in capped):
            count = sum(part.panel_pieces == lengths for part in capped)
            for _ in range(math.ceil(count / side_by_side(stock_width_in, widest))):
                numbered += 1
                pieces += [
                    (length, f"{take.area.area} {kind} {numbered}{piece_letter(at, len(lengths))}")
                    for at, length in enumerate(lengths)
                ]
    return pieces


def _liner_pieces(takes: Sequence[AreaTake], liner: str, stock: StockOnOffer, work: _Work) -> CutPieces:
    """P7. Panels bay by bay, strips by part, aprons over all areas, spare panels last."""
    rates = work.inputs.rates
    pieces: list[tuple[int, str]] = []
    longest: tuple[int, tuple[int, ...]] = (0, ())
    aprons: list[int] = []
    for take in takes:
        aprons += take.apron_pieces
        pieces_of_strips = _drawn_strips(take, stock.width_in) if take.drawing else []
        for part in take.parts:
            lengths = part.panel_pieces
            for bay in part.bays:
                if bay.drains:
                    pieces += [
                        (length, bay.label + piece_letter(at, len(lengths))) for at, length in enumerate(lengths)
                    ]
                    longest = max(longest, (sixteenths_up(part.cut_length_in), lengths), key=lambda one: one[0])
            if take.drawing:
                continue
            for kind, count in _strip_lengths(part, stock.width_in):
                for n in range(1, count + 1):
                    pieces += [
                        (length, f"{part.name} {kind} {n}{piece_letter(at, len(lengths))}")
                        for at, length in enumerate(lengths)
                    ]
        pieces += pieces_of_strips
    beside = side_by_side(stock.width_in, rates.apron_in)
    for length, same in groupby(sorted(aprons, reverse=True)):
        count = math.ceil(len(list(same)) / beside)
        pieces += [(length, f"apron {length / 16:g} in {n}") for n in range(1, count + 1)]
    for n in range(1, rates.spare_panels + 1):
        pieces += [(length, f"spare {n}{piece_letter(at, len(longest[1]))}") for at, length in enumerate(longest[1])]
    return CutPieces("liner", liner, tuple(pieces))


def _line_pieces(lines: Sequence[GutterLine]) -> tuple[CutPieces, CutPieces]:
    gutter = [(length, f"{line.name} gutter {at}") for line in lines for at, length in enumerate(line.gutter_pieces, 1)]
    leader = [
        (length, f"{line.name} leader {n}{piece_letter(at, len(line.leader_pieces))}")
        for line in lines
        for n in range(1, line.leaders + 1)
        for at, length in enumerate(line.leader_pieces)
    ]
    return CutPieces("gutter", "", tuple(gutter)), CutPieces("leader", "", tuple(leader))


def _lines(takes: Sequence[AreaTake], work: _Work) -> tuple[GutterLine, ...]:
    gutter, leader = work.stock.get(("gutter", "")), work.stock.get(("leader", ""))
    if gutter is None or leader is None:
        return ()
    found = []
    for line in group_lines(takes):
        try:
            found.append(line_of(line, work.inputs.rates, gutter.longest, leader.longest))
        except OutOfRange as refused:
            work.refuse(line.parts[0].area, "gutter_line", f"gutter line {line.name}: {refused}")
    return tuple(found)


# ---------------------------------------------------------------------------------------------- needs


def _staples(sixteenths: int, spacing_in: float) -> int:
    """T3. Staples along both edges of one piece."""
    return 2 * (up(sixteenths / 16 / spacing_in) + 1)


def _placed(take: AreaTake) -> list[tuple[int, int]]:
    """T3. Pieces as placed: sixteenths and how many, each strip and apron counted even where slit from one length."""
    placed = [(length, part.outlets + part.strips) for part in take.parts for length in part.panel_pieces]
    return placed + [(length, 1) for length in take.apron_pieces]


def tape_in(take: AreaTake) -> float:
    """T1. Tape along every member for the whole projection, and along the high edge of G8."""
    return sum(max(1, up(wide / take.liner.tape_width_in)) * length for wide, length in take.taped)


def _bead_in(take: AreaTake) -> float:
    """T2. Bead at every outlet and at every splice of a panel."""
    return sum(bay.width_needed_in * len(part.panel_pieces) for part in take.parts for bay in part.bays if bay.drains)


def bead_of_cartridge_ft(cartridge_fl_oz: float, bead_diameter_in: float) -> float:
    """T2. Bead one cartridge yields: its volume over the bead's area. [ft].

    Examples
    --------
    >>> round(bead_of_cartridge_ft(10.1, 0.25), 1)
    30.9
    """
    return cartridge_fl_oz * 231 / 128 / (math.pi * bead_diameter_in**2 / 4) / 12


def _liner_needs(takes: Sequence[AreaTake], lines: Sequence[GutterLine], liner: str, work: _Work) -> list[Need]:
    """T1, T6, G5, O1, W4. What belongs to one liner record."""
    rates = work.inputs.rates
    mine = [take for take in takes if take.area.liner == liner]
    more = {name: extra for line in lines for name, extra in line.more_extensions.items()}
    outlets = sum(part.outlets for take in mine for part in take.parts)
    extensions = sum(
        part.outlets * (take.extended + more.get(part.name, False)) for take in mine for part in take.parts
    )
    posts = sum(take.area.posts_through for take in mine)
    tape_ft = sum(tape_in(take) for take in mine) / 12 + posts * rates.post_tape_ft
    return [
        Need("bay_outlet", liner, outlets, "G5"),
        Need("outlet_extension", liner, extensions, "O1"),
        Need("seam_tape", liner, tape_ft, "T1"),
    ]


def _needs(takes: Sequence[AreaTake], lines: Sequence[GutterLine], bead_ft: float, work: _Work) -> tuple[Need, ...]:
    rates = work.inputs.rates
    outlets = sum(part.outlets for take in takes for part in take.parts)
    placed = [one for take in takes for one in _placed(take)]
    staples = sum(n * _staples(length, rates.staple_spacing_in) for length, n in placed)
    leaders = sum(line.leaders for line in lines)
    of_liners = [need for liner in work.inputs.liners for need in _liner_needs(takes, lines, liner, work)]
    return (
        *of_liners,
        Need("sealant", "", bead_ft / bead_of_cartridge_ft(rates.cartridge_fl_oz, rates.bead_diameter_in), "T2"),
        Need("staples", "", staples + outlets * rates.staples_per_outlet, "T3"),
        Need("gutter_joiner", "", sum(line.joiners for line in lines), "T4"),
        Need("gutter_corner_out", "", sum(line.corners_out for line in lines), "G12"),
        Need("gutter_corner_in", "", sum(line.corners_in for line in lines), "G12"),
        Need("gutter_end_cap", "", len(lines) * rates.end_caps_per_line, "T4"),
        Need("gutter_drop", "", leaders, "T4"),
        Need("hanger", "", sum(line.hangers for line in lines), "T4"),
        Need("elbow", "", leaders * rates.elbows_per_leader, "T5"),
        Need("strap", "", sum(line.straps for line in lines), "T5"),
        Need("splash_block", "", leaders, "T5"),
    )


def _tasks(takes: Sequence[AreaTake], lines: Sequence[GutterLine], needs: Sequence[Need]) -> Mapping[str, float]:
    """M2. What each task is counted by."""
    bays = [bay for take in takes for part in take.parts for bay in part.bays]
    return {
        "job": 1,
        "area": len(takes),
        "outlet": sum(bay.drains for bay in bays),
        "narrow_outlet": sum(bay.narrow_outlet for bay in bays),
        "piece": sum(n for take in takes for _, n in _placed(take)),
        "tape_ft": sum(need.net for need in needs if need.item == "seam_tape"),
        "gutter_ft": sum(line.length_ft for line in lines),
        "leader": sum(line.leaders for line in lines),
    }


def _blocking(takes: Sequence[AreaTake], work: _Work) -> tuple[Blocking, ...]:
    """O2. Height left for each row of blocking."""
    found = []
    for take in takes:
        area = take.area
        for row in _framing_of(area, work.inputs):
            y = row.y_in or 0.0
            if row.kind != "blocking":
                continue
            blocked = blocked_part(take, y)
            if blocked is None:
                where = "no bay" if take.drawing else "a beam"
                work.problems.append(
                    row.place.problem("y", f"blocking at {y / 12:g} ft of area {area.area} lies in {where}")
                )
                continue
            part, left = blocked
            low = left < r6(work.inputs.rates.blocking_share * area.joist_depth_in)
            found.append(Blocking(part.name, y, left, deepest_lumber(left), low))
    return tuple(found)


def blocked_part(take: AreaTake, y_in: float) -> tuple[Part, float] | None:
    """O2. The part that blocking at y lies in, of several bays the one that leaves it least, and the height left."""
    heights = [
        (height_left_in(take.area.joist_depth_in, take.liner.drape_in, _from_high(one, y_in), one.clear_run_in), at)
        for at, one in enumerate(take.parts)
        if one.bays and r6(one.near_in) <= r6(y_in) <= r6(one.far_in)
    ]
    if not heights:
        return None
    left, at = min(heights)
    return take.parts[at], left


def _from_high(part: Part, y_in: float) -> float:
    return part.far_in - y_in if part.toward_ledger else y_in - part.near_in


class KnownAreas:
    """Areas taken off before, for jobs that share them: the alternatives of one job differ in one area each.

    An area is the same if it and all it is taken off from are the same objects.
    """

    def __init__(self) -> None:
        self._takes: dict[tuple[object, ...], tuple[object, AreaTake]] = {}

    def take(self, area: Area, work: _Work) -> AreaTake:
        """Return an area with members and parts, taken off now if it is not known."""
        inputs = work.inputs
        whole = (area, *_framing_of(area, inputs), inputs.liner_of(area), inputs.rates, inputs.measured)
        key = (*map(id, whole), inputs.job.rain_in_per_h)
        if key not in self._takes:
            problems = len(work.problems)
            try:
                made = _area_take(area, work)
            except OutOfRange as found:
                raise BookError((*work.problems, area.place.problem("outline", f"area {area.area}: {found}"))) from None
            if len(work.problems) > problems:
                return made
            self._takes[key] = whole, made  # whole keeps the objects, and so their ids
        return self._takes[key][1]


def take_off(inputs: JobInputs, offers: Sequence[PriceRow], known: KnownAreas | None = None) -> Takeoff:
    """Take off a job by all rules of sections 2 to 6.

    Parameters
    ----------
    inputs : JobInputs
        What the job states.
    offers : sequence of PriceRow
        Offers in force on its date in its currency (M6), sorted by supplier, then SKU.
    known : KnownAreas, optional
        Areas taken off before; those of this job are added.

    Returns
    -------
    Takeoff
        Quantities before waste and packs, the pieces to cut, the tasks and what did not pass.

    Raises
    ------
    BookError
        With everything the rules refuse, each naming the area and the cure.
    """
    work = _Work(inputs)
    known = known or KnownAreas()
    takes = [known.take(area, work) for area in inputs.areas]
    _refuse_spacing(takes, work)
    for liner in inputs.liners:
        widest = max(widest_need_in(take, inputs.rates) for take in takes if take.area.liner == liner)
        _find_stock("liner", liner, widest, offers, work)
    for item in ("gutter", "leader"):
        _find_stock(item, "", 0.0, offers, work)
    takes = [_pieced(take, work) for take in takes]
    lines = () if work.problems else _lines(takes, work)
    blocking = () if work.problems else _blocking(takes, work)
    if work.problems:
        raise BookError(work.problems)
    posts = sum(area.posts_through for area in inputs.areas)
    bead_ft = sum(_bead_in(take) for take in takes) / 12 + posts * inputs.rates.post_bead_ft
    needs = _needs(takes, lines, bead_ft, work)
    liners = (
        _liner_pieces([t for t in takes if t.area.liner == liner], liner, work.stock["liner", liner], work)
        for liner in inputs.liners
    )
    return Takeoff(
        areas=tuple(takes),
        lines=lines,
        cut=(*liners, *_line_pieces(lines)),
        stock=work.stock,
        needs=needs,
        tasks=_tasks(takes, lines, needs),
        blocking=blocking,
        findings=findings_of(takes, lines, blocking, inputs),
        bead_ft=bead_ft,
        flow_gpm=sum(part.flow_gpm for take in takes for part in take.parts),
    )
