"""Shapes in few sizes, for many workbooks at once: room is added until one of a handful of shapes is reached."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from baybook.workbook.shape import Shape

__all__ = ["roomy"]

_DECK: Mapping[str, tuple[int, ...]] = {
    "areas": (4, 6, 8, 16, 30),
    "sites": (4, 6, 8, 16, 30),
    "beams": (3, 3, 6, 12, 24),
    "framing": (12, 24, 24, 48, 96),
    "members": (100, 100, 160, 400, 999),
    "bays": (80, 80, 120, 320, 999),
    "leaders": (8, 8, 16, 64, 128),
    "posts": (4, 8, 16, 64, 128),
    "decisions": (24, 24, 48, 128, 320),
}
_DRAWN: Mapping[str, tuple[int, ...]] = {
    "segments": (2, 40, 90, 180, 360),
    "ribs": (2, 60, 130, 260, 600),
    "stretches": (2, 24, 48, 100, 400),
}
_CUTTING: Mapping[str, tuple[int, ...]] = {
    "planned": (16, 32, 64, 256),
    "patterns": (14, 24, 64, 256),
    "cuts": (8, 12, 24, 96),
    "pieces": (96, 160, 640, 3000),
    "rolls": (64, 96, 400, 3000),
}


def roomy(shape: Shape) -> Shape:
    """Return a shape that holds all that another does, one of few.

    Parameters
    ----------
    shape : Shape
        What a job needs.

    Returns
    -------
    Shape
        What belongs to the deck grows together, so do what is drawn and what belongs to the cut plan; the rest stays,
        and so does what is larger than the largest.
    """
    return replace(shape, **_grown(shape, _DECK), **_grown(shape, _DRAWN), **_grown(shape, _CUTTING))  # type: ignore[arg-type]  # counts of rows, all of them


def _grown(shape: Shape, sizes: Mapping[str, tuple[int, ...]]) -> dict[str, int]:
    last = min(len(of) for of in sizes.values()) - 1
    steps = [sum(size < getattr(shape, name) for size in of) for name, of in sizes.items()]
    if max(steps) > last:  # larger than the largest: what it needs and no more
        return {}
    return {name: of[max(steps)] for name, of in sizes.items()}
