"""Who works in a book folder or has a workbook open."""

from __future__ import annotations

import getpass
import json
import logging
import os
import re
import secrets
import socket
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from baybook.files.write import told, write_bytes
from baybook.problems import BookError, Problem

__all__ = ["LOCK_NAME", "Lock", "Locked", "book_lock", "open_elsewhere"]

LOCK_NAME = ".baybook.lock"
_TAKING_NAME = ".baybook.lock.taking"
_DAY_S = 86_400.0
_TAKING_S = 60.0  # taking over a stale lock is a matter of milliseconds
_MOST_BYTES = 4096
_WHEN = re.compile(r"(\d\d)\.(\d\d)\.(\d{4}) (\d\d:\d\d)")
_FIELD = re.compile(r"((?:\\.|[^\\,;])*)[,;]?", re.DOTALL)

_log = logging.getLogger(__name__)
_held: set[bytes] = set()  # the words of the locks of this run; process numbers are used again, after a crash too


class Locked(BookError):
    """Another run, perhaps of another person, works in the same folder."""


@dataclass(frozen=True, slots=True)
class Lock:
    """A lock that is held.

    Parameters
    ----------
    path : Path
        The lock file.
    note : str
        Whose stale lock was taken, as one sentence; empty if there was none.
    """

    path: Path
    note: str


@dataclass(frozen=True, slots=True)
class _Holder:
    """What a lock file says; empty and 0 where it says nothing that can be used."""

    text: bytes
    host: str
    user: str
    pid: int
    time: float

    def __str__(self) -> str:
        who = f"{self.user or 'somebody'} on {self.host or 'an unknown computer'}"
        return f"{who} (process {self.pid or 'unknown'}) since {_shown_time(self.time)}"


@contextmanager
def book_lock(folder: str | os.PathLike[str]) -> Iterator[Lock]:
    """Hold a book folder for this run alone.

    A lock whose process is gone from this computer, or that is older than a day, is stale: it is taken, and a warning
    as well as the note of the lock say whose it was.

    Parameters
    ----------
    folder : path
        The book folder; the lock is the file ``.baybook.lock`` in it.

    Yields
    ------
    Lock
        Its note is worth showing where it is not empty.

    Raises
    ------
    Locked
        If another run holds the folder: who, and since when.
    WriteFailed
        If the lock cannot be written.
    """
    path = Path(folder) / LOCK_NAME
    ours = _our_words()
    try:
        _create(path, ours)
        note = ""
    except FileExistsError:
        note = _take_over(path, ours)
        if note:
            _log.warning("%s: %s", path.name, note)  # on standard error, unless the program that uses us says otherwise
    _held.add(ours)
    try:
        yield Lock(path, note)
    finally:
        _held.discard(ours)
        with suppress(OSError):
            if _words(path) == ours:  # else it was taken for stale, and is not ours to remove
                path.unlink()


def open_elsewhere(path: str | os.PathLike[str]) -> str | None:
    """Say who has a workbook open in a spreadsheet program.

    Parameters
    ----------
    path : path
        The workbook. Spreadsheet programs keep a file ``~$NAME`` or ``.~lock.NAME#`` beside an open one.

    Returns
    -------
    str or None
        One sentence: who, since when, and what to do if nobody has; None if it is not open.
    """
    path = Path(path)
    for name, read in ((f".~lock.{path.name}#", _office_lock), (f"~${path.name}", _owner_file)):
        beside = path.parent / name  # a path such as "." has no name to change
        try:
            since = _shown_time(beside.lstat().st_mtime)
        except OSError:
            continue
        try:
            who, stated = read(_words(beside))
        except OSError:
            who, stated = "", ""  # on some systems the program keeps it to itself
        return (
            f"{who or 'somebody'} has it open since {stated or since}; close it there, "
            f"or delete the file {name} if nobody has it open"
        )
    return None


def _take_over(path: Path, ours: bytes) -> str:
    """Replace a stale lock; one run at a time, so that no fresh lock is taken for the stale one."""
    taking = path.with_name(_TAKING_NAME)
    with suppress(OSError):
        if time.time() - taking.lstat().st_mtime > _TAKING_S:
            taking.unlink()
    try:
        _create(taking, ours)
    except FileExistsError:
        raise _locked(path, "another run is just taking over a lock; run again in a minute") from None
    try:
        holder = _holder(path)
        if holder is None:  # given up meanwhile
            _create(path, ours)
            return ""
        why = _stale(holder)
        if not why:
            raise _locked(path, f"{holder} works in this folder; wait, or delete {path.name} if that run is gone")
        write_bytes(path, ours)
    except FileExistsError:
        raise _locked(path, "another run has just begun to work in this folder; wait until it is done") from None
    finally:
        with suppress(OSError):
            taking.unlink()
    return f"took over the lock of {holder}: {why}"


def _stale(holder: _Holder) -> str:
    """Return why a lock no longer counts, or nothing."""
    here = holder.host == socket.gethostname() and holder.pid
    if here and (holder.text not in _held if holder.pid == os.getpid() else not _alive(holder.pid)):
        return "its run has ended without giving it up"
    if time.time() - holder.time > _DAY_S:
        return "it is older than a day"
    return ""


def _alive(pid: int) -> bool:
    if sys.platform == "win32":
        return True  # signal 0 is no question there but an interrupt; age alone decides
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True  # it is another user's
    return True


def _our_words() -> bytes:
    try:
        user = getpass.getuser()
    except (ImportError, KeyError, OSError):
        user = ""
    now = datetime.now(UTC).isoformat(timespec="seconds")
    return json.dumps(
        {"host": socket.gethostname(), "user": user, "pid": os.getpid(), "time": now, "mark": secrets.token_hex(4)}
    ).encode()


def _create(path: Path, words: bytes) -> None:
    """Make the lock file; FileExistsError passes."""
    with told(path):
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o644)
        try:
            os.write(descriptor, words)
        finally:
            os.close(descriptor)


def _words(path: Path) -> bytes:
    """Return the beginning of a small file; a link is not followed."""
    descriptor = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    try:
        return os.read(descriptor, _MOST_BYTES)
    finally:
        os.close(descriptor)


def _holder(path: Path) -> _Holder | None:
    """Return what the lock says; a lock that says nothing counts from when the file was made."""
    try:
        made = path.lstat().st_mtime
        text = _words(path)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise _locked(path, f"cannot be read ({error.strerror}); delete it if no run works in this folder") from None
    try:
        said = json.loads(text)
        moment = datetime.fromisoformat(said["time"]).astimezone(UTC).timestamp()
        return _Holder(text, _printable(said["host"]), _printable(said["user"]), int(said["pid"]), moment)
    except (ValueError, TypeError, KeyError, OverflowError, RecursionError):
        return _Holder(text, "", "", 0, made)


def _office_lock(words: bytes) -> tuple[str, str]:
    """Read the comma-separated line of LibreOffice: name, user, computer, time, profile; a backslash escapes."""
    line = words.decode("utf-8", "replace")
    fields = [re.sub(r"\\(.)", r"\1", field) for field in _FIELD.findall(line)]
    name, user, host, when, *_ = (*map(_printable, fields), "", "", "", "")
    who, when = name or user, _WHEN.sub(r"\3-\2-\1 \4", when)
    return f"{who} on {host}" if who and host else who or host, when


def _owner_file(words: bytes) -> tuple[str, str]:
    """Read the owner file of Excel: the length of the user's name in one byte, then the name."""
    length = words[0] if words else 0
    return _printable(words[1 : 1 + length].decode("cp1252", "replace").strip(" \0")), ""


def _printable(said: object) -> str:
    return "".join(letter for letter in str(said)[:80] if letter.isprintable())


def _shown_time(moment: float) -> str:
    try:
        return datetime.fromtimestamp(moment).astimezone().strftime("%Y-%m-%d %H:%M")
    except (OverflowError, OSError, ValueError):
        return "an unknown time"


def _locked(path: Path, message: str) -> Locked:
    return Locked(Problem(path.name, 0, "", message))
