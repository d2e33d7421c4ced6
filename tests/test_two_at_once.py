"""Two people, two runs, one book: real processes of the command, the first one stopped while it holds the lock."""

from __future__ import annotations

import datetime as dt
import getpass
import os
import re
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import books
import handmade
import pytest
from click.testing import CliRunner
from faults import contents

from baybook.cli import main
from baybook.workbook.build import make_workbook
from baybook.workbook.declare import column_letter

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001 - the local time of a run
EPOCH = "1781481600"  # 2026-06-15 00:00 UTC
# The command itself, whose process stops as soon as the lock is its own, until it is told to go on.
STOPPED = """
import os, signal
from baybook.files import lock
create = lock._create
def created(path, words):
    create(path, words)
    os.kill(os.getpid(), signal.SIGSTOP)
lock._create = created
from baybook.cli import main
main()
"""
ENVIRONMENT = {**os.environ, "SOURCE_DATE_EPOCH": EPOCH}

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGSTOP"), reason="processes cannot be stopped there")


@contextmanager
def stopped(*arguments) -> Iterator[subprocess.Popen]:
    """Start a command and hold it where it has just taken the lock; at the end it is let go."""
    words = [sys.executable, "-c", STOPPED, *map(str, arguments)]
    process = subprocess.Popen(words, env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        _, status = os.waitpid(process.pid, os.WUNTRACED)
        assert os.WIFSTOPPED(status), "it ended without taking a lock"
        yield process
    finally:
        if process.returncode is None:
            process.send_signal(signal.SIGCONT)
            process.communicate(timeout=60)


def finished(process: subprocess.Popen) -> str:
    """Let a stopped process go on to its end."""
    process.send_signal(signal.SIGCONT)
    _, said = process.communicate(timeout=60)
    assert process.returncode in {0, 3}, said
    return said


def command(*arguments) -> subprocess.CompletedProcess:
    words = [sys.executable, "-m", "baybook", *map(str, arguments)]
    return subprocess.run(words, env=ENVIRONMENT, capture_output=True, text=True, check=False, timeout=60)


def quick(*arguments, status=0) -> str:
    """Run a command in this process and return what it said on standard error."""
    result = CliRunner().invoke(main, [str(one) for one in arguments], env={"SOURCE_DATE_EPOCH": EPOCH})
    assert result.exit_code == status, result.output
    return result.stderr


def is_told_who_and_since_when(said: str, first: subprocess.Popen) -> None:
    who = re.escape(f"{getpass.getuser()} on {socket.gethostname()} (process {first.pid})")
    when = r"since \d{4}-\d\d-\d\d \d\d:\d\d"
    cure = r"works in this folder; wait, or delete \.baybook\.lock if that run is gone"
    assert re.fullmatch(rf"\.baybook\.lock: {who} {when} {cure}\n1 problem; nothing was written\n", said), said


def is_refused(first: subprocess.Popen, folder: Path, *arguments) -> None:
    """See a second run end with status 1, told who works there since when, and every file as it was."""
    before = contents(folder)
    second = command(*arguments)
    assert (second.returncode, second.stdout) == (1, ""), second.stderr
    is_told_who_and_since_when(second.stderr, first)
    assert contents(folder) == before


@pytest.fixture(scope="module")
def undisturbed(tmp_path_factory) -> tuple[Path, dict[str, bytes]]:
    """A book, and the files of its workbook as one run alone writes them."""
    place = tmp_path_factory.mktemp("undisturbed")
    book = books.book_folder(place / "book", job={"status": "won"})
    quick("build", book, "--out", place / "out")
    return book, contents(place / "out")


def as_built(folder: Path, files: dict[str, bytes]) -> Path:
    folder.mkdir()
    for name, data in files.items():
        (folder / name).write_bytes(data)
    return folder


def test_while_one_builds_others_neither_build_nor_refresh_there(tmp_path, undisturbed):
    book, files = undisturbed
    out = as_built(tmp_path / "out", files)
    with stopped("build", book, "--out", out, "--force") as first:
        is_refused(first, out, "build", book, "--out", out)
        is_refused(first, out, "refresh", out / "D8.xlsx", "--force")
        finished(first)
    assert ".baybook.lock" not in contents(out)
    assert contents(out)["D8.xlsx"] == files["D8.xlsx"]
    assert contents(out)["summary.csv"] == files["summary.csv"]


def test_while_one_refreshes_others_neither_refresh_nor_build_there(tmp_path, undisturbed):
    book, files = undisturbed
    out = as_built(tmp_path / "out", files)
    with stopped("refresh", out / "D8.xlsx", "--force") as first:
        is_refused(first, out, "refresh", out / "D8.xlsx", "--force")
        is_refused(first, out, "build", book, "--out", out)
        assert "up to date" in finished(first)
    assert contents(out) == files


def test_while_one_orders_others_neither_order_nor_accept(tmp_path):
    book = books.book_folder(tmp_path / "book", job={"status": "won"})
    with stopped("order", book) as first:
        before = sorted(path.name for path in book.iterdir())
        for arguments in (["order", book], ["reconcile", book, "--accept", "3f9a", "--by", "Ann"]):
            second = command(*arguments)
            assert (second.returncode, second.stdout) == (1, "")
            is_told_who_and_since_when(second.stderr, first)
        assert sorted(path.name for path in book.iterdir()) == before
        assert "order 0001 to Alder Yard: 14 lines" in finished(first)
    assert sorted(path.name for path in (book / "orders").iterdir()) == [
        "0001.csv",
        "0001.xlsx",
        "0001.xml",
        "counter.txt",
    ]
    assert "nothing to order" in quick("order", book)


def test_while_one_reconciles_another_does_not(tmp_path):
    book = books.book_folder(tmp_path / "book")
    out = tmp_path / "out"
    out.mkdir()
    with stopped("reconcile", book, "--out", out) as first:
        is_refused(first, out, "reconcile", book, "--out", out)
        finished(first)
    assert "reconciliation.xlsx" in contents(out)


ORDERING = """
import datetime, sys, time
from baybook.files.lock import Locked
from baybook.ledger import issue_orders
book, job = sys.argv[1:]
refused = 0
sys.stdin.readline()
while True:
    try:
        issued = issue_orders(book, None, datetime.date(2026, 6, 15), datetime.datetime(2026, 6, 15), jobs=[job])
        break
    except Locked:
        refused += 1
        time.sleep(0.01)
print(*(one.number for one in issued.orders), refused)
"""


def test_four_who_order_at_once_never_get_the_same_number(tmp_path):
    jobs = ["A", "B", "C", "D"]
    book = books.book_folder(
        tmp_path / "book", jobs=[{"job": job, "status": "won"} for job in jobs], areas=[{"job": job} for job in jobs]
    )
    words = [sys.executable, "-c", ORDERING, str(book)]
    runs = [subprocess.Popen([*words, job], stdin=-1, stdout=-1, stderr=-1, text=True) for job in jobs]
    for run in runs:
        run.stdin.write("go\n")
        run.stdin.flush()
    said = [run.communicate(timeout=60) for run in runs]
    assert [error for _, error in said] == [""] * 4
    assert sorted(line.split()[0] for line, _ in said) == ["0001", "0002", "0003", "0004"]
    assert sum(int(line.split()[1]) for line, _ in said) > 0  # they did meet
    records = sorted((book / "orders").glob("*.csv"))
    assert [path.stem for path in records] == ["0001", "0002", "0003", "0004"]
    assert {path.read_text(encoding="utf-8").splitlines()[1].rsplit(",", 1)[1] for path in records} == set(jobs)


def test_the_lock_of_a_run_that_was_killed_is_explained_and_taken(tmp_path, undisturbed):
    book, files = undisturbed
    out = as_built(tmp_path / "out", files)
    with stopped("build", book, "--out", out, "--force") as first:
        first.kill()
        first.communicate()
    assert ".baybook.lock" in contents(out)
    second = command("build", book, "--out", out, "--force")
    assert second.returncode == 0
    assert re.match(
        rf"\.baybook\.lock: took over the lock of .+ \(process {first.pid}\) since .+: "
        r"its run has ended without giving it up\n",
        second.stderr,
    ), second.stderr
    assert {name: data for name, data in contents(out).items() if " before " not in name} == files


# what spreadsheet programs leave beside an open workbook
BESIDE = {
    ".~lock.{}#": b"Ann Miller,ann,office-2,15.06.2026 07:05,file:///x;",
    "~${}": b"\x0aAnn Miller" + b" " * 40,
}


@pytest.mark.parametrize("beside", BESIDE)
def test_a_workbook_that_is_open_elsewhere_is_neither_refreshed_nor_reconciled_into(tmp_path, undisturbed, beside):
    book, files = undisturbed
    out = as_built(tmp_path / "out", files)
    for name, arguments in (
        ("D8.xlsx", ["refresh", out / "D8.xlsx", "--force"]),
        ("reconciliation.xlsx", ["reconcile", book, "--out", out]),
    ):
        lock = out / beside.format(name)
        lock.write_bytes(BESIDE[beside])
        before = contents(out)
        said = quick(*arguments, status=1)
        assert re.match(rf"{re.escape(name)}: is open elsewhere \(Ann Miller.* has it open since \d{{4}}-", said), said
        assert "; close it" in said
        assert contents(out) == before
        lock.unlink()


def test_a_workbook_that_somebody_saves_while_it_is_refreshed_is_left_as_saved(tmp_path):
    made = make_workbook(books.estimate(), WHEN)
    sheet, row, col = made.layout.address("a_width")
    mine, theirs = (
        handmade.with_cells(made.data, {(sheet, f"{column_letter(col)}{row}"): feet}) for feet in (18.0, 20.0)
    )
    path = tmp_path / "deck.xlsx"
    path.write_bytes(mine)  # its width is new, so that there is something to refresh
    with stopped("refresh", path) as first:
        path.write_bytes(theirs)
        first.send_signal(signal.SIGCONT)
        out, said = first.communicate(timeout=60)
    assert (first.returncode, out) == (1, "")
    assert said == "deck.xlsx: was saved by somebody meanwhile; run again\n1 problem; nothing was written\n"
    assert contents(tmp_path) == {"deck.xlsx": theirs}
