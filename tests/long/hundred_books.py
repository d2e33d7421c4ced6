"""Compare a hundred generated workbooks with both programs: ``python tests/long/hundred_books.py [BOOKS]``, 5 minutes.

Half are random books, half stand on the limits of the rules. Every value stored beside a formula is held against a
recalculation that LibreOffice, loading the files, and Gnumeric are forced to; prints the cells that differ.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from live.programs import compare, recalc_gnumeric, recalc_libreoffice
from live.recalculated import estimate_of, stored, written

BATCH = 10
PROGRAMS = {"LibreOffice": recalc_libreoffice, "Gnumeric": recalc_gnumeric}


def main(books: int) -> int:
    wanted = [(kind, seed) for seed in range((books + 1) // 2) for kind in ("random", "limit")][:books]
    figures = differing = metric = 0
    start = time.perf_counter()
    for first in range(0, books, BATCH):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            made = {}
            for kind, seed in wanted[first : first + BATCH]:
                one = estimate_of(kind, seed, folder)
                metric += one.inputs.rates.units == "metric"
                path = folder / f"{kind} {seed}.xlsx"
                made[path] = stored(written(one, path))
            for program, recalculated in PROGRAMS.items():
                found = recalculated(list(made), folder)
                for path, ours in made.items():
                    said = compare(ours, found[path], list(ours))
                    figures, differing = figures + len(ours), differing + len(said)
                    for sentence in said[:5]:
                        print(f"{program}, {path.stem}: {sentence}")  # noqa: T201 - a script
    print(  # noqa: T201 - a script
        f"{books} books ({metric} metric), {figures:,} figures compared in two programs, {differing} differ, "
        f"{time.perf_counter() - start:.0f} s"
    )
    return differing > 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100))
