"""Shorthand for the columns of workings."""

from __future__ import annotations

from baybook.workbook.declare import Column

__all__ = ["sticks", "work"]


def work(
    key: str, header: str, unit: str, formula: str | tuple[str, ...], rule: str = "", opening: float = 0
) -> Column:
    """Return a column of workings: one formula down, or one a row."""
    return Column(key=key, header=header, unit=unit, formula=formula, rule=rule, opening=opening)


def sticks(
    prefix: str, cut: str, length: str, longest: str, rule: str, of: str = "", rest: str = "rest16"
) -> tuple[Column, ...]:
    """Return how a length is pieced from sticks (T4): as cut, whole sticks, what is left, and that as it is cut.

    `cut` heads the first column, `length` is the formula of the length in inches, `longest` names the longest stick.
    """
    return (
        work(f"{prefix}_cut", cut, "1/16 in", f"=ROUNDUP(ROUND({length}*per_inch,6),0)", rule),
        work(f"{prefix}_whole", f"whole sticks{of}", "no", f"=IFERROR(INT(ROUND([{prefix}_cut]/{longest},6)),0)", rule),
        work(f"{prefix}_left", "left", "1/16 in", f"=[{prefix}_cut]-[{prefix}_whole]*{longest}", rule),
        work(f"{prefix}_{rest}", "rest as cut", "1/16 in",
             f"=IF([{prefix}_left]>0,MIN({longest},MAX([{prefix}_left],min_rest_cut_in*per_inch)),0)", rule),
    )  # fmt: skip
