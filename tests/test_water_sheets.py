"""The water, decisions and framer sheets say what the engine says: figures, words, and the limits stated on the quote.

Every book is also held against the engine by `prove` while it is made: flow, capacity and leaders of every check.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace
from functools import lru_cache

import pytest
from books import deck, inputs_of, random_estimate
from waterbooks import wet_estimate

from baybook.decisions import compare
from baybook.estimate import build_estimate
from baybook.job.fields import fields_of
from baybook.job.records import Acceptance, CodeRow, Post
from baybook.offering import accepted, open_failures
from baybook.units import show_length
from baybook.workbook.build import make_workbook
from baybook.workbook.lint import lint
from baybook.workbook.prove import Disagreement
from baybook.workbook.read import book_of
from baybook.workbook.redeclare import redeclare
from baybook.workbook.verify import verified

WHEN = dt.datetime(2026, 6, 15, 9, 30)  # noqa: DTZ001  the time of the run is the user's own
SEEDS = range(6)


@lru_cache
def wet(seed):
    estimate = wet_estimate(seed)
    return estimate, make_workbook(estimate, WHEN)


def column(made, key):
    """Return the values of a column or scalar, constants and formulas alike, blanks as ""."""
    first = made.layout.address(key)
    declared = made.layout.declaration(key)
    constants = getattr(declared, "values", None) or (getattr(declared, "value", None),)
    found = []
    for row in range(made.layout.count(key)):
        at = (first[0], first[1] + row, first[2])
        constant = constants[row] if row < len(constants) else None
        found.append(made.values.get(at, "" if constant is None else constant))
    return found


def filled(made, *keys):
    """Return the rows of some columns in which the first is filled in."""
    return [row for row in zip(*(column(made, key) for key in keys), strict=True) if row[0] != ""]


@pytest.mark.parametrize("seed", SEEDS)
def test_states_and_sizes_are_the_engines(seed):
    estimate, made = wet(seed)
    state = {True: "passed", False: "FAILED"}
    rows = {}
    for row in estimate.water.rows:
        rows.setdefault((row.name, row.what), []).append(row)

    def decides(name, what):
        return next(row for row in rows[name, what] if row.governs)

    for part, bay, outlet in filled(made, "wq_part", "wq_bay_state", "wq_out_state"):
        assert (bay, outlet) == (state[decides(part, "bay").passes], state[decides(part, "bay outlet").passes])
    parts = [part.name for part in estimate.takeoff.parts if part.outlets]
    assert [part for part, *_ in filled(made, "wq_part")] == parts
    keys = ("wg_line", "wg_state", "wg_m_size", "wg_en_size", "wg_a_size")
    for line, said, *sizes in filled(made, *keys):
        assert said == state[decides(line, "gutter").passes]
        by_method = {row.method.split()[0].rstrip(","): row.least_size or "none" for row in rows[line, "gutter"]}
        assert sizes == [by_method["Manning"], by_method["EN"], by_method.get("adopted", "")]
    keys = ("wd_line", "wd_state", "wd_size", "wd_a_size", "wd_drop_state", "wd_drop_size")
    for line, said, size, typed, drop, drop_size in filled(made, *keys):
        first, *adopted = rows[line, "leaders"]
        assert said == state[decides(line, "leaders").passes]
        assert size == (first.least_size or "none")
        assert typed == (adopted[0].least_size or "none" if adopted else "")
        assert (drop, drop_size) == (
            state[decides(line, "gutter drop").passes],
            decides(line, "gutter drop").least_size or "none",
        )
    assert len(filled(made, "wd_line")) == len(estimate.takeoff.lines)


@pytest.mark.parametrize("seed", SEEDS)
def test_reach_posts_and_heights_are_the_engines(seed):
    estimate, made = wet(seed)
    holds = {}
    for row in estimate.water.reaches:
        holds.setdefault(row.line, {})[row.way] = "yes" if row.holds else "no"
    keys = ("wr_line", "wr_planned_holds", "wr_one_way_holds", "wr_two_ways_holds")
    for line, *said in filled(made, *keys):
        assert said == [holds[line][way] for way in ("as planned", "one way", "two ways")]
        assert holds[line]["two ways"] == holds[line]["to the middle"]
    posts = [(row.part, "FAILED" if row.at_outlet else "clear of the outlet") for row in estimate.water.posts]
    assert filled(made, "wx_part", "wx_state") == posts
    heights = [row.height_left_in for row in estimate.water.posts if row.in_bay]
    assert [h for h in column(made, "wx_height") if h != ""] == pytest.approx(heights, abs=1e-6)
    asked = estimate.inputs.rates.min_headroom_in
    short = sum(round(one.height_in, 6) < asked for one in estimate.water.heights)
    assert column(made, "heights_short") == [short]


@pytest.mark.parametrize("seed", SEEDS)
def test_what_was_accepted_and_what_was_not(seed):
    estimate, made = wet(seed)
    assert (column(made, "failures_open")[0] > 0) == bool(open_failures(estimate.inputs, estimate.findings))
    idle = [one for one in estimate.findings if "which has not failed" in one.message]
    assert sum(column(made, "aw_idle")) == len(idle)
    (words,) = column(made, "quote_failed")
    assert words.startswith("A check has failed") == bool(open_failures(estimate.inputs, estimate.findings))
    live = {(row.rule, row.where) for _, row in accepted(estimate.inputs, estimate.findings)}
    assert words.count(", accepted by A. Marlow") == len(live)
    assert all(f"{where} ({rule}): as agreed" in words for rule, where in live)
    assert [what for what in column(made, "log_what") if "accepted" in str(what)] == [
        f"{rule} at {where} accepted by A. Marlow"
        for rule, where in [(r.rule, r.where) for _, r in accepted(estimate.inputs, estimate.findings)]
    ]


def test_the_seeds_show_both_ways():
    """The tests above would be blind if nothing failed, nothing was accepted, or no code was typed."""
    books = [wet_estimate(seed) for seed in SEEDS]
    rows = [row for book in books for row in book.water.rows]
    for what in ("bay outlet", "gutter", "gutter drop", "leaders"):
        assert {row.passes for row in rows if row.what == what and row.governs} == {True, False}, what
    assert {row.method.split()[0] for row in rows if row.governs and row.what == "gutter"} >= {"EN", "adopted"}
    assert any(accepted(book.inputs, book.findings) for book in books)
    assert any(open_failures(book.inputs, book.findings) for book in books)
    assert {row.at_outlet for book in books for row in book.water.posts} == {True, False}


@pytest.mark.parametrize("seed", [0, 3])
def test_formulas_are_held_to_the_standard(seed):
    _, made = wet(seed)
    assert lint(made.spec, made.layout) == []
    assert [at for at, value in made.values.items() if isinstance(value, str) and value.startswith("#")] == []


@pytest.mark.parametrize("seed", [0, 6])
def test_what_was_built_is_read_back_and_verifies(seed):
    estimate, made = wet(seed)
    found = redeclare(book_of(made.data, "deck.xlsx"), WHEN)
    for record, name in ((Post, "posts"), (CodeRow, "codes"), (Acceptance, "acceptances")):
        kept = [one.attribute for one in fields_of(record) if one.name != "job"]
        ours, theirs = (
            [[getattr(row, key) for key in kept] for row in getattr(inputs, name)]
            for inputs in (estimate.inputs, found.given.inputs)
        )
        assert theirs == ours, name
    assert verified(found).differences == ()


def test_a_workbook_that_would_say_something_else_is_not_written():
    estimate = build_estimate(inputs_of(deck()))
    row = estimate.water.rows[2]
    wrong = replace(row, capacity_gpm=row.capacity_gpm + 0.01)
    rows = (*estimate.water.rows[:2], wrong, *estimate.water.rows[3:])
    with pytest.raises(Disagreement, match="gutter_manning"):
        make_workbook(replace(estimate, water=replace(estimate.water, rows=rows)), WHEN)


# ---------------------------------------------------------------------------------------------- the other two sheets


@pytest.mark.parametrize("seed", [1, 4, 9])
def test_the_framers_marks_are_the_members(seed):
    estimate = random_estimate(seed)
    made = make_workbook(estimate, WHEN)
    metric = estimate.inputs.rates.units == "metric"
    for take, (name, marks) in zip(estimate.takeoff.areas, filled(made, "fa_name", "fa_marks"), strict=True):
        assert name == take.area.area
        said = re.sub(r" \([^)]+ wide\)", "", marks).split(",  ")
        places = [member.left_in for member in take.members]
        if metric:
            assert [float(mark.removesuffix(" mm")) for mark in said] == pytest.approx(
                [place * 25.4 for place in places], abs=0.5 + 25.4 / 32
            )
        else:
            assert said == [_feet(place) for place in places]
        wide = [m.width_in for m in take.members if m.width_in > take.area.joist_thickness_in]
        assert marks.count("wide)") == len(wide)


def _feet(inches):
    """The engine's words for a length always name feet here: 0' 4-3/16"."""
    text = show_length(inches, "us")
    return text if "'" in text else f"0' {text}"


def test_decisions_are_what_the_engine_compares():
    estimate = random_estimate(9)
    made = make_workbook(estimate, WHEN)
    rows = filled(made, "dec_area", "dec_decision", "dec_option", "dec_stated", "dec_price", "dec_failed")
    compared = compare(estimate)
    assert len(rows) == len(compared) > 4
    for row, one in zip(rows, compared, strict=True):
        assert row[:3] == (one.option.area, one.option.decision, one.option.words)
        assert row[3] == ("yes" if one.option.stated else "")
        if one.estimate:
            assert row[4] == float(one.estimate.totals.price)
            assert row[5] == sum(found.failed for found in one.estimate.findings)
        if one.option.stated:
            assert row[4] == float(estimate.totals.price)


def test_the_framers_page_is_one_page(tmp_path):
    import openpyxl

    estimate = build_estimate(inputs_of(deck()))
    (tmp_path / "deck.xlsx").write_bytes(make_workbook(estimate, WHEN).data)
    sheet = openpyxl.load_workbook(tmp_path / "deck.xlsx")["Framer"]
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight, sheet.page_setup.orientation) == (
        1,
        1,
        "portrait",
    )
    words = " ".join(str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value)
    assert "No hole and no notch" in words
    assert "What to ask the designer" in words


def test_the_quote_says_who_accepted_what():
    acceptance = Acceptance(
        job="D8", rule="G9", where="main", person="A. Marlow", reason="the beam moves", on=dt.date(2026, 6, 14)
    )
    inputs = inputs_of(deck(framing=[{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]))
    said = []
    for rows in ((), (acceptance,)):
        made = make_workbook(build_estimate(replace(inputs, acceptances=rows)), WHEN)
        said += column(made, "quote_failed")
    assert said == [
        "A check has failed and must be settled before this is an offer.",
        "main (G9): the beam moves, accepted by A. Marlow",
    ]
