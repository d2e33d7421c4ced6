"""Kill a re-pricing again and again at moments of no choice, and see what is left."""

from __future__ import annotations

import multiprocessing
import random
import sys
import time
from pathlib import Path

import books
import repricing
from repricing import RESULTS, new_list, run, state, workbook


def _bids(folder: Path, a_book: int) -> Path:
    for number in range(3):
        codes = [f"O{number}{at}" for at in range(a_book)]
        books.book_folder(folder / f"book {number}", repricing.tables(*codes, f"W{number}"))
    (folder / "edited.xlsx").write_bytes(workbook("X1", own=True))
    return folder


def kill_runs(place: Path, kills: int, seed: int, *, a_book: int = 3, jobs: int = 1) -> dict[str, int]:
    """Kill that many runs, each going on where the one before was killed, and count what was found.

    Whenever one comes to its end before it is killed, all files must be those of an undisturbed run, and the folder is
    put back. Anything torn, lost or done twice is an AssertionError.
    """
    chance = random.Random(seed)
    folder, prices = _bids(place / "bids", a_book), new_list(place / "new.csv")
    before = state(folder)
    run(folder, prices)  # the templates are warm now, as they are after the first jobs of a long run
    repricing.put_back(folder, before)
    start = time.monotonic()
    run(folder, prices)
    took = time.monotonic() - start
    after = state(folder)
    repricing.put_back(folder, before)
    context = multiprocessing.get_context("spawn" if sys.platform == "win32" else "fork")
    found = {"kills": 0, "whole runs": 0, "nothing done": 0, "part done": 0, "workbooks": 0}
    while found["kills"] < kills:
        process = context.Process(target=run, args=(folder, prices), kwargs={"jobs": jobs})
        process.start()
        process.join(chance.uniform(0.0, took))
        if process.is_alive():
            process.kill()
            found["kills"] += 1
        process.join()
        process.close()
        _count(found, folder, before, after)
        if state(folder) == after and chance.random() < 0.5:
            repricing.put_back(folder, before)
    run(folder, prices)
    assert state(folder) == after
    second = run(folder, prices)
    assert (second.written, second.files) == ((), ())
    return found


def _count(found: dict[str, int], folder: Path, before: dict[str, bytes], after: dict[str, bytes]) -> None:
    now = state(folder)
    assert before.keys() <= now.keys(), "something is lost"
    assert now.keys() <= after.keys(), "something is there twice"
    for name, data in now.items():
        report = name.startswith(f"{RESULTS}/re-pricing")
        assert report or data in (before.get(name), after.get(name)), f"{name} is torn"
    kept = next(
        (data for name, data in now.items() if "workbooks before" in name and name.endswith("edited.xlsx")), None
    )
    assert before["edited.xlsx"] in (now["edited.xlsx"], kept), "a person's workbook is lost"
    done = sum(now.get(name) == data for name, data in after.items() if name not in before or data != before[name])
    found["workbooks"] += done
    state_now = "nothing done" if not done else "whole runs" if now == after else "part done"
    found[state_now] += 1
