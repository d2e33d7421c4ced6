"""The lists that people read have no gaps: what is in use stands together from the first row, and nothing else does."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache

import decks
import pytest
from books import random_estimate
from test_water_sheets import column

from baybook.workbook.build import make_workbook

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  the time of the run is the user's own
LISTS = {
    "b_use": ("bay_label", "bay_left", "bay_cut", "bay_said", "bay_pieces"),
    "wp_on": ("wq_part", "wq_bay_state"),
    "g_lead": ("line_name", "line_said", "wg_line", "wd_line", "wr_line"),
    "gs_use": ("edge_line",),
    "f_block": ("block_area", "block_rip"),
    "u_use": ("bought_item", "bought_n"),
    "pw_inside": ("wx_part",),
}


@lru_cache
def made_of(one):
    """Return the estimate of a worked deck, or of a random book, and its workbook."""
    estimate = decks.worked(one) if isinstance(one, str) else random_estimate(one)
    return estimate, make_workbook(estimate, WHEN)


@pytest.mark.parametrize("one", [*decks.WORKED, *range(4)])
def test_what_is_in_use_stands_together(one):
    _, made = made_of(one)
    for use, keys in LISTS.items():
        rows = sum(column(made, use))
        for key in keys:
            shown = column(made, key)
            assert all(value != "" for value in shown[: int(rows)]), key
            assert all(value == "" for value in shown[int(rows) :]), key


@pytest.mark.parametrize("one", [*decks.WORKED, *range(4)])
def test_every_bay_of_the_engine_is_listed_once_with_its_own_figures(one):
    estimate, made = made_of(one)
    listed = {label: (left, clear) for label, left, clear in zip(*(column(made, key) for key in
              ("bay_label", "bay_left", "bay_clear")), strict=True) if label}  # fmt: skip
    engine = {bay.label: (bay.left_in, bay.clear_in) for part in estimate.takeoff.parts for bay in part.bays}
    assert listed.keys() == engine.keys()
    for label, figures in engine.items():
        assert listed[label] == pytest.approx(figures, abs=1e-6), label


def test_money_and_lengths_of_rows_that_are_not_in_use_are_nothing():
    _, made = made_of("stair_opening")
    used = int(sum(column(made, "u_use")))
    assert set(column(made, "bought_cost")[used:]) == {0.0}
    assert sum(column(made, "bought_cost")) == pytest.approx(sum(column(made, "u_cost")))
    assert set(column(made, "bay_cut16")[int(sum(column(made, "b_use"))) :]) == {0.0}
