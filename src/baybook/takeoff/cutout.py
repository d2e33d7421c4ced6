"""The bays of an outlined area: what members, beams and openings leave of it, and where its water goes (rule G10).

The outline is cut at every x where anything changes. Between two such cuts what there is of deck lies in cells, each
between two straight lines; bays, catchments, members and gutter lines are sums of cells.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from baybook.numbers import r6
from baybook.outline import SAME_IN, Corner, Edge, Outline, edges_of

__all__ = ["Band", "Cutout", "Frame", "Hole", "LowLine", "MemberPiece", "Segment", "Stretch", "Strip", "Turn"]
__all__ += ["edge_members", "piece_letter", "segments_of"]

Strip = tuple[float, float]  # left and right face


def piece_letter(at: int, of: int) -> str:
    """Return the letter of one of several pieces, in order; none where there is but one."""
    return "" if of == 1 else "abcdefghijklmnopqrstuvwxyz"[at % 26]


@dataclass(frozen=True, slots=True)
class Band:
    """G6. A flush beam over the whole width: its faces and its centre. [in]."""

    near_in: float
    far_in: float
    centre_in: float


@dataclass(frozen=True, slots=True)
class Hole:
    """G11. A clear opening, with a header of `header_in` before and behind it.

    `gutter`: ``back``, the water that would end at it falls the other way; ``header``, it keeps its way.
    """

    left_in: float
    right_in: float
    near_in: float
    far_in: float
    header_in: float
    gutter: str


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands along the edges: thickness of ledger and rim, square to the edge; the low side, rim or ledger."""

    ledger_in: float
    rim_in: float
    gutter_side: str


@dataclass(frozen=True, slots=True)
class Segment:
    """G10. What is clear of one bay in one piece.

    `number` counts the gaps between members from the left, `piece` of `pieces` from the ledger out. `left_in` and
    `clear_in` are the bay's, `near_in` and `far_in` the extremes of the clear faces. `plan_sq_in` is its catchment,
    `bay_sq_in` what of it lies between the members' faces, `wall_in` the length of ledger along it. `high` and `low`
    are what stands at its ends: ledger, rim, beam or header.
    """

    number: int
    piece: int
    pieces: int
    left_in: float
    clear_in: float
    near_in: float
    far_in: float
    run_in: float
    corners: tuple[Corner, ...]
    plan_sq_in: float
    bay_sq_in: float
    wall_in: float
    high: str
    high_in: float
    high_slant: float
    low: str
    line: int

    @property
    def label(self) -> str:
        """The bay's number, with its letter where the bay has several parts."""
        return f"{self.number}{piece_letter(self.piece, self.pieces)}"


@dataclass(frozen=True, slots=True)
class MemberPiece:
    """G10. What the outline leaves of one member in one piece; its longest line, its extremes, its area on plan."""

    left_in: float
    right_in: float
    length_in: float
    near_in: float
    far_in: float
    plan_sq_in: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """A straight piece of a gutter line, from the left."""

    length_in: float
    x0: float
    y0: float
    x1: float
    y1: float


@dataclass(frozen=True, slots=True)
class Turn:
    """Where two stretches meet: ``outside`` if the deck's inner angle is under 180 degrees, else ``inside``."""

    kind: str
    angle_deg: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LowLine:
    """G10. Low ends that share one gutter: along rim, ledger, beam or header."""

    kind: str
    stretches: tuple[Stretch, ...]
    corners: tuple[Turn, ...]

    @property
    def length_in(self) -> float:
        """All its stretches. [in]."""
        return sum(one.length_in for one in self.stretches)


@dataclass(frozen=True, slots=True)
class Cutout:
    """G10. Segments by bay, each bay from the ledger out; members from the left; gutter lines."""

    segments: tuple[Segment, ...]
    members: tuple[MemberPiece, ...]
    lines: tuple[LowLine, ...]


# ------------------------------------------------------------------------------------------------------------ cells


@dataclass(frozen=True, slots=True)
class _Line:
    """A straight line across one slab: its y at both ends and what it is: an edge, or a kind and its number."""

    left: float
    right: float
    edge: Edge | None = None
    kind: str = ""
    number: int = 0

    @property
    def mid(self) -> float:
        return (self.left + self.right) / 2


_Span = tuple[_Line, _Line]


@dataclass(slots=True, eq=False)
class _Cell:
    """What lies between two lines of one slab; zone 3k is bay k, 3k + 1 and 3k + 2 the halves of member k."""

    slab: int
    left: float
    right: float
    zone: int
    span: _Span
    clear: _Span | None = None
    beside: list[_Cell] = field(default_factory=list)
    stacked: list[_Cell] = field(default_factory=list)
    owners: dict[int, float] = field(default_factory=dict)

    @property
    def area(self) -> float:
        return _area(self.left, self.right, self.span)


def _area(left: float, right: float, span: _Span) -> float:
    low, high = span
    return (right - left) * (high.left - low.left + high.right - low.right) / 2


def _touch(one: _Span, other: _Span) -> float:
    """How much of its right end one span shares with the left end of the other. [in]."""
    return min(one[1].right, other[1].left) - max(one[0].right, other[0].left)


@dataclass(frozen=True, slots=True)
class _Plan:
    """What an area is cut with."""

    outline: Outline
    members: Sequence[Strip]
    bands: Sequence[Band]
    holes: Sequence[Hole]
    frame: Frame
    edges: tuple[Edge, ...]

    def shift_in(self, edge: Edge) -> float:
        """From an edge to the inner face of what stands along it, along the joists."""
        return (self.frame.ledger_in if edge.near else -self.frame.rim_in) * edge.slant

    def zone(self, x: float) -> int:
        faces = bisect_right(self.members, (x, math.inf))  # members whose left face lies before it
        if faces and x < self.members[faces - 1][1]:
            left, right = self.members[faces - 1]
            return 3 * (faces - 1) + (1 if x < (left + right) / 2 else 2)
        return 3 * faces

    def cuts_in(self, member: Strip) -> list[float]:
        """Where a bay beside a member begins or ends at a wall along it: the member's half is cut there."""
        left, right = member[0] - SAME_IN, member[1] + SAME_IN
        corners = self.outline.corners
        ends = [
            y
            for (x0, y0), (x1, y1) in zip(corners, (*corners[1:], corners[0]), strict=True)
            if abs(x1 - x0) <= SAME_IN and left <= x0 <= right
            for y in (y0, y1)
        ]
        ends += [
            y
            for hole in self.holes
            if left <= hole.left_in <= right or left <= hole.right_in <= right
            for y in (hole.near_in, hole.far_in)
        ]
        return _apart(ends)


def _apart(values: Iterable[float]) -> list[float]:
    """Sorted, each farther from the one before than what counts as the same."""
    kept: list[float] = []
    for value in sorted(values):
        if not kept or value - kept[-1] > SAME_IN:
            kept.append(value)
    return kept


def _crossings(edge: Edge, shift_in: float, ys: Iterable[float]) -> list[float]:
    """X at which an edge, or the face along it, has one of these y."""
    rise = edge.y1 - edge.y0
    found = [edge.x0 + (y - edge.y0 - shift_in) / rise * (edge.x1 - edge.x0) for y in ys] if rise else []
    return [x for x in found if edge.x0 < x < edge.x1]


def _breaks(plan: _Plan) -> list[float]:
    """Every x at which a corner, a face, a centre, an opening's side or a crossing of lines stands."""
    xs = [x for x, _ in plan.outline.corners]
    xs += [x for hole in plan.holes for x in (hole.left_in, hole.right_in)]
    xs += [x for left, right in plan.members for x in (left, (left + right) / 2, right)]
    ys = [y for band in plan.bands for y in (band.near_in, band.centre_in, band.far_in)]
    for hole in plan.holes:
        ys += (hole.near_in - hole.header_in, hole.near_in, hole.far_in, hole.far_in + hole.header_in)
    for edge in plan.edges:
        for shift in (0.0, plan.shift_in(edge)):
            xs += _crossings(edge, shift, ys)
    width = plan.outline.width_in
    coarse = _apart(x for x in xs if 0 <= x <= width)
    return _apart([*coarse, *_closings(plan, coarse)])


def _spans(edges: Sequence[Edge], xs: Sequence[float]) -> list[list[tuple[Edge, Edge]]]:
    """Near and far edge of every chord of the outline, slab by slab."""
    crossing: list[list[tuple[float, Edge]]] = [[] for _ in xs[1:]]
    middles = [(left + right) / 2 for left, right in pairwise(xs)]
    for edge in edges:
        for slab in range(bisect_left(middles, edge.x0), bisect_left(middles, edge.x1)):
            crossing[slab].append((edge.y_at(middles[slab]), edge))
    chords = []
    for found in crossing:
        found.sort(key=lambda one: one[0])
        chords.append([(near, far) for (_, near), (_, far) in zip(found[::2], found[1::2], strict=True)])
    return chords


def _closings(plan: _Plan, xs: Sequence[float]) -> list[float]:
    """X at which the faces along the two edges of a chord meet: there a bay closes."""
    found = []
    for (left, right), chords in zip(pairwise(xs), _spans(plan.edges, xs), strict=True):
        for near, far in chords:
            shift = plan.shift_in(far) - plan.shift_in(near)
            open_left = far.y_at(left) - near.y_at(left) + shift
            open_right = far.y_at(right) - near.y_at(right) + shift
            if open_left * open_right < 0:
                found.append(left + (right - left) * open_left / (open_left - open_right))
    return found


def _level(y: float, kind: str = "", number: int = 0) -> _Line:
    return _Line(y, y, None, kind, number)


def _less_holes(span: _Span, holes: Sequence[tuple[int, Hole]]) -> list[_Span]:
    """What openings, sorted from the ledger out, leave of a chord."""
    low, high = span
    left = []
    for number, hole in holes:
        if low.mid < hole.far_in and hole.near_in < high.mid:
            if low.mid < hole.near_in:
                left.append((low, _level(hole.near_in, "header", number)))
            low = _level(hole.far_in, "header", number)
    return [*left, (low, high)] if low.mid < high.mid else left


def _cut_at(span: _Span, ys: Iterable[float]) -> list[_Span]:
    """Cut a span along level lines."""
    lines = [span[0], *(_level(y) for y in ys if span[0].mid < y < span[1].mid), span[1]]
    return list(pairwise(lines))


def _clear(span: _Span, within: _Span, plan: _Plan, holes: Sequence[tuple[int, Hole]]) -> _Span | None:
    """What edges, beams and headers leave clear of a cell within a span of deck, with what bounds it, if anything."""
    lows: list[_Line] = []
    highs: list[_Line] = []
    for line, found in ((within[0], lows), (within[1], highs)):
        if line.edge:
            shift = plan.shift_in(line.edge)
            found.append(_Line(line.left + shift, line.right + shift, line.edge, "ledger" if line.edge.near else "rim"))
    for number, band in enumerate(plan.bands):
        if band.centre_in <= span[0].mid + SAME_IN:
            lows.append(_level(band.far_in, "beam", number))
        elif band.centre_in >= span[1].mid - SAME_IN:
            highs.append(_level(band.near_in, "beam", number))
    for number, hole in holes:
        if hole.far_in <= span[0].mid + SAME_IN:
            lows.append(_level(hole.far_in + hole.header_in, "header", number))
        elif hole.near_in >= span[1].mid - SAME_IN:
            highs.append(_level(hole.near_in - hole.header_in, "header", number))
    low, high = max(lows, key=lambda line: line.mid), min(highs, key=lambda line: line.mid)
    return (low, high) if high.mid - low.mid > SAME_IN else None


@dataclass(frozen=True, slots=True)
class _Deck:
    """All cells from the left; and those of every member, which neither beams nor walls beside it cut."""

    cells: tuple[_Cell, ...]
    members: tuple[tuple[_Cell, ...], ...]


def _set_beside(before: Sequence[_Cell], here: Sequence[_Cell]) -> None:
    """Note which cells of two neighbouring slabs, each from the ledger out, are open to one another."""
    k = m = 0
    while k < len(before) and m < len(here):
        one, other = before[k], here[m]
        if _touch(one.span, other.span) > SAME_IN / 1000:
            one.beside.append(other)
            other.beside.append(one)
        if one.span[1].right < other.span[1].left:
            k += 1
        else:
            m += 1


def _deck(plan: _Plan) -> _Deck:
    """Cut the area into cells and find which lie beside and on one another."""
    xs = _breaks(plan)
    cuts = [plan.cuts_in(member) for member in plan.members]
    centres = sorted(band.centre_in for band in plan.bands)
    sorted_holes = sorted(enumerate(plan.holes), key=lambda one: one[1].near_in)
    cells: list[_Cell] = []
    whole: list[list[_Cell]] = [[] for _ in plan.members]
    before: list[_Cell] = []
    for slab, ((left, right), chords) in enumerate(zip(pairwise(xs), _spans(plan.edges, xs), strict=True)):
        middle = (left + right) / 2
        zone = plan.zone(middle)
        holes = [one for one in sorted_holes if one[1].left_in < middle < one[1].right_in]
        spans: list[_Span] = []
        for near, far in chords:
            low = _Line(near.y_at(left), near.y_at(right), near)
            spans += _less_holes((low, _Line(far.y_at(left), far.y_at(right), far)), holes)
        ys = centres
        if zone % 3:
            ys = sorted([*centres, *cuts[zone // 3]])
            uncut = [_Cell(slab, left, right, zone, span) for span in spans]
            _set_beside([one for one in whole[zone // 3] if one.slab == slab - 1], uncut)
            whole[zone // 3] += uncut
        here: list[_Cell] = []
        for span in spans:
            pieces = [_Cell(slab, left, right, zone, piece) for piece in _cut_at(span, ys)]
            for one, other in pairwise(pieces):
                one.stacked.append(other)
                other.stacked.append(one)
            if not zone % 3 and 0 < zone < 3 * len(plan.members):
                for cell in pieces:
                    cell.clear = _clear(cell.span, span, plan, holes)
            here += pieces
        _set_beside(before, here)
        cells += here
        before = here
    return _Deck(tuple(cells), tuple(tuple(one) for one in whole))


# --------------------------------------------------------------------------------------------------------- segments


@dataclass(slots=True, eq=False)
class _End:
    """One end of a segment: what bounds most of its width there."""

    kind: str
    number: int  # of its chain, beam or opening
    x0: float
    x1: float
    y: float
    slant: float
    places: tuple[int, ...]  # of its edges in their chain


@dataclass(slots=True, eq=False)
class _Draft:
    """A segment while it is worked out."""

    bay: int
    cells: list[_Cell]
    near: _End
    far: _End
    high: _End
    low: _End
    near_in: float
    far_in: float


def _joined(things: Sequence[_Cell], neighbours: Callable[[_Cell], Iterable[_Cell]]) -> list[list[_Cell]]:
    """Group what hangs together; groups and their members in the order given."""
    seen: set[int] = set()
    groups = []
    for thing in things:
        if id(thing) in seen:
            continue
        seen.add(id(thing))
        group = [thing]
        for one in group:
            for other in neighbours(one):
                if id(other) not in seen:
                    seen.add(id(other))
                    group.append(other)
        groups.append(sorted(group, key=lambda cell: (cell.slab, cell.span[0].mid)))
    return groups


def _clear_beside(cell: _Cell) -> list[_Cell]:
    """Cells of the same bay that are open to it."""
    found = []
    for other in cell.beside:
        if cell.clear and other.clear and other.zone == cell.zone:
            one, two = (cell, other) if cell.slab < other.slab else (other, cell)
            if _touch(one.clear or one.span, two.clear or two.span) > SAME_IN / 1000:
                found.append(other)
    return found


def _end(cells: Sequence[_Cell], far: bool) -> _End:
    """Find what bounds most of a segment's width at one end: an edge's chain, a beam or an opening's header."""
    outermost: dict[int, tuple[_Cell, _Line]] = {}
    for cell in cells:  # from the ledger out within a slab
        if cell.clear and (far or cell.slab not in outermost):
            outermost[cell.slab] = (cell, cell.clear[far])
    widths: dict[tuple[str, int], float] = defaultdict(float)
    for cell, line in outermost.values():
        widths[line.kind, line.edge.chain if line.edge else line.number] += cell.right - cell.left
    kind, number = max(widths, key=lambda key: (r6(widths[key]), key[0] in {"ledger", "rim"}, key[0]))
    mine = [
        (cell, line)
        for cell, line in outermost.values()
        if (line.kind, line.edge.chain if line.edge else line.number) == (kind, number)
    ]
    edges = {line.edge for _, line in mine if line.edge}
    return _End(
        kind=kind,
        number=number,
        x0=min(cell.left for cell, _ in mine),
        x1=max(cell.right for cell, _ in mine),
        y=mine[0][1].mid,
        slant=max((edge.slant for edge in edges), default=1.0),
        places=tuple(sorted(edge.place for edge in edges)),
    )


def _draft(cells: list[_Cell], plan: _Plan) -> _Draft:
    """A segment's ends and which of them is low: the stated side, unless its water would fall into an opening."""
    near, far = _end(cells, far=False), _end(cells, far=True)
    high, low = (near, far) if plan.frame.gutter_side == "rim" else (far, near)
    back = [end.kind == "header" and plan.holes[end.number].gutter == "back" for end in (high, low)]
    if back == [False, True]:
        high, low = low, high
    spans = [cell.clear for cell in cells if cell.clear]
    near_in = min(min(line.left, line.right) for line, _ in spans)
    far_in = max(max(line.left, line.right) for _, line in spans)
    return _Draft(cells[0].zone // 3, cells, near, far, high, low, near_in, far_in)


def _drafts(deck: _Deck, plan: _Plan) -> list[_Draft]:
    """All segments, bay by bay, each bay from the ledger out."""
    clear = [cell for cell in deck.cells if cell.clear]
    drafts = [_draft(cells, plan) for cells in _joined(clear, _clear_beside)]
    return sorted(drafts, key=lambda one: (one.bay, one.near_in, one.far_in, one.cells[0].slab))


def _spread(cells: Iterable[_Cell], over: Callable[[_Cell], Iterable[_Cell]]) -> None:
    """Give cells without an owner to those of their neighbours, in equal shares, step by step outwards."""
    waiting = [cell for cell in cells if not cell.owners]
    while waiting:
        found = []
        for cell in waiting:
            shares: dict[int, float] = defaultdict(float)
            for other in over(cell):
                for owner, share in other.owners.items():
                    shares[owner] += share
            if shares:
                found.append((cell, shares))
        if not found:
            return
        for cell, shares in found:
            whole = sum(shares.values())
            cell.owners = {owner: share / whole for owner, share in shares.items()}
        waiting = [cell for cell in waiting if not cell.owners]


def _within(cell: _Cell) -> list[_Cell]:
    """Neighbours in the bay that a cell lies in or, half of a member, faces; and in the same half."""
    home = cell.zone + (0, -1, 1)[cell.zone % 3]
    return [other for other in cell.beside if other.zone in {cell.zone, home}]


def _share_out(deck: _Deck, drafts: Sequence[_Draft]) -> None:
    """Find whose catchment each cell is.

    Half a member belongs to the bay it faces; where it faces none it goes with its other half, to the outer face.
    """
    for index, draft in enumerate(drafts):
        for cell in draft.cells:
            cell.owners = {index: 1.0}
    bays = [cell for cell in deck.cells if not cell.zone % 3]
    halves = [cell for cell in deck.cells if cell.zone % 3]
    _spread(bays, _within)
    _spread(halves, _within)
    _spread(halves, lambda cell: cell.beside)
    _spread(deck.cells, lambda cell: [*cell.beside, *cell.stacked])
    for cell in deck.cells:
        if not cell.owners and drafts:  # an opening cuts it off from every bay
            away = [(r6(_gap(cell, draft)), index) for index, draft in enumerate(drafts)]
            nearest = [index for gap, index in away if gap == min(away)[0]]
            cell.owners = dict.fromkeys(nearest, 1 / len(nearest))


def _gap(cell: _Cell, draft: _Draft) -> float:
    """How far a cell's middle lies from a segment's box. [in]."""
    x, y = (cell.left + cell.right) / 2, (cell.span[0].mid + cell.span[1].mid) / 2
    left, right = draft.cells[0].left, draft.cells[-1].right
    return math.hypot(max(left - x, 0, x - right), max(draft.near_in - y, 0, y - draft.far_in))


def _ring(cells: Sequence[_Cell]) -> tuple[Corner, ...]:
    """The outer boundary of a segment's clear cells."""
    rings = []
    for cell in cells:
        low, high = cell.clear or cell.span
        left, right = cell.left, cell.right
        tops = max(low.left, high.left), max(low.right, high.right)  # where it closes they may pass by a hair
        rings.append([(left, low.left), (right, low.right), (right, tops[1]), (left, tops[0])])
    if len({cell.slab for cell in cells}) == len(cells):
        ring = [corner for one in rings for corner in one[:2]]
        ring += [corner for one in reversed(rings) for corner in one[2:]]
    else:
        import shapely

        whole = shapely.union_all(shapely.polygons([shapely.linearrings(one) for one in rings]))
        largest = max(shapely.get_parts(whole), key=lambda one: one.area)
        ring = [(float(x), float(y)) for x, y in shapely.get_coordinates(largest.exterior.normalize())[:0:-1]]
    return _plain(ring)


def _plain(ring: Sequence[Corner]) -> tuple[Corner, ...]:
    """Without corners given twice or lying in a straight."""
    kept: list[Corner] = []
    for corner in ring:
        if not kept or math.dist(corner, kept[-1]) > SAME_IN:
            kept.append(corner)
    if math.dist(kept[0], kept[-1]) <= SAME_IN:
        kept.pop()
    return tuple(
        corner
        for before, corner, after in zip([kept[-1], *kept[:-1]], kept, [*kept[1:], kept[0]], strict=True)
        if abs((corner[0] - before[0]) * (after[1] - before[1]) - (corner[1] - before[1]) * (after[0] - before[0]))
        > SAME_IN * math.dist(before, after)
    )


def _thickness_in(end: _End, plan: _Plan) -> float:
    """Thickness of the beam or header at an end, 0 at ledger and rim. [in]."""
    if end.kind == "beam":
        return plan.bands[end.number].far_in - plan.bands[end.number].near_in
    return plan.holes[end.number].header_in if end.kind == "header" else 0.0


def _segments(deck: _Deck, drafts: Sequence[_Draft], line_of: Sequence[int], plan: _Plan) -> tuple[Segment, ...]:
    """The drafts with their areas."""
    plans, bays, walls = ([0.0] * len(drafts) for _ in range(3))
    for cell in deck.cells:
        edge = cell.span[0].edge
        for index, share in cell.owners.items():
            plans[index] += share * cell.area
            bays[index] += share * cell.area if not cell.zone % 3 else 0.0
            walls[index] += share * (cell.right - cell.left) if edge else 0.0
    pieces = Counter(draft.bay for draft in drafts)
    count: Counter[int] = Counter()
    segments = []
    for index, draft in enumerate(drafts):
        (_, left), (right, _) = plan.members[draft.bay - 1 : draft.bay + 1]
        segments.append(
            Segment(
                number=draft.bay,
                piece=count[draft.bay],
                pieces=pieces[draft.bay],
                left_in=left,
                clear_in=r6(right - left),
                near_in=draft.near_in,
                far_in=draft.far_in,
                run_in=draft.far_in - draft.near_in,
                corners=_ring(draft.cells),
                plan_sq_in=plans[index],
                bay_sq_in=bays[index],
                wall_in=walls[index],
                high=draft.high.kind,
                high_in=_thickness_in(draft.high, plan),
                high_slant=draft.high.slant,
                low=draft.low.kind,
                line=line_of[index],
            )
        )
        count[draft.bay] += 1
    return tuple(segments)


# ------------------------------------------------------------------------------------------------------------ lines


def _runs(flags: Sequence[bool]) -> list[tuple[int, int]]:
    """First and past-the-last index of every row of true flags."""
    found, start = [], None
    for index, flag in enumerate([*flags, False]):
        if flag and start is None:
            start = index
        elif not flag and start is not None:
            found.append((start, index))
            start = None
    return found


_Found = list[tuple[list[int], LowLine]]  # segments, and the line they drain into


def _edge_lines(drafts: Sequence[_Draft], plan: _Plan) -> _Found:
    """Lines along the outline, chain by chain: each from half-way to the neighbour before to half-way to the next."""
    chains: dict[int, list[tuple[float, float, int, _End]]] = defaultdict(list)
    for index, draft in enumerate(drafts):
        for end in (draft.near, draft.far):
            if end.kind in {"ledger", "rim"}:
                chains[end.number].append((end.x0, end.x1, index, end))
    found: _Found = []
    for chain, ends in chains.items():
        edges = [edge for edge in plan.edges if edge.chain == chain]
        places = [place for *_, end in ends for place in end.places]
        open_at = [(*strip, -1, None) for hole in plan.holes for edge in edges for strip in _taken(edge, hole)]
        row = sorted([*ends, *open_at], key=lambda one: one[:3])
        bounds = [edges[min(places)].x0]
        for (_, x0, one, _), (x1, _, other, _) in pairwise(row):
            bounds.append(x0 if one < 0 else x1 if other < 0 else (x0 + x1) / 2)
        bounds.append(edges[max(places)].x1)
        for start, stop in _runs([end is not None and drafts[index].low is end for _, _, index, end in row]):
            line = _along(edges, bounds[start], bounds[stop])
            found.append(([index for _, _, index, _ in row[start:stop]], line))
    return found


def _taken(edge: Edge, hole: Hole) -> list[Strip]:
    """What of an edge an opening takes that reaches it: left and right end, if any."""
    rise = (edge.y1 - edge.y0) / (edge.x1 - edge.x0)
    left, right = max(edge.x0, hole.left_in), min(edge.x1, hole.right_in)
    if rise:
        at = sorted(edge.x0 + (y - edge.y0) / rise for y in (hole.near_in, hole.far_in))
        left, right = max(left, at[0]), min(right, at[1])
    elif not hole.near_in - SAME_IN <= edge.y0 <= hole.far_in + SAME_IN:
        return []
    return [(left, right)] if right - left > SAME_IN else []


def _along(edges: Sequence[Edge], left: float, right: float) -> LowLine:
    """The part of a chain between two x, edge by edge, with its corners."""
    stretches: list[Stretch] = []
    turns: list[Turn] = []
    last: Edge | None = None
    for edge in edges:
        x0, x1 = max(left, edge.x0), min(right, edge.x1)
        if x1 - x0 <= SAME_IN and not (left <= edge.x0 and edge.x1 <= right):
            continue
        y0, y1 = edge.y_at(x0), edge.y_at(x1)
        stretches.append(Stretch(math.hypot(x1 - x0, y1 - y0), x0, y0, x1, y1))
        if last:
            kind = "outside" if last.turn_deg < 180 else "inside"
            turns.append(Turn(kind, last.turn_deg, last.x1, last.y1))
        last = edge
    return LowLine("ledger" if edges[0].near else "rim", tuple(stretches), tuple(turns))


def _inner_lines(deck: _Deck, drafts: Sequence[_Draft], plan: _Plan) -> _Found:
    """Lines along beams and headers: one straight stretch under neighbouring bays."""
    groups: dict[tuple[str, int, bool], list[int]] = {}
    for index, draft in enumerate(drafts):
        if draft.low.kind in {"beam", "header"}:
            groups.setdefault((draft.low.kind, draft.low.number, draft.low is draft.far), []).append(index)
    found: _Found = []
    for (kind, number, far), indices in groups.items():
        bays = [drafts[index].bay for index in indices]
        starts = [0, *(k for k in range(1, len(bays)) if bays[k] - bays[k - 1] > 1), len(bays)]
        for start, stop in pairwise(starts):
            mine = indices[start:stop]
            end = drafts[mine[0]].low
            if kind == "beam":
                y = plan.bands[number].centre_in
            else:
                y = plan.holes[number].near_in if far else plan.holes[number].far_in
            x0, x1 = _extent(deck, drafts, set(mine), y, far)
            found.append((mine, LowLine(kind, (Stretch(x1 - x0, x0, end.y, x1, end.y),), ())))
    return found


def _extent(deck: _Deck, drafts: Sequence[_Draft], indices: set[int], y: float, far: bool) -> Strip:
    """From the left to the right of what of some segments' catchments ends at a y."""
    ends = [drafts[index].low for index in indices]
    xs = [x for end in ends for x in (end.x0, end.x1)]
    for cell in deck.cells:
        line = cell.span[far]
        if not line.edge and abs(line.mid - y) <= SAME_IN:
            mine = sum(share for owner, share in cell.owners.items() if owner in indices)
            xs += [cell.left, cell.right] if mine > 0.5 else []
    return min(xs), max(xs)


# ---------------------------------------------------------------------------------------------------------- members


def _member_pieces(deck: _Deck, plan: _Plan) -> tuple[MemberPiece, ...]:
    """Members as the outline and its openings leave them, each from the ledger out."""
    pieces = []
    for (left, right), cells in zip(plan.members, deck.members, strict=True):
        found = []
        for piece in _joined(cells, lambda cell: cell.beside):
            spans = [cell.span for cell in piece]
            longest = max(max(high.left - low.left, high.right - low.right) for low, high in spans)
            near = min(min(low.left, low.right) for low, _ in spans)
            far = max(max(high.left, high.right) for _, high in spans)
            found.append(MemberPiece(left, right, longest, near, far, sum(cell.area for cell in piece)))
        pieces += sorted(found, key=lambda one: (one.near_in, one.far_in))
    return tuple(pieces)


def edge_members(outline: Outline, holes: Sequence[Hole], thickness_in: float) -> tuple[Strip, ...]:
    """G10. Joists that the frame needs along the edges parallel to them, on the deck's side.

    Parameters
    ----------
    outline : Outline
        The outline.
    holes : sequence of Hole
        Its openings: an edge that one takes whole needs no joist.
    thickness_in : float
        Thickness of a joist. [in]

    Returns
    -------
    tuple of (float, float)
        Left and right faces, rounded to six places, from the left. [in]
    """
    strips = set()
    corners = outline.corners
    for (x0, y0), (x1, y1) in zip(corners, (*corners[1:], corners[0]), strict=True):
        near, far = min(y0, y1), max(y0, y1)
        taken = any(
            hole.left_in - SAME_IN <= x0 <= hole.right_in + SAME_IN
            and hole.near_in - SAME_IN <= near
            and far <= hole.far_in + SAME_IN
            for hole in holes
        )
        if abs(x1 - x0) <= SAME_IN / 2 and not taken:
            strips.add((r6(x0 - thickness_in), r6(x0)) if y1 > y0 else (r6(x0), r6(x0 + thickness_in)))
    return tuple(sorted(strips))


def segments_of(
    outline: Outline, members: Sequence[Strip], bands: Sequence[Band], holes: Sequence[Hole], frame: Frame
) -> Cutout:
    """G10, G11. Cut an outlined area into segments of bays, pieces of members and gutter lines.

    Parameters
    ----------
    outline : Outline
        The area.
    members : sequence of (float, float)
        Left and right faces, from the left, none over another; the outer two with their outer faces at the ends. [in]
    bands : sequence of Band
        Flush beams.
    holes : sequence of Hole
        Openings.
    frame : Frame
        Thickness of ledger and rim, and the low side.

    Returns
    -------
    Cutout
        No segments if members, edges and beams leave no bay.
    """
    plan = _Plan(outline, tuple(members), tuple(bands), tuple(holes), frame, edges_of(outline))
    deck = _deck(plan)
    drafts = _drafts(deck, plan)
    _share_out(deck, drafts)
    found = [*_edge_lines(drafts, plan), *_inner_lines(deck, drafts, plan)]
    found.sort(key=lambda one: min(one[0]))
    line_of = [0] * len(drafts)
    for number, (indices, _) in enumerate(found):
        for index in indices:
            line_of[index] = number
    segments = _segments(deck, drafts, line_of, plan)
    return Cutout(segments, _member_pieces(deck, plan), tuple(line for _, line in found))
