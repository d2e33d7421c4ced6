"""How many rows each table of a workbook has: what the job needs, with room to add, on a ladder of sizes.

Workbooks of jobs of like size have the same shape, so that one layout serves many of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from baybook.estimate import Estimate
from baybook.job.rates import LEADER_SIZES
from baybook.pricing.cutgoods import CutLine
from baybook.problems import BookError, Problem

__all__ = ["Shape", "shape_of"]

_LADDERS = {
    "areas": (4, 6, 8, 12, 16, 20, 30),
    "beams": (3, 6, 12, 24),
    "framing": (12, 24, 48, 96),
    "liners": (2, 3, 4),
    "offers": (40, 60, 80, 120, 180, 240),
    "members": (60, 100, 160, 240, 400, 600, 800, 999),
    "bays": (40, 80, 120, 200, 320, 500, 700, 999),
    "extras": (8, 16, 32, 64),
    "overrides": (8, 16, 32),
    "offcuts": (8, 16, 32, 64),
    "lengths": (3, 4, 6, 8, 10, 12),
    "planned": (16, 32, 64, 128, 256),
    "patterns": (4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 28, 32, 40, 48, 64, 96, 128, 192, 256),
    "cuts": (2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 32, 48, 64, 96),
    "pieces": (12, 16, 20, 24, 32, 40, 48, 64, 80, 96, 128, 160, 200, 256, 320, 400, 512, 640, 800, 999, 1500, 2000),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Capacity of each table. [rows].

    ``parts`` is areas plus flush beams; ``lengths`` the stock lengths of one cut item; ``planned`` the different
    lengths of the cut plans; ``patterns`` their cutting patterns; ``cuts`` the pieces of one pattern; ``pieces`` and
    ``rolls`` the pieces cut and the stock pieces they are cut from.

    ``sizes`` are the leader sizes a workbook knows. ``liner_rows``, ``area_rows`` and ``offcut_rows`` say in which rows
    of their tables, counted from 0, the records stand; empty: one after the other.
    """

    areas: int
    beams: int
    framing: int
    liners: int
    offers: int
    members: int
    bays: int
    extras: int
    overrides: int
    offcuts: int
    lengths: int
    planned: int
    patterns: int
    cuts: int
    pieces: int
    rolls: int
    sizes: tuple[str, ...]
    liner_rows: tuple[int, ...] = ()
    area_rows: tuple[int, ...] = ()
    offcut_rows: tuple[int, ...] = ()

    @property
    def parts(self) -> int:
        """Areas and what flush beams add to them."""
        return self.areas + self.beams

    @property
    def blocks(self) -> int:
        """Cut items: each liner, gutter, leader."""
        return self.liners + 2

    def rows(self, of: str, records: int) -> tuple[int, ...]:
        """Return the rows in which the records of a table (liner, area, offcut) stand."""
        return tuple(getattr(self, f"{of}_rows")) or tuple(range(records))

    @property
    def pairs(self) -> int:
        """Offer and liner taken together."""
        return self.offers * self.liners


def _step(name: str, need: float) -> int:
    for size in _LADDERS[name]:
        if size >= need:
            return size
    raise BookError(
        Problem("", 0, name, f"a workbook holds at most {_LADDERS[name][-1]} {name}, this job needs {need:g}: split it")
    )


def _most(cut: CutLine) -> int:
    """Return the pieces of the pattern that has the most."""
    return max((sum(count for _, count in pattern.pieces) for pattern in cut.plan.patterns), default=0)


def shape_of(estimate: Estimate) -> Shape:
    """Return the shape of a job's workbook, with room to add to it.

    Raises
    ------
    BookError
        If a table would be larger than a workbook holds.
    """
    inputs, takeoff = estimate.inputs, estimate.takeoff
    joists = sum(area.width_in / area.spacing_in + 3 + 4 * area.borders for area in inputs.areas)
    beams = sum(row.kind == "flush_beam" for row in inputs.framing)
    size = inputs.rates.leader_size
    return Shape(
        areas=_step("areas", len(inputs.areas) + 1),
        beams=_step("beams", beams + 1),
        framing=_step("framing", len(inputs.framing) + 4),
        liners=_step("liners", len(inputs.liners)),
        offers=_step("offers", len(estimate.offers) + 6),
        members=_step("members", min(999, 1.25 * (joists + 2 * len(inputs.framing)) + 8)),
        bays=_step("bays", min(999, 1.25 * takeoff.bays + 8)),
        extras=_step("extras", len(inputs.extras) + 3),
        overrides=_step("overrides", len(inputs.overrides) + 3),
        offcuts=_step("offcuts", len(inputs.stock) + 2),
        lengths=_step("lengths", max((len(cut.bought) for cut in estimate.cuts), default=0) + 1),
        planned=_step("planned", sum(len({length for length, _ in cut.cut.pieces}) for cut in estimate.cuts)),
        patterns=_step("patterns", 1 + sum(len(cut.plan.patterns) for cut in estimate.cuts)),
        cuts=_step("cuts", 1 + max((_most(cut) for cut in estimate.cuts), default=0)),
        pieces=_step("pieces", 2 + sum(len(cut.cut.pieces) for cut in estimate.cuts)),
        rolls=_step("pieces", 2 + sum(sum(cut.plan.used) for cut in estimate.cuts)),
        sizes=LEADER_SIZES if size in LEADER_SIZES else (*LEADER_SIZES, size),
    )
