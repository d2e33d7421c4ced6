"""The example workbooks in workbooks/ are what the program makes today, cell by cell."""

from __future__ import annotations

import openpyxl
import pytest
from example_workbooks import FOLDER, write_workbooks
from openpyxl.utils import get_column_letter

MADE = sorted(FOLDER.glob("[A-Z][A-Z]-*.xlsx"))  # the example's job codes


@pytest.fixture(scope="module")
def today(tmp_path_factory):
    folder = tmp_path_factory.mktemp("workbooks")
    return {path.name: path for path in write_workbooks(folder)}


def cells(path, *, values):
    """Return what stands in every cell: formulas and texts, or the stored values."""
    book = openpyxl.load_workbook(path, data_only=values, read_only=True)
    found = {
        (sheet.title, f"{get_column_letter(col)}{row}"): value
        for sheet in book.worksheets
        for row, line in enumerate(sheet.iter_rows(values_only=True), 1)
        for col, value in enumerate(line, 1)
        if value is not None
    }
    book.close()
    return found


def differences(kept, made, *, values):
    """Return a sentence for each cell that is not the same."""
    before, after = cells(kept, values=values), cells(made, values=values)
    return [
        f"{sheet}!{cell}: {before.get((sheet, cell))!r} is kept, {after.get((sheet, cell))!r} is made today"
        for sheet, cell in sorted(before.keys() | after.keys())
        if before.get((sheet, cell)) != after.get((sheet, cell))
    ]


def names(path):
    return {name: one.attr_text for name, one in openpyxl.load_workbook(path).defined_names.items()}


def test_every_job_of_the_example_is_there(today):
    assert {path.name for path in MADE} == set(today)


@pytest.mark.parametrize("kept", MADE, ids=[path.name for path in MADE])
def test_a_workbook_is_current(kept, today):
    made = today[kept.name]
    assert differences(kept, made, values=False)[:10] == []
    assert differences(kept, made, values=True)[:10] == []
    assert names(kept) == names(made)


@pytest.mark.parametrize("kept", MADE[:1], ids=[path.name for path in MADE[:1]])
def test_one_cell_that_differs_is_found(kept, today, tmp_path):
    book = openpyxl.load_workbook(today[kept.name])
    book["Areas"]["A9"] = "another"
    book.save(tmp_path / kept.name)
    said = differences(kept, tmp_path / kept.name, values=False)
    assert any(one.startswith("Areas!A9: ") and "'another'" in one for one in said)
