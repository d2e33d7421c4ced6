"""Re-pricing of jobs with outlines: every way that a price goes into a workbook gives the cells of a fresh build."""

from __future__ import annotations

import dataclasses
import datetime as dt
import random
from decimal import Decimal

import books
import handmade
import pytest
from repricing import WHEN, run, state

from baybook.estimate import build_estimate, estimate_again
from baybook.files.book import read_book
from baybook.files.example import example_files
from baybook.report import as_data
from baybook.workbook.build import make_workbook, spec_of, written
from baybook.workbook.declare import layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.read import book_of, read_workbook
from baybook.workbook.refresh import refreshed
from baybook.workbook.shape import lacking, shape_of
from baybook.workbook.template import wanted
from baybook.workbook.verify import verify_workbook

ON = dt.date(2026, 10, 1)
LIST = "alder-yard-october.csv"
DRAWN, OUTLINE = "RC-058", "0,0; 18,0; 18,10; 14,14; 0,14"
KEPT = ("jobs.csv", "areas.csv", "liners.csv", "prices.csv", "rates.csv", "suppliers.csv", "codes.csv")


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """Return the example's book and its outlined job as a person's workbook, priced by the supplier's next list."""
    place = tmp_path_factory.mktemp("drawn")
    texts = {name: data.decode() for name, data in example_files().items() if name.endswith(".csv")}
    (place / LIST).write_text(texts.pop(LIST), "utf-8")
    book = books.book_folder(place / "bids" / "example", {name.removesuffix(".csv"): of for name, of in texts.items()})
    (inputs,) = [one for one in read_book(book, ON) if one.job.job == DRAWN]
    made = make_workbook(build_estimate(inputs), WHEN)
    (place / "bids" / "mine.xlsx").write_bytes(handmade.rich(made.data))
    return place / "bids", inputs, run(place / "bids", place / LIST, on=ON, accept=["AY-1410"])


def after_of(inputs, done):
    """Return the job as a fresh build has it by the new list, which is that of one supplier: others stay."""
    _, _, result = done
    prices = tuple(row for row in inputs.prices if row.supplier not in {one.supplier for one in result.new.rows})
    job = dataclasses.replace(inputs.job, quoted_on=ON)
    new = dataclasses.replace(inputs, job=job, on=ON, prices=(*prices, *result.new.rows))
    return build_estimate(new)


def cells_of(data, leave=()):
    """Return formula, value and type of every cell."""
    book = book_of(data, "job.xlsx")
    return {
        (title, *place): (cell.formula, cell.value, type(cell.value))
        for title, scan in book.scans.items()
        for place, cell in scan.cells.items()
        if title not in leave
    }


def by_openpyxl(estimate, shape):
    """Return the workbook as openpyxl writes it."""
    spec = spec_of(estimate, WHEN, shape)
    placed = layout(spec)
    return written(spec, placed, evaluate(spec, placed), estimate, WHEN)


def test_the_new_price_of_an_outlined_job_is_that_of_a_fresh_estimate_whichever_way_it_comes(done):
    _, inputs, result = done
    fresh = after_of(inputs, done)
    assert [area.drawing is not None for area in fresh.takeoff.areas] == [True]
    found = {one.source: one for one in result.jobs if one.job == DRAWN}
    assert found.keys() == {"example", "mine.xlsx"}
    for one in found.values():
        assert (one.new_price, one.new_cost) == (fresh.totals.price, fresh.totals.cost)
        assert one.old_price == build_estimate(inputs).totals.price != one.new_price
        assert one.moved == sum(one.effects.values())
    assert not result.missed


def test_an_outlined_job_of_a_book_becomes_the_workbook_that_openpyxl_writes_cell_by_cell(done):
    folder, inputs, _ = done
    path = folder / f"repriced {ON}" / "example" / f"{DRAWN}.xlsx"
    fresh = after_of(inputs, done)
    found, expected = cells_of(path.read_bytes()), cells_of(by_openpyxl(fresh, wanted(fresh)))
    assert len(expected) > 15_000
    assert [at for at in expected.keys() | found.keys() if expected.get(at) != found.get(at)] == []
    assert verify_workbook(path, WHEN).differences == ()


def test_an_outlined_job_of_a_workbook_is_patched_to_the_cells_that_openpyxl_writes(done):
    folder, inputs, _ = done
    shape, fresh = shape_of(build_estimate(inputs)), after_of(inputs, done)
    assert lacking(fresh, shape) == []
    log = ("Log",)  # it remembers both prices
    found = cells_of((folder / "mine.xlsx").read_bytes(), log)
    expected = cells_of(by_openpyxl(fresh, shape), log)
    assert len(expected) > 15_000
    assert [(at, held, found.get(at)) for at, held in expected.items() if found.get(at) != held] == []
    assert {at[0] for at in found.keys() - expected.keys()}.isdisjoint(at[0] for at in expected)
    assert verify_workbook(folder / "mine.xlsx", WHEN).differences == ()
    assert refreshed(read_workbook(folder / "mine.xlsx"), WHEN).cells == ()


def test_a_second_run_leaves_outlined_jobs_alone(done):
    folder, _, result = done
    before = state(folder, journal=True)
    second = run(folder, folder.parent / LIST, on=ON, accept=["AY-1410"])
    assert (second.written, second.files, second.jobs) == ((), (), result.jobs)
    assert state(folder, journal=True) == before


@pytest.mark.parametrize("seed", range(8))
def test_the_take_off_of_an_outline_is_taken_over_where_only_prices_moved(done, seed):
    _, inputs, _ = done
    made = build_estimate(inputs)
    chance = random.Random(seed)
    prices = tuple(
        dataclasses.replace(row, pack_price=(row.pack_price * Decimal(repr(round(chance.uniform(0.4, 1.8), 4)))))
        for row in inputs.prices
    )
    new = dataclasses.replace(inputs, prices=prices)
    again, fresh = estimate_again(made, new), build_estimate(new)
    assert again.takeoff.areas is made.takeoff.areas
    assert as_data(again) == as_data(fresh)
    assert (again.totals, again.takeoff, again.findings) == (fresh.totals, fresh.takeoff, fresh.findings)
    assert again.totals != made.totals


def test_outlined_jobs_of_other_sizes_share_a_template():
    texts = {name.removesuffix(".csv"): data.decode() for name, data in example_files().items() if name in KEPT}
    shapes, exact = set(), set()
    for width in (14, 18, 20, 23):
        corners = f"0,0; {width},0; {width},10; {width - 4},14; 0,14"
        others = texts | {"areas": texts["areas"].replace(OUTLINE, corners)}
        (inputs,) = [one for one in books.all_inputs_of(others) if one.job.job == DRAWN]
        estimate = build_estimate(inputs)
        (take,) = estimate.takeoff.areas
        assert (take.area.width_in, take.drawing is not None) == (12 * width, True)
        assert lacking(estimate, wanted(estimate)) == []
        shapes.add(dataclasses.replace(wanted(estimate), patterns=0, cuts=0, pieces=0, rolls=0, planned=0))
        exact.add((shape_of(estimate).segments, shape_of(estimate).stretches))
    assert len(exact) > len(shapes) == 1
