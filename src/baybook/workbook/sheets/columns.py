"""Shorthand for the columns of workings."""

from __future__ import annotations

from baybook.workbook.declare import Column

__all__ = ["work"]


def work(
    key: str, header: str, unit: str, formula: str | tuple[str, ...], rule: str = "", opening: float = 0
) -> Column:
    """Return a column of workings: one formula down, or one a row."""
    return Column(key=key, header=header, unit=unit, formula=formula, rule=rule, opening=opening)
