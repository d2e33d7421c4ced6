"""Kill a process that writes the same file again and again, at a moment of no choice."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import random
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from faults import contents

from baybook.batch import build_book
from baybook.files.lock import Locked
from baybook.files.write import sweep
from baybook.workbook.refresh import refresh_workbook

SIZE = 300_000
WRITER = f"""
import sys
from baybook.files.write import whole_file
path, letters = sys.argv[1], [b"a", b"b", b"c"]
print("ready", flush=True)
for turn in range(1_000_000):
    with whole_file(path) as stream:
        for _ in range(30):
            stream.write(letters[turn % 3] * {SIZE // 30})
"""


def kill_writers(folder: Path, kills: int, seed: int) -> dict[str, int]:
    """Kill that many writers and count what was found; a torn file is an AssertionError."""
    chance = random.Random(seed)
    path = folder / "book.bin"
    path.write_bytes(b"o" * SIZE)
    found = {"old": 0, "new": 0, "temporaries": 0}
    for kill in range(kills):
        writer = subprocess.Popen([sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE)
        try:
            assert writer.stdout.readline() == b"ready\n"
            time.sleep(chance.uniform(0.0, 0.03))
        finally:
            writer.send_signal(signal.SIGKILL)
            writer.wait()
            writer.stdout.close()
        data = path.read_bytes()
        assert len(data) == SIZE, f"kill {kill}: {len(data)} bytes"
        assert data == data[:1] * SIZE, f"kill {kill}: of two writes"
        found["old" if data[:1] == b"o" else "new"] += 1
        left = [name for name in folder.iterdir() if name != path]
        found["temporaries"] += len(left)
        assert sweep(folder) == (), "a temporary this young may be in use"
        for name in left:
            os.utime(name, (time.time() - 90_000,) * 2)
        assert sorted(sweep(folder)) == sorted(left)
        assert list(folder.iterdir()) == [path]
        path.write_bytes(b"o" * SIZE)
    return found


REFRESHER = """
import datetime, sys
from pathlib import Path
from types import SimpleNamespace
from baybook.workbook import refresh
class Book(SimpleNamespace):
    names = {}
path, old, new = map(Path, sys.argv[1:4])
held = [refresh.Refreshed(file.read_bytes(), (), (1,), (), 1.0, 2.0) for file in (new, old)]
refresh.read_workbook = lambda path: Book(data=path.read_bytes())
refresh.check_workbook = lambda path: path.read_bytes()
print("ready", flush=True)
for turn in range(1_000_000):
    refresh.refreshed = lambda book, when: held[turn % 2]
    refresh.refresh_workbook(path, datetime.datetime.now())
"""  # all that touches the disk, lock, copy and new file, again and again; what takes time is worked out before


def kill_refreshes(folder: Path, old: bytes, new: bytes, kills: int, seed: int) -> dict[str, int]:
    """Kill that many refreshes as they write, and count what was found; anything torn is an AssertionError."""
    chance = random.Random(seed)
    book = folder / "book"
    book.mkdir()
    path = book / "deck.xlsx"
    files = [folder / name for name in ("old", "new")]
    for file, data in zip(files, (old, new), strict=True):
        file.write_bytes(data)
    found = {"old": 0, "new": 0}
    for kill in range(kills):
        path.write_bytes(old)
        writer = subprocess.Popen([sys.executable, "-c", REFRESHER, path, *files], stdout=subprocess.PIPE)
        try:
            assert writer.stdout.readline() == b"ready\n"
            time.sleep(chance.uniform(0.0, 0.05))
        finally:
            writer.send_signal(signal.SIGKILL)
            writer.wait()
            writer.stdout.close()
        data = path.read_bytes()
        assert data in (old, new), f"kill {kill}: a torn workbook"
        found["old" if data == old else "new"] += 1
        for copy in book.iterdir():
            whole = not copy.name.startswith("deck before") or copy.read_bytes() in (old, new)
            assert whole, f"kill {kill}: {copy.name} is torn"
            copy.unlink()
    return found


def _outcome(work: Callable[[], object], after_s: float) -> str:
    """Run something in a process of its own and kill it after that time; return killed, ended or refused."""

    def run() -> None:
        try:
            work()
        except Locked:
            os._exit(3)

    process = multiprocessing.get_context("fork").Process(target=run)
    process.start()
    process.join(after_s)
    killed = process.is_alive()
    if killed:
        process.kill()
    process.join()
    outcome = "killed" if killed else {0: "ended", 3: "refused"}[process.exitcode]
    process.close()
    return outcome


def _a_minute_later(folder: Path) -> None:
    """Let the mark of a run that was killed while it took over a stale lock be a minute old."""
    os.utime(folder / ".baybook.lock.taking", (time.time() - 61,) * 2)


def _whole_files(folder: Path, *allowed: Mapping[str, bytes]) -> None:
    """See that every file is as one of the states has it, none is gone, and what is left of a write is swept."""
    for name in folder.glob(".baybook-*.tmp"):
        os.utime(name, (time.time() - 90_000,) * 2)
    sweep(folder)
    found = contents(folder)
    for name in set.intersection(*map(set, allowed)):
        if not name.startswith("."):
            assert name in found, f"{name} is gone"
    for name, data in found.items():
        base = re.sub(r" before [^.]+(?=\.)", "", name)
        whole = name.startswith(".") or any(state.get(base) == data for state in allowed)
        assert whole, f"{name} is torn: {len(data):,} bytes"


def _put(folder: Path, files: Mapping[str, bytes]) -> None:
    for path in folder.iterdir():
        path.unlink()
    for name, data in files.items():
        (folder / name).write_bytes(data)


def _of_people(files: Mapping[str, bytes]) -> dict[str, bytes]:
    return {name: data for name, data in files.items() if not name.startswith(".")}


def _seen(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder that a person sees; our record of what was written holds more after a kill."""
    return _of_people(contents(folder))


def kill_builds(place: Path, old: Path, new: Path, kills: int, seed: int) -> dict[str, int]:
    """Kill that many builds of a changed book; anything torn or lost is an AssertionError.

    One of the workbooks was changed by a person: it must outlast everything. Half of the time the next build goes on
    where this one was killed; one that comes to its end must have written what an undisturbed one writes.
    """
    chance = random.Random(seed)
    out, day, when = place / "out", dt.date(2026, 6, 15), dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001
    build_book(old, out, day, when)
    mine = min(out.glob("*.xlsx"))
    mine.write_bytes(mine.read_bytes() + b"mine")
    before = contents(out)
    start = time.perf_counter()
    build_book(new, out, day, when)
    took, after = time.perf_counter() - start, contents(out)
    assert after[mine.name] == before[mine.name]
    assert sum(after[name] != before[name] for name in after) > 3
    _put(out, before)
    found = {"kills": 0, "refused for a minute": 0, "whole builds": 0, "nothing written": 0, "part written": 0}
    while found["kills"] < kills:
        outcome = _outcome(lambda: build_book(new, out, day, when), chance.uniform(0, 1.2 * took))
        if outcome == "refused":
            found["refused for a minute"] += 1
            _a_minute_later(out)
            continue
        if outcome == "ended":
            found["whole builds"] += 1
            assert _seen(out) == _of_people(after)
            _put(out, before)
            continue
        found["kills"] += 1
        _whole_files(out, before, after)
        now = contents(out)
        same = all(now[name] == before[name] for name in before if not name.startswith("."))
        found["nothing written" if same else "part written"] += 1
        if chance.random() < 0.5:
            _put(out, before)
    if (out / ".baybook.lock.taking").exists():
        _a_minute_later(out)
    kept = build_book(new, out, day, when).kept
    assert [one.source for one in kept] == [
        mine.name
    ]  # no file of ours is taken for a person's, and none of his for ours
    assert _seen(out) == _of_people(after)
    return found


def kill_whole_refreshes(folder: Path, old: bytes, new: bytes, kills: int, seed: int) -> dict[str, int]:
    """Kill that many refreshes, reading and working out included; a torn workbook is an AssertionError."""
    chance = random.Random(seed)
    path, when = folder / "deck.xlsx", dt.datetime(2026, 6, 16, 9, 30)  # noqa: DTZ001 - the local time of a run
    path.write_bytes(old)
    start = time.perf_counter()
    refresh_workbook(path, when)
    took = time.perf_counter() - start
    assert path.read_bytes() == new
    _put(folder, {path.name: old})
    found = {"kills": 0, "whole refreshes": 0, "as it was": 0, "refreshed": 0}
    while found["kills"] < kills:
        # most of the time is spent before anything is written: half of the kills come near the end
        low = 0.8 * took if chance.random() < 0.5 else 0.0
        killed = _outcome(lambda: refresh_workbook(path, when), chance.uniform(low, 1.2 * took)) == "killed"
        states = {path.name: old}, {path.name: new}
        _whole_files(folder, *states)
        data = path.read_bytes()
        found["kills" if killed else "whole refreshes"] += 1
        if killed:
            found["as it was" if data == old else "refreshed"] += 1
        else:
            assert data == new
        _put(folder, {path.name: old})
    return found
