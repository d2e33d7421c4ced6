"""Kill a process that writes the same file again and again, at a moment of no choice."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

from baybook.files.write import sweep

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
