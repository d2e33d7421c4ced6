"""The match: what each kind of difference looks like, and what is none."""

from __future__ import annotations

from decimal import Decimal

import pytest
from purchases import back, bill, came, d, invoice, kinds, line, matched, offer, only, order

from baybook.buying.documents import BilledLine, Document, SubTotal, Totals
from baybook.buying.model import Account, Bill
from baybook.buying.tolerances import Tolerance


def test_a_clean_set_has_no_finding():
    found = matched(
        order(line(1, 4, "31.50"), line(2, 10, "1.35")),
        [came(1, 4), came(2, 10)],
        [invoice(bill(1, 4, "31.50"), bill(2, 10, "1.35"))],
    )
    assert found.findings == []


def test_price_over_is_claimed_and_price_under_is_not():
    # 4 at 33.00 for 31.50: 6.00 over; 10 at 1.30 for 1.35: 0.50 under
    found = matched(
        order(line(1, 4, "31.50"), line(2, 10, "1.35")),
        [came(1, 4), came(2, 10)],
        [invoice(bill(1, 4, "33.00"), bill(2, 10, "1.30"))],
    )
    over, under = only(found, "price_over"), only(found, "price_under")
    assert (over.money, over.claim, over.said) == (d("6.00"), True, "4 billed at 33.00, ordered at 31.50")
    assert (under.money, under.claim, under.open) == (d("-0.50"), False, True)


def test_a_price_under_is_only_noted_if_overage_alone_counts():
    found = matched(
        order(line(1, 10, "1.35")),
        [came(1, 10)],
        [invoice(bill(1, 10, "1.30"))],
        tolerance=Tolerance(overage_only=True),
    )
    assert kinds(found) == []
    assert kinds(found, also_notes=True) == ["price_under"]


def test_billed_and_not_received_is_claimed_at_the_billed_price_and_no_price_on_top():
    # 10 billed at 12.00 for 10.00, 7 here: 3 at 12.00 are 36.00, and 7 at 2.00 are 14.00: 50.00 of 120.00
    found = matched(order(line(1, 10, "10.00")), [came(1, 7)], [invoice(bill(1, 10, "12.00"))])
    assert only(found, "billed_not_received").money == d("36.00")
    assert only(found, "price_over").money == d("14.00")
    assert kinds(found) == ["billed_not_received", "price_over"]  # the 3 are not also "not yet here"


def test_what_came_damaged_does_not_count():
    found = matched(order(line(1, 10, "10.00")), [came(1, 10, damaged=2)], [invoice(bill(1, 10, "10.00"))])
    finding = only(found, "billed_not_received")
    assert (finding.quantity, finding.money) == (2, d("20.00"))
    assert finding.said == "10 billed, 8 came in good order and 2 damaged"


def test_of_two_invoices_the_later_one_bills_what_did_not_come():
    found = matched(
        order(line(1, 10, "10.00")),
        [came(1, 7)],
        [invoice(bill(1, 6, "10.00"), number="A-2", days=9), invoice(bill(1, 4, "11.00"), number="A-1", days=7)],
    )
    finding = only(found, "billed_not_received")
    assert (finding.invoice, finding.quantity, finding.money) == ("A-2", 3, d("30.00"))


def test_more_than_was_ordered():
    found = matched(order(line(1, 10, "10.00")), [came(1, 12)], [invoice(bill(1, 10, "10.00"))])
    assert kinds(found, also_notes=True) == ["not_yet_billed", "received_not_ordered"]
    assert only(found, "received_not_ordered").quantity == 2


def test_goods_of_no_order_and_of_no_line():
    found = matched(order(line(1, 1, "10.00")), [came(1, 1), came(1, 3, order="0077"), came(9, 2)], [])
    strays = [one.said for one in found.findings if one.kind == "received_not_ordered"]
    assert strays == [
        "3 of S1 came on 2026-07-06: no order 0077 was issued",
        "2 of S9 came on 2026-07-06: S9 is not on order 0001, and the price list does not know it",
    ]


def test_what_is_ordered_and_neither_here_nor_billed():
    found = matched(order(line(1, 10, "10.00")), [came(1, 4)], [invoice(bill(1, 4, "10.00"))])
    assert kinds(found) == ["not_yet_here"]
    assert only(found, "not_yet_here").quantity == 6


def test_sent_back_is_claimed_once():
    # 10 billed, 8 came, 1 of them went back: 2 not received and 1 returned
    found = matched(order(line(1, 10, "10.00")), [came(1, 8)], [invoice(bill(1, 10, "10.00"))], returns=[back(1, 1)])
    assert (only(found, "billed_not_received").money, only(found, "returned").money) == (d("20.00"), d("10.00"))


def test_what_was_sent_back_before_it_was_billed_is_no_claim():
    found = matched(order(line(1, 10, "10.00")), [came(1, 10)], [invoice(bill(1, 9, "10.00"))], returns=[back(1, 1)])
    assert found.findings == []


def test_left_over_is_no_return():
    found = matched(
        order(line(1, 10, "10.00")),
        [came(1, 10)],
        [invoice(bill(1, 10, "10.00"))],
        returns=[back(1, 1, kind="left_over")],
    )
    assert found.findings == []


# ---------------------------------------------------------------------------------------------- packs and units


TAPE = {"item": "seam_tape", "pack_qty": d(50), "unit": "ft"}


@pytest.mark.parametrize(
    ("quantity", "unit", "price", "base"),
    [
        (3, "", "31.50", 1),
        (3, "ROLL", "31.50", 1),
        (3, "XRO", "31.50", 1),
        (3, "ea", "31.50", 1),
        (150, "ft", "0.63", 1),
        (150, "FOT", "63.00", 100),
        (1800, "in", "0.0525", 1),
    ],
)
def test_a_quantity_in_another_unit_is_converted(quantity, unit, price, base):
    # a roll of 50 ft at 31.50 is 0.63 a foot, 0.0525 an inch
    found = matched(
        order(line(1, 3, "31.50", **TAPE)),
        [came(1, 3)],
        [invoice(bill(1, quantity, price, unit=unit, base_quantity=base))],
    )
    assert kinds(found) == []


def test_metres_are_converted_by_the_exact_foot():
    # 30 m are 98.425197 ft; one roll at 58.20 is 1.94 a metre
    roll = line(1, 2, "58.20", item="seam_tape", pack_qty=d("98.425197"), unit="ft")
    found = matched(order(roll), [came(1, 2)], [invoice(bill(1, 60, "1.94", unit="MTR"))])
    assert kinds(found) == []
    assert only(found, "other_pack").said == "billed 60 MTR, which is 2 packs of 98.425197 ft"


@pytest.mark.parametrize(("quantity", "price"), [(2, "39.50"), (50, "1.58")])
def test_each_of_a_box_is_read_by_its_price(quantity, price):
    """2 each at 39.50 are two boxes of 25, 50 each at 1.58 what is in them."""
    box = line(1, 2, "39.50", item="hanger", pack_qty=d(25), unit="each")
    found = matched(order(box), [came(1, 2)], [invoice(bill(1, quantity, price, unit="EA"))])
    assert kinds(found) == []


def test_a_unit_that_cannot_be_converted_is_open():
    found = matched(order(line(1, 3, "31.50", **TAPE)), [came(1, 3)], [invoice(bill(1, 3, "31.50", unit="KGM"))])
    finding = only(found, "other_pack")
    assert (finding.open, finding.said) == (True, "billed by 'KGM', ordered in packs of 50 ft")


OUTLETS = [offer("T10", "bay_outlet", 10, "123.50"), offer("T1", "bay_outlet", 1, "13.40")]


def test_another_pack_of_the_same_item_is_converted_by_the_price_list():
    # ordered 2 packs of 10 at 123.50; came and billed 20 single ones at 12.35
    ordered = order(line(1, 2, "123.50", sku="T10", item="bay_outlet", pack_qty=d(10)))
    found = matched(ordered, [came(1, 20, sku="T1")], [invoice(bill(1, 20, "12.35", sku="T1"))], prices=OUTLETS)
    assert kinds(found) == []
    said = {one.said for one in found.findings}
    assert said == {"T1 in place of T10: 1 a pack, ordered 10 a pack"}


def test_another_pack_at_another_price_is_found_in_packs_as_ordered():
    ordered = order(line(1, 2, "123.50", sku="T10", item="bay_outlet", pack_qty=d(10)))
    found = matched(ordered, [came(1, 20, sku="T1")], [invoice(bill(1, 20, "13.40", sku="T1"))], prices=OUTLETS)
    assert only(found, "price_over").money == d("21.00")  # 268.00 for 247.00


def test_another_stock_length_is_not_the_same_goods():
    prices = [
        offer("L12", "gutter", 1, "13.00", length_in=144.0),
        offer("L10", "gutter", 1, "11.00", length_in=120.0),
    ]
    ordered = order(line(1, 2, "13.00", sku="L12", item="gutter"))
    found = matched(ordered, [came(1, 2, sku="L10")], [invoice(bill(1, 2, "11.00", sku="L10"))], prices=prices)
    assert kinds(found) == ["not_yet_here", "received_not_ordered", "unknown"]


# ---------------------------------------------------------------------------------------------- what belongs where


def test_by_line_where_there_is_no_number():
    found = matched(order(line(1, 3, "5.00"), line(2, 3, "6.00")), [came(1, 3), came(2, 3)],
                    [invoice(bill(1, 3, "5.00"), bill(2, 3, "6.00", sku="", line="2"))])  # fmt: skip
    assert found.findings == []


@pytest.mark.parametrize("number", ["0001", "1", "0001 ", "01"])
def test_an_order_number_without_its_zeros(number):
    found = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 3, "5.00", order=number.strip()))])
    assert found.findings == []


def test_a_description_is_only_a_suggestion():
    ordered = order(line(1, 3, "5.00", description="seam tape 4 in"))
    found = matched(ordered, [came(1, 3)], [invoice(bill(1, 3, "5.00", sku="??", description="Seam tape 4in"))])
    finding = only(found, "unknown")
    assert finding.said == "?? is not on order 0001; perhaps line 1 of order 0001 (seam tape 4 in)"
    assert kinds(found) == ["unknown"]
    assert only(found, "not_yet_billed").quantity == 3


def test_a_line_that_names_no_order_may_get_a_hint():
    found = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 3, "5.00", order=""))])
    assert only(found, "unknown").said == "it names no order; perhaps order 0001"


def test_an_order_of_another_supplier_or_in_another_currency():
    other = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 3, "5.00"), supplier="Skerrow")])
    assert only(other, "unknown").said == "order 0001 went to Alder Yard, Skerrow bills it"
    money = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 3, "5.00"), currency="CAD")])
    assert only(money, "unknown").said == "billed in CAD, ordered in USD: nothing is converted"


def test_freight_is_no_goods_and_may_be_billed_once():
    carriage = line(2, 1, "45.00", sku="", item="freight", description="freight")
    billed = bill(2, 1, "45.00", sku="", description="Delivery charge")
    once = matched(order(line(1, 1, "5.00"), carriage), [came(1, 1)], [invoice(bill(1, 1, "5.00"), billed)])
    assert once.findings == []
    two = [invoice(bill(1, 1, "5.00"), billed, number=f"A-{day}", days=day) for day in (7, 8)]
    twice = matched(order(line(1, 2, "5.00"), carriage), [came(1, 2)], two)
    assert only(twice, "billed_not_received").said == "2 billed, it was ordered once"


def test_the_latest_revision_counts():
    first, second = order(line(1, 3, "5.00")), order(line(1, 4, "5.00"), revision=1)
    found = matched([first, second], [came(1, 4)], [invoice(bill(1, 4, "5.00"))])
    assert found.findings == []


# ---------------------------------------------------------------------------------------------- duplicates


def test_an_invoice_that_came_twice():
    once = invoice(bill(1, 3, "5.00"), number="INV-0042")
    again = invoice(bill(1, 3, "5.00"), number="inv 42", days=20)
    found = matched(order(line(1, 3, "5.00")), [came(1, 3)], [again, once])
    finding = only(found, "duplicate")
    assert (finding.money, finding.invoice) == (d("15.00"), "inv 42")
    assert kinds(found) == ["duplicate"]  # the second copy counts nowhere else


def test_an_invoice_whose_rows_stand_twice_in_one_file():
    found = matched(
        order(line(1, 3, "5.00"), line(2, 2, "6.00")),
        [came(1, 3), came(2, 2)],
        [invoice(bill(1, 3, "5.00"), bill(2, 2, "6.00"), bill(1, 3, "5.00"), bill(2, 2, "6.00"))],
    )
    assert kinds(found) == ["duplicate", "duplicate"]


def test_a_row_that_stands_twice_may_be_two_deliveries():
    def twice(ordered):
        rows = bill(1, 3, "5.00"), bill(1, 3, "5.00")
        return kinds(matched(order(line(1, ordered, "5.00")), [came(1, ordered)], [invoice(*rows)]))

    assert twice(6) == []
    assert twice(5) == ["duplicate"]


def test_the_same_bill_under_another_number_the_same_day():
    found = matched(
        order(line(1, 3, "5.00")),
        [came(1, 3)],
        [invoice(bill(1, 3, "5.00"), number="77"), invoice(bill(1, 3, "5.00"), number="78")],
    )
    assert kinds(found) == ["duplicate"]


def test_two_equal_deliveries_of_one_day_are_no_duplicate():
    found = matched(
        order(line(1, 6, "5.00")),
        [came(1, 3), came(1, 3)],
        [invoice(bill(1, 3, "5.00"), number="77"), invoice(bill(1, 3, "5.00"), number="78")],
    )
    assert found.findings == []


# ---------------------------------------------------------------------------------------------- sums and tax


def test_a_line_that_does_not_come_out():
    wrong = bill(1, 3, "5.00", amount="15.90")
    found = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(wrong)])
    finding = only(found, "wrong_sum")
    assert (finding.money, finding.claim) == (d("0.90"), True)
    assert finding.said == "amount of the line is 15.90, right is 15.00"
    assert kinds(found) == ["wrong_sum"]


def test_an_order_s_own_line_that_does_not_come_out():
    found = matched(order(line(1, 3, "5.00", amount=d("5.00"))), [came(1, 3)], [invoice(bill(1, 3, "5.00"))])
    assert only(found, "wrong_sum").order == "0001"


def test_tax_by_line_or_on_the_sum_are_both_right():
    """Streamlined Sales and Use Tax Agreement, section 324: five lines of 1.10 at 5 % are 0.30 by item, 0.28 in all."""
    ordered = order(*(line(n, 1, "1.10") for n in range(1, 6)))
    goods = [came(n, 1) for n in range(1, 6)]
    for taxes, right in (
        (["0.06"] * 5, True),
        (["0.06", "0.06", "0.06", "0.05", "0.05"], True),
        (["0.06", "0.06", "0.06", "0.06", "0.05"], False),
    ):
        found = matched(
            ordered, goods, [invoice(*(bill(n, 1, "1.10", tax=tax) for n, tax in enumerate(taxes, 1)))], tax_rate="0.05"
        )
        assert (kinds(found) == []) is right


def test_wrong_tax_on_a_line():
    found = matched(
        order(line(1, 3, "5.00"), line(2, 1, "20.00")),
        [came(1, 3), came(2, 1)],
        [invoice(bill(1, 3, "5.00", tax="0.75"), bill(2, 1, "20.00", tax="2.00"))],
        tax_rate="0.05",
    )
    finding = only(found, "wrong_tax")
    assert (finding.line, finding.money, finding.said) == ("2", d("1.00"), "tax at 5% is 2.00, right is 1.00")


def test_sums_of_many_lines_are_exact():
    """A tenth of a cent too much would show: 30,000 lines of 0.10 are 3,000.00."""
    lines = tuple(
        BilledLine(quantity=Decimal(1), unit_price=Decimal("0.10"), amount=Decimal("0.10")) for _ in range(30_000)
    )
    document = Document(
        supplier="S", number="1", date=invoice().date, lines=lines,
        totals=Totals(lines=Decimal("3000.00"), payable=Decimal("3000.00"),
                      subtotals=(SubTotal(Decimal("3000.00"), None, Decimal(0)),), tax=Decimal(0)),
    )  # fmt: skip
    found = matched(order(line(1, 1, "1.00")), [], [document])
    assert "wrong_sum" not in kinds(found)


# ---------------------------------------------------------------------------------------------- the comparator


def test_another_comparator_may_be_given():
    seen = []

    def nothing(fact, context):
        seen.append((type(fact), context.tolerance))
        return ()

    found = matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 9, "99.00"))], comparator=nothing)
    assert found.findings == []
    assert {kind for kind, _ in seen} >= {Account, Bill}


def test_a_finding_keeps_its_mark_while_its_figures_stay():
    def mark(price):
        return only(matched(order(line(1, 3, "5.00")), [came(1, 3)], [invoice(bill(1, 3, price))]), "price_over").mark

    assert mark("6.00") == mark("6.00")
    assert mark("6.00") != mark("7.00")
