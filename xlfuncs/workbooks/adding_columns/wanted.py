"""What is looked for in a list, by the packages and functions that are to be added."""

from collections.abc import Sequence
from dataclasses import replace

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.adding_columns.packages import PACKAGES
from xlfuncs.workbooks.adding_columns.serving import one_a_row, wanted_for
from xlfuncs.workbooks.lists.headers import Wanted, find_headings
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.reader import stated_headings
from xlfuncs.workbooks.lists.sheets import Grid, as_lines
from xlfuncs.workbooks.our_tables.read_inputs import (
    PRESSURE_SHEET,
    PURCHASE_SHEET,
    SETTINGS_SHEET,
)
from xlfuncs.xlsx.contents import Contents


def wanted_by(mapping: ListMapping) -> Wanted:
    """What is to be looked for in the list, by the columns that are to be added."""
    packages = [name for name in mapping.add if name in PACKAGES]
    needs = [name for package in packages for name in PACKAGES[package].needs]
    wanted = wanted_for(functions_of(mapping), mapping.values, read_by(packages), needs)
    return replace(wanted, stated=stated_headings(mapping, wanted.table))


def read_by(packages: Sequence[str]) -> list[str]:
    """The columns of beds that packages read where the list has them."""
    read = [name for package in packages
            for name in (*PACKAGES[package].needs, *PACKAGES[package].reads)]  # fmt: skip
    return list(dict.fromkeys(read))


def functions_of(mapping: ListMapping) -> list[WorksheetFunction]:
    known = {function.name: function for function in one_a_row()}
    chosen = [name for name in mapping.add if name not in PACKAGES]
    for name in chosen:
        if name not in known:
            packages = ", ".join(package.lower() for package in PACKAGES)
            raise WorkbookError(f"{name} is no function with one result a row (see `functions`)"
                                f" and no package ({packages})")  # fmt: skip
    return [known[name] for name in chosen]


def sheet_of_list(contents: Contents, named: str, wanted: Wanted, header_row: int | None) -> Grid:
    """The sheet that is named, or the one whose headings are the most."""
    if named:
        return Grid(contents, contents.sheet(named))
    ours = contents.hidden_sheets | {SETTINGS_SHEET, PURCHASE_SHEET}
    grids = [Grid(contents, sheet) for sheet in contents.sheets
             if sheet.name not in ours and not sheet.name.endswith(PRESSURE_SHEET)]  # fmt: skip
    found = [find_headings(as_lines(grid), wanted, header_row) for grid in grids]
    scores = [head.score if head else 0 for head in found]
    best = [grid for grid, score in zip(grids, scores, strict=True) if score == max(scores)]
    if len(best) == 1:
        return best[0]
    names = tuple(grid.sheet.name for grid in best)
    raise OpenQuestions((Question(("sheet",), "Which sheet holds the list?", names),))
