"""Stand-ins for pywin32 and Excel, so that xlwings' own COM code runs anywhere. They change `sys.modules`: a process of
its own for them, which `addin_com.py` is.

Only what lies outside xlwings is stood in for: COM's types, Excel's ranges, workbooks and VBA project. The decorators,
the VBA writer, `CallUDF` and every conversion are xlwings'.
"""

from __future__ import annotations

import ctypes
import datetime as dt
import importlib
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace
from unittest import mock

RANGE_IID = "{00020846-0000-0000-C000-000000000046}"
MISSING = -2147352572  # DISP_E_PARAMNOTFOUND: what VBA sends for an argument left out
ERROR_CELL = -2146826281  # #DIV/0! as Excel sends it


class ComError(Exception):
    def __init__(self, hresult=0, *rest):
        super().__init__(hresult, *rest)
        self.hresult = hresult


class PyTime(dt.datetime):
    """A date as COM hands it over."""


class Dispatched:
    """A late-bound COM object."""

    def __init__(self, obj=None):
        self._obj = obj


class Cells(Dispatched):
    """An Excel range with values, as far as xlwings reads one."""

    def __init__(self, values, row=1, column=1):
        super().__init__()
        self.Value = tuple(map(tuple, values)) if isinstance(values, list) else values
        rows = self.Value if isinstance(self.Value, tuple) else ((self.Value,),)
        self.Row, self.Column = row, column
        self.Rows, self.Columns = SimpleNamespace(Count=len(rows)), SimpleNamespace(Count=len(rows[0]))
        self.Count = len(rows) * len(rows[0])
        app = SimpleNamespace(Hwnd=1, Visible=True)
        self.Worksheet = SimpleNamespace(Name="Sheet1", Parent=SimpleNamespace(Application=app, Name="book.xlsm"))
        kind = SimpleNamespace(GetTypeAttr=lambda: SimpleNamespace(iid=RANGE_IID))
        self._oleobj_ = SimpleNamespace(GetTypeInfo=lambda: kind)

    Address = "$A$1"

    def GetAddress(self, *_):  # noqa: N802 - Excel's name
        return self.Address


class Workbook:
    """A workbook with a VBA project: keeps what is imported into it and the texts for the function wizard."""

    Name = "book.xlsm"
    Sheets = SimpleNamespace(Count=0)
    Worksheets = SimpleNamespace(Count=0)

    def __init__(self):
        self.imported, self.wizard = [], {}
        self.Application = SimpleNamespace(Version="16.0", MacroOptions=self._macro_options)
        self.VBProject = SimpleNamespace(VBComponents=_Components(self.imported))

    def _macro_options(self, macro, **texts):
        self.wizard[macro] = texts


class _Components:
    def __init__(self, imported):
        self._imported = imported

    def __call__(self, name):
        raise ComError(name)  # none of that name yet

    def Remove(self, component):  # noqa: N802 - VBA's name
        raise AssertionError(f"there is no {component} to remove")

    def Import(self, path):  # noqa: N802 - VBA's name
        self._imported.append(Path(path).read_text(encoding="utf-8"))


def _module(name, **content):
    module = ModuleType(name)
    module.__dict__.update(content)
    sys.modules[name] = module
    parent, _, child = name.rpartition(".")
    if parent:
        setattr(sys.modules[parent], child, module)


def install():
    """Put the stand-ins in place and return xlwings, its `udfs` and its `com_server`, as on Windows."""
    import xlwings

    _module("pywintypes", com_error=ComError, error=ComError, TimeType=PyTime, IID=lambda text: text)
    _module(
        "pythoncom",
        __file__="",
        CoInitialize=lambda *_: None,
        com_error=ComError,
        ole_error=ComError,
        IID_IDispatch="dispatch",
        IID_IEnumVARIANT="enum",
        TypeIIDs={"dispatch": type("PyIDispatch", (), {})},
    )
    for name in ("win32api", "win32con", "win32gui", "win32event"):
        _module(name)
    _module("win32process", GetWindowThreadProcessId=lambda _: (1, 1))
    _module("win32timezone", TimeZoneInfo=mock.MagicMock())
    _module("win32com")
    _module(
        "win32com.client",
        CDispatch=Dispatched,
        CoClassBaseClass=type("CoClassBaseClass", (), {}),
        DispatchBaseClass=type("DispatchBaseClass", (), {}),
        Dispatch=lambda obj, *_, **__: obj,
        DispatchEx=lambda obj: obj,
    )
    _module("win32com.server")
    _module("win32com.server.dispatcher")
    _module("win32com.server.policy", DefaultPolicy=object)
    _module("win32com.server.util", wrap=lambda obj, *_, **__: obj, unwrap=_not_wrapped)
    patched = (mock.patch.object(ctypes, name, mock.MagicMock(), create=True) for name in ("windll", "oledll", "PyDLL"))
    with next(patched), next(patched), next(patched):
        xlwings._xlwindows = importlib.import_module("xlwings._xlwindows")
    xlwings.engines.add(xlwings.Engine(impl=xlwings._xlwindows.engine))
    udfs = importlib.import_module("xlwings.udfs")
    xlwings.func, xlwings.arg, xlwings.ret = udfs.xlfunc, udfs.xlarg, udfs.xlret
    return xlwings, udfs, importlib.import_module("xlwings.com_server")


def _not_wrapped(_):
    raise ComError
