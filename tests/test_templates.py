"""The templates: current, empty as they stand, and a book that reads without problems once uncommented."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from pathlib import Path

import pytest

from baybook.buying.records import BUYING_FILES, Settings
from baybook.files.book import read_book
from baybook.files.orders import read_buying
from baybook.files.table import read_table
from baybook.files.templates import template_tables, template_texts, write_templates
from baybook.job.fields import fields_of
from baybook.job.rates import WASTE_DEFAULTS, Rates, waste_field
from baybook.job.reading import BOOK_FILES
from baybook.job.records import ITEMS, Area, Job
from baybook.problems import BookError

SOURCES = Path(__file__).parents[1] / "templates"
TODAY = dt.date(2026, 11, 25)
BUYING = [name for name in BUYING_FILES if name not in {*BOOK_FILES, "settled"}]


def uncommented(name: str) -> str:
    """Return a template as a person leaves it who takes the ``#`` off every row that is no explanation."""
    lines = template_texts()[f"{name}.csv"].splitlines()
    kept = [line for line in lines if not line.startswith(("# ", '"# '))]
    return "\n".join(line.removeprefix("#") for line in kept)


@pytest.fixture
def book(tmp_path):
    for name in BOOK_FILES:
        (tmp_path / f"{name}.csv").write_text(uncommented(name), encoding="utf-8")
    return tmp_path


def test_the_folder_of_the_sources_is_current():
    found = {path.name: path.read_text(encoding="utf-8") for path in SOURCES.iterdir()}
    assert found == template_texts(), "run: python -m baybook.files.templates templates"


def test_every_file_of_a_book_has_one():
    assert list(template_tables())[: len(BOOK_FILES)] == list(BOOK_FILES)


def test_every_file_of_buying_has_one_but_the_log():
    assert list(template_tables())[len(BOOK_FILES) :] == [*BUYING, "buying"]


@pytest.mark.parametrize("name", [*BOOK_FILES, *BUYING, "buying"])
def test_nothing_of_it_is_read_as_it_stands(tmp_path, name):
    write_templates(tmp_path)
    table = read_table(tmp_path / f"{name}.csv")
    assert table.rows == ()
    assert table.header == template_tables()[name].header
    assert len(uncommented(name).splitlines()) > 1


def test_uncommented_it_is_a_book(book):
    (one,) = read_book(book, TODAY)
    assert (one.job.job, one.job.quoted_on, one.job.rain_in_per_h) == ("HB-014", dt.date(2026, 6, 15), 5.0)
    parts = ("areas", "framing", "liners", "prices", "extras", "overrides", "stock", "posts", "codes", "acceptances")
    assert {name: len(getattr(one, name)) for name in parts} == dict.fromkeys(parts, 1)


def test_uncommented_the_files_of_buying_are_read(book):
    for name in (*BUYING, "buying"):
        (book / f"{name}.csv").write_text(uncommented(name), encoding="utf-8")
    found = read_buying(book)
    assert [len(rows) for rows in (found.receipts, found.returns, found.documents, found.hours)] == [1, 1, 1, 1]
    keys = [row[1] for row in template_tables()["buying"].rows]
    assert keys == [one.name for one in fields_of(Settings)]
    assert (found.settings("").buyer, str(found.settings("").tax_rate)) == ("Your Decks", "0.0825")


def test_what_it_shows_is_the_default_wherever_there_is_one(book):
    (one,) = read_book(book, TODAY)
    for record, held in ((Job, one.job), (Area, one.areas[0])):
        shown = {each.attribute: each.default for each in fields_of(record) if not each.required and not each.example}
        shown.pop("liner", None)  # settled by the reading: the only one
        assert {name: getattr(held, name) for name in shown} == shown


def test_the_rates_are_the_defaults(book):
    (one,) = read_book(book, TODAY)
    plain = Rates()
    differ = {each.name for each in fields_of(Rates) if getattr(one.rates, each.name) != getattr(plain, each.name)}
    assert differ == {"leader_capacity_gpm"}, "a rule works it out unless it is given, so there is no default to show"
    assert {code: one.rates.waste_of(code) for code in ITEMS} == {code: plain.waste_of(code) for code in ITEMS}


def test_every_rate_is_in_it():
    keys = [row[1] for row in template_tables()["rates"].rows]
    waste = [waste_field(code).name for code, item in ITEMS.items() if not item.cut]
    assert sorted(keys) == sorted([*(one.name for one in fields_of(Rates)), *waste])
    assert {f"waste_{code}" for code in WASTE_DEFAULTS} <= set(waste)


def test_a_file_with_rows_is_named_and_kept(book):
    write_templates(book / "new")
    (book / "new" / "jobs.csv").write_text("job\nmine\n", encoding="utf-8")
    (book / "new" / "areas.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BookError) as found:
        write_templates(book / "new")
    assert [problem.source for problem in found.value.problems] == ["jobs.csv", "areas.csv"]
    assert (book / "new" / "jobs.csv").read_text(encoding="utf-8") == "job\nmine\n"


def test_an_older_template_is_brought_up_to_date(tmp_path):
    (tmp_path / "stock.csv").write_text("item,length\n#liner,7 ft\n", encoding="utf-8")
    write_templates(tmp_path)
    assert (tmp_path / "stock.csv").read_text(encoding="utf-8") == template_texts()["stock.csv"]


def test_the_command(tmp_path):
    command = [sys.executable, "-m", "baybook.files.templates"]
    assert subprocess.run([*command, str(tmp_path / "new")], check=False).returncode == 0
    assert {path.name for path in (tmp_path / "new").iterdir()} == set(template_texts())
    refused = subprocess.run(command, check=False, capture_output=True, text=True)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "FOLDER" in refused.stderr
