"""Water checks, decisions and the framer's page in LibreOffice and Gnumeric: every cell as it was worked out here.

Ten books that vary the water (`waterbooks`), each held against the engine while it was made; the hundred of
``tests/long/water_books.py`` are the same test.
"""

from __future__ import annotations

import datetime as dt

import pytest
from live.programs import compare, needs, recalc_gnumeric, recalc_libreoffice
from waterbooks import wet_estimate

from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter

pytestmark = pytest.mark.live

BOOKS = 10
WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  the time of the run is the user's own
SHEETS = ("Rain and methods", "Water checks", "Decisions", "Framer", "Work water", "Work framer", "Checks", "Quote")
PROGRAMS = {"soffice": recalc_libreoffice, "ssconvert": recalc_gnumeric}


def written(folder, seeds):
    """Write a book a seed; return path to the values of its formulas on the sheets above."""
    books = {}
    for seed in seeds:
        made = make_workbook(wet_estimate(seed), WHEN)
        path = folder / f"water{seed}.xlsx"
        path.write_bytes(made.data)
        books[path] = {
            (sheet, f"{column_letter(col)}{row}"): value
            for (sheet, row, col), value in made.values.items()
            if sheet in SHEETS
        }
    return books


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    return written(tmp_path_factory.mktemp("water"), range(BOOKS))


@pytest.mark.parametrize("program", PROGRAMS)
def test_every_cell_is_what_the_program_works_out(program, books, tmp_path):
    needs(program)
    found = PROGRAMS[program](list(books), tmp_path)
    count = 0
    for path, ours in books.items():
        assert compare(ours, found[path], list(ours)) == [], path.stem
        count += len(ours)
    assert count > BOOKS * 1000
