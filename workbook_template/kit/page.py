"""The page that a sheet is written with: its settings and tables, beside blocks and words."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.kit.blocks import Blocks
from workbook_template.kit.formulas import Place, in_table
from workbook_template.kit.said import computed_columns
from xlfuncs.tables.columns import Column, Section, Table
from xlfuncs.units import from_base

SPARE_ROWS = 10  # prefilled rows below the last bed, so that a row is added by typing
WIDTHS = {"text": 18, "date": 11, "area": 10, "money": 11, "volume": 10}


class Page(Blocks):
    """A sheet that is written from the top down, with its inputs too."""

    def settings(self, section: Section) -> int:
        """The input cells of a section, each with its defined name; gives the row of the first."""
        self.section(section.title)
        if section.help:
            self.note(section.help)
        first = self.row
        columns = {"label": 0, "value": 1}
        last = first + len(section.settings) - 1
        self.book.sections[section.title] = Place(self.name, first, last, columns)
        for setting in section.settings:
            self.text(self.row, 0, setting.header)
            self._input(self.row, 1, setting, self.book.inputs.settings.get(setting.name))
            self._unit(setting.dimension)
            self.text(self.row, 3, setting.help, self.styles.aside)
            self.book.name(setting.name, self.name, self.row, 1)
            self.row += 1
        self.row += 1
        return first

    def _input(self, row: int, col: int, column: Column, value: Any) -> None:
        style = self.styles.input(column.dimension)
        if value is None and column.default is not None:
            value = column.default_in(self.book.system)
        write_value(self.sheet, row, col, value, style)
        self._validate(row, col, row, col, column)

    def _validate(self, row: int, col: int, last_row: int, last_col: int, column: Column) -> None:
        unit = self.book.unit(column.dimension)
        title = f"{column.header} ({unit})" if unit else column.header
        rules: dict[str, Any] = {
            "validate": "any", "input_title": title[:32], "input_message": column.help[:255],
        }  # fmt: skip
        if column.choices:
            rules |= {"validate": "list", "source": list(column.choices)}
        elif column.one_of:
            _, listed = column.one_of
            rules |= {
                "validate": "list", "source": "=" + self.book.list_name(*column.one_of),
                "error_type": "warning", "error_title": "Not in the list",
                "error_message": f"{column.header}: no {listed} of that name is on the list yet.",
            }  # fmt: skip
        elif column.dimension == "flag":
            rules |= {"validate": "list", "source": ["yes", "no"]}
        elif limits := self._limits(column):
            words, tests = zip(*limits, strict=True)
            cell = xl_rowcol_to_cell(row, col)
            # Text passes, for it may be a quantity such as 22 ft 9 in.
            text = "FALSE" if column.plain else f"ISTEXT({cell})"
            within = ",".join(cell + test for test in tests)
            rules |= {
                "validate": "custom", "value": f"=OR({text},AND({within}))",
                "error_type": "warning", "error_title": "Unusual value",
                "error_message": f"{title}: a number {', '.join(words)}.",
            }  # fmt: skip
        self.sheet.data_validation(row, col, last_row, last_col, rules)

    def _prompt(self, row: int, col: int, title: str, words: str) -> None:
        """What a header means, shown when its cell is chosen."""
        rules = {"validate": "any", "input_title": title[:32], "input_message": words[:255]}
        self.sheet.data_validation(row, col, row, col, rules)

    def _limits(self, column: Column) -> list[tuple[str, str]]:
        """Each limit in words, and as the end of a formula."""
        limits = ((column.above, "above", ">"), (column.minimum, "at least", ">="),
                  (column.maximum, "at most", "<="))  # fmt: skip
        edges = [
            (f"{from_base(limit, column.dimension, self.book.system):.6g}", words, sign)
            for limit, words, sign in limits
            if limit is not None
        ]
        return [(f"{words} {edge}", sign + edge) for edge, words, sign in edges]

    def table(
        self, table: Table, computed: Mapping[str, str] | None = None, *, spare: int = SPARE_ROWS,
        widths: Mapping[str, float] | None = None, grouped: Sequence[str] = (),
        shown_as: Mapping[str, str] | None = None,
    ) -> None:  # fmt: skip
        """An input table with prefilled spare rows and computed columns, from the next row on.

        `computed` are formulas of columns that sheets/columns.csv declares, by their names; in one
        `{name}` is this row's cell of a column.
        `shown_as` names the number format of input columns that differ from their dimension's.
        """
        system = self.book.system
        rows = self.book.inputs.tables.get(table.name, ())
        own = self.book.own.columns.get(table.name, ())
        declared = computed_columns(table.name, computed or {})
        folded = {*grouped, *(column.name for column, away in declared.items() if away)}
        columns = [*table.columns, *declared]
        headings = {column.name: column.heading(system) for column in columns}
        headings |= {added.name: added.header for added in own}
        self.book.headings[table.name] = headings
        formulas = {name: in_table(formula, table.name, headings)
                    for name, formula in (computed or {}).items()}  # fmt: skip
        top, first = self.row, self.row + 1
        last = first + max(len(rows), 1) + spare - 1
        self.sheet.add_table(
            top, 0, last, len(headings) - 1,
            {
                "name": table.name, "style": None, "autofilter": False,
                "columns": [
                    *({"header": headings[c.name], "formula": formulas.get(c.name)}
                      for c in columns),
                    *({"header": added.header} for added in own),
                ],
            },
        )  # fmt: skip
        for col, added in enumerate(own, len(columns)):
            self.sheet.write_string(top, col, added.header, self.styles.header_input)
        for col, column in enumerate(columns):
            name, formula = column.name, formulas.get(column.name)
            header_style = self.styles.header if formula else self.styles.header_input
            self.sheet.write_string(top, col, headings[name], header_style)
            self._prompt(top, col, headings[name], column.help)
            if formula:
                for row in range(first, last + 1):
                    self.formula(row, col, formula, column.dimension)
            else:
                shown = (shown_as or {}).get(name, column.dimension)
                style = self.styles.input(shown, wrapped=name not in folded)
                self._input_column(column, col, (first, last), rows, style)
            width = (widths or {}).get(name) or WIDTHS.get(column.dimension, 9)
            options = {"level": 1, "hidden": True} if name in folded else {}
            self.sheet.set_column(col, col, width, None, options)
        self.book.places[table.name] = Place(
            self.name, first, last, {name: i for i, name in enumerate(headings)}
        )
        self.row = last + 2

    def _input_column(
        self, column: Column, col: int, ends: tuple[int, int], rows: Sequence[Mapping[str, Any]],
        style: Any,
    ) -> None:  # fmt: skip
        first, last = ends
        for i, row in enumerate(range(first, last + 1)):
            value = rows[i].get(column.name) if i < len(rows) else None
            write_value(self.sheet, row, col, value, style)
        self._validate(first, col, last, col, column)


def write_value(sheet: Any, row: int, col: int, value: Any, style: Any) -> None:
    """An input as what it is; text never becomes a formula."""
    if value is None or value == "":
        sheet.write_blank(row, col, None, style)
    elif isinstance(value, bool):
        sheet.write_string(row, col, "yes" if value else "no", style)
    elif isinstance(value, (int, float)):
        sheet.write_number(row, col, value, style)
    elif isinstance(value, date):
        sheet.write_datetime(row, col, value, style)
    else:
        sheet.write_string(row, col, str(value), style)


def say_currency(page: Page) -> None:
    """Say under the page's title what its money is in."""
    words = 'IF(currency="","Money in the currency of Setup","Money in "&currency)'
    page.formula(_row(page), 0, words, "text", style=page.styles.aside)


def currency_axis(page: Page) -> str:
    """Say it, and give the cell that says it, as the title of an axis."""
    say_currency(page)
    return "=" + page.cell(_row(page), 0)


def _row(page: Page) -> int:
    """The free row below the title and the words under it."""
    return page.top + (3 if page.book.inputs.invented else 2)
