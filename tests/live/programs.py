"""Real spreadsheet programs for the tests: LibreOffice, converting and running, and Gnumeric.

Every start has a profile and an output directory of its own, made fresh, so that parallel workers cannot meet and an
output that is there was written by this run: LibreOffice ends with status 0 even when it could not read the file.
Every program runs in a session of its own, and the whole process group is ended on timeout.

A cell's value is a float, text, a bool or None; a date is its serial number; an error is its text, such as "#DIV/0!".
LibreOffice writes its own errors ("Err:502") to a file as "#VALUE!": compare errors of two programs by being errors.
"""

from __future__ import annotations

import contextlib
import functools
import json
import math
import os
import select
import shutil
import signal
import subprocess
import tempfile
import warnings
import weakref
import zipfile
from datetime import date, datetime, timedelta
from datetime import time as clock
from pathlib import Path
from typing import TYPE_CHECKING, Any, Self

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

Value = float | str | bool | None
Values = dict[tuple[str, str], Value]

PACKAGES = {
    "soffice": "libreoffice-calc",
    "ssconvert": "gnumeric",
    "pdftoppm": "poppler-utils",
    "uno": "python3-uno",
}
UNO_PYTHON = "/usr/bin/python3"
DRIVER = Path(__file__).with_name("uno_driver.py")
RENDER_DPI = 90

# LibreOffice trusts the values stored in a workbook unless its profile says "recalculate on load: always" (0).
RECALCULATE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop>
</item>
</oor:items>
"""


class ProgramError(RuntimeError):
    """A spreadsheet program did not do what was asked of it."""


def needs(program: str) -> None:
    """Skip the test if `program` is missing; fail it instead when the environment has BAYBOOK_LIVE=required."""
    if _installed(program):
        return
    message = f"{program} is not installed (Debian package {PACKAGES[program]})"
    if os.environ.get("BAYBOOK_LIVE") == "required":
        pytest.fail(f"{message}, and BAYBOOK_LIVE=required asks for every program")
    pytest.skip(message)


def _installed(program: str) -> bool:
    return _has_uno() if program == "uno" else shutil.which(program) is not None


@functools.cache
def _has_uno() -> bool:
    if not Path(UNO_PYTHON).exists():
        return False
    return subprocess.run([UNO_PYTHON, "-c", "import uno"], capture_output=True, check=False).returncode == 0


# ---- one run, many files


def recalc_libreoffice(paths: Sequence[Path], workdir: Path) -> dict[Path, Values]:
    """Return every value after LibreOffice recalculated everything on load, whatever values the files carry."""
    return _convert_libreoffice(paths, workdir, RECALCULATE)


def as_loaded_libreoffice(paths: Sequence[Path], workdir: Path) -> dict[Path, Values]:
    """Return every value as LibreOffice shows it to a person who opens the file: stored values are trusted."""
    return _convert_libreoffice(paths, workdir, None)


def recalc_gnumeric(paths: Sequence[Path], workdir: Path) -> dict[Path, Values]:
    """Return every value after Gnumeric recalculated everything."""
    needs("ssconvert")
    room = Path(tempfile.mkdtemp(prefix="gnumeric-", dir=workdir))
    values = {}
    for number, path in enumerate(paths):
        output = room / f"{number:03}.xlsx"
        # without its type named, a file that is no workbook would be read as text
        log = _run(
            ["ssconvert", "--import-type=Gnumeric_Excel:xlsx", "--recalc", str(path.absolute()), str(output)],
            room,
            timeout_s=120,
        )
        values[path] = _read_output(output, path, "Gnumeric", log)
    return values


def _convert_libreoffice(paths: Sequence[Path], workdir: Path, settings: str | None) -> dict[Path, Values]:
    needs("soffice")
    room = Path(tempfile.mkdtemp(prefix="libreoffice-", dir=workdir))
    profile, inputs, outputs = room / "profile", room / "in", room / "out"
    for folder in (profile / "user", inputs, outputs):
        folder.mkdir(parents=True)
    if settings is not None:
        (profile / "user" / "registrymodifications.xcu").write_text(settings, encoding="utf-8")
    # numbered copies: two files of one name do not overwrite each other, and no lock file appears beside the originals
    copies = [shutil.copyfile(path, inputs / f"{number:03}{path.suffix}") for number, path in enumerate(paths)]
    log = _run(
        [
            "soffice",
            "--headless",
            "--norestore",
            f"-env:UserInstallation={profile.absolute().as_uri()}",
            "--convert-to",
            "xlsx:Calc MS Excel 2007 XML",
            "--outdir",
            str(outputs.absolute()),
            *(str(copy.absolute()) for copy in copies),
        ],
        room,
        timeout_s=60 + 10 * len(copies),
    )
    shutil.rmtree(profile)
    return {
        path: _read_output(outputs / f"{copy.stem}.xlsx", path, "LibreOffice", log)
        for path, copy in zip(paths, copies, strict=True)
    }


def _run(command: Sequence[str], room: Path, timeout_s: float) -> str:
    """Run a program in a session of its own and return what it said; end its whole group on timeout."""
    log = room / "log.txt"
    with log.open("wb") as said:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=subprocess.STDOUT,
            start_new_session=True,
            env=_environment(room),
        )
    try:
        process.wait(timeout_s)
    except subprocess.TimeoutExpired:
        raise ProgramError(f"{command[0]} was still running after {timeout_s:g} s and was ended") from None
    finally:
        _end_group(process)
    return log.read_text(encoding="utf-8", errors="replace").strip()


def _environment(room: Path) -> dict[str, str]:
    """One locale whatever the machine's, no display, and temporary files where they go when the room goes."""
    return {**os.environ, "LC_ALL": "C.UTF-8", "SAL_USE_VCLPLUGIN": "svp", "TMPDIR": str(room.absolute())}


def _end_group(process: subprocess.Popen[Any]) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def _read_output(output: Path, source: Path, program: str, log: str) -> Values:
    if not output.exists():
        raise ProgramError(f"{program} wrote no workbook for {source.name}; it said: {log[-500:] or 'nothing'}")
    try:
        return read_values(output)
    except (zipfile.BadZipFile, KeyError, ValueError) as error:
        raise ProgramError(f"{program} wrote a workbook for {source.name} that does not open: {error}") from error


def read_values(path: Path) -> Values:
    """Return the value stored in every cell of a workbook that is not blank, read by openpyxl."""
    import openpyxl

    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Workbook contains no default style")  # Gnumeric writes none
        book = openpyxl.load_workbook(path, data_only=True, read_only=True)
    try:
        return {
            (sheet.title, cell.coordinate): _plain(cell.value, book.epoch)
            for sheet in book.worksheets
            for row in sheet.iter_rows()
            for cell in row
            if cell.value not in {None, ""}
        }
    finally:
        book.close()


def _plain(value: object, epoch: datetime) -> Value:
    from openpyxl.utils.datetime import to_excel

    if isinstance(value, bool | str):
        return value
    if isinstance(value, date | datetime | clock | timedelta):
        return float(to_excel(value, epoch))
    return float(value)


# ---- a running LibreOffice


class Calc:
    """A running LibreOffice with at most one workbook open, worked as a person would: set, recalculate, read, save.

    ``with Calc() as calc:`` starts one and ends it. `shared_calc` lends one that lives as long as the test process.
    The open workbook is a copy, so the file itself never changes. Sheet protection does not stop `set`.
    """

    def __init__(self, workdir: Path | None = None, timeout_s: float = 60.0) -> None:
        needs("soffice")
        needs("uno")
        self._room = Path(tempfile.mkdtemp(prefix="calc-", dir=workdir)).absolute()
        self._timeout_s = timeout_s
        with (self._room / "log.txt").open("wb") as log:
            self._driver = subprocess.Popen(
                [UNO_PYTHON, str(DRIVER), str(self._room / "profile")],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=log,
                start_new_session=True,
                env=_environment(self._room),
                text=True,
                encoding="utf-8",
            )
        self._finish = weakref.finalize(self, _finish, self._driver, self._room)  # also at the interpreter's exit
        self._answer("start", timeout_s=90.0)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.quit()

    @property
    def running(self) -> bool:
        """Whether the program can still be asked anything."""
        return self._finish.alive and self._driver.poll() is None

    def open(self, path: Path) -> None:
        """Open a copy of a workbook, its stored values trusted; the workbook open before is closed unsaved."""
        self.close()
        with self._copy_of(path, "open") as copy:
            self._ask("open", path=copy)

    def set(self, sheet: str, cell: str, value: Value) -> None:
        """Set one cell: a number, text (never parsed: "=1+1" and "12" stay text), or None to clear it."""
        self.set_many([(sheet, cell, value)])

    def set_many(self, cells: Iterable[tuple[str, str, Value]]) -> None:
        """Set several cells in one request."""
        self._ask("set_many", cells=list(cells))

    def set_formula(self, sheet: str, cell: str, formula: str) -> None:
        """Set a formula, such as "=A1+1"; another sheet's cell is written ``$Areas.B8``."""
        self._ask("set_formula", sheet=sheet, cell=cell, formula=formula)

    def paint(self, sheet: str, cells: str, colour: int) -> None:
        """Colour the background of cells, 0xRRGGBB."""
        self._ask("paint", sheet=sheet, cells=cells, colour=colour)

    def note(self, sheet: str, cell: str, text: str) -> None:
        """Put a comment to a cell."""
        self._ask("note", sheet=sheet, cell=cell, text=text)

    def add_sheet(self, name: str) -> None:
        """Add an empty sheet at the end."""
        self._ask("add_sheet", name=name)

    def rename_sheet(self, sheet: str, name: str) -> None:
        """Give a sheet another name; its protection is taken off first, as a person must."""
        self._ask("rename_sheet", sheet=sheet, name=name)

    def delete_rows(self, sheet: str, row: int, count: int = 1) -> None:
        """Delete whole rows, the first counted from 1; the sheet's protection is taken off first."""
        self._ask("delete_rows", sheet=sheet, row=row, count=count)

    def recalculate(self, hard: bool = False) -> None:
        """Recalculate what has changed, or with `hard` every formula, trusting no stored value."""
        self._ask("recalculate", hard=hard)

    def read(self, sheet: str, cells: str) -> list[list[Value]]:
        """Return the values of a range such as "A1:D10", row by row; blank is None."""
        return self._ask("read", sheet=sheet, address=cells)

    def read_all(self) -> Values:
        """Return every value that is not blank, of every sheet."""
        from openpyxl.utils import get_column_letter

        return {
            (sheet, f"{get_column_letter(across)}{down}"): value
            for sheet, rows in self._ask("read_all").items()
            for down, row in enumerate(rows, 1)
            for across, value in enumerate(row, 1)
            if value is not None
        }

    def save_as(self, path: Path) -> None:
        """Save the workbook as it stands to an .xlsx file; it stays open."""
        path.unlink(missing_ok=True)
        self._ask("save_as", path=str(path.absolute()))
        if not zipfile.is_zipfile(path):
            raise ProgramError(f"LibreOffice saved no workbook as {path.name}")

    def print_pdf(self, path: Path, target: Path, paper: str | None = None) -> None:
        """Print another workbook than the open one to a PDF, every page on `paper` ("Letter", "A4") if given."""
        target.unlink(missing_ok=True)
        with self._copy_of(path, "print") as copy:
            self._ask("print_pdf", path=copy, target=str(target.absolute()), paper=paper)

    def close(self) -> None:
        """Close the open workbook unsaved, if there is one; LibreOffice goes on running."""
        self._ask("close")

    def quit(self) -> None:
        """End LibreOffice and everything it started; a second call does nothing."""
        self._finish()

    @contextlib.contextmanager
    def _copy_of(self, path: Path, name: str) -> Iterator[str]:
        copy = str(shutil.copyfile(path, self._room / f"{name}{path.suffix}"))
        try:
            yield copy
        except ProgramError as error:
            raise ProgramError(str(error).replace(copy, path.name)) from None

    def _ask(self, do: str, **words: object) -> Any:
        if not self.running:
            raise ProgramError(f"LibreOffice has ended; it cannot {do}")
        request = json.dumps({"do": do, **words}, allow_nan=False)
        with contextlib.suppress(BrokenPipeError):  # the answer, or its absence, says more
            self._driver.stdin.write(request + "\n")
            self._driver.stdin.flush()
        return self._answer(do, self._timeout_s)

    def _answer(self, do: str, timeout_s: float) -> Any:
        ready, _, _ = select.select([self._driver.stdout], [], [], timeout_s)
        line = self._driver.stdout.readline() if ready else ""
        if line:
            message = json.loads(line)
            if "error" in message:
                raise ProgramError(message["error"])
            return message["ok"]
        log = (self._room / "log.txt").read_text(encoding="utf-8", errors="replace").strip()
        _end_group(self._driver)
        self.quit()
        if not ready:
            raise ProgramError(f"LibreOffice gave no answer to {do} within {timeout_s:g} s and was ended")
        raise ProgramError(f"LibreOffice ended while it was asked to {do}; it said: {log[-500:] or 'nothing'}")


def _finish(driver: subprocess.Popen[str], room: Path) -> None:
    """Close the driver's input, which makes it end LibreOffice and itself; then end what is left of the group."""
    with contextlib.suppress(BrokenPipeError):
        driver.stdin.close()
    with contextlib.suppress(subprocess.TimeoutExpired):
        driver.wait(20)
    _end_group(driver)
    driver.stdout.close()
    shutil.rmtree(room, ignore_errors=True)


_shared: list[Calc] = []


def shared_calc() -> Calc:
    """Return this test process's own running LibreOffice: started at first use, again if it has ended."""
    if not _shared or not _shared[0].running:
        _shared[:] = [Calc()]
    return _shared[0]


def render(path: Path, workdir: Path, paper: str | None = None) -> list[Path]:
    """Print a workbook with `shared_calc` and return its pages as PNG pictures, in order.

    Parameters
    ----------
    path : Path
        The workbook; its stored values are printed as they are.
    workdir : Path
        Where a directory for the PDF and the pictures is made.
    paper : {"Letter", "A4"}, optional
        Paper for every page, each sheet's own orientation kept; without it, what the workbook says.

    Returns
    -------
    list of Path
        One picture a page, at 90 dots an inch. Column widths mean something only where a font with Calibri's
        measures is installed (Debian package fonts-crosextra-carlito).
    """
    needs("pdftoppm")
    room = Path(tempfile.mkdtemp(prefix=f"{path.stem}-", dir=workdir))
    pdf = room / f"{path.stem}.pdf"
    shared_calc().print_pdf(path, pdf, paper)
    log = _run(["pdftoppm", "-r", str(RENDER_DPI), "-png", str(pdf), str(room / "page")], room, timeout_s=120)
    pages = sorted(room.glob("page-*.png"))
    if not pages:
        raise ProgramError(f"{path.name} printed no page; pdftoppm said: {log[-500:] or 'nothing'}")
    return pages


# ---- comparing


def compare(
    values_a: Values,
    values_b: Values,
    cells: Iterable[tuple[str, str]] | None = None,
    rel: float = 1e-9,
    abs: float = 1e-6,  # noqa: A002 - the pair reads as it does in math.isclose and pytest.approx
) -> list[str]:
    """Return a sentence for each cell that differs, in the order of the sheets; an empty list when all agree.

    Blank, "" and None are equal; numbers (and 1 and True) are equal within `rel` or `abs`; text is equal to the letter.
    Without `cells`, every cell that either side knows is compared. Having nothing to compare is a difference too.
    """
    chosen = sorted({*values_a, *values_b}, key=_place) if cells is None else list(cells)
    if not chosen:
        return ["There is nothing to compare: no cell on either side."]
    known = {sheet for sheet, _ in (*values_a, *values_b)}
    said = [
        f'Neither side has a value on a sheet "{s}".' for s in dict.fromkeys(s for s, _ in chosen) if s not in known
    ]
    for sheet, cell in chosen:
        a, b = values_a.get((sheet, cell)), values_b.get((sheet, cell))
        if not _equal(a, b, rel, abs):
            said.append(f"{sheet}!{cell} is {_shown(a)} in the first and {_shown(b)} in the second.")
    return said


def _equal(a: Value, b: Value, rel: float, absolute: float) -> bool:
    a, b = (None if value == "" else value for value in (a, b))
    if isinstance(a, int | float) and isinstance(b, int | float):
        return math.isclose(a, b, rel_tol=rel, abs_tol=absolute)
    return a == b


def _shown(value: Value) -> str:
    return "blank" if value in {None, ""} else repr(value)


def _place(key: tuple[str, str]) -> tuple[str, int, int]:
    from openpyxl.utils.cell import coordinate_to_tuple

    return (key[0], *coordinate_to_tuple(key[1]))
