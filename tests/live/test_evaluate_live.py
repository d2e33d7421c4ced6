"""Every formula worked out here is worked out alike by LibreOffice and Gnumeric.

The books are those whose answers `test_workbook_machinery` knows by hand: every allowed function, the running columns,
and random rows looked up in every way. Where a program is known to differ, the formula is named with the reason, and
the test fails as soon as it no longer differs.
"""

from __future__ import annotations

import pytest
from live.programs import compare, needs, recalc_gnumeric, recalc_libreoffice
from test_workbook_machinery import ANSWERS, WHEN, beside_kinds, full_book, looked_up, running, stacked

from baybook.workbook.declare import column_letter, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.semantics import ErrorValue
from baybook.workbook.xlsx import write_xlsx

pytestmark = pytest.mark.live

# The sheets use none of these forms.
LIBREOFFICE_DIFFERS = {
    "=TRUE=1": "a truth value is a number there",
    "=0^0": "it is 1 there",
    '=TRUE&""': "a truth value is a number there",
    '=COUNTIF(kinds,"?*")': "numbers match too",
}
GNUMERIC_DIFFERS = {
    "=2^3^2": "powers group from the right",
    "=10^400": "it is infinity, no error",
    "=IFERROR(10^308*1000,1)": "it is infinity, no error",
    "=SUM(10^308,10^308)": "it is infinity, no error",
    '=IF("x",1,2)': "a text is no error as a condition",
    '=(1/3)&""': "more digits than 15",
}
RECALCULATE = {
    "soffice": (recalc_libreoffice, LIBREOFFICE_DIFFERS),
    "ssconvert": (recalc_gnumeric, GNUMERIC_DIFFERS),
}


def write(path, spec):
    """Write a book; return what each formula cell holds, errors as one word."""
    placed = layout(spec)
    values = evaluate(spec, placed)
    with path.open("wb") as stream:
        write_xlsx(spec, placed, values, stream, properties={"title": "Live"}, modified=WHEN)
    return {
        (sheet, f"{column_letter(col)}{row}"): "error" if isinstance(value, ErrorValue) else value
        for (sheet, row, col), value in values.items()
    }


def as_one_word(values):
    """Programs name errors differently, and a file cannot hold all their names."""
    return {
        at: "error" if isinstance(value, str) and value.startswith(("#", "Err:")) else value
        for at, value in values.items()
    }


@pytest.fixture(scope="module")
def books(tmp_path_factory):
    folder = tmp_path_factory.mktemp("books")
    named = {f"answer_{i:03}": formula for i, (formula, _) in enumerate(ANSWERS)}
    specs = {
        "answers": beside_kinds(**named),
        "running": running(),
        "stacked": stacked(),
        "full": full_book(),
        **{f"rows{seed}": looked_up(seed)[0] for seed in range(5)},
    }
    made = {folder / f"{name}.xlsx": spec for name, spec in specs.items()}
    return {path: (spec, write(path, spec)) for path, spec in made.items()}


@pytest.fixture(scope="module", params=RECALCULATE)
def recalculated(request, books, tmp_path_factory):
    needs(request.param)
    run, differing = RECALCULATE[request.param]
    found = run(list(books), tmp_path_factory.mktemp("work"))
    return {path: as_one_word(values) for path, values in found.items()}, differing


def formula_cells(spec):
    """Where each formula of the book of answers stands."""
    placed = layout(spec)
    return {
        formula: (placed.address(f"answer_{i:03}")[0], f"B{placed.address(f'answer_{i:03}')[1]}")
        for i, (formula, _) in enumerate(ANSWERS)
    }


def test_every_function_gives_what_the_program_gives(books, recalculated):
    values, differing = recalculated
    path = next(each for each in books if each.stem == "answers")
    spec, ours = books[path]
    cells = formula_cells(spec)
    agreed = [at for formula, at in cells.items() if formula not in differing]
    assert len(agreed) > 100
    assert compare(ours, values[path], agreed) == []
    for formula, reason in differing.items():
        assert compare(ours, values[path], [cells[formula]]), f"{formula} no longer differs ({reason})"


def test_running_columns_and_look_ups_give_what_the_program_gives(books, recalculated):
    values, _ = recalculated
    count = 0
    for path, (_, ours) in books.items():
        if path.stem != "answers":
            assert compare(ours, values[path], list(ours)) == [], path.stem
            count += len(ours)
    assert count > 5 * 60 * 10
