"""Workbooks changed by hand, at the level of the zip: cells, parts, and everything a person or a program may add."""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any
from xml.sax.saxutils import escape

from baybook.workbook.read import ReadBook
from baybook.workbook.sheetxml import place_of

SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"
LINKS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def parts_of(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        return {name: package.read(name) for name in package.namelist()}


def packed(parts: Mapping[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as package:
        for name, data in parts.items():
            package.writestr(name, data)
    return stream.getvalue()


def with_parts(data: bytes, changes: Mapping[str, bytes | Callable[[bytes], bytes]]) -> bytes:
    """Return a zip with parts added, or changed by a function."""
    parts = parts_of(data)
    for name, change in changes.items():
        parts[name] = change(parts[name]) if callable(change) else change
    return packed(parts)


def part_of(data: bytes, title: str) -> str:
    """Return the name of the part that holds a sheet."""
    parts = parts_of(data)
    book = parts["xl/workbook.xml"].decode()
    link = re.search(rf'<sheet [^>]*name="{re.escape(escape(title))}"[^>]*r:id="(\w+)"', book)[1]
    listed = parts["xl/_rels/workbook.xml.rels"].decode()
    target = next(
        re.search(r'Target="([^"]+)"', one)[1]
        for one in re.findall(r"<Relationship [^>]*>", listed)
        if f'Id="{link}"' in one
    )
    return target.lstrip("/") if target.startswith("/") else f"xl/{target}"


def cell_xml(cell: str, style: str, content: Any) -> str:
    """Return the XML of a cell; a formula is a pair of formula and value."""
    formula, value = content if isinstance(content, tuple) else (None, content)
    start = f'<c r="{cell}"{style}'
    inner = f"<f>{escape(formula.removeprefix('='))}</f>" if formula else ""
    if value is None:
        return f"{start}>{inner}</c>" if inner else f"{start}/>"
    if isinstance(value, bool):
        return f'{start} t="b">{inner}<v>{int(value)}</v></c>'
    if isinstance(value, str) and formula:
        return f'{start} t="str">{inner}<v>{escape(value)}</v></c>'
    if isinstance(value, str):
        return f'{start} t="inlineStr"><is><t xml:space="preserve">{escape(value)}</t></is></c>'
    return f"{start}>{inner}<v>{value!r}</v></c>"


_CELL = re.compile(rb'<c r="([A-Z]+[0-9]+)"( s="[0-9]+")?[^>]*?(?:/>|>.*?</c>)', re.DOTALL)


def with_cells(data: bytes, changes: Mapping[tuple[str, str], Any]) -> bytes:
    """Return a workbook of ours with other contents in cells that it has; stored values elsewhere stay as they are."""
    parts = parts_of(data)
    for title in {title for title, _ in changes}:
        left = {cell.encode(): content for (sheet, cell), content in changes.items() if sheet == title}

        def new(match: re.Match[bytes], left: dict[bytes, Any] = left) -> bytes:
            if match[1] not in left:
                return match[0]
            return cell_xml(match[1].decode(), (match[2] or b"").decode(), left.pop(match[1])).encode()

        name = part_of(data, title)
        parts[name] = _CELL.sub(new, parts[name])
        assert not left, f"{title} has no cell {left}"
    return packed(parts)


def as_read(book: ReadBook, changes: Mapping[tuple[str, str], Any]) -> ReadBook:
    """Return what reading `with_cells` would give, without writing and reading: for what looks at no XML."""
    values, formulas = dict(book.values), dict(book.formulas)
    for (title, cell), content in changes.items():
        at = (title, *place_of(cell))
        formula, value = content if isinstance(content, tuple) else (None, content)
        values.pop(at, None)
        formulas.pop(at, None)
        if value not in {None, ""}:
            values[at] = float(value) if isinstance(value, int) and not isinstance(value, bool) else value
        if formula is not None:
            formulas[at] = "=" + formula.removeprefix("=")
    return replace(book, values=values, formulas=formulas)


def with_sheet(data: bytes, title: str, rows: str, extra: str = "", links: str = "") -> bytes:
    """Return a workbook with one more sheet: its rows as XML, elements after them, and the links of its part."""
    parts = parts_of(data)
    number = 1 + sum(name.startswith("xl/worksheets/sheet") for name in parts)
    name = f"xl/worksheets/sheet{number}.xml"
    body = f'<worksheet xmlns="{MAIN}" xmlns:r="{LINKS}"><sheetData>{rows}</sheetData>{extra}</worksheet>'
    parts[name] = body.encode()
    if links:
        listed = f'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{links}</Relationships>'
        parts[f"xl/worksheets/_rels/sheet{number}.xml.rels"] = listed.encode()
    _put(
        parts,
        "xl/workbook.xml",
        "</sheets>",
        f'<sheet name="{escape(title)}" sheetId="{900 + number}" r:id="rIdx{number}"/>',
    )
    link = f'<Relationship Id="rIdx{number}" Type="{LINKS}/worksheet" Target="worksheets/sheet{number}.xml"/>'
    _put(parts, "xl/_rels/workbook.xml.rels", "</Relationships>", link)
    _put(parts, "[Content_Types].xml", "</Types>", f'<Override PartName="/{name}" ContentType="{SHEET_TYPE}"/>')
    return packed(parts)


def _put(parts: dict[str, bytes], name: str, before: str, text: str) -> None:
    assert before.encode() in parts[name]
    parts[name] = parts[name].replace(before.encode(), (text + before).encode(), 1)


def png() -> bytes:
    """Return a picture of one red point."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\xff\0\0")) + chunk(b"IEND", b"")
    )


_ANCHOR = (
    "<xdr:twoCellAnchor><xdr:from><xdr:col>{0}</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>8</xdr:row>"
    "<xdr:rowOff>0</xdr:rowOff>"
    "</xdr:from><xdr:to><xdr:col>{1}</xdr:col><xdr:colOff>0</xdr:colOff><xdr:row>16</xdr:row>"
    "<xdr:rowOff>0</xdr:rowOff></xdr:to>"
    "{2}<xdr:clientData/></xdr:twoCellAnchor>"
)
_SIZE = (
    '<a:xfrm><a:off x="0" y="0"/><a:ext cx="900000" cy="900000"/></a:xfrm>'
    '<a:prstGeom prst="rect"><a:avLst/></a:prstGeom>'
)
_BOX = (
    '<xdr:sp><xdr:nvSpPr><xdr:cNvPr id="2" name="Box"/><xdr:cNvSpPr txBox="1"/></xdr:nvSpPr><xdr:spPr>'
    + _SIZE
    + "</xdr:spPr>"
    "<xdr:txBody><a:bodyPr/><a:p><a:r><a:t>Call the framer first</a:t></a:r></a:p></xdr:txBody></xdr:sp>"
)
_PICTURE = (
    '<xdr:pic><xdr:nvPicPr><xdr:cNvPr id="3" name="Site"/><xdr:cNvPicPr/></xdr:nvPicPr><xdr:blipFill>'
    '<a:blip r:embed="rId1"/><a:stretch><a:fillRect/></a:stretch></xdr:blipFill><xdr:spPr>'
    + _SIZE
    + "</xdr:spPr></xdr:pic>"
)
_FRAME = (
    '<xdr:graphicFrame macro=""><xdr:nvGraphicFramePr><xdr:cNvPr id="4" name="Chart"/><xdr:cNvGraphicFramePr/>'
    '</xdr:nvGraphicFramePr><xdr:xfrm><a:off x="0" y="0"/><a:ext cx="0" cy="0"/></xdr:xfrm><a:graphic><a:graphicData '
    'uri="http://schemas.openxmlformats.org/drawingml/2006/chart"><c:chart '
    'xmlns:c="http://schemas.openxmlformats.org/drawingml/2006/chart" r:id="rId2"/></a:graphicData></a:graphic>'
    "</xdr:graphicFrame>"
)
_DRAWING = (
    '<xdr:wsDr xmlns:xdr="http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing" '
    f'xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" xmlns:r="{LINKS}">'
    + _ANCHOR.format(0, 2, _BOX)
    + _ANCHOR.format(3, 5, _PICTURE)
    + _ANCHOR.format(6, 12, _FRAME)
    + "</xdr:wsDr>"
)
_CHART = (
    '<c:chartSpace xmlns:c="http://schemas.openxmlformats.org/drawingml/2006/chart"><c:chart><c:plotArea><c:barChart>'
    '<c:barDir val="bar"/><c:ser><c:idx val="0"/><c:order val="0"/><c:val><c:numRef>'
    "<c:f>Estimate!$B$6:$B$8</c:f></c:numRef>"
    '</c:val></c:ser><c:axId val="1"/><c:axId val="2"/></c:barChart><c:catAx><c:axId val="1"/><c:scaling/>'
    '<c:axPos val="l"/>'
    '<c:crossAx val="2"/></c:catAx><c:valAx><c:axId val="2"/><c:scaling/><c:axPos val="b"/><c:crossAx val="1"/>'
    "</c:valAx>"
    "</c:plotArea></c:chart></c:chartSpace>"
)
_COMMENTS = (
    f'<comments xmlns="{MAIN}"><authors><author>Ann</author></authors><commentList><comment ref="B2" '
    f'authorId="0"><text>'
    "<r><t>as Ann counted it</t></r></text></comment></commentList></comments>"
)
_NOTES = (
    '<xml xmlns:v="urn:schemas-microsoft-com:vml" xmlns:x="urn:schemas-microsoft-com:office:excel"><v:shape id="n" '
    'type="#_x0000_t202" style="visibility:hidden"><x:ClientData ObjectType="Note"><x:Row>1</x:Row>'
    "<x:Column>1</x:Column>"
    "</x:ClientData></v:shape></xml>"
)
_SPARK = (
    '<extLst><ext xmlns:x14="http://schemas.microsoft.com/office/spreadsheetml/2009/9/main" '
    'uri="{05C60535-1F16-4fd2-B633-F4F36F0B64E0}"><x14:sparklineGroups '
    'xmlns:xm="http://schemas.microsoft.com/office/excel/2006/main"><x14:sparklineGroup><x14:sparklines><x14:sparkline>'
    "<xm:f>Estimate!B6:B8</xm:f><xm:sqref>D2</xm:sqref></x14:sparkline></x14:sparklines></x14:sparklineGroup>"
    "</x14:sparklineGroups></ext></extLst>"
)
_TYPES = (
    '<Default Extension="png" ContentType="image/png"/>'
    '<Default Extension="vml" ContentType="application/vnd.openxmlformats-officedocument.vmlDrawing"/>'
    '<Override PartName="/xl/drawings/drawing91.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.drawing+xml"/>'
    '<Override PartName="/xl/charts/chart91.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.drawingml.chart+xml"/>'
    '<Override PartName="/xl/comments91.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.comments+xml"/>'
)


def rich(data: bytes, *, macros: bool = False) -> bytes:
    """Return a workbook of ours with a sheet of a person's own: text box, picture, chart, comment, sparkline, formulas.

    Sheet "Mine": B2 reads our price, B3 reads B2, B4 is a sum of its own numbers; sheet "Apart" reads nothing of ours.
    With `macros` it is an .xlsm with a VBA part (which no program runs: its bytes are made up).
    """
    cells = [
        ("B2", ("quote_price", 1.0)),
        ("B3", ("B2*2", 2.0)),
        ("B4", ("SUM(C4:D4)", 7.0)),
        ("C4", 3),
        ("D4", 4),
    ]
    rows = "".join(
        f'<row r="{row}">' + "".join(cell_xml(at, "", held) for at, held in cells if at[1:] == row) + "</row>"
        for row in "234"
    )
    extra = '<drawing r:id="rId1"/><legacyDrawing r:id="rId2"/>' + _SPARK
    links = (
        f'<Relationship Id="rId1" Type="{LINKS}/drawing" Target="../drawings/drawing91.xml"/>'
        f'<Relationship Id="rId2" Type="{LINKS}/vmlDrawing" Target="../drawings/notes91.vml"/>'
        f'<Relationship Id="rId3" Type="{LINKS}/comments" Target="../comments91.xml"/>'
    )
    data = with_sheet(data, "Mine", rows, extra, links)
    data = with_sheet(data, "Apart", f'<row r="1">{cell_xml("A1", "", ("1+1", 2.0))}</row>')
    parts = parts_of(data)
    listed = "http://schemas.openxmlformats.org/package/2006/relationships"
    parts |= {
        "xl/drawings/drawing91.xml": _DRAWING.encode(),
        "xl/drawings/_rels/drawing91.xml.rels": (
            f'<Relationships xmlns="{listed}"><Relationship Id="rId1" Type="{LINKS}/image" Target="../media/site.png"/>'
            f'<Relationship Id="rId2" Type="{LINKS}/chart" Target="../charts/chart91.xml"/></Relationships>'
        ).encode(),
        "xl/charts/chart91.xml": _CHART.encode(),
        "xl/media/site.png": png(),
        "xl/comments91.xml": _COMMENTS.encode(),
        "xl/drawings/notes91.vml": _NOTES.encode(),
    }
    _put(parts, "[Content_Types].xml", "</Types>", _TYPES)
    if macros:
        parts["xl/vbaProject.bin"] = bytes(range(256)) * 8
        kind = "application/vnd.ms-office.vbaProject"
        _put(
            parts, "[Content_Types].xml", "</Types>", f'<Override PartName="/xl/vbaProject.bin" ContentType="{kind}"/>'
        )
        plain, with_macros = b"spreadsheetml.sheet.main+xml", b"application/vnd.ms-excel.sheet.macroEnabled.main+xml"
        types = parts["[Content_Types].xml"]
        assert plain in types
        parts["[Content_Types].xml"] = types.replace(
            b"application/vnd.openxmlformats-officedocument." + plain, with_macros
        )
        kind = "http://schemas.microsoft.com/office/2006/relationships/vbaProject"
        link = f'<Relationship Id="rIdv" Type="{kind}" Target="vbaProject.bin"/>'
        _put(parts, "xl/_rels/workbook.xml.rels", "</Relationships>", link)
    return packed(parts)
