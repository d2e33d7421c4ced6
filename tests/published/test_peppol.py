"""Peppol BIS Billing 3.0, the base example: 1,325 net, tax at 25 % 331.25, total 1,656.25.

The XML is written from UBL's element names and those figures.
"""

from __future__ import annotations

from decimal import Decimal

import pytest

from baybook.buying.documents import sum_faults, tax_faults
from baybook.files.ubl import document_from
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT, read_tree


def sample(tax="331.25", total="1656.25"):
    """Write the document: lines of 2,800 and -1,500, a charge of 25 on the whole."""
    lines = "".join(
        f"<cac:InvoiceLine><cbc:ID>{number}</cbc:ID>"
        f"<cbc:InvoicedQuantity unitCode='DAY'>{quantity}</cbc:InvoicedQuantity>"
        f"<cbc:LineExtensionAmount currencyID='EUR'>{amount}</cbc:LineExtensionAmount><cac:Item>"
        "<cac:ClassifiedTaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>25.0</cbc:Percent></cac:ClassifiedTaxCategory></cac:Item>"
        f"<cac:Price><cbc:PriceAmount currencyID='EUR'>{price}</cbc:PriceAmount></cac:Price></cac:InvoiceLine>"
        for number, quantity, amount, price in ((1, 7, 2800, 400), (2, -3, -1500, 500))
    )
    return f"""<Invoice xmlns="{DOCUMENT.format("Invoice")}" xmlns:cac="{AGGREGATE}" xmlns:cbc="{BASIC}">
      <cbc:ID>Snippet1</cbc:ID><cbc:IssueDate>2017-11-13</cbc:IssueDate>
      <cbc:DocumentCurrencyCode>EUR</cbc:DocumentCurrencyCode>
      <cac:OrderReference><cbc:ID>123</cbc:ID></cac:OrderReference>
      <cac:AccountingSupplierParty><cac:Party><cac:PartyName><cbc:Name>Seller</cbc:Name></cac:PartyName></cac:Party></cac:AccountingSupplierParty>
      <cac:AllowanceCharge><cbc:ChargeIndicator>true</cbc:ChargeIndicator>
        <cbc:AllowanceChargeReason>Insurance</cbc:AllowanceChargeReason><cbc:Amount currencyID="EUR">25</cbc:Amount>
        <cac:TaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>25.0</cbc:Percent></cac:TaxCategory></cac:AllowanceCharge>
      <cac:TaxTotal><cbc:TaxAmount currencyID="EUR">{tax}</cbc:TaxAmount><cac:TaxSubtotal>
        <cbc:TaxableAmount currencyID="EUR">1325</cbc:TaxableAmount>
        <cbc:TaxAmount currencyID="EUR">{tax}</cbc:TaxAmount>
        <cac:TaxCategory><cbc:ID>S</cbc:ID><cbc:Percent>25.0</cbc:Percent></cac:TaxCategory></cac:TaxSubtotal></cac:TaxTotal>
      <cac:LegalMonetaryTotal><cbc:LineExtensionAmount currencyID="EUR">1300</cbc:LineExtensionAmount>
        <cbc:TaxExclusiveAmount currencyID="EUR">1325</cbc:TaxExclusiveAmount>
        <cbc:TaxInclusiveAmount currencyID="EUR">{total}</cbc:TaxInclusiveAmount>
        <cbc:ChargeTotalAmount currencyID="EUR">25</cbc:ChargeTotalAmount>
        <cbc:PayableAmount currencyID="EUR">{total}</cbc:PayableAmount></cac:LegalMonetaryTotal>
      {lines}</Invoice>"""


def read(text):
    return document_from(read_tree(text.encode(), "sample.xml"), "sample.xml")


def test_the_totals_come_out():
    document = read(sample())
    assert list(sum_faults(document)) == []
    assert list(tax_faults(document, None)) == []
    assert list(tax_faults(document, Decimal("0.25"))) == []
    assert document.totals.payable == Decimal("1656.25")
    assert document.amount == Decimal(1325)


@pytest.mark.parametrize(
    ("tax", "total", "kinds"),
    [
        ("331.26", "1656.26", ["wrong_tax"]),
        ("331.25", "1656.24", ["wrong_sum"]),
        ("313.25", "1656.25", ["wrong_sum", "wrong_tax"]),
    ],
)
def test_a_wrong_figure_is_found_where_it_stands(tax, total, kinds):
    document = read(sample(tax, total))
    assert sorted(one.kind for one in (*sum_faults(document), *tax_faults(document, None))) == kinds


def test_another_rate_than_due_is_wrong_tax():
    (fault,) = tax_faults(read(sample()), Decimal("0.20"))
    assert (fault.kind, fault.says, fault.right) == ("wrong_tax", Decimal("331.25"), Decimal("265.00"))
