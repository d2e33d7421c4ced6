"""Books with mistakes typed on purpose: each named with its file, line and column, all at once, and nothing crashes."""

from __future__ import annotations

import csv
import datetime as dt
import io
from decimal import Decimal

import pytest
from books import AREA_ROW, PRICE_ROWS, all_inputs_of, book_folder, deck, inputs_of, offer, prices_with, random_tables
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from baybook.cli import main
from baybook.estimate import build_estimate
from baybook.problems import BookError


def problems_of(tables):
    """Return what is wrong with a book, as the lines a user sees."""
    with pytest.raises(BookError) as found:
        all_inputs_of(tables)
    return [str(problem) for problem in found.value.problems]


def problem(**changes):
    (only,) = problems_of(deck(**changes))
    return only


def check(folder):
    return CliRunner().invoke(main, ["check", str(folder)])


# ---------------------------------------------------------------------------------------------- files and columns


@pytest.mark.parametrize(
    ("table", "column", "nearest"),
    [
        ("area", "projecton", "projection"),
        ("area", "guttter_side", "gutter_side"),
        ("job", "rain_fall", "rainfall"),
        ("liner", "drape", "drape_in"),
    ],
)
def test_an_unknown_column_names_the_nearest(table, column, nearest):
    said = problem(**{table: {column: "1"}})
    assert said.startswith(f"{table}s.csv:1: {column}: unknown column; did you mean {nearest}?")


def test_a_column_like_no_other_names_none():
    assert "did you mean" not in problem(area={"qqqq": "1"})


def test_columns_of_ones_own_and_the_case_of_names_are_left_alone():
    assert inputs_of(deck(area={"x_note": "mind the dog"})).areas[0].width_in == 192
    tables = deck()
    tables["areas"] = tables["areas"].replace("width", "WIDTH").replace("projection", "Projection")
    assert (inputs_of(tables).areas[0].width_in, inputs_of(tables).areas[0].projection_in) == (192, 144)


@pytest.mark.parametrize("name", ["jobs", "areas", "liners", "prices"])
def test_a_missing_file_is_named(name):
    tables = deck()
    del tables[name]
    assert any(said.startswith(f"{name}.csv: is missing") for said in problems_of(tables))


def test_what_is_no_folder_is_said(tmp_path):
    result = check(tmp_path / "nowhere")
    assert result.exit_code == 1
    assert "is no folder" in result.stderr


@pytest.mark.parametrize("column", ["height", "spacing", "joist"])
def test_a_missing_column_is_said_once(column):
    tables = deck(areas=[{"area": "a"}, {"area": "b"}])
    tables["areas"] = tables["areas"].replace(column, f"x_{column}", 1)
    (only,) = problems_of(tables)
    assert only.startswith(f"areas.csv:1: {column}: column is missing")


def test_comments_and_empty_rows_are_skipped(tmp_path):
    book = book_folder(tmp_path / "book")
    path = book / "areas.csv"
    head, row = path.read_text(encoding="utf-8").splitlines()
    path.write_text(f"{head}\n# the porch comes later\n,,,\n\n{row}\n", encoding="utf-8")
    assert check(book).exit_code == 0


# ---------------------------------------------------------------------------------------------- cells


@pytest.mark.parametrize(
    ("table", "column", "text", "expected"),
    [
        ("job", "overhead", "0.25", "ambiguous"),
        ("job", "tax_rate", ".0825", "ambiguous"),
        ("job", "profit", "ten", "is not a number"),
        ("job", "tax_rate", "101", "or less"),
        ("job", "overhead", "-1", "or more"),
        ("job", "labour_rate", "1,234", "ambiguous: write 1234 or 1.234"),
        ("job", "labour_rate", "12,3456", "is not a number"),
        ("job", "labour_rate", "sixty", "is not a number"),
        ("job", "labour_rate", "", "is empty"),
        ("job", "labour_rate", "-1", "0 money/h or more"),
        ("job", "rainfall", "5", "unit"),
        ("job", "rainfall", "0 in/h", "above 0"),
        ("job", "rainfall", "5 in", "rain"),
        ("job", "currency", "dollars", "ISO 4217"),
        ("job", "quoted_on", "1.6.2026", "ambiguous: write 2026-01-06 or 2026-06-01"),
        ("job", "quoted_on", "15.6.26", "year-month-day"),
        ("job", "quoted_on", "31.6.2026", "no day of the calendar: write year-month-day"),
        ("job", "quoted_on", "15/6.2026", "year-month-day"),
        ("job", "quoted_on", "2026-02-30", "year-month-day"),
        ("job", "status", "sold", "is not one of pricing, offered, won, lost, done"),
        ("job", "tax_on", "everything", "is not one of none, materials, total"),
        ("job", "valid_days", "30.5", "whole number"),
        ("job", "customer", "", "is empty"),
        ("area", "width", "16 furlongs", "16 furlongs"),
        ("area", "width", "0", "above 0"),
        ("area", "width", "-16", "16"),
        ("area", "width", "", "is empty: area main needs it, or an outline"),
        ("area", "width", "12 ft 6", "12 ft 6"),
        ("area", "spacing", "3", "4 in or more"),
        ("area", "joist", "2x7", "dressed size"),
        ("area", "joist", "9.25", "9.25"),
        ("area", "layout", "centre", "is not one of left, right, even"),
        ("area", "gutter_side", "left", "is not one of rim, ledger"),
        ("area", "borders", "1.5", "whole number"),
        ("area", "posts_through", "-1", "0 or more"),
        ("area", "rim_plies", "0", "1 or more"),
        ("area", "area", "ma*n", "may not hold"),
        ("area", "area", "=main", "begin with"),
        ("area", "area", "x" * 101, "longer than 100 characters"),
        ("area", "frame_fall_in_per_ft", "steep", "steep"),
        ("liner", "drape_in", "four", "four"),
        ("liner", "made_for_in", "", "is empty"),
    ],
)
def test_a_cell_that_is_no_such_thing(table, column, text, expected):
    said = problem(**{table: {column: text}})
    assert said.startswith(f"{table}s.csv:2: {column}: ")
    assert expected in said


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("25", "0.25"),
        ("25%", "0.25"),
        ("25 %", "0.25"),
        ("0.25%", "0.0025"),
        ("1", "0.01"),
        ("0", "0"),
        ("1.5", "0.015"),
    ],
)
def test_percentages(text, share):
    assert inputs_of(deck(job={"overhead": text})).job.overhead == Decimal(share)


@pytest.mark.parametrize(
    ("text", "money"),
    [("62", "62"), ("62.005", "62.005"), ("$62.50", "62.50"), ("1,234.50", "1234.50"), ("12,345,678.9", None)],
)
def test_money(text, money):
    if money is None:
        assert "100000 money/h or less" in problem(job={"labour_rate": text})
    else:
        assert inputs_of(deck(job={"labour_rate": text})).job.labour_rate == Decimal(money)


@pytest.mark.parametrize(
    ("job", "said"),
    [
        ({"profit": "100", "profit_basis": "margin"}, "a margin of 100 % or more has no price"),
        ({"profit": "250", "profit_basis": "margin"}, "a margin of 100 % or more has no price"),
        ({"profit": "99.9", "profit_basis": "margin"}, None),
        ({"profit": "100", "profit_basis": "markup"}, None),
        ({"profit": "100"}, None),
    ],
)
def test_a_margin_of_100_percent_is_refused(job, said):
    if said:
        assert problem(job=job).startswith("jobs.csv:2: profit: ")
        assert said in problem(job=job)
    else:
        assert inputs_of(deck(job=job)).job.profit > 0


@pytest.mark.parametrize(("key", "text"), [("wall_share", "50"), ("wall_share", "50%"), ("blocking_share", "1.1")])
def test_shares_are_plain_numbers_to_1(key, text):
    assert problem(rates={key: text}).startswith(f"rates.csv:2: {key}: ")


def test_empty_cells_are_the_defaults():
    area = inputs_of(deck(area={"layout": "", "rim_plies": "", "joist_thickness": "", "wall_length": ""})).areas[0]
    assert (area.layout, area.rim_plies, area.joist_thickness_in, area.wall_in) == ("left", 1, 1.5, 192)


def test_a_decimal_comma_is_read_where_a_file_is_consistently_so(tmp_path):
    book = book_folder(tmp_path / "book")
    jobs = "job;customer;quoted_on;rainfall;labour_rate;currency\nD8;Worked example;2026-06-15;5 in/h;60,50;USD\n"
    (book / "jobs.csv").write_text(jobs, encoding="utf-8")
    assert check(book).exit_code == 0
    (book / "jobs.csv").write_text(jobs.replace("60,50", "1,234"), encoding="utf-8")
    result = check(book)
    assert (result.exit_code, "ambiguous" in result.stderr) == (1, True)


# ---------------------------------------------------------------------------------------------- twice the same


def test_one_job_twice():
    tables = deck(jobs=[{}, {"job": "d8"}])
    assert problems_of(tables) == ["jobs.csv:3: job: stands already in line 2 of jobs.csv: keep one of them"]


def test_one_area_twice_in_a_job_but_not_over_two_jobs():
    assert problems_of(deck(areas=[{}, {"area": "MAIN"}])) == [
        "areas.csv:3: area: stands already in line 2 of areas.csv: keep one of them"
    ]
    jobs = deck(jobs=[{}, {"job": "D9"}], areas=[{}, {"job": "d9"}])
    assert [len(one.areas) for one in all_inputs_of(jobs)] == [1, 1]


def test_one_liner_one_rate_and_one_override_twice():
    twice = {"liners": [{}, {"liner": "Sheet"}], "overrides": [{"item": "strap", "quantity": n} for n in (3, 4)]}
    tables = deck(**twice) | {"rates": "key,value\nkerf_in,0.125\nKERF_in,0.25\n"}
    assert [one.split(": ")[:2] for one in problems_of(tables)] == [
        ["liners.csv:3", "liner"],
        ["rates.csv:3", "key"],
        ["overrides.csv:3", "item"],
    ]
    assert problem(overrides=twice["overrides"]).startswith("overrides.csv:3: item: stands already in line 2")


@pytest.mark.parametrize(
    ("first", "second", "overlap"),
    [
        ((None, None), (None, None), True),
        ((None, "2026-06-30"), ("2026-06-30", None), True),  # one day in both
        ((None, "2026-06-30"), ("2026-07-01", None), False),
        (("2026-07-01", None), (None, "2026-06-30"), False),
        (("2026-01-01", "2026-12-31"), ("2026-03-01", "2026-03-31"), True),
        (("2026-01-01", "2026-01-31"), ("2026-03-01", "2026-03-31"), False),
    ],
)
def test_one_sku_priced_twice_for_the_same_days_names_both_lines(first, second, overlap):
    rows = [offer("strap", "1.90", valid_from=start, valid_to=end) for start, end in (first, second)]
    prices = [*rows, *(row for row in PRICE_ROWS if row["sku"] != "strap")]
    if not overlap:
        assert inputs_of(deck(prices=prices)).prices
        return
    said = problem(prices=prices)
    assert said.startswith("prices.csv:3: valid_from: Alder Yard strap is priced twice for the same days")
    assert "line 2" in said


def test_three_prices_of_which_the_first_outlasts_the_second():
    # line 2 covers the year; 3 and 4 do not overlap each other but both lie in it
    spans = [("2026-01-01", "2026-12-31"), ("2026-02-01", "2026-02-28"), ("2026-03-01", "2026-03-31")]
    rows = [offer("strap", "1.90", valid_from=start, valid_to=end) for start, end in spans]
    said = problems_of(deck(prices=[*rows, *(row for row in PRICE_ROWS if row["sku"] != "strap")]))
    assert [one.split(":")[1] for one in said] == ["3", "4"]
    assert all("line 2" in one for one in said)


def test_other_suppliers_and_currencies_do_not_overlap():
    more = [offer("strap", "1.90") | {"supplier": "Birch"}, offer("strap", "2.60") | {"currency": "CAD"}]
    assert inputs_of(deck(more_prices=more)).prices


# ---------------------------------------------------------------------------------------------- what does not fit


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ({"kind": "member", "x": "192.0625 in", "plies": 1}, "x", "outside area main, 16 ft wide"),
        ({"kind": "divider", "x": "20"}, "x", "outside area main"),
        ({"kind": "flush_beam", "y": "144.0625 in", "plies": 3}, "y", "outside area main, 12 ft deep"),
        ({"kind": "member", "plies": 2}, "x", "is empty"),
        ({"kind": "member", "x": "8"}, "plies", "is empty"),
        ({"kind": "flush_beam", "y": "6"}, "plies", "is empty"),
        ({"kind": "dropped_beam", "plies": 3}, "y", "is empty"),
        ({"kind": "blocking"}, "y", "is empty"),
        ({"kind": "post", "x": "8"}, "kind", "is not one of member, divider, flush_beam, dropped_beam, blocking"),
        ({"kind": "blocking", "y": "6", "area": "mian"}, "area", "is no area of job D8; did you mean main?"),
        ({"kind": "blocking", "y": "6", "job": "D88"}, "job", "is no job of jobs.csv; did you mean d8?"),
    ],
)
def test_framing_that_does_not_fit(row, column, expected):
    said = problem(framing=[row])
    assert said.startswith(f"framing.csv:2: {column}: ")
    assert expected in said


@pytest.mark.parametrize("x", ["0", "192 in", "16 ft"])
def test_framing_on_the_very_edge_is_inside(x):
    assert inputs_of(deck(framing=[{"kind": "member", "x": x, "plies": 1}])).framing


def test_an_edge_in_other_units_is_inside():
    # 14 ft 3-1/2 in written as decimal feet is a last bit short of 171.5 in
    area = {"width": "14.291666666666666 ft"}
    assert inputs_of(deck(area=area, framing=[{"kind": "member", "x": "171.5 in", "plies": 1}])).framing


def test_a_liner_must_be_named_among_several():
    two = [{}, {"liner": "long roll"}]
    said = problem(liners=two)
    assert said.startswith("areas.csv:2: liner: is empty, and liners.csv has 2 liners (sheet, long roll)")
    assert "did you mean sheet?" in problem(liners=two, area={"liner": "shett"})
    assert inputs_of(deck(liners=two, area={"liner": "LONG roll"})).areas[0].liner == "long roll"


def test_a_job_without_an_area():
    said = problem(jobs=[{}, {"job": "D9"}])
    assert said.startswith("jobs.csv:3: job: job D9 has no area")


def test_a_gutter_line_may_not_take_the_name_of_an_area_with_a_line_of_its_own():
    areas = [{}, {"area": "side", "gutter_line": "Main"}]
    assert problem(areas=areas).startswith("areas.csv:3: gutter_line: 'Main' is also an area of job D8")


@pytest.mark.parametrize("status", ["offered", "won", "lost", "done"])
def test_a_job_that_was_offered_was_quoted_on_some_day(status):
    said = problem(job={"status": status, "quoted_on": ""})
    assert said == f"jobs.csv:2: quoted_on: is empty: a job that is {status} was quoted on some day"


def test_a_job_in_pricing_takes_the_day_of_the_run():
    assert inputs_of(deck(job={"status": "pricing", "quoted_on": ""})).on == dt.date(2026, 6, 15)


def test_a_metric_book_refuses_bare_lengths_except_in_columns_that_name_their_unit():
    metric = {"units": "metric"}
    said = problems_of(deck(area={"width": "16"}, rates=metric))
    # bare: width 16, spacing 16; the example's other lengths have units
    assert [one.split(": ")[:2] for one in said] == [["areas.csv:2", "width"], ["areas.csv:2", "spacing"]]
    book = deck(area={"width": "4.9 m", "spacing": "400 mm"}, rates={**metric, "kerf_in": 0.125})
    job = inputs_of(book)
    assert (job.areas[0].spacing_in, job.rates.kerf_in) == (pytest.approx(400 / 25.4), 0.125)


def test_one_metric_job_in_a_book_of_feet():
    tables = deck(jobs=[{}, {"job": "D9"}], areas=[{"width": "16"}, {"job": "D9", "width": "5", "spacing": "400 mm"}])
    tables["rates"] = "job,key,value\nD9,units,metric\n"
    (only,) = problems_of(tables)
    assert only.startswith("areas.csv:3: width: ")


# ---------------------------------------------------------------------------------------------- prices and rates


@pytest.mark.parametrize(
    ("sku", "changes", "column", "expected"),
    [
        ("liner-12", {"pack_qty": 2}, "pack_qty", "liner is cut from single stock pieces, so this must be 1"),
        ("gutter", {"pack_qty": 2}, "pack_qty", "must be 1"),
        ("leader", {"length": None}, "length", "is empty"),
        ("liner-12", {"width": None}, "width", "is empty"),
        ("strap", {"item": "strapp"}, "item", "is not one of liner, bay_outlet"),
        ("strap", {"unit": "ft"}, "unit", "does not fit strap: use each"),
        ("seam_tape", {"unit": "yd"}, "unit", "use ft or m"),
        ("strap", {"pack_qty": 0}, "pack_qty", "above 0"),
        ("strap", {"pack_price": "-0.01"}, "pack_price", "0 money or more"),
        ("strap", {"pack_price": ""}, "pack_price", "is empty"),
        ("bay_outlet", {"liner": "shett"}, "liner", "did you mean sheet?"),
        ("strap", {"liner": "sheet"}, "liner", "belongs to no liner"),
        ("strap", {"valid_from": "2026-06-02", "valid_to": "2026-06-01"}, "valid_to", "is before valid_from"),
    ],
)
def test_a_price_that_does_not_fit(sku, changes, column, expected):
    said = problem(prices=prices_with({sku: changes}))
    line = 2 + [row["sku"] for row in PRICE_ROWS].index(sku)
    assert said.startswith(f"prices.csv:{line}: {column}: ")
    assert expected in said


def test_tape_in_metres_is_converted():
    row = next(
        one
        for one in inputs_of(deck(prices=prices_with({"seam_tape": {"pack_qty": 15.24, "unit": "m"}}))).prices
        if one.item == "seam_tape"
    )
    assert row.pack_qty == 50


@pytest.mark.parametrize(
    ("key", "value", "expected"),
    [
        ("waste_liner", "5%", "cut goods get no waste percentage"),
        ("waste_gutter", "5%", "cut goods get no waste percentage"),
        ("waste_hangers", "5%", "did you mean waste_hanger?"),
        ("kerf", "0.1", "did you mean kerf_in?"),
        ("waste_strap", "0.05", "ambiguous"),
        ("crew", "0", "1 or more"),
        ("crew", "2.5", "whole number"),
        ("splices", "maybe", "is not one of yes, no"),
        ("units", "imperial", "is not one of us, metric"),
        ("leader_size", "3 in", "is not a leader size"),
        ("cut_step_in", "0", "above 0"),
        ("beam_ply_in", "0", "above 0"),
        ("hours_per_day", "25", "24 h or less"),
        ("staple_spacing_in", "", "is empty"),
    ],
)
def test_a_rate_that_is_none(key, value, expected):
    said = problem(rates={key: value})
    assert said.startswith("rates.csv:2: ")
    assert expected in said


def test_a_rate_of_an_unknown_job_and_of_one_job_only():
    tables = deck(jobs=[{}, {"job": "D9"}], areas=[{}, {"job": "D9"}])
    tables["rates"] = "job,key,value\n,crew,3\nd9,crew,4\n"
    assert [one.rates.crew for one in all_inputs_of(tables)] == [3, 4]
    tables["rates"] = "job,key,value\nD99,crew,3\n"
    (only,) = problems_of(tables)
    assert only.startswith("rates.csv:2: job: 'D99' is no job of jobs.csv; did you mean d9?")


@pytest.mark.parametrize(
    ("row", "column", "expected"),
    [
        ({"item": "strapp", "quantity": 1}, "item", "is no item; did you mean strap?"),
        ({"item": "gutter", "quantity": 5}, "length", "is empty: gutter is bought by stock length"),
        ({"item": "strap", "quantity": 5, "length": "8 ft"}, "length", "has no stock length"),
        ({"item": "gutter", "quantity": 5.5, "length": "10 ft"}, "quantity", "stock pieces are whole"),
        ({"item": "strap", "quantity": -1}, "quantity", "0 or more"),
        ({"item": "liner: other", "quantity": 1, "length": "12 ft"}, "item", "is no item"),
    ],
)
def test_an_override_that_does_not_fit(row, column, expected):
    said = problem(overrides=[row])
    assert said.startswith(f"overrides.csv:2: {column}: ")
    assert expected in said


def test_an_override_of_a_stock_length_nobody_offers():
    with pytest.raises(BookError, match=r"overrides.csv:2: item: 'gutter' of job D8 overrides no line"):
        build_estimate(inputs_of(deck(overrides=[{"item": "gutter", "length": "11 ft", "quantity": 5}])))


@pytest.mark.parametrize(
    ("row", "liners", "expected"),
    [
        ({"item": "strap", "length": "4 ft", "quantity": 1}, None, "is not cut from lengths"),
        ({"item": "liner", "length": "4 ft", "quantity": 1}, [{}, {"liner": "b"}], "write `liner: NAME`"),
    ],
)
def test_stock_that_does_not_fit(row, liners, expected):
    said = problem(stock=[row], liners=liners, area={"liner": "sheet"})
    assert said.startswith("stock.csv:2: item: ")
    assert expected in said


@pytest.mark.parametrize(
    ("changes", "column"),
    [
        ({"kind": "gift"}, "kind"),
        ({"quantity": -1}, "quantity"),
        ({"unit_cost": "dear"}, "unit_cost"),
        ({"description": ""}, "description"),
    ],
)
def test_an_extra_that_does_not_fit(changes, column):
    row = {"description": "lift hire", "quantity": 1, "unit_cost": "10", "kind": "other"} | changes
    assert problem(extras=[row]).startswith(f"extras.csv:2: {column}: ")


# ---------------------------------------------------------------------------------------------- all at once


def test_all_problems_of_all_files_at_once_in_the_order_of_files_and_lines(tmp_path):
    changes = {
        "job": {"overhead": "0.25", "labour_rate": "1,234"},
        "areas": [{"width": "wide", "layout": "centre"}, {"area": "b", "spacing": "x"}],
        "framing": [{"kind": "post"}],
        "liner": {"drape_in": ""},
        "prices": prices_with({"strap": {"pack_price": "cheap"}, "gutter": {"currency": "dollars"}}),
        "rates": {"waste_liner": "5%", "crew": 0},
        "extras": [{"description": "x", "quantity": 1, "unit_cost": 1, "kind": "gift"}],
        "overrides": [{"item": "strapp", "quantity": 1}],
        "stock": [{"item": "strap", "length": "4 ft", "quantity": 1}],
    }
    expected = [
        "jobs.csv:2: overhead",
        "jobs.csv:2: labour_rate",
        "areas.csv:2: width",
        "areas.csv:2: layout",
        "areas.csv:3: spacing",
        "framing.csv:2: kind",
        "liners.csv:2: drape_in",
        "prices.csv:9: currency",
        "prices.csv:16: pack_price",
        "rates.csv:2: waste_liner",
        "rates.csv:3: crew",
        "extras.csv:2: kind",
        "overrides.csv:2: item",
        "stock.csv:2: item",
    ]
    said = problems_of(deck(**changes))
    assert sorted(": ".join(one.split(": ")[:2]) for one in said) == sorted(expected)
    places = [one.split(": ")[0] for one in said]
    assert places == [one.split(": ")[0] for one in expected]
    # the command prints the same lines, each once, and writes nothing
    result = check(book_folder(tmp_path / "book", **changes))
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.splitlines()[:-1] == said
    assert result.stderr.splitlines()[-1] == f"{len(said)} problems; nothing was written"


def test_what_the_rules_refuse_of_all_jobs_comes_at_once(tmp_path):
    jobs = [{}, {"job": "D9"}]
    areas = [{"projection": "2 in"}, {"area": "b", "projection": "1 in"}, {"job": "D9", "projection": "3 in"}]
    result = check(book_folder(tmp_path / "book", jobs=jobs, areas=areas))
    assert result.exit_code == 1
    assert [line.split(": ")[0] for line in result.stderr.splitlines()[:-1]] == [
        "areas.csv:2",
        "areas.csv:3",
        "areas.csv:4",
    ]


@pytest.mark.parametrize(
    ("changes", "only"),
    [
        ({"job": {"overhead": "0.25"}}, "jobs.csv:2: overhead"),
        ({"area": {"width": "wide"}}, "areas.csv:2: width"),
        ({"liner": {"drape_in": "four"}}, "liners.csv:2: drape_in"),
    ],
)
def test_what_refers_to_a_row_that_could_not_be_read_is_not_blamed(changes, only):
    # areas, framing, extras and rates of the job; framing of the area; area, price, override and stock of the liner
    more = {
        "framing": [{"kind": "blocking", "y": "6"}],
        "extras": [{"description": "x", "quantity": 1, "unit_cost": 1, "kind": "other"}],
        "overrides": [{"item": "liner: sheet", "length": "12 ft", "quantity": 13}],
        "stock": [{"item": "liner: sheet", "length": "4 ft", "quantity": 1}],
        "more_prices": [offer("bay_outlet", "5.00", sku="own", liner="sheet")],
    }
    tables = deck(**more, **changes)
    tables["rates"] = "job,key,value\nD8,crew,3\n"
    tables["areas"] = tables["areas"].replace("area,", "area,liner,", 1).replace("main,", "main,sheet,", 1)
    assert [": ".join(one.split(": ")[:2]) for one in problems_of(tables)] == [only]


def test_what_is_wrong_in_rows_that_were_read_is_said_beside_those_that_were_not():
    said = problems_of(
        deck(
            job={"status": "won", "quoted_on": "", "profit": "120", "profit_basis": "margin"},
            areas=[{"width": "wide"}, {"area": "b"}],
            framing=[{"kind": "member", "x": "20", "plies": 1, "area": "b"}, {"kind": "blocking", "y": 1, "area": "c"}],
        )
    )
    assert [": ".join(one.split(": ")[:2]) for one in said] == [
        "jobs.csv:2: quoted_on",
        "jobs.csv:2: profit",
        "areas.csv:2: width",
        "framing.csv:2: x",
        "framing.csv:3: area",
    ]


def test_without_jobs_csv_nothing_else_is_blamed():
    tables = deck(framing=[{"kind": "blocking", "y": "6"}])
    del tables["jobs"]
    (only,) = problems_of(tables)
    assert only.startswith("jobs.csv: is missing")


# ---------------------------------------------------------------------------------------------- slips of the pen


@pytest.mark.parametrize(
    ("changes", "place", "expected"),
    [
        ({"rates": {"leader_spacing_ft": "0.000001"}}, "areas.csv:2: gutter_line", "16,000,000 leaders"),
        ({"rates": {"leader_capacity_gpm": "0.001"}}, "areas.csv:2: gutter_line", "9,975 leaders"),
        ({"liner": {"nozzle_reach_in": "1.500001"}}, "areas.csv:2: gutter_line", "leaders"),
        ({"prices": prices_with({"gutter": {"length": "0.1 in"}})}, "areas.csv:2: gutter_line", "longer stock"),
        ({"prices": prices_with({"leader": {"length": "0.1 in"}})}, "areas.csv:2: gutter_line", "longer stock"),
        (
            {"prices": prices_with({"liner-16": None, "liner-12": {"length": "12.0625 in"}})},
            "areas.csv:2: projection",
            "pieces of 12.0625 in",
        ),
        ({"prices": prices_with({"liner-16": None, "liner-12": {"length": "1 ft"}})}, "areas.csv:2: projection", "lap"),
        (
            {
                "prices": prices_with({"liner-16": None}),
                "rates": {"min_piece_in": 300},
                "area": {"projection": "13 ft"},
            },
            "areas.csv:2: projection",
            "shortest piece, 300 in",
        ),
    ],
)
def test_what_would_take_thousands_is_refused_at_once(changes, place, expected):
    with pytest.raises(BookError) as found:
        build_estimate(inputs_of(deck(**changes)))
    (only,) = (str(one) for one in found.value.problems)
    assert only.startswith(place)
    assert expected in only


def test_an_offcut_of_nothing_is_refused():
    said = problem(stock=[{"item": "gutter", "length": "0.01 in", "quantity": 1}])
    assert said == "stock.csv:2: length: 0.01 in is under 1/16 in: nothing can be cut from it"


# ---------------------------------------------------------------------------------------------- nothing crashes

ODD_CELLS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(
        [
            "",
            "-1",
            "0",
            "1e9",
            "nan",
            "inf",
            "9" * 40,
            "0.0000001",
            "1,234",
            "12'6\"",
            "½ in",
            "#N/A",
            "=1+1",
            "x" * 300,
        ]
    ),
    st.integers(-10, 10**7).map(str),
    st.floats(allow_nan=False, width=32).map(lambda number: f"{number:.4f}"),
    st.sampled_from(
        [f"{n} {unit}" for n in ("0", "3", "0.01", "9999") for unit in ("in", "ft", "mm", "m", "%", "in/h")]
    ),
)


def read_or_refused(read, given_to):
    """Return what was read and no problems, or nothing and the problems."""
    try:
        return read(given_to), ()
    except BookError as refused:
        return None, refused.problems


@settings(max_examples=150, deadline=None, derandomize=True, database=None)
@given(st.integers(0, 60), st.data())
def test_any_text_in_any_cells_is_read_or_refused_in_sentences(seed, data):
    tables = random_tables(seed)
    for _ in range(data.draw(st.integers(1, 3))):
        name = data.draw(st.sampled_from(sorted(tables)))
        rows = list(csv.reader(io.StringIO(tables[name], newline="")))
        row = rows[data.draw(st.integers(0, len(rows) - 1))]
        row[data.draw(st.integers(0, len(row) - 1))] = data.draw(ODD_CELLS).replace("\x00", "")
        text = io.StringIO(newline="")
        csv.writer(text).writerows(rows)
        tables[name] = text.getvalue()
    jobs, problems = read_or_refused(all_inputs_of, tables)
    assert all(one.message and one.source for one in problems)
    assert jobs or problems
    for job in jobs or ():
        found, problems = read_or_refused(build_estimate, job)
        assert all(one.message for one in problems)
        assert problems or found.totals.price.is_finite()


def test_a_shipped_area_row_is_complete():
    # so that the cases above change one thing at a time
    assert {"width", "projection", "spacing", "joist", "height"} <= set(AREA_ROW)
    assert len(all_inputs_of(deck())) == 1
