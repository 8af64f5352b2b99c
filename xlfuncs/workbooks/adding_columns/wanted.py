"""What is looked for in a list, by the packages and functions that are to be added."""

from collections.abc import Sequence
from dataclasses import replace

from xlfuncs.catalogue.declaration import WorksheetFunction
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Table
from xlfuncs.workbooks.adding_columns.packages import PACKAGES
from xlfuncs.workbooks.adding_columns.serving import column_for, is_asked, one_a_row, table_of
from xlfuncs.workbooks.lists.bed_list_import import BED_LIST
from xlfuncs.workbooks.lists.headers import Wanted, find_headings
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.reader import stated_headings
from xlfuncs.workbooks.lists.sheets import Grid, as_lines
from xlfuncs.workbooks.our_tables.read_inputs import PRESSURE_SHEET, PURCHASE_SHEET, SETTINGS_SHEET
from xlfuncs.xlsx.contents import Contents


def wanted_by(mapping: ListMapping) -> Wanted:
    """What is to be looked for in the list, by the columns that are to be added: what they need is
    required unless a value is given for it; the other columns of beds tell where the headings are.
    """
    packages = [name for name in mapping.add if name in PACKAGES]
    also, chosen = read_by(packages), functions_of(mapping)
    required = {name for package in packages for name in PACKAGES[package].needs}
    made: set[str] = set()  # by the columns that are added before
    for function in chosen:
        required |= {column_for(arg) for arg in function.inputs if is_asked(arg)} - made
        made |= {function.results[0].name}
    functions = chosen or ([] if also else one_a_row())
    reads = {"bed", *also, *(column_for(arg) for f in functions for arg in f.inputs)}
    listed = table_of(functions)
    columns = (replace(c, required=c.name in required - set(mapping.values))
               for c in listed.columns)  # fmt: skip
    table = Table("Beds", listed.help, tuple(columns))
    stated = stated_headings(mapping, table)
    return replace(BED_LIST, table=table, reads=frozenset(reads), follows=True, stated=stated)


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
