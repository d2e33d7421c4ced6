"""The report of a re-pricing: which jobs moved, by how much, because of what; as CSV files and as a workbook."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from baybook.files.lock import open_elsewhere
from baybook.files.table import table_text
from baybook.files.write import write_bytes
from baybook.problems import BookError, Problem
from baybook.reprice.lists import NewList
from baybook.reprice.model import JobChange, Left, OfferChange
from baybook.reprice.record import mark_of
from baybook.reprice.work import digest

__all__ = [
    "ITEM_COLUMNS", "JOB_COLUMNS", "OFFER_COLUMNS", "PROBLEM_COLUMNS", "SHEET_COLUMNS", "Repriced", "Sum", "in_order",
    "item_rows", "job_rows", "most_because_of", "offer_rows", "problem_rows", "sheet_rows", "sums", "write_report",
]  # fmt: skip

JOB_COLUMNS = (
    "job", "customer", "status", "currency", "old_price", "new_price", "more", "old_cost", "new_cost", "margin_stated",
    "margin_at_old_price", "below_floor", "days_left", "most_because_of", "bought_otherwise", "ended", "cut_otherwise",
    "held_back", "no_old_price", "from", "workbook",
)  # fmt: skip
SHEET_COLUMNS = (*JOB_COLUMNS[:14], "besides", *JOB_COLUMNS[19:])  # on paper what is seldom said has one column
ITEM_COLUMNS = ("currency", "item", "effect", "jobs")
OFFER_COLUMNS = (
    "state", "supplier", "sku", "item", "description", "old_price", "old_currency", "new_price", "new_currency",
    "change", "lists", "why",
)  # fmt: skip
PROBLEM_COLUMNS = ("from", "job", "file", "line", "field", "message")
KINDS = {"held": "held back", "changed": "changed", "new": "new", "ended": "ended"}
WORKBOOK = "re-pricing.xlsx"


@dataclass(frozen=True, slots=True, kw_only=True)
class Repriced:
    """What a re-pricing did.

    Parameters
    ----------
    folder : Path
        Where the jobs are.
    new : NewList
        The new list.
    floor : float or None
        The least margin. [1]
    jobs : tuple of JobChange
        Those priced again, in this run or before it was killed.
    left : tuple of Left
        Those left: first what needs a cure, then what is settled.
    offers : tuple of tuples of OfferChange
        What became of each price list.
    written : tuple of str
        The workbooks that this run wrote.
    files : tuple of Path
        The files of the report that this run wrote.
    untold : tuple of Problem
        Files of the report that could not be written.
    """

    folder: Path
    new: NewList
    floor: float | None
    jobs: tuple[JobChange, ...]
    left: tuple[Left, ...]
    offers: tuple[tuple[OfferChange, ...], ...]
    written: tuple[str, ...] = ()
    files: tuple[Path, ...] = ()
    untold: tuple[Problem, ...] = ()

    @property
    def missed(self) -> tuple[Left, ...]:
        """What should have been priced and was not."""
        return tuple(one for one in self.left if not one.settled)

    @property
    def held(self) -> tuple[OfferChange, ...]:
        """Offers held back, once each."""
        found = {one.name.casefold(): one for of in self.offers for one in of if one.kind == "held"}
        return tuple(found[name] for name in sorted(found))


@dataclass(frozen=True, slots=True)
class Sum:
    """All jobs of one currency that have a price before and after. [money]."""

    currency: str
    jobs: int
    up: int
    down: int
    below_floor: int
    old: Decimal
    new: Decimal
    old_cost: Decimal
    new_cost: Decimal


def sums(result: Repriced) -> tuple[Sum, ...]:
    """Return the totals, the currency of the most jobs first."""
    found = []
    for currency in {one.currency for one in result.jobs}:
        mine = [one for one in result.jobs if one.currency == currency and one.old_price is not None]
        found.append(
            Sum(
                currency,
                len(mine),
                sum(one.moved > 0 for one in mine),
                sum(one.moved < 0 for one in mine),
                sum(one.below_floor for one in mine),
                sum((one.old_price or Decimal(0) for one in mine), Decimal(0)),
                sum((one.new_price for one in mine), Decimal(0)),
                sum((one.old_cost or Decimal(0) for one in mine), Decimal(0)),
                sum((one.new_cost for one in mine), Decimal(0)),
            )
        )
    return tuple(sorted(found, key=lambda one: (-one.jobs, one.currency)))


def in_order(jobs: Iterable[JobChange]) -> list[JobChange]:
    """Return jobs as they matter: those under the floor, those without an old price, then what moved most."""
    return sorted(
        jobs, key=lambda one: (not one.below_floor, one.old_price is not None, -abs(one.moved), one.source, one.job)
    )


def job_rows(result: Repriced) -> list[Sequence[Any]]:
    """Return a row a job."""
    return [
        (
            one.job,
            one.customer,
            one.status,
            one.currency,
            one.old_price,
            one.new_price,
            one.moved if one.old_price is not None else None,
            one.old_cost,
            one.new_cost,
            None if one.margin_stated is None else round(one.margin_stated, 6),
            None if one.margin_left is None else round(one.margin_left, 6),
            "yes" if one.below_floor else "",
            one.days_left,
            most_because_of(one),
            "; ".join(one.offers),
            "; ".join(one.ended),
            "; ".join(one.cuts),
            "; ".join(one.held),
            one.unpriced,
            one.source,
            one.file,
        )
        for one in in_order(result.jobs)
    ]


def sheet_rows(result: Repriced) -> list[Sequence[Any]]:
    """Return a row a job as the workbook has it: what is seldom said in one column."""
    return [
        (*row[:14], _besides(one), *row[19:]) for row, one in zip(job_rows(result), in_order(result.jobs), strict=True)
    ]


def _besides(one: JobChange) -> str:
    words = {"bought": one.offers, "ended": one.ended, "cut": one.cuts, "held back": one.held}
    said = [f"{what}: {'; '.join(of)}" for what, of in words.items() if of]
    return ". ".join([*said, *([f"no price before: {one.unpriced}"] if one.unpriced else [])])


def most_because_of(one: JobChange) -> str:
    """Return the three items that move a price most."""
    largest = sorted(one.effects.items(), key=lambda pair: (-abs(pair[1]), pair[0]))[:3]
    return ", ".join(f"{item} {money:+.2f}" for item, money in largest)


def item_rows(result: Repriced) -> list[Sequence[Any]]:
    """Return a row an item and currency: what it adds to all prices together, the most first."""
    found: dict[tuple[str, str], list[Decimal]] = {}
    for one in result.jobs:
        for item, money in one.effects.items():
            found.setdefault((one.currency, item), []).append(money)
    order = {one.currency: at for at, one in enumerate(sums(result))}
    rows = [(currency, item, sum(money, Decimal(0)), len(money)) for (currency, item), money in found.items()]
    return sorted(rows, key=lambda row: (order[row[0]], -abs(row[2]), row[1]))


def offer_rows(result: Repriced) -> list[Sequence[Any]]:
    """Return a row an offer that is not what it was: held back first, then the largest changes."""
    counts: dict[tuple[Any, ...], int] = {}
    shown: dict[tuple[Any, ...], OfferChange] = {}
    for of in result.offers:
        for one in of:
            if one.kind != "same":
                key = (one.kind, one.name.casefold(), one.old_price, one.old_currency)
                counts[key] = counts.get(key, 0) + 1
                shown.setdefault(key, one)
    kinds = list(KINDS)
    rows = sorted(shown.items(), key=lambda pair: (kinds.index(pair[0][0]), -abs(pair[1].change or 0), pair[0][1]))
    return [
        (
            KINDS[one.kind],
            one.supplier,
            one.sku,
            one.item,
            one.description,
            one.old_price,
            one.old_currency,
            one.new_price,
            one.new_currency,
            None if one.change is None else round(one.change, 6),
            counts[key],
            one.why,
        )
        for key, one in rows
    ]


def problem_rows(result: Repriced) -> list[Sequence[Any]]:
    """Return a row a reason why something was left."""
    return [
        (left.source, left.job, problem.source, problem.line or None, problem.field, problem.message)
        for left in result.left
        for problem in left.problems
    ]


def write_report(result: Repriced, place: Path, when: dt.datetime) -> Repriced:
    """Write the report into a folder; a file that says the same already is left alone.

    Parameters
    ----------
    result : Repriced
        What was done.
    place : Path
        The folder.
    when : datetime
        The moment of the run.

    Returns
    -------
    Repriced
        With the files written, and those that could not be.
    """
    from baybook.reprice.sheets import report_workbook

    tables = {
        "re-pricing jobs.csv": (JOB_COLUMNS, job_rows(result)),
        "re-pricing items.csv": (ITEM_COLUMNS, item_rows(result)),
        "re-pricing offers.csv": (OFFER_COLUMNS, offer_rows(result)),
        "re-pricing left.csv": (PROBLEM_COLUMNS, problem_rows(result)),
    }
    contents = {name: table_text(header, rows, name)[0].encode() for name, (header, rows) in tables.items()}
    contents[WORKBOOK] = report_workbook(result, when)
    files, untold = [], []
    for name, data in contents.items():
        path = place / name
        if mark_of(path) == digest(data):
            continue
        elsewhere = open_elsewhere(path) if name == WORKBOOK else None
        if elsewhere:
            untold.append(Problem(name, 0, "", f"is open elsewhere ({elsewhere}); close it and run again"))
            continue
        try:
            write_bytes(path, data, inside=place)
        except BookError as refused:
            untold += refused.problems
        else:
            files.append(path)
    return replace(result, files=tuple(files), untold=tuple(untold))
