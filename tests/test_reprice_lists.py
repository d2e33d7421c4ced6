"""Price lists compared by hand, and what counts for jobs afterwards."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal

import pytest
from books import csv_text, offer, table_of

from baybook.job.reading import read_prices
from baybook.problems import BookError
from baybook.reprice.lists import NewList, compare_lists, list_day

ON = dt.date(2026, 7, 1)


def prices(*rows):
    return read_prices(table_of("prices", csv_text(rows)))


def compared(old, new, accepted=()):
    """Return supplier, SKU, kind and why of every change, and the list that counts."""
    made = NewList(prices(*new), ON, frozenset(accepted))
    before = prices(*old)
    changes = compare_lists({"old": before}, made)["old"]
    return [(one.sku, one.kind, one.why) for one in changes], made.over(before, changes), changes


def told(rows):
    return sorted((row.supplier, row.sku, str(row.pack_price)) for row in rows)


def test_new_ended_changed_and_the_same():
    kinds, merged, changes = compared(
        [offer("strap", "1.90"), offer("elbow", "3.40"), offer("hanger", "1.35")],
        [offer("strap", "2.09"), offer("hanger", "1.35"), offer("staples", "5.20", pack_qty=500)],
    )
    assert kinds == [("elbow", "ended", ""), ("hanger", "same", ""), ("staples", "new", ""), ("strap", "changed", "")]
    assert changes[3].change == pytest.approx(0.10)  # 2.09/1.90 = 1.1
    assert told(merged) == [
        ("Alder Yard", "hanger", "1.35"),
        ("Alder Yard", "staples", "5.20"),
        ("Alder Yard", "strap", "2.09"),
    ]


def test_a_list_speaks_for_the_suppliers_it_names_and_no_others():
    birch = {"supplier": "Birch Supply"}
    kinds, merged, _ = compared(
        [offer("strap", "1.90"), offer("strap", "2.00") | birch, offer("elbow", "3.40") | birch],
        [offer("strap", "1.95") | {"supplier": "ALDER YARD"}],
    )
    assert kinds == [("strap", "changed", "")]
    assert told(merged) == [
        ("ALDER YARD", "strap", "1.95"),
        ("Birch Supply", "elbow", "3.40"),
        ("Birch Supply", "strap", "2.00"),
    ]


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        ({"pack_price": "1.90"}, {"pack_price": "19.00"}, "a digit too many or too few"),
        ({"pack_price": "19.00"}, {"pack_price": "1.90"}, "a digit too many or too few"),
        ({"pack_price": "1.90"}, {"pack_price": "15.20"}, "a digit"),  # 8 times: the limit
        ({"pack_price": "0"}, {"pack_price": "1.90"}, "a digit"),
        ({"pack_qty": 10}, {"pack_qty": 1}, "was 10 in a pack, is 1"),
        ({"pack_qty": 10}, {"pack_qty": 12}, "was 10 in a pack, is 12"),
        ({"currency": "USD"}, {"currency": "CAD"}, "was priced in USD, is priced in CAD"),
        ({"item": "strap"}, {"item": "elbow"}, "was strap, is elbow"),
    ],
)
def test_what_looks_like_a_slip_is_held_back_until_it_is_named(old, new, why):
    before, after = offer("strap", "1.90") | old, offer("strap", "1.90") | new
    kinds, merged, changes = compared([before], [after])
    (kind,) = kinds
    assert kind[:2] == ("strap", "held")
    assert why in kind[2]
    assert told(merged) == told(prices(before))
    assert changes[0].name == "Alder Yard/strap"
    for name in ("strap", "alder yard/strap"):
        kinds, merged, _ = compared([before], [after], [name])
        assert kinds == [("strap", "changed", "")]
        assert told(merged) == told(prices(after))
    assert compared([before], [after], ["birch/strap"])[0] == [kind]


@pytest.mark.parametrize(("name", "was", "now"), [("length", "12 ft", "10 ft"), ("width", "20 in", "22 in")])
def test_another_size_of_stock_is_held_back(name, was, now):
    liner = offer("liner", "41.00", length="12 ft", width="20 in")
    kinds, _, _ = compared([liner | {name: was}], [liner | {name: now}])
    assert [kind[1] for kind in kinds] == ["held"]


def test_what_is_just_inside_the_limit_is_taken_over():
    assert compared([offer("strap", "1.90")], [offer("strap", "15.19")])[0] == [("strap", "changed", "")]
    same_unit = compared(
        [offer("seam_tape", "18.00", pack_qty=50)], [offer("seam_tape", "18.00", pack_qty=50, unit="ft")]
    )
    assert same_unit[0] == [("seam_tape", "same", "")]


def test_a_held_offer_that_ran_out_counts_on():
    before = offer("strap", "1.90", valid_to="2026-06-30")
    _, merged, _ = compared([before], [offer("strap", "19.00", valid_from="2026-07-01")])
    (row,) = merged
    assert row.pack_price == Decimal("1.90")
    assert row.in_force(ON)


def test_of_several_periods_the_one_in_force_is_compared():
    old = [
        offer("strap", "1.80", valid_to="2026-03-31"),
        offer("strap", "1.90", valid_from="2026-04-01", valid_to="2026-06-30"),
    ]
    new = [
        offer("strap", "2.00", valid_from="2026-07-01", valid_to="2026-07-31"),
        offer("strap", "2.20", valid_from="2026-08-01"),
    ]
    _, merged, changes = compared(old, new)
    assert (changes[0].old_price, changes[0].new_price) == (Decimal("1.90"), Decimal("2.00"))
    assert [str(row.pack_price) for row in merged] == ["2.00", "2.20"]


def test_of_a_list_not_yet_in_force_the_next_period_is_compared():
    new = [
        offer("strap", "2.40", valid_from="2026-10-01"),
        offer("strap", "2.20", valid_from="2026-08-01", valid_to="2026-09-30"),
    ]
    _, _, changes = compared([offer("strap", "1.90")], new)
    assert changes[0].new_price == Decimal("2.20")


def test_one_sku_in_two_currencies_is_compared_in_each():
    both = [offer("strap", "1.90"), offer("strap", "2.50", currency="CAD")]
    kinds, _, changes = compared(both, [offer("strap", "2.00"), offer("strap", "2.60", currency="CAD")])
    assert kinds == [("strap", "changed", "")] * 2
    assert {(one.old_currency, str(one.new_price)) for one in changes} == {("USD", "2.00"), ("CAD", "2.60")}


def test_many_lists_are_compared_each_by_itself():
    new = NewList(prices(offer("strap", "2.00")), ON)
    lists = {
        "a": prices(offer("strap", "1.00")),
        "b": prices(offer("strap", "2.00")),
        "c": prices(offer("elbow", "3.00")),
    }
    found = compare_lists(lists, new)
    assert {name: [(one.sku, one.kind) for one in changes] for name, changes in found.items()} == {
        "a": [("strap", "changed")],
        "b": [("strap", "same")],
        "c": [("elbow", "ended"), ("strap", "new")],
    }


def test_a_list_without_the_supplier_gets_all_that_is_new():
    kinds, merged, _ = compared([offer("elbow", "3.40") | {"supplier": "Birch Supply"}], [offer("strap", "2.00")])
    assert kinds == [("strap", "new", "")]
    assert len(merged) == 2


def test_the_last_day_of_an_old_list():
    mine = frozenset({"alder yard"})
    ran_out = prices(offer("strap", "1.90", valid_to="2026-06-30"), offer("elbow", "3.40", valid_to="2026-05-31"))
    assert list_day(ran_out, mine, ON) == dt.date(2026, 6, 30)
    assert list_day(prices(offer("strap", "1.90")), mine, ON) == ON
    assert list_day(ran_out, frozenset({"birch"}), ON) == ON
    assert list_day((), mine, ON) == ON


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([offer("strap", "cheap")], "prices.csv:2: pack_price"),
        ([offer("strap", "1.90"), offer("strap", "2.00")], "is priced twice for the same days"),
        ([{"supplier": "A", "sku": "1"}], "column is missing"),
        ([offer("gutter", "9.00")], "its stock length is needed"),
    ],
)
def test_a_list_with_problems_is_refused_with_all_of_them(rows, said):
    with pytest.raises(BookError, match=said):
        prices(*rows)


def test_a_list_without_a_row_is_refused():
    with pytest.raises(BookError, match="has no offer"):
        read_prices(table_of("new", "supplier,sku,item,pack_price,currency\n"))


def test_a_liner_of_another_book_may_be_named():
    (row,) = prices(offer("liner", "41.00", length="12 ft", width="20 in", liner="some other"))
    assert row.liner == "some other"
