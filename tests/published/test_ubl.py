"""OASIS UBL sample documents: the three-way set that comes with UBL 2.0, and UBL-Order-2.1-Example of UBL 2.1 (2013).

The XML is written here from the standard's element names and the published figures; the files themselves are not kept.
"""

from __future__ import annotations

from decimal import Decimal

from baybook.buying.match import Ledger, match
from baybook.files.ubl import document_from, order_from, read_ubl, receipts_from
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT

NAMES = f'xmlns:cac="{AGGREGATE}" xmlns:cbc="{BASIC}"'

SELLER = "<cac:Party><cac:PartyName><cbc:Name>Seller</cbc:Name></cac:PartyName></cac:Party>"

ORDER = f"""<Order xmlns="{DOCUMENT.format("Order")}" {NAMES}>
  <cbc:ID>AEG012345</cbc:ID><cbc:IssueDate>2005-06-20</cbc:IssueDate>
  <cac:BuyerCustomerParty>{SELLER}</cac:BuyerCustomerParty>
  <cac:SellerSupplierParty>{SELLER}</cac:SellerSupplierParty>
  <cac:OrderLine><cac:LineItem>
    <cbc:ID>1</cbc:ID>
    <cbc:Quantity unitCode="KGM">100</cbc:Quantity>
    <cbc:LineExtensionAmount currencyID="GBP">100.00</cbc:LineExtensionAmount>
    <cac:Price><cbc:PriceAmount currencyID="GBP">100.00</cbc:PriceAmount>
      <cbc:BaseQuantity unitCode="KGM">1</cbc:BaseQuantity></cac:Price>
    <cac:Item><cac:SellersItemIdentification><cbc:ID>17589683</cbc:ID></cac:SellersItemIdentification></cac:Item>
  </cac:LineItem></cac:OrderLine>
</Order>"""

RECEIPT = f"""<ReceiptAdvice xmlns="{DOCUMENT.format("ReceiptAdvice")}" {NAMES}>
  <cbc:ID>R1</cbc:ID><cbc:IssueDate>2005-06-21</cbc:IssueDate>
  <cac:OrderReference><cbc:ID>AEG012345</cbc:ID></cac:OrderReference>
  <cac:ReceiptLine>
    <cbc:ID>1</cbc:ID>
    <cbc:ReceivedQuantity unitCode="KGM">90</cbc:ReceivedQuantity>
    <cbc:ShortQuantity unitCode="KGM">10</cbc:ShortQuantity>
    <cac:OrderLineReference><cbc:LineID>1</cbc:LineID></cac:OrderLineReference>
  </cac:ReceiptLine>
</ReceiptAdvice>"""

INVOICE = f"""<Invoice xmlns="{DOCUMENT.format("Invoice")}" {NAMES}>
  <cbc:ID>A00095678</cbc:ID><cbc:IssueDate>2005-06-21</cbc:IssueDate>
  <cac:OrderReference><cbc:ID>AEG012345</cbc:ID></cac:OrderReference>
  <cac:AccountingSupplierParty>{SELLER}</cac:AccountingSupplierParty>
  <cac:AllowanceCharge><cbc:ChargeIndicator>false</cbc:ChargeIndicator>
    <cbc:Amount currencyID="GBP">10.00</cbc:Amount></cac:AllowanceCharge>
  <cac:TaxTotal><cbc:TaxAmount currencyID="GBP">17.50</cbc:TaxAmount></cac:TaxTotal>
  <cac:LegalMonetaryTotal>
    <cbc:LineExtensionAmount currencyID="GBP">100.00</cbc:LineExtensionAmount>
    <cbc:TaxExclusiveAmount currencyID="GBP">90.00</cbc:TaxExclusiveAmount>
    <cbc:AllowanceTotalAmount currencyID="GBP">10.00</cbc:AllowanceTotalAmount>
    <cbc:PayableAmount currencyID="GBP">{{payable}}</cbc:PayableAmount>
  </cac:LegalMonetaryTotal>
  <cac:InvoiceLine>
    <cbc:ID>A</cbc:ID>
    <cbc:InvoicedQuantity unitCode="KG">100</cbc:InvoicedQuantity>
    <cbc:LineExtensionAmount currencyID="GBP">100.00</cbc:LineExtensionAmount>
    <cac:OrderLineReference><cbc:LineID>1</cbc:LineID></cac:OrderLineReference>
    <cac:Price><cbc:PriceAmount currencyID="GBP">1.00</cbc:PriceAmount></cac:Price>
  </cac:InvoiceLine>
</Invoice>"""


def matched(folder, payable="107.50"):
    """Match the three documents."""
    trees = {}
    for kind, text in (("Order", ORDER), ("ReceiptAdvice", RECEIPT), ("Invoice", INVOICE.format(payable=payable))):
        path = folder / f"{kind}.xml"
        path.write_text(text, encoding="utf-8")
        trees[kind] = read_ubl(path, kind)
    return match(
        Ledger(
            orders=(order_from(trees["Order"], "Order.xml", {}),),
            receipts=tuple(receipts_from(trees["ReceiptAdvice"], "ReceiptAdvice.xml")),
            documents=(document_from(trees["Invoice"], "Invoice.xml"),),
        )
    )


def of(found, kind):
    return [one for one in found.findings if one.kind == kind]


def test_ten_were_billed_and_not_received(tmp_path):
    (finding,) = of(matched(tmp_path), "billed_not_received")
    assert (finding.quantity, finding.money) == (Decimal(10), Decimal("10.00"))
    assert (finding.invoice, finding.order) == ("A00095678", "AEG012345")


def test_the_trap_in_the_order_s_total(tmp_path):
    """100 at 100.00 for 1 is 10,000.00; the order says 100.00."""
    (finding,) = of(matched(tmp_path), "wrong_sum")
    assert finding.order == "AEG012345"
    assert finding.said == "the order's line says 100.00; 100 at 100.00 is 10000.00"


def test_the_price_of_the_trap_is_not_the_invoice_s(tmp_path):
    """Billed at 1.00, the order says 100.00: of the 90 that came 8,910.00 less."""
    (finding,) = of(matched(tmp_path), "price_under")
    assert finding.money == Decimal("-8910.00")


def test_nothing_else_is_found(tmp_path):
    """The invoice's own sums come out: 100.00 less 10.00 is 90.00, with 17.50 of tax 107.50."""
    assert sorted(one.kind for one in matched(tmp_path).findings) == ["billed_not_received", "price_under", "wrong_sum"]


def test_another_total_is_found(tmp_path):
    found = of(matched(tmp_path, "117.50"), "wrong_sum")
    assert [one.money for one in found if one.invoice] == [Decimal("10.00")]


def test_ubl_order_2_1_example(tmp_path):
    """120 at 50 and 15 at 15 are 6,225; the document of the standard states that as its total of lines."""
    lines = "".join(
        f"<cac:OrderLine><cac:LineItem><cbc:ID>{number}</cbc:ID><cbc:Quantity unitCode='LTR'>{quantity}</cbc:Quantity>"
        f"<cbc:LineExtensionAmount currencyID='SEK'>{quantity * price}</cbc:LineExtensionAmount>"
        f"<cac:Price><cbc:PriceAmount currencyID='SEK'>{price}</cbc:PriceAmount></cac:Price>"
        "<cac:Item><cbc:Name>x</cbc:Name></cac:Item></cac:LineItem></cac:OrderLine>"
        for number, quantity, price in ((1, 120, 50), (2, 15, 15))
    )
    path = tmp_path / "order.xml"
    path.write_text(
        f'<Order xmlns="{DOCUMENT.format("Order")}" {NAMES}><cbc:ID>34</cbc:ID>'
        f"<cbc:IssueDate>2010-01-20</cbc:IssueDate>{lines}</Order>",
        encoding="utf-8",
    )
    order = order_from(read_ubl(path, "Order"), path.name, {})
    assert [one.due for one in order.lines] == [Decimal(6000), Decimal(225)]
    assert order.total == Decimal(6225)
    assert order.currency == "SEK"
