"""Writes a UNO type library (.rdb) that holds one interface, with no LibreOffice SDK.

The layout, all little endian, as LibreOffice's own `unoidl-write` makes it: the eight bytes
`UNOIDL\\xff\\0`, offset and size of the root map, then payloads and maps. A map entry is two
offsets: of a NUL-terminated name, and of a payload. Text inside a payload is its length and its
bytes. A payload starts with a byte that says what it is (0 a module, 5 an interface).
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass

MODULE = b"\x00"
INTERFACE = b"\x05"
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
    parts = [INTERFACE, _number(1), _text(BASE), no_optional_bases, no_attributes]
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
