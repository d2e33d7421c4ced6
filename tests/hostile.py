"""Files that would harm whoever reads them, made from a good workbook; and good ones that look a little odd."""

from __future__ import annotations

import io
import random
import struct
import zipfile
import zlib
from functools import cache
from pathlib import Path

SHEET = "xl/worksheets/sheet1.xml"
BOMB = '<!DOCTYPE x [<!ENTITY a0 "ha">' + "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10)) + "]>"
EXTERNAL = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
PARAMETER = '<!DOCTYPE x [<!ENTITY % a SYSTEM "http://127.0.0.1:1/x.dtd"> %a;]>'
BLOWUP = f'<!DOCTYPE x [<!ENTITY a "{"x" * 50_000}">]>'
OUTSIDE = '<!DOCTYPE x SYSTEM "http://127.0.0.1:1/x.dtd">'


@cache
def good_parts() -> dict[str, bytes]:
    """Return the parts of a workbook with a little of everything."""
    from openpyxl import Workbook
    from openpyxl.comments import Comment

    book = Workbook()
    sheet = book.active
    for row in range(1, 60):
        sheet.append([row, row / 8, "text <!DOCTYPE x> & more", f"=A{row}*2"])
    sheet["A1"].comment = Comment("a note", "ann")
    sheet["B1"].hyperlink = "https://example.org"
    sheet.merge_cells("A70:D70")
    stream = io.BytesIO()
    book.save(stream)
    with zipfile.ZipFile(stream) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(parts: dict[str, bytes] | list[tuple[str, bytes]], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", method) as package:
        for name, data in parts.items() if isinstance(parts, dict) else parts:
            package.writestr(name, data)
    return stream.getvalue()


def changed(**parts: bytes) -> bytes:
    """Return the good workbook with parts replaced or added; ``sheet1`` stands for the first sheet's part."""
    names = {"sheet1": SHEET}
    return packed(good_parts() | {names.get(name, name): data for name, data in parts.items()})


def with_doctype(name: str, doctype: str, encoding: str = "utf-8") -> bytes:
    text = good_parts()[name].decode()
    head, _, body = text.rpartition("?>") if text.startswith("<?xml") else ("", "", text)
    declared = f'<?xml version="1.0" encoding="{encoding}"?>' if head or encoding != "utf-8" else ""
    return changed(**{name: f"{declared}{doctype}{body}".encode(encoding)})


def sheet(rows: str, after: str = "") -> bytes:
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return changed(sheet1=f'<worksheet xmlns="{space}"><sheetData>{rows}</sheetData>{after}</worksheet>'.encode())


@cache
def deflated(pieces: int, piece: bytes) -> tuple[bytes, int, int]:
    """Return that many repetitions, deflated, with their length and checksum, without holding them."""
    squeeze, out, check = zlib.compressobj(9, zlib.DEFLATED, -15), [], 0
    for _ in range(pieces):
        out.append(squeeze.compress(piece))
        check = zlib.crc32(piece, check)
    return b"".join(out) + squeeze.flush(), pieces * len(piece), check


def raw_zip(entries: list[dict]) -> bytes:
    """Return a zip whose directory says what it is told to, true or not."""
    body, listing = bytearray(), bytearray()
    for entry in entries:
        name, data = entry["name"].encode(), entry.get("data", b"")
        size, packed_size = entry.get("size", len(data)), entry.get("packed_size", len(data))
        common = struct.pack(
            "<HHHHHIIIHH", 20, entry.get("flags", 0), entry.get("method", 0), 0, 33, entry.get("crc", zlib.crc32(data)),
            packed_size, size, len(name), 0,
        )  # fmt: skip
        at = entry.get("at")
        if at is None:
            at = len(body)
            body += b"PK\x03\x04" + common + name + data
        listing += b"PK\x01\x02" + struct.pack("<H", 20) + common + struct.pack("<HHHII", 0, 0, 0, 0, at) + name
    count = min(len(entries), 65_535)
    tail = struct.pack("<4sHHHHIIH", b"PK\x05\x06", 0, 0, count, count, len(listing), len(body), 0)
    return bytes(body + listing + tail)


def as_raw(parts: dict[str, bytes]) -> list[dict]:
    return [{"name": name, "data": data} for name, data in parts.items()]


def bomb_in_a_zip(stated: int | None = None, packed_stated: int | None = None) -> bytes:
    """300 MB in 300 KB; the directory may state another size."""
    data, size, check = deflated(300, b" " * 1_000_000)
    entry = {"name": SHEET, "data": data, "method": 8, "crc": check, "size": size if stated is None else stated}
    if packed_stated is not None:
        entry["packed_size"] = packed_stated
    parts = {name: part for name, part in good_parts().items() if name != SHEET}
    return raw_zip([*as_raw(parts), entry])


def overlapping() -> bytes:
    """Sixty parts that are all the same megabyte: what Fifield described in 2019 as the better zip bomb."""
    data, size, check = deflated(1, b" " * 1_000_000)
    first = {
        "name": "a0",
        "data": data + bytes(3000),
        "method": 8,
        "crc": check,
        "size": size,
        "packed_size": len(data),
    }
    return raw_zip([first, *({**first, "name": f"a{n}", "at": 0} for n in range(1, 60))])


def renamed(name: str) -> bytes:
    return raw_zip([*as_raw(good_parts()), {"name": name, "data": b"<x/>"}])


def random_text(size: int) -> bytes:
    return random.Random(1).randbytes(size // 2).hex().encode()


def deep(levels: int) -> bytes:
    return b"<a>" * levels + b"</a>" * levels


def no_types() -> bytes:
    return packed({name: part for name, part in good_parts().items() if name != "[Content_Types].xml"})


GOOD_PACKED = packed(good_parts())

DOCTYPES = {
    "entity bomb in the sheet": lambda: with_doctype(SHEET, BOMB),
    "entity bomb in the workbook": lambda: with_doctype("xl/workbook.xml", BOMB),
    "entity bomb in the styles": lambda: with_doctype("xl/styles.xml", BOMB),
    "entity bomb in the texts": lambda: changed(**{"xl/sharedStrings.xml": f"{BOMB}<sst><si/></sst>".encode()}),
    "entity bomb in the content types": lambda: with_doctype("[Content_Types].xml", BOMB),
    "entity bomb in the relations": lambda: with_doctype("xl/_rels/workbook.xml.rels", BOMB),
    "entity bomb in the properties": lambda: with_doctype("docProps/core.xml", BOMB),
    "entity bomb in a drawing of notes": lambda: changed(**{"xl/drawings/x.vml": f"{BOMB}<xml/>".encode()}),
    "entity bomb under another name": lambda: changed(**{"xl/worksheets/sheet9.dat": f" {BOMB}<x/>".encode()}),
    "entity bomb in a picture": lambda: changed(**{"xl/media/a.svg": f"{BOMB}<svg/>".encode()}),
    "entity bomb in UTF-16": lambda: with_doctype(SHEET, BOMB, "utf-16"),
    "entity bomb in UTF-16 LE without mark": lambda: changed(
        **{"xl/a.dat": f'<?xml version="1.0"?>{BOMB}<x/>'.encode("utf-16-le")}
    ),
    "entity bomb in UTF-16 BE without mark": lambda: changed(
        **{"xl/a.dat": f'<?xml version="1.0"?>{BOMB}<x/>'.encode("utf-16-be")}
    ),
    "entity bomb in Latin-1": lambda: with_doctype(SHEET, BOMB, "iso-8859-1"),
    "entity bomb behind a long comment": lambda: with_doctype(SHEET, f"<!--{'x' * 500_000}-->{BOMB}"),
    "external entity": lambda: with_doctype(SHEET, EXTERNAL),
    "external parameter entity": lambda: with_doctype("xl/workbook.xml", PARAMETER),
    "external document type": lambda: with_doctype(SHEET, OUTSIDE),
    "quadratic blow-up": lambda: with_doctype(SHEET, BLOWUP),
}

CELLS = {
    "cell XFD1048576": lambda: sheet('<row r="1048576"><c r="XFD1048576"><v>1</v></c></row>'),
    "cell with spaces and apostrophes": lambda: sheet("<row><c\n s='0'\tr = 'XFD1048576' ><v>1</v></c></row>"),
    "cell written with character references": lambda: sheet('<row><c r="&#88;F&#x44;1"><v>1</v></c></row>'),
    "cell with a namespace prefix": lambda: changed(
        sheet1=b'<m:worksheet xmlns:m="m"><m:row><m:c r="B99999"/></m:row></m:worksheet>'
    ),
    "cell in UTF-16": lambda: changed(sheet1='<worksheet><row><c r="A99999"/></row></worksheet>'.encode("utf-16")),
    "cell of another name in a row": lambda: sheet('<row r="1"><d r="A99999"/></row>'),
    "cell whose row is only its row's": lambda: sheet('<row r="1048576"><c><v>1</v></c></row>'),
    "cell whose column is only counted": lambda: sheet(f'<row r="1">{"<c/>" * 501}</row>'),
    "cells of rows that are only counted": lambda: sheet("<row><c/></row>" * 20_001),
    "cell in lower case": lambda: sheet('<row><c r="xfd1"/></row>'),
    "cell that is none": lambda: sheet('<row><c r="A1:XFD9"/></row>'),
    "cell with other digits": lambda: sheet('<row><c r="A٩٩٩٩٩"/></row>'),
    "merged range without end": lambda: sheet("", '<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>'),
    "link over a range without end": lambda: sheet(
        "", '<hyperlinks><hyperlink ref="A1:XFD1048576" display="x"/></hyperlinks>'
    ),
    "many merged ranges": lambda: sheet("", "<mergeCells>%s</mergeCells>" % ('<mergeCell ref="A1:SF400"/>' * 5)),
    "2.5 million empty cells": lambda: sheet("".join(f'<row r="{row}">{"<c/>" * 499}</row>' for row in range(1, 5000))),
}

ZIPS = {
    "zip bomb, 300 MB in 300 KB": bomb_in_a_zip,
    "zip bomb that says it is small": lambda: bomb_in_a_zip(1000),
    "zip bomb that says it was never packed": lambda: bomb_in_a_zip(None, 60_000_000),
    "zip bomb within the ratio's blind spot": lambda: bomb_in_a_zip(60_000_000),
    "parts lying over one another": overlapping,
    "70,000 parts": lambda: raw_zip([{"name": f"a{number}"} for number in range(70_000)]),
    "1,001 parts": lambda: packed(good_parts() | {f"xl/a{number}.bin": b"" for number in range(1000)}),
    "two parts of one name": lambda: raw_zip([*as_raw(good_parts()), {"name": SHEET, "data": b"<x/>"}]),
    "two parts of one name but for case": lambda: renamed(SHEET.upper()),
    "name that climbs out": lambda: renamed("xl/../../../etc/cron.d/x"),
    "name from the root": lambda: renamed("/etc/passwd"),
    "name with a drive": lambda: renamed("C:/x.xml"),
    "name with backslashes": lambda: renamed("xl\\..\\x.xml"),
    "name with a NUL": lambda: renamed("xl/a.xml\0.png"),
    "locked part": lambda: raw_zip([{**entry, "flags": 1} for entry in as_raw(good_parts())]),
    "part packed by bzip2": lambda: packed(good_parts(), zipfile.ZIP_BZIP2),
    "part packed by lzma": lambda: packed(good_parts(), zipfile.ZIP_LZMA),
    "part packed by no known method": lambda: raw_zip([{**entry, "method": 99} for entry in as_raw(good_parts())]),
    "part larger than stated": lambda: raw_zip([{**entry, "size": 3} for entry in as_raw(good_parts())]),
    "part smaller than stated": lambda: raw_zip([{**entry, "size": 999_999} for entry in as_raw(good_parts())]),
    "part with a wrong checksum": lambda: raw_zip([{**entry, "crc": 1} for entry in as_raw(good_parts())]),
    "part that begins outside": lambda: raw_zip([{"name": "a", "data": b"x", "at": 4_000_000_000}]),
    "elements 100,000 deep": lambda: changed(**{"xl/a.xml": deep(100_000)}),
    "part that is not well-formed": lambda: changed(sheet1=b"<worksheet><sheetData></worksheet>"),
    "part in UTF-7": lambda: changed(**{"xl/a.xml": b'<?xml version="1.0" encoding="utf-7"?><x/>'}),
    "part that is empty": lambda: changed(sheet1=b""),
    "no content types": no_types,
    "no workbook part": lambda: packed({n: p for n, p in good_parts().items() if n != "xl/workbook.xml"}),
    "another office file": lambda: packed(
        {"[Content_Types].xml": b"<Types/>", "_rels/.rels": b"<R/>", "word/document.xml": b"<w/>"}
    ),
    "macros in an .xlsx": lambda: changed(**{"xl/vbaProject.bin": b"\xd0\xcf"}),
    "bytes of no zip": lambda: b"job,width\r\n1,2\r\n",
    "empty": lambda: b"",
    "old .xls, or a password": lambda: b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(4096),
    "only a zip's end": lambda: b"PK\x05\x06" + bytes(18),
    "33 MB": lambda: b"PK\x03\x04" + bytes(33 << 20),
} | {
    f"torn after {share} %": lambda share=share: GOOD_PACKED[: len(GOOD_PACKED) * share // 100]
    for share in (1, 20, 50, 80, 95, 99)
}

WORKBOOKS = DOCTYPES | CELLS | ZIPS

XML = {
    "entity bomb": f"<?xml version='1.0'?>{BOMB}<x>&a9;</x>".encode,
    "entity bomb in UTF-16": lambda: f"<?xml version='1.0' encoding='utf-16'?>{BOMB}<x>&a9;</x>".encode("utf-16"),
    "external entity": f"{EXTERNAL}<x>&a;</x>".encode,
    "external parameter entity": f"{PARAMETER}<x/>".encode,
    "external document type": f"{OUTSIDE}<x/>".encode,
    "quadratic blow-up": f"{BLOWUP}<x>{'&a;' * 50_000}</x>".encode,
    "elements 100,000 deep": lambda: deep(100_000),
    "not well-formed": lambda: b"<x><y></x>",
    "empty": lambda: b"",
    "text after the end": lambda: b"<x/>junk",
    "encoding that is not read": lambda: b"<?xml version='1.0' encoding='utf-7'?><x/>",
    "encoding that is none": lambda: b"<?xml version='1.0' encoding='what'?><x/>",
    "33 MB": lambda: b"<x>" + b" " * (33 << 20) + b"</x>",
}

CSV = {
    "10 million columns": lambda: b"," * 10_000_000,
    "10 million columns with names": lambda: b"a," * 8_000_000,
    "200,000 columns": lambda: b"," * 200_000,
    "mixed encodings": lambda: "job,note\nA,½\n".encode() + b"B,\xbd\n",
    "mixed encodings at the end of 16 MB": lambda: (
        "job,½\n".encode() + b"A,plain text of a line\n" * 199_000 + b"B,\xbd\n"
    ),
    "UTF-8 by its mark, then not": lambda: b"\xef\xbb\xbfjob,note\nB,\xbd\n",
    "NUL bytes": lambda: b"job,note\nA,\0\n",
    "NUL bytes only": lambda: bytes(1_000_000),
    "UTF-16 without mark": lambda: "job,note\nA,x\n".encode("utf-16-le"),
    "UTF-16 cut in a character": lambda: "job,note\nA,x\n".encode("utf-16")[:-1],
    "UTF-32": lambda: "job,note\nA,x\n".encode("utf-32"),
    "bytes of no encoding": lambda: b"job,note\nA,\x81\n",
    "one line of 10 MB": lambda: b"job\n" + b"x" * 10_000_000,
    "cell of 40,000 characters": lambda: b"job\n" + b"x" * 40_000,
    "quote never closed, 10 MB behind it": lambda: b'job\nA\n"' + b"x" * 99 + b"\nxxxxx" * 100_000,
    "8 million lines": lambda: b"\n" * 8_000_000,
    "row longer than the header": lambda: b"job,note\nA,B,C\n",
    "17 MB": lambda: b"x" * (17 << 20),
    "a workbook under its name": lambda: GOOD_PACKED,
    "empty": lambda: b"",
}


def odd_but_good() -> dict[str, bytes]:
    """Return workbooks that nobody should refuse, by what is odd about them."""
    parts = good_parts()
    space = 'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
    main = '<?xml version="1.0" encoding="utf-16"?>' + parts[SHEET].decode().rpartition("?>")[2]
    cdata = f"<worksheet {space}><!-- <!DOCTYPE a> --><x><![CDATA[<!DOCTYPE x [<!ENTITY a 'b'>]>]]></x></worksheet>"
    types = parts["[Content_Types].xml"].replace(b'PartName="/xl/workbook.xml"', b'PartName="/xl/workbook.xml" ')
    picture = (
        b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd"><svg/>'
    )
    return {
        "as written": GOOD_PACKED,
        "not packed": packed(parts, zipfile.ZIP_STORED),
        "folders listed": packed({"xl/": b"", "xl/worksheets/": b"", **parts}),
        "a sheet in UTF-16": changed(sheet1=main.encode("utf-16")),
        "what looks like a DTD in a text": changed(sheet1=cdata.encode()),
        "an SVG with the usual document type": changed(**{"xl/media/a.svg": picture}),
        "a drawing of notes that is not well-formed": changed(**{"xl/drawings/x.vml": b"<xml><br></xml>"}),
        "a picture": changed(**{"xl/media/a.png": b"\x89PNG\r\n" + bytes(100)}),
        "a workbook inside": changed(**{"xl/embeddings/a.xlsx": GOOD_PACKED}),
        "attributes in another order": changed(**{"[Content_Types].xml": types}),
        "bytes before the end": GOOD_PACKED[:-2] + b"\x04\x00note",
        "an attribute of 300 KB": changed(**{"docProps/a.xml": b"<a b='" + random_text(300_000) + b"'/>"}),
        "a row styled to the last": sheet('<row r="1"><c r="A1"/></row><row r="1048576" ht="13"/>', '<x r="1"/>'),
        "validation of whole columns": sheet(
            "", '<dataValidations><dataValidation sqref="A1:A1048576"/></dataValidations>'
        ),
        "600 validations behind a row": sheet(
            '<row r="1"><c r="A1"/></row>',
            f"<dataValidations>{'<dataValidation><formula1>A1</formula1></dataValidation>' * 600}</dataValidations>",
        ),
        "the last cell allowed": sheet('<row r="20000"><c r="SF20000"/></row>'),
    }


def write_all(kind: dict, folder: Path, suffix: str) -> dict[str, Path]:
    paths = {}
    for number, (name, make) in enumerate(kind.items()):
        paths[name] = folder / f"{number:03}{suffix}"
        paths[name].write_bytes(make() if callable(make) else make)
    return paths
