"""What a file from outside must pass before any parser sees it."""

from __future__ import annotations

import codecs
import io
import os
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterator
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING
from xml.parsers.expat import ExpatError

from baybook.files.limits import Limits, limits_in_force
from baybook.files.scan import Tally, UnsafeError, scan_xml
from baybook.problems import FileRefused, Problem

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

__all__ = ["check_text_bytes", "check_workbook", "check_xml", "read_bounded"]

_UTF16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_UTF32 = (codecs.BOM_UTF32_LE, codecs.BOM_UTF32_BE)
_AS_UTF8 = "save it again as CSV UTF-8"
_SMALLER = "the most that is read; split it, or raise the limit (see README, Limits on what is read)"
# Letters, marks and signs a western book is likely to hold, as UTF-8 writes them; in cp1252 nonsense like "Â½".
_LIKELY_UTF8 = re.compile(rb"[\xc2-\xc5][\x80-\xbf]|\xe2[\x80-\xaf][\x80-\xbf]")

_SUFFIXES = {".xlsx", ".xlsm"}
_OLD_OFFICE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"  # the container of .xls, and of a workbook with a password
_STRAY_NAME = re.compile(r"^/|\\|:|\0|(?:^|/)\.\.?(?:/|$)|//")
_ALWAYS_FINE = 1 << 20  # a part below this size cannot do harm by its ratio
_XML_ENDINGS = {"xml", "rels", "vml"}
_STRICT_ENDINGS = {"xml", "rels"}
_ALWAYS_THERE = {"[Content_Types].xml", "_rels/.rels"}
_BEFORE_XML = codecs.BOM_UTF8 + codecs.BOM_UTF16 + b"\0\xfe\xff \t\r\n"
_MAIN_TYPE = re.compile(r"application/vnd\.(?:openxml.*spreadsheetml\.|ms-excel\.)(?:sheet|template)[.\w]*main\+xml")
_DAMAGE = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    EOFError,
    NotImplementedError,
    OSError,
    RuntimeError,
    ValueError,
    OverflowError,
)


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
        where = path.parent if path.parent != Path() else "this folder"
        raise _refused(path.name, f"there is no such file in {where}; check its name") from None
    except (OSError, ValueError) as error:
        cause = getattr(error, "strerror", None) or error
        raise _refused(path.name, f"cannot be read ({cause}); close it elsewhere and check its permissions") from None
    if len(data) > most_bytes:
        raise _refused(path.name, f"is larger than {_size(most_bytes)}, {_SMALLER}")
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
        raise _refused(source, f"is larger than {_size(limits.text_bytes)}, {_SMALLER}")
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
        raise _refused(
            source,
            f"is no plain text (it holds zero bytes); open it in a spreadsheet program and {_AS_UTF8}",
            _line_at(data, nul),
        )
    _check_lines(data, source, limits)
    try:
        return data.decode("utf-8"), encoding
    except UnicodeDecodeError as error:
        line = _line_at(data, error.start)
        if encoding != "utf-8":
            raise _refused(source, f"begins as UTF-8 but holds other bytes; {_AS_UTF8}", line) from None
        if _LIKELY_UTF8.search(data):
            raise _refused(source, f"mixes UTF-8 with another encoding; {_AS_UTF8}", line) from None
    return _decoded(data, "cp1252", source), "cp1252"


def check_xml(data: bytes, source: str, limits: Limits | None = None) -> Element:
    """Return the root of an XML file, if it is safe to parse.

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
    xml.etree.ElementTree.Element
        Made by a parser that refuses document types, entities and references to other files.

    Raises
    ------
    FileRefused
        If it is too large or too deep, has a document type or entities, or is no well-formed XML.
    """
    from xml.etree.ElementTree import ParseError

    from defusedxml.ElementTree import fromstring

    limits = limits or limits_in_force()
    if len(data) > min(limits.disk_bytes, limits.unpacked_bytes):
        raise _refused(source, f"is larger than {_size(limits.disk_bytes)}, {_SMALLER}")
    try:
        scan_xml([data], Tally(), limits)
        root: Element = fromstring(data, forbid_dtd=True)
    except UnsafeError as unsafe:
        raise _refused(source, f"{unsafe}; ask whoever made it for a plain XML file") from None
    except ExpatError as error:
        raise _refused(source, "is no well-formed XML file; get it again", error.lineno) from None
    except ParseError as error:  # well-formed, but for a prefix that stands for nothing
        raise _refused(source, "is no well-formed XML file; get it again", error.position[0]) from None
    except (LookupError, ValueError):
        raise _refused(source, "is in an encoding that is not read; ask whoever made it for UTF-8") from None
    return root


def check_workbook(path: str | os.PathLike[str], limits: Limits | None = None) -> bytes:
    """Return the bytes of an .xlsx or .xlsm workbook, if they are safe to parse.

    What costs least is checked first, and nothing is unpacked beyond the limits, whatever the file says of itself.
    Parse the bytes returned, not the file again, so that what was checked is what is read.

    Parameters
    ----------
    path : path
        The workbook.
    limits : Limits, optional
        Those in force if not given.

    Returns
    -------
    bytes
        The whole file.

    Raises
    ------
    FileRefused
        If it is not what its name says, damaged, locked with a password, too large in any way, has parts of one name
        or with a name that leads elsewhere, a document type or entities in any part, or a cell out of bounds.
    """
    limits = limits or limits_in_force()
    path = Path(path)
    source, suffix = path.name, path.suffix.casefold()
    if suffix not in _SUFFIXES:
        raise _refused(source, "is no .xlsx or .xlsm workbook; save it as one of these")
    data = read_bounded(path, limits.disk_bytes)
    if data.startswith(_OLD_OFFICE):
        raise _refused(source, "is locked with a password or an old .xls; save it as .xlsx without a password")
    if not data.startswith(b"PK\x03\x04"):
        raise _refused(source, "is no workbook, whatever its name says; save it as .xlsx")
    if data.count(b"PK\x01\x02") > 10 * limits.parts:  # before the list of parts itself is read
        raise _refused(source, _too_many_parts(limits))
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            parts = package.infolist()
            _check_listing(parts, len(data), source, limits)
            _check_contents(package, parts, source, suffix, limits)
    except _DAMAGE:
        raise _refused(source, "is cut short or damaged; get it again or restore a copy") from None
    return data


def _check_listing(parts: list[zipfile.ZipInfo], disk_bytes: int, source: str, limits: Limits) -> None:
    """Hold the list of parts, as the file states it, to the limits."""
    if len(parts) > limits.parts:
        raise _refused(source, _too_many_parts(limits))
    if sum(part.file_size for part in parts) > limits.unpacked_bytes:
        size = _size(limits.unpacked_bytes)
        raise _refused(source, f"unpacks to more than {size}, {_SMALLER}")
    if sum(part.compress_size for part in parts) > disk_bytes:
        raise _refused(source, "has parts that lie over one another; save it again from a spreadsheet program")
    seen = set()
    for part in parts:
        problem = _part_problem(part, limits)
        if part.filename.casefold() in seen:
            problem = "stands twice in the file"
        if problem:
            raise _refused(source, f"{problem}; save it again from a spreadsheet program", field=_shown(part))
        seen.add(part.filename.casefold())


def _part_problem(part: zipfile.ZipInfo, limits: Limits) -> str:
    name = part.orig_filename
    if _STRAY_NAME.search(name) or not name:
        return "has a name that leads out of the file"
    if part.flag_bits & 0x1:
        return "is locked with a password"
    if part.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        return "is packed in a way no workbook is"
    if part.file_size > _ALWAYS_FINE and part.file_size > limits.ratio * part.compress_size:
        return f"unpacks to more than {limits.ratio} times its size"
    return ""


def _check_contents(
    package: zipfile.ZipFile, parts: list[zipfile.ZipInfo], source: str, suffix: str, limits: Limits
) -> None:
    """Unpack every part once, the small ones first, and see that they make a workbook of the kind named."""
    tally = Tally()
    for part in sorted(parts, key=lambda part: part.file_size):
        try:
            _scan_part(package, part, tally, limits)
        except UnsafeError as unsafe:
            message = f"{unsafe}; save it again from a spreadsheet program"
            raise _refused(source, message, field=_shown(part)) from None
        except (ExpatError, LookupError, UnicodeError):
            if _ending(part) in _STRICT_ENDINGS:  # the drawings of notes and buttons are often not well-formed
                raise _refused(source, "is no well-formed XML; restore a copy", field=_shown(part)) from None
    names = {part.filename for part in parts}
    mains = {part: kind for part, kind in tally.types.items() if _MAIN_TYPE.fullmatch(kind)}
    has_main = any(part in names or part.startswith("*.") for part in mains)
    if not (has_main and names >= _ALWAYS_THERE):
        raise _refused(source, "holds no workbook; save it as .xlsx from a spreadsheet program")
    has_macros = any("macroEnabled" in kind for kind in mains.values()) or any("vbaProject" in name for name in names)
    if suffix == ".xlsx" and has_macros:
        raise _refused(source, "holds macros though its name says it has none; save it as .xlsx without them")


def _scan_part(package: zipfile.ZipFile, part: zipfile.ZipInfo, tally: Tally, limits: Limits) -> None:
    """Unpack a part to its end, where its checksum is compared, and scan it on the way if it looks like XML."""
    chunks = _unpacked(package, part)
    head = next(chunks, b"")
    ending = _ending(part)
    if ending in _XML_ENDINGS or head.lstrip(_BEFORE_XML)[:1] == b"<":
        scan_xml(chain([head], chunks), tally, limits, picture=ending == "svg")
    for _ in chunks:
        pass


def _unpacked(package: zipfile.ZipFile, part: zipfile.ZipInfo) -> Iterator[bytes]:
    """Yield a part in chunks of doubling size; no more than its stated size, which was checked, and no less."""
    size, left = 1 << 16, part.file_size
    with package.open(part) as stream:
        while chunk := stream.read(size):
            yield chunk
            size, left = 2 * size, left - len(chunk)
    if left:
        raise zipfile.BadZipFile


def _ending(part: zipfile.ZipInfo) -> str:
    return part.filename.rpartition(".")[2].casefold()


def _too_many_parts(limits: Limits) -> str:
    return f"has more than {limits.parts:,} parts, the most that is read; save it again from a spreadsheet program"


def _shown(part: zipfile.ZipInfo) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in part.orig_filename[:80])


def _line_at(data: bytes, offset: int) -> int:
    """Return the number of the line, counted from 1, that a byte stands in; a line ends in LF, CR LF or CR."""
    return 1 + _with_plain_ends(data[:offset]).count(b"\n")


def _with_plain_ends(data: bytes) -> bytes:
    return data.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in data else data


def _check_lines(data: bytes, source: str, limits: Limits) -> None:
    data = _with_plain_ends(data)
    if data.count(b"\n") > limits.lines:
        raise _refused(source, f"has more than {limits.lines:,} lines, the most that is read; split it")
    lines = data.split(b"\n")
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
        raise _refused(source, message, _line_at(before, len(before))) from None


def _size(number: int) -> str:
    return f"{number / (1 << 20):,.0f} MiB" if number >= 1 << 20 else f"{number:,} bytes"


def _refused(source: str, message: str, line: int = 0, field: str = "") -> FileRefused:
    return FileRefused(Problem(source, line, field, message))
