"""A workbook's inputs as a book again."""

from __future__ import annotations

import csv
import datetime as dt
from functools import lru_cache

import books
import faults
import handmade
import pytest
from again import WHEN, built_again
from click.testing import CliRunner

from baybook.cli import main
from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.job.reading import BOOK_FILES
from baybook.problems import BookError
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.export import export_workbook
from baybook.workbook.given import rate_fields


@lru_cache(maxsize=1)
def made() -> Made:
    return make_workbook(books.estimate(overrides=[{"item": "strap", "quantity": 7, "note": '=one, "spare"'}]), WHEN)


def place(key, row=0):
    sheet, line, col = made().layout.address(key, row)
    return sheet, f"{column_letter(col)}{line}"


def rows_of(path):
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture
def workbook(tmp_path):
    path = tmp_path / "deck.xlsx"
    path.write_bytes(made().data)
    return path


def with_inputs(workbook, changes):
    cells = {place(key, row): value for (key, row), value in changes.items()}
    workbook.write_bytes(handmade.with_cells(workbook.read_bytes(), cells))


@pytest.mark.parametrize("seed", [11, 12, 19])  # 11 is metric, 12 has two liners, 19 has six areas and posts
def test_built_exported_built(seed, tmp_path):
    assert built_again(seed, tmp_path) == []


def test_the_files_of_a_book(workbook, tmp_path):
    exported = export_workbook(workbook, tmp_path / "book")
    names = [path.name for path in exported.files]
    assert names == ["jobs.csv", "areas.csv", "liners.csv", "prices.csv", "rates.csv", "overrides.csv", "quote.csv"]
    assert sorted(path.name for path in (tmp_path / "book").iterdir()) == sorted(names)
    assert (exported.job, exported.on) == ("D8", None)
    (area,) = rows_of(tmp_path / "book" / "areas.csv")
    assert (area["job"], area["width"], area["joist"], area["liner"], area["layout"]) == (
        "D8",
        "192 in",
        "2x10",
        "sheet",
        "left",
    )
    (override,) = rows_of(tmp_path / "book" / "overrides.csv")
    assert override["note"] == '\'=one, "spare"'  # marked as text for spreadsheet programs
    rates = {row["key"]: row["value"] for row in rows_of(tmp_path / "book" / "rates.csv")}
    # all of them, so that later defaults change nothing; one without a value is left out
    assert rates.keys() == {"units"} | {one.name for one in rate_fields()} - {"leader_capacity_gpm"}
    assert (rates["units"], rates["waste_seam_tape"], rates["crew"]) == ("us", "5%", "2")


def test_what_a_person_typed_stays_as_typed(workbook, tmp_path):
    with_inputs(
        workbook, {("a_width", 0): "17' 3-1/2\"", ("a_area", 0): "main deck", ("job_notes", 0): "#1: call, then go"}
    )
    export_workbook(workbook, tmp_path / "book")
    assert rows_of(tmp_path / "book" / "areas.csv")[0]["width"] == "17' 3-1/2\""
    (inputs,) = read_book(tmp_path / "book", dt.date(2026, 6, 15))
    assert (inputs.areas[0].width_in, inputs.areas[0].area) == (207.5, "main deck")
    assert inputs.job.notes == "#1: call, then go"


def test_inputs_that_the_rules_refuse_are_exported_all_the_same(workbook, tmp_path):
    with_inputs(workbook, {("a_spacing", 0): 24.0})
    export_workbook(workbook, tmp_path / "book")
    (inputs,) = read_book(tmp_path / "book", dt.date(2026, 6, 15))
    with pytest.raises(BookError, match="spacing"):
        build_estimate(inputs)


def test_the_day_of_a_job_in_pricing(workbook, tmp_path):
    with_inputs(workbook, {("job_quoted_on", 0): None, ("job_status", 0): "pricing"})
    done = CliRunner().invoke(main, ["export", str(workbook), "--out", str(tmp_path / "book")], catch_exceptions=False)
    assert done.exit_code == 0
    assert done.stderr == "job D8 has no quote date; its prices are those of that day: --on 2026-06-15\n"
    assert done.stdout.splitlines()[0].endswith("jobs.csv")


def test_of_an_older_layout_too(workbook, tmp_path):
    # another mark, tables elsewhere, an input that did not exist yet
    def older(xml):
        return xml.replace(b'<definedName name="a_borders"', b'<definedName name="a_frames"')

    with_inputs(workbook, {("layout_id", 0): "00000000"})
    workbook.write_bytes(handmade.with_parts(workbook.read_bytes(), {"xl/workbook.xml": older}))
    export_workbook(workbook, tmp_path / "book")
    assert "borders" not in rows_of(tmp_path / "book" / "areas.csv")[0]
    assert read_book(tmp_path / "book", dt.date(2026, 6, 15))[0].areas[0].borders == 0


def test_a_folder_with_a_book_in_it_is_left_alone(workbook, tmp_path):
    (tmp_path / "areas.csv").write_text("mine", encoding="utf-8")
    done = CliRunner().invoke(main, ["export", str(workbook), "--out", str(tmp_path)], catch_exceptions=False)
    assert (done.exit_code, done.stdout) == (1, "")
    assert f"areas.csv: stands in {tmp_path} already; choose an empty folder" in done.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["areas.csv", "deck.xlsx"]


def test_problems_of_inputs_write_nothing(workbook, tmp_path):
    with_inputs(workbook, {("a_width", 0): "wide"})
    with pytest.raises(BookError, match=rf"deck.xlsx: Areas!{place('a_width')[1]} width: wide is not read as a length"):
        export_workbook(workbook, tmp_path / "book")
    assert not (tmp_path / "book").exists()


def test_a_disk_that_fails_leaves_no_half_a_book(workbook, tmp_path):
    book = tmp_path / "book"
    book.mkdir()

    def save():
        for file in book.iterdir():
            file.unlink()
        export_workbook(workbook, book)

    def alone():
        for file in book.iterdir():
            file.unlink()

    alone()
    with faults.failing_calls() as made_calls:
        save()
    for number in (1, 8, len(made_calls) // 2, len(made_calls) - 3):
        alone()
        try:
            with faults.failing_calls(number):
                save()
            whole = True
        except BookError:
            whole = False
        names = {path.name for path in book.iterdir()}
        assert len(names) in ({7} if whole else {0}), (number, made_calls[number - 1], names)
        assert {name.removesuffix(".csv") for name in names} <= set(BOOK_FILES)
