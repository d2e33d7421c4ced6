"""Quote, site sheet and labels as PDF by LibreOffice: the paper asked for, and one page an area."""

from __future__ import annotations

import re
import shutil
import subprocess

import pytest
from books import book_folder
from click.testing import CliRunner
from live.programs import needs

from baybook.cli import main

pytestmark = pytest.mark.live

POINTS = {"letter": (612, 792), "a4": (595, 842)}  # ISO 216 and ANSI/ASME Y14.1 in points, from memory


@pytest.mark.parametrize("paper", POINTS)
def test_papers_as_pdf(paper, tmp_path):
    needs("soffice")
    needs("pdftoppm")
    book = book_folder(
        tmp_path / "book", areas=[{}, {"area": "side", "borders": "1"}, {"area": "low", "height": "7 ft"}]
    )
    out = tmp_path / "out"
    words = ["quote", str(book), "--pdf", "--site", "--paper", paper, "--out", str(out)]
    result = CliRunner().invoke(main, words)
    assert result.exit_code == 0, result.output
    said = {}
    for name in ("quote", "site", "labels"):
        info = subprocess.run(
            [shutil.which("pdfinfo"), str(out / f"D8 {name}.pdf")], capture_output=True, text=True, check=True
        ).stdout
        wide, high = (round(float(one)) for one in re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups())
        assert (wide, high) == POINTS[paper]
        said[name] = int(re.search(r"Pages:\s+(\d+)", info)[1])
    assert said["site"] == 1 + 3  # goods, and a page an area
    assert said["quote"] <= 3
    assert said["labels"] >= 1
