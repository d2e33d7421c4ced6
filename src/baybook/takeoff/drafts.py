"""Bays of an outlined area as groups of cells: where each ends, which way it drains, whose each cell is (rule G10)."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from baybook.numbers import r6
from baybook.outline import SAME_IN
from baybook.takeoff.cells import Cell, Deck, Line, Plan, joined, touch

__all__ = ["Draft", "End", "drafts_of", "share_out"]


@dataclass(slots=True, eq=False)
class End:
    """One end of a segment: what bounds most of its width there."""

    kind: str
    number: int  # of its chain, beam or opening
    x0: float
    x1: float
    y: float
    slant: float
    places: tuple[int, ...]  # of its edges in their chain


@dataclass(slots=True, eq=False)
class Draft:
    """A segment while it is worked out."""

    bay: int
    cells: list[Cell]
    near: End
    far: End
    high: End
    low: End
    near_in: float
    far_in: float


def _clear_beside(cell: Cell) -> list[Cell]:
    """Cells of the same bay that are open to it."""
    found = []
    for other in cell.beside:
        if cell.clear and other.clear and other.zone == cell.zone:
            one, two = (cell, other) if cell.slab < other.slab else (other, cell)
            if touch(one.clear or one.span, two.clear or two.span) > SAME_IN / 1000:
                found.append(other)
    return found


def _end(cells: Sequence[Cell], far: bool) -> End:
    """Find what bounds most of a segment's width at one end: an edge's chain, a beam or an opening's header."""
    outermost: dict[int, tuple[Cell, Line]] = {}
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
    return End(
        kind=kind,
        number=number,
        x0=min(cell.left for cell, _ in mine),
        x1=max(cell.right for cell, _ in mine),
        y=mine[0][1].mid,
        slant=max((edge.slant for edge in edges), default=1.0),
        places=tuple(sorted(edge.place for edge in edges)),
    )


def _draft(cells: list[Cell], plan: Plan) -> Draft:
    """A segment's ends and which of them is low: the stated side, unless its water would fall into an opening."""
    near, far = _end(cells, far=False), _end(cells, far=True)
    high, low = (near, far) if plan.frame.gutter_side == "rim" else (far, near)
    back = [end.kind == "header" and plan.holes[end.number].gutter == "back" for end in (high, low)]
    if back == [False, True]:
        high, low = low, high
    spans = [cell.clear for cell in cells if cell.clear]
    near_in = min(min(line.left, line.right) for line, _ in spans)
    far_in = max(max(line.left, line.right) for _, line in spans)
    return Draft(cells[0].zone // 3, cells, near, far, high, low, near_in, far_in)


def drafts_of(deck: Deck, plan: Plan) -> list[Draft]:
    """All segments, bay by bay, each bay from the ledger out."""
    clear = [cell for cell in deck.cells if cell.clear]
    drafts = [_draft(cells, plan) for cells in joined(clear, _clear_beside)]
    return sorted(drafts, key=lambda one: (one.bay, one.near_in, one.far_in, one.cells[0].slab))


def _spread(cells: Iterable[Cell], over: Callable[[Cell], Iterable[Cell]]) -> None:
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


def _within(cell: Cell) -> list[Cell]:
    """Neighbours in the bay that a cell lies in or, half of a member, faces; and in the same half."""
    home = cell.zone + (0, -1, 1)[cell.zone % 3]
    return [other for other in cell.beside if other.zone in {cell.zone, home}]


def share_out(deck: Deck, drafts: Sequence[Draft]) -> None:
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


def _gap(cell: Cell, draft: Draft) -> float:
    """How far a cell's middle lies from a segment's box. [in]."""
    x, y = (cell.left + cell.right) / 2, (cell.span[0].mid + cell.span[1].mid) / 2
    left, right = draft.cells[0].left, draft.cells[-1].right
    return math.hypot(max(left - x, 0, x - right), max(draft.near_in - y, 0, y - draft.far_in))
