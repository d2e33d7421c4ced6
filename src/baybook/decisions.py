"""The framing decisions that settle the drainage, side by side: each alternative estimated by the engine as a whole."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from baybook.estimate import Estimate, build_estimate
from baybook.job.records import Area, Framing, JobInputs
from baybook.numbers import r6
from baybook.problems import BookError
from baybook.takeoff import Finding, KnownAreas

__all__ = ["Compared", "Figures", "Option", "compare", "options_of"]


@dataclass(frozen=True, slots=True)
class Option:
    """One way to settle one decision of an area.

    Parameters
    ----------
    area : str
        The area.
    decision : str
        ``gutter side``, ``posts``, ``boards`` or ``beam``.
    words : str
        What is done.
    stated : bool
        The book says so now.
    inputs : JobInputs
        The job with it.
    """

    area: str
    decision: str
    words: str
    stated: bool
    inputs: JobInputs


@dataclass(frozen=True, slots=True)
class Figures:
    """What an option comes to: quantities, fall in its area, price and warnings of the whole job."""

    bays: int
    outlets: int
    liner_pieces: int
    gutter_ft: float
    leaders: int
    least_fall_in_per_ft: float
    hours: Decimal
    price: Decimal
    warnings: int
    failed: int


@dataclass(frozen=True, slots=True)
class Compared:
    """An option and what follows from it for the whole job.

    Parameters
    ----------
    option : Option
        The option.
    estimate : Estimate or None
        The job with it; None where a rule refuses it.
    refused : str
        Why, then.
    price_more : Decimal
        Price less that of the book as stated.
    new, gone : tuple of Finding
        Warnings that come with it, and those it does away with.
    """

    option: Option
    estimate: Estimate | None
    refused: str
    price_more: Decimal
    new: tuple[Finding, ...]
    gone: tuple[Finding, ...]

    @property
    def figures(self) -> Figures | None:
        """The figures to show; None where refused."""
        if self.estimate is None:
            return None
        take, found, name = self.estimate.takeoff, self.estimate.findings, self.option.area
        return Figures(
            bays=take.bays,
            outlets=sum(part.outlets for part in take.parts),
            liner_pieces=sum(len(cut.pieces) for cut in take.cut if cut.item == "liner"),
            gutter_ft=r6(sum(line.length_ft for line in take.lines)),
            leaders=sum(line.leaders for line in take.lines),
            least_fall_in_per_ft=r6(
                min(part.fall_in_per_ft for part in take.parts if part.area.area == name and part.bays)
            ),
            hours=sum((line.hours for line in self.estimate.labour), Decimal(0)),
            price=self.estimate.totals.price,
            warnings=len(found),
            failed=sum(one.failed for one in found),
        )


def _with_areas(inputs: JobInputs, names: Collection[str], **changes: object) -> JobInputs:
    areas = tuple(replace(one, **changes) if one.area in names else one for one in inputs.areas)  # type: ignore[arg-type]  # fields of an area
    return replace(inputs, areas=areas)


def _with_framing(inputs: JobInputs, area: Area, made: Callable[[Framing], Framing | None]) -> JobInputs:
    rows = [made(row) if _is_of(row.area, area) else row for row in inputs.framing]
    return replace(inputs, framing=tuple(row for row in rows if row is not None))


def _is_of(name: str, area: Area) -> bool:
    return name.casefold() == area.area.casefold()


def _gutter_sides(area: Area, inputs: JobInputs) -> Iterator[tuple[str, JobInputs]]:
    """A shared gutter turns with all its areas."""
    line = area.gutter_line.casefold()
    turned = [one for one in inputs.areas if one is area or (line and one.gutter_line.casefold() == line)]
    others = ", ".join(one.area for one in turned if one is not area)
    side = "ledger" if area.gutter_side == "rim" else "rim"
    yield f"on the {area.gutter_side} side", inputs
    words = f"on the {side} side" + (f", with {others} on the same gutter" if others else "")
    yield words, _with_areas(inputs, [one.area for one in turned], gutter_side=side)


def _posts(area: Area, inputs: JobInputs) -> Iterator[tuple[str, JobInputs]]:
    here = [post for post in inputs.posts if _is_of(post.area, area)]
    through, outside = area.posts_through, sum(post.where == "outside" for post in here)
    if not through and not outside:
        return
    where = "outside" if through else "inside"
    moved = tuple(replace(post, where=where) if _is_of(post.area, area) else post for post in inputs.posts)
    count = 0 if through else len(here)
    other = replace(_with_areas(inputs, [area.area], posts_through=count), posts=moved)
    yield (f"through the liner ({through})", inputs) if through else (f"outside ({outside})", inputs)
    yield ("outside", other) if through else (f"through the liner ({count})", other)


def _boards(area: Area, inputs: JobInputs) -> Iterator[tuple[str, JobInputs]]:
    dividers = sum(row.kind == "divider" and _is_of(row.area, area) for row in inputs.framing)
    bare = _with_framing(inputs, area, lambda row: None if row.kind == "divider" else row)
    bare = _with_areas(bare, [area.area], borders=0)
    one_border = _with_areas(bare, [area.area], borders=1)
    middle = Framing(job=area.job, area=area.area, kind="divider", x_in=r6(area.width_in / 2), place=area.place)
    divided = replace(bare, framing=(*bare.framing, middle))
    yield f"as drawn: {area.borders} borders a side, {dividers} dividers", inputs
    if area.borders or dividers:
        yield "no borders, no divider", bare
    if (area.borders, dividers) != (1, 0):
        yield "one border board a side, no divider", one_border
    if not dividers:
        yield "no borders, one divider in the middle", divided


def _beams(area: Area, inputs: JobInputs) -> Iterator[tuple[str, JobInputs]]:
    """A flush beam dropped is taken as deep as the joists."""
    kinds = {row.kind for row in inputs.framing if _is_of(row.area, area)} & {"flush_beam", "dropped_beam"}
    if not kinds:
        return
    turn = {"flush_beam": "dropped_beam", "dropped_beam": "flush_beam"}
    if kinds == set(turn):
        yield "as drawn: flush and dropped", inputs
    else:
        yield f"{kinds.pop().removesuffix('_beam')}", inputs

    def all_as(kind: str) -> JobInputs:
        depth = area.joist_depth_in if kind == "dropped_beam" else None
        return _with_framing(
            inputs,
            area,
            lambda row: (
                replace(row, kind=kind, depth_in=row.depth_in if row.kind == kind else depth)
                if row.kind in turn
                else row
            ),
        )

    for kind in turn:
        other = all_as(kind)
        if other.framing != inputs.framing:
            yield f"{kind.removesuffix('_beam')}", other


_DECISIONS: tuple[tuple[str, Callable[[Area, JobInputs], Iterator[tuple[str, JobInputs]]]], ...] = (
    ("gutter side", _gutter_sides),
    ("posts", _posts),
    ("boards", _boards),
    ("beam", _beams),
)


def options_of(inputs: JobInputs) -> tuple[Option, ...]:
    """Return the decisions of a job and their options, area by area, that of the book first.

    Parameters
    ----------
    inputs : JobInputs
        The job.

    Returns
    -------
    tuple of Option
        A decision that an area does not pose (no post, no beam) has none.
    """
    return tuple(
        Option(area.area, decision, words, other is inputs, other)
        for area in inputs.areas
        for decision, ways in _DECISIONS
        for words, other in ways(area, inputs)
    )


def compare(base: Estimate) -> tuple[Compared, ...]:
    """Estimate every option of a job.

    Parameters
    ----------
    base : Estimate
        The job as the book states it.

    Returns
    -------
    tuple of Compared
        In the order of `options_of`; an option that a rule refuses says why.
    """
    known = KnownAreas()
    return tuple(_compared(option, base, known) for option in options_of(base.inputs))


def _compared(option: Option, base: Estimate, known: KnownAreas) -> Compared:
    if option.stated:
        return Compared(option, base, "", Decimal(0), (), ())
    try:
        made = build_estimate(option.inputs, known)
    except BookError as refused:
        why = "; ".join(problem.message for problem in refused.problems)
        return Compared(option, None, why, Decimal(0), (), ())
    return Compared(
        option,
        made,
        "",
        made.totals.price - base.totals.price,
        tuple(one for one in made.findings if one not in base.findings),
        tuple(one for one in base.findings if one not in made.findings),
    )
