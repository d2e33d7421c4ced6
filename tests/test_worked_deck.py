"""The deck worked by hand in the take-off rules: every number of it, from what ``takeoff --json`` prints.

16 ft wide, 12 ft deep, 2x10 at 16 in on centre, single rim, gutter on the rim side fixed to joists, joist tops 9 ft
above grade, 5 in/h. Liner: drape 4, laps 1.5, setback 3; 20 in wide in 12 ft and 16 ft; tape in 50 ft, sticks of 10 ft.
"""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
from books import JOB, book_folder
from click.testing import CliRunner

from baybook.cli import main


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    return book_folder(tmp_path_factory.mktemp("worked") / "book")


@pytest.fixture(scope="module")
def said(book):
    result = CliRunner().invoke(main, ["takeoff", str(book), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.fixture(scope="module")
def job(said):
    return said["jobs"][JOB]


def test_the_document_holds_this_job_and_these_keys_only(said, job):
    assert list(said["jobs"]) == [JOB]
    assert list(job) == [
        "bays",
        "flow_gpm",
        "labour_hours",
        "bead_ft",
        "areas",
        "gutter_lines",
        "items",
        "hours",
        "totals",
        "cut_plan",
        "warnings",
        "rain",
        "water_checks",
    ]
    assert job["warnings"] == []


def test_members_bays_and_panels(job):
    # joists at 16, 32, ... 176 between the end joists: 13 members, 12 bays
    assert job["bays"] == 12
    assert job["areas"] == {
        "main": {
            "members": 13,
            "bays": 12,
            "outlets": 12,
            "clear_widths_in": [13.75, *[14.5] * 10, 13.75],
            "cut_lengths_in": [142.5] * 12,  # 141 + 1.5 - 3 + 3
            "clear_run_in": 141,  # 144 - 1.5 - 1.5
            "fall_in_per_ft": pytest.approx(0.3404, abs=5e-5),  # 12 * 4 / 141
            "outlet_trim_in": 0,
            "plan_area_sq_ft": 192,
        }
    }


def test_water_and_gutter(job):
    assert job["flow_gpm"] == pytest.approx(9.974, abs=5e-4)
    line = job["gutter_lines"]["main"]
    # reach (3 - 0.5 - 1)/0.0625 = 24 ft: one leader at the end; 98.75 - 0.5 - 1 - 3.5 + 12
    assert line == {
        "length_ft": 16,
        "flow_gpm": job["flow_gpm"],
        "leaders": 1,
        "leader_length_in": 105.75,
        "joist_bottom_in": 98.75,
        "corners_outside": 0,
        "corners_inside": 0,
    }


def test_bead(job):
    assert job["bead_ft"] == pytest.approx((10 * 19.560 + 2 * 18.908) / 12, abs=5e-4)
    assert job["bead_ft"] == pytest.approx(19.452, abs=5e-4)


@pytest.mark.parametrize(
    ("item", "net", "order", "unit", "packs", "cost"),
    [
        ("liner", 12, 12, "piece", 12, "492.00"),  # 12 of the 12-ft stock at 41.00
        ("bay_outlet", 12, 12, "each", 12, "76.80"),
        ("seam_tape", 156, 163.8, "ft", 4, "75.00"),  # 13 * 144 = 1,872 in; 5 % waste; four rolls
        ("staples", 384, 422.4, "each", 1, "5.20"),  # 12 * 2 * 13 + 12 * 6; 10 %
        ("gutter", 2, 2, "piece", 2, "26.40"),  # 120 and 72
        ("gutter_joiner", 1, 1, "each", 1, "2.85"),
        ("gutter_end_cap", 2, 2, "each", 2, "4.20"),
        ("gutter_drop", 1, 1, "each", 1, "4.60"),
        ("hanger", 13, 13, "each", 13, "17.55"),  # ceil(192/16) + 1
        ("leader", 1, 1, "piece", 1, "12.10"),
        ("elbow", 3, 3, "each", 3, "10.20"),
        ("strap", 3, 3, "each", 3, "5.70"),  # 2 + floor(98.75/60)
        ("splash_block", 1, 1, "each", 1, "9.50"),
    ],
)
def test_items(job, item, net, order, unit, packs, cost):
    assert job["items"][item] == {"net": net, "order": order, "unit": unit, "packs": packs, "cost": cost}


def test_sealant(job):
    # 19.452 ft over 30.9 ft a cartridge
    row = job["items"]["sealant"]
    assert (row["net"], row["order"]) == (pytest.approx(0.6286, abs=5e-5), pytest.approx(0.691, abs=5e-4))
    assert (row["packs"], row["unit"]) == (1, "cartridge")


def test_nothing_else_is_bought(job):
    # no extension: the joist is as deep as the outlet is made for, and items of net 0 are left out
    assert len(job["items"]) == 14
    assert "outlet_extension" not in job["items"]


def test_cut_plan(job):
    assert job["cut_plan"] == {
        "liner": {"cost": "492.00", "lower_bound": "492.00", "proven": True, "stock": {"144": 12}},
        "gutter": {"cost": "26.40", "lower_bound": "26.40", "proven": True, "stock": {"120": 2}},
        "leader": {"cost": "12.10", "lower_bound": "12.10", "proven": True, "stock": {"120": 1}},
    }


def test_hours(job):
    assert job["hours"] == {
        "job": 3.0,
        "area": 1.0,
        "outlet": 2.4,
        "narrow_outlet": 0.0,
        "piece": 3.6,
        "tape_ft": 1.56,
        "gutter_ft": 1.92,
        "leader": 1.0,
    }
    assert job["labour_hours"] == 14.48


def test_totals(job):
    # the items above: 492 + 26.40 + 12.10 + 76.80 + 75 + 7.95 + 5.20 + 2.85 + 4.20 + 4.60 + 17.55 + 10.20 + 5.70 + 9.50
    # labour 14.48 h * 60.00; nothing on top
    nothing = dict.fromkeys(("other", "overhead", "contingency", "profit", "tax"), "0.00")
    assert job["totals"] == {"materials": "750.05", "labour": "868.80", **nothing, "price": "1618.85"}


def test_the_command_itself_prints_the_same(book, said):
    run = subprocess.run(
        [sys.executable, "-m", "baybook", "takeoff", str(book), "--json"],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )
    assert (run.returncode, run.stderr) == (0, "")
    assert json.loads(run.stdout) == said
