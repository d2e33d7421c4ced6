"""The framing decisions side by side: which options an area poses, and that each is the job the engine would make."""

from __future__ import annotations

import json

import pytest
from books import JOB, book_folder, csv_text, deck, inputs_of, random_estimate
from click.testing import CliRunner

from baybook.cli import main
from baybook.decisions import compare, options_of
from baybook.estimate import build_estimate


def options(**changes):
    """Decision -> its options in words, of the first area."""
    found = {}
    for one in options_of(inputs_of(deck(**changes))):
        found.setdefault(one.decision, []).append(one.words + (" *" if one.stated else ""))
    return found


def compared(decision, words, **changes):
    base = build_estimate(inputs_of(deck(**changes)))
    return next(one for one in compare(base) if one.option.decision == decision and one.option.words.startswith(words))


def test_a_plain_deck_poses_two():
    assert options() == {
        "gutter side": ["on the rim side *", "on the ledger side"],
        "boards": [
            "as drawn: 0 borders a side, 0 dividers *",
            "one border board a side, no divider",
            "no borders, one divider in the middle",
        ],
    }


def test_posts_and_beams_pose_theirs():
    posts = csv_text([{"job": JOB, "area": "main", "x": "4 ft", "y": "12 ft", "where": "outside"}])
    assert options(area={"posts_through": 3})["posts"] == ["through the liner (3) *", "outside"]
    assert options(posts=posts)["posts"] == ["outside (1) *", "through the liner (1)"]
    flush, dropped = ([{"kind": f"{kind}_beam", "y": "6 ft", "plies": 2}] for kind in ("flush", "dropped"))
    assert options(framing=flush)["beam"] == ["flush *", "dropped"]
    assert options(framing=dropped)["beam"] == ["dropped *", "flush"]
    assert options(framing=[*flush, {**dropped[0], "y": "9 ft"}])["beam"] == [
        "as drawn: flush and dropped *",
        "flush",
        "dropped",
    ]


def test_boards_that_are_there_can_be_left_out():
    assert options(area={"borders": 1})["boards"] == [
        "as drawn: 1 borders a side, 0 dividers *",
        "no borders, no divider",
        "no borders, one divider in the middle",
    ]
    divider = [{"kind": "divider", "x": "8 ft"}]
    assert options(area={"borders": 2}, framing=divider)["boards"] == [
        "as drawn: 2 borders a side, 1 dividers *",
        "no borders, no divider",
        "one border board a side, no divider",
    ]


# the option, written into the book by hand
WRITTEN = [
    ("gutter side", "on the ledger", {}, {"area": {"gutter_side": "ledger"}}),
    ("gutter side", "on the rim", {"area": {"gutter_side": "ledger"}}, {}),
    ("posts", "outside", {"area": {"posts_through": 4}}, {}),
    ("boards", "one border", {}, {"area": {"borders": 1}}),
    ("boards", "no borders, one divider", {}, {"framing": [{"kind": "divider", "x": "8 ft"}]}),
    ("boards", "no borders, no divider", {"framing": [{"kind": "divider", "x": "5 ft"}], "area": {"borders": 1}}, {}),
    (
        "beam",
        "dropped",
        {"framing": [{"kind": "flush_beam", "y": "6 ft", "plies": 2}]},
        {"framing": [{"kind": "dropped_beam", "y": "6 ft", "plies": 2, "depth": "9.25"}]},
    ),
    (
        "beam",
        "flush",
        {"framing": [{"kind": "dropped_beam", "y": "6 ft", "plies": 2}]},
        {"framing": [{"kind": "flush_beam", "y": "6 ft", "plies": 2}]},
    ),
]


@pytest.mark.parametrize(("decision", "words", "before", "after"), WRITTEN, ids=lambda one: str(one)[:24])
def test_an_option_is_the_job_one_would_write(decision, words, before, after):
    one = compared(decision, words, **before)
    base, written = (build_estimate(inputs_of(deck(**changes))) for changes in (before, after))
    assert one.estimate is not None
    assert one.estimate.totals == written.totals
    assert [str(found) for found in one.estimate.findings] == [str(found) for found in written.findings]
    assert one.price_more == written.totals.price - base.totals.price
    assert one.figures.least_fall_in_per_ft == pytest.approx(
        min(part.fall_in_per_ft for part in written.takeoff.parts), abs=1e-6
    )
    assert one.figures.price == written.totals.price


def test_warnings_that_come_and_go():
    beam = [{"kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}]
    one = compared("beam", "flush", framing=beam)
    assert [(found.rule, found.failed) for found in one.gone] == [("G9", True)]
    back = compared("gutter side", "on the ledger", framing=beam)
    assert [found.rule for found in back.gone] == ["G9"]
    assert "P3" in {
        found.rule for found in compared("gutter side", "on the ledger", liner={"drape_in": 2}).estimate.findings
    }


def test_an_option_that_a_rule_refuses_says_why():
    # blocking at 6 ft lies in the beam once that is flush
    framing = [{"kind": "dropped_beam", "y": "6 ft", "plies": 2}, {"kind": "blocking", "y": "6 ft"}]
    one = compared("beam", "flush", framing=framing)
    assert one.estimate is None
    assert "lies in a beam" in one.refused


def test_a_shared_gutter_turns_with_all_its_areas():
    areas = [{"area": name, "gutter_line": "front"} for name in ("west", "east")] + [{"area": "court"}]
    base = inputs_of(deck(areas=areas))
    found = {(one.area, one.words): one for one in options_of(base) if one.decision == "gutter side"}
    turned = found["west", "on the ledger side, with east on the same gutter"].inputs
    assert [area.gutter_side for area in turned.areas] == ["ledger", "ledger", "rim"]
    assert [area.gutter_side for area in found["court", "on the ledger side"].inputs.areas] == ["rim", "rim", "ledger"]


@pytest.mark.parametrize("seed", range(8))
def test_one_option_of_each_decision_is_the_books_own(seed):
    base = random_estimate(seed)
    kinds = {}
    for one in compare(base):
        kinds.setdefault((one.option.area, one.option.decision), []).append(one)
    assert {area for area, _ in kinds} == {area.area for area in base.inputs.areas}
    for rows in kinds.values():
        assert [one.option.stated for one in rows] == [True] + [False] * (len(rows) - 1)
        assert len(rows) > 1
        assert rows[0].estimate is base
        assert all((one.estimate is None) == bool(one.refused) for one in rows)


def test_the_command(tmp_path):
    book = book_folder(tmp_path / "book", area={"posts_through": 2})
    result = CliRunner().invoke(main, ["compare", str(book)], env={"COLUMNS": "200"})
    assert result.exit_code == 0, result.output
    for words in ("D8, main: gutter side", "* on the rim side", "on the ledger side", "* through the liner (2)"):
        assert words in result.stdout
    result = CliRunner().invoke(main, ["compare", str(book), "--json"])
    areas = json.loads(result.stdout)["jobs"][JOB]
    stated, other = areas["main"]["gutter side"]
    assert (stated["stated"], other["stated"]) == (True, False)
    more = float(other["estimate"]["totals"]["price"]) - float(stated["estimate"]["totals"]["price"])
    assert float(other["price_more"]) == pytest.approx(more)
    assert list(tmp_path.iterdir()) == [book]  # nothing is written


def test_a_book_with_problems(tmp_path):
    result = CliRunner().invoke(main, ["compare", str(book_folder(tmp_path / "book", area={"width": "none"}))])
    assert (result.exit_code, result.stdout) == (1, "")
    assert "areas.csv:2" in result.stderr
