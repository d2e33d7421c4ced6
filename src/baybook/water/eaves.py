"""Gutters by published sizing rules: EN 12056-3 for level eaves gutters, the copper handbook for box gutters."""

from __future__ import annotations

import math
from itertools import pairwise

from baybook.units import IN_PER_FT, L_S_PER_GPM, M_PER_FT, MM_PER_IN
from baybook.water.capacity import Capacity
from baybook.water.limits import above, between, one_of

__all__ = [
    "box_gutter_width_in",
    "downspout_area_sq_in",
    "en_corner_factor",
    "en_gutter_capacity",
    "en_length_factor",
]

_EN_SHAPES = {"half-round": 2.78e-5, "rectangular": 3.48e-5}
_EN_LENGTHS = ((50.0, 1.00), (100.0, 0.93), (150.0, 0.86), (200.0, 0.80))


def en_length_factor(run_ft: float, water_in: float) -> float:
    """Return by how much a long run cuts a level gutter's capacity.

    1.0, 0.93, 0.86 and 0.80 at a run of 50, 100, 150 and 200 times the depth [1]_, straight lines between.

    Parameters
    ----------
    run_ft : float
        From a stop end to the outlet, or half-way between two outlets. [ft], > 0
    water_in : float
        Depth of the gutter. [in], > 0

    Returns
    -------
    float
        Factor. [-]

    Raises
    ------
    OutOfRange
        If the run is over 200 depths, where the table here ends.

    References
    ----------
    .. [1] EN 12056-3:2000, as printed in makers' data.
    """
    above("run_ft", run_ft, 0, "ft")
    above("water_in", water_in, 0, "in")
    between("run_ft", run_ft, 0, 200 * water_in / IN_PER_FT, "ft", "at most 200 times the gutter's depth to an outlet")
    depths = max(50.0, run_ft * IN_PER_FT / water_in)
    (near, much), (far, less) = next(
        span for span in pairwise(_EN_LENGTHS) if depths <= span[1][0] or span[1] == _EN_LENGTHS[-1]
    )
    return much - (much - less) * (depths - near) / (far - near)


def en_corner_factor(corner_ft: float | None) -> float:
    """Return by how much a corner near the outlet cuts a level gutter's capacity.

    Parameters
    ----------
    corner_ft : float or None
        Corner to outlet; None without a corner. [ft], >= 0

    Returns
    -------
    float
        0.8 under 2 m, 0.9 from 2 to 4 m, else 1 [1]_. [-]

    Raises
    ------
    OutOfRange
        If the distance is negative.

    References
    ----------
    .. [1] EN 12056-3:2000, as printed in makers' data.
    """
    if corner_ft is None:
        return 1.0
    between("corner_ft", corner_ft, 0, math.inf, "ft")
    metres = corner_ft * M_PER_FT
    return 0.8 if metres < 2 else 0.9 if metres <= 4 else 1.0


def en_gutter_capacity(
    area_sq_in: float,
    shape: str,
    run_ft: float,
    water_in: float,
    corner_ft: float | None = None,
    shape_factor: float = 1.0,
) -> Capacity:
    """Return what a level eaves gutter carries by EN 12056-3.

    0.9 k A^1.25 in L/s and mm2, k = 2.78e-5 half-round, 3.48e-5 rectangular [1]_, times the factors for length and
    corner.

    Parameters
    ----------
    area_sq_in : float
        Section of the gutter. [sq in], > 0
    shape : str
        ``half-round`` or ``rectangular``.
    run_ft : float
        From a stop end to the outlet, or half-way between two outlets. [ft], up to 200 depths
    water_in : float
        Depth of the gutter. [in], > 0
    corner_ft : float or None
        Corner to outlet. [ft]
    shape_factor : float
        Depth and shape factors of the standard's figures for sections other than square; 1 if not typed.
        [-], over 0 to 1

    Returns
    -------
    Capacity
        By EN 12056-3.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    References
    ----------
    .. [1] EN 12056-3:2000, eaves gutters (constants from memory, confirmed against Approved Document H).
    """
    above("area_sq_in", area_sq_in, 0, "sq in")
    one_of("shape", shape, tuple(_EN_SHAPES))
    above("shape_factor", shape_factor, 0, "")
    between("shape_factor", shape_factor, 0, 1, "")
    length, corner = en_length_factor(run_ft, water_in), en_corner_factor(corner_ft)
    level = 0.9 * _EN_SHAPES[shape] * (area_sq_in * MM_PER_IN**2) ** 1.25
    note = f"as if level; length factor {length:.2f}, corner factor {corner:g}, shape factor {shape_factor:g}"
    value = float(level * length * corner * shape_factor / L_S_PER_GPM)
    return Capacity(value, f"EN 12056-3 eaves gutter, {shape}", "2000, constants from memory", note)


def box_gutter_width_in(rain_in_per_h: float, area_sq_ft: float, run_ft: float, depth_ratio: float) -> float:
    """Return the least width of a level rectangular gutter.

    0.0106 M^(-4/7) L^(3/28) (I A)^(5/14) feet [1]_.

    Parameters
    ----------
    rain_in_per_h : float
        Design intensity. [in/h], > 0
    area_sq_ft : float
        Area that drains to it, on plan. [sq ft], > 0
    run_ft : float
        Length of the gutter to its outlet. [ft], > 0
    depth_ratio : float
        Depth over width, M. [-], > 0

    Returns
    -------
    float
        Width, not rounded. [in]

    Raises
    ------
    OutOfRange
        If an argument is not over 0.

    Examples
    --------
    >>> round(box_gutter_width_in(9.3, 1600.0, 40.0, 0.75), 2)
    6.88

    References
    ----------
    .. [1] Copper Development Association, Copper in Architecture handbook, Table 4.4.5 and its example (the formula
       as quoted by another).
    """
    above("rain_in_per_h", rain_in_per_h, 0, "in/h")
    above("area_sq_ft", area_sq_ft, 0, "sq ft")
    above("run_ft", run_ft, 0, "ft")
    above("depth_ratio", depth_ratio, 0, "")
    width_ft = 0.0106 * depth_ratio ** (-4 / 7) * run_ft ** (3 / 28) * (rain_in_per_h * area_sq_ft) ** (5 / 14)
    return float(width_ft * IN_PER_FT)


def downspout_area_sq_in(rain_in_per_h: float, area_sq_ft: float) -> float:
    """Return the downspout a roof needs at one square inch for 1,200 sq ft at 1 in/h.

    Parameters
    ----------
    rain_in_per_h : float
        Design intensity. [in/h], >= 0
    area_sq_ft : float
        Area that drains to it, with its pitch factor. [sq ft], >= 0

    Returns
    -------
    float
        Section of the downspout, not rounded. [sq in]

    Raises
    ------
    OutOfRange
        If a value is negative.

    Examples
    --------
    >>> round(downspout_area_sq_in(9.3, 1680.0), 1)
    13.0

    References
    ----------
    .. [1] Copper Development Association, Copper in Architecture handbook, downspouts.
    """
    between("rain_in_per_h", rain_in_per_h, 0, math.inf, "in/h")
    between("area_sq_ft", area_sq_ft, 0, math.inf, "sq ft")
    return rain_in_per_h * area_sq_ft / 1200
