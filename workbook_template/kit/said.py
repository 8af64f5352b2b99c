"""What the sheets say in words of their own: sheets/said.toml, a table a sheet; results.toml, what
each named result is called."""

import tomllib
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any


@cache
def _read(name: str) -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parents[1] / "sheets" / name).read_text("utf-8"))


def said(sheet: str) -> SimpleNamespace:
    """The texts of a sheet's module, each by its name."""
    return SimpleNamespace(**_read("said.toml")[sheet])


def told_of(result: str) -> tuple[str, str, str]:
    """What a named result is called, its dimension, and words beside it."""
    label, dimension, *words = _read("results.toml")[result]
    return label, dimension, words[0] if words else ""
