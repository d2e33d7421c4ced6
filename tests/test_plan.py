"""The plan picture: where leaders stand and gutters fall, by hand; every bay numbered once; true to scale; pages."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from functools import lru_cache
from typing import Any

import decks
import pytest
from books import deck, inputs_of

from baybook.estimate import build_estimate
from baybook.workbook.build import Made, make_workbook
from baybook.workbook.declare import column_letter
from baybook.workbook.shape import shape_of
from baybook.workbook.sheets.planpages import MOST_BAYS, PAGE_ROWS, PlanPages, plan_pages

WHEN = dt.datetime(2026, 6, 15)  # noqa: DTZ001  a workbook's clock has no zone


def _area(name: str, width: str, **more: Any) -> dict[str, Any]:
    return {"area": name, "width": width, "projection": "12 ft", "gutter_side": "rim", **more}


JOBS = {
    "forty": deck(areas=[_area("long", "40 ft")]),
    "middle": deck(areas=[_area("long", "40 ft", leader_at="middle")]),
    "street": deck(areas=[_area("hall", "90 ft"), _area("wing", "84 ft", gutter_side="ledger")]),
    "metric": deck(
        rates={"units": "metric"},
        areas=[
            _area(name, width, projection="4 m", spacing="400 mm", height="3 m")
            for name, width in (("a", "12 m"), ("b", "30 m"))
        ],
    ),
    "row": deck(areas=[_area(name, "40 ft") for name in ("a", "b", "c")]),
}


@lru_cache(maxsize=16)
def _made(name: str) -> tuple[Made, PlanPages]:
    estimate = build_estimate(inputs_of(JOBS[name] if name in JOBS else decks.WORKED[name]()))
    made = make_workbook(estimate, WHEN)
    return made, plan_pages(estimate, shape_of(estimate))


def _column(made: Made, key: str) -> list[Any]:
    return [made.values[made.layout.address(key, row)] for row in range(made.layout.count(key))]


def _used(name: str, use: str, *keys: str) -> list[tuple[Any, ...]]:
    made, _ = _made(name)
    rows = zip(_column(made, use), *(_column(made, key) for key in keys), strict=True)
    return [tuple(round(one, 4) for one in row[1:]) for row in rows if row[0] == 1]


def _charts(name: str) -> list[str]:
    made, _ = _made(name)
    with zipfile.ZipFile(io.BytesIO(made.data)) as package:
        parts = {part: package.read(part).decode() for part in package.namelist() if "/charts/chart" in part}
    return [xml for xml in parts.values() if "<scatterChart>" in xml]


# Nozzle 3, gap 0.5, 1 in the gutter: 1.5 left of the fall, reach 1.5 / 0.0625 = 24 ft (O3). 40 by 12 ft shed 480 x
# 0.051948 = 24.9 gpm, a leader carries 22.64: two (W3). At the ends of 40 ft; in the middle of its halves, at 10 and
# 30. The gutter of a rectangle hangs at the rim's inner face, 144 - 1.5 = 142.5 in or 11.875 ft out. The front of the
# bay deck, 48 sqrt 2 in twice and 96, is 231.8 in: one leader, at the left, where its gutter begins, 8 ft out. The
# gutter round three sides is 20 + 40 + 20 ft: ceil(80/48) + 1 = 3 by its reach, at 0, 40 and 80 ft. The second is 20 ft
# along the south side; that begins 20 + 2 ft from the left. The third is at the east side's right end, 20 ft along it.
LEADERS = {
    "forty": [(0.0, 11.875), (40.0, 11.875)],
    "middle": [(10.0, 11.875), (30.0, 11.875)],
    "bay_front": [(0.0, 8.0)],
}


@pytest.mark.parametrize("name", LEADERS)
def test_leaders_stand_where_the_water_rule_puts_them(name: str) -> None:
    """W3. By hand, in feet."""
    assert _used(name, "ld_use", "ld_x", "ld_y") == LEADERS[name]


def test_a_leader_of_a_shared_gutter_stands_on_the_area_its_line_has_come_to() -> None:
    """W3, W4, G12."""
    (first, second, third) = _used("wrap_around", "ld_use", "ld_x", "ld_y")
    made, _ = _made("wrap_around")
    east = _column(made, "off_x")[2] / 12
    assert (first, second) == ((0.0, 8.0), (42.0, 8.0))
    assert third == (round(east + 20, 4), 8.0)


@pytest.mark.parametrize("name", ["forty", "shared_gutter", "wrap_around"])
def test_the_words_at_a_gutter_stand_at_its_first_leader(name: str) -> None:
    """Straight below it where its gutter does not run outward from there: 0.3 cm and more on paper."""
    words = _used(name, "g_lead", "gut_xm", "gut_ym")
    leaders = _used(name, "ld_use", "ld_x", "ld_y", "ld_of")
    firsts = [(x, y) for x, y, nth in leaders if nth == 1]
    assert [x for x, _ in words] == [x for x, _ in firsts]
    assert all(0 < below - y < 2 for (_, below), (_, y) in zip(words, firsts, strict=True))


def test_arrows_point_along_the_gutter_to_their_leader() -> None:
    """W3. Two leaders on 40 ft: one-way runs of 20 ft; arrows a quarter and three quarters along each, by hand."""
    arrows = _used("forty", "ar_use", "ar_x1", "ar_x2", "ar_y1", "ar_y2")
    middles = [round((tail + tip) / 2, 4) for tail, tip, _, _ in arrows]
    assert middles == [5.0, 15.0, 25.0, 35.0]
    assert [tip < tail for tail, tip, _, _ in arrows] == [True, True, False, False]
    assert all(y1 == y2 > 11.875 for _, _, y1, y2 in arrows)


def test_an_arrow_along_a_slant_runs_with_it() -> None:
    """231.76 in to one leader at the left: arrows at 57.94, on the left slant, and at 173.82, on the right one."""
    left, right = _used("bay_front", "ar_use", "ar_x1", "ar_x2", "ar_y1", "ar_y2")
    for (x1, x2, y1, y2), rise in ((left, 1), (right, -1)):
        assert x2 < x1
        assert (y2 - y1) / (x2 - x1) == pytest.approx(rise, abs=0.01)
    assert left[0] < 4.5
    assert right[0] > 11.5


@pytest.mark.parametrize("name", ["forty", "bay_front", "wrap_around", "street", "row"])
def test_arrows_and_leaders_are_in_the_picture(name: str) -> None:
    """A series of five points for every row of arrows, one of marks, in every drawing."""
    made, pages = _made(name)
    charts = _charts(name)
    assert len(charts) == len(pages.panes)
    for xml in charts:
        series = re.findall(r"<ser>.*?</ser>", xml)
        for key, count in (("ar_x1", made.layout.count("ar_x1")), ("ld_x", 1), ("rib_x0", made.layout.count("rib_x0"))):
            sheet, row, col = made.layout.address(key)
            letter = column_letter(col)
            found = [one for one in series if re.search(rf"<xVal>.*'{sheet}'!\${letter}\$\d", one)]
            rows = {int(n) for one in found for n in re.findall(rf"<xVal>.*?\${letter}\$(\d+)", one)}
            mine = {n for n in rows if row <= n < row + made.layout.count(key)}
            assert len(mine) == count, key


@pytest.mark.parametrize("name", [*decks.WORKED, "forty", "street", "row"])
def test_every_bay_has_its_number_in_one_drawing(name: str) -> None:
    """Its middle lies in one drawing, which has a label for its row; no drawing has the others' names twice."""
    made, pages = _made(name)
    rows = zip(_column(made, "b_use"), _column(made, "b_xm"), strict=True)
    for row, (used, x) in enumerate(rows):
        if used:
            inside = [pane for pane in pages.panes if pane.left <= x <= pane.left + pane.wide]
            assert len(inside) == 1
            assert row in inside[0].bays
    for xml, pane in zip(_charts(name), pages.panes, strict=True):
        sheet, first, _ = made.layout.address("b_sign")
        labels = re.findall(rf"<tx><strRef><f>'{sheet}'!\$[A-Z]+\$(\d+)</f>", xml)
        assert set(pane.bays) <= {int(at) - first for at in labels}


@pytest.mark.parametrize("name", [*decks.WORKED, "forty", "street", "row"])
def test_every_drawing_is_true_to_scale(name: str) -> None:
    """A foot across is as long on paper as a foot out, and as long in every drawing of a page of few bays."""
    made, pages = _made(name)
    with zipfile.ZipFile(io.BytesIO(made.data)) as package:
        drawings = [package.read(part).decode() for part in package.namelist() if "/drawings/drawing" in part]
    sizes = next(
        found for xml in drawings
        if len(found := re.findall(r'<ext cx="(\d+)" cy="(\d+)"', xml)) == len(pages.panes)
        and abs(int(found[0][0]) / 360_000 - pages.panes[0].size_cm[0]) < 0.01
    )  # fmt: skip
    for xml, (wide, high) in zip(_charts(name), sizes, strict=True):
        ends = [float(found) for found in re.findall(r'<(?:max|min) val="([^"]+)"', xml)]
        shares = dict(re.findall(r'<([wh]) val="([^"]+)"', xml))
        across = float(shares["w"]) * int(wide) / (ends[0] - ends[1])
        assert float(shares["h"]) * int(high) / (ends[2] - ends[3]) == pytest.approx(across, rel=1e-4)
        assert ends[3] < 0 <= ends[1]


def test_numbers_can_be_read_up_to_the_most_of_a_page_and_an_area_has_a_page_beyond() -> None:
    """Areas of 30 or 75 bays stand on one page; 131 bays take a page for each area, in the order of the areas."""
    for name in ("row", "metric"):
        _, few = _made(name)
        assert {pane.page for pane in few.panes} == {0}
        assert sum(pane.rows for pane in few.panes) <= PAGE_ROWS
    made, many = _made("street")
    starts = [x / 12 for x in _column(made, "off_x")[:2]]
    assert sum(_column(made, "b_use")) > MOST_BAYS
    for start, other in (starts, starts[::-1]):
        mine = {pane.page for pane in many.panes if pane.left <= start < pane.left + pane.wide}
        theirs = {pane.page for pane in many.panes if pane.left <= other < pane.left + pane.wide}
        assert not mine & theirs
    for pages in (few, many):
        assert min(pane.pitch_cm for pane in pages.panes) >= 0.25 - 1e-9
        assert max(pane.size_cm[0] for pane in pages.panes) <= 25.0
    with zipfile.ZipFile(io.BytesIO(made.data)) as package:
        sheets = [package.read(part).decode() for part in package.namelist() if "/worksheets/sheet" in part]
    (plan,) = [xml for xml in sheets if "Seen from above" in xml]
    assert plan.count("<brk ") == many.panes[-1].page


@pytest.mark.parametrize("name", ["forty", "stair_opening", "twelve_on_centre"])
def test_members_are_drawn_where_they_stand(name: str) -> None:
    """G4. A line in the middle of each member, as long as what there is of it."""
    made, _ = _made(name)
    estimate = build_estimate(inputs_of(JOBS[name] if name in JOBS else decks.WORKED[name]()))
    (take,) = estimate.takeoff.areas
    middles = {round((one.left_in + one.right_in) / 24, 6) for one in take.members}
    if take.drawing is None:
        path = zip(_column(made, "pm_x"), _column(made, "pm_y"), strict=True)
        found = {round(x, 6) for x, y in path if y > 0}
        assert found == middles
    else:
        ribs = list(zip(*(_column(made, key) for key in ("rib_use", "rib_x0", "rib_y0", "rib_y1")), strict=True))
        assert {round(x, 6) for used, x, _, _ in ribs if used} == middles
        longs = sorted(round((far - near) * 12, 4) for used, _, near, far in ribs if used)
        assert longs == sorted(round(one.far_in - one.near_in, 4) for one in take.drawing.members)
