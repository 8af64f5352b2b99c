"""A period that stands in one cell, `01.01.2023 - 31.03.2023`, as two columns: from and to."""

import re
from dataclasses import replace

from xlfuncs.workbooks.lists.lines import FileLine, ListFile, shown

_DAY = (r"(\d{1,4}[./-]\d{1,2}[./-]\d{1,4}|\d{1,2}\.? [^\W\d]+\.? \d{4}"
        r"|[^\W\d]+\.? \d{1,2},? \d{4})")  # fmt: skip
_PERIOD = re.compile(
    rf"(?:[^\W\d]+ )?{_DAY}(?: ?[–—] ?| (?:-|to|through|bis|au|al|tot|hasta|a) |-(?=\d+[./])){_DAY}"
)


def with_periods_parted(file: ListFile) -> ListFile:
    """The list with two columns for one whose cells mostly are periods: its last days in place,
    its first days behind the others."""
    lines = list(file.lines)
    for place in range(max((len(line.cells) for line in lines), default=0)):
        if not any(_PERIOD.fullmatch(shown(line.cell(place)).lower()) for line in lines[:100]):
            continue
        cells = [(i, str(line.cell(place))) for i, line in enumerate(lines) if line.cell(place)]
        found = {i: match for i, cell in cells if (match := _PERIOD.fullmatch(cell.lower()))}
        head = next((i for i, _ in reversed(cells) if found and i < min(found)), None)
        if head is None or len(found) * 2 <= sum(i > head for i, _ in cells):
            continue
        heading, width = str(lines[head].cell(place)), len(lines[head].cells)
        for i, match in found.items():
            lines[i] = _parted(lines[i], place, width, *match.groups())
        lines[head] = _parted(lines[head], place, width, f"{heading} – from", f"{heading} – to")
    return replace(file, lines=tuple(lines))


def _parted(line: FileLine, place: int, width: int, first: str, last: str) -> FileLine:
    cells = [*line.cells, *[None] * (width - len(line.cells))]
    cells[place] = last
    return replace(line, cells=(*cells[:width], first, *cells[width:]))
