"""The steps from inputs to an estimate, in order, and nothing else."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from baybook.cutplan import Unplannable
from baybook.job.records import JobInputs, PriceRow
from baybook.numbers import sixteenths_up
from baybook.offering import idle_acceptances
from baybook.pricing.cutgoods import CutLine, plan_of
from baybook.pricing.freight import FreightLine, freight_lines
from baybook.pricing.offers import offers_on
from baybook.pricing.price import (
    ExtraLine,
    LabourLine,
    Line,
    Totals,
    extra_lines,
    labour_lines,
    never_offered,
    price_line,
    totals_of,
)
from baybook.problems import BookError, Problem
from baybook.takeoff import Finding, KnownAreas, Takeoff, take_off
from baybook.takeoff.parts import widest_need_in
from baybook.takeoff.stock import StockOnOffer, stock_of
from baybook.watercheck import WaterChecks, check_water

__all__ = ["Estimate", "OptionPrice", "build_estimate", "estimate_again"]

_OF_TAKEOFF = (
    "areas",
    "framing",
    "measured",
    "liners",
    "rates",
    "posts",
    "codes",
    "rain",
)  # the inputs that a take-off is made from


@dataclass(frozen=True, slots=True)
class OptionPrice:
    """What a job costs that the quote of another names as an option, tax included, and the day of its prices."""

    job: str
    price: Decimal
    on: dt.date


@dataclass(frozen=True, slots=True)
class Estimate:
    """A job, taken off, planned and priced.

    Parameters
    ----------
    inputs : JobInputs
        What it was made from.
    offers : tuple of PriceRow
        The offers in force, in the order that decides ties.
    takeoff : Takeoff
        Quantities, pieces, tasks and findings.
    water : WaterChecks
        Capacity against flow, reach, heights, posts.
    cuts : tuple of CutLine
        The cut plans, one an item (and liner record).
    lines : tuple of Line
        Material lines bought in packs.
    labour : tuple of LabourLine
        One a task.
    extras : tuple of ExtraLine
        What the estimator added.
    freight : tuple of FreightLine
        One a supplier whose terms are stated.
    totals : Totals
        From cost to price.
    findings : tuple of Finding
        Warnings and failed checks.
    options : mapping of str to OptionPrice
        The jobs that its quote names as options, by code without case; see `baybook.options`.
    """

    inputs: JobInputs
    offers: tuple[PriceRow, ...]
    takeoff: Takeoff
    water: WaterChecks
    cuts: tuple[CutLine, ...]
    lines: tuple[Line, ...]
    labour: tuple[LabourLine, ...]
    extras: tuple[ExtraLine, ...]
    freight: tuple[FreightLine, ...]
    totals: Totals
    findings: tuple[Finding, ...]
    options: Mapping[str, OptionPrice] = field(default_factory=dict)


def _plans(inputs: JobInputs, takeoff: Takeoff, problems: list[Problem]) -> list[CutLine]:
    plans = []
    for cut in takeoff.cut:
        stock = takeoff.stock[cut.item, cut.liner]
        try:
            plans.append(plan_of(cut, stock, inputs))
        except Unplannable as found:
            problems.append(stock.offers[0].place.problem(cut.item, f"job {inputs.job.job}: {found}"))
    return plans


def _plan_findings(cuts: list[CutLine]) -> list[Finding]:
    return [
        Finding(
            "P7",
            failed=False,
            where=cut.key,
            message=f"the cut plan is within {(cut.plan.cost - cut.plan.lower_bound) / 100:.2f} of the least cost, "
            f"not proven least: {cut.plan.reason}",
        )
        for cut in cuts
        if not cut.plan.proven
    ]


def _unused_overrides(inputs: JobInputs, lines: list[Line], cuts: list[CutLine]) -> list[Problem]:
    used = [line.override for line in lines] + [one.override for cut in cuts for one in cut.bought]
    return [
        row.place.problem(
            "item", f"{row.item!r} of job {row.job} overrides no line: use an item and length that is bought"
        )
        for row in inputs.overrides
        if not any(row is one for one in used)
    ]


def build_estimate(inputs: JobInputs, known: KnownAreas | None = None) -> Estimate:
    """Take off, plan and price one job.

    Parameters
    ----------
    inputs : JobInputs
        What the job states.
    known : KnownAreas, optional
        Areas taken off before, for the alternatives of one job.

    Returns
    -------
    Estimate
        The whole estimate.

    Raises
    ------
    BookError
        With everything the rules refuse.
    """
    offers = offers_on(inputs.prices, inputs.on, inputs.job.currency)
    try:
        takeoff = take_off(inputs, offers, known)
    except BookError as found:  # what is not on offer is said at once, though no quantity is known yet
        raise BookError((*found.problems, *never_offered(inputs, offers))) from None
    return _priced(inputs, offers, takeoff, None)


def estimate_again(made: Estimate, inputs: JobInputs) -> Estimate:
    """Estimate a job again with other prices: what they cannot change is not worked out again.

    Parameters
    ----------
    made : Estimate
        The job as it was.
    inputs : JobInputs
        The same job with other prices, or of another day.

    Returns
    -------
    Estimate
        What `build_estimate` gives.

    Raises
    ------
    BookError
        As for `build_estimate`.
    """
    offers = offers_on(inputs.prices, inputs.on, inputs.job.currency)
    stock = _stock_again(made, inputs, offers)
    if stock is None:
        return build_estimate(inputs)
    return _priced(inputs, offers, replace(made.takeoff, stock=stock), made.water)


def _stock_again(
    made: Estimate, inputs: JobInputs, offers: Sequence[PriceRow]
) -> dict[tuple[str, str], StockOnOffer] | None:
    """Return the stock on offer where it leads to the same take-off: as wide and as long as it was."""
    before = made.inputs
    if any(getattr(inputs, name) is not getattr(before, name) for name in _OF_TAKEOFF):
        return None
    if replace(inputs.job, quoted_on=None) != replace(before.job, quoted_on=None):
        return None
    trim = sixteenths_up(inputs.rates.end_trim_in)
    found: dict[tuple[str, str], StockOnOffer] = {}
    for (item, liner), old in made.takeoff.stock.items():
        takes = [take for take in made.takeoff.areas if item == "liner" and take.area.liner == liner]
        widest = max((widest_need_in(take, inputs.rates) for take in takes), default=0.0)
        new = stock_of(item, liner, widest, offers, trim)
        if new is None or (new.width_in, new.longest) != (old.width_in, old.longest):
            return None
        found[item, liner] = new
    return found


def _priced(inputs: JobInputs, offers: tuple[PriceRow, ...], takeoff: Takeoff, water: WaterChecks | None) -> Estimate:
    """Return the estimate of a job that is taken off."""
    problems: list[Problem] = []
    cuts = _plans(inputs, takeoff, problems)
    lines = []
    for need in takeoff.needs:
        line = price_line(need, inputs, offers)
        if isinstance(line, Problem):
            problems.append(line)
        else:
            lines.append(line)
    problems += _unused_overrides(inputs, lines, cuts) if not problems else []
    if problems:
        raise BookError(problems)
    labour = labour_lines(takeoff.tasks, inputs.rates, inputs.job.labour_rate)
    extras = extra_lines(inputs.extras)
    freight = freight_lines(inputs, lines, cuts)
    water = water or check_water(takeoff, inputs)
    findings = (*takeoff.findings, *water.findings, *_plan_findings(cuts))
    return Estimate(
        inputs=inputs,
        offers=offers,
        takeoff=takeoff,
        water=water,
        cuts=tuple(cuts),
        lines=tuple(lines),
        labour=labour,
        extras=extras,
        freight=freight,
        totals=totals_of(inputs, lines, cuts, labour, extras, sum((one.cost for one in freight), Decimal(0))),
        findings=(*findings, *idle_acceptances(inputs, findings)),
    )
