"""Inputs changed by bytes, words, cells, elements, parts: what a disk, a mail, an editor or a person does to them."""

from __future__ import annotations

import csv
import io
import random
import re

import handmade

WORDS = (
    "0", "-0", "1", "-1", "1e5", "1e999", "-1e-999", "1E-999999", "1E+999999", "9" * 40, "9" * 5000, "0." + "0" * 40,
    "NaN", "sNaN", "inf", "-Infinity", "1,234", "1.234", "1.234,5", "1,234.5", "12,5", "1 234,50", "1\u202f234,50",
    "½", "1/0", "3/2", "1/3", "²", "٣", "١٢", "１２", "\u0131", "\u017f", "\u212a", "İ", "ß", "\u200b", "\u202e",
    "\ufeff", "\u00a0", "\ud7ff", "\U0001f600", "\x00", "\x01", "\x1f", "\x85", "\u2028", "'", "''", '"', '""', "' ",
    "`", "´", "′", "″", "14' 3-1/2\"", "14-3", "12 ft 6", "4.35 m", "4350 mm", "4,350 m", "2x6", "2x99", "24x24", "0x0",
    "1x1x1", "%", "100%", "-5%", "1000%", "8,25 %", "in/h", "4.7 in/h", "120 mm/h", "1/4 in/ft", "0001-01-01",
    "9999-12-31", "2026-02-30", "1899-12-31", "31.12.2026", "31/12/2026", "12/31/2026", "01/02/2026", "2026-1-1",
    "20260101", "2026-W01-1", "=1+1", "+1", "@x", "#", "#REF!", "x_", "x" * 300, "x" * 33_000, "\t", "\r", "\n", "\r\n",
    ";", ",", ",,,,", "sep=;\n", "USD", "usd", "€", "$", "won", "TRUE", "liner: ", "liner: sheet", ":", "*", "?", "~",
    "<", ">", "metric", "&amp;", "..", "/", "\\", "a/b", "None", "null", "[]", "{}", "true",
)  # fmt: skip
MARKUP = (
    "<!DOCTYPE x>", "<!DOCTYPE x [<!ENTITY a 'b'>]>", "&a;", "&#0;", "&#x1F600;", "<![CDATA[", "]]>",
    "<?xml version='1.0'?>", "<!--", "-->", "<a>", "</a>", "<a/>", "<c/>", "<row/>", "<f/>", "<v/>", "<v>1</v>",
    "<is><t>x</t></is>", 't="s"', 't="b"', 't="d"', 't="e"', 't="shared"', 't="array"', 'si="0"', 'r="A1"',
    'r="XFD1048576"', 'r=""', 'r="0"', 'r="A0"', 'r="1"', 'r="-1"', 'ref="A1:B2"', "xmlns=''", "xmlns:a='b'", "_x0000_",
    "_x0041_", "_xD800_", "encoding='utf-16'", "encoding='cp037'", "unitCode='EA'", "<rPh>", "</rPh>", "<cbc:ID/>",
    "Target='../x.xml'", "Id=''",
)  # fmt: skip
NUMBERS = (
    "0", "-1", "1e300", "-1e300", "1e-300", "0.5", "12.0", "1e15", "46000", "2958466", "nan", "inf", "1E400",
)  # fmt: skip


def by_bytes(chance: random.Random, data: bytes) -> bytes:
    out = bytearray(data)
    for _ in range(chance.choice((1, 1, 1, 2, 3, 10, 100))):
        at = chance.randrange(len(out) + 1)
        match chance.randrange(6):
            case 0:
                out[at : at + 1] = bytes([chance.randrange(256)])
            case 1:
                del out[at : at + chance.choice((1, 1, 2, 5, 20, 200))]
            case 2:
                out[at:at] = out[at : at + chance.randrange(1, 200)]
            case 3:
                out[at:at] = chance.choice(
                    (b"\0", b'"', b"\r", b"\xff\xfe", b"\xef\xbb\xbf", b"\x81", b";", b"\n", b"PK\x01\x02")
                )
            case 4:
                out[at : at + 1] = bytes([out[at] ^ 1 << chance.randrange(8)]) if at < len(out) else b""
            case _:
                out[at:at] = chance.choice(WORDS[:60]).encode("utf-8", "surrogatepass")
    return bytes(out)


def by_words(chance: random.Random, text: str) -> str:
    """Change a short text: put words in, take letters out, or be another word."""
    for _ in range(chance.choice((1, 1, 2, 3))):
        at, to = sorted((chance.randrange(len(text) + 1), chance.randrange(len(text) + 1)))
        match chance.randrange(6):
            case 5:
                text = (
                    text.translate(LOOKALIKES)
                    if len(text) < 3
                    else text[:at] + text[at:to].translate(LOOKALIKES) + text[to:]
                )
            case 0:
                text = chance.choice(WORDS)
            case 1:
                text = text[:at] + chance.choice(WORDS) + text[at:]
            case 2:
                text = text[:at] + chance.choice(WORDS) + text[to:]
            case 3:
                text = text[:at] + text[to:]
            case _:
                text = text[:at] + chr(chance.choice((chance.randrange(128), chance.randrange(0x2200)))) + text[at:]
    return text


LOOKALIKES = str.maketrans(
    {"i": "\u0131", "I": "İ", "s": "\u017f", "K": "\u212a", "k": "\u212a", "1": "１", "2": "²", "3": "٣"}
)
ENCODINGS = ("utf-8", "utf-8", "utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-32", "latin-1")


def by_cells(chance: random.Random, data: bytes) -> bytes:
    """Change cells, rows, columns, the separator and the encoding of a CSV file that stays one."""
    rows = list(csv.reader(io.StringIO(data.decode("utf-8", "replace").replace("\0", ""), newline="")))
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        if not rows:
            break
        row = chance.choice(rows)
        at = chance.randrange(len(row) + 1)
        match chance.randrange(9):
            case 0 | 1 | 2:
                row[at : at + 1] = [chance.choice(WORDS)]
            case 3 | 4:
                row[at : at + 1] = [by_words(chance, row[at] if at < len(row) else "")]
            case 5:
                row[at : at + 1] = [chance.choice(chance.choice(rows) or [""])]
            case 6:
                rows.insert(chance.randrange(len(rows) + 1), list(chance.choice(rows)))
            case 7:
                rows.remove(row)
            case _:
                for other in rows:  # a column goes, or comes twice
                    other[at : at + 1] = [] if len(row) % 2 else other[at : at + 1] * 2
    text = io.StringIO(newline="")
    mark = chance.choice(",,,,;\t")
    csv.writer(text, delimiter=mark, lineterminator=chance.choice(("\n", "\r\n", "\r"))).writerows(rows)
    return text.getvalue().encode(chance.choice(ENCODINGS), chance.choice(("replace", "ignore")))


_PIECE = re.compile(r'"[^"<>]*"|>[^<>]*<|<[^<>]*>')


def by_elements(chance: random.Random, data: bytes) -> bytes:
    """Change texts, attributes and elements of XML."""
    text = data.decode("utf-8", "replace")
    for _ in range(chance.choice((1, 1, 2, 4))):
        found = _PIECE.search(text, chance.randrange(len(text) + 1)) or _PIECE.search(text)
        if found is None:
            break
        start, end, held = found.start(), found.end(), found[0]
        match chance.randrange(6):
            case 0 | 1:  # another value, that XML can hold more often than not
                word = chance.choice(WORDS)
                if chance.random() < 0.9:
                    word = word.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
                new = held[0] + word + held[-1] if held[0] in '">' else held
            case 2:
                new = held * 2
            case 3:
                new = ""
            case 4:
                new = held + chance.choice(MARKUP)
            case _:
                other = _PIECE.search(text, chance.randrange(len(text)))
                new = other[0] if other and other[0][0] == held[0] else held
        text = text[:start] + new + text[end:]
    return text.encode(chance.choice(ENCODINGS[:5]), "replace")


def by_parts(chance: random.Random, data: bytes) -> bytes:
    """Change one part of a workbook, whose zip stays whole; sometimes the zip's bytes."""
    kind = chance.randrange(10)
    if kind == 0:
        return by_bytes(chance, data)
    parts = handmade.parts_of(data)
    name = chance.choice(list(parts))
    if kind == 1:
        del parts[name]
    elif kind == 2:
        parts[chance.choice((name.upper(), "xl/x.xml", f"{name}.bak", "../x", "xl/media/a.svg"))] = parts[name]
    elif kind == 3:
        parts[name] = parts[chance.choice(list(parts))]
    elif kind == 4:
        parts[name] = by_bytes(chance, parts[name])
    else:
        parts[name] = by_elements(chance, parts[name])
    return handmade.packed(parts)


_CELL = re.compile(r'<c r="([A-Z]+[0-9]+)"( s="[0-9]+")?[^>]*?(?:/>|>.*?</c>)')


def by_input_cells(chance: random.Random, data: bytes) -> bytes:
    """Change cells of one sheet of a workbook of ours, so that what is in them is what nobody thought of."""
    parts = handmade.parts_of(data)
    name = chance.choice([one for one in parts if one.startswith("xl/worksheets/sheet")])
    text = parts[name].decode()
    for _ in range(chance.choice((1, 2, 4))):
        found = list(_CELL.finditer(text))
        if not found:
            break
        cell = chance.choice(found)
        word = "".join(c for c in chance.choice(WORDS) if c >= " ").replace("&", "&amp;").replace("<", "&lt;")
        body = chance.choice((
            f' t="inlineStr"><is><t xml:space="preserve">{word}</t></is></c>',
            f"><v>{chance.choice(NUMBERS)}</v></c>",
            f"><v>{chance.choice(NUMBERS)}</v></c>",
            ' t="b"><v>1</v></c>',
            ' t="e"><v>#REF!</v></c>',
            "/>",
            f' t="str"><f>1+1</f><v>{word}</v></c>',
            ' t="d"><v>2026-07-01</v></c>',
        ))  # fmt: skip
        text = text[: cell.start()] + f'<c r="{cell[1]}"{cell[2] or ""}{body}' + text[cell.end() :]
    parts[name] = text.encode("utf-8", "replace")
    return handmade.packed(parts)
