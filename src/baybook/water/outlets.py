"""Openings that drain down: bay outlets and gutter drops as weir and as orifice, the smaller of the two."""

from __future__ import annotations

import math

from baybook.units import IN_PER_FT, L_S_PER_GPM, MM_PER_IN, SQ_IN_PER_SQ_FT
from baybook.water.capacity import Capacity
from baybook.water.channels import GPM_PER_CFS
from baybook.water.limits import above, between

__all__ = [
    "en_outlet_capacity",
    "opening_capacity",
    "orifice_flow_gpm",
    "rectangular_opening",
    "round_opening",
    "weir_flow_gpm",
]

GRAVITY_FT_PER_S2 = 32.174


def rectangular_opening(length_in: float, width_in: float) -> tuple[float, float]:
    """Return perimeter and area of a rectangular opening.

    Parameters
    ----------
    length_in, width_in : float
        Sides inside. [in], > 0

    Returns
    -------
    tuple of float
        Perimeter and area. [in, sq in]
    """
    above("length_in", length_in, 0, "in")
    above("width_in", width_in, 0, "in")
    return 2 * (length_in + width_in), length_in * width_in


def round_opening(diameter_in: float) -> tuple[float, float]:
    """Return perimeter and area of a round opening.

    Parameters
    ----------
    diameter_in : float
        Bore. [in], > 0

    Returns
    -------
    tuple of float
        Perimeter and area. [in, sq in]
    """
    above("diameter_in", diameter_in, 0, "in")
    return math.pi * diameter_in, math.pi / 4 * diameter_in**2


def weir_flow_gpm(crest_in: float, head_in: float, coefficient: float = 3.0) -> float:
    """Return the flow over an edge: Q = C L h^(3/2), in feet and cfs.

    Parameters
    ----------
    crest_in : float
        Length of the edge the water runs over. [in], > 0
    head_in : float
        Water above the edge. [in], > 0
    coefficient : float
        Weir coefficient in US units: 3.0 for the edge of an inlet [1]_, 3.33 for a sharp crest.
        [ft^(1/2)/s], 2.3 to 3.4; an SI coefficient (1.66, 1.84) is refused

    Returns
    -------
    float
        Flow, not rounded. [gpm US]

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(weir_flow_gpm(10.0, 1.0), 1)
    27.0

    References
    ----------
    .. [1] Federal Highway Administration, HEC-22, Urban Drainage Design Manual (coefficient and range from memory).
    """
    above("crest_in", crest_in, 0, "in")
    above("head_in", head_in, 0, "in")
    between("coefficient", coefficient, 2.3, 3.4, "ft^(1/2)/s", "a weir coefficient in US units")
    return float(coefficient * crest_in / IN_PER_FT * (head_in / IN_PER_FT) ** 1.5 * GPM_PER_CFS)


def orifice_flow_gpm(area_sq_in: float, head_in: float, coefficient: float = 0.67) -> float:
    """Return the flow through a drowned opening: Q = C A (2 g h)^(1/2).

    Parameters
    ----------
    area_sq_in : float
        Opening. [sq in], > 0
    head_in : float
        Water above it. [in], > 0
    coefficient : float
        Discharge coefficient: 0.67 an inlet [1]_, 0.61 a hole in a plate, 0.80 a short tube. [-], 0.4 to 1

    Returns
    -------
    float
        Flow, not rounded. [gpm US]

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> round(orifice_flow_gpm(6.0, 1.0), 1)
    29.0

    References
    ----------
    .. [1] Federal Highway Administration, HEC-22, Urban Drainage Design Manual (value from memory).
    """
    above("area_sq_in", area_sq_in, 0, "sq in")
    above("head_in", head_in, 0, "in")
    between("coefficient", coefficient, 0.4, 1, "", "a hole in a plate is 0.61, a short tube 0.80")
    velocity = math.sqrt(2 * GRAVITY_FT_PER_S2 * head_in / IN_PER_FT)
    return coefficient * area_sq_in / SQ_IN_PER_SQ_FT * velocity * GPM_PER_CFS


def opening_capacity(
    perimeter_in: float,
    area_sq_in: float,
    head_in: float,
    weir_coefficient: float = 3.0,
    orifice_coefficient: float = 0.67,
) -> Capacity:
    """Return what an opening drains: as a weir while shallow, as an orifice once drowned, the smaller counts.

    Parameters
    ----------
    perimeter_in, area_sq_in : float
        Edge the water runs over, and opening. [in, sq in], > 0
    head_in : float
        Water above the edge. [in], > 0
    weir_coefficient : float
        [ft^(1/2)/s], 2.3 to 3.4
    orifice_coefficient : float
        [-], 0.4 to 1

    Returns
    -------
    Capacity
        The smaller of the two; the method says which.

    Raises
    ------
    OutOfRange
        If an argument is outside its range.

    Examples
    --------
    >>> opening_capacity(*rectangular_opening(2.0, 3.0), 1.0).method
    'weir'

    References
    ----------
    .. [1] Federal Highway Administration, HEC-22, Urban Drainage Design Manual (coefficients from memory).
    """
    weir = weir_flow_gpm(perimeter_in, head_in, weir_coefficient)
    orifice = orifice_flow_gpm(area_sq_in, head_in, orifice_coefficient)
    method, value = ("weir", weir) if weir <= orifice else ("orifice", orifice)
    note = f"head {head_in:g} in; weir {weir:.1f}, orifice {orifice:.1f} gpm: the smaller counts; clear of debris"
    return Capacity(value, method, "HEC-22, coefficients from memory", note)


def en_outlet_capacity(diameter_in: float, head_in: float, *, strainer: bool = False) -> Capacity:
    """Return what a round gutter outlet drains by EN 12056-3.

    Q = k D h^1.5/7500 up to h = D/2, above it k D^2 h^0.5/15000; L/s and mm [1]_.

    Parameters
    ----------
    diameter_in : float
        Effective diameter. [in], > 0
    head_in : float
        Water above the outlet. [in], > 0
    strainer : bool
        A strainer halves it.

    Returns
    -------
    Capacity
        By EN 12056-3.

    Raises
    ------
    OutOfRange
        If a size is not over 0.

    References
    ----------
    .. [1] EN 12056-3:2000, outlets (formulas and the strainer's one half from memory).
    """
    above("diameter_in", diameter_in, 0, "in")
    above("head_in", head_in, 0, "in")
    diameter, head = diameter_in * MM_PER_IN, head_in * MM_PER_IN
    shallow = head <= diameter / 2
    flow = diameter * head**1.5 / 7500 if shallow else diameter**2 * head**0.5 / 15000
    value = flow * (0.5 if strainer else 1.0) / L_S_PER_GPM
    note = f"{'with' if strainer else 'without'} a strainer, head {head_in:g} in"
    return Capacity(value, f"EN 12056-3 outlet, {'weir' if shallow else 'orifice'}", "2000, from memory", note)
