"""Fall of a draped liner, and the blocking that fits over it (P3, O2)."""

from __future__ import annotations

import math
from collections.abc import Mapping

from baybook.data import dressed_depths
from baybook.numbers import down, r6, same_or_less
from baybook.water.limits import above, between

__all__ = [
    "blocking_is_low",
    "deepest_lumber",
    "drape_at_in",
    "eighths_down_in",
    "fall_in_per_ft",
    "height_left_in",
]


def drape_at_in(drape_in: float, clear_run_in: float, from_high_end_in: float) -> float:
    """P3. How far the liner hangs below the joist tops: nothing at the high end, half-way half of it.

    Parameters
    ----------
    drape_in : float
        Drape at the low end. [in], >= 0
    clear_run_in : float
        Run from high to low end. [in], > 0
    from_high_end_in : float
        Where it is asked. [in], 0 to the clear run

    Returns
    -------
    float
        Drape there, not rounded. [in]

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> drape_at_in(4.0, 141.0, 70.5)
    2.0
    """
    between("drape_in", drape_in, 0, math.inf, "in")
    above("clear_run_in", clear_run_in, 0, "in", "the joists must be longer than the members at their ends are thick")
    between("from_high_end_in", r6(from_high_end_in), 0, r6(clear_run_in), "in", "a place within the bay")
    return drape_in * from_high_end_in / clear_run_in


def fall_in_per_ft(drape_in: float, clear_run_in: float, frame_fall_in_per_ft: float = 0.0) -> float:
    """P3. Fall of the liner toward its low end: 12 drape/clear run + frame fall.

    Parameters
    ----------
    drape_in : float
        Drape at the low end. [in], >= 0
    clear_run_in : float
        Run from high to low end. [in], > 0
    frame_fall_in_per_ft : float
        Fall of the joists toward the low end; below 0 if they fall the other way. [in/ft]

    Returns
    -------
    float
        Fall, not rounded; below 0 where the water would run back. [in/ft]

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> round(fall_in_per_ft(4.0, 141.0), 4)
    0.3404
    """
    between("drape_in", drape_in, 0, math.inf, "in")
    above("clear_run_in", clear_run_in, 0, "in", "the joists must be longer than the members at their ends are thick")
    between("frame_fall_in_per_ft", frame_fall_in_per_ft, -math.inf, math.inf, "in/ft")
    return 12 * drape_in / clear_run_in + frame_fall_in_per_ft


def height_left_in(joist_depth_in: float, drape_in: float, clear_run_in: float, from_high_end_in: float) -> float:
    """O2. Height left for blocking under the liner: joist depth - drape there.

    Parameters
    ----------
    joist_depth_in : float
        Depth of the joists. [in], > 0
    drape_in : float
        Drape at the low end. [in], >= 0
    clear_run_in : float
        Run from high to low end. [in], > 0
    from_high_end_in : float
        High end's clear face to the block's centre. [in], 0 to the clear run

    Returns
    -------
    float
        Height, not rounded; 0 or less where none is left. [in]

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> height_left_in(9.25, 4.0, 141.0, 70.5)
    7.25
    """
    above("joist_depth_in", joist_depth_in, 0, "in")
    return joist_depth_in - drape_at_in(drape_in, clear_run_in, from_high_end_in)


def eighths_down_in(length_in: float) -> float:
    """O2. Round down to 1/8 in, as a block is ripped.

    Parameters
    ----------
    length_in : float
        [in], >= 0

    Returns
    -------
    float
        [in]

    Raises
    ------
    OutOfRange
        If the length is negative.

    Examples
    --------
    >>> eighths_down_in(5.93)
    5.875
    """
    between("length_in", length_in, 0, math.inf, "in")
    return down(length_in * 8) / 8


def deepest_lumber(height_in: float, depths_in: Mapping[str, float] | None = None) -> str | None:
    """O2. Return the deepest dressed lumber that stands in a height.

    Parameters
    ----------
    height_in : float
        Height left. [in]
    depths_in : mapping of str to float, optional
        Size to dressed depth; DOC PS 20's [1]_ if left out. [in]

    Returns
    -------
    str or None
        The size; None if not even the smallest fits.

    Examples
    --------
    >>> deepest_lumber(7.25), deepest_lumber(3.0)
    ('2x8', None)

    References
    ----------
    .. [1] DOC PS 20, American Softwood Lumber Standard.
    """
    depths = dressed_depths() if depths_in is None else depths_in
    fits = [size for size, depth in depths.items() if same_or_less(depth, height_in)]
    return max(fits, key=lambda size: depths[size], default=None)


def blocking_is_low(height_in: float, joist_depth_in: float, blocking_share: float = 0.6) -> bool:
    """O2. Whether blocking would be under the usual share of the joist depth: ask the designer.

    Parameters
    ----------
    height_in : float
        Height of the blocking. [in]
    joist_depth_in : float
        Depth of the joists. [in], > 0
    blocking_share : float
        0.6 by IRC R507.6 [1]_. [-], 0 to 1

    Returns
    -------
    bool
        True if under it.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> blocking_is_low(5.5, 9.25), blocking_is_low(5.55, 9.25)
    (True, False)

    References
    ----------
    .. [1] International Residential Code, R507.6 (value from memory).
    """
    above("joist_depth_in", joist_depth_in, 0, "in")
    between("blocking_share", blocking_share, 0, 1, "")
    return not same_or_less(joist_depth_in * blocking_share, height_in)
