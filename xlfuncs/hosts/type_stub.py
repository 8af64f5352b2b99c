"""What a type checker is told of the functions, which come into being when they are asked for."""

from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.units import DIMENSIONS

_HEAD = '''"""Made from the declarations; do not edit."""

from datetime import date
from typing import Any, TypeAlias, overload

import pandas as pd

_Cell: TypeAlias = float | str | date | None

__version__: str
'''
_PYTHON_TYPES = {"number": "float", "text": "str", "flag": "bool", "date": "date"}


def type_stub() -> str:
    """The stub of the package: one function a declaration, columns and single values apart."""
    return _HEAD + "".join(_function(function) for function in functions().values())


def _function(function: WorksheetFunction) -> str:
    if function.variadic:
        return f"\n\ndef {_head(function, 'Any')} -> Any: ..."
    if not function.elementwise:
        single = len(function.results) == 1 and not function.rows
        return f"\n\ndef {_head(function, 'Any')} -> {'Any' if single else 'pd.DataFrame'}: ..."
    one = _PYTHON_TYPES[DIMENSIONS[function.results[0].dimension].kind]
    return (
        f"\n\n@overload\ndef {_head(function, '_Cell')} -> {one}: ..."
        f"\n@overload\ndef {_head(function, 'Any')} -> Any: ..."
    )


def _head(function: WorksheetFunction, kind: str) -> str:
    named = "" if function.variadic else "*, "
    # a table may be given column by column instead: what stands after it is then not in its place
    tables = [i for i, arg in enumerate(function.inputs) if arg.table]
    first = tables[0] if tables else len(function.inputs)
    arguments = ", ".join(_argument(a, kind, i >= first) for i, a in enumerate(function.inputs))
    columns = [value for value in function.values if value not in function.inputs]
    named += "".join(f"{value.name}: {kind} = ..., " for value in columns)
    return f"{function.python_name}({arguments}, {named}units: str = ...)"


def _argument(arg: Arg, kind: str, left_out: bool) -> str:
    if arg.variadic:
        return f"*{arg.name}: {kind}"
    return f"{arg.name}: {kind}" + (" = ..." if left_out or not arg.required else "")
