"""The VBA text inside a workbook's vbaProject.bin, read without running anything.

The container is a compound file [MS-CFB 2]; a module's text is compressed at the end of its stream [MS-OVBA 2.4.1].
Only what a check needs is read: the texts of the modules. Damage ends in `VbaUnreadable`.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator

__all__ = ["VbaUnreadable", "module_texts"]

_MAGIC = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_NO_SECTOR = 0xFFFFFFFA  # from this number on they mean an end, not a sector
_ENTRY = 128
_STREAM, _ROOT = 2, 5
_MINI = 64
_CHUNK = 4096
_FIRST_WORD = b"\x00Attribut"  # behind three bytes of header: a flag byte and eight bytes taken as they are


class VbaUnreadable(ValueError):  # noqa: N818 - it says what is the matter
    """The bytes are not a VBA project that can be read."""


class _Compound:
    """A compound file: sectors chained by a table, small streams in sectors of their own inside the root's."""

    def __init__(self, data: bytes) -> None:
        if data[:8] != _MAGIC or len(data) < 512:
            raise VbaUnreadable("it is no compound file")
        shift = struct.unpack_from("<H", data, 30)[0]
        if shift not in {9, 12}:
            raise VbaUnreadable("its sectors have an unknown size")
        self.data, self.size = data, 1 << shift
        (directory,) = struct.unpack_from("<I", data, 48)
        self.cutoff, mini_table = struct.unpack_from("<II", data, 56)
        self.table: list[int] = []
        for sector in struct.unpack_from("<109I", data, 76):
            if sector < _NO_SECTOR:
                self.table += _numbers(self._sector(sector))
        entries = self._chain(directory)
        self.entries = [entries[at : at + _ENTRY] for at in range(0, len(entries), _ENTRY)]
        root = next((entry for entry in self.entries if entry[66] == _ROOT), None)
        if root is None:
            raise VbaUnreadable("it has no root")
        self.mini_table = _numbers(self._chain(mini_table))
        self.mini = self._chain(struct.unpack_from("<I", root, 116)[0])

    def _sector(self, number: int) -> bytes:
        found = self.data[(number + 1) * self.size : (number + 2) * self.size]
        if len(found) != self.size:
            raise VbaUnreadable("it ends too early")
        return found

    def _chain(self, first: int) -> bytes:
        return b"".join(self._sector(sector) for sector in _linked(first, self.table))

    def streams(self) -> Iterator[tuple[str, bytes]]:
        """Yield the name and content of each stream."""
        for entry in self.entries:
            if entry[66] != _STREAM:
                continue
            (length,) = struct.unpack_from("<H", entry, 64)
            name = entry[: min(max(length - 2, 0), 64)].decode("utf-16-le", "replace")
            first, size = struct.unpack_from("<II", entry, 116)
            if size >= self.cutoff:
                yield name, self._chain(first)[:size]
            else:
                parts = [self.mini[at * _MINI : (at + 1) * _MINI] for at in _linked(first, self.mini_table)]
                yield name, b"".join(parts)[:size]


def _numbers(data: bytes) -> list[int]:
    return list(struct.unpack(f"<{len(data) // 4}I", data))


def _linked(first: int, table: list[int]) -> Iterator[int]:
    sector, seen = first, 0
    while sector < _NO_SECTOR:
        seen += 1
        if sector >= len(table) or seen > len(table):
            raise VbaUnreadable("its sectors go in a circle or beyond its end")
        yield sector
        sector = table[sector]


def _decompressed(data: bytes) -> bytes:
    """Return the text of a compressed container [MS-OVBA 2.4.1.3]."""
    found, at = bytearray(), 1
    while at + 2 <= len(data):
        (header,) = struct.unpack_from("<H", data, at)
        end = min(at + (header & 0x0FFF) + 3, len(data))
        at += 2
        if not header & 0x8000:
            found += data[at : at + _CHUNK]
            at += _CHUNK
            continue
        start = len(found)
        while at < end:
            flags = data[at]
            at += 1
            for bit in range(8):
                if at >= end:
                    break
                if flags >> bit & 1:
                    _copy(found, start, data[at : at + 2])
                    at += 2
                else:
                    found.append(data[at])
                    at += 1
    return bytes(found)


def _copy(found: bytearray, start: int, token: bytes) -> None:
    """Repeat bytes of the chunk: the farther it has come, the more bits tell how far back [MS-OVBA 2.4.1.3.19.1]."""
    if len(token) != 2:
        raise VbaUnreadable("a module ends too early")
    (word,) = struct.unpack("<H", token)
    bits = max(4, (len(found) - start - 1).bit_length())
    length = (word & (0xFFFF >> bits)) + 3
    back = (word >> (16 - bits)) + 1
    if back > len(found) - start:
        raise VbaUnreadable("a module refers to what is not there")
    for _ in range(length):
        found.append(found[-back])


def module_texts(data: bytes) -> dict[str, str]:
    """Return the text of every VBA module.

    Parameters
    ----------
    data : bytes
        A vbaProject.bin.

    Returns
    -------
    dict of str to str
        Module name to its text.

    Raises
    ------
    VbaUnreadable
        If it is damaged or none.
    """
    try:
        streams = list(_Compound(data).streams())
    except struct.error:
        raise VbaUnreadable("it ends too early") from None
    found = {}
    for name, content in streams:
        at = content.find(_FIRST_WORD) - 3
        if at >= 0 and content[at] == 1:
            found[name] = _decompressed(content[at:]).decode("cp1252", "replace")
    return found
