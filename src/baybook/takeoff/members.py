"""Members and bays: where the joists stand and what they leave between them (rules G1 to G5)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from baybook.job.rates import Rates
from baybook.job.records import Area, Framing
from baybook.numbers import r6, up

__all__ = ["Member", "added_strips", "bay_count", "clear_widths_in", "field_centres_in", "members_of", "merge_strips"]

Strip = tuple[float, float]  # left and right face, in inches from the left end, each rounded to 6 places


@dataclass(frozen=True, slots=True)
class Member:
    """G4. One joist, or several solid-packed: one strip seen from above."""

    left_in: float
    right_in: float

    @property
    def width_in(self) -> float:
        """Width of the strip. [in]."""
        return r6(self.right_in - self.left_in)


def field_centres_in(width_in: float, thickness_in: float, spacing_in: float, layout: str) -> tuple[float, ...]:
    """G2. Centres of the field joists, from the left end.

    Parameters
    ----------
    width_in, thickness_in, spacing_in : float
        Width of the area, thickness of a ply, joists on centre. [in]
    layout : str
        ``left``: spaced from the left end, the one that would run into the end joist set tight against it;
        ``right``: the mirror image; ``even``: equal spaces between the end joists' centres.

    Returns
    -------
    tuple of float
        Centres in order of layout. [in]
    """
    if layout == "even":
        spaces = max(1, up((width_in - thickness_in) / spacing_in))
        step = (width_in - thickness_in) / spaces
        return tuple(thickness_in / 2 + k * step for k in range(1, spaces))
    count = max(0, up((width_in - thickness_in / 2) / spacing_in) - 1)
    tight = width_in - 1.5 * thickness_in
    centres = tuple(min(k * spacing_in, tight) for k in range(1, count + 1))
    return centres if layout == "left" else tuple(width_in - centre for centre in centres)


def bay_count(width_in: float, spacing_in: float, thickness_in: float = 1.5, pack_gap_in: float = 1.5) -> int:
    """G7. Bays of a plain area spaced from the left, without laying it out.

    Parameters
    ----------
    width_in, spacing_in, thickness_in : float
        Width, joists on centre, thickness of a ply. [in]
    pack_gap_in : float
        A gap under this is packed solid. [in]

    Returns
    -------
    int
        Bays.

    Examples
    --------
    >>> [bay_count(width, 16.0) for width in (192.0, 193.0, 195.0, 195.75, 209.0)]
    [12, 12, 12, 13, 13]
    """
    joists = up((width_in - thickness_in / 2) / spacing_in) - 1
    gap = r6(width_in - 1.5 * thickness_in - joists * spacing_in)
    return joists + 1 if gap >= r6(pack_gap_in) else joists


def _strip(centre_in: float, strip_width_in: float, width_in: float) -> Strip:
    """G3. A strip by its centre; what stands past an outer face is cut off there."""
    left, right, end = r6(centre_in - strip_width_in / 2), r6(centre_in + strip_width_in / 2), r6(width_in)
    return min(max(left, 0.0), end), min(max(right, 0.0), end)


def _divider_centres(row: Framing, rates: Rates) -> tuple[float, float]:
    half = (rates.board_width_in + rates.board_gap_in) / 2
    return (row.x_in or 0.0) - half, (row.x_in or 0.0) + half


def added_strips(area: Area, framing: Iterable[Framing], rates: Rates) -> list[Strip]:
    """G3. Strips of added members, dividers and borders.

    Parameters
    ----------
    area : Area
        The area.
    framing : iterable of Framing
        Its framing rows.
    rates : Rates
        Board width, gap and overhang; plies under a joint.

    Returns
    -------
    list of (float, float)
        Left and right faces, cut off at the outer faces. [in]
    """
    width, t = area.width_in, area.joist_thickness_in
    strips = []
    for row in framing:
        if row.kind == "member":
            strips.append(_strip(row.x_in or 0.0, (row.plies or 1) * t, width))
        elif row.kind == "divider":
            strips += [_strip(centre, rates.joint_plies * t, width) for centre in _divider_centres(row, rates)]
    pitch = rates.board_width_in + rates.board_gap_in
    for j in range(1, area.borders + 1):
        joint = j * pitch - rates.border_overhang_in
        strips += [_strip(centre, rates.joint_plies * t, width) for centre in (joint, width - joint)]
    return strips


def _field_strips(area: Area, framing: Iterable[Framing], rates: Rates) -> list[Strip]:
    """G2, G3. Field joists, less those that a divider's pair replaces."""
    pairs = [_divider_centres(row, rates) for row in framing if row.kind == "divider"]
    width, t = area.width_in, area.joist_thickness_in
    return [
        _strip(centre, t, width)
        for centre in field_centres_in(width, t, area.spacing_in, area.layout)
        if not any(r6(low) <= r6(centre) <= r6(high) for low, high in pairs)
    ]


def merge_strips(strips: Iterable[Strip], pack_gap_in: float) -> tuple[Member, ...]:
    """G4. Strips that touch, overlap or leave a gap under ``pack_gap`` are one member.

    Parameters
    ----------
    strips : iterable of (float, float)
        Faces rounded to six places. [in]
    pack_gap_in : float
        The limit; a gap of nothing always merges. [in]

    Returns
    -------
    tuple of Member
        From left to right.
    """
    merged: list[Member] = []
    limit = r6(pack_gap_in)
    for left, right in sorted(strips):
        gap = r6(left - merged[-1].right_in) if merged else None
        if gap is not None and (gap < limit or gap <= 0):
            merged[-1] = Member(merged[-1].left_in, max(merged[-1].right_in, right))
        else:
            merged.append(Member(left, right))
    return tuple(merged)


def members_of(area: Area, framing: Sequence[Framing], rates: Rates, more: Sequence[Strip] = ()) -> tuple[Member, ...]:
    """G1 to G4. The members of an area.

    Parameters
    ----------
    area : Area
        The area.
    framing : sequence of Framing
        Its framing rows.
    rates : Rates
        The rates in force.
    more : sequence of (float, float)
        Strips beside these: joists at the edges of an outline, trimmers of openings.

    Returns
    -------
    tuple of Member
        From left to right, the end joists included.
    """
    width, t = area.width_in, area.joist_thickness_in
    ends = [_strip(t / 2, t, width), _strip(width - t / 2, t, width)]
    strips = [*ends, *_field_strips(area, framing, rates), *added_strips(area, framing, rates), *more]
    return merge_strips(strips, rates.pack_gap_in)


def clear_widths_in(members: Sequence[Member]) -> tuple[float, ...]:
    """G4. Clear widths of the bays between members, each rounded to six places. [in]."""
    return tuple(r6(after.left_in - before.right_in) for before, after in pairwise(members))
