"""The mapping file: answers, in TOML, to what a list does not say by itself.

sheet = "Beds 2026"        # of a workbook
header_line = 3            # the line with the headers
decimal = ","              # or "."
not_used = ["Soil pH"]     # headers to leave out without a word

[columns]                  # our column = the header in the list
length = "Run"
[units]                    # our column = unit of its plain numbers
length = "m"
[values]                   # our column = one value for every row that has none
line = "tape 8 in"
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.columns import Table
from xlfuncs.units import conversion

_KEYS = {"sheet", "header_line", "decimal", "not_used", "columns", "units", "values"}


@dataclass(frozen=True)
class ListMapping:
    """What a mapping file answers; everything may be left out."""

    sheet: str = ""
    header_line: int | None = None
    decimal: str = ""
    not_used: tuple[str, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)


def read_mapping(path: Path, table: Table) -> ListMapping:
    """Reads a mapping file; WorkbookError names what in it cannot be used."""
    try:
        data = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        raise WorkbookError(f"{path.name}: {error.strerror or error}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise WorkbookError(f"{path.name}: {error}") from None
    for fault in _faults(data, table):
        raise WorkbookError(f"{path.name}: {fault}")
    filled = {
        name: {column: value for column, value in data.get(name, {}).items() if value != ""}
        for name in ("columns", "units", "values")
    }
    return ListMapping(
        data.get("sheet", ""),
        data.get("header_line"),
        data.get("decimal", ""),
        tuple(data.get("not_used", ())),
        **filled,
    )


def _faults(data: Mapping[str, Any], table: Table) -> list[str]:
    faults = [
        f"{key!r} is not known; use {', '.join(sorted(_KEYS))}" for key in data.keys() - _KEYS
    ]
    if data.get("decimal", "") not in ("", ",", "."):
        faults.append(f'decimal must be "," or ".", is {data["decimal"]!r}')
    line = data.get("header_line")
    if line is not None and (not isinstance(line, int) or line < 1):
        faults.append(f"header_line must be a line number from 1, is {line!r}")
    for part in ("columns", "units", "values"):
        entries = data.get(part, {})
        if not isinstance(entries, dict):
            faults.append(f"{part} must be a section, [{part}]")
            continue
        for name in entries:
            if name not in table.names:
                faults.append(f"[{part}] {name}: no column; there are {', '.join(table.names)}")
            elif part == "units" and entries[name]:
                faults += _unit_fault(name, str(entries[name]), table)
    return faults


def _unit_fault(name: str, unit: str, table: Table) -> list[str]:
    try:
        conversion(unit, table[name].dimension)
    except UnitError as error:
        return [f"[units] {name}: {error.message}"]
    return []


def mapping_text(
    table: Table,
    system: str,
    understood: Mapping[str, str],
    missing: Sequence[str],
    spare: Sequence[str],
    *,
    decimal_asked: bool,
) -> str:
    """A mapping file with what was understood, and blanks to fill in for what was not."""
    lines = ["# Fill in between the quotation marks, or delete a line to leave the matter open."]
    if decimal_asked:
        lines += ['decimal = ""  # "," or "."']
    if spare:
        lines += [f"# Headers not used so far: {', '.join(spare)}"]
    lines += ["", "[columns]  # our column = the header in your list"]
    lines += [f"{name} = {_quoted(header)}" for name, header in understood.items()]
    lines += [f'{name} = ""  # {table[name].help}' for name in missing]
    lines += ["", "[units]  # our column = unit of its plain numbers"]
    lines += ["", "[values]  # or one value for every bed"]
    for name in missing:
        unit = table[name].unit(system)
        example = f', e.g. "20 {unit}"' if unit else ""
        lines.append(f'{name} = ""  # {table[name].header}{example}')
    return "\n".join(lines) + "\n"


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
