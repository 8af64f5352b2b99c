"""Blocks of a sheet: grids of formulas with named columns, answers of functions on the whole."""

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from xlsxwriter.utility import xl_col_to_name, xl_range_abs, xl_rowcol_to_cell

from workbook_template.kit.formulas import (
    NUMBER,
    NUMBERED,
    Answer,
    Place,
    by_letters,
    cells_above,
    in_row,
)
from workbook_template.kit.paper import Paper
from workbook_template.kit.said import computed_columns
from xlfuncs.tables.columns import Column


class Blocks(Paper):
    """A sheet with what is computed on it.

    `numbers_at` is a column, folded, for the numbers of rows that formulas of many columns name.
    """

    def __init__(self, *args: Any, numbers_at: int | None = None, **named: Any) -> None:
        super().__init__(*args, **named)
        self._numbers_at = numbers_at
        self._numbered: dict[int, int] = {}  # rows with a number -> the first row of their block

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
        first = self.row + 1
        filled = (i for i in range(len(headers)) if all(formulas[i] for formulas in rows))
        counted = next(filled, 0)
        named = any("{n}" in formula for formulas in rows for formula in formulas)
        letters = self._numbers(first, len(rows)) if named else ""
        looks = [(styles or {}).get(i) or self.styles.result(dimension)
                 for i, (_, dimension) in enumerate(headers)]  # fmt: skip
        here = cache(self._here)  # most rows have the formulas of the one above
        for r, formulas in enumerate(rows, first):
            number = above = cells_above(xl_col_to_name(col + counted), first)
            if letters:
                number = f"${letters}{r + 1}"
            elif NUMBER in formulas:
                number = f"${xl_col_to_name(col + formulas.index(NUMBER))}{r + 1}"
            for i, formula in enumerate(formulas):
                if formula:
                    own = above if formula == NUMBER else number
                    text = in_row(here(formula), r, first, own)
                    self.sheet.put_formula(r, col + i, text, looks[i])
        self.row = first + len(rows) + 1
        columns = {"first": col, "counted": col + counted, "last": col + len(headers) - 1}
        self.book.grids.append(Place(self.name, first, first + len(rows) - 1, columns))
        return first

    def _numbers(self, first: int, rows: int) -> str:
        """The letters of the column with the numbers of a block's rows; '' where there is none."""
        at, mine = self._numbers_at, range(first, first + rows)
        if at is None or any(self._numbered.get(row, first) != first for row in mine):
            return ""
        self.text(first - 1, at, NUMBERED, self.styles.header)
        self.sheet.set_column(at, at, 6, None, {"level": 1, "hidden": True})
        for row in mine:
            if row not in self._numbered:
                formula = cells_above(xl_col_to_name(at), first)
                self.formula(row, at, formula, "count", style=self.styles.aside)
                self._numbered[row] = first
        return str(xl_col_to_name(at))

    def _here(self, formula: str) -> str:
        """A formula that names its own sheet no more, links apart."""
        return formula if '"#' in formula else formula.replace(f"'{self.name}'!", "")

    def place(self, block: str, rows: int, *, first: int = -1, col: int = 0) -> Place:
        """Where a block will lie, for formulas that are written before it: from the next row on."""
        names = [column.name for column in computed_columns(block)]
        first = self.row + 1 if first < 0 else first
        self.book.places[block] = Place.of(self.name, names, first, rows, col)
        return self.book.places[block]

    def heads(self, block: str, row: int) -> None:
        """Small headers of a block that lies out of view, whose cells are written one by one."""
        place = self.book.places[block]
        for column in computed_columns(block):
            self.text(row, place.columns[column.name], column.header, self.styles.words_strong)

    def block(
        self, block: str, rows: Mapping[str, str] | Sequence[Mapping[str, str]], times: int = 1, *,
        after: Sequence[Column] = (), col: int = 0, styles: Mapping[str, Any] | None = None,
        filled: Mapping[str, str] | None = None,
    ) -> Place:  # fmt: skip
        """A grid of named columns: a row of formulas so many times, or rows of their own.

        sheets/columns.csv declares the columns, `after` others if any; those that no row names are
        left out. `filled` are texts for braces in headers. Gives where it lies, by which others
        find it under its name; `row` moves behind it.

        In a formula `{name}` is this row's cell of a column, `${name}` fixes the column, `{name-1}`
        is the cell above.
        """
        rows = [rows] * times if isinstance(rows, Mapping) else rows
        unique = {id(row): row for row in rows}  # most are one row many times
        named = set().union(*unique.values()) - {column.name for column in after}
        columns = [*after, *computed_columns(block, named)]
        place = Place.of(self.name, [c.name for c in columns], self.row + 1, len(rows), col)
        self.book.places[block] = place
        written = {
            key: [by_letters(row.get(column.name, ""), place) for column in columns]
            for key, row in unique.items()
        }
        by_number = {place.columns[name] - col: style for name, style in (styles or {}).items()}
        headers = [(c.header.format(**(filled or {})), c.dimension) for c in columns]
        self.grid(headers, [written[id(row)] for row in rows], col=col, styles=by_number)
        return place

    def answer(self, rows: int, name: str, /, *args: str, **named: str) -> Answer:
        """An answer that cells of this page read, see Book.answer."""
        return self.book.answer(self.name, rows, name, *args, **named)

    def whole(
        self, asked: str | Answer, block: str, rows: int, *, ready: str, col: int = 0,
        dash: bool = False, styles: Mapping[str, Any] | None = None,
        instead: Mapping[str, str] | None = None, without: str = "",
    ) -> Place:  # fmt: skip
        """The answer of a function on the whole, read cell by cell with INDEX, in `rows` rows.

        Its columns are those of a block in their order, the last `without` one if it is named. Of a
        call in words, one formula that spills takes the place of the cells for Excel; give an
        Answer where something else is written into the block afterwards.

        `ready` is a condition, without our functions, under which there is anything to compute;
        the number of rows stands in a cell of its own, so that a program without our functions
        believes the blanks. With `dash` a number that is missing from a row shows as a dash, which
        such a program believes too. `instead` are formulas of columns that read the answer in
        another way. Gives where it lies.
        """
        answer = asked if isinstance(asked, Answer) else self.book.named_answer(
            self.name, rows, asked, spills=False)  # fmt: skip
        count_row = self.row
        self.text(count_row, col, "Rows", self.styles.note)
        self.formula(count_row, col + 1, f"IF({ready},{answer.count},0)", "count",
                     style=self.styles.note)  # fmt: skip
        count = f"${xl_col_to_name(col + 1)}${count_row + 1}"
        self.row += 1

        def cell(j: int, column: Column) -> str:
            found = (instead or {}).get(column.name) or answer.item(j)
            if dash and column.dimension == "text":
                found = f'IF({found}<>"",{found},"–")'
            elif dash:  # what is blank is no number
                found = f'IFERROR(1*{found},"–")'
            past = f"{{n}}>{count}" if j == 1 else f'${xl_col_to_name(col)}{{row}}=""'
            return f'IF({past},"",{found})'

        columns = [column for column in computed_columns(block) if column.name != without]
        cells = {column.name: cell(j, column) for j, column in enumerate(columns, 1)}
        place = self.block(block, cells, rows, col=col, styles=styles)
        if self.book.spills and isinstance(asked, str):
            last = place.last, col + len(columns) - 1
            shown = 'IF({found}="","–",{found})' if dash else "{found}"
            self.spill((place.first, col), last, answer.name, shown, count)
        return place

    def spill(
        self, first: tuple[int, int], last: tuple[int, int], call: str, shown: str, count: str = ""
    ) -> None:
        """One formula over a block for a named call's items; `shown` says how {found} is shown.

        Rows beyond `count`, if it is given, a formula too, are blank.
        """
        corner = xl_rowcol_to_cell(*first, row_abs=True, col_abs=True)
        row = f"ROW({xl_range_abs(*first, last[0], first[1])})-ROW({corner})+1"
        across = f"COLUMN({xl_range_abs(*first, first[0], last[1])})"
        col = f"{across}-COLUMN({corner})+1"
        items = shown.replace("{found}", f"INDEX({call},{row},{col})")
        blank = f'IF({row}+0*{across}>{count},"",{items})'
        self.sheet.spill(first, last, blank if count else items)
