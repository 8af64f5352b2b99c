"""The template's versions, and what each changed in numbers; renewal tells it beside each change.

A change of a calculation or of a sheet that gives other numbers for the same inputs adds a row to
changes.csv, under the version that is not yet out, whose number is `TEMPLATE_VERSION` in
`xlfuncs.workbooks.our_tables.read_inputs`.
"""

from pathlib import Path
from typing import NamedTuple

from xlfuncs.units import rows_of


class Change(NamedTuple):
    """What a version changed; `sheets` are those whose own numbers it changed."""

    version: int
    sheets: tuple[str, ...]
    words: str


CHANGES = tuple(
    Change(int(row["version"]), tuple(row["sheets"].split(", ")), row["words"])
    for row in rows_of(Path(__file__).with_name("changes.csv"))
)


def why(sheet: str, since: int) -> str:
    """What changed on a sheet since a version, in words; '' where no change of its own is known."""
    return "; ".join(c.words for c in CHANGES if c.version > since and sheet in c.sheets)
