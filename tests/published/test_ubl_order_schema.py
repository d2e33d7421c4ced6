"""OASIS Universal Business Language 2.1, schema Order: every issued order holds to its sequence and cardinalities.

The sequence of Order was read in the schema file of the standard's first public review draft (August 2010), that of
LineItem in code generated from the schema; ProjectReference (added in 2.1 as published, November 2013) and the other
types are from memory. Unit codes: UNECE Recommendation 20 with the packages of Recommendation 21 (X...), from the
project's reference list; XPK and H87 from memory.
"""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import replace
from decimal import Decimal

import pytest
from books import all_inputs_of, random_tables

from baybook.buying.drafts import drafts_of
from baybook.buying.needs import needs_of
from baybook.buying.orders import Order, OrderLine, difference
from baybook.buying.packs import UNIT_CODES
from baybook.buying.records import Settings, Supplier
from baybook.files.ubl import order_from
from baybook.files.ubl_order import order_xml
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT, read_tree
from baybook.numbers import cents
from baybook.problems import BookError

# name, with 1 where it is mandatory, + for one or more, * for any number; all others at most once
ORDER = """UBLExtensions UBLVersionID CustomizationID ProfileID ProfileExecutionID ID:1 SalesOrderID CopyIndicator UUID
IssueDate:1 IssueTime OrderTypeCode Note:* RequestedInvoiceCurrencyCode DocumentCurrencyCode PricingCurrencyCode
TaxCurrencyCode CustomerReference AccountingCostCode AccountingCost LineCountNumeric ValidityPeriod:*
QuotationDocumentReference OrderDocumentReference:* OriginatorDocumentReference CatalogueReference
AdditionalDocumentReference:* Contract:* ProjectReference:* Signature:* BuyerCustomerParty:1 SellerSupplierParty:1
OriginatorCustomerParty FreightForwarderParty AccountingCustomerParty Delivery:* DeliveryTerms PaymentMeans:*
PaymentTerms:* TransactionConditions AllowanceCharge:* TaxExchangeRate PricingExchangeRate PaymentExchangeRate
DestinationCountry TaxTotal:* AnticipatedMonetaryTotal OrderLine:+"""
LINE_ITEM = """ID:1 SalesOrderID UUID Note:* LineStatusCode Quantity LineExtensionAmount TotalTaxAmount MinimumQuantity
MaximumQuantity MinimumBackorderQuantity MaximumBackorderQuantity InspectionMethodCode PartialDeliveryIndicator
BackOrderAllowedIndicator AccountingCostCode AccountingCost WarrantyInformation:* Delivery:* DeliveryTerms
OriginatorParty OrderedShipment:* PricingReference AllowanceCharge:* Price Item:1 SubLineItem:* WarrantyValidityPeriod
WarrantyParty TaxTotal:* ItemPriceExtension LineReference:*"""
ITEM = """Description:* PackQuantity PackSizeNumeric CatalogueIndicator Name HazardousRiskIndicator
AdditionalInformation:* Keyword:* BrandName:* ModelName:* BuyersItemIdentification SellersItemIdentification
ManufacturersItemIdentification:* StandardItemIdentification"""
PARTY = """MarkCareIndicator MarkAttentionIndicator WebsiteURI LogoReferenceID EndpointID IndustryClassificationCode
PartyIdentification:* PartyName:* Language PostalAddress PhysicalLocation PartyTaxScheme:* PartyLegalEntity:* Contact"""
ADDRESS = """ID AddressTypeCode AddressFormatCode Postbox Floor Room StreetName AdditionalStreetName BlockName
BuildingName BuildingNumber InhouseMail Department MarkAttention MarkCare PlotIdentification CitySubdivisionName
CityName PostalZone CountrySubentity CountrySubentityCode Region District TimezoneOffset AddressLine:* Country"""
SEQUENCES = {
    "Order": ORDER,
    "OrderLine": "SubstitutionStatusCode Note:* LineItem:1",
    "LineItem": LINE_ITEM,
    "Item": ITEM,
    "Price": "PriceAmount:1 BaseQuantity PriceChangeReason:* PriceTypeCode PriceType OrderableUnitFactorRate",
    "BuyersItemIdentification": "ID:1 ExtendedID",
    "SellersItemIdentification": "ID:1 ExtendedID",
    "BuyerCustomerParty": "CustomerAssignedAccountID SupplierAssignedAccountID AdditionalAccountID:* Party",
    "SellerSupplierParty": "CustomerAssignedAccountID AdditionalAccountID:* DataSendingCapability Party",
    "Party": PARTY,
    "PartyName": "Name:1",
    "PostalAddress": ADDRESS,
    "DeliveryAddress": ADDRESS,
    "AddressLine": "Line:1",
    "Delivery": """ID Quantity MinimumQuantity MaximumQuantity ActualDeliveryDate ActualDeliveryTime LatestDeliveryDate
        LatestDeliveryTime ReleaseID TrackingID DeliveryAddress DeliveryLocation AlternativeDeliveryLocation
        RequestedDeliveryPeriod PromisedDeliveryPeriod EstimatedDeliveryPeriod""",
    "RequestedDeliveryPeriod": "StartDate StartTime EndDate EndTime DurationMeasure DescriptionCode:* Description:*",
    "OrderDocumentReference": """ID:1 CopyIndicator UUID IssueDate IssueTime DocumentTypeCode DocumentType XPath:*
        LanguageID LocaleCode VersionID DocumentStatusCode DocumentDescription:*""",
    "AnticipatedMonetaryTotal": """LineExtensionAmount TaxExclusiveAmount TaxInclusiveAmount AllowanceTotalAmount
        ChargeTotalAmount PrepaidAmount PayableRoundingAmount PayableAmount:1""",
}  # fmt: skip
CODES = {"EA", "H87", "C62", "FOT", "LF", "MTR", "INH", "XTU", "XPK", "XRO", "XBX"}
UNITS = {code: unit for unit, code in UNIT_CODES.items()}


def out_of_sequence(node):
    """Yield what is wrong with the children of an element."""
    sequence = {name: many for name, _, many in (word.partition(":") for word in SEQUENCES[node.name].split())}
    places = list(sequence)
    names = [child.name for child in node.children]
    unknown = [name for name in names if name not in sequence]
    if unknown:
        yield f"{node.name} has {unknown}"
        return
    order = [places.index(name) for name in names]
    if order != sorted(order):
        yield f"{node.name}: {names} out of sequence"
    for name, many in sequence.items():
        count = names.count(name)
        if many in {"1", "+"} and not count:
            yield f"{node.name} lacks {name}"
        if many in {"", "1"} and count > 1:
            yield f"{node.name} has {count} of {name}"


def faults(node, root=True):
    """Yield what breaks the standard in a tree."""
    space = DOCUMENT.format("Order") if root else AGGREGATE if node.children else BASIC
    if node.space != space:
        yield f"{node.name} stands in {node.space}"
    if not node.children:
        if not node.text.strip():
            yield f"{node.name} is empty"
        if "unitCode" in node.attributes and node.attributes["unitCode"] not in CODES:
            yield f"{node.name} has the unit {node.attributes['unitCode']}"
        if node.name.endswith("Amount") and not node.attributes.get("currencyID", "").isupper():
            yield f"{node.name} has no currency"
        return
    yield from out_of_sequence(node)
    for child in node.children:
        yield from faults(child, root=False)


def check(order):
    """Hold an order to the standard, and read it back."""
    tree = read_tree(order_xml(order), "order.xml")
    assert list(faults(tree)) == []
    assert order_from(tree, "order.xml", UNITS) == order


WORDS = ("Mill Lane 4 & 6", "<b>", 'Ünter "den" Linden', "=HYPERLINK(1)", "14' 3-1/2\"", "日本", "]]>", "a", "&amp;")


def odd_order(seed):
    """Return an order of any content that an issued one may have."""
    dice = random.Random(seed)

    def word():
        return dice.choice(WORDS)

    lines = []
    for number in range(1, dice.randint(2, 9)):
        packs, price = Decimal(dice.randint(1, 400)), Decimal(dice.randint(1, 999_999)) / 10_000
        jobs = ((word(), packs),) if dice.random() < 0.5 else (("J 1", packs - 1), ("J 2", Decimal(1)))
        lines.append(
            OrderLine(
                line=number, sku=dice.choice(["", f"{word()}-{number}"]), item=dice.choice(["liner", "freight"]),
                description=dice.choice(["", word()]), packs=packs, pack_price=price, amount=cents(packs * price),
                pack_qty=Decimal(dice.choice(["1", "50", "98.425197"])), jobs=jobs,
                unit=dice.choice(["each", "piece", "ft", "cartridge"]),
            )
        )  # fmt: skip
    return Order(
        number=f"{dice.randint(1, 12_000):04d}", revision=dice.choice([0, 0, 1, 7]), issued_on=dt.date(2026, 7, 1),
        supplier=word(), currency=dice.choice(["USD", "CAD", "EUR"]), lines=tuple(lines), buyer=word(),
        buyer_address=dice.choice([(), (word(), word())]), supplier_address=dice.choice([(), (word(),)]),
        account=dice.choice(["", "C-7"]), ship_to=dice.choice(["", word(), f"{word()}\n{word()}"]),
        wanted_on=dice.choice([None, dt.date(2026, 8, 1)]), notes=dice.choice([(), (word(), word())]),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(60))
def test_any_order_parses_holds_to_the_sequence_and_reads_back(seed):
    check(odd_order(seed))


def orders_of(seed):
    """Return the orders of a random book, all jobs, as they would be issued."""
    inputs = all_inputs_of(random_tables(seed))
    on = inputs[0].on
    codes = [one.job.job for one in inputs]
    try:
        needs = needs_of(inputs, codes, [], on)
    except BookError:
        return []
    names = sorted({(one.offer.supplier, one.offer.currency) for one in needs.purchases})
    terms = {
        (name.casefold(), money): Supplier(
            supplier=name, currency=money, freight=Decimal("45.00"), address="1 Rd; Town"
        )
        for name, money in names
    }
    settings = Settings(buyer="We", ship_to="Yard; Back gate", start=dt.date(2026, 9, 1))
    jobs = [one.job for one in inputs]
    drafts = drafts_of(needs.purchases, jobs, terms, lambda _: settings, on, together=bool(seed % 2))
    return [replace(one.order, number=f"{number:04d}") for number, one in enumerate(drafts, 1)]


def test_orders_of_random_books_parse_hold_to_the_sequence_and_read_back():
    found = [order for seed in range(25) for order in orders_of(seed)]
    assert len(found) >= 25
    assert {line.item for order in found for line in order.lines} >= {"liner", "gutter", "seam_tape", "freight"}
    for order in found:
        check(order)


def test_the_check_sees_a_fault():
    """The table is no formality: an element out of place, missing, doubled or empty is told."""
    xml = order_xml(odd_order(3)).decode()

    def told(text):
        return list(faults(read_tree(text.encode(), "x")))

    ident = xml[xml.index("  <cbc:ID>") : xml.index("  <cbc:IssueDate>")]
    assert told(xml) == []
    assert "Order lacks ID" in told(xml.replace(ident, "", 1))
    assert any(
        "out of sequence" in one for one in told(xml.replace(ident, "", 1).replace("</Order>", ident + "</Order>"))
    )
    assert any("has 2 of ID" in one for one in told(xml.replace(ident, ident + ident, 1)))
    assert "DocumentCurrencyCode is empty" in told(
        xml.replace(f">{odd_order(3).currency}</cbc:DocumentCurrencyCode>", "></cbc:DocumentCurrencyCode>")
    )


def test_a_revision_keeps_its_number_and_names_the_one_before():
    order = replace(odd_order(3), revision=2)
    tree = read_tree(order_xml(order), "order.xml")
    assert (tree.get("ID"), tree.get("OrderDocumentReference/ID")) == (order.number, order.number)
    assert tree.get("OrderDocumentReference/VersionID") == "1"
    assert difference(order.lines, order_from(tree, "x", UNITS).lines) == ()
