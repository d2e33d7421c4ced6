"""One sentence for every argument outside its range."""

from __future__ import annotations

import math

from baybook.data import table
from baybook.problems import OutOfRange

__all__ = ["above", "between", "one_of", "published"]


def above(argument: str, value: float, limit: float, unit: str, cure: str = "") -> None:
    """Refuse a value that is not a finite number above the limit.

    Parameters
    ----------
    argument : str
        Name of the argument, with its unit in the name.
    value, limit : float
        What was given, and what it must exceed.
    unit : str
        Unit of both.
    cure : str
        What would be right, added to the sentence.

    Raises
    ------
    OutOfRange
        If the value is not finite or not above the limit.
    """
    if not (math.isfinite(value) and value > limit):
        raise OutOfRange(_sentence(argument, value, f"it must be over {limit:g}", unit, cure))


def between(argument: str, value: float, least: float, most: float, unit: str, cure: str = "") -> None:
    """Refuse a value outside least to most, ends included.

    Parameters
    ----------
    argument : str
        Name of the argument, with its unit in the name.
    value, least, most : float
        What was given, and the ends of the range; `most` may be infinite, the value may not.
    unit : str
        Unit of all three.
    cure : str
        What would be right, added to the sentence.

    Raises
    ------
    OutOfRange
        If the value is not finite or outside the range.
    """
    if not (math.isfinite(value) and least <= value <= most):
        limit = f"it must be {least:g} to {most:g}" if math.isfinite(most) else f"it must be at least {least:g}"
        raise OutOfRange(_sentence(argument, value, limit, unit, cure))


def one_of(argument: str, value: str, choices: tuple[str, ...]) -> None:
    """Refuse a word that is none of the choices.

    Parameters
    ----------
    argument, value : str
        Name of the argument and what was given.
    choices : tuple of str
        What it may be.

    Raises
    ------
    OutOfRange
        If the value is none of them.
    """
    if value not in choices:
        raise OutOfRange(f"{argument} is {value!r}; it must be {' or '.join(choices)}")


def published(name: str, column: str, key: str) -> float:
    """Return the one value a published table has for a name, read without regard to case.

    Parameters
    ----------
    name : str
        Name of the table.
    column : str
        Its column of names.
    key : str
        The name asked for.

    Returns
    -------
    float
        The value, in the table's unit.

    Raises
    ------
    OutOfRange
        If the table has no such name.
    """
    rows = {row[column].casefold(): row["value"] for row in table(name)}
    if key.strip().casefold() not in rows:
        raise OutOfRange(f"{column} is {key!r}; published values are here for {', '.join(rows)}")
    return float(rows[key.strip().casefold()])


def _sentence(argument: str, value: float, limit: str, unit: str, cure: str) -> str:
    """Argument, value, limit and cure in one sentence."""
    after = f" {unit}" if unit else ""
    return f"{argument} is {value:g}; {limit}{after}" + (f": {cure}" if cure else "")
