"""An order as it is issued: its lines, its jobs, what a revision changed, and its rows."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from baybook.buying.records import FREIGHT, OrderRow
from baybook.job.fields import fields_of
from baybook.job.records import Place
from baybook.numbers import cents
from baybook.problems import Problem

__all__ = [
    "ORDER_COLUMNS",
    "Order",
    "OrderLine",
    "difference",
    "jobs_of",
    "jobs_text",
    "latest",
    "money",
    "orders_from_rows",
    "plain",
    "rows_of",
    "tidy",
]

ORDER_COLUMNS = tuple(one.name for one in fields_of(OrderRow))
_SHARE = re.compile(r"(.+?) \((\d+(?:\.\d+)?)\)(?:; |$)")


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderLine:
    """One line of an order.

    Parameters
    ----------
    line : int
        Its number.
    sku, item, description : str
        The supplier's number, our item (``freight`` for carriage), the supplier's words.
    packs, pack_qty : Decimal
        Packs ordered, and units in a pack.
    unit : str
        Unit of the pack quantity.
    pack_price, amount : Decimal
        Price of a pack, and of the line. [money]
    jobs : tuple of (str, Decimal)
        The jobs it is for and the packs of each.
    """

    line: int
    sku: str
    item: str
    description: str
    packs: Decimal
    pack_qty: Decimal
    unit: str
    pack_price: Decimal
    amount: Decimal
    jobs: tuple[tuple[str, Decimal], ...] = ()
    place: Place = field(default=Place(), compare=False)

    @property
    def is_freight(self) -> bool:
        """Whether it is carriage and no goods: nothing of it can be received."""
        return self.item.casefold() == FREIGHT

    @property
    def due(self) -> Decimal:
        """What packs and price come to. [money]."""
        return cents(self.packs * self.pack_price)

    @property
    def key(self) -> str:
        """What tells it from the other lines of its order in every revision."""
        return self.sku.casefold() or self.item.casefold() or self.description.casefold()


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """An order to one supplier in one currency."""

    number: str
    revision: int
    issued_on: dt.date
    supplier: str
    currency: str
    lines: tuple[OrderLine, ...]
    buyer: str = ""
    buyer_address: tuple[str, ...] = ()
    supplier_address: tuple[str, ...] = ()
    account: str = ""
    ship_to: str = ""
    wanted_on: dt.date | None = None
    notes: tuple[str, ...] = ()  # what a revision changed
    place: Place = field(default=Place(), compare=False)

    @property
    def total(self) -> Decimal:
        """The sum of its lines. [money]."""
        return sum((line.amount for line in self.lines), Decimal(0))

    @property
    def name(self) -> str:
        """Name of its files: the number, and the revision where there is one."""
        return f"{self.number}-{self.revision}" if self.revision else self.number


def plain(value: Decimal) -> str:
    """Return a decimal as people write it: no exponent, no empty decimals."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def money(value: Decimal) -> str:
    """Return an amount or a price with two decimals, or more where it has more."""
    text = plain(value)
    return text if len(text.partition(".")[2]) >= 2 else f"{value:.2f}"


def tidy(value: Decimal) -> Decimal:
    """Return a decimal without empty decimals."""
    return Decimal(plain(value))


def jobs_text(jobs: Sequence[tuple[str, Decimal]]) -> str:
    """Return the jobs of a line as text: the job's code, or each code with its packs in brackets.

    Examples
    --------
    >>> jobs_text((("LH-021", Decimal(4)),)), jobs_text((("LH-021", Decimal(4)), ("TM-034", Decimal(2))))
    ('LH-021', 'LH-021 (4); TM-034 (2)')
    """
    if len(jobs) == 1 and not _SHARE.search(jobs[0][0]):
        return jobs[0][0]
    return "; ".join(f"{job} ({plain(packs)})" for job, packs in jobs)


def jobs_of(text: str, packs: Decimal) -> tuple[tuple[str, Decimal], ...]:
    """Return the jobs of a line from their text; a code alone has all packs of the line."""
    found = list(_SHARE.finditer(text))
    if found and "".join(match[0] for match in found) == text:
        return tuple((match[1], Decimal(match[2])) for match in found)
    return ((text, packs),) if text else ()


def rows_of(order: Order) -> list[Sequence[Any]]:
    """Return an order as the rows of its CSV file."""
    return [
        (
            order.number,
            order.revision,
            order.issued_on,
            order.supplier,
            line.line,
            line.sku,
            line.item,
            line.description,
            line.packs,
            line.pack_qty,
            line.unit,
            line.pack_price,
            line.amount,
            order.currency,
            jobs_text(line.jobs),
        )
        for line in order.lines
    ]


def orders_from_rows(rows: Iterable[OrderRow], problems: list[Problem]) -> list[Order]:
    """Gather the rows of issued orders.

    Parameters
    ----------
    rows : iterable of OrderRow
        Rows of any number of orders and revisions.
    problems : list of Problem
        A line that stands twice, and rows of one order that do not agree, are added to it.

    Returns
    -------
    list of Order
        One for each order and revision, in the order of their first rows.
    """
    grouped: dict[tuple[str, int], list[OrderRow]] = {}
    for row in rows:
        grouped.setdefault((row.order.casefold(), row.revision), []).append(row)
    orders = []
    for same in grouped.values():
        first = same[0]
        seen: dict[int, OrderRow] = {}
        for row in same:
            for name in ("supplier", "currency", "issued_on"):
                if getattr(row, name) != getattr(first, name):
                    said = f"{getattr(row, name)} differs from {getattr(first, name)} in the order's first line"
                    problems.append(row.place.problem(name, said))
            if row.line in seen:
                first_at = seen[row.line].place.line
                said = f"line {row.line} of order {row.order} stands already in line {first_at} of the file"
                problems.append(row.place.problem("line", said))
            seen[row.line] = row
        orders.append(
            Order(
                number=first.order,
                revision=first.revision,
                issued_on=first.issued_on,
                supplier=first.supplier,
                currency=first.currency,
                lines=tuple(_line(row) for row in same),
                place=first.place,
            )
        )
    return orders


def _line(row: OrderRow) -> OrderLine:
    return OrderLine(
        line=row.line,
        sku=row.sku,
        item=row.item,
        description=row.description,
        packs=row.packs,
        pack_qty=row.pack_qty,
        unit=row.unit,
        pack_price=row.pack_price,
        amount=row.amount,
        jobs=jobs_of(row.jobs, row.packs),
        place=row.place,
    )


def latest(orders: Iterable[Order]) -> tuple[Order, ...]:
    """Return each order once, in its latest revision."""
    found: dict[str, Order] = {}
    for order in orders:
        key = order.number.casefold()
        if key not in found or found[key].revision < order.revision:
            found[key] = order
    return tuple(found.values())


def difference(old: Sequence[OrderLine], new: Sequence[OrderLine]) -> tuple[str, ...]:
    """Return what changed between two sets of order lines, one sentence a line; empty if nothing did.

    Parameters
    ----------
    old, new : sequence of OrderLine
        The lines as issued, and as they should be.

    Returns
    -------
    tuple of str
        Lines dropped, added, and those whose packs or price changed.
    """
    before, after = {line.key: line for line in old}, {line.key: line for line in new}
    said = []
    for key, line in before.items():
        name = line.sku or line.item or line.description
        if key not in after:
            said.append(f"{name} dropped: {plain(line.packs)} at {money(line.pack_price)}")
            continue
        now = after[key]
        if now.packs != line.packs:
            said.append(f"{name}: {plain(line.packs)} becomes {plain(now.packs)}")
        if now.pack_price != line.pack_price:
            said.append(f"{name}: price {money(line.pack_price)} becomes {money(now.pack_price)}")
        if (now.jobs, now.pack_qty) != (line.jobs, line.pack_qty) and now.packs == line.packs:
            said.append(f"{name}: for {jobs_text(now.jobs)}, {plain(now.pack_qty)} {now.unit} a pack")
    for key, line in after.items():
        if key not in before:
            name = line.sku or line.item or line.description
            said.append(f"{name} added: {plain(line.packs)} at {money(line.pack_price)}")
    return tuple(said)
