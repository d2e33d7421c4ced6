"""Kill 200 builds and 200 refreshes: ``python tests/long/kill_builds.py [KILLS] [SEED]``, about six minutes.

Prints what stood there afterwards. Stops with an error at the first torn file, at a workbook of a person's that was
written over, and where a build that is started again does not come to what an undisturbed one writes.
"""

from __future__ import annotations

import datetime as dt
import logging
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import books
import handmade
from kills import kill_builds, kill_whole_refreshes

from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.read import book_of
from baybook.workbook.refresh import refreshed

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001 - the local time of a run


def say(*words: object) -> None:
    print(*words, flush=True)  # noqa: T201 - a script


def builds(kills: int, seed: int) -> None:
    names = ("A", "B", "C", "D")
    with tempfile.TemporaryDirectory() as folder:
        old, new = (
            books.book_folder(
                Path(folder) / rate,
                jobs=[{"job": name, "labour_rate": rate} for name in names],
                areas=[{"job": name, "width": f"{10 + at} ft"} for at, name in enumerate(names)],
            )
            for rate in ("60.00", "61.00")
        )
        say(f"{kills} builds killed: {kill_builds(Path(folder), old, new, kills, seed)}, none torn, nothing lost")


def refreshes(kills: int, seed: int) -> None:
    made = make_workbook(books.estimate(), WHEN)
    sheet, row, col = made.layout.address("a_width")
    old = handmade.with_cells(made.data, {(sheet, f"{column_letter(col)}{row}"): 18.0})
    new = refreshed(book_of(old, "deck.xlsx"), WHEN + dt.timedelta(1)).data
    with tempfile.TemporaryDirectory() as folder:
        found = kill_whole_refreshes(Path(folder), old, new, kills, seed)
    say(f"{kills} refreshes killed: {found}, none torn, nothing lost")


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:]]
    logging.disable()  # every stale lock that is taken over is told
    start = time.perf_counter()
    builds(*given, *(200, 1)[len(given) :])
    refreshes(*given, *(200, 1)[len(given) :])
    say(f"{time.perf_counter() - start:.0f} s")
