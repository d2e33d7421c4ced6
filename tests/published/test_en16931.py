"""EN 16931-1:2017, Electronic invoicing: the sums of its examples, as the project's reference list quotes them.

The XML is written from UBL's element names and those figures.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from baybook.buying.documents import BilledLine, line_due, sum_faults, tax_on
from baybook.files.ubl import document_from
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT, read_tree

NAMES = f'xmlns:cac="{AGGREGATE}" xmlns:cbc="{BASIC}"'


def read(text):
    return document_from(read_tree(text.encode(), "sample.xml"), "sample.xml")


@pytest.mark.parametrize(
    ("quantity", "price", "base", "amount"),
    [("250", "0.75", "1", "187.50"), ("132", "15.24", "12", "167.64")],
)
def test_line_net_amounts(quantity, price, base, amount):
    """250 m at 0.75; 132 at 15.24 for 12."""
    line = BilledLine(
        quantity=Decimal(quantity), unit_price=Decimal(price), base_quantity=Decimal(base), amount=Decimal(amount)
    )
    assert line_due(line) == Decimal(amount)


TOTALS = """<Invoice xmlns="{space}" {names}>
  <cbc:ID>1</cbc:ID><cbc:IssueDate>2013-06-30</cbc:IssueDate>
  <cac:AccountingSupplierParty><cac:Party><cac:PartyName><cbc:Name>S</cbc:Name></cac:PartyName></cac:Party></cac:AccountingSupplierParty>
  <cac:TaxTotal><cbc:TaxAmount currencyID="EUR">365.28</cbc:TaxAmount></cac:TaxTotal>
  <cac:LegalMonetaryTotal>
    <cbc:LineExtensionAmount currencyID="EUR">1436.50</cbc:LineExtensionAmount>
    <cbc:TaxExclusiveAmount currencyID="EUR">1436.50</cbc:TaxExclusiveAmount>
    <cbc:TaxInclusiveAmount currencyID="EUR">1801.78</cbc:TaxInclusiveAmount>
    <cbc:PrepaidAmount currencyID="EUR">1000.00</cbc:PrepaidAmount>
    <cbc:PayableAmount currencyID="EUR">{payable}</cbc:PayableAmount>
  </cac:LegalMonetaryTotal>
  <cac:InvoiceLine><cbc:ID>1</cbc:ID><cbc:InvoicedQuantity unitCode="EA">1</cbc:InvoicedQuantity>
    <cbc:LineExtensionAmount currencyID="EUR">1249.00</cbc:LineExtensionAmount>
    <cac:Price><cbc:PriceAmount currencyID="EUR">1249.00</cbc:PriceAmount></cac:Price></cac:InvoiceLine>
  <cac:InvoiceLine><cbc:ID>2</cbc:ID><cbc:InvoicedQuantity unitCode="MTR">250</cbc:InvoicedQuantity>
    <cbc:LineExtensionAmount currencyID="EUR">187.50</cbc:LineExtensionAmount>
    <cac:Price><cbc:PriceAmount currencyID="EUR">0.75</cbc:PriceAmount></cac:Price></cac:InvoiceLine>
</Invoice>"""


def test_amount_due():
    """1,436.50 without tax, 365.28 tax, 1,000 paid before: 801.78. (The line of 1,249.00 only fills up the sum.)"""
    document = read(TOTALS.format(space=DOCUMENT.format("Invoice"), names=NAMES, payable="801.78"))
    assert list(sum_faults(document)) == []


def test_another_amount_due_is_found():
    document = read(TOTALS.format(space=DOCUMENT.format("Invoice"), names=NAMES, payable="810.78"))
    (fault,) = sum_faults(document)
    assert (fault.what, fault.says, fault.right) == ("amount due", Decimal("810.78"), Decimal("801.78"))


def test_amounts_of_a_credit_are_rounded_on_their_absolute_value():
    """0.5 of a cent goes away from zero on both sides: 0.125 is 0.13, and -0.125 is -0.13."""
    assert tax_on(Decimal("2.50"), Decimal("0.05")) == Decimal("0.13")
    assert tax_on(Decimal("-2.50"), Decimal("0.05")) == Decimal("-0.13")
    credit = BilledLine(quantity=Decimal("-0.5"), unit_price=Decimal("0.25"), amount=Decimal("-0.13"))
    assert line_due(credit) == Decimal("-0.13")
