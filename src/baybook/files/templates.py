"""The files a book begins with: every column and key, what it means, and an example, made from the declarations.

``python -m baybook.files.templates FOLDER`` writes them; the templates folder of the sources is made so.
"""

from __future__ import annotations

import csv
import io
import os
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from baybook.buying.records import BUYING_FILES, Settings
from baybook.files.example import ready_folder
from baybook.files.table import read_table
from baybook.files.write import write_bytes
from baybook.job.fields import Field, fields_of, show
from baybook.job.quote import PLAIN_ROWS
from baybook.job.rates import Rates, rate_field
from baybook.job.reading import BOOK_FILES
from baybook.job.records import (
    ITEMS,
    Acceptance,
    Area,
    CodeRow,
    Extra,
    Framing,
    Job,
    Liner,
    Measured,
    Override,
    Post,
    PriceRow,
    QuoteRow,
    StockPiece,
    Supplier,
)
from baybook.problems import BookError, FileRefused, Problem

__all__ = ["Template", "template_tables", "template_texts", "write_templates"]

_RECORDS: Mapping[str, type] = {
    "jobs": Job,
    "areas": Area,
    "framing": Framing,
    "measured": Measured,
    "liners": Liner,
    "prices": PriceRow,
    "extras": Extra,
    "overrides": Override,
    "stock": StockPiece,
    "posts": Post,
    "suppliers": Supplier,
    "codes": CodeRow,
    "acceptances": Acceptance,
    "quote": QuoteRow,
}
_KEPT_BY_COMMANDS = {"settled"}  # logs that no person writes
_NO_DEFAULT: Mapping[str, str] = {"leader_capacity_gpm": "22.6"}  # a rate that a rule works out unless it is given


@dataclass(frozen=True, slots=True)
class Template:
    """A file as it is handed out.

    Parameters
    ----------
    header : tuple of str
        The column names.
    meanings : tuple of str
        What each column holds; empty for rates.csv, which says it in a column of its own.
    rows : tuple of tuple of str
        Rows that can be used as they are; in the file they begin with ``#``.
    """

    header: tuple[str, ...]
    meanings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def _meaning(one: Field) -> str:
    words = f": {', '.join(one.choices)}" if one.choices else ""
    return f"{one.help}{words}{' (needed)' if one.required else ''}"


def _example(one: Field) -> str:
    return one.example or show(one, one.default)


def _of_record(record: type) -> Template:
    declared = fields_of(record)
    return Template(
        header=tuple(one.name for one in declared),
        meanings=tuple(_meaning(one) for one in declared),
        rows=(tuple(_example(one) for one in declared),),
    )


def _rate_fields() -> list[Field]:
    wasted = [rate_field(f"waste_{code}") for code in ITEMS]
    return [*fields_of(Rates), *(one for one in wasted if one is not None)]


def _of_rates() -> Template:
    rows = []
    for one in _rate_fields():
        basis = ", ".join(filter(None, (one.rule, one.basis)))
        meaning = _meaning(one) + (f" ({basis})" if basis else "")
        rows.append(("", one.name, _example(one) or _NO_DEFAULT[one.name], meaning))
    return Template(("job", "key", "value", "x_meaning"), (), tuple(rows))


def _of_quote() -> Template:
    """Return the template with a row of each kind, and the words that count where a book has none of its own."""
    plain = _of_record(QuoteRow)
    names = plain.header
    samples: list[Mapping[str, str]] = [
        {"kind": "payment", "words": "deposit", "share": "30%", "when": "on signing"},
        {"kind": "payment", "words": "the rest", "when": "when the work is done and has passed its water test"},
        {"job": "HB-014", "kind": "option", "words": "the same with the gutter on the house side", "of": "HB-014-B"},
        {"job": "HB-014", "kind": "option", "words": "screens over the gutter drops", "amount": "48.00"},
        *({"kind": row.kind, "words": row.words} for row in PLAIN_ROWS if row.kind != "payment"),
    ]
    return Template(names, plain.meanings, tuple(tuple(row.get(name, "") for name in names) for row in samples))


def _of_settings() -> Template:
    rows = tuple(("", one.name, _example(one), _meaning(one)) for one in fields_of(Settings))
    return Template(("job", "key", "value", "x_meaning"), (), rows)


def template_tables() -> dict[str, Template]:
    """Return the template of each file of a book, by its name without ``.csv``, in the order read; then of buying."""
    made = {"rates": _of_rates, "quote": _of_quote}
    book = {name: made[name]() if name in made else _of_record(_RECORDS[name]) for name in BOOK_FILES}
    buying = {name: _of_record(one) for name, one in BUYING_FILES.items() if name not in {*book, *_KEPT_BY_COMMANDS}}
    return {**book, **buying, "buying": _of_settings()}


def template_texts() -> dict[str, str]:
    """Return the templates as CSV, file name to text; all rows but the header begin with ``#``, so none is read."""
    texts = {}
    for name, one in template_tables().items():
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(one.header)
        if one.meanings:
            writer.writerow((f"# {one.meanings[0]}", *one.meanings[1:]))
        writer.writerows((f"#{row[0]}", *row[1:]) for row in one.rows)
        texts[f"{name}.csv"] = text.getvalue()
    return texts


def write_templates(folder: str | os.PathLike[str]) -> Path:
    """Write the templates into a folder; a file that holds rows of its own is never overwritten.

    Parameters
    ----------
    folder : path
        The folder, made if it is not there.

    Returns
    -------
    Path
        The folder.

    Raises
    ------
    BookError
        If files of the book's names hold rows: all of them are named and nothing is written.
    WriteFailed
        If a file cannot be written.
    """
    place = ready_folder(folder)
    texts = template_texts()
    used = [name for name in texts if os.path.lexists(place / name) and _holds_rows(place / name)]
    if used:
        message = f"in {folder} holds rows of its own; choose an empty folder"
        raise BookError([Problem(name, 0, "", message) for name in used])
    for name, text in texts.items():
        write_bytes(place / name, text.encode("utf-8"), inside=place)
    return place


def _holds_rows(path: Path) -> bool:
    try:
        return bool(read_table(path).rows)
    except FileRefused:
        return True  # whatever it is, it is not ours


def main() -> None:
    """Write the templates into the folder named on the command line."""
    if len(sys.argv) != 2:
        sys.stderr.write("usage: python -m baybook.files.templates FOLDER\n")
        sys.exit(2)
    try:
        write_templates(sys.argv[1])
    except BookError as found:
        sys.exit(str(found))


if __name__ == "__main__":
    main()
