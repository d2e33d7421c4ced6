"""Rain on a deck to flow in a pipe (W1)."""

from __future__ import annotations

import math

from baybook.units import GPM_PER_IN_H_SQ_FT
from baybook.water.limits import between

__all__ = ["area_at_rain_sq_ft", "catchment_sq_ft", "flow_gpm"]


def flow_gpm(rain_in_per_h: float, area_sq_ft: float) -> float:
    """W1. Flow of a steady rain off an area, all of it running off.

    Parameters
    ----------
    rain_in_per_h : float
        Design intensity. [in/h], >= 0
    area_sq_ft : float
        Area that catches it, on plan. [sq ft], >= 0

    Returns
    -------
    float
        Flow, not rounded. [gpm US]

    Raises
    ------
    OutOfRange
        If a value is negative.

    Examples
    --------
    The deck worked by hand, 16 x 12 ft at 5 in/h:

    >>> round(flow_gpm(5.0, 192.0), 3)
    9.974
    """
    between("rain_in_per_h", rain_in_per_h, 0, math.inf, "in/h")
    between("area_sq_ft", area_sq_ft, 0, math.inf, "sq ft")
    return rain_in_per_h * area_sq_ft * GPM_PER_IN_H_SQ_FT


def catchment_sq_ft(
    plan_sq_ft: float,
    wall_share: float = 0.0,
    wall_height_ft: float = 0.0,
    wall_length_ft: float = 0.0,
    roof_sq_ft: float = 0.0,
) -> float:
    """W1. Area that sheds on a deck: the deck, a share of the wall above it, the roof that drips on it.

    Parameters
    ----------
    plan_sq_ft : float
        The deck on plan. [sq ft], >= 0
    wall_share : float
        Share of the wall's face that counts: one half by the International Plumbing Code 1106.4 [1]_; one quarter
        by the Chicago Building Code [2]_. [-], 0 to 1
    wall_height_ft, wall_length_ft : float
        Face of the wall that stands over the deck. [ft], >= 0
    roof_sq_ft : float
        Roof without a gutter over the deck, on plan; it counts whole. [sq ft], >= 0

    Returns
    -------
    float
        Catchment, not rounded. [sq ft]

    Raises
    ------
    OutOfRange
        If a value is negative or the share is over 1.

    Examples
    --------
    >>> catchment_sq_ft(192.0, 0.5, 9.0, 16.0, 40.0)
    304.0

    References
    ----------
    .. [1] International Plumbing Code, 1106.4.
    .. [2] Chicago Building Code, chapter 18-29.
    """
    between("plan_sq_ft", plan_sq_ft, 0, math.inf, "sq ft")
    between("wall_share", wall_share, 0, 1, "", "write one half as 0.5")
    between("wall_height_ft", wall_height_ft, 0, math.inf, "ft")
    between("wall_length_ft", wall_length_ft, 0, math.inf, "ft")
    between("roof_sq_ft", roof_sq_ft, 0, math.inf, "sq ft")
    return plan_sq_ft + wall_share * wall_height_ft * wall_length_ft + roof_sq_ft


def area_at_rain_sq_ft(area_at_1_in_per_h_sq_ft: float, rain_in_per_h: float) -> float:
    """Turn a code table's area at 1 in/h into the area at the local rain.

    Parameters
    ----------
    area_at_1_in_per_h_sq_ft : float
        Area a pipe or gutter serves at 1 in/h. [sq ft], >= 0
    rain_in_per_h : float
        Design intensity. [in/h], at least 0.01

    Returns
    -------
    float
        Area it serves at that rain, not rounded. [sq ft]

    Raises
    ------
    OutOfRange
        If the area is negative or the rain is under 0.01 in/h.

    Examples
    --------
    >>> area_at_rain_sq_ft(21_400.0, 3.2)
    6687.5

    References
    ----------
    .. [1] Uniform Plumbing Code, Appendix D, example.
    """
    between("area_at_1_in_per_h_sq_ft", area_at_1_in_per_h_sq_ft, 0, math.inf, "sq ft")
    between("rain_in_per_h", rain_in_per_h, 0.01, math.inf, "in/h")
    return area_at_1_in_per_h_sq_ft / rain_in_per_h
