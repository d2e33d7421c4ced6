"""The Calc face as an extension for LibreOffice: the engine's own text, the component, and what declares it."""

from __future__ import annotations

import io
from xml.sax.saxutils import escape
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from baybook import __version__
from baybook.addin.declare import Function, Span, camel
from baybook.addin.registry import FUNCTIONS
from baybook.files.own import program_files

__all__ = ["BUNDLED", "EXTENSION", "SERVICE", "extension", "interface_idl", "qualified"]

EXTENSION = "baybook_calc.oxt"
SERVICE = "baybook.calc"
INTERFACE = "XBayFunctions"
BUNDLED = (
    "__init__.py",
    "problems.py",
    "numbers.py",
    "outline.py",
    "units.py",
    "data",
    "job",
    "water",
    "takeoff",
    "cutplan",
    "pricing",
    "addin/__init__.py",
    "addin/buying.py",
    "addin/deck.py",
    "addin/declare.py",
    "addin/drainage.py",
    "addin/onedeck.py",
    "addin/reading.py",
    "addin/registry.py",
    "addin/words.py",
)
"""What of this package LibreOffice's Python runs: the engine and the functions, no file, no workbook."""

_COMPONENT = "bay_component.py"
_IDL = "bayfunctions.idl"
_MANIFEST = f"""<?xml version="1.0" encoding="UTF-8"?>
<manifest:manifest xmlns:manifest="http://openoffice.org/2001/manifest">
 <manifest:file-entry manifest:full-path="{_IDL}"
  manifest:media-type="application/vnd.sun.star.uno-typelibrary;type=RDB"/>
 <manifest:file-entry manifest:full-path="{_COMPONENT}"
  manifest:media-type="application/vnd.sun.star.uno-component;type=Python"/>
</manifest:manifest>
"""
_DESCRIPTION = """<?xml version="1.0" encoding="UTF-8"?>
<description xmlns="http://openoffice.org/extensions/description/2006">
 <identifier value="baybook.calc"/>
 <version value="{version}"/>
 <display-name><name lang="en">baybook functions</name></display-name>
</description>
"""


def qualified(function: Function) -> str:
    """Return the name of a function as a file holds it for Calc: the program maps no bare name when it reads one."""
    return f"{SERVICE}.{function.method}".upper()


def interface_idl() -> str:
    """Return the interface of all functions in UNO's interface definition language."""
    lines = []
    for function in FUNCTIONS.values():
        kind = "sequence< sequence< any > >" if function.gives.array else "any"
        given = ", ".join(
            f"[in] {'sequence< any >' if one.span is Span.REST else 'any'} {camel(one.name)}" for one in function.args
        )
        lines.append(f"    {kind} {function.method}({given});")
    return "\n".join([f"module bayfunctions {{ interface {INTERFACE} {{", *lines, "}; };", ""])


def extension() -> bytes:
    """Return the extension: a zip that LibreOffice installs; the same program gives the same bytes."""
    parts = {
        "META-INF/manifest.xml": _MANIFEST.encode(),
        "description.xml": _DESCRIPTION.format(version=escape(__version__)).encode(),
        _IDL: interface_idl().encode(),
        _COMPONENT: program_files(["addin/component.py"])["addin/component.py"],
        **{f"pythonpath/baybook/{path}": data for path, data in program_files(BUNDLED).items()},
    }
    stream = io.BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        for path, data in parts.items():
            entry = ZipInfo(path, (1980, 1, 1, 0, 0, 0))
            entry.compress_type = ZIP_DEFLATED
            archive.writestr(entry, data)
    return stream.getvalue()
