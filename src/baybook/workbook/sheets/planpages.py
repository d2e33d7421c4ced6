"""How the plan is laid on paper: one drawing where its bays can be read in it, else rows of areas, pages of rows."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from baybook.estimate import Estimate
from baybook.numbers import r6
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.inputs import Units

__all__ = ["APART_IN", "MOST_BAYS", "NAME_CM", "Pane", "PlanPages", "plan_pages"]

APART_IN = 24.0  # between areas drawn side by side
MOST_BAYS = 120  # on one page
ROOM = 1.1  # to grow
ROW_CM = 0.529  # height of a row of cells, in which drawings stand one below another
WIDE_CM, PAGE_ROWS, NEXT_PAGE_ROWS = (
    24.0,
    26,
    31,
)  # for the drawings of a page; A4 and Letter across have room for them and the heading
LEAST_CM = 13.0  # of a drawing across, so that its words have room
LEFT_CM, RIGHT_CM, TOP_CM, BELOW_CM = 0.9, 0.35, 1.25, 0.25  # round the plot
WORDS_CM = 0.75  # below a gutter at the rim, for its words
ACROSS_CM = WIDE_CM - LEFT_CM - RIGHT_CM
FINER = 1.02  # step by which scales are tried
NAME_CM = 0.6  # above the house wall at the least, for the names of areas
MARKS = (1, 2, 3, 5, 10, 20, 50)  # feet or metres from figure to figure along the axes
READ_CM = 0.34  # from bay to bay: numbers set upright can be read
LEAST_PITCH_CM = 0.25  # the same with small numbers
NEAR_ROWS = 12  # rows of bays before and behind those of a row of areas, should bays be added


class Pane(NamedTuple):
    """One drawing: what its axes span, in feet or metres, how large it is, which bays it may have to number. [cm]."""

    left: int
    wide: int
    above: int
    deep: float
    scale: float  # cm on paper of a foot or metre
    page: int
    pitch_cm: float
    counts: bool  # the figures along it count from the first area's left end
    bays: tuple[int, ...]

    @property
    def plot_cm(self) -> tuple[float, float]:
        """Width and height of what is drawn."""
        return self.wide * self.scale, (self.deep + self.above) * self.scale

    @property
    def size_cm(self) -> tuple[float, float]:
        """The same with its title and the figures along it."""
        wide, high = self.plot_cm
        return wide + LEFT_CM + RIGHT_CM, high + TOP_CM + BELOW_CM

    @property
    def rows(self) -> int:
        """Rows of cells it takes, one of them free."""
        return math.ceil(self.size_cm[1] / ROW_CM) + 1


class PlanPages(NamedTuple):
    """The drawings, the x at which each area begins at the least, and what a centimetre of paper is of the deck. [in]."""

    panes: tuple[Pane, ...]
    from_in: tuple[float, ...]
    cm_in: float


class _Piece(NamedTuple):
    """One area, by its row: its room across, its depth, its spacing, and its rows of bays. [in]."""

    row: int
    wide: float
    deep: float
    spacing: float
    bay_count: int
    bays: tuple[int, ...]


def _pieces(estimate: Estimate, shape: Shape) -> Iterator[_Piece]:
    takes = estimate.takeoff.areas
    plain, drawn = 0, shape.bays
    for row, take in zip(shape.rows("area", len(takes)), takes, strict=True):
        bays = sum(len(part.bays) for part in take.parts)
        if take.drawing is None:
            first, rows, ends = plain, bays, (0, shape.bays)
            plain += bays
        else:
            first, rows, ends = drawn, len(take.parts), (shape.bays, shape.bay_rows)
            drawn += rows
        near = range(max(ends[0], first - NEAR_ROWS), min(ends[1], first + rows + NEAR_ROWS))
        area = take.area
        yield _Piece(row, area.width_in + APART_IN, area.projection_in, area.spacing_in, bays, tuple(near))


class _Row(NamedTuple):
    """Areas side by side in one drawing, or `of` drawings of equal width of one long area."""

    pieces: tuple[_Piece, ...]
    of: int

    @property
    def span_in(self) -> float:
        return ROOM * sum(piece.wide for piece in self.pieces) / self.of

    @property
    def deep_in(self) -> float:
        return ROOM * max(piece.deep for piece in self.pieces)


def _rows(pieces: Sequence[_Piece], scale: float) -> list[_Row]:
    """Return areas in rows, as many side by side as a page is wide at a scale. [cm/in]."""
    most = ACROSS_CM / scale / ROOM
    rows: list[_Row] = []
    for piece in pieces:
        last = rows[-1] if rows else None
        if last and last.of == 1 and sum(one.wide for one in last.pieces) + piece.wide <= most:
            rows[-1] = _Row((*last.pieces, piece), 1)
        else:
            rows.append(_Row((piece,), math.ceil(piece.wide / most)))
    return rows


def _above(scale: float) -> int:
    """Return the room above the house wall, a step of the axes: whole feet or metres, of so many cm each."""
    return next((one for one in MARKS if one * scale >= NAME_CM), MARKS[-1])


def _fitted(wide: float, deep: float) -> float:
    """Return the scale at which one drawing fills a page. [cm a foot or metre]."""
    high = (PAGE_ROWS - 1) * ROW_CM - TOP_CM - BELOW_CM
    scale = min(ACROSS_CM / wide, (high - NAME_CM) / deep)
    return min(scale, high / (deep + _above(scale)))


def _cm_rows(row: _Row, scale: float, big_in: float) -> int:
    """Return the rows of cells that a row of areas takes."""
    high = (row.deep_in / big_in + 1 + _above(scale)) * scale + TOP_CM + BELOW_CM
    return row.of * (math.ceil(high / ROW_CM) + 1)


def _laid(pieces: Sequence[_Piece], big_in: float) -> tuple[float, list[_Row]]:
    """Return the rows in which areas fill a page, and their scale; its bays are legible even if they fill more."""
    spacing = min(piece.spacing for piece in pieces) / big_in
    alone = _Row(tuple(pieces), 1)
    scale = _fitted(alone.span_in / big_in, alone.deep_in / big_in)
    if scale * spacing >= READ_CM:
        return scale, [alone]
    best = scale
    while scale * spacing < 2 * READ_CM:
        scale *= FINER
        if sum(_cm_rows(row, scale, big_in) for row in _rows(pieces, scale / big_in)) <= PAGE_ROWS:
            best = scale
    best = max(best, LEAST_PITCH_CM / spacing)
    return best, _rows(pieces, best / big_in)


def _panes(row: _Row, scale: float, at: int, big_in: float, *, alone: bool) -> Iterator[Pane]:
    """Yield the drawings of a row of areas; `at` is where it begins."""
    wide, deep = row.span_in / big_in, float(math.ceil(row.deep_in / big_in))
    if alone and row.of == 1:
        scale = _fitted(math.ceil(wide), deep)
    above = _above(scale)
    least = max(piece.deep for piece in row.pieces) / big_in + WORDS_CM / scale
    deep = max(deep, r6(least))
    wide = max(wide, LEAST_CM / scale)
    across = above * math.ceil(r6(wide / above)) if row.of > 1 else math.ceil(r6(wide))
    bays = tuple(sorted({one for piece in row.pieces for one in piece.bays}))
    pitch = scale * min(piece.spacing for piece in row.pieces) / big_in
    for nth in range(row.of):
        yield Pane(at + nth * across, across, above, deep, scale, 0, pitch, counts=True, bays=bays)


def plan_pages(estimate: Estimate, shape: Shape) -> PlanPages:
    """Return the drawings of a job's plan, each true to scale, with room for the deck to grow by a tenth.

    Parameters
    ----------
    estimate : Estimate
        The job.
    shape : Shape
        The rows of its workbook.

    Returns
    -------
    PlanPages
        One drawing of all areas side by side where their bays can be told apart in it; else rows of areas on one page,
        and a page for each area where there are more bays than `MOST_BAYS`.
    """
    big_in = Units(estimate.inputs.rates.units == "metric").big_in
    pieces = list(_pieces(estimate, shape))
    few = sum(piece.bay_count for piece in pieces) <= MOST_BAYS
    panes: list[Pane] = []
    starts = [0.0] * shape.areas
    at, page, scales = 0, 0, []
    for group in [pieces] if few else [[piece] for piece in pieces]:
        scale, rows = _laid(group, big_in)
        scales.append(scale)
        used = 0
        for row in rows:
            starts[row.pieces[0].row] = at * big_in
            for pane in _panes(row, scale, at, big_in, alone=len(rows) == 1):
                if used and used + pane.rows > (NEXT_PAGE_ROWS if page else PAGE_ROWS):
                    page, used = page + 1, 0
                counts = pane.left * big_in < pieces[0].wide
                panes.append(pane._replace(page=page, counts=counts))
                used += pane.rows
                at = pane.left + pane.wide
            at += panes[-1].above
        page += 1
    if len(panes) == 1:
        panes = [panes[0]._replace(bays=tuple(range(shape.bay_rows)))]
    return PlanPages(tuple(panes), tuple(starts), big_in / min(scales))
