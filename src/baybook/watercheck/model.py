"""What the water checks say: capacities against flows, reach, heights, movement, posts; all frozen."""

from __future__ import annotations

from dataclasses import dataclass

from baybook.job.records import Post
from baybook.numbers import same_or_less
from baybook.takeoff.model import Finding

__all__ = ["CheckRow", "Height", "LineFacts", "PostRow", "ReachRow", "WaterChecks"]


@dataclass(frozen=True, slots=True)
class CheckRow:
    """W2. One thing that carries water, by one method.

    Parameters
    ----------
    what : str
        ``bay``, ``bay outlet``, ``gutter``, ``gutter drop`` or ``leaders``.
    name : str
        The part or gutter line.
    method, edition : str
        By what the capacity is worked out.
    flow_gpm, capacity_gpm : float
        What comes, and what is carried; 0 where the method carries nothing or does not reach. [gpm US]
    governs : bool
        This row decides; the others stand beside it to compare.
    least_size : str
        Least size that would pass; empty if none of those known does, or if sizes do not matter.
    leaders : int
        Leaders of the line with which it would pass; 0 where their number does not matter or does not help.
    note : str
        What must be known beside the number.
    """

    what: str
    name: str
    method: str
    edition: str
    flow_gpm: float
    capacity_gpm: float
    governs: bool
    least_size: str = ""
    leaders: int = 0
    note: str = ""

    @property
    def where(self) -> str:
        """What an acceptance names: the part or line, and what of it."""
        return f"{self.name} {self.what}"

    @property
    def ratio(self) -> float | None:
        """Flow over capacity; None where nothing is carried."""
        return self.flow_gpm / self.capacity_gpm if self.capacity_gpm > 0 else None

    @property
    def passes(self) -> bool:
        """Whether the flow is no more than the capacity, both to six places."""
        return same_or_less(self.flow_gpm, self.capacity_gpm)


@dataclass(frozen=True, slots=True)
class ReachRow:
    """O3. One way to lay a gutter line to its leaders.

    Parameters
    ----------
    line : str
        The gutter line.
    way : str
        ``as planned``, ``one way``, ``two ways`` or ``to the middle``.
    leaders : int
        Leaders it takes.
    run_ft : float
        Longest one-way run. [ft]
    drop_in : float
        How much lower the gutter lies at the low end. [in]
    nozzle_low_in : float
        How deep the nozzles stand in the gutter there. [in]
    holds : bool
        Whether that is as deep as asked.
    """

    line: str
    way: str
    leaders: int
    run_ft: float
    drop_in: float
    nozzle_low_in: float
    holds: bool


@dataclass(frozen=True, slots=True)
class LineFacts:
    """O3, T4. Where a gutter line hangs, and what heat does to it.

    Parameters
    ----------
    line : str
        The gutter line.
    top_high_in, top_low_in : float
        Its top above grade at the high and at the low end. [in]
    under_low_in : float
        Height left below it at the low end. [in]
    joints : int
        Expansion joints that leave no longer stretch than the limit.
    movement_in : float
        How much the longest stretch grows and shrinks. [in]
    """

    line: str
    top_high_in: float
    top_low_in: float
    under_low_in: float
    joints: int
    movement_in: float


@dataclass(frozen=True, slots=True)
class Height:
    """Height left below something, above grade. [in]."""

    name: str
    below: str
    height_in: float


@dataclass(frozen=True, slots=True)
class PostRow:
    """O2. A post inside the frame: its part, whether its blocking lies in a bay, and what that means.

    Parameters
    ----------
    post : Post
        As stated.
    part : str
        The part it stands in.
    in_bay : bool
        Its blocking lies in a bay that drains.
    at_outlet : bool
        It would stand where the outlet of that bay goes.
    height_left_in : float
        Height left for the blocking, 0 where it lies in no such bay. [in]
    low : bool
        That is lower than usual.
    """

    post: Post
    part: str
    in_bay: bool
    at_outlet: bool
    height_left_in: float
    low: bool


@dataclass(frozen=True, slots=True)
class WaterChecks:
    """All that was checked of a job's water."""

    rows: tuple[CheckRow, ...]
    reaches: tuple[ReachRow, ...]
    lines: tuple[LineFacts, ...]
    heights: tuple[Height, ...]
    posts: tuple[PostRow, ...]
    findings: tuple[Finding, ...]
