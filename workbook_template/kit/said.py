"""What the sheets say in words of their own: sheets/said.toml, a table a sheet."""

import tomllib
from functools import cache
from pathlib import Path
from types import SimpleNamespace


@cache
def _texts() -> dict[str, dict[str, str]]:
    path = Path(__file__).parents[1] / "sheets" / "said.toml"
    return tomllib.loads(path.read_text("utf-8"))


def said(sheet: str) -> SimpleNamespace:
    """The texts of a sheet's module, each by its name."""
    return SimpleNamespace(**_texts()[sheet])
