"""The workbook being written: its pages, the names and places of what is on them, its calls.

The formulas are written without values; the engine computes them from what has been written; then
every formula gets its value and the file is made, so that charts and viewers that compute nothing
show the same as a spreadsheet program.
"""

import re
from collections.abc import Collection, Mapping, Sequence
from functools import cached_property
from io import BytesIO
from pathlib import Path
from typing import Any

import xlsxwriter
from xlsxwriter.utility import xl_range_abs, xl_rowcol_to_cell

from workbook_template.kit.declared import Edition
from workbook_template.kit.fitting import fit
from workbook_template.kit.formulas import (
    Answer,
    Place,
    call,
    column_of,
    escaped,
    first_that_holds,
    for_any_sheet,
)
from workbook_template.kit.inputs import Inputs
from workbook_template.kit.own import Own
from workbook_template.kit.style import Styles
from workbook_template.kit.worksheet import TemplateSheet, WorkingsSheet
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError, DeclarationError
from xlfuncs.tables.columns import Table
from xlfuncs.units import DIMENSIONS

Values = Mapping[str, Mapping[tuple[int, int], Any]]
WORKINGS = "Workings"
MOST_LETTERS = 230  # of a formula that a person reads in one go
# Names of answers that many cells read, after what they are; others after their functions.
ANSWERS = {
    "BED_CROP_USE": "use_result", "PURCHASE_LIST": "bought_result",
    "YEAR_ON_YEAR": "compared_result", "CUT_LIST": "cut_result", "DESIGNS": "designed_result",
    "SYSTEM_DELIVERY": "own_result", "THIS_WEEK": "week_result", "LEDGER_CHECK": "ledger_result",
}  # fmt: skip
WORKINGS_WORDS = "Workings: what the other sheets rest on, below each other."
_WORD = re.compile("[A-Z][a-z]*")
_SHEET_NAME = re.compile(r"'([^']+)'!")


class Book:
    """One workbook being written; with `spills` for Excel, where answers spill into cells.

    Every sheet is written. One that the edition shows gets its page, one that those rest on a part
    of the sheet Workings; any other is written aside, into no file, so that names lead there.
    """

    def __init__(
        self, system: str, inputs: Inputs, *, spills: bool = False, edition: Edition,
        own: Own | None = None,
    ) -> None:  # fmt: skip
        self.system = system
        self.inputs = inputs
        self.edition = edition
        self.spills = spills
        self._buffer = BytesIO()
        self.workbook = xlsxwriter.Workbook(self._buffer, {"in_memory": True})
        self.workbook.set_calc_mode("auto", calc_id=191029)
        self.workbook.calc_on_load = False
        self.styles = Styles(self.workbook, system)
        self.headings: dict[str, dict[str, str]] = {}
        self.places: dict[str, Place] = {}
        self.names: dict[str, tuple[str, int, int]] = {}
        self.sections: dict[str, Place] = {}  # of settings, by their titles
        self.grids: list[Place] = []  # of formulas: first and last column, and that which is filled
        self.lists: dict[str, tuple[str, str]] = {}  # defined names of columns to choose from
        self.spans: dict[str, Table] = {}  # those of the input columns of tables
        self.named: dict[str, tuple[str, str]] = {}  # formulas that have a name, and their sheets
        self.answers: list[Answer] = []  # with a name
        self.aside: set[str] = set()  # sheets that this edition has not
        self.titles: dict[str, str] = {}  # of every sheet
        self.own = own or Own()
        self.own_cells: dict[tuple[str, int, int], Any] = {}  # and the values that they had

    @cached_property
    def _elsewhere(self) -> xlsxwriter.Workbook:
        elsewhere = xlsxwriter.Workbook(BytesIO(), {"in_memory": True})
        if self.edition.for_client:  # whose other sheets are computed with those of the file
            elsewhere.str_table = self.workbook.str_table
        return elsewhere

    def computed_sheets(self) -> list[TemplateSheet]:
        """Those of the file, and where a client's copy is made what they rest on too."""
        here: list[TemplateSheet] = self.workbook.worksheets()
        if not self.edition.for_client:
            return here
        return [*here, *(s for s in self._elsewhere.worksheets() if s.name not in self.aside)]

    def withhold(self, name: str) -> None:
        """Take a sheet out of the file; it is still computed."""
        sheet = self.workbook.sheetnames.pop(name)
        self.workbook.worksheets_objs.remove(sheet)
        self._elsewhere.worksheets_objs.append(sheet)

    def sheet_for(self, name: str) -> tuple[TemplateSheet, int]:
        """The worksheet that a page goes to, and the row (from 0) where it starts."""
        if name in self.edition.shown:
            return self.workbook.add_worksheet(name, worksheet_class=TemplateSheet), 0
        if self.edition.for_client or name not in self.edition.behind:
            if name not in self.edition.behind:
                self.aside.add(name)
            return self._elsewhere.add_worksheet(name, worksheet_class=TemplateSheet), 0
        sheet = self.workbook.get_worksheet_by_name(WORKINGS)
        if sheet is None:
            sheet = self.workbook.add_worksheet(WORKINGS, worksheet_class=WorkingsSheet)
            sheet.write_string(0, 0, WORKINGS_WORDS, self.styles.aside)
        return sheet, sheet.dim_rowmax + 3

    def has(self, name: str) -> bool:
        """Whether a defined name leads to a cell of this workbook."""
        return self.names[name][0] not in self.aside

    def name_columns(self, place: Place, names: Mapping[str, str]) -> None:
        """Define names, by column, for the cells of a block."""
        for column, name in names.items():
            self.workbook.define_name(name, "=" + place.reference(column))

    def name_block(self, name: str, place: Place, first: str, last: str) -> None:
        """Define a name for columns of a block with their headers, for a function to read."""
        self.workbook.define_name(name, f"={place.with_headers(first, last)}")

    def name_formula(self, name: str, sheet: str, formula: str) -> str:
        """A name for a formula of a sheet, whose own cells are absolute; gives the name."""
        self.named[name] = sheet, formula
        return name

    def words(self, answer: Answer) -> str:
        """ok, or why there is no answer, asked for by a name and only then: it computes anew."""
        name = answer.name.removesuffix("_result") + "_words"
        self.name_formula(name, answer.sheet, answer.check)
        return f'IF(ISERROR({answer.item(1, 1)}),{name},"ok")'

    def missing(
        self, name: str, sheet: str, conditions: Sequence[tuple[str, str]], otherwise: str
    ) -> str:
        """What is said of the first condition that holds; some share a name where all are long."""
        if len(whole := first_that_holds(conditions, otherwise)) <= MOST_LETTERS:
            return whole
        parts: list[list[tuple[str, str]]] = [[]]
        for condition in conditions:
            if parts[-1] and len(first_that_holds([*parts[-1], condition], '""')) > MOST_LETTERS:
                parts.append([])
            parts[-1].append(condition)
        named = []
        for i, part in enumerate(parts, 1):
            own = f"{name}_missing" + (f"_{i}" if i > 1 else "")
            named.append(self.name_formula(own, sheet, first_that_holds(part, '""')))
        return first_that_holds([(f'{own}<>""', own) for own in named], otherwise)

    def name_settings(self, name: str, sheet: str, first: int, last: int) -> None:
        """Define a name for labels, values and units from row to row (from 0), likewise."""
        self.workbook.define_name(name, f"='{sheet}'!{xl_range_abs(first, 0, last, 2)}")

    def settle(self) -> None:
        """Once all is written: the lists to choose from, and nothing that leads aside."""
        for name, (table, column) in self.lists.items():
            self.workbook.define_name(name, "=" + self.places[table].reference(column))
        for name, (sheet, formula) in self.named.items():
            self.workbook.define_name(name, f"={for_any_sheet(formula, sheet)}")
        for name, of in self.spans.items():
            first, last = (escaped(of.columns[i].heading(self.system)) for i in (0, -1))
            self.workbook.define_name(name, f"={of.name}[[#All],[{first}]:[{last}]]")
        self.lead_nowhere(self.aside)

    def lead_nowhere(self, missing: Collection[str]) -> None:
        """Drop names and lists that lead to sheets which the file has not."""
        led = {name for name, of in self.spans.items() if self.places[of.name].sheet in missing}
        led |= {name for name, (sheet, _) in self.named.items() if sheet in missing}
        self.workbook.defined_names = [
            entry
            for entry in self.workbook.defined_names
            if entry[0] not in led
            and not any(sheet in missing for sheet in _SHEET_NAME.findall(entry[2]))
        ]
        gone = {f"={name}" for name, (table, _) in self.lists.items()
                if self.places[table].sheet in missing}  # fmt: skip
        for sheet in self.workbook.worksheets():
            sheet.validations = [v for v in sheet.validations if str(v.get("value")) not in gone]

    def finish(self, values: Values) -> bytes:
        """The finished file, each formula with its value (0 where there is none)."""
        for sheet in self.workbook.worksheets():
            if not self.edition.for_client:  # whose cells have their values already
                for (row, column), value in values.get(sheet.get_name(), {}).items():
                    shown = value.value if isinstance(value, CellError) else value
                    sheet.set_value(row - 1, column - 1, shown)
            if sheet.get_name() != WORKINGS:
                fit(sheet, self.styles, list(self.workbook.str_table.string_table))
        self.workbook.close()
        return self._buffer.getvalue()

    def answer(self, sheet: str, rows: int, name: str, /, *args: str, **named: str) -> Answer:
        """The answer of a function on the whole, of which cells of a sheet read so many rows.

        Not for a formula in a table, see in_table: there nothing has spilled for a new row.
        """
        return self.named_answer(sheet, rows, call(name, *args, **named))

    def in_table(self, sheet: str, name: str, /, *args: str, rows: int = 0, **named: str) -> Answer:
        """An answer for the formulas of a table: a row that is typed below reads further down.

        With `rows` it spills for Excel, into so many: for a table that may be long.
        """
        return self.named_answer(sheet, rows, call(name, *args, **named), spills=rows > 0)

    def named_answer(self, sheet: str, rows: int, asked: str, *, spills: bool = True) -> Answer:
        """An answer with its name: of the cells where it spills on Results, else of the call."""
        of = asked.partition("(")[0]
        number = sum(answer.function.name == of for answer in self.answers) + 1
        name = ANSWERS.get(of, f"{of.lower()}_result") + (f"_{number}" if number > 1 else "")
        if self.spills and not spills:
            name = name.replace("_result", "_call")
        self.answers.append(Answer(asked, name, sheet, rows, self.spills and spills))
        return self.answers[-1]

    def put_in_order(self, first: Sequence[str]) -> None:
        """Those sheets first, the others as they stand, workings last; it opens on the first."""
        sheets = self.workbook.worksheets_objs
        sheets.sort(key=lambda sheet: [*first, sheet.get_name()].index(sheet.get_name()))
        sheets.sort(key=lambda sheet: sheet.get_name() == WORKINGS)
        for i, sheet in enumerate(sheets):
            sheet.index = i
        sheets[0].activate()

    def column(self, table: str, column: str) -> str:
        """A whole column of a table in a formula."""
        return column_of(table, self.headings[table][column])

    def nth(self, table: str, column: str) -> str:
        """The cell of a column in the row of the same number, for the rows of a grid."""
        return f"INDEX({self.column(table, column)},{{n}})"

    def span(self, table: Table) -> str:
        """The name of a table's input columns with their headers, for functions to read.

        Computed columns stand behind them, so that none of their errors or circles gets in.
        """
        name = "_".join(word.lower() for word in _WORD.findall(table.name)) + "_list"
        self.spans[name] = table
        return name

    def up_to(self, table: Table, column: str) -> str:
        """The columns of a table from its first to a computed one, with their headers."""
        first, last = (escaped(self.headings[table.name][c]) for c in (table.names[0], column))
        return f"{table.name}[[#All],[{first}]:[{last}]]"

    def lookup(self, table: str, column: str, key_column: str, key: str) -> str:
        """The cell of `column` in the row of `table` whose `key_column` is `key`."""
        where = f"MATCH({key},{self.column(table, key_column)},0)"
        return f"INDEX({self.column(table, column)},{where})"

    def list_name(self, table: str, column: str) -> str:
        """A defined name for the cells of a column, as a list to choose from; any sheet's table."""
        name = f"{table.lower()}_to_choose_from"
        self.lists[name] = (table, column)
        return name

    def unit(self, dimension: str) -> str:
        return "" if dimension == "clock" else DIMENSIONS[dimension].unit(self.system)

    def name(self, name: str, sheet: str, row: int, col: int) -> None:
        """Define a name for one cell, only once; never one that a worksheet function has."""
        if name.upper() in functions():
            raise DeclarationError(f"the defined name {name} is also a worksheet function")
        if name in self.names:
            raise DeclarationError(f"the defined name {name}: {self.names[name][0]} has it already")
        self.names[name] = (sheet, row, col)
        cell = xl_rowcol_to_cell(row, col, row_abs=True, col_abs=True)
        self.workbook.define_name(name, f"='{sheet}'!{cell}")


def save(path: Path, content: bytes) -> None:
    """Write a finished file beside its place, then put it there in one step."""
    from xlfuncs.xlsx.saving import save as put_in_place

    put_in_place(path, content)
