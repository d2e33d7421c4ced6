"""An area outlined by its corners: what is a simple polygon, how it is written, and its edges (rule G10)."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from baybook.numbers import r6
from baybook.problems import OutOfRange

MOST_CORNERS = 400
LEAST_AREA_SQ_IN = 1.0  # under a square inch nobody meant a deck
SAME_IN = 1e-6  # nearer than this is the same place

__all__ = ["MOST_CORNERS", "SAME_IN", "Corner", "Edge", "Outline", "edges_of", "outline_of", "parse_outline"]
__all__ += ["show_outline"]

Corner = tuple[float, float]  # x along the ledger from the left, y out from the back of the ledger, in inches


@dataclass(frozen=True, slots=True)
class Outline:
    """G10. A simple polygon, the deck on the left of every edge, its least x and y at 0; no corner lies in a straight.

    Parameters
    ----------
    corners : tuple of (float, float)
        x along the ledger, y out from its back. [in]
    """

    corners: tuple[Corner, ...]

    @property
    def width_in(self) -> float:
        """Greatest extent along the ledger. [in]."""
        return max(x for x, _ in self.corners)

    @property
    def projection_in(self) -> float:
        """Greatest extent out from the ledger's back. [in]."""
        return max(y for _, y in self.corners)

    @property
    def area_sq_in(self) -> float:
        """Its area. [sq in]."""
        return _signed_area(self.corners)

    @property
    def rectangle(self) -> bool:
        """Whether it is exactly a box along the axes."""
        wide, deep = {r6(x) for x, _ in self.corners}, {r6(y) for _, y in self.corners}
        return len(self.corners) == 4 and len(wide) == len(deep) == 2


@dataclass(frozen=True, slots=True)
class Edge:
    """An edge that is not parallel to the joists, from its left end to its right one.

    Parameters
    ----------
    x0, y0, x1, y1 : float
        Its ends. [in]
    near : bool
        Whether the deck lies beyond it (a ledger stands there) or before it (a rim).
    chain, place : int
        Edges that follow one another without a parallel to the joists between them are one chain; place from its left.
    start_deg, turn_deg : float
        Inner angle of the deck at the left and at the right end. [degrees]
    """

    x0: float
    y0: float
    x1: float
    y1: float
    near: bool
    chain: int
    place: int
    start_deg: float
    turn_deg: float

    @property
    def slant(self) -> float:
        """1/cos of its angle to the ledger: 1 if it runs along it."""
        return math.hypot(self.x1 - self.x0, self.y1 - self.y0) / (self.x1 - self.x0)

    def y_at(self, x: float) -> float:
        """Return its y at an x; past its ends that of the end. [in]."""
        if x <= self.x0:
            return self.y0
        if x >= self.x1:
            return self.y1
        return self.y0 + (self.y1 - self.y0) * (x - self.x0) / (self.x1 - self.x0)


def _signed_area(corners: Sequence[Corner]) -> float:
    """Half the sum of the cross products: positive if the polygon lies on the left of its edges."""
    turns = zip(corners, (*corners[1:], corners[0]), strict=True)
    return math.fsum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in turns) / 2


def _off_line(p: Corner, a: Corner, b: Corner) -> float:
    """How far a point lies to the left of the line through two others. [in]."""
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    return ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length


def _distance(p: Corner, a: Corner, b: Corner) -> float:
    """How far a point lies from a stretch. [in]."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    share = ((p[0] - a[0]) * dx + (p[1] - a[1]) * dy) / (dx * dx + dy * dy)
    share = min(1.0, max(0.0, share))
    return math.hypot(p[0] - a[0] - share * dx, p[1] - a[1] - share * dy)


def _name(corners: Sequence[Corner], index: int) -> str:
    """A corner as its number and its feet."""
    index %= len(corners)
    x, y = corners[index]
    return f"corner {index + 1} ({x / 12:.6g}, {y / 12:.6g})"


def _refuse_corners(corners: Sequence[Corner]) -> None:
    """Refuse too few, too many, no numbers, equal neighbours and edges that go back over themselves."""
    count = len(corners)
    if count < 3:
        raise OutOfRange(f"{count} corners: an outline needs at least 3, such as 0,0; 16,0; 16,9; 12,14; 0,14")
    if count > MOST_CORNERS:
        raise OutOfRange(f"{count:,} corners: an outline has {MOST_CORNERS} at most; a curve is good with one a foot")
    for index, (x, y) in enumerate(corners):
        if not (math.isfinite(x) and math.isfinite(y)):
            raise OutOfRange(f"{_name(corners, index)}: both must be lengths")
    for index, corner in enumerate(corners):
        if math.dist(corner, corners[index - 1]) <= SAME_IN:
            raise OutOfRange(f"{_name(corners, index)}: the same place as {_name(corners, index - 1)}: give it once")
    for index, corner in enumerate(corners):
        before, after = corners[index - 1], corners[(index + 1) % count]
        back = (before[0] - corner[0]) * (after[0] - corner[0]) + (before[1] - corner[1]) * (after[1] - corner[1]) > 0
        if back and min(_distance(after, before, corner), _distance(before, corner, after)) <= SAME_IN:
            raise OutOfRange(
                f"{_name(corners, index)}: the edge from it to {_name(corners, index + 1)} goes back over the one from "
                f"{_name(corners, index - 1)}: leave the spike out"
            )


def _refuse_meeting(corners: Sequence[Corner], one: int, other: int) -> None:
    """Say how two edges meet that are no neighbours: they cross, or a corner of one stands on the other."""
    count = len(corners)
    for first in (one, (one + 1) % count):
        for second in (other, (other + 1) % count):
            if math.dist(corners[first], corners[second]) <= SAME_IN:
                raise OutOfRange(
                    f"{_name(corners, max(first, second))}: the outline was at this place before, at "
                    f"{_name(corners, min(first, second))}: it may not touch itself, make two areas of it"
                )
    for index, start in ((one, other), (one + 1, other), (other, one), (other + 1, one)):
        edge = corners[start], corners[(start + 1) % count]
        if _distance(corners[index % count], *edge) <= SAME_IN:
            raise OutOfRange(
                f"{_name(corners, index)}: it touches the edge from {_name(corners, start)} to "
                f"{_name(corners, start + 1)}: an outline may not touch itself, leave a gap or make two areas of it"
            )
    raise OutOfRange(
        f"{_name(corners, one)}: the edge from it to {_name(corners, one + 1)} crosses the edge from "
        f"{_name(corners, other)} to {_name(corners, other + 1)}: go round the deck once, corner by corner"
    )


def _refuse_crossings(corners: Sequence[Corner]) -> None:
    """Refuse edges that cross or touch, the first two in order of corners; neighbours share a corner and no more."""
    import shapely

    count = len(corners)
    lines = shapely.linestrings([(corner, corners[(index + 1) % count]) for index, corner in enumerate(corners)])
    pairs = shapely.STRtree(lines).query(lines, predicate="dwithin", distance=SAME_IN)
    meeting = sorted(
        (int(one), int(other)) for one, other in pairs.T if one < other and other - one not in {1, count - 1}
    )
    if meeting:
        _refuse_meeting(corners, *meeting[0])


def _without_straights(corners: Sequence[Corner]) -> list[Corner]:
    """Drop every corner in a straight between the last one kept and the next."""
    kept = list(corners)
    index = 0
    while index < len(kept):
        if len(kept) > 3 and abs(_off_line(kept[index], kept[index - 1], kept[(index + 1) % len(kept)])) <= SAME_IN / 2:
            del kept[index]
        else:
            index += 1
    return kept


def outline_of(corners: Sequence[Corner]) -> Outline:
    """G10. Make an outline of corners in order, in either direction.

    Parameters
    ----------
    corners : sequence of (float, float)
        x along the ledger and y out from its back, from any origin. [in]

    Returns
    -------
    Outline
        The same first corner, the deck on the left of every edge, shifted to 0, without corners in a straight.

    Raises
    ------
    OutOfRange
        If the corners are no simple polygon; the message names the corner by its number and its feet.

    Examples
    --------
    >>> outline_of([(12, 12), (12, 108), (204, 108), (204, 12)]).corners
    ((0, 0), (192, 0), (192, 96), (0, 96))
    """
    _refuse_corners(corners)
    _refuse_crossings(corners)
    if abs(_signed_area(corners)) < LEAST_AREA_SQ_IN:
        raise OutOfRange(f"{_name(corners, 0)}: the outline from it encloses less than a square inch")
    kept = _without_straights(corners)
    if _signed_area(kept) < 0:
        kept = [kept[0], *reversed(kept[1:])]
    left, near = min(x for x, _ in kept), min(y for _, y in kept)
    return Outline(tuple((x - left, y - near) for x, y in kept))


def parse_outline(text: str, read_length: Callable[[str], float]) -> Outline:
    """G10. Read an outline as ``x,y; x,y; ...``.

    Parameters
    ----------
    text : str
        Corners apart by semicolons, the two lengths of each by a comma; the first may be given once more at the end.
    read_length : callable
        Reads one length, with its unit or without. [in]

    Returns
    -------
    Outline
        See `outline_of`.

    Raises
    ------
    OutOfRange
        If a corner cannot be read, or the corners are no simple polygon.

    Examples
    --------
    >>> parse_outline("0,0; 16,0; 16,9; 12,14; 0,14", lambda feet: 12 * float(feet)).width_in
    192.0
    """
    points = text.split(";")
    if not points[-1].strip():
        points.pop()
    if len(points) > MOST_CORNERS + 1:  # the first may come again
        raise OutOfRange(f"{len(points):,} corners: an outline has {MOST_CORNERS} at most")
    corners = [_read_corner(point.strip(), number, read_length) for number, point in enumerate(points, 1)]
    if len(corners) > 1 and math.dist(corners[0], corners[-1]) <= SAME_IN:
        corners.pop()
    return outline_of(corners)


def _read_corner(point: str, number: int, read_length: Callable[[str], float]) -> Corner:
    lengths = point.split(",")
    if len(lengths) != 2:
        shown = point if len(point) <= 60 else point[:57] + "..."
        raise OutOfRange(
            f"corner {number} is {shown or 'empty'}: write two lengths with a comma between, such as 16,9 or 16.5,9 "
            "(decimals with a point), and a semicolon between corners"
        )
    try:
        x, y = (read_length(length.strip()) for length in lengths)
    except ValueError as why:
        raise OutOfRange(f"corner {number} ({point[:60]}): {why}") from why
    return x, y


def show_outline(outline: Outline, show: Callable[[float], str]) -> str:
    """G10. Write an outline as it is read.

    Parameters
    ----------
    outline : Outline
        The outline.
    show : callable
        Writes one length so that it reads back as the same; with neither comma nor semicolon.

    Returns
    -------
    str
        Such as ``0,0; 16,0; 16,9; 12,14; 0,14``.
    """
    return "; ".join(f"{show(x)},{show(y)}" for x, y in outline.corners)


def _inner_angle_deg(before: Corner, corner: Corner, after: Corner) -> float:
    """Angle within the deck, which lies on the left of both edges. [degrees]."""
    ax, ay, bx, by = corner[0] - before[0], corner[1] - before[1], after[0] - corner[0], after[1] - corner[1]
    return 180 - math.degrees(math.atan2(ax * by - ay * bx, ax * bx + ay * by))


def edges_of(outline: Outline) -> tuple[Edge, ...]:
    """G10. The edges that are not parallel to the joists, chain by chain, each chain from its left end.

    Parameters
    ----------
    outline : Outline
        The outline.

    Returns
    -------
    tuple of Edge
        Chains in the order of the outline.
    """
    corners = outline.corners
    count = len(corners)
    sides = [_side(corner, corners[(index + 1) % count]) for index, corner in enumerate(corners)]
    start = next(index for index in range(count) if sides[index] != sides[index - 1])
    chains: list[list[int]] = []
    for before, index in pairwise([start - 1, *((start + step) % count for step in range(count))]):
        if not sides[index]:
            continue
        if sides[index] != sides[before]:
            chains.append([])
        chains[-1].append(index)
    edges = []
    for chain, indices in enumerate(chains):
        near = sides[indices[0]] > 0
        for place, index in enumerate(indices if near else reversed(indices)):
            one, other = corners[index], corners[(index + 1) % count]
            (x0, y0), (x1, y1) = (one, other) if near else (other, one)
            ends = (index, index + 1) if near else (index + 1, index)
            turns = (_inner_angle_deg(corners[at - 1], corners[at % count], corners[(at + 1) % count]) for at in ends)
            edges.append(Edge(x0, y0, x1, y1, near, chain, place, *turns))
    return tuple(edges)


def _side(start: Corner, end: Corner) -> int:
    """Whether an edge is a near one (1), a far one (-1) or parallel to the joists (0)."""
    run = end[0] - start[0]
    return 0 if abs(run) <= SAME_IN / 2 else 1 if run > 0 else -1
