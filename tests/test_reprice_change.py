"""Jobs before and after a new list: totals against fresh estimates, effects and margins by hand."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal

import books
import pytest
from books import TODAY, csv_text, deck, inputs_of, offer, prices_with, table_of
from random_prices import compared_with_a_fresh_one

from baybook.estimate import build_estimate, estimate_again
from baybook.job.reading import read_prices
from baybook.problems import BookError
from baybook.report import as_data
from baybook.reprice.change import FOLLOWS, change_of, priced_again, repriced_inputs
from baybook.reprice.lists import NewList, compare_lists
from baybook.reprice.model import as_json, of_json

ON = dt.date(2026, 7, 1)


def changed(old, new, floor=None, accepted=(), on=ON, **job):
    """Return what a new list does to the worked deck, whose old prices are given."""
    inputs = inputs_of(deck(prices=old, **job))
    rows = read_prices(table_of("new", csv_text(new)))
    of = NewList(rows, on, frozenset(accepted))
    changes = compare_lists({"": inputs.prices}, of)[""]
    before, after, why = priced_again(inputs, repriced_inputs(inputs, of.over(inputs.prices, changes), on))
    return change_of("book", before, after, changes, of, floor, why), before, after


PRICES = books.PRICE_ROWS


def dearer_straps():
    return prices_with({"strap": {"pack_price": "2.09"}})


def test_one_item_moves_the_price_by_its_packs():
    job = {"profit": "25%", "profit_basis": "markup", "overhead": "10%"}
    change, before, after = changed(PRICES, dearer_straps(), job=job)
    packs = next(line.packs for line in before.lines if line.need.item == "strap")
    more = packs * Decimal("0.19")
    assert packs > 0
    assert change.effects["strap"] == more
    assert set(change.effects) == {"strap", FOLLOWS}
    assert change.moved == sum(change.effects.values())
    assert abs(change.moved - more * Decimal("1.10") * Decimal("1.25")) <= Decimal(
        "0.02"
    )  # overhead and profit, each rounded
    assert change.new_cost - change.old_cost == more
    assert (change.offers, change.ended, change.cuts, change.held) == ((), (), (), ())
    assert after.inputs.job.quoted_on == ON
    # 25 % on the base is 20 % of the price; the base is now dearer by the straps and their overhead
    assert change.margin_stated == pytest.approx(0.20, abs=1e-5)
    lost = more * Decimal("1.10") / change.old_price
    assert change.margin_left == pytest.approx(0.20 - float(lost), abs=1e-5)
    assert change.below_floor


def test_tax_on_the_whole_price_is_no_part_of_the_margin():
    job = {"profit": "30%", "profit_basis": "margin", "tax_rate": "8%", "tax_on": "total"}
    change, before, _ = changed(PRICES, dearer_straps(), job=job)
    assert change.margin_stated == pytest.approx(0.30, abs=1e-5)
    assert change.old_price == before.totals.price
    assert change.margin_left < 0.30


def test_tax_on_materials_is_a_cost_and_follows_them():
    job = {"profit": "25%", "tax_rate": "10%", "tax_on": "materials"}
    change, before, _ = changed(PRICES, dearer_straps(), job=job)
    packs = next(line.packs for line in before.lines if line.need.item == "strap")
    lost = packs * Decimal("0.19") * Decimal("1.10") / change.old_price
    assert change.margin_left == pytest.approx(0.20 - float(lost), abs=1e-5)


@pytest.mark.parametrize(("floor", "below"), [(None, True), (0.15, False), (0.1999, True), (-0.5, False)])
def test_the_floor(floor, below):
    change, _, _ = changed(PRICES, dearer_straps(), floor, job={"profit": "25%"})
    assert change.below_floor is below


def test_a_cheaper_list_leaves_every_margin():
    change, _, _ = changed(PRICES, prices_with({"strap": {"pack_price": "1.71"}}), job={"profit": "25%"})
    assert change.moved < 0
    assert change.margin_left > change.margin_stated
    assert not change.below_floor


def test_the_days_for_which_the_old_offer_is_open():
    # quoted on 2026-06-15 for 30 days: open to 2026-07-15, which is 14 days after 2026-07-01
    assert changed(PRICES, PRICES, job={"valid_days": 30})[0].days_left == 14
    assert changed(PRICES, PRICES, job={"valid_days": 10})[0].days_left == -6
    assert changed(PRICES, PRICES, job={"quoted_on": None})[0].days_left is None


def test_another_offer_is_named():
    two = [*PRICES, offer("strap", "18.00", sku="strap-10", pack_qty=10)]
    change, before, _ = changed(two, [*prices_with({"strap": {"pack_price": "1.00"}}), two[-1]], job={"profit": "25%"})
    taken = next(line.taken.offer for line in before.lines if line.need.item == "strap")
    assert taken.sku == "strap"
    assert change.offers == ()
    change, _, after = changed(two, [*prices_with({"strap": {"pack_price": "9.00"}}), two[-1]])
    assert next(line.taken.offer.sku for line in after.lines if line.need.item == "strap") == "strap-10"
    assert change.offers == ("strap: Alder Yard strap -> Alder Yard strap-10 (pack of 10)",)


def test_prices_move_the_cut_plan():
    # twelve-foot liner so dear that sixteen-foot stock is cheaper for every panel
    change, before, after = changed(PRICES, prices_with({"liner-12": {"pack_price": "99.00"}}))
    old = {one.offer.sku: one.pieces for cut in before.cuts for one in cut.bought if cut.cut.item == "liner"}
    new = {one.offer.sku: one.pieces for cut in after.cuts for one in cut.bought if cut.cut.item == "liner"}
    assert old["liner-12"] > 0 == new["liner-12"]
    (said,) = change.cuts
    assert said == f"liner: sheet: {old['liner-12']} x 12' 0\" -> {new['liner-16']} x 16' 0\""


def test_what_ended_and_what_ran_out():
    other = offer("strap", "2.20", sku="strap-b", supplier="Birch Supply")
    change, _, _ = changed([*PRICES, other], [row for row in PRICES if row["sku"] != "strap"])
    assert change.ended == ("strap: Alder Yard strap is no longer offered",)
    late = prices_with({"strap": {"valid_from": "2026-08-01"}})
    assert changed([*PRICES, other], late)[0].ended == ("strap: Alder Yard strap not in force before 2026-08-01",)
    gone = prices_with({"strap": {"valid_to": "2026-06-20"}})
    assert changed([*PRICES, other], gone)[0].ended == ("strap: Alder Yard strap ran out on 2026-06-20",)


def test_a_job_that_the_new_list_cannot_serve_says_so():
    with pytest.raises(BookError, match="no offer for strap"):
        changed(PRICES, [row for row in PRICES if row["sku"] != "strap"])


def test_a_job_that_the_old_list_does_not_serve_has_no_old_price():
    old = [row for row in PRICES if row["sku"] != "strap"]
    change, before, after = changed(old, PRICES)
    assert before is None
    assert change.old_price is change.margin_left is None
    assert change.new_price == after.totals.price
    assert "no offer for strap" in change.unpriced
    assert not change.below_floor


def test_a_held_offer_that_a_job_uses_is_named():
    slip = prices_with({"strap": {"pack_price": "19.00"}})
    change, _, _ = changed(PRICES, slip)
    assert change.held == ("Alder Yard/strap",)
    assert change.moved == 0
    change, _, _ = changed(PRICES, slip, accepted=["strap"])
    assert change.held == ()
    assert change.moved > 0


def test_a_change_is_the_same_out_of_the_journal():
    change, _, _ = changed(PRICES, prices_with({"liner-12": {"pack_price": "99.00"}, "strap": {"pack_price": "19.00"}}))
    assert of_json(json.loads(json.dumps(as_json(change)))) == change
    with pytest.raises(KeyError):
        of_json({"job": "J"})


# ---------------------------------------------------------------------------------------------- the same as a fresh one


@pytest.mark.parametrize("part", range(5))
def test_every_total_of_random_new_prices_is_that_of_a_fresh_estimate(part):
    """Two hundred here; tests/long/fresh_totals.py does thousands."""
    found = [compared_with_a_fresh_one(seed) for seed in range(part * 40, part * 40 + 40)]
    assert sum(one is not None for one in found) >= 20
    assert sum(bool(one) for one in found) >= 10


def test_whatever_else_changes_is_worked_out_anew():
    made = build_estimate(inputs_of(deck()))
    for change in (
        {"area": {"width": "20 ft"}},
        {"framing": [{"kind": "blocking", "y": "6 ft"}]},
        {"rates": {"spare_panels": 2}},
        {"liner": {"drape_in": 3}},
        {"job": {"rainfall": "6 in/h"}},
    ):
        other = inputs_of(deck(**change))
        assert as_data(estimate_again(made, other)) == as_data(build_estimate(other))


def test_the_day_of_a_job_without_a_quote_date():
    assert TODAY < ON
    inputs = inputs_of(deck(job={"quoted_on": None}))
    assert repriced_inputs(inputs, inputs.prices, ON).on == ON
    assert repriced_inputs(inputs, inputs.prices, ON).job.quoted_on is None
