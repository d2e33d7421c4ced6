"""Many jobs for re-pricing: random decks that share liners and price lists, as books and workbooks in sub-folders."""

from __future__ import annotations

import csv
import io
import random
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

from books import _Draw, all_inputs_of, book_folder, csv_text

from baybook.estimate import Estimate, build_estimate
from baybook.problems import BookError

STATUSES = (None, "pricing", "offered", "offered")


class _Decks(_Draw):
    """Decks of one yard: the liners and prices are given, the rest is drawn."""

    def __init__(self, seed: str) -> None:
        super().__init__(seed)
        self.metric, self.rates = False, {}

    def rows_of(self, code: str, liners: Any, prices: Any, status: Any) -> dict[str, list[dict[str, Any]]]:
        areas, framing = self.areas(liners)
        own = self.own_lines(prices)
        job = self.job() | {"job": code, "status": status, "site": f"{self.rng.randrange(1, 99)} Quarry Rise"}
        if status in {None, "pricing"} and self.chance(0.5):
            job["quoted_on"] = None
        of_job = {"jobs": [job], "areas": areas, "framing": framing, "posts": self.posts}
        of_job |= {"extras": own["extras"], "overrides": own["overrides"]}
        return {name: [{"job": code} | row for row in rows] for name, rows in of_job.items()}


def yard(seed: int = 0) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return liners and a price list with no dates, whose every item is to be had."""
    draw = _Decks(f"yard {seed}")
    liners = [liner | {"made_for_in": 24} for liner in draw.liners()[:1]]
    prices = [row | {"valid_from": None, "valid_to": None} for row in draw.prices(liners) if "-old" not in row["sku"]]
    return liners, prices


def job_rows(code: str, seed: str, low: int, high: int, status: Any, of: Any) -> tuple[dict[str, Any], Estimate]:
    """Return the rows of a random job with so many bays that the engine accepts, and its estimate."""
    liners, prices = of
    for attempt in range(1000):
        rows = _Decks(f"{seed}/{attempt}").rows_of(code, liners, prices, status)
        try:
            made = build_estimate(all_inputs_of(_texts([rows], of))[0])
        except BookError:
            continue
        if low <= made.takeoff.bays <= high and not any(one.failed for one in made.findings):
            return rows, made
    raise AssertionError(f"{seed}: no deck of {low} to {high} bays")


def _texts(jobs: list[dict[str, Any]], of: Any) -> dict[str, str]:
    together: dict[str, list[dict[str, Any]]] = {}
    for rows in jobs:
        for name, some in rows.items():
            together.setdefault(name, []).extend(some)
    together |= {"liners": of[0], "prices": of[1]}
    return {name: csv_text(rows) for name, rows in together.items() if rows}


def book_texts(
    codes: list[str], *, low: int = 4, high: int = 80, of: Any = None, status: Callable[[int], Any] | None = None
) -> dict[str, str]:
    """Return a book of random jobs as CSV texts."""
    of = of or yard()
    chosen = status or (lambda at: STATUSES[at % len(STATUSES)])
    return _texts([job_rows(code, code, low, high, chosen(at), of)[0] for at, code in enumerate(codes)], of)


def fleet(folder: Path, jobs: int, *, a_book: int = 10, low: int = 4, high: int = 80, of: Any = None) -> Path:
    """Write books of so many jobs each into sub-folders."""
    of = of or yard()
    for first in range(0, jobs, a_book):
        codes = [f"J{number:05d}" for number in range(first, min(first + a_book, jobs))]
        book_folder(folder / f"bids {first // a_book:04d}", book_texts(codes, low=low, high=high, of=of))
    return folder


def new_list(path: Path, prices: list[dict[str, Any]], seed: int = 1, most: float = 0.2) -> Path:
    """Write a price list in which every price has moved by a random share."""
    chance = random.Random(seed)
    path.write_text(csv_text(moved(prices, chance, most)), encoding="utf-8", newline="")
    return path


def moved(prices: list[dict[str, Any]], chance: random.Random, most: float = 0.2) -> list[dict[str, Any]]:
    """Return prices each of which has moved by a random share."""
    rows = []
    for row in prices:
        price = Decimal(str(row["pack_price"])) * Decimal(repr(round(1 + chance.uniform(-most, most), 4)))
        rows.append(row | {"pack_price": f"{max(price, Decimal('0.01')):.2f}"})
    return rows


def read_csv(path: Path) -> list[dict[str, str]]:
    """Return the rows of a CSV file."""
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8"), newline="")))


def files_of(folder: Path, skip: Callable[[Path], bool] = lambda _: False) -> Iterator[tuple[str, bytes]]:
    """Yield every file of a folder with its content, in order."""
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not skip(path):
            yield path.relative_to(folder).as_posix(), path.read_bytes()
