"""What a method says a part of the drainage carries, and a code table typed by the user (W2)."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from baybook.numbers import r6, same_or_less
from baybook.problems import OutOfRange
from baybook.water.limits import above, between

__all__ = ["AdoptedRow", "Capacity", "adopted_capacity", "least_that_carries"]


@dataclass(frozen=True, slots=True)
class Capacity:
    """W2. A capacity with the method and the edition it stands on.

    Parameters
    ----------
    value_gpm : float
        What the part carries, not rounded. [gpm US]
    method : str
        Name of the method.
    edition : str
        Source and edition of its constants; editions of one code differ by a factor of two.
    note : str
        What the estimator must know beside the number.
    """

    value_gpm: float
    method: str
    edition: str
    note: str = ""

    def ratio(self, flow_gpm: float) -> float:
        """Return flow over capacity.

        Parameters
        ----------
        flow_gpm : float
            Flow that comes. [gpm US], >= 0

        Returns
        -------
        float
            1 and less passes. [-]

        Raises
        ------
        OutOfRange
            If the flow is negative.
        """
        between("flow_gpm", flow_gpm, 0, math.inf, "gpm")
        return flow_gpm / self.value_gpm

    def carries(self, flow_gpm: float) -> bool:
        """Return whether the flow is no more than the capacity, both to six places.

        Parameters
        ----------
        flow_gpm : float
            Flow that comes. [gpm US], >= 0

        Returns
        -------
        bool
            True if it passes.

        Raises
        ------
        OutOfRange
            If the flow is negative.
        """
        between("flow_gpm", flow_gpm, 0, math.inf, "gpm")
        return same_or_less(flow_gpm, self.value_gpm)


def least_that_carries(capacities: Mapping[str, Capacity], flow_gpm: float) -> str | None:
    """Return the size of least capacity that carries the flow.

    Parameters
    ----------
    capacities : mapping of str to Capacity
        Size to what it carries.
    flow_gpm : float
        Flow that comes. [gpm US], >= 0

    Returns
    -------
    str or None
        The size, the first of equals; None if no size carries it.

    Examples
    --------
    >>> from baybook.water.leaders import leader_capacity
    >>> sizes = {size: leader_capacity(size) for size in ("2x3", "3x4", "4x5")}
    >>> least_that_carries(sizes, 40.0), least_that_carries(sizes, 200.0)
    ('3x4', None)
    """
    enough = [size for size, capacity in capacities.items() if capacity.carries(flow_gpm)]
    return min(enough, key=lambda size: capacities[size].value_gpm, default=None)


@dataclass(frozen=True, slots=True)
class AdoptedRow:
    """One row of a code table, typed by the user from the code adopted where the deck stands.

    Parameters
    ----------
    size : str
        As the table names it: ``5 in half-round``, ``2x3``.
    value_gpm : float
        Capacity; of a table in sq ft at 1 in/h, `flow_gpm(1.0, area)`. [gpm US], > 0
    fall_in_per_ft : float or None
        Fall the row is for; None in a table without falls. [in/ft], > 0
    """

    size: str
    value_gpm: float
    fall_in_per_ft: float | None = None


def adopted_capacity(
    rows: Iterable[AdoptedRow],
    size: str,
    code: str,
    edition: str,
    fall_in_per_ft: float | None = None,
) -> Capacity:
    """W2. Capacity of a size by the adopted code's table.

    Between two falls of the table the flatter one counts; nothing is read beyond the table's flattest.

    Parameters
    ----------
    rows : iterable of AdoptedRow
        The table as typed.
    size : str
        The size, without regard to case.
    code, edition : str
        Name and edition of the code, both required.
    fall_in_per_ft : float, optional
        Fall of the gutter; left out for a table without falls. [in/ft]

    Returns
    -------
    Capacity
        The row's capacity.

    Raises
    ------
    OutOfRange
        If code or edition is missing, the size is not in the table, the fall is flatter than its rows, or the row's
        capacity is not over 0.

    Examples
    --------
    >>> table = [AdoptedRow("5 in", 52.0, 0.0625), AdoptedRow("5 in", 74.0, 0.125)]
    >>> adopted_capacity(table, "5 IN", "International Plumbing Code", "2018", 0.1).value_gpm
    52.0
    """
    if not code.strip() or not edition.strip():
        raise OutOfRange("the adopted table has no code or no edition; name both, editions differ by a factor of two")
    named = [row for row in rows if row.size.strip().casefold() == size.strip().casefold()]
    if not named:
        raise OutOfRange(f"size is {size!r}; the table typed from {code} {edition} has no such size")
    fits = [row for row in named if _is_no_steeper(row.fall_in_per_ft, fall_in_per_ft)]
    if not fits:
        falls = ", ".join(sorted("none" if row.fall_in_per_ft is None else f"{row.fall_in_per_ft:g}" for row in named))
        given = "not given" if fall_in_per_ft is None else f"{fall_in_per_ft:g}"
        raise OutOfRange(f"fall_in_per_ft is {given}; the table of {code} {edition} has {falls} in/ft for {size}")
    best = max(fits, key=lambda row: row.fall_in_per_ft or 0.0)
    above("value_gpm", best.value_gpm, 0, "gpm", f"the capacity of {size} in the table")
    fall = "" if best.fall_in_per_ft is None else f" at {best.fall_in_per_ft:g} in/ft"
    return Capacity(best.value_gpm, "adopted code table", f"{code}, {edition}", f"as typed for {best.size}{fall}")


def _is_no_steeper(row_fall: float | None, fall: float | None) -> bool:
    """Return whether a row may be used at a fall."""
    if row_fall is None or fall is None:
        return row_fall is fall
    return r6(row_fall) <= r6(fall)
