"""Edit books in LibreOffice, every cell held to the engine: ``python tests/long/edits_live.py [BOOKS] [EDITS]``.

20 books of 25 edits each unless told otherwise, about ten minutes. After each edit all computed cells are compared with
our evaluation of the same formulas and the figures with the engine's estimate of the same inputs (the safe count where
a cut plan is out of date); the last state of each book is then recalculated by Gnumeric. Prints what was counted, then
every difference; ends with status 1 if there is one.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from live.edited import EditedBook, Tally
from live.programs import Calc, recalc_gnumeric

SEEDS = (2, 8, 11, 12, 13, 23, 5, 20, 26, 48, 53, 54, 63, 74, 78, 108, 3, 19, 41, 116)


def main(books: int, edits: int) -> int:
    tally, start, last = Tally(), time.perf_counter(), 0
    with tempfile.TemporaryDirectory() as room, Calc() as calc:
        folder = Path(room)
        for seed in SEEDS[:books]:
            began = time.perf_counter()
            book = EditedBook(calc, seed, folder)
            due, before = tally.edits + edits, tally.edits
            while tally.edits < due:
                book.step(tally)
            path = folder / f"{seed} last.xlsx"
            calc.save_as(path)
            shown = recalc_gnumeric([path], folder)[path]
            found = book.calculated(book.as_shown(shown))
            last += len(book.formulas)
            tally.found += [f"book {seed}, last state in Gnumeric: {one}" for one in found[:5]]
            print(f"book {seed}: {tally.edits - before} edits, {time.perf_counter() - began:.0f} s", flush=True)  # noqa: T201 - a script
    seconds = time.perf_counter() - start
    print(  # noqa: T201 - a script
        f"{tally.edits} edits over {books} books: {tally.cells:,} cells in LibreOffice, {last:,} in Gnumeric, "
        f"{len(tally.found)} differences; {dict(tally.counts)}; {seconds:.0f} s"
    )
    for one in tally.found:
        print(one)  # noqa: T201 - a script
    return bool(tally.found)


if __name__ == "__main__":
    sys.exit(main(*(*map(int, sys.argv[1:]), *(20, 25)[len(sys.argv) - 1 :])))
