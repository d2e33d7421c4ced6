"""Re-pricing of a folder from end to end: books and workbooks mixed, and what is left, written and told."""

from __future__ import annotations

import datetime as dt
import io
import os
import re
import zipfile
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from decimal import Decimal
from itertools import pairwise
from pathlib import Path

import books
import handmade
import openpyxl
import pytest
import repricing
from click.testing import CliRunner
from fleet import read_csv
from repricing import MADE, ON, RESULTS, WHEN, new_list, run, state

from baybook.cli import main
from baybook.commands.reprice import _progress
from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.options import with_options
from baybook.problems import BookError
from baybook.reprice import run as running
from baybook.workbook.build import make_workbook
from baybook.workbook.read import book_of, read_workbook
from baybook.workbook.refresh import refreshed
from baybook.workbook.verify import verify_workbook

LATER = dt.datetime(2026, 7, 1, 9, 0)  # noqa: DTZ001  the files hold no zone


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """Return a mixed folder priced again: the folder, its list, what it held before and what the run says."""
    place = tmp_path_factory.mktemp("reprice")
    folder, prices = repricing.mixed(place / "bids"), new_list(place / "new.csv")
    before = state(folder)
    return folder, prices, before, run(folder, prices)


@pytest.fixture
def again(done, tmp_path, monkeypatch):
    """Return a copy of the folder as it was, for tests that change it; what was worked out once is remembered."""
    _, prices, before, _ = done
    monkeypatch.setattr(running, "work", repricing.remembered)
    (tmp_path / "bids").mkdir()
    repricing.put_back(tmp_path / "bids", before)
    return tmp_path / "bids", prices


@pytest.fixture
def afresh(again, monkeypatch):
    """Return a copy of the folder as it was; nothing is remembered."""
    monkeypatch.undo()
    return again


def command(*arguments, env=None):
    result = CliRunner().invoke(
        main, ["reprice", *map(str, arguments)], env={"SOURCE_DATE_EPOCH": "1782885600"} | (env or {})
    )
    return result.exit_code, result.stdout, result.stderr


def sheet(folder, name):
    return openpyxl.load_workbook(folder / RESULTS / "re-pricing.xlsx", data_only=True)[name]


# ------------------------------------------------------------------------------------------------ who is priced


def test_jobs_in_pricing_or_offered_are_priced_wherever_they_are(done):
    _, _, _, result = done
    assert [(one.source, one.job, one.status) for one in result.jobs] == [
        ("by mail/edited.xlsx", "X1", "offered"),
        ("north", "O1", "offered"),
        ("north", "P1", "pricing"),
        ("south/valley", "O9", "offered"),
        ("south/valley", "P7", "pricing"),
        ("south/valley/workbooks/O8.xlsx", "O8", "offered"),
    ]
    assert result.missed == ()
    assert result.written == tuple(
        sorted(
            [
                "by mail/edited.xlsx",
                "north/O1.xlsx",
                "north/P1.xlsx",
                "south/valley/O9.xlsx",
                "south/valley/P7.xlsx",
                "south/valley/workbooks/O8.xlsx",
            ]
        )
    )


def test_settled_jobs_are_listed_and_everything_but_edited_workbooks_is_byte_for_byte_as_it_was(done):
    folder, _, before, result = done
    assert [(one.source, one.job, str(one.problems[0])) for one in result.left] == [
        ("by mail/won.xlsx", "X2", "won.xlsx: status: job X2 is won: left as it is"),
        ("north", "D1", "jobs.csv:6: status: job D1 is done: left as it is"),
        ("north", "L1", "jobs.csv:5: status: job L1 is lost: left as it is"),
        ("north", "W1", "jobs.csv:4: status: job W1 is won: left as it is"),
    ]
    after = state(folder)
    changed = {name for name in before if after[name] != before[name]}
    assert changed == {"by mail/edited.xlsx", "south/valley/workbooks/O8.xlsx"}
    assert {name.split("/")[0] for name in after.keys() - before.keys()} == {RESULTS}


def test_an_edited_workbook_is_kept_in_one_dated_folder_and_patched_in_place(done):
    folder, _, before, _ = done
    kept = folder / RESULTS / "workbooks before 2026-07-01 060000"
    assert state(kept) == {name: before[name] for name in ("by mail/edited.xlsx", "south/valley/workbooks/O8.xlsx")}
    for name in state(kept):
        old, new = handmade.parts_of(before[name]), handmade.parts_of((folder / name).read_bytes())
        assert list(old) == list(new)
        ours = {f"xl/worksheets/sheet{n}.xml" for n in range(1, 60)}
        changed = {part for part in old if old[part] != new[part]}
        assert changed
        assert changed < ours & old.keys()  # and some sheets hold nothing that a price moves
        assert verify_workbook(folder / name, WHEN).differences == ()


def test_its_prices_are_those_of_the_new_list_and_the_log_says_so(done):
    folder, _, before, result = done
    old, new = book_of(before["by mail/edited.xlsx"], "x"), read_workbook(folder / "by mail/edited.xlsx")

    def prices(book):
        rows = range(book.names["v_sku"].rows)
        return {book.at("v_sku", row): book.at("v_pack_price", row) for row in rows if book.at("v_sku", row)}

    assert prices(old)["strap"] == 1.9
    assert prices(new) == prices(old) | {"strap": 2.09, "liner-12": 44.5, "hanger": 1.29}
    change = next(one for one in result.jobs if one.job == "X1")
    assert (old.at("quote_price"), new.at("quote_price")) == (float(change.old_price), float(change.new_price))
    lines = [new.at("log_what", row) for row in range(new.names["log_what"].rows)]
    assert [line for line in lines if line].count("priced by a new list") == 1
    assert new.at("log_before", [line for line in lines if line].index("priced by a new list")) == old.at("quote_price")


def test_every_new_price_is_that_of_a_fresh_estimate_of_the_same_job(done, tmp_path):
    folder, prices, before, result = done
    for source in ("north", "south/valley"):
        texts = {
            Path(name).stem: data.decode() for name, data in before.items()
            if name.startswith(f"{source}/") and name.endswith(".csv")
        }  # fmt: skip
        texts |= {"prices": prices.read_text("utf-8"), "jobs": texts["jobs"].replace("2026-06-15", ON.isoformat())}
        book = books.book_folder(tmp_path / source, texts)
        fresh = {one.job.job: build_estimate(one).totals.price for one in read_book(book, ON)}
        found = {one.job: one.new_price for one in result.jobs if one.source == source}
        assert found == {code: fresh[code] for code in found}
        for code, price in found.items():
            assert read_workbook(folder / RESULTS / source / f"{code}.xlsx").at("quote_price") == float(price)


def test_a_workbook_of_the_results_holds_all_that_its_inputs_give(done):
    folder, _, _, _ = done
    path = folder / RESULTS / "north" / "O1.xlsx"
    assert verify_workbook(path, WHEN).differences == ()
    assert refreshed(read_workbook(path), WHEN).cells == ()


def test_an_option_that_is_a_job_of_the_book_has_its_new_price_too(tmp_path):
    quote = [{"job": "O2", "kind": "option", "words": "as O1", "of": "O1"}]
    book = books.book_folder(tmp_path / "bids", repricing.tables("O1", "O2", quote=books.csv_text(quote)))
    result = run(book, new_list(tmp_path / "new.csv"))
    other, _ = result.jobs
    held = read_workbook(book / RESULTS / "O2.xlsx")
    assert (held.at("opt_of"), held.at("opt_price")) == ("O1", float(other.new_price))
    assert held.at("opt_on") == (ON - dt.date(1899, 12, 30)).days
    assert other.new_price != other.old_price
    assert verify_workbook(book / RESULTS / "O2.xlsx", WHEN).differences == ()


def test_a_workbook_by_itself_no_longer_offers_an_option_at_the_price_of_another_day(tmp_path):
    quote = [{"job": "O2", "kind": "option", "words": "as O1", "of": "O1"}]
    inputs = books.all_inputs_of(repricing.tables("O1", "O2", quote=books.csv_text(quote)))
    (_, with_option), unpriced = with_options(tuple(map(build_estimate, inputs)))
    assert unpriced == ()
    place = tmp_path / "by mail"
    place.mkdir()
    (place / "O2.xlsx").write_bytes(make_workbook(with_option, MADE).data)
    said = {row: str(read_workbook(place / "O2.xlsx").at("qo_words", row)) for row in range(16)}
    (row,) = (row for row, words in said.items() if words.startswith("as O1"))
    assert said[row] == "as O1"
    run(place, new_list(tmp_path / "new.csv"))
    held = read_workbook(place / "O2.xlsx")
    assert held.at("qo_words", row) == "as O1 (price on request)"
    assert held.at("opt_price") == float(with_option.options["o1"].price)
    assert held.at("price_date") == (ON - dt.date(1899, 12, 30)).days


def test_a_job_that_the_book_calls_won_is_left_though_its_workbook_says_offered(again):
    folder, prices = again
    repricing.edit(folder / "south" / "valley" / "jobs.csv", "O8", "status", "Won")
    held = (folder / "south/valley/workbooks/O8.xlsx").read_bytes()
    result = run(folder, prices)
    assert "O8" not in {one.job for one in result.jobs}
    assert (folder / "south/valley/workbooks/O8.xlsx").read_bytes() == held
    assert [one.source for one in result.left if one.job == "O8"] == ["south/valley/workbooks/O8.xlsx"]


def test_what_is_wrong_with_a_settled_job_is_nobodys_concern(again):
    folder, prices = again
    repricing.edit(folder / "north" / "areas.csv", "W1", "width", "wide")
    damaged = handmade.parts_of(repricing.workbook("X2", "won"))
    book = damaged["xl/workbook.xml"].decode()
    book = re.sub(r'<definedName name="a_width".*?</definedName>', "", book)
    (folder / "by mail" / "won.xlsx").write_bytes(handmade.packed(damaged | {"xl/workbook.xml": book.encode()}))
    result = run(folder, prices, dry_run=True)
    assert result.missed == ()
    assert {one.job for one in result.left} == {"X2", "D1", "L1", "W1"}


# ------------------------------------------------------------------------------------------------ again, and otherwise


def test_a_second_run_changes_nothing_at_all(done):
    folder, prices, _, first = done
    held = {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()}
    before = state(folder, journal=True)
    second = run(folder, prices, when=LATER)
    assert (second.written, second.files) == ((), ())
    assert second.jobs == first.jobs
    assert second.left == first.left
    assert state(folder, journal=True) == before
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*") if path.is_file()} == held


def test_a_dry_run_tells_the_same_and_writes_nothing(done, afresh):
    _, _, before, result = done
    folder, prices = afresh
    dry = run(folder, prices, dry_run=True)
    assert state(folder) == before
    assert {path.name for path in folder.iterdir()} == {"north", "south", "by mail"}
    assert dry.jobs == result.jobs
    assert dry.left == result.left
    assert dry.offers == result.offers
    assert (dry.written, dry.files) == ((), ())


def test_a_book_changed_since_is_priced_again_at_the_moment_of_that_run(again):
    folder, prices = again
    run(folder, prices)
    repricing.edit(folder / "north" / "areas.csv", "P1", "width", "14 ft")
    held = state(folder)
    result = run(folder, prices, when=LATER)
    assert result.written == ("north/O1.xlsx", "north/P1.xlsx")  # all of the book: its files are one state
    book = read_workbook(folder / RESULTS / "north" / "P1.xlsx")
    assert book.at("log_when", 0) == "2026-07-01 09:00"
    after = state(folder)
    assert {name for name in held if after[name] != held[name]} <= {
        f"{RESULTS}/{name}"
        for name in (
            "north/P1.xlsx",
            "north/O1.xlsx",
            *(f"re-pricing {one}.csv" for one in ("jobs", "items")),
            "re-pricing.xlsx",
        )
    }


def test_another_list_of_the_same_day_starts_from_what_was_before_the_first(again, tmp_path):
    folder, prices = again
    first = run(folder, prices)
    other = new_list(tmp_path / "other.csv", {"strap": {"pack_price": "2.50"}})
    second = run(folder, other, when=LATER)
    assert {one.job: one.old_price for one in first.jobs} == {one.job: one.old_price for one in second.jobs}
    change = next(one for one in second.jobs if one.job == "X1")
    assert "liner" not in change.effects  # the first list moved it, this one does not
    assert change.effects["strap"] > 0
    kept = folder / RESULTS / "workbooks before 2026-07-01 060000"
    assert sorted(state(kept)) == ["by mail/edited.xlsx", "south/valley/workbooks/O8.xlsx"]
    assert run(folder, other).written == ()
    assert len(run(folder, prices).written) == 6  # and back


def test_a_workbook_that_somebody_worked_in_after_the_run_is_left_to_him(again):
    folder, prices = again
    run(folder, prices)
    path = folder / "by mail" / "edited.xlsx"
    data = handmade.with_parts(path.read_bytes(), {"docProps/own.txt": b"mine"})
    path.write_bytes(data)
    result = run(folder, prices, when=LATER)
    assert result.written == ()
    assert path.read_bytes() == data
    assert "X1" in {one.job for one in result.jobs}


def test_a_result_that_somebody_worked_in_is_not_overwritten(again, tmp_path):
    folder, prices = again
    run(folder, prices)
    path = folder / RESULTS / "north" / "O1.xlsx"
    data = handmade.with_parts(path.read_bytes(), {"docProps/own.txt": b"mine"})
    path.write_bytes(data)
    other = new_list(tmp_path / "other.csv", {"strap": {"pack_price": "2.50"}})
    result = run(folder, other, when=LATER)
    assert path.read_bytes() == data
    (left,) = result.missed
    assert (left.source, left.job) == ("north", "O1")
    assert "was changed since it was written here" in left.problems[0].message


# ------------------------------------------------------------------------------------------------ held back


def test_a_slip_is_held_back_until_it_is_accepted(again, tmp_path):
    folder = again[0] / "north"
    slip = new_list(tmp_path / "slip.csv", {"strap": {"pack_price": "19.00"}, "hanger": {"pack_price": "1.29"}})
    first = run(folder, slip)
    assert [one.name for one in first.held] == ["Alder Yard/strap"]
    assert all(one.held == ("Alder Yard/strap",) for one in first.jobs)
    assert all("strap" not in one.effects and one.moved < 0 for one in first.jobs)
    rows = read_csv(folder / RESULTS / "re-pricing offers.csv")
    assert rows[0]["state"] == "held back"
    assert "a digit too many or too few" in rows[0]["why"]
    second = run(folder, slip, accept=["STRAP"], when=LATER)
    assert second.held == ()
    assert len(second.written) == 2
    assert all(one.effects["strap"] > 0 for one in second.jobs)
    assert {one.job: one.old_price for one in first.jobs} == {one.job: one.old_price for one in second.jobs}


def test_what_is_held_back_in_a_workbook_alone_is_told_by_the_second_run_too(again, tmp_path):
    folder = again[0] / "by mail"
    slip = new_list(tmp_path / "slip.csv", {"strap": {"pack_price": "19.00"}})
    first = run(folder, slip)
    assert [one.name for one in first.held] == ["Alder Yard/strap"]
    before = state(folder, journal=True)
    status, _, err = command(folder, "--prices", slip, "--on", ON, "--jobs", 1)
    assert status == 3
    assert "held back: Alder Yard/strap: was 1.90, is 19.00" in err
    assert state(folder, journal=True) == before


def test_a_slip_of_the_pen_in_accept_is_told_before_anything_is_done(again):
    folder, prices = again
    before = state(folder)
    with pytest.raises(BookError, match=r"'strop'.*which the new list has not"):
        run(folder, prices, accept=["strop"])
    assert state(folder) == before


@pytest.mark.parametrize("out", [".", "north", "../results"])
def test_results_have_a_folder_of_their_own(again, out):
    folder, prices = again
    if out == "../results":
        assert len(run(folder, prices, out=folder / out).written) == 6
        other = repricing.tables("P1")
        with pytest.raises(BookError, match="name another folder"):
            run(books.book_folder(folder.parent / "other", other), prices, out=folder / out)
    else:
        with pytest.raises(BookError, match="a folder of their own"):
            run(folder, prices, out=folder / out)


def test_what_is_open_elsewhere_is_left_and_told_and_done_the_next_time(again):
    folder, prices = again
    locks = [folder / "by mail" / "~$edited.xlsx", folder / RESULTS / "north" / ".~lock.P1.xlsx#"]
    before = state(folder)
    for lock in locks:
        lock.parent.mkdir(parents=True, exist_ok=True)
        lock.write_bytes(b"\x04Anna" if lock.name.startswith("~") else b"Anna,anna,desk,01.07.2026 05:00,file;")
    result = run(folder, prices)
    assert {(one.source, one.job) for one in result.missed} == {("by mail/edited.xlsx", ""), ("north", "P1")}
    assert all("Anna" in one.problems[0].message and "close it" in one.problems[0].message for one in result.missed)
    assert len(result.written) == 4
    assert state(folder)["by mail/edited.xlsx"] == before["by mail/edited.xlsx"]
    for lock in locks:
        lock.unlink()
    assert run(folder, prices, when=LATER).written == ("by mail/edited.xlsx", "north/P1.xlsx")


# ------------------------------------------------------------------------------------------------ the report


def test_the_report_is_one_page_with_jobs_items_offers_and_what_was_left(done):
    folder, _, _, result = done
    jobs = read_csv(folder / RESULTS / "re-pricing jobs.csv")
    assert {row["job"] for row in jobs} == {one.job for one in result.jobs}
    assert all(Decimal(row["new_price"]) - Decimal(row["old_price"]) == Decimal(row["more"]) for row in jobs)
    below = [row["below_floor"] for row in jobs]
    assert below == sorted(below, reverse=True)
    moves = [abs(Decimal(row["more"])) for row in jobs if row["below_floor"]]
    assert moves == sorted(moves, reverse=True)
    items = read_csv(folder / RESULTS / "re-pricing items.csv")
    assert sum(Decimal(row["effect"]) for row in items) == sum(one.moved for one in result.jobs)
    assert {row["item"] for row in items} >= {"strap", "liner", "hanger"}
    offers = {row["sku"]: row for row in read_csv(folder / RESULTS / "re-pricing offers.csv")}
    assert offers["strap"]["change"] == "0.100000" or float(offers["strap"]["change"]) == pytest.approx(0.1)
    assert (offers["strap"]["state"], offers["strap"]["old_price"], offers["strap"]["new_price"]) == (
        "changed",
        "1.90",
        "2.09",
    )
    left = read_csv(folder / RESULTS / "re-pricing left.csv")
    assert [(row["from"], row["file"], row["line"]) for row in left][1] == ("north", "jobs.csv", "6")


def test_the_workbook_of_the_report_says_the_same_and_its_formulas_hold(done):
    folder, _, _, result = done
    jobs = sheet(folder, "Jobs")
    heads = next(row for row in jobs.iter_rows(values_only=True) if row[0] == "job")
    rows = [row for row in jobs.iter_rows(values_only=True) if row[0] in {one.job for one in result.jobs}]
    found = {row[0]: dict(zip(heads, row, strict=True)) for row in rows}
    for one in result.jobs:
        assert found[one.job]["more"] == float(one.moved)
        assert found[one.job]["margin at old price"] == pytest.approx(one.margin_left, abs=1e-6)
    summary = [row for row in sheet(folder, "Summary").iter_rows(values_only=True) if row[0] == "USD"]
    (usd,) = summary
    assert float(sum(one.old_price for one in result.jobs)) in usd
    assert float(sum(one.new_price for one in result.jobs)) in usd


def test_its_first_page_shows_the_jobs_that_matter_most_and_because_of_what(done):
    folder, _, _, result = done
    rows = list(sheet(folder, "Summary").iter_rows(values_only=True))
    at = next(number for number, row in enumerate(rows) if row[0] == "job")
    shown = [row for row in rows[at + 1 :] if row[0] and "  " in row[0]]
    jobs = read_csv(folder / RESULTS / "re-pricing jobs.csv")
    assert [row[0] for row in shown] == [f"{one['job']}  {one['customer']}" for one in jobs]
    assert [row[1] for row in shown] == [one["most_because_of"] for one in jobs]
    assert [row[7] for row in shown] == [float(one["more"]) for one in jobs]
    assert len(shown) == len(result.jobs)


def test_the_waterfall_is_a_native_chart_whose_bars_lead_from_all_before_to_all_now(done):
    folder, _, _, result = done
    path = folder / RESULTS / "re-pricing.xlsx"
    with zipfile.ZipFile(path) as package:
        charts = [name for name in package.namelist() if name.startswith("xl/charts/chart")]
        xml = package.read(charts[0]).decode()
    assert len(charts) == 1
    assert "<barChart>" in xml
    assert 'grouping val="stacked"' in xml
    assert xml.count("<ser>") == 4
    assert xml.count("'Items'!") == 8  # four series, each with its names and its values
    rows = list(sheet(folder, "Items").iter_rows(values_only=True))
    at = next(number for number, row in enumerate(rows) if row[0] == "before")
    end = next(number for number, row in enumerate(rows) if row[0] == "now")
    steps = rows[at : end + 1]
    old, new = (float(sum(getattr(one, name) for one in result.jobs)) for name in ("old_price", "new_price"))
    assert steps[0][2] == old
    assert steps[-1][2] == new
    for before, step in pairwise(steps[:-1]):
        _, adds, to, foot, whole, up, down = step[:7]
        assert to == pytest.approx(before[2] + adds, abs=0.005)
        assert foot == pytest.approx(min(before[2], to), abs=0.005)
        assert (whole, up - down) == (0, pytest.approx(adds, abs=0.005))
        assert foot + up + down == pytest.approx(max(before[2], to), abs=0.005)


# ------------------------------------------------------------------------------------------------ executors


@pytest.mark.parametrize("kind", [ThreadPoolExecutor, ProcessPoolExecutor])
def test_any_executor_makes_the_same_of_it(done, afresh, kind):
    expected, _, _, result = done
    folder, prices = afresh
    with kind(2) as pool:
        found = run(folder, prices, executor=pool)
    assert state(folder) == state(expected)
    assert (found.jobs, found.left, found.written) == (result.jobs, result.left, result.written)


def test_two_processes_of_its_own_make_the_same_of_it(done, afresh):
    expected, _, _, _ = done
    folder, prices = afresh
    run(folder / "north", prices, jobs=2)
    made = state(folder / "north" / RESULTS)
    assert made["O1.xlsx"] == (expected / RESULTS / "north" / "O1.xlsx").read_bytes()
    assert made["P1.xlsx"] == (expected / RESULTS / "north" / "P1.xlsx").read_bytes()


def test_a_cluster_makes_the_same_of_it(done, afresh):
    distributed = pytest.importorskip("distributed", reason="dask's scheduler is not installed")
    expected, _, _, _ = done
    folder, prices = afresh
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        run(folder, prices, executor=client.get_executor())
    assert state(folder) == state(expected)


def test_the_jobs_of_a_process_that_dies_are_told_and_the_others_are_done(again, monkeypatch):
    folder, prices = again
    monkeypatch.setattr(running, "JOBS_A_TASK", 1)
    monkeypatch.setattr(running, "work", _dies_at_p7)
    result = run(folder, prices, jobs=2)
    assert "P7" not in {one.job for one in result.jobs}
    assert result.missed
    assert all("the process that worked on it ended" in one.problems[0].message for one in result.missed)
    monkeypatch.undo()
    assert run(folder, prices, when=LATER).missed == ()


def _dies_at_p7(task):
    if any("P7" in dict(getattr(part, "names", ())) for part in task.parts):
        os._exit(1)
    return repricing.remembered(task)


# ------------------------------------------------------------------------------------------------ the command


def test_the_command_tells_the_jobs_and_ends_with_one_line_for_a_script(done, again):
    _, _, _, result = done
    folder, prices = again
    status, out, err = command(folder, "--prices", prices, "--on", ON, "--jobs", 1)
    assert status == 0
    lines = out.splitlines()
    assert len([line for line in lines if "UNDER THE FLOOR" in line]) == sum(one.below_floor for one in result.jobs)
    assert lines[0].split()[0] == read_csv(folder / RESULTS / "re-pricing jobs.csv")[0]["job"]
    assert lines[-1] == "the list: 0 held back, 3 changed, 0 new, 0 ended"
    last = err.splitlines()[-1]
    assert last.startswith(
        "6 jobs priced again, 6 workbooks written, 4 won, lost or done, 0 left out, 0 offers held back"
    )
    assert last.endswith("re-pricing.xlsx")
    assert any(line.endswith("done") for line in err.splitlines())
    status, _, err = command(folder, "--prices", prices, "--on", ON, "--jobs", 1)
    assert status == 0
    assert err.splitlines()[-1].endswith("; nothing was new")


@pytest.mark.parametrize("dry", [[], ["--dry-run"]])
def test_something_left_out_ends_with_3_and_so_does_something_held_back(again, tmp_path, dry):
    folder, prices = again
    (folder / "by mail" / "~$edited.xlsx").write_bytes(b"\x04Anna")
    status, _, err = command(folder, "--prices", prices, "--on", ON, "--jobs", 1, *dry)
    assert status == 3
    assert "edited.xlsx: is open elsewhere" in err
    assert ", 1 left out," in err.splitlines()[-1]
    (folder / "by mail" / "~$edited.xlsx").unlink()
    slip = new_list(tmp_path / "slip.csv", {"strap": {"pack_price": "19.00"}})
    status, _, err = command(folder / "north", "--prices", slip, "--on", ON, "--jobs", 1, "--dry-run")
    assert status == 3
    assert "held back: Alder Yard/strap: was 1.90, is 19.00" in err
    assert err.splitlines()[-1].endswith("; nothing was written")


@pytest.mark.parametrize(
    ("text", "status", "said"),
    [
        ("supplier,sku,item,pack_price,currency\nA,1,strap,dear,USD\n", 1, "new.csv:2: pack_price"),
        (None, 1, "new.csv"),
    ],
)
def test_a_list_that_cannot_be_read_stops_it_before_anything_is_written(again, tmp_path, text, status, said):
    folder, _ = again
    before = state(folder)
    if text:
        (tmp_path / "new.csv").write_text(text, "utf-8")
    found, _, err = command(folder, "--prices", tmp_path / "new.csv", "--on", ON)
    assert found == status
    assert said in err
    assert "nothing was written" in err
    assert state(folder) == before


def test_a_folder_that_is_none_and_a_floor_that_is_none(tmp_path):
    prices = new_list(tmp_path / "new.csv")
    assert command(tmp_path / "nowhere", "--prices", prices)[0] == 1
    assert command(tmp_path, "--prices", prices, "--floor", "much")[0] == 2
    assert command(tmp_path, "--prices", prices, "--floor", "120%")[0] == 2


def test_the_floor_decides_who_is_under_it(again):
    folder, prices = again
    low, high = (run(folder / "north", prices, floor=floor, dry_run=True) for floor in (-0.9, 0.9))
    assert not any(one.below_floor for one in low.jobs)
    assert all(one.below_floor for one in high.jobs)


def test_progress_tells_the_time_left_of_what_this_run_does(monkeypatch, capsys):
    clock = iter([0.0, 10.0, 20.0, 90.0])
    monkeypatch.setattr("time.monotonic", lambda: next(clock))
    show = _progress()
    show(100, 200, "")  # an earlier run did a hundred
    show(110, 200, "a")  # 10 in 10 s: 90 more take 90 s
    show(120, 200, "b")  # 20 in 20 s: 80 s
    show(200, 200, "c")
    assert capsys.readouterr().err.splitlines() == [
        "110 of 200, 1 min 30 s left",
        "120 of 200, 1 min 20 s left",
        "200 of 200, done",
    ]


def test_progress_on_a_terminal_is_one_line(monkeypatch):
    stream = io.StringIO()
    stream.isatty = lambda: True
    monkeypatch.setattr("sys.stderr", stream)
    show = _progress()
    for number in range(5):
        show(number, 4, "north")
    assert stream.getvalue().count("\r") == 4
    assert stream.getvalue().count("\n") == 1
    assert "4 of 4" in stream.getvalue().split("\r")[-1]
