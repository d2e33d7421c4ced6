"""How far a gutter may run before the nozzles of the bay outlets no longer stand in it (O3, W4)."""

from __future__ import annotations

import math

from baybook.numbers import r6
from baybook.problems import OutOfRange
from baybook.water.limits import above, between

__all__ = ["reach_ft"]


def reach_ft(
    nozzle_reach_in: float,
    gutter_top_gap_in: float,
    nozzle_in_gutter_in: float,
    gutter_fall_in_per_ft: float,
    step_in: float = 0.0,
) -> float:
    """O3, W4. Longest one-way run along which every nozzle still stands in the gutter.

    (n - g - 1 - e)/m: nozzle reach, gap over the gutter, depth it must stand in, step up to this area's joists, fall.

    Parameters
    ----------
    nozzle_reach_in : float
        Nozzle below the joist bottom. [in]
    gutter_top_gap_in : float
        Gutter top below the joist bottom at its high end. [in], >= 0
    nozzle_in_gutter_in : float
        Depth the nozzle must stand in the gutter; 1 in, practice. [in], >= 0
    gutter_fall_in_per_ft : float
        Fall of the gutter along its line. [in/ft], >= 0
    step_in : float
        Joist bottom of the area above the lowest of its line. [in], >= 0

    Returns
    -------
    float
        Reach, not rounded; infinite where the gutter lies level. [ft]

    Raises
    ------
    OutOfRange
        If the nozzle is too short for the gap and the depth (and the step) at the line's high end.

    Examples
    --------
    >>> reach_ft(3.0, 0.5, 1.0, 0.0625)
    24.0
    """
    between("gutter_top_gap_in", gutter_top_gap_in, 0, math.inf, "in")
    between("nozzle_in_gutter_in", nozzle_in_gutter_in, 0, math.inf, "in")
    between("gutter_fall_in_per_ft", gutter_fall_in_per_ft, 0, math.inf, "in/ft")
    between("step_in", step_in, 0, math.inf, "in")
    above(
        "nozzle_reach_in",
        r6(nozzle_reach_in),
        r6(gutter_top_gap_in + nozzle_in_gutter_in),
        "in",
        "the gap over the gutter and the depth to stand in it; hang the gutter closer or extend the nozzle",
    )
    left_in = r6(nozzle_reach_in - gutter_top_gap_in - nozzle_in_gutter_in - step_in)
    level = gutter_fall_in_per_ft == 0
    if left_in < 0 or (left_in == 0 and not level):
        limit = nozzle_reach_in - gutter_top_gap_in - nozzle_in_gutter_in
        raise OutOfRange(f"step_in is {step_in:g}; it must be under {limit:g} in, or the outlets need an extension")
    return math.inf if level else left_in / gutter_fall_in_per_ft
