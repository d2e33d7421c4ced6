"""The buying files of a book: read with every problem and its line, by a supplier's own names, and from UBL."""

from __future__ import annotations

import datetime as dt
import re
from decimal import Decimal
from pathlib import Path

import pytest
from books import book_folder
from hostile import BOMB

from baybook.buying.records import BUYING_FILES, Accepted, OrderRow, Settings
from baybook.buying.report import proposed_rates_text
from baybook.files.orders import append_accepted, read_buying
from baybook.files.ubl_tree import AGGREGATE, BASIC, DOCUMENT
from baybook.job.fields import Reading, fields_of, parse, show
from baybook.job.reading import BOOK_FILES
from baybook.problems import BookError

README = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
HEAD = "supplier,invoice,invoice_date,order,line,sku,description,quantity,unit,unit_price,amount,tax\n"


@pytest.fixture
def book(tmp_path) -> Path:
    return book_folder(tmp_path / "book")


def put(book: Path, name: str, text: str, encoding: str = "utf-8") -> None:
    path = book / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding=encoding, newline="")


def problems(book: Path) -> list[str]:
    with pytest.raises(BookError) as refused:
        read_buying(book)
    return [str(one) for one in refused.value.problems]


def test_a_book_needs_none_of_them(book):
    found = read_buying(book)
    assert (found.orders, found.receipts, found.documents, found.suppliers) == ((), (), (), ())
    assert found.settings("D8").buffer_days == 2


def test_every_problem_of_every_file_with_its_line(book):
    put(book, "invoices.csv", HEAD + 'A,1,2026-07-01,1,,S,,x,,1.00,1.00,\nA,2,1.7.2026,1,,S,,1,,"1,234",1.00,\n')
    put(book, "receipts.csv", "order,sku,quantity,recieved_on\n1,S,2,2026-07-01\n")
    put(book, "returns.csv", "order,sku,quantity,returned_on,kind\n1,S,0,2026-07-01,lost\n")
    put(book, "hours.csv", "job,task,date,person_hours\nD8,roofing,2026-07-01,2\n")
    tasks = "job, area, outlet, narrow_outlet, piece, tape_ft, gutter_ft, leader"
    assert problems(book) == [
        "receipts.csv:1: recieved_on: unknown column; did you mean received_on? (columns of your own begin with x_)",
        "receipts.csv:1: received_on: column is missing: date is needed",
        "returns.csv:2: quantity: '0' must be above 0",
        "returns.csv:2: kind: 'lost' is not one of returned, left_over",
        "invoices.csv:2: quantity: 'x' is not a number: write digits, such as 12.5",
        "invoices.csv:3: invoice_date: '1.7.2026' is ambiguous: write 2026-01-07 or 2026-07-01",
        "invoices.csv:3: unit_price: '1,234' is ambiguous: write 1234 or 1.234",
        f"hours.csv:2: task: 'roofing' is not one of {tasks}",
    ]


def test_quantities_and_money_are_exact(book):
    put(book, "invoices.csv", HEAD + "A,1,2026-07-01,1,,S,,0.1,,0.30,0.03,0.0025\n")
    (line,) = read_buying(book).documents[0].lines
    assert (line.quantity, line.unit_price, line.tax) == (Decimal("0.1"), Decimal("0.30"), Decimal("0.0025"))


def test_rows_of_one_invoice_are_one_document_whatever_the_supplier_calls_itself(book):
    put(book, "suppliers.csv", "supplier,also_named,currency\nAlder Yard,Alder Yard Ltd.;AY,USD\n")
    rows = ("Alder Yard,1,2026-07-01,1,,S", "AY,1,2026-07-01,1,,T", "alder yard ltd.,1,2026-07-02,1,,T")
    put(book, "invoices.csv", HEAD + "".join(f"{row},,1,,1,1,\n" for row in rows))
    found = read_buying(book).documents
    assert [(one.supplier, one.date.day, len(one.lines)) for one in found] == [
        ("Alder Yard", 1, 2),
        ("Alder Yard", 2, 1),
    ]


MAPPING = """supplier,files,column,theirs,dates
Skerrow,sk-,invoice,Doc no.,
Skerrow,sk-,invoice_date,Date,mdy
Skerrow,sk-,order,Your ref,
Skerrow,sk-,sku,Item,
Skerrow,sk-,quantity,Qty,
Skerrow,sk-,unit_price,Price,
Skerrow,sk-,amount,Net,
"""
THEIRS = "Doc no.;Date;Your ref;Item;Qty;Price;Net;Rep\nZ-1;07/14/2026;0001;007;3;31,50;94,50;Kim\n"


def test_a_supplier_s_own_columns(book):
    put(book, "mapping.csv", MAPPING)
    put(book, "invoices/SK-0714.csv", THEIRS, "cp1252")
    (document,) = read_buying(book).documents
    assert (document.supplier, document.number, document.date) == ("Skerrow", "Z-1", dt.date(2026, 7, 14))
    (line,) = document.lines
    assert (line.sku, line.quantity, line.amount, line.place.line) == ("007", 3, Decimal("94.50"), 2)


def test_a_mapping_that_does_not_fit_is_told(book):
    put(book, "mapping.csv", MAPPING.replace("Doc no.", "Doc nr").replace(",sku,Item", ",skew,Item"))
    put(book, "invoices/sk-0714.csv", THEIRS)
    assert problems(book) == [
        "mapping.csv:2: theirs: 'Doc nr' is no column of sk-0714.csv; did you mean doc no.?",
        "mapping.csv:5: column: 'skew' is no column of invoices.csv; did you mean sku?",
        "sk-0714.csv:1: invoice: column is missing: number of the invoice is needed",
    ]


def test_the_longest_beginning_of_a_name_decides(book):
    other = MAPPING.splitlines()[1:]
    more = "\n".join(row.replace("Skerrow,sk-", "Skerrow North,sk-n").replace("Qty", "Menge") for row in other)
    put(book, "mapping.csv", MAPPING + more + "\n")
    put(book, "invoices/sk-n1.csv", THEIRS.replace("Qty", "Menge"))
    assert read_buying(book).documents[0].supplier == "Skerrow North"


def test_a_file_of_our_own_columns_needs_no_mapping(book):
    put(book, "invoices/july.csv", HEAD + "A,1,2026-07-01,1,,S,,1,,1,1,\n")
    assert read_buying(book).documents[0].number == "1"


def test_settings_and_what_is_wrong_with_them(book):
    put(book, "buying.csv", "job,key,value\n,tolerance,purdue\n,price_percent,5%\nD8,start,2026-08-03\n")
    settings = read_buying(book).settings
    assert (settings("").tolerance, settings("").price_percent) == ("purdue", Decimal("0.05"))
    assert (settings("d8").start, settings("").start) == (dt.date(2026, 8, 3), None)
    put(book, "buying.csv", "job,key,value\n,tolerence,mit\nD8,tax_rate,5%\n,buyer,A\n,buyer,B\n,price_money,much\n")
    assert problems(book) == [
        "buying.csv:2: tolerence: unknown setting; did you mean tolerance?",
        "buying.csv:3: tax_rate: is the same for all jobs: leave the job empty",
        "buying.csv:5: buyer: is set twice: keep one of the rows",
        "buying.csv:6: price_money: 'much' is not a number: write digits, such as 12.5",
    ]


def test_two_rows_of_one_supplier(book):
    put(book, "suppliers.csv", "supplier,also_named,currency\nA,,USD\nA,,CAD\na,,USD\nB,A,USD\n")
    assert problems(book) == [
        "suppliers.csv:4: supplier: a in USD stands already in line 2: keep one of them",
        "suppliers.csv:5: also_named: 'a' is a name of A already: leave it with one of them",
    ]


def test_an_order_that_does_not_agree_with_itself(book):
    put(
        book, "orders/0007.csv",
        "order,issued_on,supplier,line,sku,packs,pack_price,amount,currency\n"
        "7,2026-07-01,A,1,S,1,1,1,USD\n7,2026-07-01,B,1,T,1,1,1,USD\n",
    )  # fmt: skip
    assert problems(book) == [
        "0007.csv:3: supplier: B differs from A in the order's first line",
        "0007.csv:3: line: line 1 of order 7 stands already in line 2 of the file",
    ]


# ---------------------------------------------------------------------------------------------- UBL

NAMES = f'xmlns:cac="{AGGREGATE}" xmlns:cbc="{BASIC}"'
PARTY = "<cac:Party><cac:PartyName><cbc:Name>A</cbc:Name></cac:PartyName></cac:Party>"
SELLER = f"<cac:AccountingSupplierParty>{PARTY}</cac:AccountingSupplierParty>"


def ubl(kind: str, body: str) -> str:
    return f'<?xml version="1.0"?>\n<{kind} xmlns="{DOCUMENT.format(kind)}" {NAMES}>\n{body}\n</{kind}>'


def ubl_line(kind: str, quantity: str, amount: str, price: str) -> str:
    word = {"Invoice": "Invoiced", "CreditNote": "Credited"}[kind]
    return (
        f"<cac:{kind}Line>\n<cbc:ID>1</cbc:ID>\n<cbc:{word}Quantity unitCode='FOT'>{quantity}</cbc:{word}Quantity>\n"
        f"<cbc:LineExtensionAmount currencyID='USD'>{amount}</cbc:LineExtensionAmount>\n"
        "<cac:OrderLineReference><cbc:LineID>3</cbc:LineID></cac:OrderLineReference>"
        "<cac:Item><cbc:Name>tape</cbc:Name><cac:SellersItemIdentification><cbc:ID>007</cbc:ID>"
        "</cac:SellersItemIdentification></cac:Item>"
        f"<cac:Price><cbc:PriceAmount currencyID='USD'>{price}</cbc:PriceAmount></cac:Price></cac:{kind}Line>"
    )


HEADER = (
    "<cbc:ID>A-1</cbc:ID><cbc:IssueDate>2026-07-08</cbc:IssueDate>"
    "<cbc:DocumentCurrencyCode>USD</cbc:DocumentCurrencyCode>"
)
REFERENCE = "<cac:OrderReference><cbc:ID>0001</cbc:ID></cac:OrderReference>"


def test_an_invoice_in_ubl(book):
    put(
        book,
        "invoices/a.xml",
        ubl("Invoice", HEADER + REFERENCE + SELLER + ubl_line("Invoice", "150", "94.50", "0.63")),
    )
    (document,) = read_buying(book).documents
    (line,) = document.lines
    assert (document.supplier, document.number, document.currency) == ("A", "A-1", "USD")
    assert (line.order, line.line, line.sku, line.unit) == ("0001", "3", "007", "FOT")
    assert (line.quantity, line.unit_price, line.amount) == (150, Decimal("0.63"), Decimal("94.50"))


def test_a_credit_note_in_ubl_is_below_nothing(book):
    reference = (
        "<cac:BillingReference><cac:InvoiceDocumentReference><cbc:ID>A-1</cbc:ID>"
        "</cac:InvoiceDocumentReference></cac:BillingReference>"
    )
    put(
        book,
        "invoices/c.xml",
        ubl("CreditNote", HEADER + reference + SELLER + ubl_line("CreditNote", "50", "31.50", "0.63")),
    )
    (document,) = read_buying(book).documents
    assert (document.credit_of, document.lines[0].quantity, document.amount) == ("A-1", -50, Decimal("-31.50"))


def test_freight_on_the_whole_invoice_is_a_line(book):
    charge = (
        "<cac:AllowanceCharge><cbc:ChargeIndicator>true</cbc:ChargeIndicator><cbc:AllowanceChargeReasonCode>FC"
        "</cbc:AllowanceChargeReasonCode><cbc:Amount currencyID='USD'>45</cbc:Amount></cac:AllowanceCharge>"
    )
    put(
        book,
        "invoices/a.xml",
        ubl("Invoice", HEADER + REFERENCE + SELLER + charge + ubl_line("Invoice", "1", "1", "1")),
    )
    line = read_buying(book).documents[0].lines[1]
    assert (line.description, line.amount, line.whole, line.order) == ("freight", 45, True, "0001")


def test_every_problem_of_a_ubl_file_with_its_line(book):
    text = ubl("Invoice", "<cbc:IssueDate>soon</cbc:IssueDate>\n" + ubl_line("Invoice", "many", "1e99", "0,63"))
    put(book, "invoices/a.xml", text)
    assert problems(book) == [
        "a.xml:2: AccountingSupplierParty: names nobody: ask for a file that says who bills",
        "a.xml:2: ID: is missing or empty; every Invoice has one: ask whoever sent it for the whole file",
        "a.xml:3: IssueDate: 'soon' is not a date; write year-month-day",
        "a.xml:6: InvoicedQuantity: 'many' is not a number; write digits with a decimal point",
        "a.xml:7: LineExtensionAmount: '1e99' is not a number; write digits with a decimal point",
        "a.xml:8: PriceAmount: '0,63' is not a number; write digits with a decimal point",
    ]


OTHER = "; what is read here is a UBL 2 Invoice or CreditNote: take it out of this folder"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (ubl("ReceiptAdvice", ""), f"holds <ReceiptAdvice>{OTHER}"),
        ("<Invoice/>", f"holds <Invoice>{OTHER}"),
        ("<Invoice", "is no well-formed XML file; get it again"),
        (f"{BOMB}<Invoice/>", "ask whoever made it for a plain XML file"),
    ],
)
def test_another_file_is_refused(book, text, said):
    put(book, "invoices/a.xml", text)
    (problem,) = problems(book)
    assert said in problem


# ---------------------------------------------------------------------------------------------- the log


def entry(who: str, **more) -> Accepted:
    return Accepted(at="2026-07-20 10:00:00", who=who, action="accepted", finding="abc", money=Decimal("6.00"), **more)


def test_rows_are_only_added_to_the_log(book):
    append_accepted(book, [entry("M. Varga", note="=agreed, by phone")])
    first = (book / "settled.csv").read_bytes()
    append_accepted(book, [entry("K. Oyelaran")])
    assert (book / "settled.csv").read_bytes().startswith(first)
    found = read_buying(book).accepted
    assert [(one.who, one.note, one.money) for one in found] == [
        ("M. Varga", "=agreed, by phone", Decimal("6.00")), ("K. Oyelaran", "", Decimal("6.00")),
    ]  # fmt: skip


def test_a_log_without_a_last_line_end_is_added_to(book):
    append_accepted(book, [entry("M. Varga")])
    path = book / "settled.csv"
    path.write_bytes(path.read_bytes().rstrip())
    append_accepted(book, [entry("K. Oyelaran")])
    assert [one.who for one in read_buying(book).accepted] == ["M. Varga", "K. Oyelaran"]


def test_a_log_that_another_program_changed_is_not_touched(book):
    append_accepted(book, [entry("M. Varga")])
    path = book / "settled.csv"
    changed = path.read_bytes().replace(b",", b";")
    path.write_bytes(changed)
    with pytest.raises(BookError, match="was saved in another form by another program"):
        append_accepted(book, [entry("K. Oyelaran")])
    assert path.read_bytes() == changed


def test_proposed_rates_without_any_job():
    assert proposed_rates_text([]).splitlines() == ["job,key,value,x_in_use,x_jobs,x_low,x_median,x_high,x_says"]


# ---------------------------------------------------------------------------------------------- what is told of them


def told_rows(number: int) -> list[list[str]]:
    """Return the cells of a table of the README's section on buying, without its first two lines."""
    section = README.split("\n## Buying\n", 1)[1].split("\n## ", 1)[0]
    table = re.findall(r"(?:^\|.*\n)+", section, re.MULTILINE)[number]
    return [[cell.strip() for cell in row.strip("|").split("|")] for row in table.splitlines()[2:]]


def test_the_readme_tells_the_files_and_columns():
    told = {file.removesuffix(".csv"): columns.split(", ") for file, _, columns in told_rows(0)}
    of_their_own = {name: record for name, record in BUYING_FILES.items() if name not in BOOK_FILES}
    assert set(told) == {*of_their_own, "buying"}
    for name, record in of_their_own.items():
        assert told[name] == [f"**{one.name}**" if one.required else one.name for one in fields_of(record)]


def test_the_readme_tells_the_settings():
    told = [key for keys, _ in told_rows(1) for key in keys.split(", ")]
    assert sorted(told) == sorted(one.name for one in fields_of(Settings))


@pytest.mark.parametrize("record", [*BUYING_FILES.values(), OrderRow])
def test_every_needed_column_has_an_example_that_can_be_read(record):
    for one in fields_of(record):
        assert one.help
        if one.required:
            assert parse(one, one.example, Reading()) is not None
        else:
            assert parse(one, show(one, one.default), Reading()) == one.default
