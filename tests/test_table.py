from __future__ import annotations

import csv
import datetime as dt
import os
from contextlib import suppress
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from baybook.files.limits import LIMITS, Limits, limits_in_force
from baybook.files.table import Row, read_table, write_table
from baybook.problems import BookError, FileRefused, WriteFailed

QUICK = settings(deadline=None, max_examples=400, suppress_health_check=[HealthCheck.function_scoped_fixture])


def read(tmp_path, data, **how):
    path = tmp_path / "areas.csv"
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return read_table(path, **how)


def cells(table):
    return [row.cells for row in table.rows]


def refusal(tmp_path, data, **how):
    with pytest.raises(FileRefused) as caught:
        read(tmp_path, data, **how)
    for problem in caught.value.problems:
        assert problem.source == "areas.csv"
        assert "\n" not in problem.message
    return caught.value.problems


# ---- read kindly

SAID = "job;width;note\r\n7;14' 3-1/2\";Größe „M“ – ½\r\n"


@pytest.mark.parametrize(
    ("encoded", "name"),
    [
        (SAID.encode(), "utf-8"),
        (SAID.encode("utf-8-sig"), "utf-8-sig"),
        (SAID.encode("utf-16"), "utf-16"),
        (b"\xff\xfe" + SAID.encode("utf-16-le"), "utf-16"),
        (b"\xfe\xff" + SAID.encode("utf-16-be"), "utf-16"),
        (SAID.encode("cp1252"), "cp1252"),
    ],
)
def test_every_usual_encoding_reads_the_same(tmp_path, encoded, name):
    table = read(tmp_path, encoded)
    assert (table.encoding, table.delimiter, table.header) == (name, ";", ("job", "width", "note"))
    assert table.rows == (Row(2, ("7", "14' 3-1/2\"", "Größe „M“ – ½")),)


@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_separators_and_line_ends(tmp_path, separator, end):
    lines = [separator.join(line) for line in (("job", "width", "x"), ("A", '"a, b; c\td"', "1"))]
    table = read(tmp_path, end.join(lines))
    assert table.delimiter == separator
    assert table.rows == (Row(2, ("A", "a, b; c\td", "1")),)


def test_the_header_line_decides_and_what_is_quoted_in_it_does_not_count(tmp_path):
    assert read(tmp_path, '"a,b,c,d";e\n1;2\n').header == ("a,b,c,d", "e")
    assert read(tmp_path, "job\n1\n").delimiter == ","
    assert read(tmp_path, "# a;b;c\n\n;;\njob,width\n1;5,2\n").rows == (Row(5, ("1;5", "2")),)


def test_a_separator_stated_or_given_wins(tmp_path):
    assert read(tmp_path, "sep=;\na;b,c\n1;2\n").rows == (Row(3, ("1", "2")),)
    assert read(tmp_path, "a;b,c\n1;2,3\n", delimiter=",").header == ("a;b", "c")


def test_trimmed_filled_up_and_skipped(tmp_path):
    table = read(tmp_path, '\n\n a , b\u00a0,c \n# a comment, of, more, cells\n 1 \n,,\n\n2, \t3 ,"4 "\n   #4,5\n,,6\n')
    assert table.header == ("a", "b", "c")
    assert table.rows == (Row(5, ("1", "", "")), Row(8, ("2", "3", "4")), Row(10, ("", "", "6")))


def test_lines_are_those_of_the_file_with_line_ends_in_cells(tmp_path):
    table = read(tmp_path, 'a,b\n1,"x\ny\r\nz"\n2,"\r"\n3,4\n')
    assert table.rows == (Row(2, ("1", "x\ny\r\nz")), Row(5, ("2", "")), Row(7, ("3", "4")))


def test_inch_marks_need_no_quotes_and_quoted_cells_may_follow_a_space(tmp_path):
    assert cells(read(tmp_path, 'a,b\n14\' 3-1/2", 5" gutter\nx, "y, z"\n')) == [
        ("14' 3-1/2\"", '5" gutter'),
        ("x", "y, z"),
    ]


def test_codes_stay_text(tmp_path):
    assert cells(read(tmp_path, "sku,b\n007,NA\n1e5,TRUE\n")) == [("007", "NA"), ("1e5", "TRUE")]


def test_empty_cells_beyond_the_header_are_dropped(tmp_path):
    table = read(tmp_path, "a,b,,\n1,2,,,\n")
    assert (table.header, cells(table)) == (("a", "b"), [("1", "2")])


def test_a_header_alone_is_an_empty_table(tmp_path):
    assert read(tmp_path, "a,b").rows == ()


@pytest.mark.parametrize(
    ("rows", "decimal"),
    [
        (["12,5"], ","),
        (["0,125"], ","),
        (["1.234,50"], ","),
        (["12,50 €"], ","),
        (["4,35 m", "1.234"], ","),
        (["8,25%"], ","),
        (["12.5"], "."),
        (["1,234.50", "12"], "."),
        (["12,5", "12.5"], "?"),  # the file contradicts itself: what leaves a doubt is refused by the number's reader
        (["12,5", "1,234.50"], "?"),
        (["1,234"], "?"),  # thousands or thousandths: no evidence
        (["1.234"], "?"),
        (["12"], "?"),
        (["1\u202f234,50"], ","),
        (["31.12.2025", "12,5"], ","),
        (["2025-12-31", "x,y"], "?"),
        (["2x6", "14' 3-1/2\""], "?"),
        (["$12.50", "3"], "."),
    ],
)
@pytest.mark.parametrize("separator", [";", "\t"])
def test_the_decimal_mark_is_that_of_the_numbers(tmp_path, rows, decimal, separator):
    lines = [separator.join(("job", "price")), *(separator.join(("A", row)) for row in rows)]
    assert read(tmp_path, "\n".join(lines)).decimal == decimal


def test_a_comma_that_separates_is_no_decimal_mark(tmp_path):
    assert read(tmp_path, 'job,price\nA,"12,5"\n').decimal == "."


# ---- refused, with line, column, what was read and what would be right


@pytest.mark.parametrize(
    ("data", "line", "field", "words"),
    [
        (b"", 1, "", "is empty; its first row must name the columns"),
        (b"\n,,\n# x\n", 1, "", "is empty"),
        (b"a,,b\n", 1, "", "column 2 has no name"),
        (b"a,b,A\n", 1, "A", "two columns have this name"),
        (b"\n# c\na,a\n", 3, "a", "two columns have this name"),
        (b"a,b\n1,2\n\n1,2,3\n", 4, "", "has 3 cells and the header names 2 columns"),
        (b'a,b\n1,2\n"x,1\n', 3, "", "a quote mark opens a cell"),
        (b'a,b\n"x" y,1\n', 2, "", "write each one inside it twice"),
        (b'a,b\n1,"' + b"x" * 140_000, 2, "", "a quote mark opens a cell"),
        (b"a,b\n1,2\n1,\0\n", 3, "", "is no plain text"),
        ("a,b\n1,2\n1,\0\n".encode("utf-16"), 3, "", "is no plain text"),
        ("a,b\r\n1,½".encode("utf-16-le"), 1, "", "is no plain text"),
        ("a".encode("utf-32"), 0, "", "is UTF-32 text"),
        (b"\xef\xbb\xbfa,b\r\n1,2\r\n1,\xbd\r\n", 3, "", "begins as UTF-8 but holds other bytes"),
        ("a,b\n½,1\n".encode() + b"\xbd,2\n", 3, "", "mixes UTF-8 with another encoding"),
        (b"a,b\n\xbd,2\n" + "½,’\n".encode(), 2, "", "mixes UTF-8 with another encoding"),
        (b"a,b\r1,\x81\r", 2, "", "neither UTF-8 nor cp1252"),
        (b"\xff\xfea\0\n\0x\0\0\xd8", 2, "", "neither UTF-8 nor utf-16"),
        (b"\xff\xfea\0\n\0x", 2, "", "neither UTF-8 nor utf-16"),
        (b"a,b\n1,2\n1," + b"x" * 32_768, 3, "b", "32,768 characters long and a cell holds 32,767"),
        (b"a,b\n1,2\n" + b"1," * 140_000, 3, "", "longer than 262,144 characters"),
        (b"," * 10_000_000, 1, "", "longer than 262,144 characters"),
        (b"," * 200_000, 1, "", "more than 1,000 cells"),
        (b"a\n" * 200_001, 0, "", "more than 200,000 lines"),
        (b"x" * (16 << 20) + b"x", 0, "", "larger than 16 MiB"),
    ],
)
def test_refusals(tmp_path, data, line, field, words):
    (problem,) = refusal(tmp_path, data)
    assert (problem.line, problem.field) == (line, field)
    assert words in problem.message


def test_the_largest_allowed_are_read(tmp_path):
    assert len(read(tmp_path, b"a\n" * 200_000).rows) == 199_999
    assert len(read(tmp_path, b"a,b\n1," + b"x" * 32_767).rows) == 1
    assert len(read(tmp_path, ",".join(f"c{number}" for number in range(1000))).header) == 1000


def test_diameter_and_half_together_in_cp1252_are_not_taken_for_utf8(tmp_path):
    # The bytes of "Ø½" are valid UTF-8 of an Arabic letter; those of ½ alone are not.
    assert cells(read(tmp_path, "a,b\nØ½,½\n".encode("cp1252"))) == [("Ø½", "½")]


def test_all_problems_of_the_rows_at_once_and_not_without_end(tmp_path):
    problems = refusal(tmp_path, b"a,b\n1,2,3\n1,2\n1,2,3\n" + b"x" * 40_000 + b",\n")
    assert [(problem.line, problem.field) for problem in problems] == [(2, ""), (4, ""), (5, "a")]
    assert len(refusal(tmp_path, b"a\n" + b"1,2\n" * 10_000)) == LIMITS.problems


def test_what_is_no_file(tmp_path):
    os.mkfifo(tmp_path / "pipe.csv")
    (tmp_path / "folder.csv").mkdir()
    for name, words in (
        ("none.csv", "there is no such file"),
        ("folder.csv", "is a folder"),
        ("pipe.csv", "is no ordinary file"),
        ("a\0b", "cannot be read"),
    ):
        with pytest.raises(FileRefused, match=words):
            read_table(tmp_path / name)
    with pytest.raises(FileRefused, match="is no ordinary file"):
        read_table("/dev/zero")


def test_limits_can_be_passed_and_set_for_a_run(tmp_path, monkeypatch):
    assert "more than 2 lines" in refusal(tmp_path, "a\n1\n2\n3\n", limits=Limits(lines=2))[0].message
    monkeypatch.setenv("BAYBOOK_LIMITS", "lines=3, field_length = 4")
    assert limits_in_force() == Limits(lines=3, field_length=4)
    assert "a cell holds 4" in refusal(tmp_path, "a\n12345\n")[0].message


@pytest.mark.parametrize("text", ["line=3", "lines", "lines=", "lines=-1", "lines=0", "lines=1e3", "lines=²"])
def test_a_wrong_limit_is_refused(tmp_path, monkeypatch, text):
    monkeypatch.setenv("BAYBOOK_LIMITS", text)
    with pytest.raises(BookError, match="BAYBOOK_LIMITS: line"):
        read(tmp_path, "a\n")


# ---- nothing but a refusal, whatever the bytes

MARKS = [
    b",",
    b";",
    b"\t",
    b'"',
    b"\n",
    b"\r",
    b"\r\n",
    b"#",
    b"'",
    b"=",
    b"\0",
    b"\xef\xbb\xbf",
    b"\xff\xfe",
    b"\xfe\xff",
]
WORDS = [
    b"1,5",
    b"1.5",
    b"a",
    b" ",
    b"sep=",
    b"\xc2\xbd",
    b"\xbd",
    b"\x81",
    b"\xe2\x80\xa8",
    b"\x85",
    b"\x1a",
    b"\xed\xa0\x80",
]
PIECES = st.sampled_from([*MARKS, *WORDS])


@QUICK
@given(st.lists(PIECES | st.binary(max_size=3), max_size=40).map(b"".join))
def test_any_bytes_are_read_or_refused(tmp_path, data):
    path = tmp_path / "any.csv"
    path.write_bytes(data)
    with suppress(FileRefused):
        table = read_table(path)
        text = data.decode(table.encoding)
        last = 1 + text.count("\n") + text.count("\r") - text.count("\r\n")
        assert all(len(row.cells) == len(table.header) and any(row.cells) for row in table.rows)
        assert [row.line for row in table.rows] == sorted({row.line for row in table.rows})
        assert all(1 < row.line <= last for row in table.rows)


# ---- written harmless, and read back

LINE_END = b"\r\n"


def test_the_bytes_are_those_of_rfc_4180(tmp_path):
    path = tmp_path / "summary.csv"
    rows = [
        ["A,1", 3, 2.5, Decimal("1E+3"), Decimal("0.00000001"), None],
        ['5" x', True, -1e-7, dt.date(2025, 3, 1), "½", "two\nlines"],
    ]
    assert write_table(path, ["job", "n", "x", "y", "z", "e"], rows) == ()
    assert path.read_bytes().split(LINE_END) == [
        b"job,n,x,y,z,e",
        b'"A,1",3,2.5,1000,0.00000001,',
        b'"5"" x",1,-0.0000001,2025-03-01,' + "½".encode() + b',"two\nlines"',
        b"",
    ]


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@x", "\tx", "\rx", "\nx", "'x", "  =1", "＝1+1", "-", "'", "=cmd|' /C x'!A0"]
)
def test_text_that_would_act_is_marked_and_read_back(tmp_path, text):
    path = tmp_path / "a.csv"
    write_table(path, ["a", "b"], [["x", text]])
    with path.open(newline="", encoding="utf-8") as file:
        assert list(csv.reader(file))[1] == ["x", f"'{text}"]
    if text == text.strip():
        assert cells(read_table(path)) == [("x", text)]


def test_numbers_given_as_numbers_are_not_marked(tmp_path):
    path = tmp_path / "a.csv"
    write_table(path, ["a", "b", "c"], [[-1, -2.5, Decimal("-3.50")]])
    assert path.read_bytes() == b"a,b,c\r\n-1,-2.5,-3.50\r\n"


def test_a_first_cell_is_no_comment_and_a_header_no_formula(tmp_path):
    path = tmp_path / "a.csv"
    write_table(path, ["#", "=b", "c;d;e;f"], [["#12", "#12", "x"]])
    table = read_table(path)
    assert (table.header, cells(table)) == (("#", "=b", "c;d;e;f"), [("#12", "#12", "x")])


TEXT = st.text(st.characters(codec="utf-8") | st.sampled_from("=+-@'\t\r\n#\";, "), max_size=12)


@QUICK
@given(st.lists(st.tuples(TEXT, TEXT), max_size=6))
def test_what_is_written_is_read_back(tmp_path, rows):
    path = tmp_path / "round.csv"
    removed = write_table(path, ["job", "note"], rows)
    illegal = {chr(code) for code in (*range(9), 11, 12, *range(14, 32), 0xFFFE, 0xFFFF)}
    clean = [tuple("".join(letter for letter in cell if letter not in illegal) for cell in row) for row in rows]
    assert len(removed) == sum(
        a != b for old, new in zip(rows, clean, strict=True) for a, b in zip(old, new, strict=True)
    )
    read_back = cells(read_table(path))
    expected = [row for row in clean if any(cell.strip() for cell in row)]
    assert len(read_back) == len(expected)
    for row, written in zip(read_back, expected, strict=True):
        for cell, text in zip(row, written, strict=True):
            assert cell == text.strip() or cell == text.rstrip()  # a mark keeps what stands before it


def test_what_no_workbook_can_hold_is_removed_and_told(tmp_path):
    (problem,) = write_table(tmp_path / "a.csv", ["a", "b"], [["x", "y"], ["x", "bell\x07 and \x00"]])
    assert (problem.line, problem.field) == (3, "b")
    assert "U+0007, U+0000" in problem.message
    assert cells(read_table(tmp_path / "a.csv"))[1] == ("x", "bell and")


def test_a_save_that_is_refused_leaves_the_old_file(tmp_path):
    path = tmp_path / "a.csv"
    path.write_bytes(b"old")
    with pytest.raises(BookError, match="cell holds 32,767; shorten it"):
        write_table(path, ["a"], [["x" * 32_768]])
    for row in ([float("nan")], [Decimal("Infinity")], [1, 2]):
        with pytest.raises(ValueError):
            write_table(path, ["a"], [row])
    with pytest.raises(WriteFailed):
        write_table(path, ["a"], [], inside=tmp_path / "other")
    assert [found.name for found in tmp_path.iterdir()] == ["a.csv"]
    assert path.read_bytes() == b"old"
