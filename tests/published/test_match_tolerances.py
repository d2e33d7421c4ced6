"""Tolerances of four payables offices, as published; the numbers beside each edge are worked out by hand.

Purdue University, Out-of-Tolerance Guidelines (read in a copy); Saginaw Valley State University (quoted by another);
New Mexico State University, Purchase Order Tolerance Rules (read); Massachusetts Institute of Technology, Purchase
Order Invoices: Approval and Rules (read).
"""

from __future__ import annotations

import pytest
from purchases import bill, came, d, invoice, kinds, line, matched, order

from baybook.buying.records import Settings
from baybook.buying.tolerances import POLICIES, tolerance_of


def billed(setting, price, *, ordered=10, quantity=None, received=None, at="100.00"):
    """Bill one line; return what is open."""
    quantity = ordered if quantity is None else quantity
    found = matched(
        order(line(1, ordered, at)),
        [came(1, quantity if received is None else received)],
        [invoice(bill(1, quantity, price))],
        tolerance=POLICIES[setting],
    )
    return kinds(found)


def test_purdue():
    """A line under 15 % up to $100 passes; any difference of quantity needs approval; freight apart."""
    assert billed("purdue", "14.00", ordered=1, at="12.18") == []  # 1.82 of 12.18 is 14.9 %
    assert billed("purdue", "14.01", ordered=1, at="12.18") == ["price_over"]  # 1.83 is 15.02 %
    assert billed("purdue", "11.50", ordered=1, at="10.00") == ["price_over"]  # 15 % is not under 15 %
    assert billed("purdue", "110.00") == []  # 100.00 over 1,000.00
    assert billed("purdue", "110.01") == ["price_over"]  # 100.10, though 10 %
    assert billed("purdue", "100.00", quantity=11) == ["received_not_ordered"]
    assert billed("purdue", "100.00", quantity=11, received=10) == ["billed_not_received"]


def test_purdue_s_freight_is_apart():
    """Carriage that is no line of the order is not let pass, and adds nothing to a line's difference."""
    goods, carriage = bill(1, 10, "109.00"), bill(9, 1, "40.00", sku="", description="Freight")
    found = matched(
        order(line(1, 10, "100.00")), [came(1, 10)], [invoice(goods, carriage)], tolerance=POLICIES["purdue"]
    )
    assert kinds(found) == ["unknown"]


def test_svsu():
    """More than the greater of 10 % or $100 is held, and a quantity over the ordered one; less is not."""
    assert billed("svsu", "110.00") == []  # 10 % is 100.00
    assert billed("svsu", "110.01") == ["price_over"]
    assert billed("svsu", "30.00", ordered=1, at="10.00") == []  # 200 %, and only 20.00
    assert billed("svsu", "220.00", at="200.00") == []  # 10 % is 200.00
    assert billed("svsu", "220.01", at="200.00") == ["price_over"]
    assert billed("svsu", "100.00", quantity=11) == ["received_not_ordered"]
    assert billed("svsu", "50.00") == []  # under


def test_nmsu():
    """An invoice over its order by $50 or less is paid: all lines together."""

    def two(first, second):
        found = matched(
            order(line(1, 10, "100.00"), line(2, 1, "10.00")),
            [came(1, 10), came(2, 1)],
            [invoice(bill(1, 10, first), bill(2, 1, second))],
            tolerance=POLICIES["nmsu"],
        )
        return kinds(found)

    assert billed("nmsu", "105.00") == []
    assert billed("nmsu", "105.01") == ["price_over"]
    assert two("103.00", "30.00") == []  # 30.00 and 20.00
    assert two("103.00", "30.01") == ["price_over", "price_over"]


def test_freight_adds_nothing_to_the_difference_of_an_order():
    """30.00 more for the goods and 30.00 more for carriage: each under 50, though 60 in all."""
    carriage = line(2, 1, "40.00", sku="", item="freight", description="freight")

    def found(freight):
        bills = bill(1, 10, "103.00"), bill(2, 1, freight, sku="", description="freight")
        ordered = order(line(1, 10, "100.00"), carriage)
        return kinds(matched(ordered, [came(1, 10)], [invoice(*bills)], tolerance=POLICIES["nmsu"]))

    assert found("70.00") == []
    assert found("90.01") == ["price_over"]


def test_mit():
    """50 % over the line, at most $100 of the whole order."""
    assert billed("mit", "15.00", ordered=1, at="10.00") == []
    assert billed("mit", "15.01", ordered=1, at="10.00") == ["price_over"]
    assert billed("mit", "110.00") == []
    assert billed("mit", "110.01") == ["price_over"]


@pytest.mark.parametrize("setting", POLICIES)
def test_an_exact_bill_passes_everywhere(setting):
    assert billed(setting, "100.00") == []


def test_without_a_setting_a_cent_is_too_much_and_too_little():
    assert billed("exact", "100.001") == ["price_over"]  # 10 at 100.001 are 1,000.01
    assert billed("exact", "99.999") == ["price_under"]


def test_single_values_change_a_ready_setting():
    settings = Settings(tolerance="purdue", price_money=d("20"), overage_only="yes", quantity_percent=d("0.1"))
    tolerance = tolerance_of(settings)
    assert (tolerance.price_percent, tolerance.under_percent, tolerance.price_money) == (d("0.15"), True, d(20))
    assert tolerance.overage_only
    assert tolerance.quantity_passes(d(1), d(10))
    assert not tolerance.quantity_passes(d("1.01"), d(10))
    assert tolerance_of(Settings(tolerance="purdue", price_percent=d("0.15"))).price_passes(d(15), d(100), d(15))
