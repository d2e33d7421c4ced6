"""Kill 200 writing processes: ``python tests/long/kill_writes.py [KILLS] [SEED]``, 10 seconds.

Prints what stood under the file's name afterwards (the old or a new file, whole) and how many temporaries were left
and swept; stops with an error at the first torn file.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from kills import kill_writers

if __name__ == "__main__":
    kills, seed = (*map(int, sys.argv[1:]), *(200, 1)[len(sys.argv) - 1 :])
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder:
        found = kill_writers(Path(folder), kills, seed)
    print(f"{kills} kills: {found}, none torn, {time.perf_counter() - start:.0f} s")  # noqa: T201 - a script
