"""Panels: cut length, fall, width needed, cap strips, splices (rules P1 to P6)."""

from __future__ import annotations

import math

from baybook.numbers import down, r6, sixteenths_up, up
from baybook.problems import OutOfRange

__all__ = [
    "MOST_PIECES",
    "clear_run_in",
    "cut_length_in",
    "fall_in_per_ft",
    "pieces_of_line",
    "pieces_of_panel",
    "side_by_side",
    "widest_bay_in",
    "width_needed_in",
]

MOST_PIECES = 500  # of one panel, gutter or leader; only a slip of the pen asks for more


def clear_run_in(projection_in: float, ledger_thickness_in: float, rim_plies: int, thickness_in: float) -> float:
    """P1. Clear run of an unsplit bay, from the ledger's face to the rim's inner face; not rounded. [in]."""
    return projection_in - ledger_thickness_in - rim_plies * thickness_in


def cut_length_in(
    clear_in: float, high_lap_in: float, low_setback_in: float, trim_allowance_in: float, cut_step_in: float
) -> float:
    """P2. Clear run, high lap and trim less the setback, up to the next step, in whole sixteenths.

    Parameters
    ----------
    clear_in, high_lap_in, low_setback_in, trim_allowance_in : float
        Clear run, lap at the high end, setback at the low end, allowance trimmed on site. [in]
    cut_step_in : float
        Cut lengths are multiples of it; a multiple stays. [in], > 0

    Returns
    -------
    float
        Cut length. [in]

    Examples
    --------
    >>> cut_length_in(141.0, 1.5, 3.0, 3.0, 0.5)
    142.5
    """
    steps = up((clear_in + high_lap_in - low_setback_in + trim_allowance_in) / cut_step_in)
    return sixteenths_up(steps * cut_step_in) / 16


def fall_in_per_ft(drape_in: float, clear_in: float, frame_fall_in_per_ft: float = 0.0) -> float:
    """P3. Fall of a bay's bottom: the drape over the clear run, and the frame's own. [in/ft]."""
    return 12 * drape_in / clear_in + frame_fall_in_per_ft


def width_needed_in(clear_width_in: float, drape_in: float, side_lap_in: float) -> float:
    """P4. Width of liner over a bay: its V at the low end and a lap on each joist.

    Examples
    --------
    >>> round(width_needed_in(14.5, 4.0, 1.5), 3), round(width_needed_in(13.75, 4.0, 1.5), 3)
    (19.56, 18.908)
    """
    return 2 * math.sqrt((clear_width_in / 2) ** 2 + drape_in**2) + 2 * side_lap_in


def widest_bay_in(stock_width_in: float, drape_in: float, side_lap_in: float) -> float:
    """P4. Widest clear bay that a liner of this width spans; nothing if it spans none. [in]."""
    half = (stock_width_in - 2 * side_lap_in) / 2
    return 2 * math.sqrt(half**2 - drape_in**2) if half > drape_in else 0.0


def side_by_side(stock_width_in: float, strip_width_in: float) -> int:
    """P5. Strips that lie side by side in one length of liner, at least one."""
    return max(1, down(stock_width_in / strip_width_in)) if r6(strip_width_in) > 0 else 1


def pieces_of_panel(cut_sixteenths: int, stock_sixteenths: int, lap_in: float, min_piece_in: float) -> tuple[int, ...]:
    """P6. Pieces of one panel, upper first, lapped like shingles.

    Parameters
    ----------
    cut_sixteenths, stock_sixteenths : int
        Cut length and the longest stock. [1/16 in]
    lap_in, min_piece_in : float
        Lap of a splice, shortest piece. [in]

    Returns
    -------
    tuple of int
        Lengths; one if the panel is no longer than the stock. [1/16 in]

    Raises
    ------
    OutOfRange
        If the stock is no longer than the lap, or hardly longer, or too short for the shortest piece.

    Examples
    --------
    >>> [length / 16 for length in pieces_of_panel(273 * 16, 192 * 16, 12.0, 36.0)]
    [192.0, 93.0]
    """
    if cut_sixteenths <= stock_sixteenths:
        return (cut_sixteenths,)
    cut_in, stock_in, least = cut_sixteenths / 16, stock_sixteenths / 16, sixteenths_up(min_piece_in)
    if stock_in <= r6(lap_in):
        raise OutOfRange(f"the longest stock is {stock_in:g} in, no longer than a splice's lap of {lap_in:g} in")
    count = up((cut_in - lap_in) / (stock_in - lap_in))
    if count > MOST_PIECES:
        raise OutOfRange(
            f"a panel of {cut_in:g} in would take {count:,} pieces of {stock_in:g} in: longer stock is needed"
        )
    last = sixteenths_up(cut_in - (count - 1) * (stock_in - lap_in))
    above = [stock_sixteenths] * (count - 1)
    if last < least:
        above[-1] -= least - last
        last = least
    if above[-1] <= 0:
        raise OutOfRange(
            f"the shortest piece, {min_piece_in:g} in, is too long to make two of a stock of {stock_in:g} in"
        )
    return (*above, last)


def pieces_of_line(length_sixteenths: int, stock_sixteenths: int, min_rest_in: float) -> tuple[int, ...]:
    """T4. Pieces of a gutter, leader or apron: whole stock, and one of the rest if any.

    Parameters
    ----------
    length_sixteenths, stock_sixteenths : int
        Length of the line and of the longest stick on offer. [1/16 in]
    min_rest_in : float
        A shorter rest is made this long, never more than a stick. [in]

    Returns
    -------
    tuple of int
        Lengths. [1/16 in]

    Raises
    ------
    OutOfRange
        If it would take more pieces than anybody joins.

    Examples
    --------
    >>> [length / 16 for length in pieces_of_line(192 * 16, 120 * 16, 6.0)]
    [120.0, 72.0]
    """
    whole, rest = divmod(length_sixteenths, stock_sixteenths)
    if whole > MOST_PIECES:
        raise OutOfRange(
            f"{length_sixteenths / 16:g} in would take {whole:,} pieces of {stock_sixteenths / 16:g} in: "
            "longer stock is needed"
        )
    if rest:
        rest = min(stock_sixteenths, max(rest, sixteenths_up(min_rest_in)))
    return (stock_sixteenths,) * whole + ((rest,) if rest else ())
