"""Gutter lines along the low edges of an outlined area, along its beams and its headers (rules G10, G12)."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from baybook.outline import SAME_IN, Edge
from baybook.takeoff.cells import Deck, Hole, Plan, Strip
from baybook.takeoff.drafts import Draft, End

__all__ = ["SQUARE_DEG", "Found", "LowLine", "Stretch", "Turn", "edge_lines", "inner_lines"]


SQUARE_DEG = 90.0


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
    """G10. Low ends that share one gutter: along rim, ledger, beam or header.

    `ends_deg` are the deck's inner angles at its left and right end, where the gutter may go on along the next area:
    square unless the outline has a sharper or blunter corner there. [degrees]
    """

    kind: str
    stretches: tuple[Stretch, ...]
    corners: tuple[Turn, ...]
    ends_deg: tuple[float, float] = (SQUARE_DEG, SQUARE_DEG)

    @property
    def length_in(self) -> float:
        """All its stretches. [in]."""
        return sum(one.length_in for one in self.stretches)


Found = list[tuple[list[int], LowLine]]  # segments, and the line they drain into


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


def edge_lines(drafts: Sequence[Draft], plan: Plan) -> Found:
    """Lines along the outline, chain by chain: each from half-way to the neighbour before to half-way to the next."""
    chains: dict[int, list[tuple[float, float, int, End]]] = defaultdict(list)
    for index, draft in enumerate(drafts):
        for end in (draft.near, draft.far):
            if end.kind in {"ledger", "rim"}:
                chains[end.number].append((end.x0, end.x1, index, end))
    found: Found = []
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
    starts = _end_deg(edges[0].start_deg) if left <= edges[0].x0 + SAME_IN else SQUARE_DEG
    ends = _end_deg(edges[-1].turn_deg) if right >= edges[-1].x1 - SAME_IN else SQUARE_DEG
    return LowLine("ledger" if edges[0].near else "rim", tuple(stretches), tuple(turns), (starts, ends))


def _end_deg(angle_deg: float) -> float:
    """Return the inner angle at an end; at an inside corner the gutter ends square against the deck."""
    return angle_deg if angle_deg < 2 * SQUARE_DEG else SQUARE_DEG


def inner_lines(deck: Deck, drafts: Sequence[Draft], plan: Plan) -> Found:
    """Lines along beams and headers: one straight stretch under neighbouring bays."""
    groups: dict[tuple[str, int, bool], list[int]] = {}
    for index, draft in enumerate(drafts):
        if draft.low.kind in {"beam", "header"}:
            groups.setdefault((draft.low.kind, draft.low.number, draft.low is draft.far), []).append(index)
    found: Found = []
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


def _extent(deck: Deck, drafts: Sequence[Draft], indices: set[int], y: float, far: bool) -> Strip:
    """From the left to the right of what of some segments' catchments ends at a y."""
    ends = [drafts[index].low for index in indices]
    xs = [x for end in ends for x in (end.x0, end.x1)]
    for cell in deck.cells:
        line = cell.span[far]
        if not line.edge and abs(line.mid - y) <= SAME_IN:
            mine = sum(share for owner, share in cell.owners.items() if owner in indices)
            xs += [cell.left, cell.right] if mine > 0.5 else []
    return min(xs), max(xs)
