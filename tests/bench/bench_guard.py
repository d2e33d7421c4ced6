"""Print what the guard refuses, how fast and in how much memory: ``python tests/bench/bench_guard.py``, half a minute.

Each case runs in a process of its own, forked after start-up; the time is the best of three, the memory is what the
process grew by at its peak. With ``-v`` every case is printed.
"""

from __future__ import annotations

import os
import resource
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import hostile

from baybook.files.guard import check_workbook, check_xml
from baybook.files.table import read_table
from baybook.problems import FileRefused


def read_xml(path: Path) -> None:
    check_xml(path.read_bytes(), path.name)


def sheet_with_the_last_cell_wrong(rows: int) -> bytes:
    body = "".join(
        f'<row r="{row}">' + "".join(f'<c r="{letter}{row}"><v>{row * 7 % 97}.{row}</v></c>' for letter in "ABCDEFGHIJ")
        + "</row>" for row in range(1, rows)
    )  # fmt: skip
    return hostile.sheet(body + '<row r="99999"><c r="A99999"/></row>')


SLOW = {
    "last cell wrong, 25,000 cells before": lambda: sheet_with_the_last_cell_wrong(2_500),
    "last cell wrong, 190,000 cells before": lambda: sheet_with_the_last_cell_wrong(19_000),
    "entities behind 20 MB in one token": lambda: hostile.with_doctype(
        hostile.SHEET, f"<!--{hostile.random_text(20_000_000).decode()}-->{hostile.BOMB}"
    ),
    "more than a million elements": lambda: hostile.changed(
        **{"xl/a.xml": b"<a>" + b"".join(b"<b c='%d'/>" % (n * n) for n in range(1_100_000)) + b"</a>"}
    ),
}


def apart(work) -> str:
    """Run the work in a forked process, so that the memory of this one stays as after start-up; return what it says."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if not child:
        os.write(write_end, str(work()).encode())
        os._exit(0)
    os.close(write_end)
    os.waitpid(child, 0)
    with os.fdopen(read_end) as answer:
        return answer.read()


def measured(check, path: Path) -> str:
    """Return whether the file was refused, the best time [s] and the growth of the memory at its peak [MiB]."""
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    refused, times = 0, []
    for _ in range(3):
        start = time.perf_counter()
        try:
            check(path)
        except FileRefused:
            refused = 1
        times.append(time.perf_counter() - start)
    grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    return f"{refused} {min(times)} {grown}"


def main() -> None:
    kinds = {
        "workbook: document types, entities": (hostile.DOCTYPES, check_workbook, ".xlsx"),
        "workbook: cells and ranges": (hostile.CELLS, check_workbook, ".xlsx"),
        "workbook: zip, names, parts": (hostile.ZIPS, check_workbook, ".xlsx"),
        "XML": (hostile.XML, read_xml, ".xml"),
        "CSV": (hostile.CSV, read_table, ".csv"),
        "large, and bad at its end": (SLOW, check_workbook, ".xlsx"),
        "good, odd": (hostile.odd_but_good(), check_workbook, ".xlsx"),
    }
    print(f"{'kind':38}{'tried':>6}{'refused':>9}{'worst ms':>10}{'worst MiB':>11}  slowest")  # noqa: T201 - a script
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "a.csv").write_text("a\n", encoding="ascii")
        read_table(folder / "a.csv")
        check_xml(b"<a/>", "a.xml")
        for kind, (cases, check, suffix) in kinds.items():
            results = {}
            for case, make in cases.items():
                path = folder / f"case{suffix}"
                apart(lambda make=make, path=path: path.write_bytes(make() if callable(make) else make))
                refused, best, grown = map(float, apart(lambda path=path, check=check: measured(check, path)).split())
                results[case] = (bool(refused), best, grown)
            slowest = max(results, key=lambda case: results[case][1])
            print(  # noqa: T201 - a script
                f"{kind:38}{len(results):6}{sum(r[0] for r in results.values()):9}"
                f"{results[slowest][1] * 1e3:10.1f}{max(r[2] for r in results.values()):11.0f}  {slowest}"
            )
            if "-v" in sys.argv:
                for case, (refused, best, grown) in results.items():
                    print(f"    {case:50}{refused!s:7}{best * 1e3:9.1f} ms{grown:7.0f} MiB")  # noqa: T201 - a script


if __name__ == "__main__":
    main()
