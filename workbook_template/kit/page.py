"""The kit that a sheet is written with: settings, tables, computed blocks, formulas with values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from xlsxwriter.utility import xl_col_to_name, xl_range_abs, xl_rowcol_to_cell

from workbook_template.kit.answers import Answer
from workbook_template.kit.book import Book
from workbook_template.kit.formulas import GridColumn, Place, by_letters, in_row, in_table
from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section
from xlfuncs.units import DIMENSIONS, from_base
from xlfuncs.workbooks.our_tables.marks import INVENTED_WORDS

PUBLISHED = "Invented farm; the figures on this page are published ones, or follow from them."
SPARE_ROWS = 10  # prefilled rows below the last bed, so that a row is added by typing
PAPERS = {"us": (1, 8.5, 11.0), "metric": (9, 8.27, 11.69)}  # letter and A4: code, sides in inches
PRINTED = (10.0, 7.3)  # inches of a landscape page inside its margins
LETTERS = 1.35  # of small words in a unit of column width
WIDTHS = {"text": 18, "date": 11, "area": 10, "money": 11, "volume": 10}


@dataclass(frozen=True)
class Computed:
    """A computed column of a table; `{name}` in the formula is this row's cell of that column."""

    name: str
    header: str
    dimension: str
    help: str
    formula: str
    grouped: bool = False

    def heading(self, system: str) -> str:
        unit = DIMENSIONS[self.dimension].unit(system)
        return f"{self.header} ({unit})" if unit else self.header


class Page:
    """One sheet, written from the top down; `row` is the next free row.

    `published` where its figures are not the invented farm's.
    """

    def __init__(
        self, book: Book, name: str, title: str, intro: str, *, widths: Sequence[float] = (),
        published: bool = False,
    ) -> None:  # fmt: skip
        self.book, self.styles = book, book.styles
        self.sheet, self.top = book.sheet_for(name)
        book.titles[name] = title
        self.name = self.sheet.get_name()
        self.sheet.hide_gridlines(2)
        self.widths, self.columns = tuple(widths), len(widths) or 4
        self._breaks: list[int] = []
        for i, width in enumerate(widths):
            self.sheet.set_column(i, i, width)
        self.sheet.set_row(self.top, 24)
        self.sheet.write_string(self.top, 0, title, self.styles.title)
        self.sheet.write_string(self.top + 1, 0, intro, self.styles.aside)
        self.row = self.top + 3
        if book.inputs.invented:
            words = PUBLISHED if published else INVENTED_WORDS
            self.sheet.write_string(self.top + 2, 0, words, self.styles.aside)
            self.row += 1
        self._print_setup()

    def _print_setup(self) -> None:
        self.sheet.set_landscape()
        self.sheet.set_paper(PAPERS[self.book.system][0])
        self.sheet.fit_to_pages(1, 0)
        self._margins(*PRINTED)
        self.sheet.set_footer("&L&A&RPage &P of &N")

    def portrait(self) -> None:
        """Print upright, as suits a list that is carried about."""
        self.sheet.set_portrait()
        self._margins(*reversed(PRINTED))

    def _margins(self, width: float, height: float) -> None:
        """Margins that leave the same room on letter and A4, so that pages break alike."""
        _, *paper = PAPERS[self.book.system]
        across, down = sorted(paper, reverse=width > height)
        side, end = (across - width) / 2, (down - height) / 2
        self.sheet.set_margins(side, side, end, end)

    def next_printed_page(self) -> None:
        """What follows starts a printed page."""
        self._breaks.append(self.row)
        self.sheet.set_h_pagebreaks(self._breaks)

    def section(self, title: str, *, columns: int = 0) -> None:
        """A band that starts a part of the page, over the page's columns or as many as told."""
        for col in range(columns or self.columns):
            self.sheet.write_blank(self.row, col, None, self.styles.section)
        self.sheet.write_string(self.row, 0, title, self.styles.section)
        self.row += 1

    def note(self, text: str, *, columns: int = 0, lines: int = 0) -> None:
        """Words across some columns, in as many lines as they need by the page's widths."""
        columns = columns or self.columns
        room = LETTERS * sum(self.widths[:columns])
        lines = lines or (int(-(-len(text) // room)) if room else 1)
        self.sheet.merge_range(self.row, 0, self.row, columns - 1, text, self.styles.note)
        self.sheet.set_row(self.row, 13 * lines + 2)
        self.row += 1

    # --- single cells ---

    def text(self, row: int, col: int, text: str, style: Any = None) -> None:
        self.sheet.write_string(row, col, text, style or self.styles.label)

    def formula(
        self, row: int, col: int, formula: str, dimension: str, *, strong: bool = False,
        style: Any = None,
    ) -> None:  # fmt: skip
        """A formula; its value comes when all are written."""
        style = style or self.styles.result(dimension, strong=strong)
        self.sheet.put_formula(row, col, formula, style)

    def result_row(
        self, label: str, formula: str, dimension: str, help_text: str = "", *, name: str = "",
        strong: bool = False,
    ) -> None:  # fmt: skip
        """Label, computed value, unit, words; optionally with a defined name."""
        self.text(self.row, 0, label, self.styles.strong if strong else self.styles.label)
        self.formula(self.row, 1, formula, dimension, strong=strong)
        self._unit(dimension)
        self.text(self.row, 3, help_text, self.styles.aside)
        if name:
            self.book.name(name, self.name, self.row, 1)
        self.row += 1

    def settings(self, section: Section) -> None:
        """The input cells of a section, each with its defined name."""
        self.section(section.title)
        self.note(section.help)
        for setting in section.settings:
            self.text(self.row, 0, setting.header)
            self._input(self.row, 1, setting, self.book.inputs.settings.get(setting.name))
            self._unit(setting.dimension)
            self.text(self.row, 3, setting.help, self.styles.aside)
            self.book.name(setting.name, self.name, self.row, 1)
            self.row += 1
        self.row += 1

    def _unit(self, dimension: str) -> None:
        """The unit beside a value; money is in the currency that Setup says."""
        unit = self.book.unit(dimension)
        if dimension.startswith("money"):
            words = f'TRIM(currency&" {unit}")' if unit else 'currency&""'
            self.formula(self.row, 2, words, "text", style=self.styles.label)
        else:
            self.text(self.row, 2, unit)

    def _input(self, row: int, col: int, column: Column, value: Any) -> None:
        style = self.styles.input(column.dimension)
        if value is None and column.default is not None:
            value = _default(column, self.book.system)
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
            table, listed = column.one_of
            rules |= {
                "validate": "list", "source": "=" + self.book.list_name(*column.one_of),
                "error_type": "warning", "error_title": "Not in the list",
                "error_message": f"{column.header}: {table} has no {listed} of that name yet.",
            }  # fmt: skip
        elif column.dimension == "flag":
            rules |= {"validate": "list", "source": ["yes", "no"]}
        elif limits := self._limits(column, xl_rowcol_to_cell(row, col)):
            rules |= {
                "validate": "custom", "value": "=" + limits, "error_type": "warning",
                "error_title": "Is that right?",
                "error_message": f"{column.header}: outside what is usual, or not a number.",
            }  # fmt: skip
        self.sheet.data_validation(row, col, last_row, last_col, rules)

    def _prompt(self, row: int, col: int, title: str, words: str) -> None:
        """What a header means, shown when its cell is chosen."""
        rules = {"validate": "any", "input_title": title[:32], "input_message": words[:255]}
        self.sheet.data_validation(row, col, row, col, rules)

    def _limits(self, column: Column, cell: str) -> str:
        """A validation formula; text passes, for it may be a quantity such as 22 ft 9 in."""
        parts = []
        for limit, sign in ((column.above, ">"), (column.minimum, ">="), (column.maximum, "<=")):
            if limit is not None:
                edge = from_base(limit, column.dimension, self.book.system)
                parts.append(f"{cell}{sign}{edge:.6g}")
        return f"OR(ISTEXT({cell}),AND({','.join(parts)}))" if parts else ""

    # --- computed blocks ---

    def grid(
        self,
        headers: Sequence[tuple[str, str]],
        rows: Sequence[Sequence[str]],
        *,
        col: int = 0,
        styles: Mapping[int, Any] | None = None,
    ) -> int:
        """Headers (text, dimension) and rows of formulas ('' leaves a cell empty).

        Gives the first data row; `row` moves behind the block. In a formula `{row}` is the number
        of its own row, for references such as A{row}, `{n}` counts the rows of the block from 1,
        and Place.beside gives cells of the row of the same number elsewhere. Where the formulas of
        a column are alike the engine is much faster: these help. `styles` are those of columns
        that differ from the usual.
        """
        for i, (header, dimension) in enumerate(headers):
            unit = self.book.unit(dimension)
            text = f"{header} ({unit})" if unit else header
            self.text(self.row, col + i, text, self.styles.header)
        self.sheet.set_row(self.row, 32)
        first = self.row + 1
        for r, formulas in enumerate(rows, first):
            for i, formula in enumerate(formulas):
                if formula:
                    text = in_row(formula, r, first)
                    style = styles.get(i) if styles else None
                    self.formula(r, col + i, text, headers[i][1], style=style)
        self.row = first + len(rows) + 1
        return first

    def block(
        self,
        columns: Sequence[GridColumn],
        rows: int | Sequence[Mapping[str, str]],
        *,
        col: int = 0,
        styles: Mapping[str, Any] | None = None,
    ) -> Place:
        """A grid of named columns: so many equal rows, or rows of formulas by column name.

        Gives where it lies; `row` moves behind it.
        """
        if isinstance(rows, int):
            rows = [{c.name: c.formula for c in columns}] * rows
        place = Place.of(self.name, columns, self.row + 1, len(rows), col)
        of_row = {
            id(row): [by_letters(row.get(c.name, ""), place) for c in columns] for row in rows
        }
        written = [of_row[id(row)] for row in rows]  # most are one row many times
        by_number = {place.columns[name] - col: style for name, style in (styles or {}).items()}
        self.grid([(c.header, c.dimension) for c in columns], written, col=col, styles=by_number)
        return place

    def answer(self, rows: int, name: str, /, *args: str, **named: str) -> Answer:
        """An answer that cells of this page read, see Book.answer."""
        return self.book.answer(self.name, rows, name, *args, **named)

    def whole(
        self,
        asked: str | Answer,
        headers: Sequence[tuple[str, str]],
        rows: int,
        *,
        ready: str,
        col: int = 0,
        dash: bool = False,
        styles: Mapping[int, Any] | None = None,
    ) -> int:
        """The answer of a function on the whole, read cell by cell with INDEX, in `rows` rows.

        Of a call in words, one formula that spills takes the place of the cells for Excel; give an
        Answer where something else is written into the block afterwards.

        `ready` is a condition, without our functions, under which there is anything to compute;
        the number of rows stands in a cell of its own, so that a program without our functions
        believes the blanks. With `dash` a number that is missing from a row shows as a dash, which
        such a program believes too. Gives the first data row.
        """
        answer = asked if isinstance(asked, Answer) else Answer(asked)
        count_row = self.row
        self.text(count_row, col, "Rows", self.styles.note)
        self.formula(count_row, col + 1, f"IF({ready},ROWS({answer.call}),0)", "count",
                     style=self.styles.note)  # fmt: skip
        count = f"${xl_col_to_name(col + 1)}${count_row + 1}"
        self.row += 1

        def cell(j: int, dimension: str) -> str:
            found = answer.item(j)
            if dash:
                there = f'{found}<>""' if dimension == "text" else f"ISNUMBER({found})"
                found = f'IF({there},{found},"–")'
            return f'IF({{n}}>{count},"",{found})'

        cells = [cell(j, dimension) for j, (_, dimension) in enumerate(headers, 1)]
        first = self.grid(headers, [cells] * rows, col=col, styles=styles)
        if self.book.spills and isinstance(asked, str):
            last = first + rows - 1, col + len(headers) - 1
            shown = 'IF({found}="","–",{found})' if dash else "{found}"
            self.spill((first, col), last, answer.call, count, shown)
        return first

    def spill(
        self, first: tuple[int, int], last: tuple[int, int], call: str, count: str, shown: str
    ) -> None:
        """One formula over a block for all items of a call; `shown` says how {found} is shown.

        Rows beyond `count`, a formula too, are blank.
        """
        row = f"ROW({xl_range_abs(*first, last[0], first[1])})-{first[0]}"
        col = f"COLUMN({xl_range_abs(*first, first[0], last[1])})"
        col = f"({col}-{first[1]})" if first[1] else col
        items = shown.replace("{found}", f"INDEX({call},{row},{col})")
        self.sheet.spill(first, last, f'IF({row}+0*{col}>{count},"",{items})')

    # --- tables ---

    def table(
        self,
        table: Table,
        computed: Sequence[Computed] = (),
        *,
        spare: int = SPARE_ROWS,
        widths: Mapping[str, float] | None = None,
        grouped: Sequence[str] = (),
        shown_as: Mapping[str, str] | None = None,
    ) -> None:
        """An input table with prefilled spare rows and computed columns, from the next row on.

        `shown_as` names the number format of input columns that differ from their dimension's.
        """
        system = self.book.system
        rows = self.book.inputs.tables.get(table.name, ())
        own = self.book.own.columns.get(table.name, ())
        columns: list[Column | Computed] = [*table.columns, *computed]
        headings = {column.name: column.heading(system) for column in columns}
        headings |= {added.name: added.header for added in own}
        self.book.headings[table.name] = headings
        top, first = self.row, self.row + 1
        last = first + max(len(rows), 1) + spare - 1
        self.sheet.add_table(
            top, 0, last, len(headings) - 1,
            {
                "name": table.name, "style": None, "autofilter": False,
                "columns": [
                    *(self._table_column(table.name, c, headings) for c in columns),
                    *({"header": added.header} for added in own),
                ],
            },
        )  # fmt: skip
        for col, added in enumerate(own, len(columns)):
            self.sheet.write_string(top, col, added.header, self.styles.header_input)
        for col, column in enumerate(columns):
            typed = isinstance(column, Column)
            header_style = self.styles.header_input if typed else self.styles.header
            self.sheet.write_string(top, col, headings[column.name], header_style)
            self._prompt(top, col, headings[column.name], column.help)
            folded = column.name in grouped or getattr(column, "grouped", False)
            if isinstance(column, Computed):
                formula = in_table(column.formula, table.name, headings)
                for row in range(first, last + 1):
                    self.formula(row, col, formula, column.dimension)
            else:
                shown = (shown_as or {}).get(column.name, column.dimension)
                style = self.styles.input(shown, wrapped=not folded)
                self._input_column(column, col, (first, last), rows, style)
            self._column_width(column, col, widths or {}, folded)
        self.sheet.set_row(top, 44)
        self.book.places[table.name] = Place(
            self.name, first, last, {name: i for i, name in enumerate(headings)}
        )
        self.row = last + 2

    def _table_column(
        self, table: str, column: Column | Computed, headings: Mapping[str, str]
    ) -> dict[str, Any]:
        entry: dict[str, Any] = {"header": headings[column.name]}
        if isinstance(column, Computed):
            entry["formula"] = "=" + in_table(column.formula, table, headings)
        return entry

    def _input_column(
        self, column: Column, col: int, ends: tuple[int, int], rows: Sequence[Mapping[str, Any]],
        style: Any,
    ) -> None:  # fmt: skip
        first, last = ends
        for i, row in enumerate(range(first, last + 1)):
            value = rows[i].get(column.name) if i < len(rows) else None
            write_value(self.sheet, row, col, value, style)
        self._validate(first, col, last, col, column)

    def _column_width(
        self, column: Column | Computed, col: int, widths: Mapping[str, float], folded: bool
    ) -> None:
        width = widths.get(column.name) or WIDTHS.get(column.dimension, 9)
        options = {"level": 1, "hidden": True} if folded else {}
        self.sheet.set_column(col, col, width, None, options)

    def freeze(self, row: int, col: int = 1) -> None:
        """Keep the rows above and the columns left of a cell in view, and repeat them in print."""
        self.sheet.freeze_panes(row, col)
        self.sheet.repeat_rows(row - 1)

    def cell(self, row: int, col: int) -> str:
        """An absolute reference to a cell of this page, for formulas elsewhere."""
        return f"'{self.name}'!${xl_col_to_name(col)}${row + 1}"


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


def _default(column: Column, system: str) -> Any:
    """In the system's unit; round where the other system has another: 15 cm beside 6 in."""
    if not isinstance(column.default, (int, float)) or isinstance(column.default, bool):
        return column.default
    value = from_base(column.default, column.dimension, system)
    dimension = DIMENSIONS[column.dimension]
    alike = dimension.unit("us") == dimension.unit("metric")
    return value if alike else float(f"{value:.2g}")
