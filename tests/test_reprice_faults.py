"""Re-pricing that is disturbed: calls of the disk that fail, processes that are killed, jobs that are broken."""

from __future__ import annotations

import errno
import io
import multiprocessing
import os
import sys
import time
import zipfile
from pathlib import Path

import books
import handmade
import pytest
import repricing
from faults import failing_calls
from killed import kill_runs
from repricing import ON, RESULTS, new_list, run, state, workbook

from baybook.problems import WriteFailed
from baybook.reprice import report, sheets
from baybook.reprice import run as running
from baybook.reprice.record import Record


@pytest.fixture
def small(tmp_path, monkeypatch):
    """Return a folder of two jobs of a book and an edited workbook, its list, and what an undisturbed run makes of it.

    What takes time is worked out once: here it matters what is written, in which order.
    """
    monkeypatch.setattr(running, "work", repricing.remembered)
    folder = tmp_path / "bids"
    books.book_folder(folder / "north", repricing.tables("P1", "O1", "W1"))
    (folder / "edited.xlsx").write_bytes(workbook("X1", own=True))
    prices = new_list(tmp_path / "new.csv")
    before = state(folder)
    result = run(folder, prices)
    pages = {}
    monkeypatch.setattr(sheets, "report_workbook", lambda found, when: _once(pages, found, when))
    after = state(folder)
    repricing.put_back(folder, before)
    assert run(folder, prices).jobs == result.jobs
    assert state(folder) == after
    repricing.put_back(folder, before)
    return folder, prices, before, after


_report_workbook = sheets.report_workbook


def _once(pages, found, when):
    key = repr((found.jobs, found.left, found.offers, when))
    if key not in pages:
        pages[key] = _report_workbook(found, when)
    return pages[key]


def whole(folder, before, after):
    """Assert that every file is as it was or as it will be, and that what was there is to be had."""
    now = state(folder)
    kept = f"{RESULTS}/workbooks before 2026-07-01 060000/edited.xlsx"
    reports = {name for name in after if name.startswith(f"{RESULTS}/re-pricing")}
    for name, data in now.items():
        assert name in reports or data in (before.get(name), after.get(name)), name
    assert before.keys() <= now.keys()
    assert now["edited.xlsx"] == before["edited.xlsx"] or now[kept] == before["edited.xlsx"]


def test_whatever_call_of_the_disk_fails_every_file_is_whole_and_a_restart_makes_good(small):
    folder, prices, before, after = small
    with failing_calls() as made:
        run(folder, prices)
    assert state(folder) == after
    assert len(made) > 70
    stopped = told = unseen = 0
    for number in range(1, len(made) + 1):
        repricing.put_back(folder, before)
        try:
            with failing_calls(number):
                result = run(folder, prices)
        except WriteFailed:
            stopped += 1
        else:
            said = [*result.missed, *result.untold]
            told, unseen = told + bool(said), unseen + (not said)
            if not said:
                assert state(folder) == after, (number, made[number - 1])
        whole(folder, before, after)
        again = run(folder, prices)
        assert state(folder) == after, (number, made[number - 1])
        assert not again.missed
    assert stopped > 10  # the journal
    assert told > 30  # a workbook, its copy, a file of the report
    assert unseen > 0  # a folder that cannot be asked to keep a name, a temporary that cannot be removed


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EACCES])
def test_a_disk_that_refuses_all_from_some_call_on_is_told_and_made_good(small, code):
    folder, prices, before, after = small
    with failing_calls() as made:
        run(folder, prices)
    for first in range(1, len(made) + 1, 13):
        repricing.put_back(folder, before)
        with failing_calls(*range(first, len(made) + 200), code=code):
            try:
                result = run(folder, prices)
            except WriteFailed as error:
                assert "disk is full" in str(error) or "may not write" in str(error)  # noqa: PT017  either may be
            else:
                assert result.missed or result.untold or state(folder) == after
        whole(folder, before, after)
        run(folder, prices)
        assert state(folder) == after, first


def test_ten_runs_killed_at_any_moment_leave_whole_files_and_the_last_makes_good(tmp_path):
    found = kill_runs(tmp_path, kills=10, seed=1)
    assert found["kills"] == 10
    assert found["part done"] > 0


@pytest.mark.skipif(sys.platform != "linux", reason="looks at processes as Linux shows them")
def test_the_processes_of_a_run_that_is_killed_end_too(tmp_path, monkeypatch):
    folder, prices = tmp_path / "bids", new_list(tmp_path / "new.csv")
    for name in ("north", "south"):
        books.book_folder(folder / name, repricing.tables(*(f"O{at}" for at in range(8))))
    monkeypatch.setattr(running, "work", _waits)
    process = multiprocessing.get_context("fork").Process(target=run, args=(folder, prices), kwargs={"jobs": 2})
    process.start()
    started = _until(lambda: {path.name for path in tmp_path.glob("*.pid")}, lambda found: len(found) == 2)
    process.kill()
    process.join()
    numbers = [int(name.removesuffix(".pid")) for name in started]
    assert _until(lambda: [number for number in numbers if _runs(number)], lambda left: not left) == []


def _waits(task):
    (Path(task.parts[0].path).parents[1] / f"{os.getpid()}.pid").touch()
    time.sleep(60)


def _runs(number):
    try:
        return Path(f"/proc/{number}/stat").read_text("ascii").split()[2] != "Z"
    except OSError:
        return False


def _until(look, good):
    end = time.monotonic() + 20
    while not good(found := look()) and time.monotonic() < end:
        time.sleep(0.02)
    return found


def test_a_run_that_goes_on_takes_the_moment_of_the_one_that_was_killed(small, monkeypatch):
    folder, prices, _, after = small
    real, calls = Record.doing, []

    def killed(self, these):
        real(self, these)
        calls.append(1)
        raise KeyboardInterrupt

    monkeypatch.setattr(Record, "doing", killed)
    with pytest.raises(KeyboardInterrupt):
        run(folder, prices)
    assert calls
    monkeypatch.setattr(Record, "doing", real)
    run(folder, prices, when=repricing.WHEN.replace(hour=11))
    assert state(folder) == after


def test_a_journal_with_a_torn_line_is_read_as_far_as_it_is_whole(small):
    folder, prices, before, after = small
    run(folder, prices)
    journal = folder / repricing.JOURNAL
    lines = journal.read_bytes().splitlines(keepends=True)
    for cut in range(len(lines)):
        repricing.put_back(folder, before | after)
        journal.write_bytes(b"".join(lines[:cut]) + lines[cut][: len(lines[cut]) // 2])
        run(folder, prices)
        kept = state(folder)
        assert kept.keys() - after.keys() <= set()
        assert {name for name in after if kept[name] != after[name]} <= {
            name for name in after if name.startswith(f"{RESULTS}/re-pricing") or name == "edited.xlsx"
        }


# --------------------------------------------------------------------------------------------- ten of a hundred


def _without_name(data, name):
    book = handmade.parts_of(data)
    text = book["xl/workbook.xml"].decode()
    start = text.index(f'<definedName name="{name}"')
    end = text.index("</definedName>", start) + len("</definedName>")
    return handmade.packed(book | {"xl/workbook.xml": (text[:start] + text[end:]).encode()})


def _damaged(data):
    middle = len(data) // 2
    return data[:middle] + bytes(200) + data[middle + 200 :]


def _hundred(folder):
    """Write 100 open jobs, ten of them broken; return where each is told, with its line and a word of its cure."""
    broken = {}
    for number in range(12):
        codes = [f"O{number:02d}{at}" for at in range(8)]
        book = books.book_folder(folder / f"book {number:02d}", repricing.tables(*codes))
        code, name = codes[3], book.name
        match number:
            case 0:
                repricing.edit(book / "areas.csv", code, "width", "wide")
                broken[name, code] = ("areas.csv", 5, "width", "write 14' 3-1/2")
            case 1:
                repricing.edit(book / "jobs.csv", code, "status", "maybe")
                broken[name, code] = ("jobs.csv", 5, "status", "one of")
            case 2:
                repricing.edit(book / "jobs.csv", code, "currency", "CAD")
                broken[name, code] = ("new.csv", 0, "liner", "no offer for liner of record sheet on 2026-07-01 in CAD")
            case 3:
                (book / "overrides.csv").write_text(f"job,item,quantity\n{code},strap,many\n", "utf-8")
                broken[name, code] = ("overrides.csv", 2, "quantity", "is not a number")
            case 4:
                (book / "posts.csv").write_text(
                    f"job,area,x,y,size,where\n{code},attic,1 ft,1 ft,3.5 in,inside\n", "utf-8"
                )
                broken[name, code] = ("posts.csv", 2, "area", "it has main")
            case 5:
                beam = {
                    "job": code,
                    "area": "main",
                    "kind": "dropped_beam",
                    "y": "11 ft 6 in",
                    "plies": 3,
                }  # at the rim
                (book / "framing.csv").write_text(books.csv_text([beam]), "utf-8")
                broken[name, code] = ("jobs.csv", 5, "status", "accept it, in acceptances.csv")
    loose = folder / "by mail"
    loose.mkdir()
    for file, data, cure in (
        ("damaged", _damaged(workbook("X0")), "restore a copy"),
        ("no height", _without_name(workbook("X0"), "a_height"), "column is missing"),
        ("words", b"dear Anna, the deck is 16 ft wide", "save it as .xlsx"),
        ("open", workbook("X0"), "close it"),
    ):
        (loose / f"{file}.xlsx").write_bytes(data)
        broken[f"by mail/{file}.xlsx", ""] = (f"{file}.xlsx", 0, None, cure)
    (loose / "~$open.xlsx").write_bytes(b"\x04Anna")
    return broken


def test_of_a_hundred_jobs_ten_are_broken_in_ten_ways_and_ninety_are_done(tmp_path):
    folder, prices = tmp_path / "bids", new_list(tmp_path / "new.csv")
    broken = _hundred(folder)
    assert len(broken) == 10
    before = state(folder)
    result = run(folder, prices)
    assert len(result.jobs) == len(result.written) == 90
    found = {(one.source, one.job): one.problems[0] for one in result.missed}
    assert found.keys() == broken.keys()
    for key, (file, line, field, cure) in broken.items():
        problem = found[key]
        assert (problem.source, problem.line) == (file, line), problem
        assert field is None or problem.field == field, problem
        assert cure in problem.message, problem
    assert {name: data for name, data in state(folder).items() if name in before} == before
    for name in result.written:
        with zipfile.ZipFile(io.BytesIO((folder / RESULTS / name).read_bytes())) as package:
            assert package.testzip() is None
    rows = repricing.read_csv(folder / RESULTS / "re-pricing left.csv")
    assert len(rows) == sum(len(one.problems) for one in result.missed)
    assert ON.isoformat() in RESULTS
    assert report.WORKBOOK in {path.name for path in result.files}
