from __future__ import annotations

import csv

import pytest
from live.programs import as_loaded_libreoffice

from baybook.files.table import write_table

pytestmark = pytest.mark.live

FROM_OUTSIDE = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1,1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "  =1+1",
    "'=1+1",
    '=HYPERLINK("http://127.0.0.1:1/","x")',
    "=cmd|' /C x'!A0",
    '=WEBSERVICE("http://127.0.0.1:1/")',
    '=DDE("soffice";"/etc/passwd";"A1")',
    "=1+1;=1+1",
]


def test_text_from_outside_stays_text_in_libreoffice(tmp_path):
    marked, bare = tmp_path / "marked.csv", tmp_path / "bare.csv"
    write_table(marked, ["text", "number"], [[text, -3] for text in FROM_OUTSIDE])
    with bare.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([["text", "number"], *([text, -3] for text in FROM_OUTSIDE)])
    values = as_loaded_libreoffice([marked, bare], tmp_path)

    (sheet,) = {sheet for sheet, _ in values[marked]}
    shown = [values[marked][sheet, f"A{row}"] for row in range(2, 2 + len(FROM_OUTSIDE))]
    assert [text.replace("_x000D_", "\r").split() for text in shown] == [f"'{text}".split() for text in FROM_OUTSIDE]
    assert {values[marked][sheet, f"B{row}"] for row in range(2, 2 + len(FROM_OUTSIDE))} == {-3}

    (sheet,) = {sheet for sheet, _ in values[bare]}
    assert values[bare][sheet, "A2"] == 2, "without the mark the text acts, so the check above can fail"
