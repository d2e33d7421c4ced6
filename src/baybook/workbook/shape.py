"""How many rows each table of a workbook has: what the job needs, with room to add, on a ladder of sizes.

Workbooks of jobs of like size have the same shape, so that one layout serves many of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from baybook.estimate import Estimate
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
    "patterns": (8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Capacity of each table. [rows].

    ``parts`` is areas plus flush beams; ``lengths`` the stock lengths of one cut item; ``planned`` the different
    lengths of the cut plans; ``patterns`` their cutting patterns.
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

    @property
    def parts(self) -> int:
        """Areas and what flush beams add to them."""
        return self.areas + self.beams

    @property
    def blocks(self) -> int:
        """Cut items: each liner, gutter, leader."""
        return self.liners + 2

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
        patterns=_step("patterns", sum(len(cut.plan.patterns) for cut in estimate.cuts)),
    )
