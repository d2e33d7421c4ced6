"""How many rows each table of a workbook has: what the job needs, with room to add, on a ladder of sizes.

Workbooks of jobs of like size have the same shape, so that one layout serves many of them.
"""

from __future__ import annotations

from dataclasses import dataclass

from baybook.decisions import options_of
from baybook.estimate import Estimate
from baybook.job.rates import LEADER_SIZES
from baybook.job.records import PriceRow, StockPiece, Supplier
from baybook.pricing.cutgoods import CutLine
from baybook.problems import BookError, Problem

__all__ = ["Shape", "lacking", "offers_here", "shape_of", "stock_here", "suppliers_here"]

_LADDERS = {
    "areas": (4, 6, 8, 12, 16, 20, 30),
    "beams": (3, 6, 12, 24),
    "segments": (2, 12, 24, 40, 60, 90, 130, 180, 260, 360),
    "stretches": (2, 6, 12, 24, 48, 100, 200, 400),
    "ribs": (2, 16, 32, 60, 90, 130, 180, 260, 400, 600, 999),
    "leaders": (4, 8, 16, 32, 64, 128, 256),
    "framing": (12, 24, 48, 96),
    "liners": (2, 3, 4),
    "offers": (40, 60, 80, 120, 180, 240),
    "members": (60, 100, 160, 240, 400, 600, 800, 999),
    "bays": (40, 80, 120, 200, 320, 500, 700, 999),
    "extras": (8, 16, 32, 64),
    "overrides": (8, 16, 32),
    "offcuts": (8, 16, 32, 64),
    "suppliers": (4, 8, 16, 32, 64),
    "posts": (4, 8, 16, 32, 64, 128),
    "codes": (4, 8, 16, 32, 64, 96),
    "acceptances": (4, 8, 16, 32),
    "quoted": (16, 24, 32, 48, 64, 96, 128),
    "sites": (2, 3, 4, 6, 8, 12, 16, 20, 30),
    "decisions": (12, 16, 24, 32, 48, 64, 96, 128, 192, 320),
    "lengths": (3, 4, 6, 8, 10, 12),
    "planned": (16, 32, 64, 128, 256),
    "patterns": (4, 5, 6, 7, 8, 10, 12, 14, 16, 20, 24, 28, 32, 40, 48, 64, 96, 128, 192, 256),
    "cuts": (2, 3, 4, 6, 8, 10, 12, 16, 20, 24, 32, 48, 64, 96),
    "pieces": (12, 16, 20, 24, 32, 40, 48, 64, 80, 96, 128, 160, 200, 256, 320, 400, 512, 640, 800, 1000, 2000, 3000),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Capacity of each table. [rows].

    ``segments`` are the bays and capped members of drawn areas, ``stretches`` those of the gutters along them;
    ``ribs`` the members that the plan draws in them, ``leaders`` those it marks;
    ``parts`` is areas, flush beams and segments; ``lengths`` the stock lengths of one cut item; ``planned`` the
    different lengths of the cut plans; ``patterns`` their cutting patterns; ``cuts`` the pieces of one pattern;
    ``pieces`` and ``rolls`` the pieces cut and the stock pieces they are cut from; ``quoted`` what the quote says
    beside the price, ``sites`` the areas that have a page of the site sheet.

    ``sizes`` are the leader sizes a workbook knows. ``liner_rows``, ``area_rows``, ``framing_rows`` and
    ``offcut_rows`` say in which rows of their tables, counted from 0, the records stand; empty: one after the other.
    """

    areas: int
    beams: int
    segments: int
    stretches: int
    ribs: int
    leaders: int
    framing: int
    liners: int
    offers: int
    members: int
    bays: int
    extras: int
    overrides: int
    offcuts: int
    suppliers: int
    posts: int
    codes: int
    acceptances: int
    quoted: int
    sites: int
    decisions: int
    lengths: int
    planned: int
    patterns: int
    cuts: int
    pieces: int
    rolls: int
    sizes: tuple[str, ...]
    liner_rows: tuple[int, ...] = ()
    area_rows: tuple[int, ...] = ()
    framing_rows: tuple[int, ...] = ()
    offcut_rows: tuple[int, ...] = ()

    @property
    def parts(self) -> int:
        """Areas, what flush beams add to them, and the bays of drawn areas."""
        return self.areas + self.beams + self.segments

    @property
    def bay_rows(self) -> int:
        """Bays of rectangles, then those of drawn areas."""
        return self.bays + self.segments

    @property
    def blocks(self) -> int:
        """Cut items: each liner, gutter, leader."""
        return self.liners + 2

    def rows(self, of: str, records: int) -> tuple[int, ...]:
        """Return the rows in which the records of a table (liner, area, framing, offcut) stand."""
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


def offers_here(estimate: Estimate) -> tuple[PriceRow, ...]:
    """Return the offers in force but those of liners that the job does not use."""
    return tuple(row for row in estimate.offers if row.liner.casefold() in {"", *estimate.inputs.liners})


def stock_here(estimate: Estimate) -> tuple[StockPiece, ...]:
    """Return the offcuts on hand but those of liners that the job does not use."""
    named = ((row, row.item.partition(":")[2].strip().casefold()) for row in estimate.inputs.stock)
    return tuple(row for row, liner in named if liner in {"", *estimate.inputs.liners})


def suppliers_here(estimate: Estimate) -> tuple[Supplier, ...]:
    """Return the terms of suppliers who offer something here."""
    offering = {row.supplier.casefold() for row in offers_here(estimate)}
    return tuple(terms for terms in estimate.inputs.suppliers if terms.supplier.casefold() in offering)


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
    inputs = estimate.inputs
    joists = sum(area.width_in / area.spacing_in + 3 + 4 * area.borders for area in inputs.areas)
    size = inputs.rates.leader_size
    needs = _needs(estimate)
    return Shape(
        areas=_step("areas", len(inputs.areas) + 1),
        beams=_step("beams", needs["beams"] + 1),
        segments=_step("segments", needs["segments"]),
        stretches=_step("stretches", needs["stretches"]),
        ribs=_step("ribs", min(999, needs["ribs"])),
        leaders=_step("leaders", min(256, needs["leaders"] + 2)),
        framing=_step("framing", len(inputs.framing) + 4),
        liners=_step("liners", len(inputs.liners)),
        offers=_step("offers", len(offers_here(estimate)) + 6),
        members=_step("members", min(999, 1.25 * (joists + 2 * len(inputs.framing)) + 8)),
        bays=_step("bays", min(999, 1.25 * needs["bays"] + 8)),
        extras=_step("extras", len(inputs.extras) + 3),
        overrides=_step("overrides", len(inputs.overrides) + 3),
        offcuts=_step("offcuts", len(stock_here(estimate)) + 2),
        suppliers=_step("suppliers", len(suppliers_here(estimate)) + 1),
        posts=_step("posts", len(inputs.posts) + 2),
        codes=_step("codes", len(inputs.codes) + 2),
        acceptances=_step("acceptances", len(inputs.acceptances) + 2),
        quoted=_step("quoted", len(inputs.quote) + 3),
        sites=_step("sites", len(inputs.areas)),
        decisions=_step("decisions", needs["decisions"] + 2),
        lengths=_step("lengths", needs["lengths"] + 1),
        planned=_step("planned", needs["planned"] + 2),
        patterns=_step("patterns", min(256, 1.1 * needs["patterns"] + 2)),
        cuts=_step("cuts", needs["cuts"] + 2),
        pieces=_step("pieces", 1.2 * needs["pieces"] + 4),
        rolls=_step("pieces", 1.2 * needs["rolls"] + 4),
        sizes=LEADER_SIZES if size in LEADER_SIZES else (*LEADER_SIZES, size),
    )


_SAID = {
    "beams": "flush beams",
    "bays": "bays",
    "segments": "bays of drawn areas",
    "stretches": "stretches of gutter along outlines",
    "decisions": "options of the decisions",
    "lengths": "stock lengths of one item",
    "planned": "different lengths to cut",
    "patterns": "ways to cut a stock piece",
    "cuts": "pieces from one stock piece",
    "pieces": "pieces to cut",
    "rolls": "stock pieces to cut from",
}


def _needs(estimate: Estimate) -> dict[str, int]:
    """Return the rows that what the engine worked out takes."""
    cuts = estimate.cuts
    plain = [take for take in estimate.takeoff.areas if take.drawing is None]
    drawn = [take for take in estimate.takeoff.areas if take.drawing is not None]
    return {
        "beams": sum(row.kind == "flush_beam" for row in estimate.inputs.framing),
        "bays": sum(len(part.bays) for take in plain for part in take.parts),
        "segments": sum(len(take.parts) for take in drawn),
        "stretches": sum(len(edge.stretches_in) for take in drawn for edge in take.edges),
        "ribs": sum(len(take.drawing.members) for take in drawn if take.drawing),
        "leaders": sum(line.leaders for line in estimate.takeoff.lines),
        "decisions": len(options_of(estimate.inputs)),
        "lengths": max((len(cut.bought) for cut in cuts), default=0),
        "planned": sum(len({length for length, _ in cut.cut.pieces}) for cut in cuts),
        "patterns": sum(len(cut.plan.patterns) for cut in cuts),
        "cuts": max((_most(cut) for cut in cuts), default=0),
        "pieces": sum(len(cut.cut.pieces) for cut in cuts),
        "rolls": sum(sum(cut.plan.used) for cut in cuts),
    }


def lacking(estimate: Estimate, shape: Shape) -> list[str]:
    """Return a sentence for each table of a workbook that is too small for an estimate."""
    needs = _needs(estimate)
    found = [
        f"there are {need} {_SAID[name]}, the workbook has room for {getattr(shape, name)}"
        for name, need in needs.items()
        if name in _SAID and need > getattr(shape, name)
    ]
    size = estimate.inputs.rates.leader_size
    if size not in shape.sizes:
        found.append(f"leader size {size} is none of the workbook's list ({', '.join(shape.sizes)})")
    return found
