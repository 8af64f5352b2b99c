"""Which computed numbers of the new workbook differ from those that the old one last showed."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from workbook_template.kit.formulas import NUMBERED
from workbook_template.renewal.moved import Label, Place, labels
from workbook_template.versions import why
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet

NO_NUMBERS = ("Checks",)  # only counts of what is said elsewhere
_SAME = 1e-9  # part of a number within which it is the same
_LONGEST_NAME = 30  # of a row; longer ones are words
_SHOWN = 3  # cells named of those below each other
Number = tuple[str, CellValue, CellValue]  # its row or cell in words, before, now


@dataclass(frozen=True)
class Changed:
    """Numbers with the same words above them on one sheet, or one number with words beside it."""

    sheet: str
    what: str
    cells: list[Number]
    compared: int

    def __str__(self) -> str:
        shown = [f"{where}{_as_text(a)} → {_as_text(b)}" for where, a, b in self.cells[:_SHOWN]]
        many = f" ({len(self.cells)} of {self.compared})" if self.compared > 1 else ""
        return f"{self.sheet}: {self.what}{many}: {', '.join(shown)}"


@dataclass(frozen=True)
class Comparison:
    """What changed, how many numbers were compared, how many of the old ones have no like now."""

    changed: list[Changed]
    compared: int
    gone: int
    known: bool  # whether the old workbook held any computed value

    def lines(self, since: int) -> Iterator[str]:
        """The report; each sheet's reasons after its numbers."""
        if not self.known:
            yield "The old file holds no computed values; there was nothing to compare."
            return
        count = sum(len(c.cells) for c in self.changed)
        yield f"Computed numbers: {self.compared} compared, {count} changed."
        for sheet in dict.fromkeys(c.sheet for c in self.changed):
            yield from (f"  {c}" for c in self.changed if c.sheet == sheet)
            yield f"    why: {why(sheet, since) or 'follows from the numbers that it rests on'}"
        if self.gone:
            yield f"{self.gone} numbers of the old file have no like in the new one."


def compare(old: Contents, new: Contents, sheets: Mapping[str, str]) -> Comparison:
    """Compare the formulas' values; `sheets` gives the new sheet of each old one."""
    groups: dict[tuple[str, str], list[Number]] = {}
    totals: dict[tuple[str, str], int] = {}
    compared = gone = 0
    known = False
    for before in old.sheets:
        after = next((s for s in new.sheets if s.name == sheets.get(before.name)), None)
        if after is None or after.name in NO_NUMBERS:
            continue
        now = {label: place for place, label in labels(new, after).items()}
        for place, label in labels(old, before).items():
            cell = old.cell_at(before.name, *place)
            if cell is None or cell.formula_start < 0:
                continue
            one = old.value(cell)
            known = known or bool(cell.text)
            if type(one) is not float or label[1] == NUMBERED:
                continue
            if label not in now:
                gone += 1
                continue
            two = _value(new, after, now[label])
            compared += 1
            key, row = _words(label, after, now[label], new)
            totals[key] = totals.get(key, 0) + 1
            if not _equal(one, two):
                groups.setdefault(key, []).append((row, one, two))
    changed = [Changed(*key, cells, totals[key]) for key, cells in groups.items()]
    return Comparison(changed, compared, gone, known)


def _value(contents: Contents, sheet: Sheet, place: Place) -> CellValue:
    cell = contents.cell_at(sheet.name, *place)
    return contents.value(cell) if cell is not None else None


def _words(label: Label, sheet: Sheet, place: Place, new: Contents) -> tuple[tuple[str, str], str]:
    """What a number is: by the words beside it, or by those above it and the name of its row."""
    beside, above, *_ = label
    if beside and place[1] == 2:  # label, value, unit, words
        return (sheet.name, beside), ""
    named = next(
        (v for column in range(1, place[1]) if isinstance(
            v := _value(new, sheet, (place[0], column)), str) and v), ""
    )  # fmt: skip
    if not named or len(named) > _LONGEST_NAME:
        named = cell_name(*place)
    return (sheet.name, above or beside), f"{named} "


def _equal(one: CellValue, two: CellValue) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return math.isclose(one, two, rel_tol=_SAME, abs_tol=1e-12)
    return one == two


def _as_text(value: CellValue) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value or "blank")
