"""The Calc face in a running LibreOffice, headless: every function through the extension against the engine."""

from __future__ import annotations

import contextlib
import io
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from importlib.util import find_spec
from pathlib import Path

import openpyxl
import pytest
from addin_cases import CASES, REFUSED
from live.programs import UNO_PYTHON, as_loaded_libreoffice, needs

from baybook.addin import sample as samples
from baybook.addin.calc import EXTENSION, extension, qualified
from baybook.addin.excel import NAME, macro_workbook
from baybook.addin.pages import Page
from baybook.addin.registry import FUNCTIONS, answer
from baybook.workbook.looks import Palette

pytestmark = pytest.mark.live
HERE = Path(__file__).parent
NOBODY = 65534
CALC_SAMPLE = "own sheet for Calc.xlsx"
DRAPE, HEIGHT = "B11", "B9"  # inputs of the sample that change its values and not the size of its ranges
CASES_OF_CALC = [case for case in CASES if not case.solver]


def as_user(command: list[str], home: Path) -> list[str]:
    """Put a command so that it runs as an ordinary user: unopkg will not run as root."""
    if os.geteuid() != 0:
        return ["env", f"HOME={home}", *command]
    who = ["setpriv", f"--reuid={NOBODY}", f"--regid={NOBODY}", "--clear-groups"]
    return [*who, "env", f"HOME={home}", *command]


def run(command: list[str], home: Path, given: str = "") -> subprocess.CompletedProcess[str]:
    """Run a command in a session of its own, and end whatever it leaves behind."""
    settings = {"LC_ALL": "C.UTF-8", "SAL_USE_VCLPLUGIN": "svp", "TMPDIR": str(home)}
    inherited = {key: value for key, value in os.environ.items() if key not in {"PYTHONPATH", "XDG_CONFIG_HOME"}}
    with subprocess.Popen(
        as_user(command, home),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env=inherited | settings,
        start_new_session=True,
    ) as process:
        try:
            said, log = process.communicate(given, timeout=120)
        except subprocess.TimeoutExpired:
            pytest.fail(f"{command[0]} gave no answer within 120 s")
        finally:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
    return subprocess.CompletedProcess(command, process.returncode, said, log)


def owned(home: Path) -> None:
    """Give a folder to whom the commands run as."""
    if os.geteuid() == 0:
        for path in (home, *home.rglob("*")):
            os.chown(path, NOBODY, NOBODY, follow_symlinks=False)


@pytest.fixture(scope="module")
def home():
    """A home with a profile in which the extension is installed."""
    needs("soffice")
    needs("uno")
    place = Path(tempfile.mkdtemp(prefix="calc-addin-"))  # not pytest's own folders: another user cannot enter them
    place.chmod(0o755)
    (place / EXTENSION).write_bytes(extension())
    for driver in ("uno_driver.py", "addin_driver.py"):
        shutil.copy(HERE / driver, place)
    for name in samples.SAMPLES:
        (place / name).write_bytes(samples.sample(samples.SAMPLES[name]))
    owned(place)
    installed = run(
        ["unopkg", "add", "-f", f"-env:UserInstallation={profile_of(place)}", str(place / EXTENSION)], place
    )
    assert installed.returncode == 0, installed.stdout + installed.stderr
    yield place
    shutil.rmtree(place, ignore_errors=True)


def profile_of(home: Path) -> str:
    return (home / "profile").as_uri()


def asked(home: Path, **request) -> dict:
    empty = {"calls": [], "change": [], "sheets": [], "names": list(FUNCTIONS)}
    command = [UNO_PYTHON, str(home / "addin_driver.py"), str(home / "profile")]
    ran = run(command, home, json.dumps(empty | request))
    assert ran.returncode == 0, ran.stderr[-2000:]
    return json.loads(ran.stdout)


def rows(value) -> list[list]:
    return value if isinstance(value, list) else [[value]]


def to_ask(case) -> list:
    """A call, and a range two rows and one column larger than its answer."""
    due = rows(case.expected)
    return [case.name, list(case.given), len(due) + 2, len(due[0]) + 1]


@pytest.fixture(scope="module")
def live(home) -> dict:
    """One LibreOffice answers everything that needs no solver."""
    refused = [[name, list(given), 1, 1] for name, given, _ in REFUSED]
    solver = [to_ask(case) for case in CASES if case.solver]
    changed = {DRAPE: 3, HEIGHT: 9.5}
    return asked(
        home,
        calls=[*map(to_ask, CASES_OF_CALC), *refused, *solver],
        change=[["BAY_COUNT", 16, 20], ["BAY_COUNT", 20, 16]],
        sheets=[[str(home / CALC_SAMPLE), "Own sheet", changed]],
    )


def plain(cell):
    return None if cell in {"", None} else round(cell, 6) if isinstance(cell, float | int) else cell


def filled(found: list[list], due: list[list]) -> bool:
    """The answer's own cells are its values; what is left of a range holds #N/A, or a single answer over and over."""
    height, width = len(due), len(due[0])
    inside = [[plain(cell) for cell in row[:width]] for row in found[:height]]
    return inside == [[plain(cell) for cell in row] for row in due]


def test_every_function_answers_as_the_engine_does(live):
    wrong = [
        (str(case), error, found[:3])
        for case, (found, error) in zip(CASES_OF_CALC, live["calls"], strict=False)
        if error or not filled(found, rows(case.expected))
    ]
    assert wrong == []
    assert {case.name for case in CASES_OF_CALC} == set(FUNCTIONS)
    assert len(CASES_OF_CALC) > 100


def test_an_array_fills_its_range_and_no_more(live):
    tables = 0
    for case, (found, _) in zip(CASES_OF_CALC, live["calls"], strict=False):
        due = rows(case.expected)
        if len(due) > 1 and len(due[0]) > 1:
            tables += 1
            assert all(row[-1] == "#N/A" for row in found)
            assert all(cell == "#N/A" for row in found[len(due) :] for cell in row)
    assert tables > 8


def test_what_is_refused_is_an_error_of_the_cell(live):
    for (name, given, _), (found, error) in zip(REFUSED, live["calls"][len(CASES_OF_CALC) :], strict=False):
        too_many = len(given) > len(FUNCTIONS[name].args) and name != "BAY_WHY"
        assert error == (504 if too_many else 502), (name, given, found)


def test_a_plan_that_needs_the_solver_says_in_the_cell_what_to_install(live):
    solver = [case for case in CASES if case.solver]
    for case, (found, error) in zip(solver, live["calls"][-len(solver) :], strict=True):
        if filled(found, rows(case.expected)):
            pytest.skip("LibreOffice's Python has numpy and highspy")
        assert error == 0
        assert re.match(rf"{case.name}: this plan needs the Python package \w+, .* pip install --user", found[0][0])


def test_a_changed_input_recalculates(live):
    sixteen, twenty = (answer("BAY_COUNT", (width, 16)) for width in (16, 20))
    assert live["change"] == [[sixteen, twenty], [twenty, sixteen]]


def test_the_wizard_is_told_what_the_registry_says(live):
    assert live["wizard"] == {
        name: [one.help, [[argument.name, argument.help] for argument in one.args]] for name, one in FUNCTIONS.items()
    }


# ---------------------------------------------------------------------------------------------- the sample sheet


def own_sheet_with(changes: dict[str, float]) -> dict[tuple[int, int], object]:
    """The sample's values for other inputs, by (row, column)."""
    book = openpyxl.Workbook()
    page = Page(book.active, Palette(book.active), {})
    inputs = list(samples._INPUTS)
    for address, value in changes.items():
        at = int(address[1:]) - 5
        inputs[at] = (inputs[at][0], value, inputs[at][2])
    kept, samples._INPUTS = samples._INPUTS, tuple(inputs)
    try:
        return samples.own_sheet(page, qualified).cells
    finally:
        samples._INPUTS = kept


@pytest.mark.parametrize(
    ("at", "changes"), [(0, {}), (1, {DRAPE: 3, HEIGHT: 9.5})], ids=["as stored", "inputs changed"]
)
def test_the_sample_recalculates_to_its_stored_values(live, at, changes):
    found = live["sheets"][0][at]
    due = own_sheet_with(changes)
    differ = {
        (row, col): (found[row - 1][col - 1], value)
        for (row, col), value in due.items()
        if plain(found[row - 1][col - 1]) != plain(value)
    }
    assert differ == {}
    assert due[20, 2] == 12


def test_other_inputs_give_other_values():
    before, after = own_sheet_with({}), own_sheet_with({DRAPE: 3, HEIGHT: 9.5})
    assert sum(before[cell] != after[cell] for cell in before) > 30


def test_libreoffice_opens_the_macro_workbook(tmp_path):
    """Without the extension it shows the stored values, but for array formulas, which it works out as it loads them."""
    needs("soffice")
    pytest.importorskip("xlwings")
    path = tmp_path / f"{NAME}.xlsm"
    data = macro_workbook(samples._MADE)
    path.write_bytes(data)
    (seen,) = as_loaded_libreoffice([path], tmp_path).values()
    live, stored = (openpyxl.load_workbook(io.BytesIO(data), data_only=only) for only in (False, True))
    arrays = {
        (sheet.title, cell.coordinate)
        for sheet in live
        for row in sheet.iter_rows()
        for formula in row
        if hasattr(formula.value, "ref")
        for line in sheet[formula.value.ref]
        for cell in line
    }
    compared = 0
    for sheet in stored.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                where = sheet.title, cell.coordinate
                if where in arrays:
                    assert seen[where] == "#NAME?"
                elif cell.value not in {None, ""}:
                    compared += 1
                    assert plain(seen[where]) == plain(cell.value), where
    assert compared > 500


# ---------------------------------------------------------------------------------------------- with the solver


def test_with_the_solver_installed_every_plan_is_the_engines(home):
    """LibreOffice's Python finds numpy and highspy among the user's own packages, where pip --user puts them."""
    theirs = run([UNO_PYTHON, "-c", "import sys; print('%d.%d' % sys.version_info[:2])"], home).stdout.strip()
    ours = f"{sys.version_info.major}.{sys.version_info.minor}"
    if theirs != ours:
        pytest.skip(f"numpy here is for Python {ours}; LibreOffice has {theirs}")
    packages = Path(find_spec("numpy").origin).parents[1]
    if run(["test", "-r", str(packages / "numpy" / "__init__.py")], home).returncode:
        pytest.skip(f"an ordinary user cannot read {packages}")
    place = home / ".local" / "lib" / f"python{theirs}" / "site-packages"
    place.mkdir(parents=True)
    for name in ("numpy", "numpy.libs", "highspy"):
        if (packages / name).exists():
            (place / name).symlink_to(packages / name)
    owned(home)
    cases = [case for case in CASES if case.name.startswith("BAY_CUT_")]
    found = asked(home, calls=[to_ask(case) for case in cases])["calls"]
    shutil.rmtree(home / ".local")
    for case, (cells, error) in zip(cases, found, strict=True):
        assert error == 0
        assert filled(cells, rows(case.expected)), (str(case), cells[:4])
