"""Workbooks of the ten worked decks and of random outlined books: clean, and the same once exported and built again.

``python -m pytest tests/long/test_decks_again.py``: two to five minutes.
"""

from __future__ import annotations

import datetime as dt

import again
import decks
import pytest

from baybook.workbook.build import make_workbook
from baybook.workbook.read import book_of
from baybook.workbook.redeclare import redeclare
from baybook.workbook.verify import verified

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone
BOOKS = [*decks.WORKED, *range(12)]


def estimate_of(one):
    return decks.worked(one) if isinstance(one, str) else decks.outlined_estimate(one)


@pytest.mark.parametrize("one", BOOKS)
def test_a_fresh_workbook_is_clean(one):
    data = make_workbook(estimate_of(one), WHEN).data
    assert verified(redeclare(book_of(data, "deck.xlsx"), WHEN)).differences == ()


@pytest.mark.parametrize("one", BOOKS)
def test_built_exported_and_built_again(one, tmp_path):
    assert again.estimate_again(estimate_of(one), tmp_path) == []
