"""The few ways a number is rounded, used by every rule.

A value is rounded to six places before every ceiling, floor and comparison, so that binary noise never moves a count;
money is rounded twice, to eight places and then to cents, half away from zero, in exact decimals. The workbook's
formulas do the same with ROUND, so engine and spreadsheet agree to the last unit.
"""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal

__all__ = ["cents", "decimal_of", "down", "hundredths", "r6", "same_or_less", "sixteenths_down", "sixteenths_up", "up"]

_MILLION = 1_000_000
_EIGHT = Decimal("0.00000001")
_SIX = Decimal("0.000001")
_TWO = Decimal("0.01")


def r6(value: float) -> float:
    """Round to six places, half away from zero, as a spreadsheet's ROUND(x,6) does.

    Parameters
    ----------
    value : float
        Any finite number.

    Returns
    -------
    float
        The number to six places.
    """
    scaled = abs(value) * _MILLION
    whole = math.floor(scaled)
    part = scaled - whole
    if abs(part - 0.5) < 1e-3:  # near a tie the decimal text decides, as it does in a spreadsheet
        return float(Decimal(repr(float(value))).quantize(_SIX, ROUND_HALF_UP))
    return math.copysign((whole + (part > 0.5)) / _MILLION, value) if value else 0.0


def up(value: float) -> int:
    """Return the ceiling of a value that was rounded to six places."""
    return math.ceil(r6(value))


def down(value: float) -> int:
    """Return the floor of a value that was rounded to six places."""
    return math.floor(r6(value))


def same_or_less(left: float, right: float) -> bool:
    """Return whether ``left <= right`` once both are rounded to six places."""
    return r6(left) <= r6(right)


def sixteenths_up(length_in: float) -> int:
    """Return a length to cut in whole sixteenths of an inch, rounded up. [1/16 in]."""
    return up(length_in * 16)


def sixteenths_down(length_in: float) -> int:
    """Return a length of stock in whole sixteenths of an inch, rounded down. [1/16 in]."""
    return down(length_in * 16)


def decimal_of(value: float | Decimal) -> Decimal:
    """Return an exact decimal; a float enters as its decimal text rounded to six places."""
    if isinstance(value, Decimal):
        return value
    if isinstance(value, int):
        return Decimal(value)
    return Decimal(repr(r6(value)))


def cents(value: Decimal) -> Decimal:
    """M4. Round money to cents: ROUND(ROUND(x,8),2), half away from zero.

    Parameters
    ----------
    value : Decimal
        An exact amount of money.

    Returns
    -------
    Decimal
        The amount with two places.
    """
    return value.quantize(_EIGHT, ROUND_HALF_UP).quantize(_TWO, ROUND_HALF_UP)


def hundredths(value: float) -> Decimal:
    """M2. Round hours to 0.01: to six places first, then half up."""
    return decimal_of(value).quantize(_TWO, ROUND_HALF_UP)
