"""A hundred books that vary the water, each held against the engine and recalculated by LibreOffice and Gnumeric.

Prints how many cells of the water, decisions and framer sheets were compared and how many differ (none should). About
six minutes on one core. Run: ``python tests/long/water_books.py [BOOKS]``.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from live.programs import compare
from live.test_water_live import PROGRAMS, written


def main() -> None:
    books = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    cells, differ = 0, []
    for start in range(0, books, 20):
        with tempfile.TemporaryDirectory() as folder:
            made = written(Path(folder), range(start, min(books, start + 20)))
            for name, recalculate in PROGRAMS.items():
                found = recalculate(list(made), Path(folder))
                for path, ours in made.items():
                    cells += len(ours)
                    differ += [f"{name} {path.stem}: {line}" for line in compare(ours, found[path], list(ours))]
        sys.stdout.write(f"{min(books, start + 20)} books, {cells} cells compared, {len(differ)} differ\n")
    sys.stdout.write("".join(f"{line}\n" for line in differ[:20]))
    sys.exit(bool(differ))


if __name__ == "__main__":
    main()
