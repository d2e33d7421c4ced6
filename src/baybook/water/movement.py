"""Movement of gutters in heat and cold, and the expansion joints they need."""

from __future__ import annotations

import math

from baybook.numbers import up
from baybook.water.limits import above, between, published

__all__ = ["expansion_joints", "thermal_movement_in"]


def thermal_movement_in(length_ft: float, swing_f: float, material: str) -> float:
    """Return how much a gutter grows and shrinks between its coldest and its hottest.

    Parameters
    ----------
    length_ft : float
        Length free to move. [ft], >= 0
    swing_f : float
        Hottest less coldest of the metal, sun included. [deg F], 0 to 250
    material : str
        ``aluminium``, ``copper`` or ``galvanised steel``.

    Returns
    -------
    float
        Movement, not rounded. [in]

    Raises
    ------
    OutOfRange
        If a value is outside its range or the material is not in the published table.

    Examples
    --------
    >>> round(thermal_movement_in(40.0, 120.0, "aluminium"), 2)
    0.74

    References
    ----------
    .. [1] Louisiana State University AgCenter: movement of 100 ft over 100 deg F.
    """
    between("length_ft", length_ft, 0, math.inf, "ft")
    between("swing_f", swing_f, 0, 250, "deg F", "the difference of two temperatures of the metal")
    return published("thermal_movement", "material", material) * length_ft * swing_f / 10_000


def expansion_joints(length_ft: float, expansion_joint_ft: float) -> int:
    """T4. Joints that leave no piece of a line longer than the limit.

    Parameters
    ----------
    length_ft : float
        Length of the line. [ft], > 0
    expansion_joint_ft : float
        Longest line without a joint; published 40 to 50, copper 48 [1]_. [ft], > 0

    Returns
    -------
    int
        Joints.

    Raises
    ------
    OutOfRange
        If a value is not over 0.

    Examples
    --------
    >>> expansion_joints(40.0, 40.0), expansion_joints(40.1, 40.0)
    (0, 1)

    References
    ----------
    .. [1] Copper Development Association, Copper in Architecture handbook.
    """
    above("length_ft", length_ft, 0, "ft")
    above("expansion_joint_ft", expansion_joint_ft, 0, "ft")
    return max(0, up(length_ft / expansion_joint_ft) - 1)
