"""Options of a quote: what another job of the same book costs in place of this one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from baybook.estimate import Estimate, OptionPrice
from baybook.problems import Problem

__all__ = ["with_options"]


def with_options(estimates: Sequence[Estimate]) -> tuple[tuple[Estimate, ...], tuple[Problem, ...]]:
    """Return the jobs of a book, each with the prices of the jobs that its quote names as options.

    Parameters
    ----------
    estimates : sequence of Estimate
        Every job of the book.

    Returns
    -------
    tuple of tuple and tuple
        The jobs, and a problem for each option that no job of the book prices alike: in the same currency, at the
        prices of the same day.
    """
    known = {one.inputs.job.job.casefold(): one for one in estimates}
    problems: dict[Problem, None] = {}
    found = []
    for one in estimates:
        prices = {}
        for row in one.inputs.quote:
            other = known.get(row.of.casefold()) if row.of else None
            if other is not None and _why_not(one, other) is None:
                prices[row.of.casefold()] = OptionPrice(row.of, other.totals.price, other.inputs.on)
            elif row.of:
                reason = _why_not(one, other) if other else f"{row.of!r} is no job of this book"
                said = f"{reason}: an option is a job of its own beside {one.inputs.job.job}"
                problems[row.place.problem("of", said)] = None
        found.append(replace(one, options=prices))
    return tuple(found), tuple(problems)


def _why_not(one: Estimate, other: Estimate) -> str | None:
    """Return why the price of a job cannot stand beside another's."""
    job, option = one.inputs.job, other.inputs.job
    if option.currency != job.currency:
        return f"job {option.job} is in {option.currency}, job {job.job} in {job.currency}"
    if other.inputs.on != one.inputs.on:
        return f"job {option.job} has the prices of {other.inputs.on}, job {job.job} those of {one.inputs.on}"
    return None
