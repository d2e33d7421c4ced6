"""Lists without gaps: on the sheets that people read, what is in use stands together, row after row."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from baybook.workbook.declare import Column, Sheet, Table
from baybook.workbook.shape import Shape
from baybook.workbook.sheets.columns import work

__all__ = ["listed", "listed_work_sheet"]

_BESIDE = re.compile(r"\[(\w+)@\]")


def listed(use: str, columns: Iterable[Column]) -> tuple[Column, ...]:
    """Return the columns of a list whose rows in use close up.

    Parameters
    ----------
    use : str
        The column of workings that says 1 where a row is in use; one of those of `listed_work_sheet`.
    columns : iterable of Column
        Columns that read ``[x@]``, the row of the same number in the workings, and are blank or 0 where ``[use@]`` is 0.

    Returns
    -------
    tuple of Column
        The same, each row reading the next row in use instead.
    """
    at = f"[{use}_at@]"

    def read(found: re.Match[str]) -> str:
        return f"MIN(1,{at})" if found[1] == use else f"INDEX({found[1]},MAX(1,{at}))"

    return tuple(replace(one, formula=_BESIDE.sub(read, str(one.formula))) for one in columns)


def listed_work_sheet(shape: Shape) -> Sheet:
    """Return the workings of the lists: where the first, the second, ... row in use stands."""
    rows = {
        "b_use": ("Bays", shape.bay_rows),
        "wp_on": ("Parts that drain", shape.parts),
        "g_lead": ("Gutter lines", shape.parts),
        "gs_use": ("Gutter along outlines", shape.stretches),
        "f_block": ("Blocking", shape.framing),
        "u_use": ("Stock lengths", shape.blocks * shape.lengths),
        "pw_inside": ("Posts inside the frame", shape.posts),
    }
    return Sheet(
        title="Work lists",
        purpose="Which row of the workings stands where in the lists that people read.",
        parts=tuple(
            Table(key=f"{use}_list", title=title, rows=count, columns=_places(use))
            for use, (title, count) in rows.items()
        ),
        working=True,
    )


def _places(use: str) -> tuple[Column, ...]:
    return (
        work(f"{use}_no", "no", "no", f"=[{use}_no-]+1"),
        work(f"{use}_sofar", "in use so far", "no", f"=[{use}_sofar-]+[{use}@]"),
        work(f"{use}_at", "stands in row", "row", f"=IFERROR(MATCH([{use}_no],{use}_sofar,0),0)"),
    )
