"""DOC PS 20, dressed sizes of dimension lumber, and AWC DCA 6, Table 2, spans of Southern Pine.

PS 20 read in the source; DCA 6 in a reprint in a permit file. The spans are a caution, never advice on structure.
"""

from __future__ import annotations

import pytest

from baybook.data import dressed_depths, dressed_thicknesses, joist_spans_in, table


def test_dressed_sizes():
    depths = {"2x4": 3.5, "2x6": 5.5, "2x8": 7.25, "2x10": 9.25, "2x12": 11.25}
    assert dressed_depths() == depths
    assert list(dressed_depths()) == list(depths)  # shallow to deep: take-off relies on the order
    assert dressed_thicknesses() == dict.fromkeys(depths, 1.5)


@pytest.mark.parametrize(("spacing", "clear"), [(12, 10.5), (16, 14.5), (24, 22.5)])
def test_clear_bay(spacing, clear):
    assert spacing - dressed_thicknesses()["2x10"] == clear


def test_spans_of_southern_pine():
    printed = {
        "2x8": ("13-1", "11-10", "9-8"),
        "2x10": ("16-2", "14-0", "11-5"),
        "2x12": ("18-0", "16-6", "13-6"),
    }
    spans = joist_spans_in()
    assert len(spans) == 9
    for size, row in printed.items():
        for spacing, span in zip((12.0, 16.0, 24.0), row, strict=True):
            feet, inches = map(int, span.split("-"))
            assert spans[size, spacing] == 12 * feet + inches


def test_every_shipped_value_names_its_basis():
    names = ("dressed_lumber", "dca6_spans", "gutter_profiles", "rain_cities", "roughness", "thermal_movement")
    for name in (*names, "wall_share"):
        for row in table(name):
            assert {"value", "unit", "source", "edition", "clause", "page", "basis"} <= set(row), name
            assert float(row["value"]) > 0
            assert row["unit"], name
            assert row["basis"], name
            # what was read has a source; what has none says so
            assert row["source"] or row["basis"].startswith(("from memory", "by its name", "quoted by another")), name
