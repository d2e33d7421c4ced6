"""Kill re-pricings and go on: ``python tests/long/kill_reprice.py [KILLS]``; 200 take some ten minutes.

Three books and a workbook that a person worked in. Each run goes on where the one before was killed, three in four in
one process, one in four with two more of its own. After every kill all files are whole, old or new, and nothing is lost
or there twice; a run that comes to its end has made what an undisturbed one makes, byte for byte.
"""

# ruff: noqa: T201  a script
from __future__ import annotations

import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from killed import kill_runs


def main(kills: int) -> None:
    start = time.monotonic()
    found: Counter[str] = Counter()
    for jobs, some in ((1, kills - kills // 4), (2, kills // 4)):
        with tempfile.TemporaryDirectory() as name:
            found.update(kill_runs(Path(name), some, seed=jobs, a_book=5, jobs=jobs))
    words = ", ".join(f"{count} {what}" for what, count in found.items())
    print(f"{words} (found after each); nothing torn, lost or done twice; {time.monotonic() - start:.0f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
