"""A failed check blocks an offer until a named person accepts it: build refuses, and check says how."""

from __future__ import annotations

import datetime as dt

import handmade
import pytest
from books import JOB, book_folder, csv_text, deck, estimate, inputs_of
from click.testing import CliRunner

from baybook.cli import main
from baybook.offering import accepted, open_failures, refusals
from baybook.problems import BookError
from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.read import read_workbook

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  the file holds no zone
BEAM = [{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]  # 142.5 - 138 - 2.25 = 2.25 in, 6.5 are needed
ACCEPTED = {"rule": "G9", "where": "main", "person": "A. Marlow", "reason": "the beam moves", "on": "2026-06-14"}


def acceptances(*rows):
    return csv_text([{"job": JOB, **ACCEPTED, **row} for row in rows])


def run(*words):
    result = CliRunner().invoke(main, [str(word) for word in words])
    return result.exit_code, result.stdout, result.stderr


@pytest.mark.parametrize("status", ["pricing", "offered", "won"])
def test_only_an_offer_is_blocked(tmp_path, status):
    book = book_folder(tmp_path / "book", job={"status": status}, framing=BEAM)
    code, _, said = run("build", book, "--out", tmp_path / "out")
    assert code == (1 if status == "offered" else 0)
    assert (tmp_path / "out" / f"{JOB}.xlsx").exists() == (status != "offered")
    if status == "offered":
        assert said.startswith("jobs.csv:2: status: job D8 is offered, but a check has failed: main: ")
        assert "acceptances.csv or the workbook's accepted checks: D8,G9,main,PERSON,REASON,DATE" in said
        assert "nothing was written" in said


def test_check_says_it_too_and_takeoff_still_counts(tmp_path):
    book = book_folder(tmp_path / "book", job={"status": "offered"}, framing=BEAM)
    code, _, said = run("check", book)
    assert (code, "G9" in said) == (1, True)
    assert run("takeoff", book, "--json")[0] == 0


def test_a_workbook_that_is_made_an_offer_is_refreshed_and_told_what_it_lacks(tmp_path):
    made, path = make_workbook(estimate(job={"status": "pricing"}, framing=BEAM), WHEN), tmp_path / "deck.xlsx"

    def cell(key):
        sheet, row, col = made.layout.address(key)
        return sheet, f"{column_letter(col)}{row}"

    path.write_bytes(handmade.with_cells(made.data, {cell("job_status"): "offered"}))
    code, _, said = run("refresh", path)
    assert code == 3
    sheet, at = cell("job_status")
    assert f"deck.xlsx: {sheet}!{at} status: job D8 is offered, but a check has failed: main: " in said
    assert read_workbook(path).at("job_status") == "offered"
    assert run("refresh", path)[0] == 3  # up to date, and no offer yet
    named = {"acc_rule": "G9", "acc_where": "main", "acc_person": "A. Marlow", "acc_reason": "the beam moves"}
    path.write_bytes(handmade.with_cells(path.read_bytes(), {cell(key): value for key, value in named.items()}))
    assert run("refresh", path)[0] == 1  # an acceptance needs its day
    path.write_bytes(handmade.with_cells(path.read_bytes(), {cell("acc_on"): 46000.0}))
    assert run("refresh", path)[0] == 0


def test_one_blocked_job_keeps_all_from_being_written(tmp_path):
    jobs = [{"status": "offered"}, {"job": "D9", "status": "offered"}]
    areas = [{}, {"job": "D9"}]
    book = book_folder(tmp_path / "book", jobs=jobs, areas=areas, framing=BEAM)
    assert run("build", book, "--out", tmp_path / "out")[0] == 1
    assert not (tmp_path / "out").exists()


def test_a_named_persons_reason_lets_it_pass(tmp_path):
    book = book_folder(tmp_path / "book", job={"status": "offered"}, framing=BEAM, acceptances=acceptances({}))
    code, _, _ = run("build", book, "--out", tmp_path / "out")
    assert (code, (tmp_path / "out" / f"{JOB}.xlsx").exists()) == (0, True)


@pytest.mark.parametrize("change", [{"rule": "O3"}, {"where": "side"}])
def test_it_must_be_that_check(change):
    made = estimate(job={"status": "offered"}, framing=BEAM, acceptances=acceptances(change))
    assert len(refusals(made.inputs, made.findings)) == 1
    assert accepted(made.inputs, made.findings) == ()
    (idle,) = [one for one in made.findings if "which has not failed" in one.message]
    assert not idle.failed
    assert idle.message.startswith("A. Marlow accepted this check")


def test_each_check_needs_its_own():
    one_leader = {"leader_capacity_gpm": 1000}
    roof = {"area": {"roof_area": "9000"}, "job": {"status": "offered"}, "framing": BEAM, "rates": one_leader}
    made = estimate(**roof)
    failed = {(one.rule, one.where) for one in made.findings if one.failed}
    assert {("G9", "main"), ("W2", "main bay outlet"), ("W2", "main gutter")} <= failed
    rows = [{"rule": rule.lower(), "where": where.upper()} for rule, where in failed]
    for last in range(len(rows) + 1):
        made = estimate(**roof, acceptances=acceptances(*rows[:last]) if last else "job,rule,where,person,reason,on\n")
        assert len(open_failures(made.inputs, made.findings)) == len(failed) - last
    assert refusals(made.inputs, made.findings) == ()


@pytest.mark.parametrize("column", ["rule", "where", "person", "reason", "on"])
def test_nothing_of_it_may_be_left_out(column):
    with pytest.raises(BookError, match=rf"acceptances.csv:2: {column}: is empty"):
        estimate(framing=BEAM, acceptances=acceptances({column: None}))


def test_what_cannot_be_accepted():
    for change, said in (({"rule": "P3"}, "use G9, O2, O3, W2"), ({"on": "14 June"}, "is not a date")):
        with pytest.raises(BookError, match=said):
            estimate(framing=BEAM, acceptances=acceptances(change))
    with pytest.raises(BookError, match="accepted already in line 2"):
        estimate(framing=BEAM, acceptances=acceptances({}, {"reason": "twice"}))
    with pytest.raises(BookError, match=r"no job of jobs\.csv"):
        estimate(framing=BEAM, acceptances=acceptances({"job": "D7"}))


# ---------------------------------------------------------------------------------------------- the other new files


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"capacity_gpm": 40, "area_sq_ft": 3000}, "one of the two"),
        ({}, "one of the two"),
        ({"kind": "leader", "size": "2x3", "fall": 0.0625, "capacity_gpm": 30}, "leave the fall empty"),
        ({"capacity_gpm": 40, "edition": None}, "edition: is empty"),
        ({"capacity_gpm": 40, "job": "D7"}, "no job of jobs.csv"),
    ],
)
def test_a_row_of_the_code_that_cannot_be_used(row, said):
    given = {"job": JOB, "kind": "gutter", "size": "k-style 5 in", "code": "Harbor County", "edition": "2021", **row}
    with pytest.raises(BookError, match=said):
        inputs_of({**deck(), "codes": csv_text([given])})


def test_two_editions_side_by_side_are_refused():
    one = {
        "job": JOB,
        "kind": "gutter",
        "size": "k-style 5 in",
        "capacity_gpm": 40,
        "code": "Harbor County",
        "edition": "2021",
    }
    with pytest.raises(BookError, match=r"Harbor County 2018 stands beside Harbor County 2021 of line 2"):
        inputs_of({**deck(), "codes": csv_text([one, {**one, "size": "box", "edition": "2018"}])})
    with pytest.raises(BookError, match="stands already in line 2 for the same fall"):
        inputs_of({**deck(), "codes": csv_text([one, {**one, "capacity_gpm": 50}])})


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"area": "porch"}, r"'porch' is no area of job D8: it has main"),
        ({"x": "17 ft"}, "17 ft lies outside area main, 16 ft wide"),
        ({"y": "12.5 ft"}, "12.5 ft lies outside area main, 12 ft deep"),
        ({"where": "beside"}, "inside, outside"),
    ],
)
def test_a_post_that_stands_nowhere(row, said):
    given = {"job": JOB, "area": "main", "x": "4 ft", "y": "6 ft", **row}
    with pytest.raises(BookError, match=said):
        inputs_of({**deck(), "posts": csv_text([given])})
