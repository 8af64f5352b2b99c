"""The Calc add-in itself, as LibreOffice's own Python loads it from the extension.

Which functions there are stands in `settings.json` beside it; the answers come by one of the
ways in `xlfuncs_ways`. Calc wants one method a function, so the methods are made from the list.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from typing import Any

import uno
import unohelper
import xlfuncs_memory  # type: ignore[import-not-found]  # hosts/memory.py
import xlfuncs_ways  # type: ignore[import-not-found]  # ways.py, as the extension names it
from com.sun.star.lang import XServiceInfo, XServiceName

with open(os.path.join(os.path.dirname(__file__), "settings.json"), encoding="utf-8") as _file:
    SETTINGS: dict[str, Any] = json.load(_file)

Interface: Any = uno.getClass(SETTINGS["interface"])
answer = xlfuncs_ways.choose(SETTINGS, xlfuncs_memory.Memory())


class WorksheetFunctions(unohelper.Base, Interface, XServiceInfo, XServiceName):  # type: ignore[misc]
    """The object that Calc asks; one is made for each office process."""

    def __init__(self, context: Any) -> None:
        self.context = context

    def getServiceName(self) -> str:  # noqa: N802
        return str(SETTINGS["service"])

    def getImplementationName(self) -> str:  # noqa: N802
        return str(SETTINGS["service"])

    def supportsService(self, name: str) -> bool:  # noqa: N802
        return bool(name == SETTINGS["service"])

    def getSupportedServiceNames(self) -> tuple[str, ...]:  # noqa: N802
        return (SETTINGS["service"],)


def _method(name: str, variadic: bool, words: bool) -> Callable[..., Any]:
    def method(self: WorksheetFunctions, *args: Any) -> tuple[tuple[Any, ...], ...]:
        # Calc passes the repeated arguments of a variadic function as one sequence, and None for
        # each table before them that is left out.
        given = (*args[:-1], *args[-1]) if variadic else args
        while variadic and given and given[-1] is None:
            given = given[:-1]
        try:
            result = answer(name, given)
            rows = result if isinstance(result, tuple) else ((result,),)
        except Exception:
            # An exception would fail every cell of an array, and it carries no error value.
            rows = ((xlfuncs_ways.cell_error(xlfuncs_ways.VALUE_ERROR),),)
        if words and any(isinstance(cell, float) for row in rows for cell in row):
            raise ValueError("an error, which Calc shows as #VALUE!; words cannot hold its number")
        return rows

    return method


for _name, _kind in SETTINGS["functions"].items():
    setattr(WorksheetFunctions, _kind["method"], _method(_name, _kind["variadic"], _kind["words"]))

g_ImplementationHelper = unohelper.ImplementationHelper()  # noqa: N816, the loader looks for it
g_ImplementationHelper.addImplementation(
    WorksheetFunctions, SETTINGS["service"], (SETTINGS["service"],)
)
