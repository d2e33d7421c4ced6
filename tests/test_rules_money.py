"""Rules M1 to M6: packs, labour, profit, tax, offers and dates, each at the value where a figure changes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from books import PRICE_ROWS, estimate, offer, prices_with, taken

from baybook.numbers import cents
from baybook.problems import BookError

# The example's deck: materials 750.05, labour 868.80, so C = 1,618.85.
TO_8000 = {"description": "scaffold", "quantity": 1, "unit_cost": "6381.15", "kind": "other"}  # 8,000 - 1,618.85


def totals(**changes):
    return {name: Decimal(text) for name, text in taken(**changes)["totals"].items()}


def extra(cost, quantity=1, kind="other"):
    return {"description": "extra", "quantity": quantity, "unit_cost": cost, "kind": kind}


def only(item, *offers):
    """Return the example's prices with these offers of one item and no others."""
    return [row for row in PRICE_ROWS if row["item"] != item] + list(offers)


def offer_taken(item, **changes):
    line = next(one for one in estimate(**changes).lines if one.need.item == item)
    return line.taken.offer.supplier, line.taken.offer.sku, line.taken.packs, str(line.taken.cost)


# ---------------------------------------------------------------------------------------------- M1


@pytest.mark.parametrize(
    ("quantity", "packs"),
    [
        ("0", 0),
        ("0.000001", 1),
        ("49.999999", 50),
        ("50", 50),
        ("50.0000004", 50),  # 50 to six places
        ("50.000001", 51),
    ],
)
def test_m1_whole_packs(quantity, packs):
    # tape by the foot at 0.50, no waste
    prices = prices_with({"seam_tape": {"pack_qty": 1, "pack_price": "0.50"}})
    overrides = [{"item": "seam_tape", "quantity": quantity}]
    job = estimate(overrides=overrides, prices=prices, rates={"waste_seam_tape": "0%"})
    line = next(one for one in job.lines if one.need.item == "seam_tape")
    assert (line.packs, line.cost) == (packs, packs * Decimal("0.50"))


def test_m1_the_quotient_is_what_is_rounded():
    # 50.00001 / 50 is 1.0000002: one roll; 50.0001 / 50 is 1.000002: two
    for quantity, packs in ((50.00001, 1), (50.0001, 2)):
        job = taken(overrides=[{"item": "seam_tape", "quantity": quantity}], rates={"waste_seam_tape": "0%"})
        assert job["items"]["seam_tape"]["packs"] == packs


def test_m1_cut_goods_cost_what_their_plan_costs():
    job = taken()
    for item in ("liner", "gutter", "leader"):
        assert job["items"][item]["cost"] == job["cut_plan"][item]["cost"]


def test_m1_an_override_of_a_stock_length_replaces_its_pieces():
    # 12 pieces planned from 12-ft stock; 13 bought: 13 * 41
    job = taken(overrides=[{"item": "liner", "length": "12 ft", "quantity": 13}])
    assert (job["items"]["liner"]["packs"], job["items"]["liner"]["cost"]) == (13, "533.00")
    assert (job["bays"], job["hours"]["piece"]) == (12, 3.6)  # never back into geometry


def test_m1_an_override_of_a_stock_length_is_of_its_item():
    # gutter and leader both come in sticks of 10 ft
    items = taken(overrides=[{"item": "gutter", "length": "10 ft", "quantity": 5}])["items"]
    assert (items["gutter"]["packs"], items["leader"]["packs"]) == (5, 1)


def test_m1_an_override_of_one_liners_item_leaves_the_others_alone():
    liners = [{"liner": "a"}, {"liner": "b"}]
    areas = [{"area": name, "liner": name} for name in "ab"]
    overrides = [{"item": "bay_outlet: b", "quantity": 20}]
    lines = estimate(areas=areas, liners=liners, overrides=overrides).lines
    nets = {(one.need.item, one.need.liner): one.net for one in lines}
    assert (nets["bay_outlet", "a"], nets["bay_outlet", "b"], nets["seam_tape", "b"]) == (12, 20, 156)


# ---------------------------------------------------------------------------------------------- M2


@pytest.mark.parametrize(
    ("rate", "value", "task", "hours"),
    [
        ("hours_piece", 0.25125, "piece", 3.02),  # 12 * 0.25125 = 3.015, half up; in binary a little under
        ("hours_piece", 0.2512, "piece", 3.01),  # 3.0144
        ("hours_tape_ft", 0.013429, "tape_ft", 2.09),  # 156 * 0.013429 = 2.094924
        ("hours_tape_ft", 0.0134295, "tape_ft", 2.10),  # 2.095002
        ("hours_leader", 1.005, "leader", 1.01),
        ("hours_leader", 1.0049994, "leader", 1.0),  # 1.004999 to six places
        ("hours_leader", 1.0049996, "leader", 1.01),  # 1.005
        ("hours_job", 0, "job", 0),
    ],
)
def test_m2_hours_are_rounded_half_up_after_six_places(rate, value, task, hours):
    assert taken(rates={rate: value})["hours"][task] == hours


def test_m2_what_each_task_counts():
    areas = [{"area": "a", "posts_through": 2}, {"area": "b", "width": "8 ft"}]
    framing = [
        {"area": "a", "kind": "flush_beam", "y": "6 ft", "plies": 3},
        {"area": "a", "kind": "member", "x": "96 in", "plies": 2},
        {"area": "b", "kind": "member", "x": "22.5 in", "plies": 1},
    ]
    assert dict(estimate(areas=areas, framing=framing).takeoff.tasks) == {
        "job": 1,
        "area": 2,  # not the parts
        "outlet": 2 * 12 + 6,  # b: 6 bays, one of them now a capped one and one of 8
        "narrow_outlet": 1,
        "piece": 2 * 13 + 7,  # the doubled joist's strip in both parts; the capped bay's
        "tape_ft": 13 * 12 + 8 * 12 + 2 * 3,
        "gutter_ft": 2 * 16 + 8,
        "leader": 3,
    }


def test_m2_cost_is_hours_by_the_loaded_rate():
    # 14.48 h; by tasks 3, 1, 2.4, 3.6, 1.56, 1.92, 1 at 61.995, each to the cent, halves up:
    # 185.985, 61.995, 148.788, 223.182, 96.7122, 119.0304, 61.995
    expected = (
        Decimal("185.99") + 62 + Decimal("148.79") + Decimal("223.18") + Decimal("96.71") + Decimal("119.03") + 62
    )
    assert totals(job={"labour_rate": "61.995"})["labour"] == expected


# ---------------------------------------------------------------------------------------------- M3


@pytest.mark.parametrize(
    ("basis", "profit", "price"),
    [
        ("markup", "25", "10000.00"),
        ("margin", "30", "11428.57"),
        ("margin", "20", "10000.00"),
        (None, "25%", "10000.00"),
    ],
)
def test_m3_profit_as_markup_or_margin(basis, profit, price):
    found = totals(job={"profit": profit, "profit_basis": basis}, extras=[TO_8000])
    assert found["price"] == Decimal(price)
    assert found["profit"] == Decimal(price) - 8000


def test_m3_overhead_and_contingency_are_both_on_cost():
    found = totals(job={"overhead": "10", "profit": "10"}, rates={"contingency": "5%"}, extras=[TO_8000])
    assert [found[name] for name in ("overhead", "contingency", "profit", "price")] == [800, 400, 920, 10120]


@pytest.mark.parametrize(
    ("least", "profit", "price"),
    [
        ("1618.85", "0.00", "1618.85"),
        ("1618.86", "0.01", "1618.86"),
        ("1618.84", "0.00", "1618.85"),
        ("2000", "381.15", "2000.00"),
    ],
)
def test_m3_what_lacks_to_the_minimum_charge_is_profit(least, profit, price):
    found = totals(rates={"minimum_charge": least})
    assert (found["profit"], found["price"]) == (Decimal(profit), Decimal(price))


def test_m3_the_minimum_is_before_tax_on_the_total():
    found = totals(job={"tax_on": "total", "tax_rate": "10"}, rates={"minimum_charge": 2000})
    assert (found["profit"], found["tax"], found["price"]) == (Decimal("381.15"), 200, 2200)


@pytest.mark.parametrize(
    ("kind", "name", "amount"),
    [("material", "materials", "850.05"), ("labour", "labour", "968.80"), ("other", "other", "100.00")],
)
def test_m3_extras_go_by_kind(kind, name, amount):
    found = totals(extras=[extra("100.00", kind=kind)])
    assert (found[name], found["price"]) == (Decimal(amount), Decimal("1718.85"))


# ---------------------------------------------------------------------------------------------- M4


def test_m4_tax_on_materials_is_a_cost():
    # 750.05 * 0.0825 = 61.879125; base 1618.85 + 61.88; 10 % of it 168.073
    found = totals(job={"tax_on": "materials", "tax_rate": "8.25", "profit": "10"})
    assert [str(found[name]) for name in ("tax", "profit", "price")] == ["61.88", "168.07", "1848.80"]


def test_m4_item_by_item():
    # 492: 40.59, 26.40: 2.178, 12.10: 0.99825, 76.80: 6.336, 75: 6.1875, 7.95: 0.655875, 5.20: 0.429, 2.85: 0.235125,
    # 4.20: 0.3465, 4.60: 0.3795, 17.55: 1.447875, 10.20: 0.8415, 5.70: 0.47025, 9.50: 0.78375; each to the cent:
    # 40.59 + 2.18 + 1.00 + 6.34 + 6.19 + 0.66 + 0.43 + 0.24 + 0.35 + 0.38 + 1.45 + 0.84 + 0.47 + 0.78
    tax = {"tax_on": "materials", "tax_rate": "8.25"}
    assert totals(job=tax, rates={"tax_basis": "item"})["tax"] == Decimal("61.90")
    assert totals(job=tax, rates={"tax_basis": "invoice"})["tax"] == Decimal("61.88")


def test_m4_extras_of_material_are_taxed_with_them():
    job = {"tax_on": "materials", "tax_rate": "10"}
    # 75.005 goes to 75.01; 10.00 more is 1.00 more
    assert [totals(job=job, extras=rows)["tax"] for rows in ([], [extra("10", kind="material")], [extra("10")])] == [
        Decimal("75.01"),
        Decimal("76.01"),
        Decimal("75.01"),
    ]


@pytest.mark.parametrize("basis", ["item", "invoice"])
def test_m4_tax_on_the_total_is_on_top_of_profit_and_never_by_item(basis):
    # 1618.85 * 1.1 = 1780.735: profit 161.885 to 161.89, base and profit 1780.74; 8.25 % of it 146.91105
    job = {"tax_on": "total", "tax_rate": "8.25", "profit": "10"}
    found = totals(job=job, rates={"tax_basis": basis})
    assert [str(found[name]) for name in ("profit", "tax", "price")] == ["161.89", "146.91", "1927.65"]


def test_m4_no_tax():
    assert totals(job={"tax_on": "none", "tax_rate": "8.25"})["tax"] == 0


@pytest.mark.parametrize(
    ("quantity", "cost", "amount"),
    [
        (3, "0.335", "1.01"),  # 1.005, half away from zero
        (3, "-0.335", "-1.01"),
        (1, "1.00499999", "1.00"),  # eight places stand
        (1, "1.004999995", "1.01"),  # ROUND(x, 8) is 1.005
        (1, "1.004999994", "1.00"),
        (0.3333335, "1000000", "333334.00"),  # a float enters as its decimal to six places
        (0.3333334, "1000000", "333333.00"),
        (1.1, "1.15", "1.27"),  # 1.265; in binary 1.2649999999999997
    ],
)
def test_m4_money_is_rounded_at_every_line(quantity, cost, amount):
    assert estimate(extras=[extra(cost, quantity)]).extras[0].cost == Decimal(amount)


@pytest.mark.parametrize(
    ("exact", "rounded"),
    [("0.005", "0.01"), ("-0.005", "-0.01"), ("0.00499999", "0.00"), ("2.675", "2.68"), ("0.004999995", "0.01")],
)
def test_m4_one_rounding_function(exact, rounded):
    assert cents(Decimal(exact)) == Decimal(rounded)


# ---------------------------------------------------------------------------------------------- M5


def test_m5_least_cost_for_the_packs_needed():
    # 13 hangers: 13 * 1.35 = 17.55; one pack of 25 at 17.54; at 17.55 a tie, which the SKU decides
    def with_pack(price, sku="pack"):
        return [*PRICE_ROWS, offer("hanger", price, sku=sku, pack_qty=25)]

    assert offer_taken("hanger", prices=with_pack("17.54"))[1:] == ("pack", 1, "17.54")
    assert offer_taken("hanger", prices=with_pack("17.56"))[1:] == ("hanger", 13, "17.55")
    assert offer_taken("hanger", prices=with_pack("17.55"))[1:] == ("hanger", 13, "17.55")
    assert offer_taken("hanger", prices=with_pack("17.55", "a-pack"))[1:] == ("a-pack", 1, "17.55")


@pytest.mark.parametrize(
    ("one", "other", "winner"),
    [
        (("Birch", "1"), ("Alder", "9"), ("Alder", "9")),  # by supplier first
        (("Alder", "B"), ("Alder", "A"), ("Alder", "A")),  # then by SKU
        (("alder", "A"), ("BIRCH", "A"), ("alder", "A")),  # without case
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_m5_ties_go_by_supplier_then_sku_whatever_the_order_of_rows(one, other, winner, turned):
    rows = [{**offer("strap", "1.90", sku=sku), "supplier": supplier} for supplier, sku in (one, other)]
    found = offer_taken("strap", prices=only("strap", *(rows[::-1] if turned else rows)))
    assert found[:2] == winner


def test_m5_each_stock_length_takes_its_cheapest_offer():
    cheap = {"supplier": "Birch Supply", "item": "liner", "currency": "USD", "width": "20 in", "sku": "x"}
    more = [cheap | {"length": "12 ft", "pack_price": "40.99"}]
    job = estimate(more_prices=more)
    assert [(one.offer.supplier, one.planned) for one in job.cuts[0].bought] == [
        ("Birch Supply", 12),
        ("Alder Yard", 0),
    ]
    more[0]["pack_price"] = "41.00"
    assert estimate(more_prices=more).cuts[0].bought[0].offer.supplier == "Alder Yard"


# ---------------------------------------------------------------------------------------------- M6


@pytest.mark.parametrize(
    ("start", "end", "good"),
    [
        ("2026-06-15", "2026-06-15", True),  # both included
        ("2026-06-16", None, False),
        (None, "2026-06-14", False),
        ("2026-06-15", None, True),
        (None, "2026-06-15", True),
        (None, None, True),
    ],
)
def test_m6_a_price_applies_from_to_both_included(start, end, good):
    prices = prices_with({"strap": {"valid_from": start, "valid_to": end}})
    if good:
        assert offer_taken("strap", prices=prices)[1] == "strap"
    else:
        with pytest.raises(BookError) as found:
            taken(prices=prices)
        (problem,) = found.value.problems
        text = str(problem)
        assert "strap" in text  # the item, the date, and what was found
        assert "2026-06-15" in text
        assert f"valid {start or 'open'} to {end or 'open'}" in text


def test_m6_each_day_has_its_price():
    rows = [offer("strap", "1.00", valid_to="2026-06-14"), offer("strap", "2.00", valid_from="2026-06-15")]
    prices = only("strap", *rows)
    assert offer_taken("strap", prices=prices)[3] == "6.00"
    assert offer_taken("strap", prices=prices, job={"quoted_on": "2026-06-14"})[3] == "3.00"


def test_m6_only_the_jobs_currency_counts():
    prices = only("strap", offer("strap", "0.01", sku="c") | {"currency": "CAD"}, offer("strap", "1.90"))
    assert offer_taken("strap", prices=prices)[3] == "5.70"
    with pytest.raises(BookError, match=r"no offer for strap on 2026-06-15 in USD: .*in CAD"):
        taken(prices=prices[:-1])


@pytest.mark.parametrize("item", sorted({row["item"] for row in PRICE_ROWS} - {"outlet_extension"}))
def test_m6_none_for_a_needed_item_is_an_error_never_a_zero(item):
    with pytest.raises(BookError, match=rf"no offer for {item}\b.* on 2026-06-15 in USD"):
        taken(prices=only(item))


def test_m6_an_item_nobody_needs_may_be_missing():
    assert "outlet_extension" not in taken(prices=only("outlet_extension"))["items"]


def test_m6_all_missing_items_are_named_at_once():
    gone = {"strap", "elbow", "hanger"}
    with pytest.raises(BookError) as found:
        taken(prices=[row for row in PRICE_ROWS if row["item"] not in gone])
    assert {problem.field for problem in found.value.problems} == gone
