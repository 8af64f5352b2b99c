"""What computed columns beside a person's own list say of its beds, and the settings they lack."""

import re
from collections.abc import Collection, Iterator

from xlfuncs.catalogue.findings.given import DOUBTFUL, WRONG
from xlfuncs.workbooks.our_tables import read_inputs
from xlfuncs.workbooks.our_tables.findings import CellValues, Finding
from xlfuncs.xlsx.cell_references import column_letters, quoted_sheet
from xlfuncs.xlsx.contents import Contents


def check_added_columns(contents: Contents, values: CellValues) -> Iterator[Finding]:
    """A bed with water that is too little or too much is wrong; one that cannot be solved yet, or
    a setting that is missing, is doubtful; so is a bed that wants other minutes than its valve."""
    for sheet in contents.sheets:
        if sheet.name.endswith(read_inputs.PRESSURE_SHEET):
            yield from _pressure(contents, values, sheet.name)
    settings = values.get(read_inputs.SETTINGS_SHEET, {})
    for (row, column), words in settings.items():
        if isinstance(words, str) and words.startswith(read_inputs.FILL_IN) and column > 1:
            name = settings.get((row, 1))
            told = f"{name}: {words}" if name else words
            yield Finding(DOUBTFUL, read_inputs.SETTINGS_SHEET, row, column, told)
    if (words := values.get(read_inputs.PURCHASE_SHEET, {}).get((2, 2), "ok")) != "ok":
        yield Finding(DOUBTFUL, read_inputs.PURCHASE_SHEET, 2, 2, str(words))


def _pressure(contents: Contents, values: CellValues, working: str) -> Iterator[Finding]:
    """The cells of lists that show the words of a working sheet, found by one of their formulas."""
    cells = values[working]
    heads = {value: column for (row, column), value in cells.items() if row == 1}
    shares = heads.get(read_inputs.PRESSURE_SHARE)
    solved = {row for (row, column), share in cells.items()
              if column == shares and isinstance(share, float)}  # fmt: skip
    for head in (read_inputs.PRESSURE_WORDS, read_inputs.MINUTES_WORDS):
        if head in heads:
            yield from _shown(
                contents,
                values,
                working,
                heads[head],
                solved if head == read_inputs.PRESSURE_WORDS else (),
            )


def _shown(
    contents: Contents, values: CellValues, working: str, column: int, solved: Collection[int]
) -> Iterator[Finding]:
    words = f"{quoted_sheet(working)}!${column_letters(column)}$1:"
    shown = re.compile(re.escape(f"INDEX({words}") + r".*ROW\(\$A\$(\d+)\)")
    for sheet in contents.sheets:
        places = {(cell.column, int(match[1])) for cell in contents.scan(sheet).cells
                  if (match := shown.search(cell.formula or ""))}  # fmt: skip
        for (row, at), told in values[sheet.name].items():
            header = max((top for where, top in places if where == at), default=row)
            if row > header and told not in (None, "", "ok", "left out", "no lines"):
                sure = row - header + 1 in solved and told != read_inputs.OK_ALONE
                yield Finding(WRONG if sure else DOUBTFUL, sheet.name, row, at, str(told))
