"""What a file from outside must pass before any parser sees it."""

from __future__ import annotations

import codecs
import os
import re
import stat
from pathlib import Path

from baybook.files.limits import Limits, limits_in_force
from baybook.problems import FileRefused, Problem

__all__ = ["check_text_bytes", "read_bounded"]

_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_UTF32 = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)
_AS_UTF8 = "save it again as CSV UTF-8"
# Letters, marks and signs a western book is likely to hold, as UTF-8 writes them; in cp1252 nonsense like "Â½".
_LIKELY_UTF8 = re.compile(rb"[\xc2-\xc5][\x80-\xbf]|\xe2[\x80-\xaf][\x80-\xbf]")


def read_bounded(path: str | os.PathLike[str], most_bytes: int) -> bytes:
    """Return the bytes of an ordinary file, reading no more than is allowed.

    Parameters
    ----------
    path : path
        The file.
    most_bytes : int
        A larger file is refused. [bytes]

    Returns
    -------
    bytes
        All of it.

    Raises
    ------
    FileRefused
        If it is missing, no ordinary file, not readable or too large.
    """
    path = Path(path)
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise _refused(path.name, "is a folder; name a file in it")
        if not stat.S_ISREG(found.st_mode):
            raise _refused(path.name, "is no ordinary file; name a file on a disk")
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
    except FileNotFoundError:
        raise _refused(path.name, f"there is no such file in {path.parent}; check its name") from None
    except (OSError, ValueError) as error:
        cause = getattr(error, "strerror", None) or error
        raise _refused(path.name, f"cannot be read ({cause}); close it elsewhere and check its permissions") from None
    if len(data) > most_bytes:
        raise _refused(path.name, f"is larger than {_size(most_bytes)}, the most that is read; make it smaller")
    return data


def check_text_bytes(data: bytes, source: str, limits: Limits | None = None) -> tuple[str, str]:
    """Return the text of a CSV file and its encoding, if the bytes are safe and all of one encoding.

    Parameters
    ----------
    data : bytes
        The whole file.
    source : str
        Its name, for the message.
    limits : Limits, optional
        Those in force if not given.

    Returns
    -------
    tuple of str and str
        The text without a byte order mark, and ``utf-8``, ``utf-8-sig``, ``utf-16`` or ``cp1252``.

    Raises
    ------
    FileRefused
        If it is too large, holds NUL bytes, too many or too long lines, or bytes of no or of mixed encodings.
    """
    limits = limits or limits_in_force()
    if len(data) > limits.text_bytes:
        raise _refused(source, f"is larger than {_size(limits.text_bytes)}, the most that is read; make it smaller")
    encoding = "utf-8"
    if data.startswith(_UTF32):
        raise _refused(source, f"is UTF-32 text, which is not read; {_AS_UTF8}")
    if data.startswith(_UTF16):
        encoding = "utf-16"
        data = _decoded(data, encoding, source).encode()
    elif data.startswith(codecs.BOM_UTF8):
        encoding = "utf-8-sig"
        data = data[len(codecs.BOM_UTF8) :]
    nul = data.find(b"\0")
    if nul >= 0:
        raise _refused(source, f"holds NUL bytes, so it is no plain text; {_AS_UTF8}", line_at(data, nul))
    _check_lines(data, source, limits)
    try:
        return data.decode("utf-8"), encoding
    except UnicodeDecodeError as error:
        line = line_at(data, error.start)
        if encoding != "utf-8":
            raise _refused(source, f"begins as UTF-8 but holds other bytes; {_AS_UTF8}", line) from None
        if _LIKELY_UTF8.search(data):
            raise _refused(source, f"mixes UTF-8 with another encoding; {_AS_UTF8}", line) from None
    return _decoded(data, "cp1252", source), "cp1252"


def line_at(data: bytes, offset: int) -> int:
    """Return the number of the line, counted from 1, that a byte stands in; a line ends in LF, CR LF or CR."""
    head = data[:offset]
    return 1 + head.count(b"\n") + head.count(b"\r") - head.count(b"\r\n")


def _check_lines(data: bytes, source: str, limits: Limits) -> None:
    if line_at(data, len(data)) - 1 > limits.lines:
        raise _refused(source, f"has more than {limits.lines:,} lines, the most that is read; split it")
    lines = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
    if len(max(lines, key=len)) > limits.line_length:
        number = next(number for number, line in enumerate(lines, 1) if len(line) > limits.line_length)
        message = f"the line is longer than {limits.line_length:,} characters, the most that is read; is it a CSV file?"
        raise _refused(source, message, number)


def _decoded(data: bytes, encoding: str, source: str) -> str:
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        before = data[: error.start].decode(encoding, "ignore").encode()
        message = f"holds bytes that are neither UTF-8 nor {encoding} text; {_AS_UTF8}"
        raise _refused(source, message, line_at(before, len(before))) from None


def _size(number: int) -> str:
    return f"{number / (1 << 20):,.0f} MiB" if number >= 1 << 20 else f"{number:,} bytes"


def _refused(source: str, message: str, line: int = 0, field: str = "") -> FileRefused:
    return FileRefused(Problem(source, line, field, message))
