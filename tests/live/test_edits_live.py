"""Workbooks edited in LibreOffice without us: after every change each cell is what the engine says.

The full measure, 500 edits over 20 books and their last states in Gnumeric, is ``python tests/long/edits_live.py``.
"""

from __future__ import annotations

import pytest
from live.edited import EditedBook, Tally
from live.programs import needs, shared_calc

pytestmark = pytest.mark.live


@pytest.mark.parametrize("seed", [2, 11, 12, 23])  # 11 is metric, 12 has two liners
def test_fifteen_changes_of_a_random_book(seed, tmp_path):
    needs("soffice")
    needs("uno")
    tally = Tally()
    book = EditedBook(shared_calc(), seed, tmp_path)
    while tally.edits < 15:
        book.step(tally)
    assert tally.found == []
    assert tally.cells >= 15 * 10_000
    assert tally.counts["plan out of date"] + tally.counts["plan current"] >= 8, tally.counts
