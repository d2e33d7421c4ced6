"""Changed files for every reader: what may come in is changed by bytes, words, cells and elements.

A target gives its good inputs, a way to change one, and the reader. A reader must return or refuse in a sentence: any
exception but those of a refusal is a crash, and so is a sentence of Python's instead of ours.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import random
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import books
import handmade
import hostile
from mutations import WORDS, by_bytes, by_cells, by_elements, by_input_cells, by_parts, by_words

from baybook import units
from baybook.buying.records import BUYING_FILES, OrderRow, Settings
from baybook.estimate import build_estimate
from baybook.files import limits
from baybook.files.book import read_book
from baybook.files.example import example_files
from baybook.files.guard import check_text_bytes, check_workbook, check_xml
from baybook.files.journal import Journal
from baybook.files.lock import Locked, book_lock, open_elsewhere
from baybook.files.orders import next_number, read_buying
from baybook.files.table import read_table
from baybook.files.text import clean_text, safe_name
from baybook.files.ubl import document_from, order_from, read_ubl, receipts_from
from baybook.files.written import WRITTEN_NAME, Written
from baybook.job.fields import Reading, fields_of, parse
from baybook.job.rates import Rates
from baybook.job.reading import read_prices
from baybook.job.records import Acceptance, Area, CodeRow, Extra, Framing, Job, Liner, Override, Post, PriceRow
from baybook.outline import edges_of, parse_outline
from baybook.problems import BookError, OutOfRange
from baybook.reprice.record import Record
from baybook.water.rain import parse_atlas14
from baybook.workbook.build import make_workbook
from baybook.workbook.export import export_workbook
from baybook.workbook.given import given_in
from baybook.workbook.read import read_workbook
from baybook.workbook.refresh import refresh_workbook
from baybook.workbook.verify import verify_workbook

DAY = dt.date(2026, 7, 1)
WHEN = dt.datetime(2026, 7, 1, 9, 30)  # noqa: DTZ001 - the local time of a run
RAIN = Path(__file__).parent / "published" / "atlas14_39N_105W.csv"
# Python's own words, which tell a tradesman nothing
PYTHONS = re.compile(
    r"invalid literal|could not convert|Exceeds the limit|to unpack|math domain|NoneType|out of range|object|"
    r"fromisoformat|codec|is not in list|Traceback|<class|decimal\.|unexpected keyword"
)


class UnclearError(AssertionError):
    """A refusal in words of Python's."""


# ------------------------------------------------------------------------------------------------------------- targets


@dataclass(frozen=True, slots=True)
class Target:
    """A reader on trial.

    ``share`` is how often it comes among a thousand text inputs, or a hundred workbook and XML inputs.
    """

    name: str
    seeds: Callable[[], Sequence[bytes]]
    change: Callable[[random.Random, bytes], bytes]
    read: Callable[[bytes, Path], object]
    share: int


def in_words(chance: random.Random, data: bytes) -> bytes:
    return by_words(chance, data.decode()).encode("utf-8", "surrogatepass")


def in_a_table(chance: random.Random, data: bytes) -> bytes:
    return by_cells(chance, data) if chance.random() < 0.75 else by_bytes(chance, data)


def in_xml(chance: random.Random, data: bytes) -> bytes:
    return by_elements(chance, data) if chance.random() < 0.75 else by_bytes(chance, data)


def text_of(data: bytes) -> str:
    return data.decode("utf-8", "surrogatepass")


def lengths(data: bytes, _: Path) -> None:
    text = text_of(data)
    bare = (None, "ft", "in", "m", "mm")[len(text) % 5]
    units.show_length(units.parse_length(text, bare), "metric") if len(text) % 2 else units.parse_length(text, bare)


def quantities(data: bytes, _: Path) -> None:
    text = text_of(data)
    for read in (
        units.parse_rain,
        lambda text: units.parse_area(text, "sq ft"),
        lambda text: units.parse_fall(text, None),
    ):
        try:
            read(text)
        except units.UnitError as found:
            refused = found
        else:
            return
    raise refused


RECORDS = (Job, Area, Framing, Liner, PriceRow, Extra, Override, Post, CodeRow, Acceptance, Rates, Settings, OrderRow)


@cache
def all_fields():
    return [one for record in (*RECORDS, *BUYING_FILES.values()) for one in fields_of(record)]


def one_field(data: bytes, _: Path) -> None:
    text = text_of(data).strip()
    fields = all_fields()
    for turn in range(3):
        at = sum(data) + 7 * turn
        reading = Reading(metric=bool(at % 2), decimal=(".", ",", "")[at % 3])
        try:
            parse(fields[at % len(fields)], text, reading)
        except ValueError as found:
            if PYTHONS.search(str(found).replace(repr(text), "").replace(text, "")):
                raise UnclearError(str(found)) from None


def file_of(folder: Path, name: str, data: bytes) -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def table(data: bytes, folder: Path) -> None:
    read_table(file_of(folder, "a.csv", data))


def price_list(data: bytes, folder: Path) -> None:
    read_prices(read_table(file_of(folder, "prices.csv", data)))


def outlines(data: bytes, _: Path) -> None:
    text = text_of(data)
    shape = parse_outline(text, lambda length: units.parse_length(length, "ft"))
    edges_of(shape)


def rainfall(data: bytes, _: Path) -> None:
    parse_atlas14(check_text_bytes(data, "rainfall.csv")[0])


def split(data: bytes, names: Iterable[str]) -> tuple[str, bytes]:
    """Return the file of a folder that an input is for, and its content; a changed name is the first file's."""
    name, _, content = data.partition(b"\0")
    known = {one.encode(): one for one in names}
    return known.get(name, next(iter(known.values()))), content


def whole_book(files: Callable[[], dict[str, bytes]], *, engine: bool) -> Callable[[bytes, Path], None]:
    """Return a reader of a book one of whose files, named before a NUL, is the input."""

    def read(data: bytes, folder: Path) -> None:
        name, content = split(data, files())
        book = folder / "book"
        if not book.exists():
            book.mkdir()
            for other, held in files().items():
                file_of(book, other, held)
        path = book / name
        there = path.read_bytes()
        path.write_bytes(content)
        try:
            for inputs in read_book(book, DAY):
                if engine:
                    build_estimate(inputs)
        finally:
            path.write_bytes(there)

    return read


def of_a_folder(change: Callable[[random.Random, bytes], bytes]) -> Callable[[random.Random, bytes], bytes]:
    """Return a change of what stands behind the NUL."""

    def changed(chance: random.Random, data: bytes) -> bytes:
        name, _, content = data.partition(b"\0")
        return name + b"\0" + change(chance, content)

    return changed


def folder_seeds(files: dict[str, bytes]) -> list[bytes]:
    return [name.encode() + b"\0" + content for name, content in files.items()]


@cache
def plain_book() -> dict[str, bytes]:
    return {f"{name}.csv": text.encode() for name, text in books.deck().items()}


@cache
def shaped_book() -> dict[str, bytes]:
    """Return a book of a deck with corners, an opening and bays that were measured."""
    hole = {"kind": "opening", "x": "4 ft", "y": "4 ft", "width": "4 ft", "projection": "3 ft 6 in"}
    tables = books.deck(
        area={"width": None, "projection": None, "outline": OUTLINES[0].decode()},
        framing=[hole, {"kind": "flush_beam", "y": "9 ft", "plies": "2"}],
        more_prices=[books.offer(f"gutter_corner_{way}", "4.40") for way in ("out", "in")],
        measured=books.csv_text([{"job": books.JOB, "area": "main", "bay": "2a", "clear_width": "14 3/8 in"}]),
    )
    return {f"{name}.csv": text.encode() for name, text in tables.items()}


@cache
def full_book() -> dict[str, bytes]:
    made = example_files()
    return {name: data for name, data in made.items() if not name.startswith("alder")}


def one_value(chance: random.Random, data: bytes) -> bytes:
    """Change a few cells of a table to other plausible figures: what a person might type, so that the engine runs."""
    rows = list(csv.reader(io.StringIO(data.decode(), newline="")))
    for _ in range(chance.choice((1, 2, 3))):
        row = rows[chance.randrange(1, len(rows))] if len(rows) > 1 else rows[0]
        at = chance.randrange(len(row))
        number = re.match(r"\d+(\.\d+)?", row[at])
        if number:
            value = float(number[0]) * chance.choice((0, 0.01, 0.5, 0.99, 1.01, 2, 10, 100, 1000, 1e6, chance.random()))
            row[at] = f"{value:.4f}".rstrip("0").rstrip(".") + row[at][number.end() :]
        elif chance.random() < 0.5:
            row[at] = chance.choice(WORDS)
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode()


BUYING = {
    "suppliers.csv": "supplier,also_named,address,currency,freight,minimum_order\nAlder Yard,AY,1 Way,USD,45,100\n",
    "receipts.csv": "order,sku,quantity,received_on,damaged,note\n0001,S1,4,2026-07-06,1,x\n",
    "returns.csv": "order,sku,quantity,returned_on,kind,job,note\n0001,S1,1,2026-07-20,returned,D8,x\n",
    "invoices.csv": "supplier,invoice,invoice_date,order,line,sku,description,quantity,unit,unit_price,amount,tax,"
    "base_quantity,currency,credit_of\nAY,A-1,2026-07-08,0001,1,S1,strap,4,each,1.90,7.60,0.63,1,USD,\n",
    "mapping.csv": "supplier,files,column,theirs,dates\nSkerrow,sk-,invoice,Doc no.,\n"
    "Skerrow,sk-,invoice_date,Date,mdy\nSkerrow,sk-,quantity,Qty,\nSkerrow,sk-,unit_price,Price,\nSkerrow,sk-,amount,Net,\n",
    "invoices/sk-1.csv": "Doc no.;Date;Qty;Price;Net;Rep\nZ-1;07/14/2026;3;31,50;94,50;Kim\n",
    "hours.csv": "job,task,date,person_hours,note\nD8,outlet,2026-07-14,3.5,x\n",
    "settled.csv": "at,who,action,finding,kind,supplier,order,line,invoice,money,said,note\n"
    "2026-07-21 10:04:00,M. Varga,accepted,3f9a0c1b2d,price,Alder Yard,0001,1,A-1,1.20,dearer,ok\n",
    "buying.csv": "job,key,value\n,buyer,Decks & Co\n,tolerance,purdue\nD8,start,2026-08-01\n,tax_rate,8.25%\n",
    "orders/0001.csv": "order,revision,issued_on,supplier,line,sku,item,description,packs,pack_qty,unit,"
    "pack_price,amount,currency,jobs\n0001,0,2026-07-01,Alder Yard,1,S1,strap,strap,4,1,each,1.90,7.60,USD,"
    "D8 (3); E (1)\n",
}


def buying_book() -> dict[str, bytes]:
    return {name: text.encode() for name, text in BUYING.items()}


def buying(data: bytes, folder: Path) -> None:
    name, content = split(data, BUYING)
    place = folder / "buying"
    if not place.exists():
        for other, text in BUYING.items():
            (place / other).parent.mkdir(parents=True, exist_ok=True)
            (place / other).write_text(text, encoding="utf-8")
    path = place / name
    there = path.read_bytes()
    path.write_bytes(content)
    try:
        read_buying(place)
    finally:
        path.write_bytes(there)


LOCKS = (
    b"Ann Miller,ann,office-2,01.02.2026 07:05,file:///x;",
    b"\x0aAnn Miller" + b" " * 44,
    b'{"host": "office-2", "user": "ann", "pid": 4711, "time": "2026-07-01T09:30:00+00:00"}',
)


def locks(data: bytes, folder: Path) -> None:
    for name in (".~lock.b.xlsx#", "~$b.xlsx"):
        beside = file_of(folder, name, data)
        open_elsewhere(folder / "b.xlsx")
        beside.unlink()
    lock = file_of(folder, ".baybook.lock", data)
    try:
        with book_lock(folder):
            pass
    except Locked:
        lock.unlink()


_RUN = b'{"run":"a","of":"..","when":"2026-07-01T09:30:00","backups":"workbooks before x"}'
_DOING = b'{"doing":"k","state":"s","target":"t","place":"out","after":"z","change":{}}'
RECORDS_OF_RUNS = (
    b"\n".join([_RUN, _DOING, b'{"done":"k"}', b'{"finished":true}', b""]),
    b'{"A.xlsx": ["0123", "4567"]}',
    b"17\n",
)


def own_records(data: bytes, folder: Path) -> None:
    """Read what only this program writes, and a sync program or an editor may have torn."""
    Journal(path := file_of(folder, "j.jsonl", data))
    Record(path, "a", "..", WHEN)
    file_of(folder, WRITTEN_NAME, data)
    Written(folder).changed_since(path)
    (folder / "orders").mkdir(exist_ok=True)
    file_of(folder / "orders", "counter.txt", data)
    next_number(folder)


def words(data: bytes, _: Path) -> None:
    text = data.decode("utf-8", "replace")
    clean_text(text, "a.csv", "note")
    safe_name(text, ["A", "b"])
    limits._changed(text)


LENGTHS = (b"14' 3-1/2\"", b"171.5", b"4.35 m", b"4350 mm", "3½".encode(), b"14 ft 3.5 in", b"-1/2 in", b"12,5")
QUANTITIES = (b"4.7 in/h", b"120 mm/h", b"130 sq ft", b"12 m2", b"1/4 in/ft", b"2 %", b"20 mm/m")
OUTLINES = (
    b"0,0; 16,0; 16,9; 12,14; 0,14",
    b"0,0; 20 ft 6 in,0; 20 ft 6 in,8; 12,8; 12,14; 0,14",
    b"0,0; 4.8 m,0; 4800 mm,3 m; 2,4 m; 0,3 m; 0,0",
)
FIELDS = (
    *LENGTHS,
    *QUANTITIES,
    b"8.25%",
    b"2026-06-15",
    b"31.12.2026",
    b"12,345.67",
    b"USD",
    b"2x3",
    b"2x10",
    b"12",
    b"left",
)
TABLES = (
    b'job;width;note\r\n# a comment\r\nA;14\' 3-1/2";"two\r\nlines"\r\nB;1.234,50;\'=x\r\n',
    b"job\twidth\nA\t12,5\n",
    books.deck()["prices"].encode(),
)


def element(name: str, *inside: str, **attributes: str) -> str:
    """Return an element of UBL: of the basic components if it holds a text, else of the aggregate ones."""
    prefix = "cac" if inside[0].startswith("<") else "cbc"
    said = "".join(f' {key}="{value}"' for key, value in attributes.items())
    return f"<{prefix}:{name}{said}>{''.join(inside)}</{prefix}:{name}>"


def document(kind: str, *inside: str) -> str:
    space = "urn:oasis:names:specification:ubl:schema:xsd:{}-2".format
    spaces = f'xmlns:cac="{space("CommonAggregateComponents")}" xmlns:cbc="{space("CommonBasicComponents")}"'
    return f'<{kind} xmlns="{space(kind)}" {spaces}>{"".join(inside)}</{kind}>'


def xml_seeds() -> list[bytes]:
    """Return an invoice, a credit note, each also without the price, a receipt advice and an order."""
    tax_class = element("ClassifiedTaxCategory", element("Percent", "8.25"))
    item = element(
        "Item", element("Name", "strap"), element("SellersItemIdentification", element("ID", "S1")), tax_class
    )
    price = element("Price", element("PriceAmount", "1.90"), element("BaseQuantity", "1"))
    party = element("Party", element("PartyName", element("Name", "Alder Yard")))
    charge = element("AllowanceCharge", element("ChargeIndicator", "true"), element("Amount", "9.00"))
    ours = element("OrderLineReference", element("LineID", "1"), element("OrderReference", element("ID", "0001")))
    top = element("ID", "A-1") + element("IssueDate", "2026-07-08") + element("DocumentCurrencyCode", "USD")
    tax_amount, amount = element("TaxAmount", "0.63"), element("LineExtensionAmount", "7.60")
    tax = element("TaxTotal", tax_amount, element("TaxSubtotal", element("TaxableAmount", "7.60"), tax_amount))
    sums = element("LegalMonetaryTotal", element("PayableAmount", "8.23"))
    made = []
    for kind, quantity in (("Invoice", "InvoicedQuantity"), ("CreditNote", "CreditedQuantity")):
        count = element(quantity, "4", unitCode="EA")
        for stated in (price, ""):
            line = element(f"{kind}Line", element("ID", "1"), count, amount, ours, charge, item, stated)
            made.append(document(kind, top, element("AccountingSupplierParty", party), charge, tax, sums, line))
    counts = element("ReceivedQuantity", "4") + element("RejectedQuantity", "1")
    made.append(document("ReceiptAdvice", top, element("ReceiptLine", element("ID", "1") + counts, ours, item)))
    goods = element("LineItem", element("ID", "1"), element("Quantity", "4", unitCode="EA"), amount, price, item)
    before = element("OrderDocumentReference", element("ID", "0001"), element("VersionID", "0"))
    made.append(document("Order", top, before, element("OrderLine", goods)))
    return [one.encode() for one in made]


def ubl(data: bytes, folder: Path) -> None:
    root = read_ubl(file_of(folder, "a.xml", data), "Invoice", "CreditNote", "ReceiptAdvice", "Order")
    match root.name:
        case "Order":
            order_from(root, "a.xml", {"EA": "each"})
        case "ReceiptAdvice":
            receipts_from(root, "a.xml")
        case _:
            document_from(root, "a.xml")


def any_xml(data: bytes, _: Path) -> None:
    check_xml(data, "a.xml")


def guard(data: bytes, folder: Path) -> None:
    check_workbook(file_of(folder, "a.xlsx", data))


def sheets(data: bytes, folder: Path) -> None:
    read_workbook(file_of(folder, "a.xlsx", data))


@cache
def our_workbook() -> bytes:
    return make_workbook(books.estimate(), WHEN).data


_SHEET = re.compile(rb'<sheet [^>]*name="([^"]*)"[^>]*r:id="(\w+)"[^>]*/>')


@cache
def our_inputs() -> bytes:
    """Return our workbook with its input sheets alone, so that reading it takes milliseconds."""
    data = our_workbook()
    kept = {"Job", "Areas", "Framing", "Liners", "Rates", "Prices", "Extras", "Posts and codes"}
    parts = handmade.parts_of(data)
    main = parts["xl/workbook.xml"]
    gone = {found[0] for found in _SHEET.finditer(main) if found[1].decode() not in kept}
    left_out = {handmade.part_of(data, _SHEET.fullmatch(one)[1].decode()) for one in gone}
    parts["xl/workbook.xml"] = _SHEET.sub(lambda found: b"" if found[0] in gone else found[0], main)
    return handmade.packed(
        {name: part for name, part in parts.items() if name not in left_out and "drawing" not in name}
    )


def inputs(data: bytes, folder: Path) -> None:
    given_in(read_workbook(file_of(folder, "a.xlsx", data))).estimate()


def cells_or_parts(chance: random.Random, data: bytes) -> bytes:
    return by_input_cells(chance, data) if chance.random() < 0.7 else by_parts(chance, data)


def whole_workbook(data: bytes, folder: Path) -> None:
    """Refresh, verify or export, in turn."""
    path = file_of(folder, "deck.xlsx", data)
    match len(data) % 3:
        case 0:
            refresh_workbook(path, WHEN, dry_run=True)
        case 1:
            verify_workbook(path, WHEN)
        case _:
            out = folder / "exported"
            export_workbook(path, out)
            for file in out.iterdir():
                file.unlink()


def encoded(seeds: Sequence[bytes]) -> list[bytes]:
    return [
        *seeds,
        *(one.decode().encode(kind, "replace") for one in seeds for kind in ("cp1252", "utf-16", "utf-8-sig")),
    ]


NAMES = (b"LH-021", b"Oak & Sons", b"con", b"rows=50000,lines=500000")
in_a_book, one_figure = of_a_folder(in_a_table), of_a_folder(one_value)

TEXTS = (
    Target("lengths", lambda: LENGTHS, in_words, lengths, 150),
    Target("rain, areas, falls", lambda: QUANTITIES, in_words, quantities, 100),
    Target("fields of all tables", lambda: FIELDS, in_words, one_field, 250),
    Target("outlines", lambda: OUTLINES, in_words, outlines, 30),
    Target("names, texts, limits", lambda: NAMES, in_words, words, 50),
    Target("CSV tables", lambda: encoded(TABLES), in_a_table, table, 170),
    Target("price lists", lambda: [plain_book()["prices.csv"]], in_a_table, price_list, 70),
    Target("rainfall.csv", lambda: [RAIN.read_bytes()], in_a_table, rainfall, 50),
    Target("whole books", lambda: folder_seeds(plain_book()), in_a_book, whole_book(plain_book, engine=False), 60),
    Target("the example book", lambda: folder_seeds(full_book()), in_a_book, whole_book(full_book, engine=False), 8),
    Target("engine", lambda: folder_seeds(plain_book()), one_figure, whole_book(plain_book, engine=True), 12),
    Target(
        "engine, decks with corners",
        lambda: folder_seeds(shaped_book()),
        one_figure,
        whole_book(shaped_book, engine=True),
        3,
    ),
    Target("buying, invoices by mapping", lambda: folder_seeds(buying_book()), in_a_book, buying, 50),
    Target("locks", lambda: LOCKS, by_bytes, locks, 15),
    Target("own records", lambda: RECORDS_OF_RUNS, by_bytes, own_records, 15),
)
WORKBOOKS = (
    Target("UBL documents", xml_seeds, in_xml, ubl, 36),
    Target("any XML", lambda: [hostile.good_parts()[hostile.SHEET], *xml_seeds()[:1]], in_xml, any_xml, 8),
    Target("guard of workbooks", lambda: [hostile.GOOD_PACKED, *hostile.odd_but_good().values()], by_bytes, guard, 20),
    Target("sheets of workbooks", lambda: [hostile.GOOD_PACKED], by_parts, sheets, 20),
    Target("inputs of our workbooks", lambda: [our_inputs()], cells_or_parts, inputs, 15),
    Target("refresh, verify, export", lambda: [our_workbook()], cells_or_parts, whole_workbook, 1),
)  # fmt: skip


def told(target: Target, data: bytes, folder: Path) -> bool:
    """Give an input to its reader; return whether it was read, not refused. Anything else is an exception."""
    try:
        target.read(data, folder)
    except BookError as refused:
        for problem in refused.problems:
            said = str(problem)
            if not problem.message.strip() or PYTHONS.search(re.sub(r"'[^']*'|\"[^\"]*\"|\([^)]*\)", "", said)):
                raise UnclearError(said) from refused
        return False
    except (units.UnitError, OutOfRange):
        return False
    return True


def with_share(targets: Sequence[Target], names: Sequence[str]) -> list[Target]:
    """Return the targets whose names begin with one of those given; all if none is."""
    return [one for one in targets if not names or any(one.name.startswith(name) for name in names)]
