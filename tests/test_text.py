from __future__ import annotations

import os
import re
import unicodedata
from xml.etree import ElementTree as ET

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baybook.files.limits import LIMITS
from baybook.files.text import clean_text, safe_name
from baybook.problems import BookError

QUICK = settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])


# ---- text fit for a cell


@pytest.mark.parametrize(
    ("text", "left", "removed"),
    [
        ("plain ½ ’ 😀\t\r\n", "plain ½ ’ 😀\t\r\n", []),
        ("", "", []),
        ("a\x00b\x07c\x07", "abc", ["U+0000", "U+0007"]),
        ("\x1f\x0b\x0c\x7f\x85", "\x7f\x85", ["U+001F", "U+000B", "U+000C"]),
        ("\ud800x\udfff", "x", ["U+D800", "U+DFFF"]),
        ("\ufffe\uffff\ufffd", "\ufffd", ["U+FFFE", "U+FFFF"]),
    ],
)
def test_what_xml_cannot_hold_is_removed_and_named(text, left, removed):
    assert clean_text(text, "areas.csv", "note") == (left, removed)


@QUICK
@given(st.text(st.characters() | st.characters(categories=["Cs", "Cc", "Cn"])))
def test_what_is_left_is_xml_and_nothing_else_is_removed(text):
    left, removed = clean_text(text, "a", "b")
    read = ET.fromstring(f"<a>{left.replace('&', '&amp;').replace('<', '&lt;')}</a>".encode())  # noqa: S314 - our own few words
    assert (read.text or "") == re.sub("\r\n?", "\n", left)
    gone = {f"U+{ord(letter):04X}" for letter in text if letter not in left}
    assert gone == set(removed)


def test_overlong_text_is_refused_not_cut():
    most = LIMITS.field_length
    assert clean_text("x" * most, "a", "b")[0] == "x" * most
    assert clean_text("x" * most + "\0", "a", "b")[0] == "x" * most
    assert clean_text("😀" * (most // 2), "a", "b")[0]
    for text in ("x" * (most + 1), "😀" * (most // 2 + 1)):  # a spreadsheet counts such a character twice
        with pytest.raises(BookError, match=r"areas\.csv: note: the text is 32,768 characters long"):
            clean_text(text, "areas.csv", "note")


# ---- names

FORBIDDEN = re.compile(r'[<>:"/\\|?*\[\]\x00-\x1f]')
RESERVED = {"CON", "PRN", "AUX", "NUL", *(f"{device}{digit}" for device in ("COM", "LPT") for digit in "0123456789¹²³")}


def check_name(name):
    assert name
    assert not FORBIDDEN.search(name)
    assert name.isprintable()
    assert name[0] not in " .~-"
    assert name[-1] not in " ."
    assert name.split(".")[0].strip().upper() not in RESERVED
    assert len(f"{name}.xlsx".encode()) <= 200


@pytest.mark.parametrize(
    "code", ["24-117", "Miller, deck 2", "Größe M", "a.b.c", "O'Brien & Söhne", "x" * 180, "con2", "COM10"]
)
def test_a_fit_code_is_its_own_name(code):
    assert safe_name(code) == code
    check_name(code)


@pytest.mark.parametrize(
    ("code", "begins"),
    [
        ("", "job-"),
        ("...", "job-"),
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\Windows\\x", "C--Windows-x-"),
        ("CON", "_CON-"),
        ("con.2025", "_con.2025-"),
        ("Nul .x", "_Nul .x-"),
        ("lpt³", "_lpt³-"),
        ("job. ", "job-"),
        (" job", "job-"),
        (".hidden", "hidden-"),
        ("~$deck", "$deck-"),
        ("-rf", "rf-"),
        ("a\x00b\nc", "a-b-c-"),
        ("a\u202eslx.b", "a-slx.b-"),
        ("deck [2]", "deck -2--"),
        ("x" * 181, "x" * 160 + "-"),
        ("½" * 150, "½" * 80 + "-"),
        ("\ud800", "job-"),
        ("e\u0301", "é-"),
    ],
)
def test_an_unfit_code_keeps_what_is_fit_and_is_marked(code, begins):
    name = safe_name(code)
    assert name.startswith(begins)
    assert re.search(r"-[0-9a-f]{8}$", name)
    check_name(name)
    assert safe_name(code) == name


def test_names_that_would_be_one_differ():
    codes = ["a/b", "a:b", "a-b", "a-b ", " a-b", "A/b", "a/b.", "con", "_con", "CON", "", ".", "..", "job"]
    codes += [safe_name(code) for code in codes]  # a code that looks like a marked name
    codes = list(dict.fromkeys(codes))
    assert len({safe_name(code) for code in codes}) == len(codes)


def test_names_in_use_are_not_given_again_whatever_their_case():
    assert safe_name("deck", {"Deck"}).startswith("deck-")
    assert safe_name("Straße", ["STRASSE"]).startswith("Straße-")
    assert safe_name("é", {"E\u0301"}) != "é"
    first = safe_name("a/b")
    second = safe_name("a/b", {first.upper()})
    assert second == f"{first}-2"
    assert safe_name("a/b", {first, second}) == f"{first}-3"
    check_name(second)


@QUICK
@given(st.lists(st.text(st.characters() | st.sampled_from("./\\:~- CONcon1"), max_size=30), unique=True, max_size=8))
def test_any_codes_give_names_a_disk_takes(tmp_path_factory, codes):
    folder = tmp_path_factory.mktemp("names")
    taken: list[str] = []
    for code in codes:
        name = safe_name(code, taken)
        check_name(name)
        (folder / f"{name}.xlsx").touch()
        taken.append(name)
    folded = {unicodedata.normalize("NFC", name).casefold() for name in taken}
    assert len(os.listdir(folder)) == len(folded) == len(codes)  # noqa: PTH208 - names only
