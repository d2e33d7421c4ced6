"""Feed changed files to every reader: ``python tests/long/fuzz_files.py [SECONDS] [SEED]``.

Every reader must return or refuse; anything else stops the script with the file kept for a look.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

import hostile

from baybook.files.guard import check_workbook, check_xml
from baybook.files.lock import open_elsewhere
from baybook.files.table import read_table
from baybook.problems import FileRefused

CSV = 'job;width;note\r\n# a comment\r\nA;14\' 3-1/2";"two\r\nlines ½"\r\nB;1.234,50;\'=x\r\n'
LOCK = b"Ann Miller,ann,office-2,01.02.2026 07:05,file:///x;"


def changed(chance: random.Random, data: bytes) -> bytes:
    out = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 10, 100))):
        at = chance.randrange(len(out) + 1)
        match chance.randrange(4):
            case 0:
                out[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                del out[at : at + chance.randrange(1, 20)]
            case 2:
                out[at:at] = out[at : at + chance.randrange(1, 200)]
            case _:
                out[at:at] = chance.choice(
                    (b"\0", b'"', b"\r", b"<!DOCTYPE", b"&", b"PK\x01\x02", b"\xff\xfe", b";", b"\n")
                )
    return bytes(out)


def main(seconds: int, seed: int) -> None:
    chance = random.Random(seed)
    folder = Path(tempfile.mkdtemp())
    seeds = {
        "a.xlsx": [hostile.GOOD_PACKED, *hostile.odd_but_good().values()],
        "a.csv": [CSV.encode(), CSV.encode("cp1252"), CSV.encode("utf-16"), CSV.encode("utf-8-sig")],
        "a.xml": [hostile.good_parts()[hostile.SHEET], b"<?xml version='1.0' encoding='utf-16'?><a/>"],
        ".~lock.b.xlsx#": [LOCK],
    }
    readers = {
        "a.xlsx": check_workbook,
        "a.csv": read_table,
        "a.xml": lambda path: check_xml(path.read_bytes(), path.name),
        ".~lock.b.xlsx#": lambda path: open_elsewhere(path.with_name("b.xlsx")),
    }
    counts: Counter[str] = Counter()
    end, worst = time.monotonic() + seconds, 0.0
    while time.monotonic() < end:
        name = chance.choice(list(seeds))
        path = folder / name
        path.write_bytes(changed(chance, chance.choice(seeds[name])))
        start = time.perf_counter()
        try:
            readers[name](path)
            counts[f"{name} read"] += 1
        except FileRefused:
            counts[f"{name} refused"] += 1
        worst = max(worst, time.perf_counter() - start)
    print(dict(sorted(counts.items())), f"worst {worst * 1e3:.0f} ms")  # noqa: T201 - a script


if __name__ == "__main__":
    main(*(*map(int, sys.argv[1:]), *(60, 1)[len(sys.argv) - 1 :]))
