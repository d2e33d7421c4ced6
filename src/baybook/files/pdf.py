"""A workbook as PDF, by LibreOffice where it is installed."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
from pathlib import Path

from baybook.problems import BookError, Problem

__all__ = ["HOW", "office", "pdf_of"]

HOW = "install LibreOffice (Debian: apt install libreoffice-calc), or open the workbook and print it to PDF from there"
_USUAL = (
    "/Applications/LibreOffice.app/Contents/MacOS/soffice",
    r"C:\Program Files\LibreOffice\program\soffice.com",
)
_TIMEOUT_S = 120.0


def office() -> str:
    """Return the program that makes PDF, empty if there is none."""
    return shutil.which("soffice") or next((path for path in _USUAL if Path(path).is_file()), "")


def pdf_of(data: bytes, name: str, *, timeout_s: float = _TIMEOUT_S) -> bytes:
    """Return a workbook as PDF.

    Parameters
    ----------
    data : bytes
        The workbook; the values stored in it are printed.
    name : str
        What messages call it.
    timeout_s : float
        How long LibreOffice may take. [s]

    Returns
    -------
    bytes
        The PDF.

    Raises
    ------
    BookError
        If LibreOffice is not there or makes no PDF: its exit status says nothing, so the file itself is looked at.
    """
    program = office()
    if not program:
        raise BookError(Problem(name, 0, "", f"no program here makes a PDF of it: {HOW}"))
    with tempfile.TemporaryDirectory(prefix="baybook-pdf-", ignore_cleanup_errors=True) as room:
        source = Path(room) / "page.xlsx"
        source.write_bytes(data)
        profile = (Path(room) / "profile").as_uri()
        command = [program, "--headless", f"-env:UserInstallation={profile}"]
        told = _run([*command, "--convert-to", "pdf", "--outdir", room, str(source)], timeout_s)
        made = source.with_suffix(".pdf")
        found = made.read_bytes() if made.is_file() else b""
    if not found.startswith(b"%PDF-"):
        raise BookError(Problem(name, 0, "", f"LibreOffice made no PDF of it ({told}): {HOW}"))
    return found


def _run(command: list[str], timeout_s: float) -> str:
    """Run a program in a session of its own, ended whole when its time is up; return what it said."""
    try:
        with subprocess.Popen(  # noqa: S603  a program found on this machine and file names of our own
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            start_new_session=True,
        ) as running:
            try:
                said, _ = running.communicate(timeout=timeout_s)
            except subprocess.TimeoutExpired:
                _end(running)
                running.communicate()
                return f"it took longer than {timeout_s:.0f} s"
    except OSError as refused:
        return refused.strerror or "it does not start"
    return " ".join(said.split())[-200:] or "it said nothing"


def _end(running: subprocess.Popen[str]) -> None:
    """End a program and what it started: what is called is often a script around the real one."""
    if hasattr(os, "killpg"):
        with contextlib.suppress(ProcessLookupError):
            os.killpg(running.pid, signal.SIGKILL)
    else:
        running.kill()
