"""Markup and margin, and sales tax by item or by invoice.

Markup and margin: figures as trade calculators print them (8,000 with 25 % markup and with 30 % margin; the table of
equal markups and margins), read in a copy.
Streamlined Sales and Use Tax Agreement, section 324, rounding rule: carry the tax to the third decimal place, round up
to the next cent when the third place is greater than four; by item or by invoice, the seller's choice.
"""

from __future__ import annotations

from decimal import ROUND_DOWN, Decimal

import pytest
from books import PRICE_ROWS, deck, inputs_of, offer, taken

from baybook.estimate import build_estimate
from baybook.numbers import cents
from baybook.pricing.price import profit_on

EIGHT_THOUSAND = Decimal(8000)


def test_8000_at_25_percent_markup_and_at_30_percent_margin():
    assert EIGHT_THOUSAND + profit_on(EIGHT_THOUSAND, Decimal("0.25"), "markup") == 10_000
    price = EIGHT_THOUSAND + profit_on(EIGHT_THOUSAND, Decimal("0.30"), "margin")
    assert price == Decimal("11428.57")
    assert round(price) == 11_429  # as printed


def test_25_percent_markup_is_20_percent_margin():
    assert profit_on(EIGHT_THOUSAND, Decimal("0.20"), "margin") == profit_on(EIGHT_THOUSAND, Decimal("0.25"), "markup")


@pytest.mark.parametrize(
    ("margin", "markup"),
    [
        (5, "5.26"),
        (10, "11.11"),
        (15, "17.65"),
        (20, "25"),
        (25, "33.33"),
        (30, "42.86"),
        (40, "66.67"),
        (50, "100"),
    ],
)
def test_the_table_of_equal_margins_and_markups(margin, markup):
    # a base of 10,000: the markup in percent with two places is the profit over 100
    profit = profit_on(Decimal(10_000), Decimal(margin) / 100, "margin")
    assert cents(profit / 100) == Decimal(markup)


@pytest.mark.parametrize(("margin", "price"), [("20", "10000.00"), ("30", "11428.57")])
def test_through_a_whole_estimate(margin, price):
    # one extra of 8,000 and nothing else that costs
    prices = [{**row, "pack_price": 0} for row in PRICE_ROWS]
    job = {"labour_rate": 0, "profit": margin, "profit_basis": "margin"}
    extra = {"description": "all of it", "quantity": 1, "unit_cost": 8000, "kind": "other"}
    assert taken(job=job, prices=prices, extras=[extra])["totals"]["price"] == price


# ---------------------------------------------------------------------------------------------- sales tax


def agreement_cents(tax: Decimal) -> Decimal:
    """Section 324: the tax carried to the third place, up to the next cent when that place is greater than four."""
    carried = tax.quantize(Decimal("0.001"), ROUND_DOWN)
    down = carried.quantize(Decimal("0.01"), ROUND_DOWN)
    return down + (Decimal("0.01") if carried - down > Decimal("0.004") else 0)


def five_lines_of_110(basis):
    """Return the tax on five material lines of 1.10 at 5 %, all else free."""
    prices = [{**row, "pack_price": 0} for row in PRICE_ROWS]
    extras = [{"description": f"line {n}", "quantity": 1, "unit_cost": "1.10", "kind": "material"} for n in range(5)]
    job = {"tax_on": "materials", "tax_rate": "5", "labour_rate": 0}
    found = build_estimate(inputs_of(deck(job=job, prices=prices, extras=extras, rates={"tax_basis": basis})))
    assert found.totals.materials == Decimal("5.50")
    return found.totals.tax


def test_five_lines_of_110_at_5_percent():
    # 0.055 a line goes to 0.06; 0.275 on the invoice to 0.28 (computed by the rule)
    assert five_lines_of_110("item") == Decimal("0.30") == 5 * agreement_cents(Decimal("0.055"))
    assert five_lines_of_110("invoice") == Decimal("0.28") == agreement_cents(Decimal("0.275"))


@pytest.mark.parametrize("rate", ["0.05", "0.0825", "0.06875", "0.07", "0.0935"])
def test_our_rounding_is_the_agreements_for_every_amount_and_rate(rate):
    # Half away from zero and "third place greater than four" are the same for a tax that is not negative, as long as it
    # has no more than eight places: amounts in cents at rates of up to six places do not.
    for amount in range(0, 50_000, 7):
        tax = Decimal(amount) / 100 * Decimal(rate)
        assert cents(tax) == agreement_cents(tax)


def test_where_the_two_part():
    # From the ninth place on ours rounds first to eight places, as a spreadsheet must: 0.054999999 is then 0.055.
    tax = Decimal("0.0549999999")
    assert (cents(tax), agreement_cents(tax)) == (Decimal("0.06"), Decimal("0.05"))
    # A credit of ours rounds like a charge, the sign restored (EN 16931); the agreement speaks of tax collected.
    assert cents(Decimal("-0.055")) == Decimal("-0.06")


def test_a_pack_price_of_a_tenth_of_a_cent_is_rounded_at_its_line():
    prices = [row for row in PRICE_ROWS if row["item"] != "strap"] + [offer("strap", "1.905")]
    assert taken(prices=prices)["items"]["strap"]["cost"] == "5.72"  # 3 * 1.905 = 5.715
