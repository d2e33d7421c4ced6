"""Files that came back: ``python tests/long/workbooks_again.py [TAMPERED] [BOOKS] [KILLS]``, about five minutes.

100 single cells tampered with, each of which verify must name; 50 random books built, exported and built again, cell by
cell; 60 refreshes killed while they write. Prints what was counted and every failure; ends with status 1 if there is
one.
"""

from __future__ import annotations

import datetime as dt
import itertools
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import books
import handmade
from again import WHEN, built_again
from kills import kill_refreshes
from tampered import named, tampered

from baybook.problems import BookError
from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.read import book_of
from baybook.workbook.redeclare import redeclare
from baybook.workbook.refresh import refreshed
from baybook.workbook.verify import verified


def say(*words: object) -> None:
    print(*words, flush=True)  # noqa: T201 - a script


def tamper(cells: int) -> list[str]:
    made = make_workbook(books.random_estimate(8), WHEN)
    counts: Counter[str] = Counter()
    missed = []
    for kind, cell, change in itertools.islice(tampered(made, 2), cells):
        data = handmade.with_cells(made.data, change)
        counts[kind] += 1
        try:
            found = [str(one) for one in verified(redeclare(book_of(data, "t.xlsx"), WHEN)).differences]
        except BookError as refused:  # an input that cannot be
            found = str(refused).splitlines()
            counts["refused"] += 1
        if not any(named(cell, line) for line in found):
            missed.append(f"tampered {kind} {cell} is not named: {found[:2]}")
    say(f"{cells} cells tampered with ({dict(counts)}): {cells - len(missed)} named")
    return missed


def export(seeds: int) -> list[str]:
    found = []
    for seed in range(1, seeds + 1):
        with tempfile.TemporaryDirectory() as folder:
            found += built_again(seed, Path(folder))[:3]
    say(f"{seeds} books built, exported, built: {len(found)} cells differ")
    return found


def kill(kills: int) -> list[str]:
    made = make_workbook(books.estimate(), WHEN)
    sheet, row, col = made.layout.address("a_width")
    old = handmade.with_cells(made.data, {(sheet, f"{column_letter(col)}{row}"): 18.0})
    new = refreshed(book_of(old, "deck.xlsx"), WHEN + dt.timedelta(1)).data
    with tempfile.TemporaryDirectory() as folder:
        found = kill_refreshes(Path(folder), old, new, kills, 3)
    say(f"{kills} refreshes killed: {found}, none torn")
    return []


if __name__ == "__main__":
    tampered_cells, seeds, kills = (*map(int, sys.argv[1:]), *(100, 50, 60)[len(sys.argv) - 1 :])
    start = time.perf_counter()
    failures = [*tamper(tampered_cells), *export(seeds), *kill(kills)]
    say(f"{time.perf_counter() - start:.0f} s")
    for failure in failures:
        say(failure)
    sys.exit(bool(failures))
