"""Print what re-pricing costs: ``python tests/bench/bench_reprice.py [JOBS] [SIZE ...] [all]``; 1,000 take ten minutes.

Random jobs of 20 to 80 bays in books of ten. (a) re-priced end to end in one process, reading, both estimates,
workbooks, journal and report included; (b) the same workbooks written by plain openpyxl, the writing alone: with all
looks, and its cells alone; and a build from the inputs to the file; (c) the cells written by XlsxWriter; (d) the bare
zip of the bytes that (a) wrote. (b), (c) and (d) on a sample. Then the processor time of (a) by part. With sizes, or
``all`` for 100, 1,000 and 10,000, also the marginal cost and the peak memory at each, and two processes against one at
the second. Processor seconds, but for the last. 0 jobs: the sizes alone.
"""

# ruff: noqa: T201  a script
from __future__ import annotations

import datetime as dt
import io
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

import openpyxl
import xlsxwriter
from fleet import fleet, new_list, yard
from openpyxl.workbook.defined_name import DefinedName

from baybook.estimate import build_estimate
from baybook.files.book import read_book
from baybook.reprice import run as running
from baybook.reprice import work as working
from baybook.workbook import package, template
from baybook.workbook.build import make_workbook, spec_of, written
from baybook.workbook.declare import Layout, layout
from baybook.workbook.due import headings
from baybook.workbook.evaluate import evaluate
from baybook.workbook.looks import Palette, number_format
from baybook.workbook.semantics import ErrorValue

ON = dt.date(2026, 7, 1)
WHEN = dt.datetime(2026, 7, 1, 6, 0)  # noqa: DTZ001  the files hold no zone
SAMPLE = 40


def cpu(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def by_openpyxl(placed: Layout) -> bytes:
    """Write every cell with a style, no charts, no widths, no stored values: what a plain script would do."""
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    sheets = {sheet.title: workbook.create_sheet(sheet.title) for sheet in placed.sheets}
    palette = Palette(workbook.worksheets[0])
    for title, row, col, text in headings(placed):
        if text:
            sheets[title].cell(row, col, text)._style = palette.style("label")
    for cell in placed.cells():
        value = cell.formula if cell.formula is not None else cell.value
        if value not in {None, ""}:
            role = getattr(cell.declaration, "role", "label")
            style = palette.style(role, number_format(role, getattr(cell.declaration, "fmt", ""), value))
            sheets[cell.sheet].cell(cell.row, cell.col, value)._style = style
    for name, where in placed.names.items():
        workbook.defined_names[name] = DefinedName(name, attr_text=where)
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def by_openpyxl_whole(placed: Layout, values: Any, estimate: Any) -> bytes:
    """Write widths, heights, lists, colours, charts and printing too, and save as openpyxl saves: no stored values."""
    own = package.save
    package.save = lambda workbook, _, stream: workbook.save(stream)
    try:
        return written(placed.spec, placed, values, estimate, WHEN)
    finally:
        package.save = own


def by_xlsxwriter(placed: Layout, values: Any) -> bytes:
    """Write the same with the values beside the formulas, which this library can."""
    stream = io.BytesIO()
    workbook = xlsxwriter.Workbook(stream, {"in_memory": True})
    sheets = {sheet.title: workbook.add_worksheet(sheet.title) for sheet in placed.sheets}
    formats: dict[tuple[str, str], Any] = {}
    for title, row, col, text in headings(placed):
        if text:
            sheets[title].write_string(row - 1, col - 1, text)
    for cell in placed.cells():
        sheet, at = sheets[cell.sheet], (cell.row - 1, cell.col - 1)
        role, value = getattr(cell.declaration, "role", "label"), cell.value
        fmt = number_format(role, getattr(cell.declaration, "fmt", ""), value)
        if (role, fmt) not in formats:
            formats[role, fmt] = workbook.add_format({"num_format": fmt} if fmt else {})
        style = formats[role, fmt]
        if cell.formula is not None:
            found = values[cell.sheet, cell.row, cell.col]
            sheet.write_formula(*at, cell.formula, style, str(found) if isinstance(found, ErrorValue) else found)
        elif isinstance(value, str) and value:
            sheet.write_string(*at, value, style)
        elif hasattr(value, "year"):
            sheet.write_datetime(*at, dt.datetime(value.year, value.month, value.day), style)  # noqa: DTZ001  a day
        elif value is not None and value != "":
            sheet.write_number(*at, float(value), style)
    for name, where in placed.names.items():
        workbook.define_name(name if not name[0].isdigit() else f"_{name}", f"={where}")
    workbook.close()
    return stream.getvalue()


class Parts:
    """Processor time of the parts of a re-pricing, without those inside them."""

    def __init__(self) -> None:
        self.spent: Counter[str] = Counter()
        self._open: list[list[float]] = []

    def watch(self, owner: Any, name: str, label: str) -> None:
        inner = getattr(owner, name)

        def watched(*args: Any, **kwargs: Any) -> Any:
            start = time.process_time()
            self._open.append([0.0])
            try:
                return inner(*args, **kwargs)
            finally:
                took = time.process_time() - start
                self.spent[label] += took - self._open.pop()[0]
                if self._open:
                    self._open[-1][0] += took

        setattr(owner, name, watched)


def watched() -> Parts:
    """Put a clock round every part."""
    from baybook.workbook.sheets import decisions

    parts = Parts()
    for owner, name, label in (
        (working, "read_good_jobs", "read"),
        (running, "sources_of", "read"),
        (working, "priced_again", "engine"),
        (working, "change_of", "engine"),
        (decisions, "compare", "engine: the options of every decision"),
        (template, "spec_of", "declare"),
        (template, "wanted", "declare"),
        (template.Columnwise, "work_out", "formulas"),
        (template, "prove", "proof"),
        (template.Template, "__init__", "compile templates"),
        (template.Template, "filled", "render"),
        (template, "zip_of", "zip"),
        (running._Run, "_take", "write and journal"),
        (running, "write_report", "report"),
    ):
        parts.watch(owner, name, label)
    return parts


def reprice_once(folder: Path, prices: Path, jobs: int = 1) -> None:
    running.reprice(folder, prices, ON, WHEN, jobs=jobs)


def side_by_side(folder: Path, prices: Path, jobs: int) -> None:
    took, _ = cpu(lambda: reprice_once(folder, prices))
    made = took / jobs * 1e3
    print(f"(a) re-priced: {made:.1f} ms a job, {jobs} jobs, {took:.1f} s")
    samples = [inputs for path in sorted(folder.glob("bids *")) for inputs in read_book(path, ON)][
        :: max(1, jobs // SAMPLE)
    ]
    spent: Counter[str] = Counter()
    for inputs in samples:
        one, estimate = cpu(lambda inputs=inputs: build_estimate(inputs))
        two, _ = cpu(lambda estimate=estimate: make_workbook(estimate, WHEN))
        placed = layout(spec_of(estimate, WHEN))
        values = evaluate(placed.spec, placed)
        spent["whole"] += one + two
        spent["openpyxl whole"] += cpu(
            lambda placed=placed, values=values, estimate=estimate: by_openpyxl_whole(placed, values, estimate)
        )[0]
        spent["openpyxl"] += cpu(lambda placed=placed: by_openpyxl(placed))[0]
        spent["xlsxwriter"] += cpu(lambda placed=placed, values=values: by_xlsxwriter(placed, values))[0]
    plain = {name: seconds / len(samples) * 1e3 for name, seconds in spent.items()}
    files = sorted((folder / f"repriced {ON}").glob("bids */*.xlsx"))[:: max(1, jobs // SAMPLE)]
    size = bare = 0.0
    for file in files:
        with zipfile.ZipFile(file) as whole:
            contents = [(name, whole.read(name)) for name in whole.namelist()]
        bare += cpu(lambda contents=contents: zipped(contents))[0]
        size += file.stat().st_size
    told("(b) openpyxl, the same workbooks, writing alone", plain["openpyxl whole"], made)
    told("    openpyxl, their cells alone", plain["openpyxl"], made)
    told("    baybook build, from inputs to file", plain["whole"], made)
    told("(c) XlsxWriter, their cells alone", plain["xlsxwriter"], made)
    told("(d) bare zip of the same bytes", bare / len(files) * 1e3, made)
    print(f"a file has {size / len(files) / 1e3:.0f} kB")


def told(what: str, took_ms: float, made_ms: float) -> None:
    print(f"{what}: {took_ms:.1f} ms a job, {took_ms / made_ms:.2f} times (a)")


def zipped(contents: list[tuple[str, bytes]]) -> None:
    with zipfile.ZipFile(io.BytesIO(), "w", zipfile.ZIP_DEFLATED) as made:
        for name, data in contents:
            made.writestr(name, data)


def by_part(folder: Path, prices: Path, jobs: int) -> None:
    shutil.rmtree(folder / f"repriced {ON}")
    parts = watched()
    took, _ = cpu(lambda: reprice_once(folder, prices))
    print(f"by part, ms a job (in all {took / jobs * 1e3:.1f}; each without those inside it):")
    for label, seconds in parts.spent.most_common():
        print(f"    {label:<40}{seconds / jobs * 1e3:8.2f}")
    print(f"    {'everything else':<40}{(took - sum(parts.spent.values())) / jobs * 1e3:8.2f}")


def alone(folder: Path, prices: Path, processes: int) -> tuple[float, float, float]:
    """Re-price in a process of its own; return its processor seconds, its peak memory in MB and the time it took."""
    shutil.rmtree(folder / f"repriced {ON}", ignore_errors=True)
    start = time.perf_counter()
    call = f"alone_here(Path({str(folder)!r}), Path({str(prices)!r}), {processes})"
    code = f"from bench_reprice import *; {call}"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=Path(__file__).parent
    )
    seconds, memory = map(float, done.stdout.split())
    return seconds, memory, time.perf_counter() - start


def alone_here(folder: Path, prices: Path, processes: int) -> None:
    reprice_once(folder, prices, processes)
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print(sum(one.ru_utime + one.ru_stime for one in used), max(one.ru_maxrss for one in used) / 1024)


def by_size(folder: Path, of: Any, prices: Path, sizes: Sequence[int]) -> None:
    before = (0, 0.0)
    for at, jobs in enumerate(sizes):
        here = folder / f"fleet {jobs}"
        fleet(here, min(jobs, 1_000), low=20, of=of)
        for copy in range(1, jobs // 1_000):  # the same decks again, as other books
            for book in sorted(here.glob("bids 0???"))[:100]:
                shutil.copytree(book, here / f"again {copy} {book.name}")
        seconds, memory, wall = alone(here, prices, 1)
        marginal = (seconds - before[1]) / (jobs - before[0]) * 1e3
        said = f"{jobs} jobs: {seconds:.1f} s, {marginal:.1f} ms a job more than before"
        print(f"{said}, peak {memory:.0f} MB, {wall:.1f} s by the clock", flush=True)
        before = jobs, seconds
        if at == 1:
            _, _, two = alone(here, prices, 2)
            said = f"two processes: {two:.1f} s by the clock against {wall:.1f}, {wall / two:.2f} times as fast"
            print(f"{said}, on {os.cpu_count()} processors")
        shutil.rmtree(here)


def main(jobs: int, sizes: Sequence[int]) -> None:
    of = yard()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        prices = new_list(folder / "new.csv", of[1])
        if jobs:
            bids = fleet(folder / "bids", jobs, low=20, of=of)
            side_by_side(bids, prices, jobs)
            by_part(bids, prices, jobs)
            shutil.rmtree(bids)
        by_size(folder, of, prices, sizes)


if __name__ == "__main__":
    numbers = [int(one) for one in sys.argv[1:] if one.isdigit()]
    main(numbers[0] if numbers else 1_000, (100, 1_000, 10_000) if "all" in sys.argv else numbers[1:])
