"""The command line as people and scripts meet it: help, exit statuses, what is written and what is left alone."""

from __future__ import annotations

import csv
import errno
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import click
import pytest
from books import JOB, PRICE_ROWS, book_folder, deck
from click.testing import CliRunner
from faults import contents, failing_calls

import baybook.batch
from baybook.cli import main
from baybook.files.example import example_files
from baybook.files.lock import book_lock
from baybook.files.write import sweep

EPOCH = "1781481600"  # 2026-06-15 00:00 UTC
SUMMARY = (
    "job,customer,status,quoted_on,currency,bays,materials,labour,other,overhead,contingency,profit,tax,price,warnings,"
    "workbook"
)
ORDER = "supplier,sku,item,description,packs,pack_qty,unit,pack_price,amount,currency"
PROBLEM = re.compile(r"[\w .~$-]+\.\w+(:\d+)?: (\w+: )?\S.*[^:]")


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setenv("SOURCE_DATE_EPOCH", EPOCH)


def run(*arguments, status=0):
    """Run a command in this process; it ends with the status, and no traceback reaches anybody."""
    result = CliRunner().invoke(main, [str(one) for one in arguments])
    assert isinstance(result.exception, (SystemExit, type(None))), result.exception
    assert "Traceback" not in result.output
    assert result.exit_code == status, result.output
    return result


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def two_jobs(folder: Path, **second) -> Path:
    """Write a book of two jobs, A and B."""
    return book_folder(
        folder,
        deck(jobs=[{"job": "A"}, {"job": "B", **second}], areas=[{"job": "A"}, {"job": "B", "width": "12 ft"}]),
    )


@pytest.fixture
def quick(monkeypatch):
    """Leave the making of workbooks out where only what becomes of the files is on trial."""

    def made(estimate, when):
        return SimpleNamespace(data=f"{estimate.inputs.job} {estimate.totals} {when}".encode())

    monkeypatch.setattr(baybook.batch, "make_workbook", made)


# ---------------------------------------------------------------------------------------------- help


def commands(group=main, path=("baybook",)):
    """Yield every command with the words that call it."""
    for name, one in group.commands.items():
        words = (*path, name)
        if isinstance(one, click.Group):
            yield from commands(one, words)
        else:
            yield words, one


COMMANDS = {" ".join(words): one for words, one in commands()}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_has_help_with_an_example(name):
    said = run(*name.split()[1:], "--help").stdout
    assert run(*name.split()[1:], "-h").stdout == said
    assert re.search(rf"^  Example: {name}\b", said, re.MULTILINE), said
    for option in COMMANDS[name].params:
        assert not isinstance(option, click.Option) or option.help, f"{name} {option.name} says nothing"


def test_the_examples_run_in_a_new_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    for name, one in COMMANDS.items():
        example = re.search(r"Example: baybook (.+)", one.help)[1]
        result = CliRunner().invoke(main, shlex.split(example))
        assert result.exit_code in {0, 3}, f"{name}: {result.output}"
        assert isinstance(result.exception, (SystemExit, type(None))), name


def test_help_and_version():
    assert run("--help").stdout.count("\n  ") >= len(main.commands)
    assert re.fullmatch(r"baybook, version \d+\.\d+\.\d+\n", run("--version").stdout)


@pytest.mark.parametrize(
    "arguments",
    [
        ["nonsense"],
        ["build"],
        ["build", "book"],
        ["check"],
        ["check", "book", "--nonsense"],
        ["check", "book", "--on", "15.6.2026"],
        ["takeoff", "book", "more"],
    ],
)
def test_wrong_usage_is_status_2(arguments):
    result = run(*arguments, status=2)
    assert result.stdout == ""
    assert result.stderr.splitlines()[-1].startswith("Error: ")


# ---------------------------------------------------------------------------------------------- problems


def test_problems_are_told_with_their_places_and_nothing_is_written(tmp_path):
    book = book_folder(
        tmp_path / "book",
        job={"rainfall": "5", "labour_rate": "much"},
        area={"width": "sixteen", "layout": "lefft"},
        liner={"drape_in": None},
        rates={"narow_bay_in": 5},
    )
    out = tmp_path / "out"
    for arguments in (["build", book, "--out", out], ["check", book], ["takeoff", book], ["takeoff", book, "--json"]):
        result = run(*arguments, status=1)
        assert result.stdout == ""
        *said, last = result.stderr.splitlines()
        assert last == f"{len(said)} problems; nothing was written"
        assert all(PROBLEM.fullmatch(line) for line in said), said
        places = [line.split(": ")[:2] for line in said]
        assert places == [
            ["jobs.csv:2", "rainfall"],
            ["jobs.csv:2", "labour_rate"],
            ["areas.csv:2", "width"],
            ["areas.csv:2", "layout"],
            ["liners.csv:2", "drape_in"],
            ["rates.csv:2", "narow_bay_in"],
        ]
    assert not out.exists()


def test_one_job_that_cannot_be_estimated_stops_all(tmp_path):
    book = two_jobs(tmp_path / "book")
    (book / "areas.csv").write_text(
        (book / "areas.csv").read_text(encoding="utf-8").replace("12 ft,12 ft,16", "12 ft,12 ft,24"), encoding="utf-8"
    )
    result = run("build", book, "--out", tmp_path / "out", status=1)
    assert result.stderr.startswith("areas.csv:3: spacing: area main: 24 in on centre is wider than")
    assert not (tmp_path / "out").exists()


GARBAGE = {
    "a picture": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00",
    "nothing": b"",
    "zeros": b"\0" * 999,
    "half a quote": b'job,area\n"A,main\n',
    "any bytes": bytes(range(256)),
    "a workbook": b"PK\x03\x04" + b"\x14\0" * 40,
    "half of UTF-16": "job,customer".encode("utf-16")[:-1],
    "one long line": b"job," * 100_000,
}


@pytest.mark.parametrize("name", GARBAGE)
def test_garbage_is_refused_in_sentences(name, tmp_path):
    book = book_folder(tmp_path / "book")
    for file in ("jobs", "prices", "rates"):
        (book / f"{file}.csv").write_bytes(GARBAGE[name])
    result = run("build", book, "--out", tmp_path / "out", status=1)
    *said, last = result.stderr.splitlines()
    assert said
    assert last.endswith("nothing was written")
    assert all(PROBLEM.fullmatch(line) and line.isprintable() and len(line) < 400 for line in said), said
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("command", ["check", "takeoff", "build"])
def test_a_book_that_is_none(command, tmp_path):
    more = ["--out", tmp_path / "out"] if command == "build" else []
    (tmp_path / "file").write_text("", encoding="utf-8")
    (tmp_path / "empty").mkdir()
    odd = book_folder(tmp_path / "odd")
    (odd / "jobs.csv").unlink()
    (odd / "jobs.csv").mkdir()
    for name, words in (
        ("missing", "is no folder"),
        ("file", "is no folder"),
        ("empty", "jobs.csv: is missing"),
        ("odd", "jobs.csv: "),
    ):
        said = run(command, tmp_path / name, *more, status=1).stderr
        assert words in said
        assert "nothing was written" in said
    assert not (tmp_path / "out").exists()


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is unreadable to the superuser")
def test_a_file_that_may_not_be_read(tmp_path):
    book = book_folder(tmp_path / "book")
    (book / "areas.csv").chmod(0)
    assert run("check", book, status=1).stderr.startswith("areas.csv: ")


def test_an_output_folder_that_cannot_be(tmp_path):
    book = book_folder(tmp_path / "book")
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for out in (tmp_path / "file", tmp_path / "file" / "under"):
        assert run("build", book, "--out", out, status=1).stderr.count("\n") == 2
    assert (tmp_path / "file").read_text(encoding="utf-8") == "mine"


def test_a_fault_of_the_program_is_a_sentence_too(tmp_path, monkeypatch):
    book = book_folder(tmp_path / "book")

    def broken(*_):
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr(baybook.batch, "build_estimate", broken)
    said = run("check", book, status=1).stderr
    assert said.startswith("a fault of baybook, not of your inputs (ZeroDivisionError: by nought)")
    assert said.count("\n") == 1
    monkeypatch.setenv("BAYBOOK_DEBUG", "1")
    assert isinstance(CliRunner().invoke(main, ["check", str(book)]).exception, ZeroDivisionError)


# ---------------------------------------------------------------------------------------------- what is built


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """A book of two jobs, built by the command itself."""
    folder = tmp_path_factory.mktemp("built")
    book = two_jobs(folder / "book", customer="Oak & Sons")
    return book, folder / "out", command("build", book, "--out", folder / "out")


def command(*arguments, **environment):
    """Run the command in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "baybook", *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
        env={**os.environ, "SOURCE_DATE_EPOCH": EPOCH, **environment},
    )


def test_a_build_says_what_it_wrote_and_how_far_it_is(built):
    _, out, ran = built
    assert ran.returncode == 0
    assert ran.stdout == f"{out / 'A.xlsx'}\n{out / 'B.xlsx'}\n"
    assert ran.stderr == "1 of 2: A.xlsx\n2 of 2: B.xlsx\n2 workbooks written; totals in summary.csv\n"


@pytest.mark.usefixtures("quick")
def test_one_job_shows_no_progress(tmp_path):
    result = run("build", book_folder(tmp_path / "book"), "--out", tmp_path / "out")
    assert result.stderr == "1 workbook written; totals in summary.csv\n"


def test_summary(built):
    book, out, _ = built
    told = json.loads(run("takeoff", book, "--json").stdout)["jobs"]
    found = rows(out / "summary.csv")
    assert [list(row) for row in found] == [SUMMARY.split(",")] * 2
    assert [row["job"] for row in found] == ["A", "B"]
    for row in found:
        job = told[row["job"]]
        assert {name: row[name] for name in job["totals"]} == job["totals"]
        assert (row["bays"], row["warnings"]) == (str(job["bays"]), str(len(job["warnings"])))
        assert (row["quoted_on"], row["currency"], row["status"]) == ("2026-06-15", "USD", "pricing")
        assert (out / row["workbook"]).exists()
    assert [row["customer"] for row in found] == ["Worked example", "Oak & Sons"]


def test_order_and_cut_list(built):
    book, out, _ = built
    items = json.loads(run("takeoff", book, "--json").stdout)["jobs"]["A"]["items"]
    found = rows(out / "A order.csv")
    assert list(found[0]) == ORDER.split(",")
    assert {row["item"]: int(row["packs"]) for row in found} == {item: row["packs"] for item, row in items.items()}
    assert {row["item"]: row["amount"] for row in found} == {item: row["cost"] for item, row in items.items()}
    assert [row["supplier"] for row in found] == sorted(row["supplier"] for row in found)
    cuts = rows(out / "A cuts.csv")
    assert len(cuts) == 12 + 2 + 1  # panels, gutter, leader
    assert {row["length_in"] for row in cuts if row["item"] == "liner"} == {"142.5"}


def test_the_same_inputs_and_moment_give_the_same_files(built, tmp_path):
    book, out, _ = built
    again = command("build", book, "--out", tmp_path / "again", PYTHONHASHSEED="77", TZ="Asia/Kolkata", LC_ALL="C")
    assert again.returncode == 0
    assert contents(tmp_path / "again") == contents(out)
    later = command("build", book, "--out", tmp_path / "later", SOURCE_DATE_EPOCH="1781568000")
    assert later.returncode == 0
    assert (tmp_path / "later" / "A.xlsx").read_bytes() != (out / "A.xlsx").read_bytes()


def test_on_is_the_day_whose_prices_count(tmp_path):
    dated = [{"valid_to": "2026-06-30"}, {"valid_from": "2026-07-01", "pack_price": "99.00"}]
    rows_ = [
        {"supplier": "Alder Yard", "sku": "s", "item": "splash_block", "pack_price": "9.50", "currency": "USD", **one}
        for one in dated
    ]
    prices = [*(row for row in PRICE_ROWS if row["item"] != "splash_block"), *rows_]
    book = book_folder(tmp_path / "book", job={"quoted_on": None}, prices=prices)

    def cost(*on):
        return json.loads(run("takeoff", book, "--json", *on).stdout)["jobs"][JOB]["items"]["splash_block"]["cost"]

    assert (cost(), cost("--on", "2026-07-01")) == ("9.50", "99.00")


# ---------------------------------------------------------------------------------------------- what is left alone


def backups(out: Path) -> list[str]:
    return sorted(path.name for path in out.iterdir() if " before " in path.name)


@pytest.mark.usefixtures("quick")
def test_a_workbook_that_somebody_changed_is_kept(tmp_path):
    book, out = book_folder(tmp_path / "book"), tmp_path / "out"
    run("build", book, "--out", out)
    path = out / f"{JOB}.xlsx"
    run("build", book, "--out", out)  # as it was written here: written anew
    path.write_bytes(path.read_bytes() + b"mine")
    mine = path.read_bytes()
    result = run("build", book, "--out", out, status=3)
    assert result.stdout == ""
    assert result.stderr.splitlines() == [
        f"{JOB}.xlsx: was changed since it was built here; --force writes it anew and keeps a backup",
        "0 workbooks written, 1 left as they were; totals in summary.csv",
    ]
    assert path.read_bytes() == mine
    assert backups(out) == []

    run("build", book, "--out", out, "--force")
    assert path.read_bytes() != mine
    (kept,) = backups(out)
    assert (out / kept).read_bytes() == mine
    assert run("build", book, "--out", out).stdout == f"{path}\n"


@pytest.mark.usefixtures("quick")
def test_a_workbook_that_was_there_before_is_kept(tmp_path):
    book, out = book_folder(tmp_path / "book"), tmp_path / "out"
    out.mkdir()
    (out / f"{JOB}.xlsx").write_bytes(b"not ours")
    run("build", book, "--out", out, status=3)
    assert (out / f"{JOB}.xlsx").read_bytes() == b"not ours"


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize("status", ["won", "lost", "done"])
def test_a_settled_job_is_kept(status, tmp_path):
    out = tmp_path / "out"
    run("build", two_jobs(tmp_path / "book"), "--out", out)
    before = contents(out)
    book = two_jobs(tmp_path / "book", status=status, rainfall="6 in/h")
    result = run("build", book, "--out", out, status=3)
    assert result.stdout == f"{out / 'A.xlsx'}\n"
    assert f"B.xlsx: job B is {status}; --force writes it anew and keeps a backup" in result.stderr
    assert (out / "B.xlsx").read_bytes() == before["B.xlsx"]
    assert [row["status"] for row in rows(out / "summary.csv")] == ["pricing", status]

    run("build", book, "--out", out, "--force")
    assert (out / "B.xlsx").read_bytes() != before["B.xlsx"]
    (kept,) = backups(out)
    assert (out / kept).read_bytes() == before["B.xlsx"]


@pytest.mark.usefixtures("quick")
def test_a_settled_job_that_has_no_workbook_gets_one(tmp_path):
    run("build", two_jobs(tmp_path / "book", status="won"), "--out", tmp_path / "out")
    assert (tmp_path / "out" / "B.xlsx").exists()


@pytest.mark.usefixtures("quick")
@pytest.mark.parametrize(
    ("name", "words"),
    [
        (".~lock.A.xlsx#", b"Ann Miller,ann,office-2,15.06.2026 07:05,file:///x;"),
        ("~$A.xlsx", b"\x0aAnn Miller" + b" " * 40),
    ],
)
def test_a_workbook_that_is_open_elsewhere_is_skipped_and_the_rest_written(name, words, tmp_path):
    book, out = two_jobs(tmp_path / "book"), tmp_path / "out"
    run("build", book, "--out", out)
    before = (out / "A.xlsx").stat().st_mtime_ns
    (out / name).write_bytes(words)
    for force in ((), ("--force",)):
        result = run("build", book, "--out", out, *force, status=3)
        assert result.stdout == f"{out / 'B.xlsx'}\n"
        assert re.search(r"^A\.xlsx: is open elsewhere \(Ann Miller.* has it open since ", result.stderr, re.MULTILINE)
    assert (out / "A.xlsx").stat().st_mtime_ns == before


def test_two_runs_at_once_do_not_meet(tmp_path):
    book, out = book_folder(tmp_path / "book"), tmp_path / "out"
    out.mkdir()
    with book_lock(out):
        assert "works in this folder" in run("build", book, "--out", out, status=1).stderr
    assert contents(out) == {}


# ---------------------------------------------------------------------------------------------- when the disk fails


@pytest.mark.usefixtures("quick")
def test_whatever_call_fails_every_file_is_whole_and_the_next_build_mends_it(tmp_path):
    out = tmp_path / "out"
    old = book_folder(tmp_path / "old")
    new = book_folder(tmp_path / "new", job={"rainfall": "6 in/h", "labour_rate": "61.00"})
    run("build", old, "--out", out)
    before = contents(out)
    with failing_calls() as calls:
        run("build", new, "--out", out)
    after, steps = contents(out), len(calls)
    assert steps > 30
    assert {name for name in after if after[name] != before[name]} > {f"{JOB}.xlsx", "summary.csv"}
    stopped = 0
    for number in range(1, steps + 1):
        for path in out.iterdir():
            path.unlink()
        for name, data in before.items():
            (out / name).write_bytes(data)
        with failing_calls(number, code=errno.ENOSPC):
            result = CliRunner().invoke(main, ["build", str(new), "--out", str(out)])
        assert isinstance(result.exception, (SystemExit, type(None))), calls[number - 1]
        assert result.exit_code in {0, 1}, result.output
        stopped += result.exit_code
        if result.exit_code:
            assert "the disk is full" in result.stderr
            assert result.stderr.endswith("1 problem; stopped; what was written before is whole\n")
        sweep(out, older_than_s=-1)
        for name, data in contents(out).items():
            assert data in {before.get(name), after[name]} or name.startswith(".baybook"), f"call {number}: {name}"
        run("build", new, "--out", out)
        left = contents(out)
        assert {name: left[name] for name in left if not name.startswith(".")} == {
            name: after[name] for name in after if not name.startswith(".")
        }
    assert stopped > steps / 2


@pytest.mark.usefixtures("quick")
def test_an_example_that_cannot_be_written_leaves_whole_files_only(tmp_path):
    for number in range(1, 25):
        with failing_calls(number):
            result = CliRunner().invoke(main, ["example", str(tmp_path / str(number))])
        assert isinstance(result.exception, (SystemExit, type(None)))
        whole = example_files()
        for path in (tmp_path / str(number)).glob("*.csv"):
            assert path.read_bytes() == whole[path.name]
