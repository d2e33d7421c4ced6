"""Pipe and straps of one leader (T5)."""

from __future__ import annotations

import math

from baybook.numbers import down, r6
from baybook.problems import OutOfRange
from baybook.water.limits import above, between

__all__ = ["leader_length_in", "straps_per_leader"]


def leader_length_in(
    joist_bottom_in: float,
    gutter_top_gap_in: float,
    gutter_fall_in_per_ft: float,
    longest_run_ft: float,
    gutter_depth_in: float,
    leader_extra_in: float,
    ledger_discharge_in: float = 0.0,
) -> float:
    """T5. Pipe of one leader, from the gutter's bottom at its low end to the ground, and what lies beyond.

    Parameters
    ----------
    joist_bottom_in : float
        Joist bottom above grade. [in]
    gutter_top_gap_in : float
        Gutter top below the joist bottom at its high end. [in]
    gutter_fall_in_per_ft : float
        Fall of the gutter. [in/ft]
    longest_run_ft : float
        Longest one-way run (W3). [ft]
    gutter_depth_in : float
        Depth of the gutter. [in]
    leader_extra_in : float
        Offsets to the wall and the shoe. [in]
    ledger_discharge_in : float
        Pipe that leads water away from the house (G8). [in]

    Returns
    -------
    float
        Length, not rounded. [in]

    Raises
    ------
    OutOfRange
        If nothing is left for a leader.

    Examples
    --------
    >>> leader_length_in(98.75, 0.5, 0.0625, 16.0, 3.5, 12.0)
    105.75
    """
    drop_in = gutter_top_gap_in + longest_run_ft * gutter_fall_in_per_ft + gutter_depth_in
    length_in = joist_bottom_in - drop_in + leader_extra_in + ledger_discharge_in
    if not r6(length_in) > 0:
        raise OutOfRange(
            f"joist_bottom_in is {joist_bottom_in:g}; the gutter takes {drop_in:g} in of it and no leader fits below: "
            "the deck must stand higher or drain to its other side"
        )
    return length_in


def straps_per_leader(joist_bottom_in: float, strap_spacing_in: float, straps_fixed: int = 2) -> int:
    """T5. Straps of one leader: the fixed ones, and one for every full spacing.

    Parameters
    ----------
    joist_bottom_in : float
        Joist bottom above grade. [in], >= 0
    strap_spacing_in : float
        Published: top, bottom, every 60 in. [in], > 0
    straps_fixed : int
        Straps at top and bottom.

    Returns
    -------
    int
        Straps.

    Raises
    ------
    OutOfRange
        If a value is outside its range.

    Examples
    --------
    >>> straps_per_leader(98.75, 60.0)
    3
    """
    between("joist_bottom_in", joist_bottom_in, 0, math.inf, "in")
    above("strap_spacing_in", strap_spacing_in, 0, "in")
    return straps_fixed + down(joist_bottom_in / strap_spacing_in)
