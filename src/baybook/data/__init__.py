"""Published tables, one CSV a source, read once.

Every file has the columns value, unit, source, edition, clause, page and basis, after the columns that say what the
value is of. Basis tells how the value came here: ``read in the source`` (or in a reprint of it), ``quoted by another``,
``from memory``, ``practice`` or ``assumed``.
"""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources

__all__ = ["dressed_depths", "dressed_thicknesses", "joist_spans_in", "table"]


@cache
def table(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a published table.

    Parameters
    ----------
    name : str
        Such as ``dressed_lumber``.

    Returns
    -------
    tuple of dict
        One dict a row, column name to text, in the file's order; not to be changed.

    Raises
    ------
    FileNotFoundError
        If there is no such table.

    Examples
    --------
    >>> table("dressed_lumber")[0]["source"]
    'DOC PS 20'
    """
    text = (resources.files(__name__) / f"{name}.csv").read_text(encoding="utf-8")
    return tuple(csv.DictReader(text.splitlines()))


def dressed_depths() -> dict[str, float]:
    """Return the dressed depth of each size of dimension lumber, shallow to deep.

    Returns
    -------
    dict of str to float
        ``2x4`` to ``2x12``. [in]

    Examples
    --------
    >>> dressed_depths()["2x10"]
    9.25

    References
    ----------
    .. [1] DOC PS 20, American Softwood Lumber Standard.
    """
    return _lumber("depth")


def dressed_thicknesses() -> dict[str, float]:
    """Return the dressed thickness of each size of dimension lumber.

    Returns
    -------
    dict of str to float
        ``2x4`` to ``2x12``. [in]

    References
    ----------
    .. [1] DOC PS 20, American Softwood Lumber Standard.
    """
    return _lumber("thickness")


def _lumber(measure: str) -> dict[str, float]:
    """One measure of every dressed size."""
    return {row["size"]: float(row["value"]) for row in table("dressed_lumber") if row["measure"] == measure}


def joist_spans_in() -> dict[tuple[str, float], float]:
    """Return the longest joist spans of Southern Pine: a caution to show, never advice on structure.

    Returns
    -------
    dict of (size, spacing) to float
        ``("2x10", 16.0)`` and its like. [in]

    Examples
    --------
    >>> joist_spans_in()["2x10", 16.0]
    168.0

    References
    ----------
    .. [1] American Wood Council, DCA 6, Table 2.
    """
    return {(row["size"], float(row["spacing_in"])): float(row["value"]) for row in table("dca6_spans")}
