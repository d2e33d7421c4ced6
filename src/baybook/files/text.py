"""Text from outside made fit for a cell, and job codes made fit for a file name."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from collections.abc import Iterable

from baybook.files.limits import limits_in_force
from baybook.problems import BookError, Problem

__all__ = ["clean_text", "safe_name"]

_ILLEGAL = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_UNFIT_IN_NAME = re.compile(r'[<>:"/\\|?*\[\]]')
_DEVICE = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])\s*(?:\.|$)", re.IGNORECASE)
_MARK = re.compile(r"-[0-9a-f]{8}(?:-[0-9]+)?$", re.IGNORECASE)
_NAME_BYTES = 180  # with an extension a name stays below 200; in UTF-8 too, because disks count bytes


def clean_text(text: str, source: str, field: str) -> tuple[str, list[str]]:
    """Return the text without the characters that no XML file, so no workbook, can hold.

    Parameters
    ----------
    text : str
        What came from outside.
    source, field : str
        Where it stands, for the message.

    Returns
    -------
    tuple of str and list of str
        The text that is left, and each kind of character removed as ``U+0007``, in order of first appearance.

    Raises
    ------
    BookError
        If what is left is longer than a cell holds: it is refused, never cut.

    References
    ----------
    .. [1] W3C, Extensible Markup Language (XML) 1.0, fifth edition, 2008, section 2.2, production 2 (Char).
    """
    removed = list(dict.fromkeys(f"U+{ord(character):04X}" for character in _ILLEGAL.findall(text)))
    if removed:
        text = _ILLEGAL.sub("", text)
    most = limits_in_force().field_length
    if 2 * len(text) > most:  # only then can it be too long: a character beyond U+FFFF counts twice in a spreadsheet
        length = len(text.encode("utf-16-le")) // 2
        if length > most:
            message = f"the text is {length:,} characters long and a cell holds {most:,}; shorten it"
            raise BookError(Problem(source, 0, field, message))
    return text, removed


def safe_name(code: str, taken: Iterable[str] = ()) -> str:
    """Return a file name (without its extension) for a job code that every disk and spreadsheet program accepts.

    A code that is fit already is its own name. Any other keeps what is fit of it and ends with a mark computed from
    the code, so that two codes never share a name.

    Parameters
    ----------
    code : str
        The job code as the user wrote it.
    taken : iterable of str
        Names in use in the same folder; compared without case, as some disks do.

    Returns
    -------
    str
        At most 200 bytes with an extension of up to 8.
    """
    key = unicodedata.normalize("NFC", code)
    fit = _UNFIT_IN_NAME.sub("-", "".join(letter if letter.isprintable() else "-" for letter in key))
    fit = fit.strip(". ").lstrip("~-. ")
    if _DEVICE.match(fit):
        fit = f"_{fit}"
    used = {_folded(name) for name in taken}
    if fit and fit == code and len(fit.encode()) <= _NAME_BYTES and not _MARK.search(fit) and _folded(fit) not in used:
        return fit
    mark = hashlib.sha256(code.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    stem = _shortened(fit, _NAME_BYTES - 20) or "job"
    name, number = f"{stem}-{mark}", 2
    while _folded(name) in used:
        name, number = f"{stem}-{mark}-{number}", number + 1
    return name


def _folded(name: str) -> str:
    return unicodedata.normalize("NFC", name).casefold()


def _shortened(name: str, most_bytes: int) -> str:
    """Cut at a whole character; what the cut lays bare at the end is trimmed too."""
    return name.encode()[:most_bytes].decode("utf-8", "ignore").rstrip(". ")
