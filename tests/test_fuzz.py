"""Every reader on changed inputs, a few thousand a run, and the inputs that once brought one down."""

from __future__ import annotations

import random
import re

import books
import fuzzing
import handmade
import hostile
import pytest
from mutations import by_bytes

from baybook.files.guard import check_xml
from baybook.files.limits import limits_in_force
from baybook.files.ubl import document_from, order_from, read_ubl
from baybook.problems import BookError, FileRefused, Problem
from baybook.reprice.record import Record
from baybook.water.rain import parse_atlas14
from baybook.workbook.read import read_workbook


@pytest.mark.parametrize("target", [*fuzzing.TEXTS, *fuzzing.WORKBOOKS], ids=lambda one: one.name)
def test_changed_inputs_are_read_or_refused_in_sentences(target, tmp_path):
    chance, seeds = random.Random(target.name), target.seeds()
    count = 4 * target.share if target in fuzzing.TEXTS else 2 * target.share
    outcomes = {fuzzing.told(target, target.change(chance, chance.choice(seeds)), tmp_path) for _ in range(count)}
    assert outcomes  # anything but a refusal is an exception of its own


@pytest.mark.parametrize("target", [*fuzzing.TEXTS, *fuzzing.WORKBOOKS], ids=lambda one: one.name)
def test_some_unchanged_input_is_read(target, tmp_path):
    assert any(fuzzing.told(target, seed, tmp_path) for seed in target.seeds())


def test_the_trial_sees_a_crash_and_a_refusal_in_pythons_words(tmp_path):
    def falls(_, __):
        raise KeyError("when")

    def says(_, __):
        raise BookError(Problem("a.csv", 1, "", "invalid literal for int() with base 10: 'x'"))

    for read, kind in ((falls, KeyError), (says, fuzzing.UnclearError)):
        with pytest.raises(kind):
            fuzzing.told(fuzzing.Target("", list, by_bytes, read, 1), b"", tmp_path)


# ------------------------------------------------------------------------------------------- what once brought one down


def test_an_xml_prefix_that_stands_for_nothing():
    with pytest.raises(FileRefused, match=r"^a\.xml:2: is no well-formed XML file"):
        check_xml(b"<a>\n<cbc:b/></a>", "a.xml")


def changed_book(tmp_path, change):
    path = tmp_path / "a.xlsx"
    path.write_bytes(handmade.packed(change(hostile.good_parts())))
    return path


def swapped(name, old, new):
    return lambda parts: {**parts, name: re.sub(old, new, parts[name], count=1)}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (swapped("_rels/.rels", rb"/officeDocument\"", b'/other"'), "no part of it is named as the workbook"),
        (swapped("xl/workbook.xml", rb" r:id=\"\w+\"", b""), "is damaged"),
        (swapped("xl/workbook.xml", rb" r:id=\"\w+\"", b' r:id="x"'), "is damaged"),
        (swapped(hostile.SHEET, rb"<v>1</v>", b"<v>1e999</v>"), "the cell A1 holds '1e999', which is no value"),
        (swapped(hostile.SHEET, rb"<v>1</v>", b"<v>nan</v>"), "the cell A1 holds 'nan', which is no value"),
        (swapped("xl/workbook.xml", rb"<sheets>", b"<x:y/><sheets>"), "is damaged"),
    ],
)
def test_workbooks_whose_parts_do_not_fit_together(tmp_path, change, words):
    with pytest.raises(FileRefused, match=rf"^a\.xlsx: .*{re.escape(words)}"):
        read_workbook(changed_book(tmp_path, change))


def ubl_problems(tmp_path, number, old, new):
    path = tmp_path / "a.xml"
    path.write_bytes(fuzzing.xml_seeds()[number].replace(old, new))
    root = read_ubl(path, "Invoice", "CreditNote", "Order")
    with pytest.raises(FileRefused) as refused:
        order_from(root, "a.xml", {}) if root.name == "Order" else document_from(root, "a.xml")
    return str(refused.value)


@pytest.mark.parametrize("words", [b"1E+999999", b"1E-999999", b"NaN", b"1_000", "٣".encode(), b"0x1"])
def test_numbers_of_a_document_have_no_exponent_and_no_other_figures(tmp_path, words):
    # W3C, XML Schema Part 2, second edition, 2004, section 3.2.3.1: a decimal is figures, with at most one point
    said = ubl_problems(tmp_path, 1, b">4<", b">" + words + b"<")
    assert said.startswith("a.xml:1: InvoicedQuantity: ")
    assert said.endswith("is not a number; write digits with a decimal point")


@pytest.mark.parametrize("words", ["²", "٣", "9" * 5000])
def test_the_number_of_an_order_s_line_in_other_figures(tmp_path, words):
    said = ubl_problems(tmp_path, 5, b"<cac:LineItem><cbc:ID>1<", f"<cac:LineItem><cbc:ID>{words}<".encode())
    assert "is not the number of a line: write a whole number, 1" in said
    assert len(said) < 200


def test_the_version_of_an_order_in_other_figures(tmp_path):
    path = tmp_path / "a.xml"
    path.write_bytes(fuzzing.xml_seeds()[5].replace(b"<cbc:VersionID>0", "<cbc:VersionID>²".encode()))
    assert order_from(read_ubl(path, "Order"), "a.xml", {}).revision == 0


@pytest.mark.parametrize("letters", ["60-m\u0131n:", "60-MİN:"])  # without case these are a min to some
def test_a_duration_in_letters_that_look_alike(letters):
    text = fuzzing.RAIN.read_text(encoding="utf-8")
    assert "60-min:" in text
    table = parse_atlas14(text.replace("60-min:", letters))  # the table ends where a line is none of it
    assert 60 not in table.durations_min


@pytest.mark.parametrize("value", ["9" * 5000, "²", "1e9", "-1", "0"])
def test_limits_are_plain_numbers(monkeypatch, value):
    monkeypatch.setenv("BAYBOOK_LIMITS", f"rows={value}")
    with pytest.raises(BookError, match="write a whole number above 0"):
        limits_in_force()


@pytest.mark.parametrize(
    "line", ['{"run":"a","of":"..","when":"today","backups":"b"}', '{"run":"a","of":".."}', '{"run":7,"of":".."}']
)
def test_a_damaged_line_of_a_run_is_passed_over(tmp_path, line):
    path = tmp_path / "j.jsonl"
    path.write_text(f'{line}\n{{"done":"k"}}\n', encoding="utf-8")
    assert Record(path, "a", "..", fuzzing.WHEN).when == fuzzing.WHEN


@pytest.mark.parametrize("day", ["1026-06-15", "0001-01-01", "1949-12-31", "31.12.1899"])
def test_a_year_long_before_any_deck(day):
    with pytest.raises(BookError, match=r"^jobs\.csv:2: quoted_on: .* check the year"):
        books.inputs_of(books.deck(job={"quoted_on": day}))
