"""The workbooks of buying are worked out alike by LibreOffice and Gnumeric: every formula, recalculated."""

from __future__ import annotations

import datetime as dt

import pytest
from live.programs import compare, needs, recalc_gnumeric, recalc_libreoffice
from published.test_ubl_order_schema import odd_order
from test_buying_commands import reconciliation

from baybook.workbook import buying as sheets
from baybook.workbook.declare import column_letter, layout
from baybook.workbook.evaluate import evaluate

pytestmark = pytest.mark.live
WHEN = dt.datetime(2026, 9, 21)  # noqa: DTZ001 - a wall clock as the log shows it
RECALCULATE = {"soffice": recalc_libreoffice, "ssconvert": recalc_gnumeric}


@pytest.mark.parametrize("program", RECALCULATE)
def test_every_formula(program, tmp_path):
    needs(program)
    books = {
        "order": (sheets.order_spec(odd_order(3)), sheets.order_workbook(odd_order(3), WHEN)),
        "reconciliation": (
            sheets.reconciliation_spec(reconciliation(), WHEN),
            sheets.reconciliation_workbook(reconciliation(), WHEN),
        ),
    }
    ours = {}
    for name, (spec, data) in books.items():
        path = tmp_path / f"{name}.xlsx"
        path.write_bytes(data)
        values = evaluate(spec, layout(spec))
        ours[path] = {(sheet, f"{column_letter(col)}{row}"): value for (sheet, row, col), value in values.items()}
    theirs = RECALCULATE[program](list(ours), tmp_path)
    for path, values in ours.items():
        assert compare(values, theirs[path], list(values)) == []
