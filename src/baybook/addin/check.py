"""What is still missing before the functions and buttons run in Excel, each step with its remedy."""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path, PurePath, PureWindowsPath
from typing import Any
from zipfile import ZipFile

from baybook.addin.excel import CONF_SHEET, NAME, conf_rows
from baybook.addin.ole import VbaUnreadable, module_texts
from baybook.addin.registry import FUNCTIONS
from baybook.addin.vba import UDF_MODULE
from baybook.files.guard import check_workbook
from baybook.problems import BookError

__all__ = ["Machine", "Step", "check", "trusts_vba_access"]

OK, MISSING, UNKNOWN = "ok", "missing", "not checked"
_DLL = re.compile(r"xlwings64-([\w.]+?)\.dll")
_FUNCTION = re.compile(r"^Function (BAY_\w+)\(([^)]*(?:\(\))?[^)]*)\)", re.MULTILINE)
_AGAIN = "run: baybook addin excel"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that must be in place.

    Parameters
    ----------
    state : str
        ``ok``, ``missing``, or ``not checked`` where this system cannot tell.
    what : str
        What was looked at and found.
    remedy : str
        What to do; empty if it is in place.
    """

    state: str
    what: str
    remedy: str = ""


def installed(package: str) -> str:
    """Return the version of an installed package; empty if it is not."""
    try:
        return version(package)
    except PackageNotFoundError:
        return ""


def trusts_vba_access() -> bool | None:
    """Return whether Excel lets programs write VBA, as Windows' registry says; None if it cannot be told."""
    try:
        import winreg
    except ImportError:
        return None
    for office in ("16.0", "15.0"):
        path = rf"Software\Microsoft\Office\{office}\Excel\Security"
        try:
            with winreg.OpenKey(winreg.HKEY_CURRENT_USER, path) as key:  # type: ignore[attr-defined,unused-ignore]  # Windows only
                return bool(winreg.QueryValueEx(key, "AccessVBOM")[0])  # type: ignore[attr-defined,unused-ignore]
        except OSError:
            continue
    return False


@dataclass(frozen=True, slots=True)
class Machine:
    """What a check asks of the machine; a test puts another in its place."""

    system: str = sys.platform
    executable: str = sys.executable
    home: Path = field(default_factory=Path.home)
    installed: Callable[[str], str] = installed
    exists: Callable[[PurePath], bool] = lambda path: Path(path).exists()
    trusts: Callable[[], bool | None] = trusts_vba_access


@dataclass(frozen=True, slots=True)
class _Workbook:
    """A macro workbook as far as a check reads it."""

    path: Path
    modules: dict[str, str]
    conf: list[tuple[Any, Any]] | None  # None: no sheet of that name

    @property
    def dll_version(self) -> str:
        match = _DLL.search(self.modules.get("xlwings", ""))
        return match[1] if match else ""


def _read(path: Path) -> _Workbook:
    from openpyxl import load_workbook

    data = check_workbook(path)
    with ZipFile(io.BytesIO(data)) as archive:
        name = "xl/vbaProject.bin"
        modules = module_texts(archive.read(name)) if name in archive.namelist() else {}
    book = load_workbook(io.BytesIO(data), read_only=True)
    try:
        if CONF_SHEET not in book.sheetnames:
            return _Workbook(path, modules, None)
        rows = book[CONF_SHEET].iter_rows(max_col=2, values_only=True)
        return _Workbook(path, modules, [(row[0], row[1] if len(row) > 1 else None) for row in rows])
    finally:
        book.close()


def _library(machine: Machine) -> Iterator[Step]:
    found = machine.installed("xlwings")
    yield (
        Step(OK, f"xlwings {found}") if found else Step(MISSING, "xlwings is not installed", "run: pip install xlwings")
    )
    if machine.system == "win32":
        windows = machine.installed("pywin32")
        yield (
            Step(OK, f"pywin32 {windows}")
            if windows
            else Step(MISSING, "pywin32 is not installed", "run: pip install pywin32")
        )


def _same_version(book: _Workbook, machine: Machine) -> Iterator[Step]:
    inside, installed_now = book.dll_version, machine.installed("xlwings")
    if not inside:
        yield Step(MISSING, f"{book.path.name} holds no xlwings module", f"{_AGAIN}, and use the workbook it makes")
        return
    if inside != installed_now:
        what = f"{book.path.name} calls xlwings64-{inside}.dll, installed is xlwings {installed_now or 'not at all'}"
        yield Step(
            MISSING, what, f"{_AGAIN}, and move your sheets into the new workbook; or pip install xlwings=={inside}"
        )
        return
    yield Step(OK, f"{book.path.name} calls the installed xlwings {inside}")
    if machine.system == "win32":
        name = f"xlwings64-{inside}.dll"
        interpreter = PureWindowsPath(machine.executable)
        near = (interpreter.parent / name, interpreter.parent.parent / name)
        if any(machine.exists(path) for path in near):
            yield Step(OK, f"{name} lies beside the interpreter")
        else:
            remedy = "run: pip install --force-reinstall xlwings"
            yield Step(MISSING, f"{name} is neither in {near[0].parent} nor in {near[1].parent}", remedy)


def _conf(book: _Workbook, machine: Machine) -> Iterator[Step]:
    if book.conf is None:
        yield Step(
            MISSING, f"{book.path.name} has no sheet {CONF_SHEET}", f"rename _{CONF_SHEET} to {CONF_SHEET}, or {_AGAIN}"
        )
        return
    keys = [str(key).upper() for key, _ in book.conf if key not in {None, ""}]
    first_blank = next((at for at, (key, _) in enumerate(book.conf) if key in {None, ""}), len(book.conf))
    if first_blank < len(keys) or not keys:
        yield Step(
            MISSING,
            f"{CONF_SHEET} has a gap at A{first_blank + 1}: what stands below is not read",
            "close the gap: the settings begin in A1",
        )
    settings = {str(key).upper(): value for key, value in book.conf[:first_blank]}
    blank = sorted(key for key, value in settings.items() if value in {None, ""})
    if blank:
        yield Step(
            MISSING,
            f"{CONF_SHEET} has no value for {', '.join(blank)}",
            "give it one or delete its row: a blank overrides your own settings",
        )
    known = {key for key, _ in conf_rows(machine.system, machine.executable)}
    lacking = sorted(known - settings.keys() - {"INTERPRETER_WIN", "INTERPRETER_MAC"})
    if lacking:
        yield Step(MISSING, f"{CONF_SHEET} lacks {', '.join(lacking)}", f"add the rows, or {_AGAIN}")
    modules = str(settings.get("UDF MODULES") or "").split(";")
    if UDF_MODULE not in modules:
        yield Step(MISSING, f"UDF MODULES is {';'.join(modules) or 'empty'}", f"write {UDF_MODULE} there")
    if not (blank or lacking or first_blank < len(keys)) and UDF_MODULE in modules:
        yield Step(OK, f"{CONF_SHEET} is complete")
    yield _interpreter(settings, machine)


def _interpreter(settings: dict[str, Any], machine: Machine) -> Step:
    """The interpreter must be this Python by its whole path; a path from the workbook is never run to try it."""
    key = {"win32": "INTERPRETER_WIN", "darwin": "INTERPRETER_MAC"}.get(machine.system)
    if key is None:
        return Step(UNKNOWN, "the interpreter's path: Excel runs on Windows and macOS only")
    given = str(settings.get(key) or "")
    remedy = f"write {machine.executable} there: the Python that baybook is installed in"
    if given.casefold() == machine.executable.casefold():
        return Step(OK, f"{key} is this Python")
    path = PureWindowsPath(given) if machine.system == "win32" else PurePath(given)
    if not path.is_absolute():
        return Step(MISSING, f"{key} is {given or 'empty'}, no whole path", remedy)
    if not machine.exists(path):
        return Step(MISSING, f"{key} is {given}, which is not there", remedy)
    return Step(MISSING, f"{key} is {given}, another Python than the one that runs this check", remedy)


def _functions(book: _Workbook, machine: Machine) -> Iterator[Step]:
    """The functions must be in the workbook, as they are now; how they came in does not matter."""
    text = book.modules.get("xlwings_udfs", "")
    found = {name: len([one for one in given.split(",") if one.strip()]) for name, given in _FUNCTION.findall(text)}
    due = {name: len(function.args) for name, function in FUNCTIONS.items()}
    if found == due:
        yield Step(OK, f"all {len(due)} functions are in {book.path.name}")
        return
    by_hand = f"press Alt+F11, File, Import File, {NAME}_functions.bas"
    if found:
        wrong = sorted(set(due.items()) ^ set(found.items()))
        what = f"the functions in {book.path.name} are not those of this version: {', '.join(dict(wrong))}"
    else:
        what = f"the functions are not in {book.path.name} yet"
    trusted = machine.trusts() if machine.system == "win32" else None
    if trusted:
        yield Step(MISSING, what, f"press Alt+F8 and run ImportPythonUDFs; or {by_hand}")
    else:
        yield Step(MISSING, what, by_hand)
    if trusted is None:
        yield Step(UNKNOWN, "'Trust access to the VBA project object model': only Windows' registry tells")
    elif not trusted:
        tick = (
            "tick it (File, Options, Trust Center, Macro Settings) if you want ImportPythonUDFs; the .bas needs it not"
        )
        yield Step(MISSING, "'Trust access to the VBA project object model' is off", tick)


def _buttons(book: _Workbook, machine: Machine) -> Iterator[Step]:
    module = book.path.with_suffix(".py")
    if machine.exists(module):
        yield Step(OK, f"{module.name} stands beside the workbook")
    else:
        yield Step(
            MISSING,
            f"no {module.name} beside the workbook",
            f"copy {NAME}.py there under that name: the buttons look for it",
        )
    if machine.system == "darwin":
        script = f"xlwings-{machine.installed('xlwings')}.applescript"
        place = machine.home / "Library" / "Application Scripts" / "com.microsoft.Excel" / script
        yield (
            Step(OK, f"{script} is installed")
            if machine.exists(place)
            else Step(MISSING, f"{script} is not installed", "run once: xlwings runpython install")
        )


def check(folder: Path, machine: Machine | None = None) -> list[Step]:
    """Look at the macro workbooks of a folder and at the machine.

    Parameters
    ----------
    folder : Path
        Where ``baybook addin excel`` wrote.
    machine : Machine, optional
        What to ask; this one if not given.

    Returns
    -------
    list of Step
        In the order in which the steps are taken.
    """
    machine = machine or Machine()
    steps = list(_library(machine))
    books = sorted(path for path in folder.glob("*.xlsm") if not path.name.startswith("~$"))
    if not books:
        steps.append(Step(MISSING, f"there is no .xlsm in {folder}", _AGAIN))
    for path in books:
        try:
            book = _read(path)
        except (BookError, VbaUnreadable, KeyError, ValueError) as refused:
            steps.append(Step(MISSING, f"{path.name} cannot be read: {refused}", f"{_AGAIN}, into another folder"))
            continue
        for part in (_same_version, _conf, _functions, _buttons):
            steps += part(book, machine)
    return steps
