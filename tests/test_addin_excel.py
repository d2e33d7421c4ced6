"""What `baybook addin excel` writes: the macro workbook, its buttons, the VBA text inside, and the check of it all."""

from __future__ import annotations

import datetime as dt
import io
import random
import re
import shutil
import struct
import zipfile
from contextlib import suppress
from importlib import resources
from pathlib import Path, PureWindowsPath
from types import SimpleNamespace

import books
import openpyxl
import pytest
from click.testing import CliRunner

from baybook.addin import check as checking
from baybook.addin.check import MISSING, OK, UNKNOWN, Machine, check
from baybook.addin.excel import CONF_SHEET, FIELDS, NAME, NEW, REFRESH, STATUS, TEMPLATE, conf_rows, macro_workbook
from baybook.addin.ole import VbaUnreadable, module_texts
from baybook.addin.pages import REFERENCE_HEAD, REFERENCE_ROW, example_result, example_text, reference_rows
from baybook.addin.registry import FUNCTIONS
from baybook.addin.sample import SAMPLES, sample
from baybook.addin.vba import functions_bas
from baybook.cli import main
from baybook.commands import buttons
from baybook.files.own import library_file

pytest.importorskip("xlwings")
WHEN = dt.datetime.combine(dt.date(2026, 11, 25), dt.time())
VBA = "xl/vbaProject.bin"
WINDOWS_PYTHON = r"C:\Users\Ann\book\.venv\Scripts\python.exe"
WORKBOOKS = Path(__file__).parents[1] / "workbooks"


@pytest.fixture(scope="module")
def made() -> bytes:
    return macro_workbook(WHEN)


@pytest.fixture(scope="module")
def template_vba() -> bytes:
    with zipfile.ZipFile(io.BytesIO(library_file("xlwings", TEMPLATE))) as archive:
        return archive.read(VBA)


def part(data: bytes, name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return archive.read(name).decode()


# ---------------------------------------------------------------------------------------------- the workbook


def test_its_vba_is_the_templates_byte_for_byte(made, template_vba):
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        assert archive.testzip() is None
        assert archive.read(VBA) == template_vba
    assert "application/vnd.ms-excel.sheet.macroEnabled.main+xml" in part(made, "[Content_Types].xml")
    assert "vbaProject.bin" in part(made, "xl/_rels/workbook.xml.rels")


def test_the_same_twice_and_without_names_of_this_machine(made):
    assert macro_workbook(WHEN) == made
    with zipfile.ZipFile(io.BytesIO(made)) as archive:
        text = b"".join(archive.read(name) for name in archive.namelist() if name != VBA)
    assert str(Path.home()).encode() not in text


def test_its_sheets_and_settings(made):
    book = openpyxl.load_workbook(io.BytesIO(made), keep_vba=True)
    assert book.sheetnames == ["Start", "Own sheet", REFRESH, NEW, "Functions", CONF_SHEET]
    rows = list(book[CONF_SHEET].iter_rows(max_col=2, values_only=True))
    assert rows == conf_rows("linux", "")
    assert (book["Start"].sheet_properties.codeName, book[CONF_SHEET].sheet_properties.codeName) == ("Sheet1", "Sheet2")


@pytest.mark.parametrize(("system", "key"), [("win32", "INTERPRETER_WIN"), ("darwin", "INTERPRETER_MAC")])
def test_the_interpreter_is_a_whole_path_where_it_will_run(system, key):
    assert dict(conf_rows(system, WINDOWS_PYTHON))[key] == WINDOWS_PYTHON
    assert all(value not in {None, ""} for _, value in conf_rows(system, WINDOWS_PYTHON)), "a blank overrides"


def formulas_and_values(data: bytes):
    live, stored = (openpyxl.load_workbook(io.BytesIO(data), data_only=only) for only in (False, True))
    for sheet in live:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    yield sheet.title, cell.coordinate, cell.value, stored[sheet.title][cell.coordinate].value


def test_every_formula_has_its_value(made):
    found = list(formulas_and_values(made))
    assert len(found) > 30
    assert [one[:2] for one in found if one[3] is None] == []
    (start,) = [one for one in found if one[0] == "Start"]
    assert start[2:] == ('=BAY_COUNT("16 ft",16)', 12)


def test_its_buttons_run_the_templates_own_macro(made, template_vba):
    assert "Sub SampleCall()" in module_texts(template_vba)["Module1"]
    for number, label in ((3, "Refresh this workbook"), (4, "New workbook")):
        drawing = part(made, f"xl/drawings/drawing{number}.xml")
        assert 'macro="[0]!SampleCall"' in drawing
        assert f"<a:t>{label}</a:t>" in drawing
        assert f"drawing{number}.xml" in part(made, f"xl/worksheets/_rels/sheet{number}.xml.rels")
        assert part(made, f"xl/worksheets/sheet{number}.xml").endswith('r:id="rId1"/></worksheet>')
        assert f"/xl/drawings/drawing{number}.xml" in part(made, "[Content_Types].xml")


def test_the_command_writes_what_the_macro_looks_for(tmp_path):
    ran = CliRunner().invoke(main, ["addin", "excel", "--out", str(tmp_path / "new")])
    assert ran.exit_code == 0, ran.output
    written = {path.name for path in (tmp_path / "new").iterdir()}
    assert written == {f"{NAME}.xlsm", f"{NAME}.py", f"{NAME}_functions.bas"}
    space: dict = {}
    exec((tmp_path / "new" / f"{NAME}.py").read_text(encoding="utf-8"), space)  # noqa: S102 - what the macro does
    assert space["main"] is buttons.main
    assert (tmp_path / "new" / f"{NAME}_functions.bas").read_bytes() == functions_bas().encode("cp1252")


# ---------------------------------------------------------------------------------------------- VBA text


def test_vba_text_is_read_as_xlwings_wrote_it(template_vba):
    whole = (resources.files("xlwings") / "xlwings.bas").read_text(encoding="utf-8")
    texts = module_texts(template_vba)
    assert texts["xlwings"].replace("\r\n", "\n").strip() == whole.strip()
    assert {"ThisWorkbook", "Sheet1", "Sheet2", "Module1", "Dictionary"} < set(texts)


def test_damaged_vba_is_refused_or_read_and_never_hangs(template_vba):
    draw = random.Random(3)
    for _ in range(300):
        damaged = bytearray(template_vba)
        for _ in range(draw.randrange(1, 40)):
            damaged[draw.randrange(len(damaged) if draw.random() < 0.5 else 2048)] = draw.randrange(256)
        if draw.random() < 0.3:
            del damaged[draw.randrange(len(damaged)) :]
        with suppress(VbaUnreadable):
            module_texts(bytes(damaged))


@pytest.mark.parametrize(
    "data", [b"", b"PK\x03\x04", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)]
)
def test_what_no_vba_project_is(data):
    with pytest.raises(VbaUnreadable):
        module_texts(data)


def test_a_circle_of_sectors_ends(template_vba):
    (first,) = struct.unpack_from("<I", template_vba, 76)
    (directory,) = struct.unpack_from("<I", template_vba, 48)
    at = (first + 1) * 512 + 4 * directory
    circle = template_vba[:at] + struct.pack("<I", directory) + template_vba[at + 4 :]
    with pytest.raises(VbaUnreadable, match="circle"):
        module_texts(circle)


# ---------------------------------------------------------------------------------------------- check


def windows(**more) -> Machine:
    """A Windows machine on which all is well, but for what a test changes."""
    there = more.pop("there", lambda _: True)
    packages = {"xlwings": "0.37.8", "pywin32": "311"} | more.pop("packages", {})
    return Machine(
        system="win32",
        executable=WINDOWS_PYTHON,
        installed=lambda package: packages[package],
        exists=there,
        trusts=lambda: more.get("trusts", True),
    )


def version_inside(data: bytes) -> str:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return re.search(r"xlwings64-([\d.]+)\.dll", module_texts(archive.read(VBA))["xlwings"])[1]


@pytest.fixture
def place(tmp_path) -> Path:
    (tmp_path / f"{NAME}.xlsm").write_bytes(macro_workbook(WHEN, "win32", WINDOWS_PYTHON))
    (tmp_path / f"{NAME}.py").write_text("", encoding="utf-8")
    return tmp_path


def with_conf(place: Path, change) -> None:
    """Change the conf sheet of the workbook as a person would."""
    path = place / f"{NAME}.xlsm"
    book = openpyxl.load_workbook(path, keep_vba=True)
    change(book, book[CONF_SHEET])
    book.save(path)


def missing(place: Path, machine: Machine) -> list[str]:
    steps = check(place, machine)
    assert all(step.remedy for step in steps if step.state == MISSING)
    return [f"{step.what} -> {step.remedy}" for step in steps if step.state == MISSING]


def test_freshly_made_only_the_functions_are_missing(place, made):
    machine = windows(packages={"xlwings": version_inside(made)})
    (only,) = missing(place, machine)
    assert only.startswith(
        f"the functions are not in {NAME}.xlsm yet -> press Alt+F8 and run ImportPythonUDFs; or press"
    )
    assert sum(step.state == OK for step in check(place, machine)) == 7


def test_another_version_of_the_library(place, made):
    (other, *_) = missing(place, windows(packages={"xlwings": "9.9.9"}))
    inside = version_inside(made)
    assert other == (
        f"{NAME}.xlsm calls xlwings64-{inside}.dll, installed is xlwings 9.9.9 -> run: baybook addin excel, "
        f"and move your sheets into the new workbook; or pip install xlwings=={inside}"
    )


def test_what_is_not_installed(place):
    machine = windows(packages={"xlwings": "", "pywin32": ""})
    library, pywin32, version, *_ = missing(place, machine)
    assert library == "xlwings is not installed -> run: pip install xlwings"
    assert pywin32 == "pywin32 is not installed -> run: pip install pywin32"
    assert "installed is xlwings not at all" in version


def test_the_dll_beside_the_interpreter(place, made):
    version = version_inside(made)
    machine = windows(packages={"xlwings": version}, there=lambda path: not str(path).endswith(".dll"))
    assert any(
        f"xlwings64-{version}.dll is neither in" in one and "reinstall" in one for one in missing(place, machine)
    )
    above = PureWindowsPath(WINDOWS_PYTHON).parent.parent / f"xlwings64-{version}.dll"
    machine = windows(packages={"xlwings": version}, there=lambda path: path == above or not str(path).endswith(".dll"))
    assert not any(".dll is neither" in one for one in missing(place, machine))


CONFS = {
    "renamed": (lambda _, sheet: setattr(sheet, "title", "_xlwings.conf"), "has no sheet xlwings.conf", "rename"),
    "gap": (lambda _, sheet: sheet.insert_rows(3), "has a gap at A3", "close the gap"),
    "moved down": (lambda _, sheet: sheet.insert_rows(1), "has a gap at A1", "begin in A1"),
    "blank value": (lambda _, sheet: sheet.cell(1, 2, ""), "no value for INTERPRETER_WIN", "a blank overrides"),
    "no modules": (lambda _, sheet: sheet.cell(3, 2, "mine"), "UDF MODULES is mine", "write baybook.addin.udfs there"),
    "row lost": (lambda _, sheet: sheet.delete_rows(5), "lacks USE UDF SERVER", "add the rows"),
    "bare python": (lambda _, sheet: sheet.cell(1, 2, "python"), "is python, no whole path", WINDOWS_PYTHON),
    "other python": (lambda _, sheet: sheet.cell(1, 2, r"D:\py\python.exe"), "another Python", WINDOWS_PYTHON),
}


@pytest.mark.parametrize("name", CONFS)
def test_the_conf_sheet(place, made, name):
    change, what, remedy = CONFS[name]
    with_conf(place, change)
    found = missing(place, windows(packages={"xlwings": version_inside(made)}))
    assert any(what in one.split(" -> ")[0] and remedy in one.split(" -> ")[1] for one in found), found


def test_an_interpreter_that_is_not_there(place, made):
    with_conf(place, lambda _, sheet: sheet.cell(1, 2, r"D:\py\python.exe"))
    machine = windows(packages={"xlwings": version_inside(made)}, there=lambda path: not str(path).startswith("D:"))
    assert any(r"D:\py\python.exe, which is not there" in one for one in missing(place, machine))


def test_the_trust_setting(place, made):
    version = {"xlwings": version_inside(made)}
    functions, trust = missing(place, windows(packages=version, trusts=False))
    assert "run ImportPythonUDFs" not in functions
    assert "Import File, baybook_addin_functions.bas" in functions
    assert trust.startswith("'Trust access to the VBA project object model' is off -> tick it")
    states = [step.state for step in check(place, windows(packages=version, trusts=None))]
    assert states.count(UNKNOWN) == 1


def test_functions_that_are_in_the_workbook(place):
    machine = windows(trusts=False)
    book = checking._Workbook(place / "x.xlsm", {"xlwings_udfs": functions_bas()}, [])
    assert [step.state for step in checking._functions(book, machine)] == [OK]
    older = functions_bas().replace("BAY_FALL(", "BAY_SLOPE(")
    (old, trust) = checking._functions(checking._Workbook(place / "x.xlsm", {"xlwings_udfs": older}, []), machine)
    assert (old.state, trust.state) == (MISSING, MISSING)
    assert "not those of this version: BAY_FALL, BAY_SLOPE" in old.what


def test_the_module_of_the_buttons(place, made):
    (place / f"{NAME}.xlsm").rename(place / "mine.xlsm")
    machine = Machine(
        system="darwin", executable="/usr/bin/python3", home=place, installed=lambda _: version_inside(made)
    )
    found = missing(place, machine)
    assert (
        "no mine.py beside the workbook -> copy baybook_addin.py there under that name: the buttons look for it"
        in found
    )
    assert any("applescript is not installed -> run once: xlwings runpython install" in one for one in found)


def test_no_workbook_or_none_that_can_be_read(tmp_path, made):
    version = {"xlwings": version_inside(made)}
    assert missing(tmp_path, windows(packages=version)) == [
        f"there is no .xlsm in {tmp_path} -> run: baybook addin excel"
    ]
    (tmp_path / "broken.xlsm").write_bytes(b"no zip")
    (one,) = missing(tmp_path, windows(packages=version))
    assert one.startswith("broken.xlsm cannot be read: ")


def test_the_check_command(tmp_path):
    CliRunner().invoke(main, ["addin", "excel", "--out", str(tmp_path)])
    ran = CliRunner().invoke(main, ["addin", "check", "--out", str(tmp_path)])
    assert ran.exit_code == 3
    assert "the functions are not in baybook_addin.xlsm yet" in ran.output
    assert "1 step missing" in ran.output


# ---------------------------------------------------------------------------------------------- buttons


class Sheet:
    def __init__(self, name, **cells):
        self.name = name
        self.cells = {address: SimpleNamespace(value=value) for address, value in cells.items()}

    def __getitem__(self, address):
        return self.cells.setdefault(address, SimpleNamespace(value=None))


class Books(list):
    def __init__(self, *paths):
        super().__init__(Opened(path, self) for path in paths)
        self.log = []

    def open(self, path):
        self.log.append(("open", path))


class Opened:
    def __init__(self, path, books_):
        self.fullname, self.books = path, books_

    def save(self):
        self.books.log.append(("save", self.fullname))

    def close(self):
        self.books.log.append(("close", self.fullname))


def pressed(sheet: Sheet, *opened: str) -> tuple[str, list]:
    """Press the button on a sheet of an Excel that has these workbooks open."""
    open_books = Books(*opened)
    book = SimpleNamespace(
        sheets=SimpleNamespace(active=sheet), app=SimpleNamespace(books=open_books), activate=lambda: None
    )
    buttons.press(book)
    return sheet[STATUS].value, open_books.log


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> Path:
    """A book's workbook, built by the button."""
    book = books.book_folder(tmp_path_factory.mktemp("books") / "book")
    said, log = pressed(Sheet(NEW, **{FIELDS["book"]: str(book), FIELDS["on"]: dt.datetime(2026, 6, 15)}))  # noqa: DTZ001
    (path,) = (book / "workbooks").glob("*.xlsx")
    assert said == f"1 workbook written to {book / 'workbooks'}"
    assert log == [("open", str(path))]
    return path


@pytest.fixture
def job(built, tmp_path) -> Path:
    return Path(shutil.copy(built, tmp_path))


def test_new_workbook(job):
    assert openpyxl.load_workbook(job).sheetnames


def test_refresh_tells_the_price_before_and_after(job):
    book = openpyxl.load_workbook(job)
    (where,) = book.defined_names["job_labour_rate"].destinations
    book[where[0]][where[1]].value = 75
    book.save(job)
    said, _ = pressed(Sheet(REFRESH, **{FIELDS["workbook"]: str(job)}))
    assert re.fullmatch(rf"{job.name} refreshed: price now [\d.]+; as it was: {job.stem} before .*\.xlsx", said)


def test_refresh_saves_closes_and_opens_again(job):
    said, log = pressed(Sheet(REFRESH, **{FIELDS["workbook"]: f'"{job}"'}), str(job))
    assert said == f"{job.name} is up to date; nothing was written"
    assert log == [("save", str(job)), ("close", str(job)), ("open", str(job))]


def test_refresh_of_a_workbook_that_is_not_open(job):
    said, log = pressed(Sheet(REFRESH, **{FIELDS["workbook"]: str(job)}), "other.xlsx")
    assert "up to date" in said
    assert log == []


def test_a_refused_refresh_opens_the_workbook_again_and_says_why(job):
    job.write_bytes(b"no workbook")
    said, log = pressed(Sheet(REFRESH, **{FIELDS["workbook"]: str(job)}), str(job))
    assert said.startswith(f"{job.name}: ")
    assert log[-1] == ("open", str(job))


@pytest.mark.parametrize(
    ("sheet", "said"),
    [
        (Sheet(REFRESH), "B4: is empty: write the whole path of the job's workbook there"),
        (Sheet(NEW), "B4: is empty: write the folder of the CSV files there"),
        (Sheet(NEW, B4="x", B6="15.6.2026"), "B6: '15.6.2026' is not a date: write year-month-day, 2026-06-15"),
    ],
)
def test_what_a_button_cannot_do_it_says_on_its_sheet(sheet, said):
    assert pressed(sheet) == (said, [])


def test_a_fault_is_told_without_a_traceback(monkeypatch):
    monkeypatch.setattr(buttons, "_ACTIONS", {REFRESH: lambda *_: {}["x"]})
    assert pressed(Sheet(REFRESH))[0] == "a fault of the program (KeyError: 'x'); please report it"


def test_on_any_other_sheet_nothing_happens():
    assert pressed(Sheet("Own sheet")) == (None, [])


# ---------------------------------------------------------------------------------------------- reference, samples

# By hand, from the rules and the worked deck: 141 + 1.5 - 3 + 3 = 142.5; 93.25 + 1.5 = 94.75, up to 95; 12*4/141;
# 2*sqrt(7.25^2 + 4^2) + 3; 9.25 - 7.25; 9.25 - 4/2; 27.8(7/24)^(5/3)3^(8/3); 2 of 144 for 142.5 and 1 for two of 72.
BY_HAND = {
    "BAY_COUNT": "12",
    "BAY_WIDTHS": "{13.75;14.5;13.75}",
    "BAY_CLEAR_RUN": "141",
    "BAY_CUT_LENGTHS": "{142.5;95}",
    "BAY_PIECES": "{192;93}",
    "BAY_FALL": "0.3404255319",
    "BAY_PANEL_WIDTH": "19.56049516",
    "BAY_OUTLET_TRIM": "2",
    "BAY_BLOCKING_HEIGHT": "7.25",
    "BAY_TAPE_LENGTH": "156",
    "BAY_CARTRIDGES": "1",
    "BAY_FLOW": "9.974025333",
    "BAY_GUTTER_RUN": "24",
    "BAY_CUT_COUNTS": "{3;0}",
    "BAY_MARKUP_PRICE": "10000",
    "BAY_MARGIN_PRICE": "11428.57",
    "BAY_INCHES": "171.5",
    "BAY_FEET_INCHES": "14' 3-1/2\"",
    "BAY_RATE": "12",
    "BAY_WHY": "BAY_COUNT: spacing: '0 in' must be 4 in or more",
}


def test_the_worked_examples_by_hand():
    assert {name: example_result(FUNCTIONS[name]) for name in BY_HAND} == BY_HAND
    assert "124" in example_result(FUNCTIONS["BAY_PRICE_TABLE"])  # 4 packs of 50 at 31; 3 of 75 at 45 is 135
    assert "66.759" in example_result(FUNCTIONS["BAY_LEADER_CAPACITY"])


def test_the_reference_is_the_registry():
    rows = [cells for _, cells in reference_rows()]
    assert all(len(cells) == len(REFERENCE_HEAD) for cells in rows)
    for function in FUNCTIONS.values():
        count = len(function.args)
        block, rows = rows[: count + 4], rows[count + 4 :]
        assert block[0] == (function.signature, "", "", "")
        assert block[1][0].startswith(f"{function.help} Gives {function.gives.text}")
        told = [cells[:3] for cells in block[2 : count + 2]]
        assert told == [(one.name, one.unit, one.default) for one in function.args]
        assert all(cells[3].startswith(one.field.help) for cells, one in zip(block[2:], function.args, strict=False))
        assert block[count + 2] == ("example", "", "", example_text(function))
        assert block[count + 3] == ("gives", "", "", example_result(function))
    assert rows == []


def cells_of(sheet) -> list[tuple[str, ...]]:
    rows = sheet.iter_rows(min_row=REFERENCE_ROW, max_col=4, values_only=True)
    return [tuple(cell or "" for cell in row) for row in rows]


@pytest.mark.parametrize("where", ["macro workbook", *SAMPLES])
def test_every_workbook_shows_the_same_reference(made, where):
    data = made if where == "macro workbook" else (WORKBOOKS / where).read_bytes()
    assert cells_of(openpyxl.load_workbook(io.BytesIO(data))["Functions"]) == [cells for _, cells in reference_rows()]


@pytest.mark.parametrize("name", SAMPLES)
def test_the_sample_is_current(name):
    """After a change that is meant: ``python -m baybook.addin.sample workbooks``."""
    assert (WORKBOOKS / name).read_bytes() == sample(SAMPLES[name])


@pytest.mark.parametrize("name", SAMPLES)
def test_the_sample_calls_functions_beside_formulas_of_its_own_all_with_values(name):
    found = list(formulas_and_values((WORKBOOKS / name).read_bytes()))
    assert [one[:2] for one in found if one[3] is None] == []
    texts = [getattr(one[2], "text", one[2]) for one in found]
    calls = [text for text in texts if "BAY" in text]
    used = {re.match(r"=([\w.]+)\(", text)[1] for text in calls}
    assert used <= {SAMPLES[name](function) for function in FUNCTIONS.values()}
    assert len(used) >= 15
    assert len(texts) - len(calls) >= 10
