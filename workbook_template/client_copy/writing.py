"""Turning the computed book into the client's: its formulas, the two pages, what the file has."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from xlsxwriter.sharedstrings import SharedStringTable
from xlsxwriter.worksheet import CellFormulaTuple

from workbook_template.client_copy.cells import CopyCells, InputsBehind, as_delivered
from workbook_template.client_copy.pages import NOTICE, DeliveredInputs, Fact, write_about
from workbook_template.client_copy.plain import literal
from workbook_template.client_copy.settings import Settings
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.book import Values
from workbook_template.kit.declared import FOR_CLIENT
from workbook_template.kit.written import Written
from workbook_template.sheets.order import declared_sheets
from xlfuncs.errors import CellError
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.xlsx.cell_references import Area, parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue

ABOUT, DELIVERED, QUOTATION = "About", "As delivered", "Quotation"
SELLING_PRICE = "Selling price; ask for an update if it should change."
MADE = datetime(1980, 1, 1)  # of no day: the same workbook gives the same bytes
_MOST_LEFT = 12  # columns that are searched for a label
_LEAST_HEIGHT = 15  # of a row, in pixels


class CopyWriter:
    """Writes one copy; `notes` say in words what was left out on the way."""

    def __init__(self, shown: Shown, contents: Written, cells: CopyCells, values: Values) -> None:
        self.shown, self.book, self.contents = shown, shown.book, contents
        self.cells, self.values = cells, values
        self.order = self._in_order()
        self.about, self.delivered_name = self._free(ABOUT), self._free(DELIVERED)
        self.delivered = DeliveredInputs(self.delivered_name, self.order)
        self.guards: dict[Position, str] = {}
        self.notices: dict[str, str] = {}  # by document
        self.notes: list[str] = []

    def _in_order(self) -> list[str]:
        """The quotation, then what else comes first, then the order of the work."""
        known = [s.name for seen in FOR_CLIENT for s in declared_sheets().values()
                 if s.client == seen and s.name in self.shown.sheets]  # fmt: skip
        return [*known, *sorted(self.shown.sheets - set(known))]

    def _free(self, name: str) -> str:
        return f"{name} (copy)" if name in self.shown.sheets else name

    def guard(self, behind: InputsBehind) -> None:
        """Have each frozen result, and what rests on it, notice its inputs; a document has one."""
        documents = as_delivered()
        frozen = [place for place in self.cells.frozen if place[0] not in documents]
        for place, inputs in behind.guards(frozen).items():
            if self.shown.has(*place) and place[0] not in documents:
                self.guards[place] = self.delivered.condition(inputs, place[0])
        for name in documents & self.shown.sheets:
            if inputs := behind.of([place for place in self.cells.frozen if place[0] == name]):
                self.notices[name] = self.delivered.condition(inputs, name)
        self.filled = behind.filled

    def written(self, *, protect: bool, settings: Settings, changed: Sequence[str]) -> bytes:
        """The bytes of the file; `settings` say whose it is, and on what terms; `changed` what."""
        book = self.book
        live = bool(self.cells.plain)
        shown = [(name, self._words_of(name)) for name in self.order]
        book.edition = replace(book.edition, shown=book.edition.shown
                               | {self.about, self.delivered_name})  # fmt: skip
        for sheet in book.workbook.worksheets():
            self._sheet(sheet)
        write_about(book, self.about, shown, live=live, document=QUOTATION in self.order,
                    consultant=settings.letterhead(), terms=settings.terms,
                    changed=changed)  # fmt: skip
        if self.delivered:
            self.delivered.write(book, {area: self._fact(area) for area in self.delivered.listed()})
        self._names()
        book.put_in_order([self.about, *self.order])
        if protect:
            for sheet in book.workbook.worksheets():
                sheet.protect("", {"format_columns": True, "format_rows": True})
        given = book.inputs.settings
        title = str(given.get("client") or given.get("farm") or "")
        day = given.get("quotation_date") or given.get("plan_date")
        made = datetime(*day.timetuple()[:3]) if isinstance(day, date) else MADE
        book.workbook.set_properties({"title": title, "created": made})
        self._only_strings_in_use()
        return book.finish(self.values)

    def _sheet(self, sheet: Any) -> None:
        name = sheet.get_name()
        for row, entries in sheet.table.items():
            for col, entry in list(entries.items()):
                place = (name, row + 1, col + 1)
                if self.shown.is_gone(*place):
                    del entries[col]
                elif isinstance(entry, CellFormulaTuple):
                    entries[col] = self._result(place, entry)
        sheet.tables = []
        self._fold_away(sheet)
        self._prices(sheet)
        self._rules(sheet)
        if name in self.notices:
            formula = f'IF({self.notices[name]},"","{NOTICE}")'
            sheet.put_formula(0, 2, formula, self.book.styles.words_strong)
            sheet.set_value(0, 2, "")
        kept = [entry for entry in sheet.charts if self._shows_only_kept(entry[2])]
        if len(kept) < len(sheet.charts):
            self.notes.append(f"a chart on {name}, which shows what is not in the copy")
        sheet.charts = kept
        if not self.delivered:
            self._fold_blank_rows(sheet)

    def _fold_blank_rows(self, sheet: Any) -> None:
        """Where nothing is computed anew, one blank row is enough between what is there."""
        under_charts = {
            row
            for first, _, chart, *_ in sheet.charts
            for row in range(first, first + int(chart.height) // _LEAST_HEIGHT + 1)
        }
        was_blank = False
        for row in range(sheet.dim_rowmax + 1):
            entries = sheet.table.get(row, {}).values()
            blank = row not in under_charts and not any(map(_shows, entries))
            if blank and was_blank:
                sheet.set_row(row, None, None, {"hidden": True})
            was_blank = blank

    def _result(self, place: Position, entry: Any) -> Any:
        """What stands in a cell that was computed."""
        value = self._value(place)
        formula = self.cells.plain.get(place, "")
        if place in self.guards:
            formula = f'IF({self.guards[place]},{formula or literal(value)},"{NOTICE}")'
        shown = value.value if isinstance(value, CellError) else value
        return CellFormulaTuple(formula, entry.format, shown)

    def _value(self, place: Position) -> CellValue:
        if place in self.cells.left_blank:
            return ""
        return self.values.get(place[0], {}).get(place[1:])

    def _fold_away(self, sheet: Any) -> None:
        """Rows and columns of which nothing is left."""
        used = {col for entries in sheet.table.values() for col in entries}
        for area in self.shown.gone.get(sheet.get_name(), ()):
            if area.first_column == area.last_column and area.first_column - 1 not in used:
                sheet.set_column(area.first_column - 1, area.first_column - 1, None, None,
                                 {"hidden": True})  # fmt: skip
            elif area.first_row == area.last_row:
                sheet.set_row(area.first_row - 1, None, None, {"hidden": True})

    def _prices(self, sheet: Any) -> None:
        """Cells of costs hold prices now, which are not for the client to fill in."""
        for area in self.shown.costs:
            if area.sheet != sheet.get_name():
                continue
            for row, column in area.positions():
                entry = sheet.table.get(row - 1, {}).get(column - 1)
                if entry is not None:
                    is_head = row == area.first_row
                    style = self.book.styles.header if is_head else self.book.styles.result("money")
                    sheet.table[row - 1][column - 1] = entry._replace(format=style)
            for rule in sheet.validations:
                if any(area.holds(area.sheet, c[0] + 1, c[1] + 1) for c in rule["cells"]):
                    rule["input_message"] = SELLING_PRICE

    def _rules(self, sheet: Any) -> None:
        """Rules for typing where cells are left; the units were written into the formulas."""
        name = sheet.get_name()
        sheet.validations = [
            rule
            for rule in sheet.validations
            if all(self.shown.keeps(Area(name, a + 1, b + 1, c + 1, d + 1))
                   for a, b, c, d in rule["cells"])
        ]  # fmt: skip
        there, row, col = self.book.names["units"]
        if name == there:
            sheet.data_validation(row, col, row, col, {
                "validate": "list", "source": [self.book.system], "error_title": "Fixed units",
                "error_message": "The units of this copy are fixed.",
            })  # fmt: skip

    def _shows_only_kept(self, chart: Any) -> bool:
        ranges = [*chart.formula_ids, *(chart.combined.formula_ids if chart.combined else ())]
        for text in ranges:
            sheet, rest = split_sheet(text.removeprefix("="))
            area = parse_area(rest, sheet or "")
            if area is None or not self.shown.keeps(area):
                return False
        return True

    def _names(self) -> None:
        """Only the names that plain formulas and lists to choose from use."""
        workbook = self.book.workbook
        self.book.lead_nowhere({s.get_name() for s in self.book.computed_sheets()}
                               - {s.get_name() for s in workbook.worksheets()})  # fmt: skip
        rules = (rule for sheet in workbook.worksheets() for rule in sheet.validations)
        used = self.cells.names | {str(rule.get("value")).removeprefix("=") for rule in rules}
        workbook.defined_names = [entry for entry in workbook.defined_names if entry[0] in used]

    def _only_strings_in_use(self) -> None:
        """A table of strings without those of other sheets, and of what is left out."""
        workbook, old = self.book.workbook, list(self.book.workbook.str_table.string_table)
        workbook.str_table = SharedStringTable()
        for sheet in workbook.worksheets():
            sheet.str_table = workbook.str_table
            for entries in sheet.table.values():
                for col, entry in entries.items():
                    if type(entry).__name__ == "String":
                        number = workbook.str_table._get_shared_string_index(old[entry.string])
                        entries[col] = entry._replace(string=number)

    def _words_of(self, name: str) -> str:
        """What a sheet says of itself: its title and the words below it."""
        found = [self.contents.typed(name, row, 1) for row in (1, 2)]
        shown = [t.rstrip(".") for t in found if isinstance(t, str) and t]
        return ". ".join(t for t in shown if t.lower() != name.lower())

    def _fact(self, area: Area) -> Fact:
        place = (area.sheet, area.first_row, area.first_column)
        label = self._label(area)
        if not area.single:
            label = f"{label}: filled cells".removeprefix(": ")
            return Fact(label, float(self.filled(area)))
        sheet = self.book.workbook.sheetnames[area.sheet]
        entry = sheet.table.get(area.first_row - 1, {}).get(area.first_column - 1)
        return Fact(label, self.contents.typed(*place), getattr(entry, "format", None))

    def _label(self, area: Area) -> str:
        """The header of a table's column, else the words left of the cell."""
        for table in self.contents.tables.values():
            if table.area.holds(area.sheet, area.first_row, area.first_column):
                return table.columns[area.first_column - table.area.first_column]
        for column in range(area.first_column - 1, max(area.first_column - _MOST_LEFT, 0), -1):
            value = self.contents.typed(area.sheet, area.first_row, column)
            if isinstance(value, str) and value and self.shown.has(*area[:2], column):
                return value[:60]
        return ""


def _shows(entry: Any) -> bool:
    """Whether a cell is more than a frame."""
    if isinstance(entry, CellFormulaTuple):
        return entry.value not in ("", None)
    return type(entry).__name__ != "Blank"
