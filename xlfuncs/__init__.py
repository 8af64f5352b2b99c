"""Worksheet functions for people who water vegetable beds with drip lines.

Every function is here by its lower-case name: `xlfuncs.run_minutes(600, 1, 6)`. Nothing heavy is
loaded until the first call.
"""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name.startswith("_") or name != name.lower():
        raise AttributeError(f"module 'xlfuncs' has no attribute {name!r}")
    if name == "read_workbook":  # by name: rooms below take their version from here
        return import_module("xlfuncs.workbooks.our_tables.data_frames").read_workbook
    from xlfuncs.hosts.pandas_columns import python_function

    try:
        function = python_function(name)
    except KeyError as error:
        raise AttributeError(str(error.args[0])) from None
    globals()[name] = function
    return function


def __dir__() -> list[str]:
    from xlfuncs.catalogue.registry import functions

    return sorted([*globals(), "read_workbook", *(name.lower() for name in functions())])
