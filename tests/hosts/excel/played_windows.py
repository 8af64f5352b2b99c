"""xlwings' own Windows code, driven on any machine.

Only the imports of pywin32 and the DLLs are stubbed; `XLPython.CallUDF`, `call_udf` and the whole
conversion of values are the ones that run under Excel. Do not import this beside other uses of
xlwings in one process for anything but these tests.
"""

from __future__ import annotations

import atexit
import ctypes
import datetime as dt
import importlib
import sys
import types
from functools import lru_cache
from typing import Any
from unittest import mock

MISSING = -2147352572  # DISP_E_PARAMNOTFOUND: what pywin32 makes of an argument left out
_STUBBED = {
    "pythoncom", "pywintypes", "win32api", "win32com", "win32con", "win32event", "win32gui",
    "win32process", "win32timezone",
}  # fmt: skip
RANGE_IID = "{00020846-0000-0000-C000-000000000046}"


def error_code(number: int) -> int:
    """What pywin32 makes of an error cell, e.g. of CVErr(2042), which is #N/A."""
    return 0x800A0000 - 2**32 + number


class _ComError(Exception):
    hresult = 0


class ComTime(dt.datetime):
    """pywintypes.TimeType is a subclass of datetime with a time zone."""


def _module(name: str, **attributes: Any) -> types.ModuleType:
    module = types.ModuleType(name)
    module.__dict__.update(attributes)
    sys.modules[name] = module
    if "." in name:
        parent, child = name.rsplit(".", 1)
        setattr(sys.modules[parent], child, module)
    return module


def _stub_pywin32() -> None:
    def unwrap(value: Any) -> Any:
        raise TypeError("not a wrapped Python object")

    dispatch = type("PyIDispatch", (), {})
    _module(
        "pywintypes", com_error=_ComError, error=type("error", (Exception,), {}),
        TimeType=ComTime, IID=str.upper, datetime=ComTime,
    )  # fmt: skip
    _module(
        "pythoncom", __file__="pythoncom", IID_IDispatch="IDispatch", CoInitialize=lambda: None,
        TypeIIDs={"IDispatch": dispatch}, ole_error=_ComError, IID_IEnumVARIANT="IEnumVARIANT",
    )  # fmt: skip
    for name in ("win32api", "win32con", "win32event", "win32gui"):
        _module(name)
    _module("win32process", GetWindowThreadProcessId=lambda hwnd: (1, 4711))
    utc = types.SimpleNamespace(utc=lambda: dt.UTC)
    _module("win32timezone", TimeZoneInfo=utc)
    _module("win32com")
    _module(
        "win32com.client", CDispatch=type("CDispatch", (), {}),
        CoClassBaseClass=type("CoClassBaseClass", (), {}),
        DispatchBaseClass=type("DispatchBaseClass", (), {}),
        Dispatch=lambda obj, **named: obj, DispatchEx=lambda obj: obj,
    )  # fmt: skip
    _module("win32com.server")
    for name in ("dispatcher", "policy", "exception"):
        _module(f"win32com.server.{name}")
    _module("win32com.server.util", unwrap=unwrap, wrap=lambda obj, *args, **named: obj)


@lru_cache(maxsize=1)
def com_server() -> Any:
    """xlwings.com_server, with the decorators of `xlwings` as they are on Windows."""
    _forget({*_STUBBED, "xlwings"})  # on Windows the real ones may be loaded
    _stub_pywin32()
    windll = mock.MagicMock()
    with (
        mock.patch.object(ctypes, "windll", windll, create=True),
        mock.patch.object(ctypes, "oledll", windll, create=True),
        mock.patch.object(ctypes, "PyDLL", windll),
    ):
        windows = importlib.import_module("xlwings._xlwindows")
        xlwings = importlib.import_module("xlwings")
    atexit.unregister(windows.cleanup)  # it would look for Excel processes
    xlwings.engines.add(xlwings.Engine(impl=windows.engine))
    udfs = importlib.import_module("xlwings.udfs")
    xlwings.func, xlwings.arg, xlwings.ret = udfs.xlfunc, udfs.xlarg, udfs.xlret
    sys.modules.pop("xlfuncs.hosts.excel.functions", None)  # decorated off Windows, if at all
    server = importlib.import_module("xlwings.com_server")
    _forget(_STUBBED)  # nobody else shall find them
    return server


def _forget(packages: set[str]) -> None:
    for name in [n for n in sys.modules if n.split(".")[0] in packages]:
        del sys.modules[name]


class ExcelRange:
    """As much of Excel's Range object as xlwings reads."""

    def __init__(self, values: Any, address: str = "$A$1") -> None:
        rows = values if isinstance(values, (list, tuple)) else ((values,),)
        self._rows = tuple(tuple(r) if isinstance(r, (list, tuple)) else (r,) for r in rows)
        self.Row = self.Column = 1
        self.Rows = types.SimpleNamespace(Count=len(self._rows))
        self.Columns = types.SimpleNamespace(Count=len(self._rows[0]))
        self.Count = len(self._rows) * len(self._rows[0])
        self.Address = address
        application = types.SimpleNamespace(Name="Microsoft Excel", Hwnd=1)
        book = types.SimpleNamespace(Name="farm.xlsm", Application=application)
        self.Worksheet = types.SimpleNamespace(Name="Beds", Parent=book)
        attributes = types.SimpleNamespace(iid=RANGE_IID)
        information = types.SimpleNamespace(GetTypeAttr=lambda: attributes)
        self._oleobj_ = types.SimpleNamespace(GetTypeInfo=lambda: information)
        self.CLSID = RANGE_IID

    @property
    def first(self) -> Any:
        return self._rows[0][0]

    @property
    def Value(self) -> Any:  # noqa: N802
        """A single cell is a bare value, anything else a tuple of rows."""
        return self._rows[0][0] if self.Count == 1 else self._rows

    def GetAddress(self, *args: Any, **named: Any) -> str:  # noqa: N802
        return self.Address


def call(name: str, *args: Any) -> Any:
    """XLPy.CallUDF(module, name, Array(args), ThisWorkbook, Application.Caller) of the VBA."""
    server = com_server().XLPython()
    caller = ExcelRange("", "$Z$1")
    return server.CallUDF("xlfuncs.hosts.excel.functions", name, tuple(args), None, caller)


def xlwings_wrapper(name: str) -> str:
    """The VBA that xlwings' own generator writes for one of our functions."""
    from io import StringIO

    com_server()
    udfs = sys.modules["xlwings.udfs"]
    module = importlib.import_module("xlfuncs.hosts.excel.functions")
    shown = types.SimpleNamespace(**{name: getattr(module, name)})
    text = StringIO()
    book = types.SimpleNamespace(Name="farm.xlsm")
    udfs.generate_vba_wrapper("xlfuncs.hosts.excel.functions", shown, text, book)  # type: ignore[attr-defined]
    return text.getvalue()
