"""Cells by what stands beside and above them, so that they are found again in another workbook."""

from collections import Counter

from xlfuncs.catalogue.findings.given import without_unit
from xlfuncs.xlsx.contents import Contents, Sheet

# The leftmost typed text of the row, the nearest typed text above; where the row has none, the part
# of the page: the last texts typed in its first column. Which of the columns that share all these,
# and which row of it.
Label = tuple[str, str, tuple[str, ...], int, int]
Place = tuple[int, int]
Words = tuple[str, str, tuple[str, ...]]
LONGEST = 60  # of a label; longer texts are words about a part of the page
_TEXTS_OF_A_PART = 3  # its band, a word above its block, the block's first header


def labels(contents: Contents, sheet: Sheet) -> dict[Place, Label]:
    """The label of every cell of a sheet that is no typed text; rows and columns from 1."""
    above: dict[int, str] = {}
    beside: dict[int, str] = {}
    part: tuple[str, ...] = ()
    columns: dict[Words, list[int]] = {}
    seen: Counter[tuple[Words, int]] = Counter()
    found: dict[Place, Label] = {}
    for cell in sorted(contents.scan(sheet).cells, key=lambda cell: (cell.row, cell.column)):
        typed = contents.value(cell) if cell.formula_start < 0 else None
        if isinstance(typed, str) and typed:
            above[cell.column] = without_unit(typed)
            if len(typed) <= LONGEST:
                beside.setdefault(cell.row, without_unit(typed))
                if cell.column == 1:
                    part = (*part[1 - _TEXTS_OF_A_PART :], typed)
            continue
        if typed is None and cell.formula_start < 0:
            continue
        own = beside.get(cell.row, "")
        words = own, above.get(cell.column, ""), () if own else part
        alike = columns.setdefault(words, [])
        if cell.column not in alike:
            alike.append(cell.column)
        seen[words, cell.column] += 1
        found[cell.row, cell.column] = (
            *words, alike.index(cell.column), seen[words, cell.column]
        )  # fmt: skip
    return found
