"""Workbooks that many tests begin with, computed once for all tests of a process."""

from __future__ import annotations

from pathlib import Path

from workbook_template.build import Built, build
from workbook_template.kit.declared import ALL
from workbook_template.kit.inputs import Inputs

_MADE: dict[tuple[object, ...], tuple[bytes, Built]] = {}


def made_once(
    path: Path, system: str, inputs: Inputs, *, macros: bool = False, edition: str = ALL
) -> Built:
    """As `build`. The file is the caller's own; what is given is for reading only."""
    asked = system, repr(inputs), macros, edition
    if asked not in _MADE:
        built = build(path, system, inputs, macros=macros, edition=edition)
        _MADE[asked] = path.read_bytes(), built
    content, built = _MADE[asked]
    path.write_bytes(content)
    return built
