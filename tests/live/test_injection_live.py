"""Words from outside stay words: whatever a book's texts begin with, no program takes them for a formula or a link."""

from __future__ import annotations

import socket
import threading

import openpyxl
import pytest
import standard
from books import csv_text, deck, inputs_of, offer, prices_with
from live.programs import compare, needs, read_values, shared_calc
from live.recalculated import PROGRAMS, WHEN, by_libreoffice

from baybook.estimate import build_estimate
from baybook.job.fields import Kind, fields_of
from baybook.job.records import (
    LINER_ITEMS,
    Acceptance,
    Area,
    CodeRow,
    Extra,
    Framing,
    Job,
    Liner,
    Override,
    PriceRow,
    StockPiece,
)
from baybook.workbook.build import make_workbook
from baybook.workbook.declare import Text, column_letter

pytestmark = pytest.mark.live

RISKY = ("=", "+", "-", "@", "\t", "\r", "'")
PREFIXES = {
    "job": Job,
    "a": Area,
    "f": Framing,
    "l": Liner,
    "v": PriceRow,
    "e": Extra,
    "h": Override,
    "r": StockPiece,
    "code": CodeRow,
    "acc": Acceptance,
}


def texts(port: int) -> list[str]:
    """Return texts that act where they are taken for formulas."""
    here = f"http://127.0.0.1:{port}/"
    return [
        "=1+1",
        "+1+1",
        "-1+1",
        "@SUM(1,1)",
        "'=1+1",
        f'=HYPERLINK("{here}","x")',
        f'=WEBSERVICE("{here}")',
        "=cmd|' /C x'!A0",
        '=DDE("soffice";"/etc/passwd";"A1")',
        "='file:///etc/passwd'#$Sheet1.A1",
        "=[1]Sheet1!A1",
        "-2+3+cmd|' /C x'!A0",
        "#N/A",
        "{=1+1}",
    ]


NAMES = ("+1+1", "-1+1", "@SUM(1,1)")  # a name may not begin with =
TODAY = "2026-06-15"


def book(words: list[str]):
    """Return a deck whose every text begins with what may act; the words go round."""
    turn = iter(words * 10)
    name = {"job": "+1+1"}
    prices = [
        {
            **row,
            "supplier": NAMES[at % 3],
            "sku": f"-{at}+1",
            "description": next(turn),
            "liner": "@SUM(1,1)" if row["item"] in LINER_ITEMS else "",
        }
        for at, row in enumerate(prices_with({}))
        if row["item"] != "seam_tape"
    ]
    prices.append(
        offer("seam_tape", "18.75", supplier="-1+1", sku="@t", pack_qty=50, unit="ft", description=next(turn))
    )
    prices += [
        offer(f"gutter_corner_{side}", "9.10", supplier="-1+1", sku=f"@{side}", description=next(turn))
        for side in ("out", "in")
    ]
    drawn = {"width": None, "projection": None, "outline": "-1,0; 15,0; 15,9; 11,12; -1,12"}
    return deck(
        job={**name, "customer": next(turn), "site": next(turn), "notes": next(turn), "permit": next(turn)},
        areas=[
            {**name, "area": "-1+1", "liner": "@SUM(1,1)", "gutter_line": "+both", **drawn},
            {**name, "area": "@SUM(1,1)", "liner": "@SUM(1,1)", "gutter_line": "+both"},
        ],
        framing=[{**name, "area": "-1+1", "kind": "dropped_beam", "y": "11 ft 6 in", "plies": 3}],
        liner={"liner": "@SUM(1,1)", "source": next(turn)},
        prices=prices,
        extras=[
            {**name, "description": word, "unit": next(turn), "quantity": 1, "unit_cost": 1, "kind": "other"}
            for word in words
        ],
        overrides=[{**name, "item": "strap", "quantity": 4, "note": next(turn)}],
        stock=[{"item": "gutter", "length": "40 in", "quantity": 1, "location": next(turn)}],
        codes=csv_text(
            [{"job": "", "kind": "gutter", "size": "+1+1", "capacity_gpm": 40, "code": words[0], "edition": words[1]}]
        ),
        acceptances=csv_text(
            [{**name, "rule": "G9", "where": "-1+1", "person": next(turn), "reason": next(turn), "on": TODAY}]
        ),
    )


@pytest.fixture
def listener():
    """A port of this machine, and whoever called at it."""
    callers = []
    with socket.create_server(("127.0.0.1", 0)) as server:
        server.settimeout(0.1)
        over = threading.Event()

        def listen():
            while not over.is_set():
                try:
                    server.accept()[0].close()
                except TimeoutError:
                    continue
                callers.append(1)

        thread = threading.Thread(target=listen)
        thread.start()
        yield server.getsockname()[1], callers
        over.set()
        thread.join()


def declared(made):
    """Return every value a person should see: what was declared, and what the formulas give."""
    found = {(sheet, f"{column_letter(col)}{row}"): value for (sheet, row, col), value in made.values.items()}
    for cell in made.layout.cells():
        if cell.formula is None and isinstance(cell.value, str) and not isinstance(cell.declaration, Text):
            found[cell.sheet, f"{column_letter(cell.col)}{cell.row}"] = cell.value
    return found


def risky(made):
    """Return the cells whose declared text would act."""
    return {at: text for at, text in declared(made).items() if isinstance(text, str) and text.startswith(RISKY)}


def test_no_text_of_a_book_acts(tmp_path, listener):
    needs("soffice")
    needs("ssconvert")
    port, callers = listener
    made = make_workbook(build_estimate(inputs_of(book(texts(port)))), WHEN)
    for prefix, record in PREFIXES.items():  # no text of a book has been forgotten
        for one in fields_of(record):
            key = f"{prefix}_{one.name}"
            if (
                one.kind in {Kind.TEXT, Kind.NAME}
                and key in made.layout.names
                and one.name not in {"item", "rule", "unit"}
            ):
                sheet, row, col = made.layout.address(key)
                assert declared(made)[sheet, f"{column_letter(col)}{row}"].startswith((*RISKY, "#", "{")), key

    path = tmp_path / "book.xlsx"
    path.write_bytes(made.data)
    said = standard.findings(standard.Book.of(made))
    assert [one for one in said if not one.startswith("words_are_words")] == []  # these words hold a #
    ours = declared(made)
    assert len(risky(made)) > 80
    for program, recalculated in PROGRAMS.items():
        assert compare(ours, recalculated(path, tmp_path), list(ours)) == [], program
    assert callers == []


def test_they_are_marked_as_text_and_stay_it_when_libreoffice_saves(tmp_path, listener):
    needs("soffice")
    port, callers = listener
    made = make_workbook(build_estimate(inputs_of(book(texts(port)))), WHEN)
    path, saved = tmp_path / "book.xlsx", tmp_path / "saved.xlsx"
    path.write_bytes(made.data)
    calc = shared_calc()
    calc.open(path)
    calc.save_as(saved)
    for file, is_ours in ((path, True), (saved, False)):
        sheets = openpyxl.load_workbook(file)
        for (sheet, cell), text in risky(made).items():
            found = sheets[sheet][cell]
            if found.data_type == "f":  # a formula of ours that repeats the text
                assert (sheet, found.row, found.column) in made.values
            else:
                assert (found.data_type, found.value) == ("s", text)
                assert found.quotePrefix or not is_ours, f"{sheet}!{cell} acts once it is edited"
    assert read_values(saved).keys() >= risky(made).keys()
    assert callers == []


def test_as_formulas_they_would_act(tmp_path):
    """The checks above can fail: the same words, written without care."""
    needs("soffice")
    careless = openpyxl.Workbook()
    careless.active["A1"], careless.active["A2"] = "=1+1", "'=1+1"
    careless.save(tmp_path / "careless.xlsx")
    values = by_libreoffice(tmp_path / "careless.xlsx", tmp_path)
    assert (values["Sheet", "A1"], values["Sheet", "A2"]) == (2, "'=1+1")
