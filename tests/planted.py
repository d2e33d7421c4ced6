"""Random sets of orders, receipts and invoices with differences planted in them, each known by kind and place."""

from __future__ import annotations

import datetime as dt
import random
from dataclasses import dataclass, field, replace
from decimal import Decimal

from purchases import DAY, d, offer

from baybook.buying.documents import BilledLine, Document, tax_on
from baybook.buying.match import Ledger
from baybook.buying.orders import Order, OrderLine
from baybook.buying.records import Receipt, Return
from baybook.job.records import Place, PriceRow
from baybook.numbers import cents

RATE = Decimal("0.0825")
GOODS = (  # item, units in a pack, unit
    ("seam_tape", 50, "ft"),
    ("sealant", 12, "cartridge"),
    ("staples", 1000, "each"),
    ("hanger", 25, "each"),
    ("bay_outlet", 10, "each"),
    ("elbow", 1, "each"),
    ("strap", 1, "each"),
    ("gutter_joiner", 1, "each"),
)
PLANTS = (
    "price_over", "price_under", "billed_not_received", "damaged", "received_not_ordered", "stray", "not_yet_here",
    "other_unit", "other_pack", "strange_unit", "duplicate", "repeated", "wrong_sum", "wrong_tax", "unknown_sku",
    "unknown_order", "returned",
)  # fmt: skip
Key = tuple[str, str, str, str]  # kind, order, line or SKU, invoice


@dataclass
class _Part:
    """A line of an invoice in the making."""

    order: Order
    line: OrderLine
    packs: Decimal
    price: Decimal
    invoice: str
    sku: str = ""
    unit: str = ""
    quantity: Decimal | None = None
    named: str | None = None  # order number as the invoice has it
    by_line: bool = False
    amount_off: Decimal = Decimal(0)
    tax_off: Decimal = Decimal(0)

    def billed(self, row: int) -> BilledLine:
        quantity = self.packs if self.quantity is None else self.quantity
        amount = cents(quantity * self.price) + self.amount_off
        return BilledLine(
            order=self.order.number if self.named is None else self.named,
            line=str(self.line.line) if self.by_line else "",
            sku="" if self.by_line else self.sku or self.line.sku,
            description=self.line.description,
            quantity=quantity,
            unit=self.unit,
            unit_price=self.price,
            amount=amount,
            tax=tax_on(amount, RATE) + self.tax_off,
            place=Place("invoices.csv", row),
        )


@dataclass
class PlantedSet:
    """One set and what is to be found in it."""

    ledger: Ledger
    expected: set[Key]
    planted: list[str] = field(default_factory=list)


class _Maker:
    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)
        self.orders: list[Order] = []
        self.prices: list[PriceRow] = []
        self.parts: list[_Part] = []
        self.came: dict[tuple[str, int], list[Decimal]] = {}  # good, damaged
        self.strays: list[Receipt] = []
        self.returns: list[Return] = []
        self.expected: set[Key] = set()
        self.copies: list[tuple[str, bool]] = []  # invoice, rows repeated in the same file
        self.planted: list[str] = []

    def money(self) -> Decimal:
        return Decimal(self.random.randint(150, 20_000)) / 100

    def base(self) -> None:
        """Make orders whose goods all came and are all billed."""
        number = self.random.randint(1, 900)
        for at in range(self.random.randint(1, 3)):
            supplier = self.random.choice(["Alder Yard", "Skerrow Counter"])
            lines = []
            for row, (item, inside, unit) in enumerate(self.random.sample(GOODS, self.random.randint(3, 7)), 1):
                packs, price, sku = Decimal(self.random.randint(2, 40)), self.money(), f"{supplier[0]}-{item}"
                lines.append(
                    OrderLine(
                        line=row, sku=sku, item=item, description=f"{item} of {inside}", packs=packs,
                        pack_qty=d(inside),
                        unit=unit, pack_price=price, amount=cents(packs * price), jobs=(("J", packs),),
                    )
                )  # fmt: skip
                self.prices += [
                    offer(sku, item, inside, price, supplier=supplier),
                    offer(f"{sku}-1", item, 1, price, supplier=supplier),
                ]
            order = Order(
                number=f"{number + at:04d}",
                revision=0,
                issued_on=DAY,
                supplier=supplier,
                currency="USD",
                lines=tuple(lines),
            )
            self.orders.append(order)
            for line in lines:
                self.came[order.number, line.line] = [line.packs, Decimal(0)]
                first = (
                    line.packs if self.random.random() < 0.7 else Decimal(self.random.randint(1, int(line.packs) - 1))
                )
                for n, packs in enumerate(one for one in (first, line.packs - first) if one):
                    part = _Part(order, line, packs, line.pack_price, f"{supplier[0]}{order.number}/{n}")
                    self.dress(part)
                    self.parts.append(part)

    def dress(self, part: _Part) -> None:
        """Write a line as invoices do, without changing what it says."""
        part.by_line = self.random.random() < 0.2
        part.named = self.random.choice([part.order.number, part.order.number, part.order.number.lstrip("0")])
        part.unit = self.random.choice(["", "", "pack", "XPK"])
        if part.line.pack_qty == 1 and self.random.random() < 0.5:
            part.unit = self.random.choice(["EA", "each", "H87", "C62"])

    def last_invoice(self, part: _Part) -> str:
        return [one for one in self.parts if one.line is part.line][-1].invoice

    def expect(self, kind: str, part: _Part, invoice: str | None = None, line: str | None = None) -> None:
        self.expected.add(
            (
                kind,
                part.order.number,
                str(part.line.line) if line is None else line,
                part.invoice if invoice is None else invoice,
            )
        )

    def plant(self, what: str, part: _Part) -> None:
        self.planted.append(what)
        getattr(self, f"plant_{what}")(part)

    def plant_price_over(self, part: _Part) -> None:
        part.price += self.money() / 10
        self.expect("price_over", part)

    def plant_price_under(self, part: _Part) -> None:
        part.price -= cents(part.price / self.random.randint(3, 9))
        self.expect("price_under", part)

    def plant_billed_not_received(self, part: _Part) -> None:
        self.came[part.order.number, part.line.line][0] -= self.random.randint(1, int(part.line.packs))
        self.expect("billed_not_received", part, self.last_invoice(part))

    def plant_damaged(self, part: _Part) -> None:
        goods = self.came[part.order.number, part.line.line]
        goods[1] = Decimal(self.random.randint(1, int(goods[0])))
        self.expect("billed_not_received", part, self.last_invoice(part))

    def plant_received_not_ordered(self, part: _Part) -> None:
        self.came[part.order.number, part.line.line][0] += self.random.randint(1, 5)
        self.expect("received_not_ordered", part, "")

    def plant_stray(self, part: _Part) -> None:
        self.strays.append(
            Receipt(order=part.order.number, sku="NOBODY", quantity=Decimal(3), received_on=DAY + dt.timedelta(4))
        )
        self.expect("received_not_ordered", part, "", "")

    def plant_not_yet_here(self, part: _Part) -> None:
        """Neither the goods nor the bill of one part have come."""
        self.came[part.order.number, part.line.line][0] -= part.packs
        self.parts.remove(part)
        self.expect("not_yet_here", part, "")

    def plant_other_unit(self, part: _Part) -> None:
        if part.line.pack_qty == 1:
            self.planted.pop()
            return
        content = {"ft": "FOT", "cartridge": "XTU", "each": "EA"}[part.line.unit]
        part.unit, part.quantity = content, part.packs * part.line.pack_qty
        part.price = part.line.pack_price / part.line.pack_qty
        self.expect("other_pack", part)

    def plant_other_pack(self, part: _Part) -> None:
        if part.line.pack_qty == 1:
            self.planted.pop()
            return
        part.sku, part.by_line, part.unit = f"{part.line.sku}-1", False, ""
        part.quantity, part.price = part.packs * part.line.pack_qty, part.line.pack_price / part.line.pack_qty
        self.expect("other_pack", part)

    def plant_strange_unit(self, part: _Part) -> None:
        part.unit = "KGM"
        self.expect("other_pack", part)

    def plant_duplicate(self, part: _Part) -> None:
        self.copies.append((part.invoice, False))

    def plant_repeated(self, part: _Part) -> None:
        self.copies.append((part.invoice, True))

    def plant_wrong_sum(self, part: _Part) -> None:
        part.amount_off = cents(self.random.choice([-1, 1]) * (self.money() / 20 + Decimal("0.01")))
        self.expect("wrong_sum", part)

    def plant_wrong_tax(self, part: _Part) -> None:
        part.tax_off = self.random.choice([-1, 1]) * (self.money() / 20 + Decimal("0.05"))
        part.tax_off = cents(part.tax_off)
        self.expect("wrong_tax", part)

    def plant_unknown_sku(self, part: _Part) -> None:
        self.parts.append(replace(part, sku="NOBODY", by_line=False, packs=Decimal(2), unit=""))
        self.expect("unknown", part, line="")

    def plant_unknown_order(self, part: _Part) -> None:
        part.named, part.by_line = "777777", False
        self.expected.add(("unknown", "777777", "", part.invoice))

    def plant_returned(self, part: _Part) -> None:
        self.returns.append(
            Return(order=part.order.number, sku=part.line.sku, quantity=Decimal(1), returned_on=DAY + dt.timedelta(20))
        )
        self.expect("returned", part, self.last_invoice(part))

    def documents(self) -> list[Document]:
        grouped: dict[str, list[_Part]] = {}
        for part in self.parts:
            grouped.setdefault(part.invoice, []).append(part)
        found, row = [], 1
        for number, parts in grouped.items():
            lines = []
            for part in parts:
                row += 1
                lines.append(part.billed(row))
            date = DAY + dt.timedelta(7 + int(number[-1]))
            made = Document(
                supplier=parts[0].order.supplier,
                number=number,
                date=date,
                lines=tuple(lines),
                place=Place("invoices.csv", row),
            )
            for copied, repeated in self.copies:
                if copied != number:
                    continue
                if repeated and len(parts) == 1 and 2 * parts[0].packs <= parts[0].line.packs:
                    continue  # it may be another delivery
                for part, line in zip(parts, lines, strict=True):
                    known = part.named != "777777" and line.sku != "NOBODY"
                    self.expected.add(
                        ("duplicate", part.order.number if part.named != "777777" else "777777",
                         str(part.line.line) if known else "", number)
                    )  # fmt: skip
                if repeated:
                    made = replace(
                        made, lines=(*lines, *(replace(one, place=Place("invoices.csv", 0)) for one in lines))
                    )
                else:
                    again = tuple(replace(line, place=Place("again.csv", n)) for n, line in enumerate(lines, 2))
                    found.append(replace(made, lines=again, date=date + dt.timedelta(30), number=number.lower()))
            found.append(made)
        return found

    def receipts(self) -> list[Receipt]:
        found = []
        for order in self.orders:
            for line in order.lines:
                good, damaged = self.came[order.number, line.line]
                if good:
                    found.append(
                        Receipt(order=order.number, sku=line.sku, quantity=good, received_on=DAY, damaged=damaged)
                    )
        self.random.shuffle(found)
        return found + self.strays


def planted_set(seed: int) -> PlantedSet:
    """Return a set with 0 to 6 differences, each on an order line of its own; every fifth set has none."""
    maker = _Maker(seed)
    maker.base()
    pool = list({id(part.line): part for part in maker.parts}.values())
    maker.random.shuffle(pool)
    count = 0 if seed % 5 == 0 else maker.random.randint(1, 6)
    copied: set[str] = set()
    for at, part in enumerate(pool[:count]):
        what = PLANTS[(seed * 7 + at * 3 + maker.random.randint(0, 2)) % len(PLANTS)]
        if what in {"duplicate", "repeated"}:
            if part.invoice in copied:
                continue
            copied.add(part.invoice)
        maker.plant(what, part)
    for invoice in copied:  # a copy of a set whose parts were taken out is no copy
        if not any(part.invoice == invoice for part in maker.parts):
            maker.copies = [one for one in maker.copies if one[0] != invoice]
    documents = maker.documents()
    maker.random.shuffle(documents)
    ledger = Ledger(
        orders=tuple(maker.orders), receipts=tuple(maker.receipts()), returns=tuple(maker.returns),
        documents=tuple(documents), prices=tuple(maker.prices), tax_rate=RATE,
    )  # fmt: skip
    return PlantedSet(ledger, maker.expected, maker.planted)
