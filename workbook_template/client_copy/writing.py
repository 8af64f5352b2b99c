"""Writing the cells of the client's copy as a file."""

from __future__ import annotations

from collections.abc import Mapping

from workbook_template.client_copy.about import About, about_page
from workbook_template.client_copy.cells import CopyCell, CopyCells, CopyPlan
from workbook_template.client_copy.drawings import Art, copy_drawing
from workbook_template.client_copy.pages import NOTICE, DeliveredInputs, Fact
from workbook_template.client_copy.parts import Part, assembled, defined_names
from workbook_template.client_copy.plain import CannotKeep, PlainWriter, literal
from workbook_template.client_copy.sheets import SheetJob, sheet_xml
from workbook_template.client_copy.styles import CopyStyles
from xlfuncs.workbooks.formulas.origins import Origin
from xlfuncs.workbooks.our_tables.named_cells import place_of
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import CellValue, Sheet

ABOUT, DELIVERED = "About", "As delivered"
QUOTATION = "Quotation"
_MOST_LEFT = 12  # columns that are searched for a label


class CopyWriter:
    """Writes the copy of a plan, as often as cells change."""

    def __init__(self, plan: CopyPlan, *, protect: bool) -> None:
        self.plan = plan
        self.scope = plan.scope
        self.protect = protect
        self.about, self.delivered_name = (self._free(name) for name in (ABOUT, DELIVERED))
        self.parts: list[Part] = []
        self.art = Art()
        self.delivered = DeliveredInputs(self.delivered_name, ())

    def _free(self, name: str) -> str:
        taken = {sheet.name.lower() for sheet in self.scope.contents.sheets}
        return name if name.lower() not in taken else f"{name} (copy)"

    def written(self, cells: CopyCells) -> bytes:
        """The bytes of the file with these cells."""
        scope, styles = self.scope, CopyStyles(self.scope.contents)
        order = [sheet.name for sheet in scope.sheets]
        self.delivered = DeliveredInputs(self.delivered_name, order)
        for place, cell in cells.cells.items():
            if cell.guard:
                self.delivered.add(cell.guard, place[0])
        used = set(cells.names) if any(c.formula for c in cells.cells.values()) else set()
        job = SheetJob(scope, cells.cells, styles, self.formula, self._checker(used), self.protect)
        self.art = Art()
        kept = [self._sheet(job, sheet) for sheet in scope.sheets]
        self.parts = [self._about(cells, styles), *kept]
        if self.delivered:
            page = self.delivered.page(styles, self._facts(cells))
            xml = page.xml(protect=self.protect, first=False)
            self.parts.append(Part(self.delivered_name, xml))
        theme = scope.contents.related("theme")
        return assembled(
            self.parts,
            self.art,
            styles.xml(),
            scope.contents.package.read(theme) if theme else b"",
            defined_names(scope, used, [part.name for part in self.parts]),
            self._title(),
            dates_from_1904=scope.contents.dates_from_1904,
        )

    def formula(self, cell: CopyCell) -> str:
        """What a cell computes: itself, or its notice where an input behind it was changed."""
        if not cell.guard:
            return cell.formula
        condition = self.delivered.condition(cell.guard)
        return f'IF({condition},{cell.formula or literal(cell.value)},"{NOTICE}")'

    def delivered_changes(
        self, values: Mapping[str, Mapping[tuple[int, int], CellValue]]
    ) -> list[str]:
        """Inputs that the copy's own page counts as changed; none, if all is well."""
        found = values.get(self.delivered_name, {})
        return [f"row {row}" for (row, column), value in found.items() if column == 5 and value]

    def _checker(self, used: set[str]):  # type: ignore[no-untyped-def]
        plan = self.plan

        def checked(sheet: Sheet, formula: str) -> bool:
            origin = Origin(0, sheet.name, 1, 1)
            writer = PlainWriter(plan.names, origin, self.scope.keeps, plan.prices.value)
            try:
                writer.formula(formula.removeprefix("="))
            except CannotKeep:
                return False
            used.update(writer.names)
            return True

        return checked

    def _sheet(self, job: SheetJob, sheet: Sheet) -> Part:
        value = self._shown(job)
        drawing = copy_drawing(self.scope.contents, sheet, self.art, self.scope.keeps, value)
        xml = sheet_xml(job, sheet, first=False, drawing=bool(drawing))
        return Part(sheet.name, xml, drawing)

    def _shown(self, job: SheetJob):  # type: ignore[no-untyped-def]
        def value(sheet: str, row: int, column: int) -> CellValue:
            cell = job.cells.get((sheet, row, column))
            return cell.value if cell is not None else None

        return value

    def _title(self) -> str:
        value = self._named("farm")[0]
        return str(value) if value else self.scope.contents.package.name.rpartition(".")[0]

    def _named(self, wanted: str) -> tuple[CellValue, str]:
        """The value of a defined name's cell, and its format."""
        for name in self.scope.contents.names:
            place = place_of(name.text)
            if name.name.lower() == wanted and place is not None:
                cell = self.scope.contents.cell_at(*place)
                return self.plan.prices.value(*place), cell.style if cell is not None else ""
        return None, ""

    def _about(self, cells: CopyCells, styles: CopyStyles) -> Part:
        names = ("client", "site", "prepared_by", "quotation_number", "quotation_date",
                 "plan_date", "currency")  # fmt: skip
        sheets = [(sheet.name, self._words_of(cells, sheet)) for sheet in self.scope.sheets]
        if self.delivered:
            words = "The inputs behind results that were worked out beforehand"
            sheets.append((self.delivered_name, words))
        live = any(cell.formula for cell in cells.cells.values())
        about = About(
            self.about, self._title(), {name: self._named(name) for name in names}, sheets, live,
            cautions=QUOTATION not in self.scope.kept_names,
        )  # fmt: skip
        xml = about_page(about, styles).xml(protect=self.protect, first=True, one_page=True)
        return Part(self.about, xml)

    def _words_of(self, cells: CopyCells, sheet: Sheet) -> str:
        """What a sheet says of itself: its title and the words below it, as the template has it."""
        title, words = (
            cell.value if (cell := cells.cells.get((sheet.name, row, 1))) is not None else None
            for row in (1, 2)
        )
        shown = [str(t).rstrip(".") for t in (title, words) if isinstance(t, str) and t]
        return ". ".join(t for t in shown if t.lower() != sheet.name.lower())

    def _facts(self, cells: CopyCells) -> dict[Area, Fact]:
        facts: dict[Area, Fact] = {}
        for area in self.delivered.listed():
            place = (area.sheet, area.first_row, area.first_column)
            if area.single:
                cell, old = cells.cells.get(place), self.scope.contents.cell_at(*place)
                value = cell.value if cell is not None else None
                facts[area] = self._label(cells, area), value, old.style if old else ""
            else:
                filled = sum(area.holds(*other) for other in cells.cells)
                label = f"{self._label(cells, area)}: filled cells".removeprefix(": ")
                facts[area] = label, float(filled), ""
        return facts

    def _label(self, cells: CopyCells, area: Area) -> str:
        """The header of a table's column, else the words left of the cell."""
        for table in self.scope.contents.tables.values():
            if table.area.holds(area.sheet, area.first_row, area.first_column):
                header = table.columns[area.first_column - table.area.first_column]
                return self.scope.words.get(header, header)
        for column in range(area.first_column - 1, max(area.first_column - _MOST_LEFT, 0), -1):
            cell = cells.cells.get((area.sheet, area.first_row, column))
            if cell is not None and isinstance(cell.value, str) and cell.value:
                return cell.value[:60]
        return ""
