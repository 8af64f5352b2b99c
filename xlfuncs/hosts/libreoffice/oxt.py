"""Builds the Calc extension (.oxt) from the registry, in pure Python."""

from __future__ import annotations

import importlib.machinery
import io
import json
import struct
import sys
import sysconfig
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final
from xml.sax.saxutils import escape

import xlfuncs
from xlfuncs.catalogue.declaration import Arg, WorksheetFunction
from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts import memory
from xlfuncs.units import DIMENSIONS, SYSTEMS
from xlfuncs.xlsx.saving import save

IDENTIFIER: Final = "org.xlfuncs.worksheetfunctions"
SERVICE: Final = "org.xlfuncs.WorksheetFunctions"
INTERFACE: Final = "org.xlfuncs.XWorksheetFunctions"
TIME_LIMIT: Final = 30.0  # s for one call through the worker
APART: Final = 20  # tables of a function that takes any number

_HERE = Path(__file__).parent
_XML = '<?xml version="1.0" encoding="UTF-8"?>\n'
_MEDIA_TYPES: Final = {
    "functions.rdb": "application/vnd.sun.star.uno-typelibrary;type=RDB",
    "CalcAddIns.xcu": "application/vnd.sun.star.configuration-data",
    "addin.components": "application/vnd.sun.star.uno-components",
}


def build(
    path: Path,
    *,
    in_process: bool = True,
    time_limit: float = TIME_LIMIT,
    version: str = xlfuncs.__version__,
) -> Path:
    """Write the extension for the environment that runs this; `path` ends in .oxt.

    `in_process=False` makes it always use a worker process, whose calls end after `time_limit`
    seconds.
    """
    declared = list(functions().values())
    contents: dict[str, str | bytes] = {
        "META-INF/manifest.xml": _manifest(),
        "description.xml": _description(version),
        "functions.rdb": type_library(INTERFACE, [_uno_method(f) for f in declared]),
        "CalcAddIns.xcu": _texts(declared),
        "addin.components": _components(),
        "addin.py": (_HERE / "addin.py").read_text("utf-8"),
        "pythonpath/xlfuncs_memory.py": Path(memory.__file__).read_text("utf-8"),
        "pythonpath/xlfuncs_ways.py": (_HERE / "ways.py").read_text("utf-8"),
        "settings.json": json.dumps(settings(in_process, time_limit), indent=1),
    }
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in contents.items():
            archive.writestr(name, content)
    save(path, out.getvalue())
    return path


def settings(in_process: bool, time_limit: float) -> dict[str, Any]:
    """What the add-in has to know: its functions, and where the environment of this process is."""
    home = str(Path(xlfuncs.__file__).resolve().parent.parent)
    serve = (
        f"import sys; sys.path.append({home!r});"
        f" from xlfuncs.hosts.libreoffice.worker import main; main({time_limit!r})"
    )
    libraries = [sysconfig.get_path("purelib"), sysconfig.get_path("platlib")]
    return {
        "service": SERVICE,
        "interface": INTERFACE,
        "in_process": in_process,
        "suffix": importlib.machinery.EXTENSION_SUFFIXES[0],
        "paths": list(dict.fromkeys([*libraries, home])),
        "command": [sys.executable, "-c", serve],
        "time_limit": time_limit,
        "functions": {
            f.name: {
                "method": _uno_name(f.python_name),
                "variadic": f.variadic,
                "words": _gives_words(f),
            }
            for f in functions().values()
        },
    }


def _uno_name(name: str) -> str:
    """run_minutes as runMinutes, the way UNO spells names."""
    first, *others = name.split("_")
    return first + "".join(word.capitalize() for word in others)


def _uno_method(function: WorksheetFunction) -> Method:
    # `any` takes a number, text or a range, and may be left out; only a sequence may repeat.
    kinds = [
        (_uno_name(arg.name), "[]any" if arg.variadic else "any") for arg in _arguments(function)
    ]
    # A range can come back only as rows, so a single value comes as one row of one. Calc takes
    # text among `any` as equal to no other text ("ok"="ok" is false), and only rows of `string`
    # as it should; they can hold no error value.
    returns = "[][]string" if _gives_words(function) else "[][]any"
    return Method(_uno_name(function.python_name), returns, tuple(kinds))


def _arguments(function: WorksheetFunction) -> list[Arg]:
    """Those of the method: of tables that repeat the first ones stand apart.

    Calc cuts an array formula to the size of the ranges in a sequence, and calls the function once
    for each cell of the largest.
    """
    *fixed, last = function.positions
    if last.variadic and len(function.results) > 1:
        fixed += [replace(last, name=f"{last.name}_{i + 1}", variadic=False) for i in range(APART)]
    return [*fixed, last]


def _gives_words(function: WorksheetFunction) -> bool:
    return all(DIMENSIONS[result.dimension].kind == "text" for result in function.results)


def _manifest() -> str:
    entries = "".join(
        f'<manifest:file-entry manifest:media-type="{kind}" manifest:full-path="{name}"/>'
        for name, kind in _MEDIA_TYPES.items()
    )
    namespace = 'xmlns:manifest="http://openoffice.org/2001/manifest"'
    return f"{_XML}<manifest:manifest {namespace}>{entries}</manifest:manifest>"


def _description(version: str) -> str:
    return (
        f'{_XML}<description xmlns="http://openoffice.org/extensions/description/2006">'
        f'<identifier value="{IDENTIFIER}"/><version value="{version}"/>'
        '<display-name><name lang="en">Worksheet functions for drip irrigation of vegetable beds'
        "</name></display-name></description>"
    )


def _components() -> str:
    return (
        f'{_XML}<components xmlns="http://openoffice.org/2010/uno-components">'
        '<component loader="com.sun.star.loader.Python" uri="addin.py">'
        f'<implementation name="{SERVICE}"><service name="{SERVICE}"/></implementation>'
        "</component></components>"
    )


def _texts(declared: list[WorksheetFunction]) -> str:
    """The configuration that names the functions and fills the function wizard."""
    return (
        f'{_XML}<oor:component-data xmlns:oor="http://openoffice.org/2001/registry"'
        ' xmlns:xs="http://www.w3.org/2001/XMLSchema" oor:name="CalcAddIns"'
        ' oor:package="org.openoffice.Office"><node oor:name="AddInInfo">'
        f'<node oor:name="{SERVICE}" oor:op="replace"><node oor:name="AddInFunctions">'
        f"{''.join(_function_texts(f) for f in declared)}"
        "</node></node></node></oor:component-data>"
    )


def _function_texts(function: WorksheetFunction) -> str:
    arguments = "".join(map(_argument_texts, _arguments(function)))
    return (
        f'<node oor:name="{_uno_name(function.python_name)}" oor:op="replace">'
        + _property("DisplayName", function.name)
        + _property("Description", f"{function.help} {_result_words(function)}")
        + '<prop oor:name="Category"><value>Add-In</value></prop>'
        # the name in .xlsx files, read and written
        + _property("CompatibilityName", function.name)
        + f'<node oor:name="Parameters">{arguments}</node></node>'
    )


def _argument_texts(arg: Arg) -> str:
    return (
        f'<node oor:name="{_uno_name(arg.name)}" oor:op="replace">'
        + _property("DisplayName", arg.name)
        + _property("Description", f"{arg.help}{_units(arg.dimension)}")
        + "</node>"
    )


def _property(name: str, text: str) -> str:
    return f'<prop oor:name="{name}"><value xml:lang="en">{escape(text)}</value></prop>'


def _result_words(function: WorksheetFunction) -> str:
    """The columns of a result, for no header row comes with them, and their units."""
    columns = ", ".join(r.name + _units(r.dimension) for r in function.results)
    return f"Gives {'the columns ' if len(function.results) > 1 else ''}{columns}."


def _units(dimension: str) -> str:
    """The units of plain numbers in the two systems, where they have one."""
    us, metric = (DIMENSIONS[dimension].unit(system) for system in SYSTEMS)
    if not us and not metric:
        return ""
    return f" ({us})" if us == metric else f" ({us} | {metric})"


# --- writes a UNO type library (.rdb) that holds one interface, with no LibreOffice SDK ---
# The layout, all little endian, as LibreOffice's own `unoidl-write` makes it: the eight bytes
# `UNOIDL\\xff\\0`, offset and size of the root map, then payloads and maps. A map entry is two
# offsets: of a NUL-terminated name, and of a payload. Text inside a payload is its length and its
# bytes. A payload starts with a byte that says what it is (0 a module, 5 an interface).
MODULE = b"\x00"
_INTERFACE_TYPE = b"\x05"
PARAMETER_IN = b"\x00"
BASE = "com.sun.star.uno.XInterface"


@dataclass(frozen=True)
class Method:
    """A method: its name, the UNO type it returns, and (name, UNO type) of each parameter."""

    name: str
    returns: str
    parameters: tuple[tuple[str, str], ...]


def type_library(interface: str, methods: Sequence[Method]) -> bytes:
    """The bytes of a type library with the one interface, given by its full dotted name.

    Types are spelt `any`, `double`, `string`, and with a leading `[]` for a sequence of them.
    """
    *modules, name = interface.split(".")
    library = bytearray(b"UNOIDL\xff\0" + bytes(8))
    payload = len(library)
    library += _interface(methods)
    for module in reversed(modules):
        entry = _entry(library, name, payload)
        name, payload = module, len(library)
        library += MODULE + _number(1) + entry
    root = _entry(library, name, payload)
    library[8:16] = _number(len(library)) + _number(1)
    library += root
    return bytes(library)


def _interface(methods: Sequence[Method]) -> bytes:
    no_optional_bases = no_attributes = no_exceptions = _number(0)
    parts = [_INTERFACE_TYPE, _number(1), _text(BASE), no_optional_bases, no_attributes]
    parts.append(_number(len(methods)))
    for method in methods:
        parts += [_text(method.name), _text(method.returns), _number(len(method.parameters))]
        for name, kind in method.parameters:
            parts += [PARAMETER_IN, _text(name), _text(kind)]
        parts.append(no_exceptions)
    return b"".join(parts)


def _entry(library: bytearray, name: str, payload: int) -> bytes:
    """Appends the name to the library and gives the map entry that points to it."""
    place = len(library)
    library += name.encode("ascii") + b"\0"
    return _number(place) + _number(payload)


def _number(value: int) -> bytes:
    return struct.pack("<I", value)


def _text(text: str) -> bytes:
    return _number(len(text)) + text.encode("ascii")
