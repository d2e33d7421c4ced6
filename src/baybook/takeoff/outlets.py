"""Bay outlets, blocking and dropped beams (rules O1, O2, G9)."""

from __future__ import annotations

from baybook.data import dressed_depths
from baybook.numbers import down, r6

__all__ = ["beam_room_in", "deepest_lumber", "height_left_in", "outlet_trim_in", "takes_extension"]


def outlet_trim_in(joist_depth_in: float, made_for_in: float) -> float:
    """O1. Cut off the outlet where the joist is shallower than it is made for; 0 otherwise. [in].

    Examples
    --------
    >>> outlet_trim_in(7.25, 9.25), outlet_trim_in(5.5, 9.25), outlet_trim_in(11.25, 9.25)
    (2.0, 3.75, 0.0)
    """
    return max(0.0, r6(made_for_in - joist_depth_in))


def takes_extension(joist_depth_in: float, made_for_in: float) -> bool:
    """O1. Whether the joist is deeper than the outlet is made for: one extension an outlet."""
    return r6(joist_depth_in) > r6(made_for_in)


def height_left_in(joist_depth_in: float, drape_in: float, from_high_end_in: float, clear_in: float) -> float:
    """O2. Height left for blocking: the joist depth less the drape at that place.

    Parameters
    ----------
    joist_depth_in, drape_in : float
        Depth of the joist, drape at the low end. [in]
    from_high_end_in, clear_in : float
        From the high end's clear face to the block's centre, and the clear run. [in]

    Returns
    -------
    float
        Height. [in]

    Examples
    --------
    >>> height_left_in(9.25, 4.0, 70.5, 141.0)
    7.25
    """
    return r6(joist_depth_in - drape_in * from_high_end_in / clear_in)


def deepest_lumber(height_in: float) -> str:
    """O2. Deepest dressed lumber that fits a height (DOC PS 20); empty if none does."""
    fitting = [code for code, depth in dressed_depths().items() if r6(depth) <= r6(height_in)]
    return fitting[-1] if fitting else ""


def eighths_down_in(height_in: float) -> float:
    """O2. A height to rip to, down to 1/8. [in]."""
    return down(height_in * 8) / 8


def beam_room_in(beam_y_in: float, beam_width_in: float, low_face_in: float) -> float:
    """G9. Clear distance from a dropped beam's face to the inner face of the low-end member. [in]."""
    return r6(abs(low_face_in - beam_y_in) - beam_width_in / 2)
