"""Workbooks that many tests begin with, computed once for all tests of a process."""

from __future__ import annotations

from pathlib import Path

from workbook_template.build import Built, computed, write
from workbook_template.kit.declared import ALL
from workbook_template.kit.inputs import Inputs

_MADE: dict[tuple[object, ...], tuple[bytes, Built]] = {}


def made_once(
    path: Path, system: str, inputs: Inputs, *, macros: bool = False, edition: str = ALL
) -> Built:
    """As `build`. The file is the caller's own; what is given is for reading only."""
    content, built = made(system, inputs, macros=macros, edition=edition)
    path.write_bytes(content)
    return built


def made(
    system: str, inputs: Inputs, *, macros: bool = False, edition: str = ALL
) -> tuple[bytes, Built]:
    """As `computed`, for reading only."""
    asked = system, repr(inputs), macros, edition
    if asked not in _MADE:
        _MADE[asked] = computed(write(system, inputs, spills=macros, edition=edition))
    return _MADE[asked]
