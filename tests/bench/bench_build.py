"""Print what a build costs and where the time goes: ``python tests/bench/bench_build.py [JOBS]``, two minutes.

One job in a process of its own; a hundred jobs in one process, by step; a 60-bay workbook in LibreOffice. Beside each
time stands how many times the bare zipping of the same bytes it is, which hardly depends on the machine.
"""

from __future__ import annotations

import datetime as dt
import io
import statistics
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from contextlib import contextmanager
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from books import book_folder, deck
from live.programs import Calc

import baybook.estimate
from baybook.batch import build_book
from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.files.write import write_bytes
from baybook.workbook.build import make_workbook, spec_of
from baybook.workbook.build import written as packed
from baybook.workbook.declare import column_letter, layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.prove import prove

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  a workbook's clock has no zone
RUNS = 5


def say(words: str) -> None:
    print(words, flush=True)  # noqa: T201 - a script


class Clock:
    """Seconds of the processor by step: others on the machine do not count."""

    def __init__(self) -> None:
        self.spent: Counter[str] = Counter()

    @contextmanager
    def step(self, name: str):
        start = time.process_time()
        yield
        self.spent[name] += time.process_time() - start


def best(work, runs: int = RUNS, clock=time.perf_counter) -> float:
    """Return the median time of some runs. [s]."""
    times = []
    for _ in range(runs):
        start = clock()
        work()
        times.append(clock() - start)
    return statistics.median(times)


def bare_zip(data: bytes) -> float:
    """Return the time that zipping a workbook's own parts takes. [s]."""
    with zipfile.ZipFile(io.BytesIO(data)) as book:
        parts = {name: book.read(name) for name in book.namelist()}

    def work():
        with zipfile.ZipFile(io.BytesIO(), "w", zipfile.ZIP_DEFLATED) as out:
            for name, part in parts.items():
                out.writestr(name, part)

    return best(work, clock=time.process_time)


def cold(folder: Path) -> None:
    book = book_folder(folder / "one")
    baybook = [sys.executable, "-m", "baybook"]
    cases = {
        "python alone": [sys.executable, "-c", "pass"],
        "baybook --help": [*baybook, "--help"],
        "baybook check, one job": [*baybook, "check", str(book)],
        "baybook build, one job": [*baybook, "build", str(book), "--out", str(folder / "one out")],
    }
    bare = 0.0
    for name, command in cases.items():
        took = best(lambda command=command: subprocess.run(command, check=True, capture_output=True))
        bare = bare or took
        say(f"{name:28}{took:8.3f} s   {took / bare:6.1f} times python alone")


def many_jobs(folder: Path, jobs: int) -> Path:
    """Write a book of different jobs, from a landing to three areas of forty feet."""
    codes = [f"J{number:03}" for number in range(jobs)]
    areas = [
        {
            "job": code,
            "area": name,
            "width": f"{8 + (7 * number + 11 * at) % 33} ft",
            "projection": f"{8 + number % 9} ft",
        }
        for number, code in enumerate(codes)
        for at, name in enumerate(("main", "side", "landing")[: 1 + number % 3])
    ]
    return book_folder(folder / "many", deck(jobs=[{"job": code} for code in codes], areas=areas))


def warm(folder: Path, jobs: int) -> None:
    book, clock = many_jobs(folder, jobs), Clock()
    start, wall = time.process_time(), time.perf_counter()
    build_book(book, folder / "all", WHEN.date(), WHEN)
    whole, wall = time.process_time() - start, time.perf_counter() - wall
    right = baybook.estimate.plan_of

    def plan(*args):
        with clock.step("plan"):
            return right(*args)

    sizes, zipped = [], 0.0
    with clock.step("reading"):
        inputs = read_book(book, WHEN.date())
    for one in inputs:
        baybook.estimate.plan_of = plan
        with clock.step("engine and plan"):
            estimate = build_estimate(one)
        baybook.estimate.plan_of = right  # the decisions sheet plans too
        with clock.step("declare"):
            spec = spec_of(estimate, WHEN)
            placed = layout(spec)
        with clock.step("evaluate"):
            values = evaluate(spec, placed)
        with clock.step("prove"):
            prove(estimate, placed, values)
        with clock.step("write"):
            data = packed(spec, placed, values, estimate, WHEN)
        with clock.step("to disk"):
            write_bytes(folder / "one.xlsx", data)
        sizes.append(len(data))
        zipped += bare_zip(data) if len(sizes) <= 10 else 0.0
    each_zip = zipped / min(jobs, 10)
    spent = clock.spent
    spent["engine"] = spent.pop("engine and plan") - spent["plan"]
    total = sum(spent.values())
    say(
        f"\n{jobs} jobs, one process: {whole:.1f} s of the processor, {wall:.1f} s on the clock, "
        f"{whole / jobs * 1e3:.0f} ms a job; {statistics.mean(sizes) / 1e3:.0f} kB a workbook, "
        f"{max(sizes) / 1e3:.0f} at most; bare zip {each_zip * 1e3:.1f} ms"
    )
    for name in ("reading", "engine", "plan", "declare", "evaluate", "prove", "write", "to disk"):
        took = spent[name] / jobs
        share, ratio = spent[name] / total, took / each_zip
        say(f"    {name:12}{took * 1e3:8.1f} ms a job  {share:5.0%}   {ratio:6.1f} times the bare zip")


def sixty_bays(folder: Path) -> None:
    made = []
    estimate = build_estimate(read_book(book_folder(folder / "sixty", area={"width": "80 ft"}), WHEN.date())[0])
    took = best(lambda: made.append(make_workbook(estimate, WHEN)), clock=time.process_time)
    one, path = made[-1], folder / "sixty.xlsx"
    path.write_bytes(one.data)
    zipped = bare_zip(one.data)
    say(f"\n{estimate.takeoff.bays} bays: {len(one.values):,} formulas, {len(one.data) / 1e3:.0f} kB, built in "
        f"{took * 1e3:.0f} ms, {took / zipped:.0f} times the bare zip of {zipped * 1e3:.1f} ms")  # fmt: skip
    with Calc(folder) as calc:
        loaded = best(lambda: calc.open(path))
        whole = best(lambda: calc.recalculate(hard=True))
        width, price = one.layout.address("a_width"), one.layout.address("total_price")
        feet = iter(range(60, 80))

        def edit():
            calc.set(width[0], f"{column_letter(width[2])}{width[1]}", float(next(feet)))
            calc.recalculate()
            calc.read(price[0], f"{column_letter(price[2])}{price[1]}")

        edited = best(edit, 15)
    for name, seconds in (("load", loaded), ("recalculate all", whole), ("one edit, price read", edited)):
        say(f"    LibreOffice, {name:22}{seconds * 1e3:8.0f} ms   {seconds / zipped:6.1f} times the bare zip")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as name:
        cold(Path(name))
        warm(Path(name), int(sys.argv[1]) if len(sys.argv) > 1 else 100)
        sixty_bays(Path(name))
