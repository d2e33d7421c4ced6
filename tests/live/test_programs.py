"""The harness itself: what it says of a spreadsheet program must be what the program did."""

from __future__ import annotations

import os
import signal
import struct
import subprocess
import sys
import time
import zipfile
from datetime import date
from pathlib import Path

import openpyxl
import pytest
from live import programs
from live.programs import (
    Calc,
    ProgramError,
    as_loaded_libreoffice,
    compare,
    needs,
    read_values,
    recalc_gnumeric,
    recalc_libreoffice,
    render,
    shared_calc,
)

pytestmark = pytest.mark.live


def book(path, cells, more=None):
    """Write a workbook: the cells of sheet "In", and of other sheets."""
    made = openpyxl.Workbook()
    made.active.title = "In"
    for title, content in {"In": cells, **(more or {})}.items():
        sheet = made[title] if title in made.sheetnames else made.create_sheet(title)
        for address, value in content.items():
            sheet[address] = value
    made.save(path)
    return path


def store(path, target, formula, value):
    """Copy a workbook, with `value` stored beside the one formula that reads `formula` on its first sheet."""
    empty = f"<f>{formula}</f><v />".encode()
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(target, "w") as copy:
        for name in source.namelist():
            content = source.read(name)
            if name == "xl/worksheets/sheet1.xml":
                assert content.count(empty) == 1
                content = content.replace(empty, f"<f>{formula}</f><v>{value}</v>".encode())
            copy.writestr(name, content)
    return target


@pytest.fixture
def lie(tmp_path):
    """Two threes are stored as 999; what hangs on it has no stored value."""
    honest = book(tmp_path / "honest.xlsx", {"A1": 2, "A2": "=A1*3", "A3": "=A2+1"})
    path = store(honest, tmp_path / "lie.xlsx", "A1*3", 999)
    assert read_values(path) == {("In", "A1"): 2.0, ("In", "A2"): 999.0}  # the lie is in the file
    return path


# ---- one run, many files


@pytest.mark.parametrize("recalculated", [recalc_libreoffice, recalc_gnumeric])
def test_forced_recalculation_corrects_a_false_stored_value(lie, tmp_path, recalculated):
    assert recalculated([lie], tmp_path)[lie] == {("In", "A1"): 2, ("In", "A2"): 6, ("In", "A3"): 7}


def test_as_loaded_keeps_a_false_stored_value_and_builds_on_it(lie, tmp_path):
    assert as_loaded_libreoffice([lie], tmp_path)[lie] == {("In", "A1"): 2, ("In", "A2"): 999, ("In", "A3"): 1000}


KINDS = {
    "A1": date(2026, 1, 2),  # 46,024 days after 30 December 1899
    "A2": True,
    "A3": "=1>2",
    "A4": '="two"&" words"',
    "A5": '=""',
    "A6": "=1/3",
    "A7": "=1/0",
    "A8": "=NA()",
    "A9": '=VALUE("x")',
    "A10": "=nosuch(1)",
    "A11": "=A7+1",
}
READ = {
    ("In", "A1"): 46024.0,
    ("In", "A2"): True,
    ("In", "A3"): False,
    ("In", "A4"): "two words",
    ("In", "A6"): pytest.approx(1 / 3, rel=1e-14),
    ("In", "A7"): "#DIV/0!",
    ("In", "A8"): "#N/A",
    ("In", "A9"): "#VALUE!",
    ("In", "A10"): "#NAME?",
    ("In", "A11"): "#DIV/0!",
    ("Two's, 2", "B2"): 46025.0,
}


@pytest.mark.parametrize("recalculated", [recalc_libreoffice, recalc_gnumeric])
def test_every_kind_of_value_and_error_is_read(tmp_path, recalculated):
    path = book(tmp_path / "kinds.xlsx", KINDS, {"Two's, 2": {"B2": "=In!A1+1"}})
    assert recalculated([path], tmp_path)[path] == READ


@pytest.mark.parametrize("recalculated", [recalc_libreoffice, recalc_gnumeric])
def test_files_of_one_name_keep_their_own_values(tmp_path, recalculated):
    paths = []
    for number in (1, 2, 3):
        folder = tmp_path / f"job {number} & söhne"
        folder.mkdir()
        paths.append(book(folder / "estimate.xlsx", {"A1": number, "A2": "=A1*10"}))
    values = recalculated(paths, tmp_path)
    assert [values[path]["In", "A2"] for path in paths] == [10, 20, 30]
    assert [list(path.parent.iterdir()) for path in paths] == [[path] for path in paths]  # nothing left beside them


@pytest.mark.parametrize("recalculated", [recalc_libreoffice, recalc_gnumeric])
@pytest.mark.parametrize("content", ["length,12\n", "<html><table><tr><td>1</td></tr></table></html>"])
def test_a_file_that_is_no_workbook_is_an_error_naming_it(tmp_path, recalculated, content):
    good, bad = book(tmp_path / "good.xlsx", {"A1": 1}), tmp_path / "bad.xlsx"
    bad.write_text(content)
    with pytest.raises(ProgramError, match=r"wrote no workbook for bad\.xlsx"):
        recalculated([good, bad], tmp_path)


def test_an_output_that_does_not_open_is_an_error(tmp_path):
    output = tmp_path / "cut.xlsx"
    output.write_bytes(book(tmp_path / "whole.xlsx", {"A1": 1}).read_bytes()[:2000])
    with pytest.raises(ProgramError, match=r"LibreOffice wrote a workbook for job\.xlsx that does not open"):
        programs._read_output(output, Path("job.xlsx"), "LibreOffice", "")


def test_a_program_that_hangs_is_ended_with_everything_it_started(tmp_path):
    with pytest.raises(ProgramError, match=r"sh was still running after 0\.3 s and was ended"):
        programs._run(["sh", "-c", f"sleep 60 & echo $! > {tmp_path}/child; wait"], tmp_path, timeout_s=0.3)
    assert gone(int((tmp_path / "child").read_text()))


def gone(pid, within_s=5.0):
    """Whether a process has ended, or ends soon; a zombie nobody waits for has ended."""
    deadline = time.monotonic() + within_s
    while time.monotonic() < deadline:
        try:
            if Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z":
                return True
        except FileNotFoundError:
            return True
        time.sleep(0.02)
    return False


# ---- a running LibreOffice


@pytest.fixture
def calc():
    lent = shared_calc()
    yield lent
    lent.close()


def test_set_recalculate_and_read(calc, tmp_path):
    calc.open(book(tmp_path / "b.xlsx", {"A1": 2, "A2": "=A1*3"}, {"Out": {"B1": "=In!A2+0.5", "C2": "fixed"}}))
    assert calc.read("Out", "B1:C2") == [[6.5, None], [None, "fixed"]]
    calc.set("In", "A1", 5)
    calc.recalculate()
    assert calc.read("Out", "B1") == [[15.5]]
    calc.set_many([("In", "A1", 1.25), ("Out", "C2", "changed")])
    calc.recalculate()
    assert calc.read("Out", "B1:C2") == [[4.25, None], [None, "changed"]]


def test_stored_values_are_trusted_until_a_hard_recalculation(calc, lie):
    calc.open(lie)
    calc.recalculate()
    assert calc.read("In", "A1:A3") == [[2], [999], [1000]]
    calc.recalculate(hard=True)
    assert calc.read("In", "A1:A3") == [[2], [6], [7]]


def test_text_is_never_parsed_and_none_clears(calc, tmp_path):
    checks = {"B1": "=ISTEXT(A1)", "B2": "=ISTEXT(A2)", "B3": "=ISBLANK(A3)", "B4": "=ISTEXT(A4)"}
    calc.open(book(tmp_path / "b.xlsx", {"A1": 1, "A2": 2, "A3": 3, "A4": 4, **checks}))
    calc.set_many([("In", "A1", "=1+1"), ("In", "A2", "12"), ("In", "A3", None), ("In", "A4", 'two\nlines "ü"')])
    calc.recalculate()
    assert calc.read("In", "A1:B4") == [["=1+1", 1], ["12", 1], [None, 1], ['two\nlines "ü"', 1]]


def test_read_all_reads_every_kind_as_the_file_readers_do(calc, tmp_path):
    path = book(tmp_path / "kinds.xlsx", KINDS, {"Two's, 2": {"B2": "=In!A1+1"}})
    calc.open(path)
    values = calc.read_all()
    assert values == {**READ, ("In", "A9"): "Err:502"}  # LibreOffice's own name, which a file cannot hold
    assert compare(values, recalc_gnumeric([path], tmp_path)[path]) == [
        "In!A9 is 'Err:502' in the first and '#VALUE!' in the second."
    ]


def test_save_as_keeps_the_edit_and_leaves_the_original(calc, tmp_path):
    path, target = book(tmp_path / "b.xlsx", {"A1": 2, "A2": "=A1*3"}), tmp_path / "saved.xlsx"
    before = path.read_bytes()
    target.write_text("from an earlier day")
    calc.open(path)
    calc.set("In", "A1", 7)
    calc.recalculate()
    calc.save_as(target)
    assert read_values(target) == {("In", "A1"): 7, ("In", "A2"): 21}
    assert openpyxl.load_workbook(target)["In"]["A2"].value == "=A1*3"
    assert path.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["b.xlsx", "saved.xlsx"]  # and no lock file


def test_a_wrong_request_is_refused_in_a_sentence_and_the_next_is_served(calc, tmp_path):
    calc.close()
    with pytest.raises(ProgramError, match="no workbook is open"):
        calc.read("In", "A1")
    bad = tmp_path / "bad.xlsx"
    bad.write_text("no workbook")
    with pytest.raises(ProgramError, match=r"LibreOffice could not open bad\.xlsx"):
        calc.open(bad)
    calc.open(book(tmp_path / "b.xlsx", {"A1": 2}, {"Out": {}}))
    with pytest.raises(ProgramError, match='no sheet "Inn"; its sheets are: In, Out'):
        calc.set("Inn", "A1", 1)
    with pytest.raises(ProgramError, match='"1A" is not a cell or range of sheet "In"'):
        calc.read("In", "1A")
    with pytest.raises(ProgramError, match='"A1:B2" is a range; a value is set in one cell'):
        calc.set("In", "A1:B2", 1)
    with pytest.raises(ProgramError, match=r"could not save /proc/b\.xlsx"):  # where nobody can write, root neither
        calc.save_as(Path("/proc/b.xlsx"))
    with pytest.raises(ValueError, match="JSON"):
        calc.set("In", "A1", float("nan"))
    assert calc.read("In", "A1") == [[2]]


def test_two_programs_at_once_keep_apart_and_leave_nothing_behind(calc, tmp_path):
    calc.open(book(tmp_path / "one.xlsx", {"A1": 1}))
    with Calc(tmp_path) as other:
        group = other._driver.pid
        other.open(book(tmp_path / "two.xlsx", {"A1": 2}))
        assert (calc.read("In", "A1"), other.read("In", "A1")) == ([[1]], [[2]])
        assert len(group_members(group)) >= 2  # the driver and LibreOffice
    assert group_members(group) == []
    assert not other.running
    with pytest.raises(ProgramError, match="LibreOffice has ended; it cannot read"):
        other.read("In", "A1")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["one.xlsx", "two.xlsx"]
    assert calc.read("In", "A1") == [[1]]


def group_members(group):
    pids = [int(entry.name) for entry in Path("/proc").iterdir() if entry.name.isdigit()]
    return [pid for pid in pids if _group_of(pid) == group]


def _group_of(pid):
    try:
        state, _, group = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[:3]
    except (FileNotFoundError, ProcessLookupError):
        return None
    return None if state == "Z" else int(group)


def test_a_program_that_stops_answering_is_ended_and_said(tmp_path):
    calc = Calc(tmp_path)
    calc.open(book(tmp_path / "b.xlsx", {"A1": 1}))
    group = calc._driver.pid
    calc._timeout_s = 0.3
    os.kill(group, signal.SIGSTOP)  # the driver stands still
    with pytest.raises(ProgramError, match=r"LibreOffice gave no answer to read within 0\.3 s and was ended"):
        calc.read("In", "A1")
    assert group_members(group) == []
    assert not calc.running


def test_libreoffice_ends_when_the_test_process_is_killed(tmp_path):
    needs("soffice")
    needs("uno")
    script = """
import sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from live.programs import Calc
calc = Calc(Path(sys.argv[2]))
print(calc._driver.pid, flush=True)
sys.stdin.read()
"""
    tests = Path(programs.__file__).parents[1]
    with subprocess.Popen(
        [sys.executable, "-c", script, tests, tmp_path], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    ) as victim:
        group = int(victim.stdout.readline())
        members = group_members(group)
        assert len(members) >= 2
        victim.kill()
    assert all(gone(pid, within_s=10) for pid in members)


# ---- pictures


def size(png):
    """Width and height in a PNG's header, the first chunk (W3C PNG, third edition, 11.2.1 IHDR)."""
    return struct.unpack(">II", png.read_bytes()[16:24])


@pytest.mark.parametrize(
    ("paper", "expected"),
    [
        ("Letter", [(765, 990), (990, 765)]),  # 8.5 x 11 in at 90 dots an inch; the second sheet lies on its side
        ("A4", [(744, 1053), (1053, 744)]),  # 210 x 297 mm, ISO 216
        (None, [(1260, 765), (990, 765)]),  # as the workbook says: legal paper, 14 x 8.5 in, and letter
    ],
)
def test_render_gives_a_picture_a_page_on_the_paper_asked_for(tmp_path, paper, expected):
    made = openpyxl.Workbook()
    made.active["A1"] = "first"
    made.active.page_setup.orientation = "portrait" if paper else "landscape"
    made.active.page_setup.paperSize = made.active.PAPERSIZE_LEGAL
    second = made.create_sheet("second")
    second["A1"] = "second"
    second.page_setup.orientation = "landscape"
    second.page_setup.paperSize = second.PAPERSIZE_LETTER
    path = tmp_path / "pages.xlsx"
    made.save(path)
    pages = render(path, tmp_path, paper)
    assert len(pages) == 2
    for page, wanted in zip(pages, expected, strict=True):
        assert size(page) == pytest.approx(wanted, abs=2)


def test_render_leaves_the_open_workbook_open_and_names_a_file_it_cannot_print(calc, tmp_path):
    calc.open(book(tmp_path / "open.xlsx", {"A1": 1}))
    render(book(tmp_path / "other.xlsx", {"A1": 2}), tmp_path)
    bad = tmp_path / "bad.xlsx"
    bad.write_text("no workbook")
    with pytest.raises(ProgramError, match=r"could not open bad\.xlsx"):
        render(bad, tmp_path)
    assert calc.read("In", "A1") == [[1]]


# ---- comparing


def test_compare_finds_a_planted_difference_and_says_where():
    values = {("In", "A10"): 1.0, ("In", "A9"): "liner", ("Out", "B2"): 12.5}
    assert compare(values, dict(values)) == []
    planted = {**values, ("In", "A10"): 1.1, ("In", "A9"): "Liner", ("Out", "B3"): 7.0}
    assert compare(values, planted) == [
        "In!A9 is 'liner' in the first and 'Liner' in the second.",
        "In!A10 is 1.0 in the first and 1.1 in the second.",
        "Out!B3 is blank in the first and 7.0 in the second.",
    ]
    assert compare(planted, values, cells=[("Out", "B3")]) == ["Out!B3 is 7.0 in the first and blank in the second."]
    assert compare(planted, values, cells=[("Out", "B2")]) == []


@pytest.mark.parametrize(
    ("a", "b", "equal"),
    [
        (None, "", True),
        (1, True, True),
        (0, False, True),
        (0.0, None, False),
        (1.0, "1", False),
        ("#N/A", "#VALUE!", False),
        ("x ", "x", False),
        (1_000_000.0, 1_000_000.0009, True),  # 9e-10 of it
        (1_000_000.0, 1_000_000.0011, False),  # 11e-10 of it
        (0.0, 9e-7, True),
        (0.0, 1.1e-6, False),
    ],
)
def test_compare_holds_each_kind_to_its_own_rule(a, b, equal):
    place = ("In", "A1")
    for first, second in ((a, b), (b, a)):
        assert (compare({place: first}, {place: second}) == []) is equal


def test_compare_takes_other_tolerances():
    a, b = {("In", "A1"): 100.0}, {("In", "A1"): 100.004}
    assert compare(a, b, abs=0.005) == []
    assert compare(a, b, rel=1e-4) == []
    assert len(compare(a, b)) == 1


def test_compare_is_not_content_with_nothing():
    assert compare({}, {}) == ["There is nothing to compare: no cell on either side."]
    values = {("In", "A1"): 1.0}
    assert compare(values, values, cells=[("Inn", "A1")]) == ['Neither side has a value on a sheet "Inn".']


# ---- what is installed


def test_a_missing_program_skips_unless_it_is_required(monkeypatch):
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv("BAYBOOK_LIVE", raising=False)
    with pytest.raises(pytest.skip.Exception, match=r"ssconvert is not installed \(Debian package gnumeric\)"):
        needs("ssconvert")
    monkeypatch.setenv("BAYBOOK_LIVE", "required")
    with pytest.raises(pytest.fail.Exception, match=r"package libreoffice-calc\), and BAYBOOK_LIVE=required"):
        needs("soffice")


def test_a_python_without_uno_counts_as_missing(monkeypatch):
    monkeypatch.setenv("BAYBOOK_LIVE", "required")
    monkeypatch.setattr(programs, "_has_uno", lambda: False)
    with pytest.raises(pytest.fail.Exception, match=r"uno is not installed \(Debian package python3-uno\)"):
        needs("uno")


def test_a_program_nobody_knows_is_a_mistake_of_the_test():
    with pytest.raises(KeyError, match="sofice"):
        needs("sofice")
