"""Commands on inputs broken at random, as a person at the command line meets them."""

from __future__ import annotations

import random
import shutil
from dataclasses import dataclass
from pathlib import Path

import books
import fuzzing
import mutations
from click.testing import CliRunner, Result

from baybook.cli import main

EPOCH = "1782898200"  # 2026-07-01 09:30 UTC
OF_A_BOOK = (
    ["check"],
    ["takeoff"],
    ["takeoff", "--json"],
    ["build", "--out", "OUT"],
    ["build", "--out", "OUT", "--force"],
    ["compare", "--json"],
    ["order"],
    ["order", "--job", "D8"],
    ["order", "--job", "D8", "--together", "--below-minimum"],
    ["order", "--revise", "0001"],
    ["reconcile"],
    ["reconcile", "--accept", "3f9a0c1b2d", "--by", "Ann"],
    ["reconcile", "--withdraw", "3f9a0c1b2d", "--by", "Ann"],
    ["reprice", "--prices", "LIST", "--jobs", "1", "--dry-run"],
)
OF_A_WORKBOOK = (["refresh"], ["refresh", "--dry-run"], ["verify"], ["export", "--out", "OUT"])


@dataclass(frozen=True, slots=True)
class Ran:
    """What was typed, the file that was broken, and what came of it."""

    arguments: tuple[str, ...]
    broken: str
    result: Result

    @property
    def well(self) -> bool:
        """Whether it ended as a command may: with a status that is documented, in sentences of ours."""
        if not isinstance(self.result.exception, SystemExit | None):
            return False
        said = self.result.output
        fault = "a fault of baybook" in said or "Traceback" in said
        return self.result.exit_code in {0, 1, 2, 3} and not fault and bool(said.strip())


def run(*arguments: str) -> Result:
    return CliRunner().invoke(main, arguments, env={"SOURCE_DATE_EPOCH": EPOCH, "BAYBOOK_DEBUG": "1"})


def _book(folder: Path) -> Path:
    """Write a book with everything in it that may be read of one."""
    book = books.book_folder(folder, job={"status": "won"}, rates={"narrow_bay_in": "5"})
    for name, text in fuzzing.BUYING.items():
        (book / name).parent.mkdir(exist_ok=True)
        (book / name).write_text(text, encoding="utf-8")
    (book / "rainfall.csv").write_bytes(fuzzing.RAIN.read_bytes())
    for number, data in enumerate(fuzzing.xml_seeds()):
        kind = "receipts" if b"<ReceiptAdvice" in data else "invoices"
        if b"<Order" not in data[:10]:
            (book / kind).mkdir(exist_ok=True)
            (book / kind / f"{number}.xml").write_bytes(data)
    return book


def broken_book(chance: random.Random, folder: Path) -> Ran:
    """Break a file of a book, or two, and run a command on it."""
    shutil.rmtree(folder, ignore_errors=True)
    book = _book(folder / "book")
    prices = folder / "list.csv"
    prices.write_bytes(fuzzing.plain_book()["prices.csv"])
    files = [*sorted(path for path in book.rglob("*") if path.is_file()), prices]
    names = []
    for path in chance.sample(files, chance.choice((1, 1, 2))):
        change = (
            mutations.by_elements if path.suffix == ".xml" else chance.choice((fuzzing.in_a_table, fuzzing.one_value))
        )
        try:
            path.write_bytes(change(chance, path.read_bytes()))
        except (ValueError, IndexError):  # it is no table such as this change is for
            path.write_bytes(mutations.by_bytes(chance, path.read_bytes()))
        names.append(path.relative_to(folder).as_posix())
    words = [{"OUT": str(folder / "out"), "LIST": str(prices)}.get(word, word) for word in chance.choice(OF_A_BOOK)]
    arguments = (words[0], str(book), *words[1:])
    return Ran(arguments, ", ".join(names), run(*arguments))


def broken_workbook(chance: random.Random, folder: Path) -> Ran:
    """Break a workbook and run a command on it."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    path = folder / "deck.xlsx"
    path.write_bytes(fuzzing.cells_or_parts(chance, fuzzing.our_workbook()))
    words = [{"OUT": str(folder / "out")}.get(word, word) for word in chance.choice(OF_A_WORKBOOK)]
    arguments = (words[0], str(path), *words[1:])
    return Ran(arguments, path.name, run(*arguments))
