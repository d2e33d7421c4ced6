"""Print how long the Excel face takes: ``python tests/bench/bench_addin.py``, half a minute.

Calls go through xlwings' own COM code under stand-ins for Windows, so what COM and Excel themselves take comes on top.
Each first call is made in a fresh process; later calls have other numbers each time, so that no answer is kept; the
last column asks the same again, which the kept answers serve. Medians.
"""

from __future__ import annotations

import os
import random
import statistics
import subprocess
import sys
import time
from pathlib import Path

TESTS = Path(__file__).parents[1]
RUNS, REPEATS = 9, 25


def bays(draw: random.Random) -> list[list[float]]:
    return [[draw.randrange(20, 62) / 4, float(draw.randrange(60, 300))] for _ in range(300)]


def pieces(draw: random.Random) -> list[list[float]]:
    """Return 120 pieces of a deck with several widths of bay and a skewed end: 30 lengths, four of each."""
    return [[draw.randrange(160, 720) / 4, 4.0] for _ in range(30)]


STOCK = [[144.0, 41.0], [192.0, 54.0], [240.0, 66.0]]
CALLS = {
    "table of 300 bays": lambda draw: ("BAY_PANELS", (bays(draw), 4.0, 1.5, 1.5, 3.0)),
    "cut plan of 120 pieces": lambda draw: ("BAY_CUT_PLAN", (pieces(draw), STOCK)),
    "cut plan of 120 equal panels": lambda draw: ("BAY_CUT_PLAN", ([[draw.randrange(400, 700) / 4, 120.0]], STOCK)),
    "one bay count": lambda draw: ("BAY_COUNT", (draw.randrange(60, 900) / 12, 16.0)),
}


def measure(label: str) -> None:
    """Measure one call in this process and print: import, first, later, kept, in milliseconds."""
    start = time.perf_counter()
    import xlwings  # noqa: F401 - its own share of the start

    library = time.perf_counter()
    import baybook.addin.udfs

    ready = time.perf_counter()
    del sys.modules["baybook.addin.udfs"], baybook.addin.udfs
    import excel_standins as excel

    _, _, com_server = excel.install()
    import baybook.addin.udfs  # again, with the decorators of Windows

    server, caller = com_server.XLPython(), excel.Cells(None)

    def call(seed: int) -> float:
        name, given = CALLS[label](random.Random(seed))
        sent = tuple(excel.Cells(value) for value in given)
        begun = time.perf_counter()
        found = server.CallUDF("baybook.addin.udfs", name, sent, None, caller)
        took = time.perf_counter() - begun
        if isinstance(found, str):
            raise SystemExit(found)
        return took * 1000

    first = call(0)
    later = statistics.median(call(seed) for seed in range(1, 1 + REPEATS))
    kept = statistics.median(call(REPEATS) for _ in range(REPEATS))
    sys.stdout.write(f"{(library - start) * 1000} {(ready - library) * 1000} {first} {later} {kept}\n")


def main() -> None:
    """Measure every call in fresh processes and print the medians."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(TESTS), *sys.path])}
    heads = ("import xlwings", "import functions", "first call", "later", "kept")
    sys.stdout.write(f"{'median ms':<30}{''.join(f'{head:>18}' for head in heads)}\n")
    for label in CALLS:
        runs = []
        for _ in range(RUNS):
            command = [sys.executable, __file__, label]
            ran = subprocess.run(command, capture_output=True, text=True, check=True, env=environment)
            runs.append([float(one) for one in ran.stdout.split()])
        medians = (statistics.median(column) for column in zip(*runs, strict=True))
        sys.stdout.write(f"{label:<30}{''.join(f'{median:>18.2f}' for median in medians)}\n")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        measure(sys.argv[1])
    else:
        main()
