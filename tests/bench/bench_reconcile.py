"""Print CPU seconds and memory of a reconciliation: ``python tests/bench/bench_reconcile.py``, three minutes.

Up to 50,000 invoice lines against 5,000 orders of 10 lines, one line in 50 with a difference; in memory (the match
and what becomes of its findings), and from a book on the disk to the workbook. Each size runs in a process of its own;
the memory is its peak, with Python and all libraries.
"""

from __future__ import annotations

import datetime as dt
import gc
import os
import random
import resource
import sys
import tempfile
import time
from decimal import Decimal
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from books import book_folder
from purchases import DAY, bill, came, invoice, line, order

from baybook.buying.match import Ledger, match
from baybook.buying.orders import ORDER_COLUMNS, rows_of
from baybook.buying.settle import settle
from baybook.files.table import write_table
from baybook.ledger import reconcile

LINES = 10
SIZES = (625, 1_250, 2_500, 5_000)


def ledger(orders: int) -> Ledger:
    """Make orders of 10 lines, all received and billed, an invoice an order; one line in 50 is billed wrong."""
    dice = random.Random(orders)
    made, receipts, documents = [], [], []
    for number in range(1, orders + 1):
        name = f"{number:04d}"
        lines = [line(row, dice.randint(1, 40), f"{dice.randint(100, 9000) / 100:.2f}") for row in range(1, LINES + 1)]
        made.append(order(*lines, number=name))
        receipts += [came(one.line, one.packs, order=name) for one in lines]
        bills = []
        for one in lines:
            price = one.pack_price + (Decimal("0.40") if dice.random() < 0.02 else 0)
            bills.append(bill(one.line, one.packs, price, order=name))
        documents.append(invoice(*bills, number=f"A-{name}"))
    return Ledger(orders=tuple(made), receipts=tuple(receipts), documents=tuple(documents))


def in_memory(orders: int) -> tuple[float, int]:
    made = ledger(orders)
    gc.collect()
    start = time.process_time()
    found = settle(match(made))
    return time.process_time() - start, sum(one.state == "open" for one in found)


def on_disk(orders: int) -> tuple[float, int]:
    made = ledger(orders)
    with tempfile.TemporaryDirectory() as name:
        book = book_folder(Path(name) / "book")
        (book / "orders").mkdir()
        for one in made.orders:
            write_table(book / "orders" / f"{one.name}.csv", ORDER_COLUMNS, rows_of(one))
        write_table(
            book / "receipts.csv", ("order", "sku", "quantity", "received_on"),
            ((one.order, one.sku, one.quantity, one.received_on) for one in made.receipts),
        )  # fmt: skip
        write_table(
            book / "invoices.csv",
            ("supplier", "invoice", "invoice_date", "order", "sku", "quantity", "unit_price", "amount"),
            (
                (doc.supplier, doc.number, doc.date, one.order, one.sku, one.quantity, one.unit_price, one.amount)
                for doc in made.documents
                for one in doc.lines
            ),
        )
        del made
        start = time.process_time()
        found = reconcile(book, None, DAY, dt.datetime(2026, 11, 25))  # noqa: DTZ001 - a wall clock as the log shows it
        return time.process_time() - start, len(found.open)


def apart(work, orders: int) -> str:
    """Run the work in a forked process; return seconds, open findings and the peak of its memory. [MiB]."""
    read_end, write_end = os.pipe()
    child = os.fork()
    if not child:
        seconds, count = work(orders)
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        os.write(write_end, f"{seconds} {count} {peak}".encode())
        os._exit(0)
    os.close(write_end)
    os.waitpid(child, 0)
    with os.fdopen(read_end) as answer:
        return answer.read()


def main() -> None:
    print(f"{'':28}{'orders':>8}{'lines':>8}{'open':>7}{'s':>8}{'us/line':>9}{'MiB':>7}")  # noqa: T201 - a script
    for what, work in (("match in memory", in_memory), ("book to workbook", on_disk)):
        for orders in SIZES:
            seconds, count, peak = map(float, apart(work, orders).split())
            lines = orders * LINES
            print(  # noqa: T201 - a script
                f"{what:28}{orders:8,}{lines:8,}{count:7,.0f}{seconds:8.2f}{seconds / lines * 1e6:9.1f}{peak:7.0f}"
            )


if __name__ == "__main__":
    main()
