"""The bays of an outlined area: what members, beams and openings leave of it, and where its water goes (rule G10)."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from baybook.numbers import r6
from baybook.outline import SAME_IN, Corner, Outline, edges_of
from baybook.takeoff.cells import Band, Cell, Deck, Frame, Hole, Plan, Strip, deck_of, joined
from baybook.takeoff.drafts import Draft, End, drafts_of, share_out
from baybook.takeoff.lowlines import LowLine, edge_lines, inner_lines

__all__ = ["Cutout", "MemberPiece", "Segment", "crossings", "edge_members", "piece_letter", "segments_of"]


def piece_letter(at: int, of: int) -> str:
    """Return the letter of one of several pieces, in order; none where there is but one."""
    return "" if of == 1 else "abcdefghijklmnopqrstuvwxyz"[at % 26]


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
class Cutout:
    """G10. Segments by bay, each bay from the ledger out; members from the left; gutter lines."""

    segments: tuple[Segment, ...]
    members: tuple[MemberPiece, ...]
    lines: tuple[LowLine, ...]


def _ring(cells: Sequence[Cell]) -> tuple[Corner, ...]:
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


def _thickness_in(end: End, plan: Plan) -> float:
    """Thickness of the beam or header at an end, 0 at ledger and rim. [in]."""
    if end.kind == "beam":
        return plan.bands[end.number].far_in - plan.bands[end.number].near_in
    return plan.holes[end.number].header_in if end.kind == "header" else 0.0


def _segments(deck: Deck, drafts: Sequence[Draft], line_of: Sequence[int], plan: Plan) -> tuple[Segment, ...]:
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


def _member_pieces(deck: Deck, plan: Plan) -> tuple[MemberPiece, ...]:
    """Members as the outline and its openings leave them, each from the ledger out."""
    pieces = []
    for (left, right), cells in zip(plan.members, deck.members, strict=True):
        found = []
        for piece in joined(cells, lambda cell: cell.beside):
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
    plan = Plan(outline, tuple(members), tuple(bands), tuple(holes), frame, edges_of(outline))
    deck = deck_of(plan)
    drafts = drafts_of(deck, plan)
    share_out(deck, drafts)
    found = [*edge_lines(drafts, plan), *inner_lines(deck, drafts, plan)]
    found.sort(key=lambda one: min(one[0]))
    line_of = [0] * len(drafts)
    for number, (indices, _) in enumerate(found):
        for index in indices:
            line_of[index] = number
    segments = _segments(deck, drafts, line_of, plan)
    return Cutout(segments, _member_pieces(deck, plan), tuple(line for _, line in found))


def crossings(outline: Outline, members: Sequence[Strip]) -> int:
    """G10. How often the middles of bays cross an outlined area: about as many pieces its bays are cut into.

    Parameters
    ----------
    outline : Outline
        The area.
    members : sequence of (float, float)
        Left and right faces, from the left. [in]

    Returns
    -------
    int
        Chords of the outline, one bay after the other; openings and beams not counted.
    """
    middles = [(left + right) / 2 for (_, left), (right, _) in pairwise(members)]
    return sum(bisect_left(middles, edge.x1) - bisect_left(middles, edge.x0) for edge in edges_of(outline)) // 2
