"""A workbook whose quote names another job as an option gives a book that stands by itself."""

from __future__ import annotations

import csv
import datetime as dt
from dataclasses import replace

import pytest
from again import WHEN
from books import JOB, book_folder, csv_text

from baybook.batch import estimates_of
from baybook.problems import BookError
from baybook.workbook.build import make_workbook
from baybook.workbook.export import export_workbook

TODAY = dt.date(2026, 6, 15)


@pytest.fixture
def jobs(tmp_path):
    rows = [(JOB, "gutter at the house", "D8-B"), ("D8-B", "gutter outside", JOB)]
    quote = csv_text([{"job": job, "kind": "option", "words": words, "of": of} for job, words, of in rows])
    areas = [{}, {"job": "D8-B", "gutter_side": "ledger"}]
    return estimates_of(book_folder(tmp_path / "book", jobs=[{}, {"job": "D8-B"}], areas=areas, quote=quote), TODAY)


def exported(estimate, folder):
    (folder / "deck.xlsx").write_bytes(make_workbook(estimate, WHEN).data)
    export_workbook(folder / "deck.xlsx", folder / "again")
    with (folder / "again" / "quote.csv").open(encoding="utf-8", newline="") as file:
        (row,) = (row for row in csv.DictReader(file) if row["kind"] == "option")
    return row


@pytest.mark.parametrize("job", [0, 1])  # one option is dearer, the other cheaper
def test_the_difference_takes_the_place_of_the_job(job, jobs, tmp_path):
    more = jobs[1 - job].totals.price - jobs[job].totals.price
    assert (more > 0) == (job == 0)
    assert exported(jobs[job], tmp_path)["of"] == ""
    (again,) = estimates_of(tmp_path / "again", TODAY)
    assert [row.amount for row in again.inputs.quote if row.kind == "option"] == [more]
    assert again.totals.price == jobs[job].totals.price


def test_a_job_whose_price_is_not_known_stays_named_and_is_asked_for(jobs, tmp_path):
    assert exported(replace(jobs[0], options={}), tmp_path)["of"] == "D8-B"
    with pytest.raises(BookError, match="'D8-B' is no job of this book"):
        estimates_of(tmp_path / "again", TODAY)
