"""Workbooks made through a template against the same workbooks written by openpyxl, cell by cell."""

from __future__ import annotations

import dataclasses
import datetime as dt
import io
import re
import zipfile
import zlib

import books
import openpyxl
import pytest
from defusedxml import ElementTree
from limit_books import limit_estimate
from waterbooks import wet_estimate

from baybook.files.guard import check_workbook
from baybook.workbook import template
from baybook.workbook.build import spec_of, title_of, written
from baybook.workbook.columnwise import Irregular
from baybook.workbook.declare import layout
from baybook.workbook.evaluate import evaluate
from baybook.workbook.prove import Disagreement
from baybook.workbook.read import book_of, read_workbook
from baybook.workbook.refresh import refreshed
from baybook.workbook.roomy import roomy
from baybook.workbook.shape import lacking, shape_of
from baybook.workbook.template import Templates, wanted
from baybook.workbook.xlsx import page_heading
from baybook.workbook.zipped import entry, packed, piece, zip_of

WHEN = dt.datetime(2026, 6, 15, 12, 0)  # noqa: DTZ001  the file holds no zone


def by_openpyxl(estimate, when=WHEN):
    """Return the workbook as openpyxl writes it, in the same shape."""
    spec = spec_of(estimate, when, wanted(estimate))
    placed = layout(spec)
    return written(spec, placed, evaluate(spec, placed), estimate, when)


def seen(data):
    """Return every cell: formula, value and its type, style; and the titles of the sheets."""
    book = book_of(data, "job.xlsx")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        looks = looks_of(package.read("xl/styles.xml"))
    return list(book.parts), {
        (title, *place): (cell.formula, cell.value, type(cell.value), looks[int(cell.style)])
        for title, scan in book.scans.items()
        for place, cell in scan.cells.items()
    }


def looks_of(xml):
    """Return what each style of a file is: alignment first, then font, fill, border, format and the rest as XML."""
    root = ElementTree.fromstring(xml)
    space = root.tag.partition("}")[0] + "}"

    def listed(name):
        return [ElementTree.tostring(one).decode() for one in root.find(space + name) or ()]

    fonts, fills, borders = map(listed, ("fonts", "fills", "borders"))
    formats = {one.get("numFmtId"): one.get("formatCode") for one in root.find(space + "numFmts") or ()}
    return [
        (
            dict(one.find(space + "alignment").attrib) if one.find(space + "alignment") is not None else {},
            fonts[int(one.get("fontId"))],
            fills[int(one.get("fillId"))],
            borders[int(one.get("borderId"))],
            formats.get(one.get("numFmtId"), one.get("numFmtId")),
            [ElementTree.tostring(each).decode() for each in one if not each.tag.endswith("alignment")],
            one.get("quotePrefix"),
        )
        for one in root.find(space + "cellXfs")
    ]


def differing(left, right):
    """Return the cells in which two workbooks differ, but for the look of lines of text."""
    (titles, one), (others, two) = seen(left), seen(right)
    assert titles == others
    assert len(one) > 15_000
    return [
        (at, one.get(at), two.get(at))
        for at in one.keys() | two.keys()
        if one.get(at) != two.get(at) and not _is_line(at, one.get(at), two.get(at))
    ]


def _is_line(at, one, two):
    """Tell a line of text: in a template it has room for a long one, and so is wrapped, in all cases."""
    if not one or not two or one[:3] != two[:3] or at[2] != 1 or not isinstance(one[1], str):
        return False
    return one[3][1:] == two[3][1:] and one[3][0].get("wrapText") == "1"


@pytest.fixture(scope="module")
def templates():
    return Templates()


@pytest.mark.parametrize(
    ("make", "seed"), [(books.random_estimate, 0), (books.random_estimate, 2), (limit_estimate, 1), (wet_estimate, 1)]
)
def test_every_cell_is_the_one_that_openpyxl_writes(templates, make, seed):
    estimate = make(seed)
    made, expected = templates.workbook(estimate, WHEN), by_openpyxl(estimate)
    assert differing(made, expected) == []


def test_columns_are_as_wide_and_rows_as_high_as_openpyxl_makes_them(templates):
    for seed in (2,):
        estimate = books.random_estimate(seed)
        made = openpyxl.load_workbook(io.BytesIO(templates.workbook(estimate, WHEN)))
        expected = openpyxl.load_workbook(io.BytesIO(by_openpyxl(estimate)))
        for sheet, other in zip(made, expected, strict=True):
            for letters, column in other.column_dimensions.items():
                assert sheet.column_dimensions[letters].width >= column.width, (seed, sheet.title, letters)
            for number, row in other.row_dimensions.items():
                if row.height and number > 4:
                    assert (sheet.row_dimensions[number].height or 15) >= row.height, (seed, sheet.title, number)


def test_the_rest_of_the_file_is_that_of_openpyxl_too(templates):
    """Validation, colours, printing, protection, names, charts, properties."""
    estimate = books.random_estimate(3)
    made, expected = (
        {name: package.read(name).decode() for name in package.namelist()}
        for package in map(
            zipfile.ZipFile, map(io.BytesIO, (templates.workbook(estimate, WHEN), by_openpyxl(estimate)))
        )
    )
    assert made.keys() == expected.keys()
    for name, xml in expected.items():
        if name.startswith("xl/worksheets/sheet"):
            tail, other = (
                re.sub(r"<mergeCells.*?</mergeCells>", "", one[one.index("</sheetData>") :])
                for one in (made[name], xml)
            )
            assert re.sub(r'dxfId="\d+"', "", tail) == re.sub(r'dxfId="\d+"', "", other), name
        elif name != "xl/styles.xml":
            assert made[name] == xml, name


def test_words_from_outside_are_words(templates):
    estimate = books.random_estimate(1)
    for number, (job, customer) in enumerate(
        (
            ("J 7", "line\nbreak\tand \x07bell"),
            ("A&B", "<Oak> & 'Sons' Zoë" * 20),
            ("T", "THEJOBANDITSCUSTOMER"),
        )
    ):
        named = dataclasses.replace(estimate.inputs.job, job=job, customer=customer, notes="=HYPERLINK(1)\n" * 5)
        estimate = dataclasses.replace(estimate, inputs=dataclasses.replace(estimate.inputs, job=named))
        made = templates.workbook(estimate, WHEN)
        if not number:
            assert differing(made, by_openpyxl(estimate)) == []
        _, cells = seen(made)
        assert ("Job", 6, 2) in cells
        with zipfile.ZipFile(io.BytesIO(made)) as package:
            core = ElementTree.fromstring(package.read("docProps/core.xml"))
            titles = [one.text for one in core if one.tag.endswith("}title")]
            head = ElementTree.fromstring(package.read("xl/worksheets/sheet1.xml"))
        assert titles == [title_of(estimate)]
        (shown,) = [one.text for one in head.iter() if one.tag.endswith("}oddHeader")]
        assert shown == f"&L{page_heading(title_of(estimate))}&R&A"


def test_the_same_job_gives_the_same_bytes_whatever_was_made_before(templates):
    estimates = [books.random_estimate(seed) for seed in (5, 2, 5)]
    warm = [templates.workbook(estimate, WHEN) for estimate in estimates]
    assert warm[0] == warm[2]
    assert Templates().workbook(estimates[0], WHEN) == warm[0]


def test_only_so_many_templates_are_kept():
    few = Templates(most=1)
    one, two = books.random_estimate(0), books.random_estimate(1)
    assert wanted(one) != wanted(two)
    first = few.workbook(one, WHEN)
    few.workbook(two, WHEN)
    assert len(few._kept) == 1
    assert few.workbook(one, WHEN) == first


def test_the_file_passes_the_guard_and_is_read_back(templates, tmp_path):
    path = tmp_path / "job.xlsx"
    estimate = books.random_estimate(2)
    path.write_bytes(templates.workbook(estimate, WHEN))
    assert check_workbook(path)
    made = refreshed(read_workbook(path), WHEN)
    assert made.cells == ()
    assert made.after == float(estimate.totals.price)


def test_a_workbook_that_the_engine_disagrees_with_is_not_made(templates):
    estimate = books.random_estimate(2)
    wrong = dataclasses.replace(estimate.totals, price=estimate.totals.price + 1)
    with pytest.raises(Disagreement, match="total_price"):
        templates.workbook(dataclasses.replace(estimate, totals=wrong), WHEN)


def test_what_does_not_fit_the_template_is_written_by_openpyxl(templates, monkeypatch):
    estimate = books.random_estimate(2)
    usual = templates.workbook(estimate, WHEN)
    monkeypatch.setattr(template.Template, "fits", lambda *_: False)
    other = templates.workbook(estimate, WHEN)
    assert other == by_openpyxl(estimate)
    assert other != usual
    monkeypatch.undo()

    def great(*_):
        raise Irregular("key")

    monkeypatch.setattr(template.Columnwise, "work_out", great)
    assert templates.workbook(estimate, WHEN) == other


def test_a_template_knows_workbooks_that_differ_in_more_than_values():
    estimate = books.random_estimate(2)
    spec = spec_of(estimate, WHEN, wanted(estimate))
    made = template.Template(spec, wanted(estimate), "us")
    assert made.fits(spec)
    first = spec.sheets[0]
    changed = [
        dataclasses.replace(first, purpose="another"),
        dataclasses.replace(first, parts=first.parts[:-1]),
        dataclasses.replace(first, parts=(*first.parts[:-1], dataclasses.replace(first.parts[-1], lines=("other",)))),
        dataclasses.replace(first, parts=(dataclasses.replace(first.parts[0], title="other"), *first.parts[1:])),
    ]
    for sheet in changed:
        assert not made.fits(dataclasses.replace(spec, sheets=(sheet, *spec.sheets[1:])))
    assert not made.fits(dataclasses.replace(spec, sheets=spec.sheets[1:]))
    assert not made.fits(dataclasses.replace(spec, lists={**spec.lists, "list_status": ("won",)}))


@pytest.mark.parametrize("name", ["segments", "members", "pieces"])
def test_a_shape_larger_than_the_largest_stays_as_it_is(name):
    exact = shape_of(books.random_estimate(0))
    large = dataclasses.replace(exact, **{name: 5000})
    assert getattr(roomy(exact), name) < 5000
    assert getattr(roomy(large), name) == 5000


def test_a_roomy_shape_holds_the_job_and_there_are_few():
    shapes = set()
    for seed in range(60):
        estimate = books.random_estimate(seed)
        exact, made = shape_of(estimate), roomy(shape_of(estimate))
        assert lacking(estimate, made) == []
        assert all(
            getattr(made, field.name) >= getattr(exact, field.name)
            for field in dataclasses.fields(exact)
            if isinstance(getattr(exact, field.name), int)
        )
        shapes.add(
            dataclasses.replace(
                made, liners=0, lengths=0, offers=0, suppliers=0, extras=0, overrides=0, offcuts=0, sizes=()
            )
        )
    assert len(shapes) <= 20


# ---------------------------------------------------------------------------------------------- the zip


def test_a_part_may_be_packed_in_pieces():
    pieces = [piece(b"one " * 50), piece(b""), piece(b"two " * 50), piece(b"three", last=True)]
    data = zip_of([packed("a/b.xml", b"x" * 1000), entry("c.xml", pieces), packed("empty", b"")])
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        assert package.testzip() is None
        assert package.namelist() == ["a/b.xml", "c.xml", "empty"]
        assert package.read("c.xml") == b"one " * 50 + b"two " * 50 + b"three"
        assert package.read("empty") == b""
        facts = package.getinfo("c.xml")
    assert zlib.crc32(b"one " * 50 + b"two " * 50 + b"three") == facts.CRC
    assert facts.date_time == (1980, 1, 1, 0, 0, 0)
