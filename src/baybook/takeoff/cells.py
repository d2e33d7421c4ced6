"""What edges, members, beams and openings cut an outlined area into: cells, each between two straight lines (rule G10).

The outline is cut at every x where anything changes. Between two such cuts what there is of deck lies in cells; bays,
catchments, members and gutter lines are sums of cells.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from baybook.outline import SAME_IN, Edge, Outline

__all__ = ["Band", "Cell", "Deck", "Frame", "Hole", "Line", "Plan", "Span", "Strip", "deck_of", "joined", "touch"]

Strip = tuple[float, float]  # left and right face


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
class Line:
    """A straight line across one slab: its y at both ends and what it is: an edge, or a kind and its number."""

    left: float
    right: float
    edge: Edge | None = None
    kind: str = ""
    number: int = 0

    @property
    def mid(self) -> float:
        """Its y half-way across. [in]."""
        return (self.left + self.right) / 2


Span = tuple[Line, Line]


@dataclass(slots=True, eq=False)
class Cell:
    """What lies between two lines of one slab; zone 3k is bay k, 3k + 1 and 3k + 2 the halves of member k."""

    slab: int
    left: float
    right: float
    zone: int
    span: Span
    clear: Span | None = None
    beside: list[Cell] = field(default_factory=list)
    stacked: list[Cell] = field(default_factory=list)
    owners: dict[int, float] = field(default_factory=dict)

    @property
    def area(self) -> float:
        """Its area. [sq in]."""
        return _area(self.left, self.right, self.span)


def _area(left: float, right: float, span: Span) -> float:
    low, high = span
    return (right - left) * (high.left - low.left + high.right - low.right) / 2


def touch(one: Span, other: Span) -> float:
    """How much of its right end one span shares with the left end of the other. [in]."""
    return min(one[1].right, other[1].left) - max(one[0].right, other[0].left)


@dataclass(frozen=True, slots=True)
class Plan:
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
        """Return 3k in bay k, 3k + 1 and 3k + 2 in the halves of member k."""
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


def _breaks(plan: Plan) -> list[float]:
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


def _closings(plan: Plan, xs: Sequence[float]) -> list[float]:
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


def _level(y: float, kind: str = "", number: int = 0) -> Line:
    return Line(y, y, None, kind, number)


def _less_holes(span: Span, holes: Sequence[tuple[int, Hole]]) -> list[Span]:
    """What openings, sorted from the ledger out, leave of a chord."""
    low, high = span
    left = []
    for number, hole in holes:
        if low.mid < hole.far_in and hole.near_in < high.mid:
            if low.mid < hole.near_in:
                left.append((low, _level(hole.near_in, "header", number)))
            low = _level(hole.far_in, "header", number)
    return [*left, (low, high)] if low.mid < high.mid else left


def _cut_at(span: Span, ys: Iterable[float]) -> list[Span]:
    """Cut a span along level lines."""
    lines = [span[0], *(_level(y) for y in ys if span[0].mid < y < span[1].mid), span[1]]
    return list(pairwise(lines))


def _clear(span: Span, within: Span, plan: Plan, holes: Sequence[tuple[int, Hole]]) -> Span | None:
    """What edges, beams and headers leave clear of a cell within a span of deck, with what bounds it, if anything."""
    lows: list[Line] = []
    highs: list[Line] = []
    for line, found in ((within[0], lows), (within[1], highs)):
        if line.edge:
            shift = plan.shift_in(line.edge)
            found.append(Line(line.left + shift, line.right + shift, line.edge, "ledger" if line.edge.near else "rim"))
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
class Deck:
    """All cells from the left; and those of every member, which neither beams nor walls beside it cut."""

    cells: tuple[Cell, ...]
    members: tuple[tuple[Cell, ...], ...]


def _set_beside(before: Sequence[Cell], here: Sequence[Cell]) -> None:
    """Note which cells of two neighbouring slabs, each from the ledger out, are open to one another."""
    k = m = 0
    while k < len(before) and m < len(here):
        one, other = before[k], here[m]
        if touch(one.span, other.span) > SAME_IN / 1000:
            one.beside.append(other)
            other.beside.append(one)
        if one.span[1].right < other.span[1].left:
            k += 1
        else:
            m += 1


def deck_of(plan: Plan) -> Deck:
    """Cut the area into cells and find which lie beside and on one another."""
    xs = _breaks(plan)
    cuts = [plan.cuts_in(member) for member in plan.members]
    centres = sorted(band.centre_in for band in plan.bands)
    sorted_holes = sorted(enumerate(plan.holes), key=lambda one: one[1].near_in)
    cells: list[Cell] = []
    whole: list[list[Cell]] = [[] for _ in plan.members]
    before: list[Cell] = []
    for slab, ((left, right), chords) in enumerate(zip(pairwise(xs), _spans(plan.edges, xs), strict=True)):
        middle = (left + right) / 2
        zone = plan.zone(middle)
        holes = [one for one in sorted_holes if one[1].left_in < middle < one[1].right_in]
        spans: list[Span] = []
        for near, far in chords:
            low = Line(near.y_at(left), near.y_at(right), near)
            spans += _less_holes((low, Line(far.y_at(left), far.y_at(right), far)), holes)
        ys = centres
        if zone % 3:
            ys = sorted([*centres, *cuts[zone // 3]])
            uncut = [Cell(slab, left, right, zone, span) for span in spans]
            _set_beside([one for one in whole[zone // 3] if one.slab == slab - 1], uncut)
            whole[zone // 3] += uncut
        here: list[Cell] = []
        for span in spans:
            pieces = [Cell(slab, left, right, zone, piece) for piece in _cut_at(span, ys)]
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
    return Deck(tuple(cells), tuple(tuple(one) for one in whole))


def joined(things: Sequence[Cell], neighbours: Callable[[Cell], Iterable[Cell]]) -> list[list[Cell]]:
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
