"""The site sheet and the labels: what the installer reads, against the deck worked by hand and the engine."""

from __future__ import annotations

import datetime as dt
import math
import re
from itertools import accumulate, pairwise

import decks
import pytest
from books import book_folder, deck, estimate, inputs_of, random_estimate
from click.testing import CliRunner

from baybook.cli import main
from baybook.estimate import build_estimate
from baybook.units import show_length
from baybook.workbook.build import make_workbook, spec_of
from baybook.workbook.declare import layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.paper import paper_sheet
from baybook.workbook.sheets.site import LABEL_ROWS

WHEN = dt.datetime(2026, 6, 15, 8)  # noqa: DTZ001  a workbook's clock has no zone


def pages_of(one):
    """Return the pages of a job's site sheet, each the texts of its rows that say something."""
    spec = spec_of(one, WHEN)
    placed = layout(spec)
    sheet = paper_sheet(placed, evaluate(spec, placed), "Site")
    (table,) = sheet.parts
    texts = iter(table.columns[1].values)
    return [[text for _, text in zip(range(rows), texts, strict=False) if text] for rows in sheet.pages], sheet


def made_for(one):
    """Return the site sheet as it stands in the workbook."""
    (sheet,) = (sheet for sheet in spec_of(one, WHEN).sheets if sheet.title == "Site")
    return sheet


def line_with(page, start):
    (found,) = (line for line in page if line.startswith(start))
    return found


def test_the_deck_worked_by_hand():
    """16 ft by 12 ft, 16 in on centre: 12 bays; at 5 in/h 192 sq ft give 192 x 5 x 7.480519 / 720 = 9.97 gpm."""
    (goods, page), _ = pages_of(estimate(job={"permit": "B-17", "inspected_on": "2026-06-29"}))
    assert goods[0] == "D8: goods to load for Worked example"
    assert "12 x bay outlet (bay_outlet)" in goods
    assert page[0] == "D8, area main"
    assert page[1].startswith("HOLD: no liner before the framing inspection")
    assert page[2].startswith("Permit B-17, inspected on 2026-06-29, seen by ____")
    bays = ", ".join(f"main-{number}" for number in range(1, 13))
    assert line_with(page, "Cut list: ") == f"Cut list: 11' 10-1/2\": {bays}"  # 142.5 in, section 8 of the rules
    test = "Water test: a bay carries about 0.83 gpm, any hose passes; then gutter main: 9.97 gpm, 2 hoses"
    assert line_with(page, "Water test") == test  # 9.97403 / 12 bays = 0.83117
    measure = "measure: gallons x 60 / seconds to fill the 5.00 gal bucket."
    assert line_with(page, "All hoses") == f"All hoses run 15 min. Counted at 5.00 gpm a hose; {measure}"
    assert line_with(page, "Panels") == 'Panels: side laps 1-1/2", lap at the ledger 1-1/2", drape 4"'
    assert "leaders: 1, joiners: 1" in line_with(page, "Hang")  # 16 ft from 10 ft pieces
    assert page[-1].startswith("Installer: ____")
    assert not [line for line in page if line.startswith(("Apron", "Splices", "Posts"))]
    assert sum("passed" in line for line in page) == 2
    assert line_with(page, "Photos")


def test_a_metric_sheet_speaks_of_litres():
    """A hose of 5 gpm gives 5 x 3.785411784 = 18.93 L/min, and a bucket of 5 gal holds 18.93 L."""
    seed = next(seed for seed in range(40) if random_estimate(seed).inputs.rates.units == "metric")
    one = random_estimate(seed)
    assert one.inputs.rates.bucket_gal == 5
    (_, *pages), _ = pages_of(one)
    hose = f"{one.inputs.rates.hose_gpm * 3.785411784:.2f}"
    for page in pages:
        assert f"Counted at {hose} L/min a hose; measure: litres x 60 / " in line_with(page, "All hoses")
        assert line_with(page, "All hoses").endswith("seconds to fill the 18.93 L bucket.")
        assert not re.search(r"gpm|gal\b|gallon", " ".join(page))


def test_a_gutter_shared_with_another_area_names_line_and_page():
    (_, ell, landing), _ = pages_of(decks.worked("shared_gutter"))
    assert "gutter yard: top" in line_with(ell, "Hang")
    assert line_with(landing, "Hang").endswith("gutter yard is shared: see the page of area ell")
    assert line_with(landing, "Water test").endswith("then gutter yard is shared: see the page of area ell")


def test_what_only_some_areas_need_is_said_where_they_need_it():
    """20 ft deep: panels of two pieces; posts through; water to the ledger: an apron, 1 in turned over the rim."""
    area = {"projection": "20 ft", "gutter_side": "ledger", "posts_through": 2}
    (_, page), _ = pages_of(estimate(area=area))
    rates = estimate().inputs.rates
    assert (rates.apron_in, rates.rim_turn_down_in, rates.splice_lap_in) == (9.0, 1.0, 12.0)
    assert line_with(page, "Apron") == 'Apron along the ledger first, wide 9"'
    assert line_with(page, "Panels") == 'Panels: side laps 1-1/2", turned down over the rim 1", drape 4"'
    assert line_with(page, "Splices") == "Splices: lap 1' 0\", the upper piece over the lower, and tape it."
    assert line_with(page, "Posts") == "Posts through the liner: 2. Blocking first; tape and sealant all round each."


def test_blocking_is_said_in_inches_where_it_is_less_than_a_foot():
    (_, page), _ = pages_of(estimate(framing=[{"kind": "blocking", "y": "6 ft"}]))
    assert re.search(r'at 6\' 0" at most \d+(-\d+/\d+)?" high$', line_with(page, "Blocking"))


def test_without_a_permit_there_is_a_line_to_fill_in():
    (_, page), _ = pages_of(estimate())
    assert page[2].startswith("Permit __________, inspected on __________, seen by __________")


@pytest.mark.parametrize(("hose", "hoses"), [("9.97", 2), ("9.98", 1), ("3.33", 3), ("0.5", 20)])
def test_hoses_are_enough_for_the_line(hose, hoses):
    """The line needs 9.97403 gpm (above): one hose of 9.98 gives it, one of 9.97 does not."""
    (_, page), _ = pages_of(estimate(rates={"hose_gpm": hose}))
    assert re.search(rf"gpm, {hoses} hoses?$", line_with(page, "Water test"))


@pytest.mark.parametrize("seed", [2, 5, 11, 19])
def test_every_area_has_its_page_and_every_line_its_hoses(seed):
    one = random_estimate(seed)
    (_, *pages), sheet = pages_of(one)
    assert [page[0] for page in pages] == [f"{one.inputs.job.job}, area {area.area}" for area in one.inputs.areas]
    said = " ".join(line_with(page, "Water test") for page in pages)
    unit, factor = ("L/min", 3.785411784) if one.inputs.rates.units == "metric" else ("gpm", 1.0)  # US gallon, exact
    found = re.findall(rf"gutter ([^:]+?): ([\d.]+) {unit}, (\d+) hoses?", said)
    due = [
        (
            line.name,
            f"{line.flow_gpm * factor:.2f}",
            str(math.ceil(round(line.flow_gpm / one.inputs.rates.hose_gpm, 6))),
        )
        for line in one.takeoff.lines
    ]
    assert sorted((name, int(hoses)) for name, _, hoses in found) == sorted((n, int(h)) for n, _, h in due)
    assert [float(flow) for _, flow, _ in sorted(found)] == pytest.approx(
        [float(f) for _, f, _ in sorted(due)], abs=0.0101
    )
    assert sheet.row_heights == ()  # on a paper of its own: as high as their words need
    kept = made_for(one)
    ends = [0, *accumulate(kept.pages)]
    assert all(
        sum(kept.row_heights[a:b]) < 680 for a, b in pairwise(ends)
    )  # points: a Letter page less its margins: 687


@pytest.mark.parametrize("seed", [2, 5, 7, 19])
def test_the_cut_list_names_every_bay_under_its_length(seed):
    """Against the engine's bays: each label once, under its length; a list too long for the page says where it is."""
    one = random_estimate(seed)
    units = one.inputs.rates.units
    (_, *pages), _ = pages_of(one)
    for take, page in zip(one.takeoff.areas, pages, strict=True):
        line = line_with(page, "Cut list: ").removeprefix("Cut list: ")
        if line.startswith("see sheet Bays"):
            assert sum(len(part.bays) for part in take.parts) > 20
            continue
        said = []
        for group in line.split(";  "):
            length, _, labels = group.partition(": ")
            said += [(label, length) for label in labels.split(", ")]
        due = [(bay.label, show_length(bay.cut_length_in, units)) for part in take.parts for bay in part.bays]
        assert sorted(said) == sorted(due)


def test_an_area_that_was_added_has_no_page_and_the_checks_say_so():
    areas = [{"area": f"a{number}"} for number in range(1, 6)]
    one = build_estimate(inputs_of(deck(areas=areas)))
    spec = spec_of(one, WHEN)
    placed = layout(spec)
    assert placed.count("site_area") == 6
    values = evaluate(spec, placed)
    sheet, row, col = placed.address("site_use")
    assert [values[sheet, row + page, col] for page in range(6)] == [1, 1, 1, 1, 1, 0]


def test_labels_are_those_of_the_cut_list_seven_rows_a_page():
    one = estimate()
    made = make_workbook(one, WHEN)
    sheet = paper_sheet(made.layout, made.values, "Labels")
    (table,) = sheet.parts
    pieces = {
        (label, piece)
        for first in (0, 3)
        for label, piece in zip(table.columns[first].values, table.columns[first + 2].values, strict=True)
        if label
    }
    due = {(label, f"{cut.cut.item} {piece.number}") for cut in one.cuts for label, _, piece in cut.in_order_of_work()}
    assert pieces == due
    assert set(sheet.pages[:-1]) <= {LABEL_ROWS}


def test_the_command_writes_them_too(tmp_path):
    book = book_folder(tmp_path / "book")
    result = CliRunner().invoke(main, ["quote", str(book), "--site", "--out", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "D8 labels.xlsx",
        "D8 quote.xlsx",
        "D8 site.xlsx",
    ]
