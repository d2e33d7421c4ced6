"""Freight of a supplier's order as a line of the estimate: due, free, in another currency, and live in the workbook."""

import datetime as dt
from decimal import Decimal

import pytest
from books import csv_text, deck, estimate, inputs_of

from baybook.estimate import build_estimate
from baybook.workbook.build import make_workbook

WHEN = dt.datetime(2026, 6, 20, 9, 30)  # noqa: DTZ001 - a wall clock as the log shows it


def with_terms(**terms):
    row = {"supplier": "Alder Yard", "currency": "USD", "freight": "45.00", **terms}
    return inputs_of(deck(suppliers=csv_text([row])))


GOODS = estimate().totals.materials  # the base deck buys everything from one supplier


@pytest.mark.parametrize(
    ("terms", "freight"),
    [
        ({}, "45.00"),
        ({"free_freight_from": str(GOODS)}, "0.00"),  # exactly the limit: free
        ({"free_freight_from": str(GOODS + Decimal("0.01"))}, "45.00"),  # a cent short of it: due
        ({"currency": "CAD"}, "0.00"),
        ({"supplier": "Nobody We Buy From"}, "0.00"),
    ],
)
def test_freight_is_an_other_cost_of_the_job(terms, freight):
    made = build_estimate(with_terms(**terms))
    assert sum((one.cost for one in made.freight), Decimal(0)) == Decimal(freight)
    assert made.totals.other == Decimal(freight)
    assert made.totals.materials == GOODS


@pytest.mark.parametrize("free", ["", str(GOODS), "9999"])
def test_the_workbook_works_it_out_by_itself(free):
    made = make_workbook(build_estimate(with_terms(free_freight_from=free)), WHEN)  # refuses if its formulas differ
    sheet, row, col = made.layout.address("fr_cost")
    assert made.values[sheet, row, col] == pytest.approx(0 if free == str(GOODS) else 45)
