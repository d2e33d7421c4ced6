"""The example book: complete, accepted by the engine, and never written over somebody's own files."""

from __future__ import annotations

import datetime as dt

import pytest

from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.example import NEW_LIST, example_files, write_example
from baybook.job.reading import BOOK_FILES
from baybook.job.records import CUT_GOODS, ITEMS
from baybook.problems import BookError

LONG_AGO = dt.date(
    1999, 1, 1
)  # no price is in force that day: what the example gives may not hang on the day of the run


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return write_example(tmp_path_factory.mktemp("example") / "deep" / "book")


@pytest.fixture(scope="module")
def jobs(book):
    return read_book(book, LONG_AGO)


def test_every_kind_of_file_is_there(book):
    assert {path.name for path in book.iterdir()} == {f"{name}.csv" for name in BOOK_FILES} | {NEW_LIST}


def test_all_jobs_are_priced_whatever_the_day(jobs):
    estimates = [build_estimate(one) for one in jobs]
    assert [one.inputs.job.status for one in estimates] == ["offered", "pricing", "pricing"]
    for one in estimates:
        assert one.totals.price > one.totals.materials + one.totals.labour > 0
        assert not [finding for finding in one.findings if finding.failed]
        assert all(cut.plan.proven for cut in one.cuts)


def test_one_job_from_sheets_and_one_from_long_rolls(jobs):
    bought = [
        {piece.length_in for piece in one.prices if piece.item == "liner" and piece.liner in one.liners} for one in jobs
    ]
    assert bought == [{144.0, 192.0}, {600.0, 1200.0}, {144.0, 192.0}]


def test_it_shows_what_a_book_can_say(jobs):
    framing = {row.kind for one in jobs for row in one.framing}
    assert framing == {"member", "divider", "flush_beam", "dropped_beam", "blocking", "opening"}
    areas = [area for one in jobs for area in one.areas]
    lines = [area.gutter_line for area in areas if area.gutter_line]
    assert len(lines) > len(set(lines)), "two areas share a gutter"
    assert {area.gutter_side for area in areas} == {"rim", "ledger"}
    assert any(area.borders for area in areas)
    assert any(area.wall_height_in for area in areas)
    assert any(area.posts_through for area in areas)
    assert all(
        any(getattr(one, part) for one in jobs)
        for part in ("extras", "overrides", "stock", "posts", "codes", "measured")
    )
    assert any(area.shape for area in areas)


def test_the_price_list_has_a_price_before_and_after_and_something_to_choose(jobs):
    prices = jobs[0].prices
    assert {row.item for row in prices} == set(ITEMS)
    assert len({row.supplier for row in prices}) == 3
    skus = [(row.supplier, row.sku) for row in prices]
    assert len(skus) - len(set(skus)) >= 10
    sold_by = {item: {row.supplier for row in prices if row.item == item} for item in ITEMS}
    assert sum(len(who) > 1 for who in sold_by.values()) >= 5
    assert {row.item for row in prices if row.length_in} == set(CUT_GOODS)


def test_writing_it_again_changes_nothing(book):
    before = {path.name: path.stat().st_mtime_ns for path in book.iterdir()}
    write_example(book)
    assert {path.name: path.stat().st_mtime_ns for path in book.iterdir()} == before


def test_somebodys_own_files_are_named_and_kept(tmp_path):
    (tmp_path / "areas.csv").write_text("mine", encoding="utf-8")
    (tmp_path / "jobs.csv").mkdir()
    (tmp_path / "liners.csv").write_bytes(example_files()["liners.csv"])
    with pytest.raises(BookError) as found:
        write_example(tmp_path)
    assert [problem.source for problem in found.value.problems] == ["jobs.csv", "areas.csv"]
    assert "choose an empty folder" in str(found.value)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["areas.csv", "jobs.csv", "liners.csv"]
    assert (tmp_path / "areas.csv").read_text(encoding="utf-8") == "mine"


def test_a_file_in_place_of_the_folder(tmp_path):
    (tmp_path / "deck").write_text("", encoding="utf-8")
    with pytest.raises(BookError, match="is a file, not a folder"):
        write_example(tmp_path / "deck")
    with pytest.raises(BookError, match="nothing was written"):
        write_example(tmp_path / "deck" / "under")
