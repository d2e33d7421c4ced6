from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from baybook.files.lock import Locked, book_lock, open_elsewhere
from baybook.problems import WriteFailed

DAY_S = 86_400


def words(**changes):
    now = datetime.now(UTC).isoformat(timespec="seconds")
    return json.dumps({"host": "office-2", "user": "ann", "pid": 4711, "time": now} | changes)


def hours_ago(hours):
    return (datetime.now(UTC) - timedelta(hours=hours)).isoformat(timespec="seconds")


def ended_process():
    process = subprocess.Popen([sys.executable, "-c", ""])
    process.wait()
    return process.pid


def names(folder):
    return sorted(path.name for path in folder.iterdir())


HOLDER = "import os, signal, sys\nfrom baybook.files.lock import book_lock\nwith book_lock(sys.argv[1]): "


# ---- the book lock


def test_it_says_who_and_goes_with_the_block(tmp_path):
    with book_lock(tmp_path) as lock:
        said = json.loads(lock.path.read_text())
        assert (said["host"], said["pid"]) == (socket.gethostname(), os.getpid())
        assert abs(datetime.fromisoformat(said["time"]).timestamp() - time.time()) < 5
        assert said["user"]
        assert (lock.path, lock.note) == (tmp_path / ".baybook.lock", "")
    assert names(tmp_path) == []


def test_it_goes_after_an_error_too(tmp_path):
    with pytest.raises(KeyError), book_lock(tmp_path):
        raise KeyError
    assert names(tmp_path) == []


def test_a_second_one_in_this_run_is_refused(tmp_path):
    with book_lock(tmp_path):
        with pytest.raises(Locked), book_lock(tmp_path):
            pass
        assert names(tmp_path) == [".baybook.lock"]


def test_another_computers_lock_is_refused_with_who_and_since_when(tmp_path):
    (tmp_path / ".baybook.lock").write_text(words(time=hours_ago(2)))
    before = (tmp_path / ".baybook.lock").read_bytes()
    with pytest.raises(Locked) as caught, book_lock(tmp_path):
        pass
    since = (datetime.now().astimezone() - timedelta(hours=2)).strftime("%Y-%m-%d %H:")
    assert re.fullmatch(
        rf"\.baybook\.lock: ann on office-2 \(process 4711\) since {since}\d\d works in this folder; "
        r"wait, or delete \.baybook\.lock if that run is gone",
        str(caught.value),
    )
    assert (tmp_path / ".baybook.lock").read_bytes() == before
    assert names(tmp_path) == [".baybook.lock"]


def test_a_running_process_of_this_computer_is_refused(tmp_path):
    program = HOLDER + "print(1, flush=True); input()"
    other = subprocess.Popen(
        [sys.executable, "-c", program, str(tmp_path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    with other:
        other.stdout.readline()
        with pytest.raises(Locked, match=rf"process {other.pid}\)"), book_lock(tmp_path):
            pass
        other.communicate("\n")
    assert other.returncode == 0
    with book_lock(tmp_path) as lock:
        assert not lock.note


def test_the_lock_of_a_killed_run_is_explained_and_taken(tmp_path):
    program = HOLDER + "os.kill(os.getpid(), signal.SIGKILL)"
    subprocess.run([sys.executable, "-c", program, str(tmp_path)], check=False)
    assert names(tmp_path) == [".baybook.lock"]
    with book_lock(tmp_path) as lock:
        assert re.match(r"took over the lock of \S+ on \S+ \(process \d+\) since .*: its run has ended", lock.note)
        assert json.loads(lock.path.read_text())["pid"] == os.getpid()
        with pytest.raises(Locked), book_lock(tmp_path):
            pass
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"host": socket.gethostname(), "pid": ended_process()}, "its run has ended"),
        ({"host": socket.gethostname(), "pid": os.getpid()}, "its run has ended"),  # the number is used again
        ({"time": hours_ago(25)}, "it is older than a day"),
        ({"host": socket.gethostname(), "pid": os.getppid(), "time": hours_ago(25)}, "it is older than a day"),
    ],
)
def test_stale_ones_are_taken(tmp_path, changes, why):
    (tmp_path / ".baybook.lock").write_text(words(**changes))
    with book_lock(tmp_path) as lock:
        assert lock.note.startswith("took over the lock of ann on ")
        assert why in lock.note
    assert names(tmp_path) == []


@pytest.mark.parametrize(
    "changes",
    [
        {"time": hours_ago(23)},
        {"time": hours_ago(-5)},  # another computer's clock
        {"pid": ended_process()},  # of another computer: nothing is known of it
        {"host": socket.gethostname(), "pid": os.getppid()},
        {"host": socket.gethostname(), "pid": 1},
    ],
)
def test_others_are_held(tmp_path, changes):
    (tmp_path / ".baybook.lock").write_text(words(**changes))
    with pytest.raises(Locked, match="ann on "), book_lock(tmp_path):
        pass


JUNK = [b"", b"\0" * 10, b"{", b"[]", b"null", b"[" * 100_000, b"\xff\xfe", b'{"pid": 1}', words(time="x").encode()]
JUNK += [
    words(pid="x").encode(),
    words(pid=None).encode(),
    words(time=5).encode(),
    words(user="\x1b[2J\n" * 50).encode(),
]
JUNK += [words(pid=10**30, host=socket.gethostname()).encode(), words(time="0001-01-01T00:00:00").encode()[:60]]


@pytest.mark.parametrize("data", JUNK, ids=range(len(JUNK)))
def test_a_lock_that_says_nothing_of_use_is_held_until_it_is_a_day_old(tmp_path, data):
    path = tmp_path / ".baybook.lock"
    path.write_bytes(data)
    with pytest.raises(Locked) as caught, book_lock(tmp_path):
        pass
    assert str(caught.value).isprintable()
    if b"4711" not in data and b"10000" not in data and b"ann" not in data:
        assert "somebody on an unknown computer" in str(caught.value)
        os.utime(path, (time.time() - DAY_S - 60,) * 2)
        with book_lock(tmp_path) as lock:
            assert "older than a day" in lock.note


def test_a_lock_taken_meanwhile_is_not_removed(tmp_path):
    with book_lock(tmp_path) as lock:
        lock.path.write_text(words())
    assert names(tmp_path) == [".baybook.lock"]


def test_a_link_or_folder_in_its_place(tmp_path):
    (tmp_path / "mine").write_text("x")
    (tmp_path / ".baybook.lock").symlink_to(tmp_path / "mine")
    with pytest.raises(Locked, match="cannot be read"), book_lock(tmp_path):
        pass
    assert (tmp_path / "mine").read_text() == "x"
    (tmp_path / ".baybook.lock").unlink()
    (tmp_path / ".baybook.lock").mkdir()
    with pytest.raises(Locked, match="cannot be read"), book_lock(tmp_path):
        pass


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(WriteFailed, match="the folder does not exist"), book_lock(tmp_path / "none"):
        pass


RACER = """
import logging, sys, time
from pathlib import Path
from baybook.files.lock import book_lock, Locked
logging.disable()  # of stale locks taken over, which is told each time
folder = Path(sys.argv[1])
sys.stdin.readline()
end, held = time.time() + float(sys.argv[2]), 0
while time.time() < end:
    try:
        with book_lock(folder) as lock:
            inside = folder / "inside"
            inside.touch(exist_ok=False)      # fails if another run is in here too
            inside.unlink()
            held += 1
        if held % 3 == 0:                     # leave a stale one behind for all to take
            (folder / ".baybook.lock").touch(exist_ok=False)
            import os; os.utime(folder / ".baybook.lock", (1, 1))
    except (Locked, FileExistsError) as error:
        if "inside" in str(error):
            raise
print(held)
"""


def test_runs_that_race_for_it_never_hold_it_together(tmp_path):
    runs = [
        subprocess.Popen([sys.executable, "-c", RACER, str(tmp_path), "1.5"], stdin=-1, stdout=-1, stderr=-1, text=True)
        for _ in range(4)
    ]
    for run in runs:
        run.stdin.write("go\n")
        run.stdin.flush()
    results = [run.communicate(timeout=60) for run in runs]
    assert [error for _, error in results] == [""] * 4
    assert sum(int(held) for held, _ in results) > 20


# ---- a workbook open elsewhere


def test_nothing_beside_it(tmp_path):
    (tmp_path / "deck.xlsx").touch()
    (tmp_path / "~$other.xlsx").touch()
    assert open_elsewhere(tmp_path / "deck.xlsx") is None
    assert open_elsewhere(tmp_path / "none" / "deck.xlsx") is None


@pytest.mark.parametrize(
    ("line", "said"),
    [
        # as LibreOffice 7.4 writes it
        (",root,vm,25.11.2026 09:18,file:///home/ann/profile;", "root on vm has it open since 2026-11-25 09:18"),
        (
            "Ann Miller,ann,office-2,01.02.2026 7:05,file:///x;",
            "Ann Miller on office-2 has it open since 01.02.2026 7:05",
        ),
        ("Miller\\, Ann,ann,o\\;2,25.11.2026 09:18,x;", "Miller, Ann on o;2 has it open since 2026-11-25 09:18"),
        (",,office-2,,;", "office-2 has it open since 20"),
        ("", "somebody has it open since 20"),
        (",,,,", "somebody has it open since 20"),
        ("\x00\x1b\n", "somebody has it open since 20"),
        ("Jörg", "Jörg has it open since 20"),
    ],
)
def test_open_in_libreoffice(tmp_path, line, said):
    (tmp_path / ".~lock.deck.xlsx#").write_text(line, encoding="utf-8")
    found = open_elsewhere(tmp_path / "deck.xlsx")
    assert found.startswith(said)
    assert found.endswith("close it there, or delete the file .~lock.deck.xlsx# if nobody has it open")


@pytest.mark.parametrize(
    ("data", "who"),
    [
        (b"\x0aAnn Miller" + b" " * 44 + b"\x0a\0" + "Ann Miller".encode("utf-16-le"), "Ann Miller"),
        (b"\x05J\xf6rg " + b" " * 49, "Jörg"),
        (b"", "somebody"),
        (b"\x00", "somebody"),
        (b"\xffAnn", "Ann"),
        (b"\x04\x00\x01\x02\x03", "somebody"),
    ],
)
def test_open_in_excel(tmp_path, data, who):
    # The layout of the owner file is from memory: the length of the name in one byte, then the name.
    path = tmp_path / "~$deck.xlsx"
    path.write_bytes(data)
    os.utime(path, (1_700_000_000,) * 2)
    since = datetime.fromtimestamp(1_700_000_000).astimezone().strftime("%Y-%m-%d %H:%M")
    assert open_elsewhere(str(tmp_path / "deck.xlsx")) == (
        f"{who} has it open since {since}; close it there, or delete the file ~$deck.xlsx if nobody has it open"
    )


def test_a_link_is_not_followed(tmp_path):
    (tmp_path / "secret").write_bytes(b"\x06secret")
    Path(tmp_path / "~$deck.xlsx").symlink_to(tmp_path / "secret")
    assert open_elsewhere(tmp_path / "deck.xlsx").startswith("somebody has it open")
