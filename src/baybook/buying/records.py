"""The frozen records of buying: every column of its files declared beside the attribute that holds it."""
# ruff: noqa: RUF009  the two helpers only shorten declare, which makes no shared value

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from baybook.job.fields import Kind, declare
from baybook.job.records import Place, Supplier

__all__ = [
    "BUYING_FILES",
    "FREIGHT",
    "TASKS",
    "Accepted",
    "HoursRow",
    "InvoiceRow",
    "MappingRow",
    "OrderRow",
    "Receipt",
    "Return",
    "Settings",
    "Supplier",
]

FREIGHT = "freight"  # the item of an order line that is no goods
TASKS = ("job", "area", "outlet", "narrow_outlet", "piece", "tape_ft", "gutter_ft", "leader")
FAR = 9_999_999
ONE = Decimal(1)
NONE = Decimal(0)


def _exact(name: str, text: str, **more: Any) -> Any:
    return declare(name, Kind.EXACT, help=text, **({"low": 0, "high": FAR} | more))


def _money(name: str, text: str, **more: Any) -> Any:
    return declare(name, Kind.MONEY, help=text, unit="money", **({"low": -FAR, "high": FAR} | more))


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderRow:
    """A row of orders/NUMBER.csv: one line of an order as it was issued."""

    order: str = declare("order", Kind.NAME, required=True, help="the order's number", example="0001")
    revision: int = declare("revision", Kind.COUNT, default=0, low=0, high=999, help="0 as first issued")
    issued_on: dt.date = declare("issued_on", Kind.DATE, required=True, help="date of issue", example="2026-07-01")
    supplier: str = declare("supplier", Kind.NAME, required=True, help="who is to deliver", example="Alder Yard")
    line: int = declare("line", Kind.COUNT, required=True, low=1, high=9999, help="number of the line", example="1")
    sku: str = declare("sku", Kind.TEXT, default="", help="the supplier's number")
    item: str = declare("item", Kind.TEXT, default="", help="what it is; freight for carriage")
    description: str = declare("description", Kind.TEXT, default="", help="as the supplier calls it")
    packs: Decimal = _exact("packs", "packs ordered", required=True, example="4")
    pack_qty: Decimal = _exact("pack_qty", "units in a pack", default=ONE, low=None, above=0)
    unit: str = declare("unit", Kind.TEXT, default="", help="unit of the pack quantity")
    pack_price: Decimal = _money("pack_price", "price of one pack", required=True, low=0, example="31.50")
    amount: Decimal = _money("amount", "packs at their price", required=True, low=0, example="126.00")
    currency: str = declare("currency", Kind.CURRENCY, required=True, help="ISO 4217 code", example="USD")
    jobs: str = declare("jobs", Kind.TEXT, default="", help="the jobs it is for, with the packs of each")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """A row of receipts.csv: what came, in the packs that were ordered."""

    order: str = declare("order", Kind.TEXT, required=True, help="number of the order", example="0001")
    sku: str = declare("sku", Kind.TEXT, required=True, help="the supplier's number", example="AY-1204")
    quantity: Decimal = _exact("quantity", "packs that came, damaged ones too", required=True, example="4")
    received_on: dt.date = declare("received_on", Kind.DATE, required=True, help="date", example="2026-07-06")
    damaged: Decimal = _exact("damaged", "of these, packs that are no use", default=NONE)
    note: str = declare("note", Kind.TEXT, default="", help="for yourself")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Return:
    """A row of returns.csv: what went back to the supplier, or was left over and is kept."""

    order: str = declare("order", Kind.TEXT, required=True, help="number of the order", example="0001")
    sku: str = declare("sku", Kind.TEXT, required=True, help="the supplier's number", example="AY-1204")
    quantity: Decimal = _exact("quantity", "packs, parts of one too", required=True, low=None, above=0, example="1")
    returned_on: dt.date = declare("returned_on", Kind.DATE, required=True, help="date", example="2026-07-20")
    kind: str = declare(
        "kind",
        Kind.WORD,
        default="returned",
        choices=("returned", "left_over"),
        help="sent back (a credit is due), or kept for another job",
    )
    job: str = declare("job", Kind.NAME, default="", help="the job it came from; empty: all of the line's")
    note: str = declare("note", Kind.TEXT, default="", help="for yourself")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class InvoiceRow:
    """A row of invoices.csv: one line of an invoice; of a credit note if its amount is below 0."""

    supplier: str = declare("supplier", Kind.NAME, required=True, help="who bills", example="Alder Yard")
    invoice: str = declare("invoice", Kind.TEXT, required=True, help="number of the invoice", example="A-7741")
    invoice_date: dt.date = declare("invoice_date", Kind.DATE, required=True, help="its date", example="2026-07-08")
    order: str = declare("order", Kind.TEXT, default="", help="the order it names")
    line: str = declare("line", Kind.TEXT, default="", help="the order's line it names")
    sku: str = declare("sku", Kind.TEXT, default="", help="the supplier's number")
    description: str = declare("description", Kind.TEXT, default="", help="as billed")
    quantity: Decimal = _exact("quantity", "quantity billed", required=True, low=-FAR, example="4")
    unit: str = declare("unit", Kind.TEXT, default="", help="of the quantity; empty: packs")
    unit_price: Decimal = _money("unit_price", "price of one, or of base_quantity", required=True, example="31.50")
    amount: Decimal = _money("amount", "of the line, without tax", required=True, example="126.00")
    tax: Decimal | None = _money("tax", "tax on the line; empty: none stated")
    base_quantity: Decimal = _exact("base_quantity", "quantity the price is for", default=ONE, low=None, above=0)
    currency: str = declare("currency", Kind.CURRENCY, default="", help="ISO 4217 code; empty: the order's")
    credit_of: str = declare("credit_of", Kind.TEXT, default="", help="the invoice a credit is for")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class MappingRow:
    """A row of mapping.csv: what a supplier's own file calls a column of invoices.csv."""

    supplier: str = declare("supplier", Kind.NAME, required=True, help="whose files", example="Skerrow Counter")
    files: str = declare("files", Kind.TEXT, required=True, help="what their names begin with", example="skerrow-")
    column: str = declare("column", Kind.TEXT, required=True, help="column of invoices.csv", example="quantity")
    theirs: str = declare("theirs", Kind.TEXT, required=True, help="their column", example="Qty shipped")
    dates: str = declare(
        "dates",
        Kind.WORD,
        default="ymd",
        choices=("ymd", "mdy", "dmy"),
        help="order of year, month and day in a date of theirs",
    )
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursRow:
    """A row of hours.csv: what the crew worked."""

    job: str = declare("job", Kind.NAME, required=True, help="the job", example="LH-021")
    task: str = declare("task", Kind.WORD, required=True, choices=TASKS, help="the task", example="outlet")
    date: dt.date = declare("date", Kind.DATE, required=True, help="the day", example="2026-07-14")
    person_hours: Decimal = _exact("person_hours", "hours of all persons together", required=True, example="3.5")
    note: str = declare("note", Kind.TEXT, default="", help="for yourself")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """A row of settled.csv, the log of who accepted what and when; rows are only added."""

    at: str = declare("at", Kind.TEXT, required=True, help="date and time", example="2026-07-21 10:04:00")
    who: str = declare("who", Kind.TEXT, required=True, help="who decided", example="M. Varga")
    action: str = declare(
        "action", Kind.WORD, required=True, choices=("accepted", "withdrawn"), help="what", example="accepted"
    )
    finding: str = declare("finding", Kind.TEXT, required=True, help="mark of the finding", example="3f9a0c1b2d")
    kind: str = declare("kind", Kind.TEXT, default="", help="kind of the finding")
    supplier: str = declare("supplier", Kind.TEXT, default="", help="of the finding")
    order: str = declare("order", Kind.TEXT, default="", help="of the finding")
    line: str = declare("line", Kind.TEXT, default="", help="of the order")
    invoice: str = declare("invoice", Kind.TEXT, default="", help="of the finding")
    money: Decimal | None = _money("money", "what it was worth")
    said: str = declare("said", Kind.TEXT, default="", help="the finding's sentence that day")
    note: str = declare("note", Kind.TEXT, default="", help="why")
    place: Place = Place()


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The keys of buying.csv; ``start``, ``ship_to`` and ``buffer_days`` may differ by job."""

    buyer: str = declare("buyer", Kind.TEXT, default="", help="your firm's name on orders", example="Your Decks")
    buyer_address: str = declare(
        "buyer_address", Kind.TEXT, default="", help="its address, lines with ; between", example="1 Yard Lane; Town"
    )
    ship_to: str = declare(
        "ship_to", Kind.TEXT, default="", help="where goods go; empty: the job's site", example="our yard"
    )
    start: dt.date | None = declare("start", Kind.DATE, help="day the work of a job begins", example="2026-07-06")
    buffer_days: int = declare(
        "buffer_days", Kind.COUNT, default=2, low=0, high=365, unit="days", help="goods are wanted before the start"
    )
    tolerance: str = declare(
        "tolerance",
        Kind.WORD,
        default="exact",
        choices=("exact", "purdue", "svsu", "nmsu", "mit"),
        help="a ready setting after a published policy; the keys below change single values of it",
    )
    price_percent: Decimal | None = declare(
        "price_percent",
        Kind.PERCENT,
        low=0,
        high=10,
        unit="%",
        help="price difference let pass, of the line",
        example="2%",
    )
    price_money: Decimal | None = _money("price_money", "price difference let pass, a line", low=0, example="5.00")
    price_rule: str | None = declare(
        "price_rule",
        Kind.WORD,
        choices=("both", "either"),
        help="a line passes under both of these, or either",
        example="both",
    )
    order_money: Decimal | None = _money(
        "order_money", "price difference let pass, all of an order", low=0, example="25.00"
    )
    overage_only: str | None = declare(
        "overage_only", Kind.WORD, choices=("yes", "no"), help="only what is too much stays open", example="no"
    )
    quantity_percent: Decimal | None = declare(
        "quantity_percent",
        Kind.PERCENT,
        low=0,
        high=10,
        unit="%",
        help="quantity difference let pass, of the order's",
        example="0%",
    )
    tax_rate: Decimal | None = declare(
        "tax_rate",
        Kind.PERCENT,
        low=0,
        high=1,
        unit="%",
        help="tax that invoices must bear; empty: not checked",
        example="8.25%",
    )


BUYING_FILES: dict[str, type] = {  # name -> what a row is; none of them must be there
    "suppliers": Supplier,
    "receipts": Receipt,
    "returns": Return,
    "invoices": InvoiceRow,
    "mapping": MappingRow,
    "hours": HoursRow,
    "settled": Accepted,
}
