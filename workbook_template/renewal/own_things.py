"""Finding what in a workbook the template does not know: own sheets and columns, and the rest."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from io import BytesIO
from typing import Any

from workbook_template.kit.book import WORKINGS, Book
from workbook_template.kit.own import Look, Own, OwnCell, OwnColumn, OwnSheet
from workbook_template.kit.spills import SHEET as RESULTS
from xlfuncs.catalogue.findings.given import without_unit
from xlfuncs.errors import CellError
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import TableInWorkbook, named_cells
from xlfuncs.xlsx.cell_references import cell_name, parse_area, split_sheet
from xlfuncs.xlsx.contents import Contents, Sheet

MACROS = "xlwings.conf"  # the sheet of a workbook with functions for Excel
_MOST_LISTED = 5


class OwnThings:
    """What the workbook of a reading has beyond the template, of which `book` is a fresh copy."""

    def __init__(self, reading: Reading, book: Book) -> None:
        self.reading, self.book, self.contents = reading, book, reading.contents
        self.named = named_cells(self.contents)
        self.sheets = [s for s in self.contents.sheets if not self._is_of_template(s)]
        self.own = Own()
        self._opened: Any = None

    def found(self, wanted: Callable[[str], bool] = lambda name: True) -> Own:
        """All of it; sheets and columns only by names that are `wanted`, others in words."""
        for table in self.reading.tables.values():
            headers = self._headers(table)
            kept = {h: c for h, c in headers.items() if wanted(h)}
            if columns := list(self._columns(table, kept)):
                self.own.columns[table.table.name] = columns
            left = [f"your column {h} of {table.table.name}" for h in headers if h not in kept]
            self.own.words += left
        self.own.sheets = [self._sheet(sheet) for sheet in self.sheets if wanted(sheet.name)]
        self._names()
        for sheet in self.contents.sheets:
            self._beside(sheet)
        for table in self.reading.tables.values():
            self._looks(table)
        return self.own

    def _is_of_template(self, sheet: Sheet) -> bool:
        """By its tables and names, else by its name, else by the title on it."""
        if any(t.sheet == sheet.name for t in self.reading.tables.values()):
            return True
        ours = (place for name, place in self.named.items() if name in self.book.names)
        if sheet.name in (WORKINGS, RESULTS, MACROS) or any(p[0] == sheet.name for p in ours):
            return True
        cell = self.contents.cell_at(sheet.name, 1, 1)
        title = self.contents.value(cell) if cell is not None else None
        known = self.book.titles
        shown = {"Start", *known} - self.book.aside
        return sheet.name in shown or title in known.values()

    # --- own columns ---

    def _headers(self, table: TableInWorkbook) -> dict[str, int]:
        """Own columns by their headers, and where they stand."""
        known = {without_unit(h).casefold() for h in self.book.headings[table.table.name].values()}
        headers = {h: c for h, c in table.others.items() if without_unit(h).casefold() not in known}
        if headers:
            prompted = _prompted(self.contents, table)
            headers = {h: c for h, c in headers.items() if c not in prompted}
        return headers | self._right_of(table)

    def _columns(self, table: TableInWorkbook, headers: Mapping[str, int]) -> Iterator[OwnColumn]:
        first = table.header_row + table.placed.header_rows
        last = table.placed.area.last_row - table.placed.total_rows
        for header, column in headers.items():
            cells = [self._cell(table.sheet, row, column) for row in range(first, last + 1)]
            letters = cell_name(1, column).rstrip("1")
            width = self._page(table.sheet).column_dimensions[letters].width
            yield OwnColumn(header, cells, width or 12)

    def _right_of(self, table: TableInWorkbook) -> dict[str, int]:
        """Columns right beside a table that a program did not take into it."""
        found, column = {}, table.placed.area.last_column + 1
        while isinstance(header := self._stored(table.sheet, table.header_row, column), str):
            found[header] = column
            column += 1
        return {h: c for h, c in found.items() if h.strip()}

    # --- own sheets ---

    def _sheet(self, sheet: Sheet) -> OwnSheet:
        page = self._page(sheet.name)
        places = [(c.row, c.column) for c in self.contents.scan(sheet).cells]
        charts = len(page._charts) + len(page._images)
        if charts:
            words = f"{charts} charts or pictures" if charts > 1 else "a chart or picture"
            self.own.words.append(f"{words} on your sheet {sheet.name}")
        if page.conditional_formatting or page.data_validations.dataValidation:
            self.own.words.append(f"rules for looks or for typing on your sheet {sheet.name}")
        frozen = parse_area(page.freeze_panes or "", "")
        return OwnSheet(
            sheet.name,
            {(row, column): self._cell(sheet.name, row, column) for row, column in places},
            {d.min: d.width for d in page.column_dimensions.values() if d.customWidth and d.min},
            {r: d.height for r, d in page.row_dimensions.items() if d.height},
            [str(area) for area in page.merged_cells.ranges],
            {table.name: table.ref for table in page.tables.values()},
            (frozen.first_row - 1, frozen.first_column - 1) if frozen else None,
            page.sheet_state != "visible",
            page.page_setup.orientation == "landscape",
        )

    def _cell(self, sheet: str, row: int, column: int) -> OwnCell:
        opened = self._page(sheet).cell(row, column)
        stored = self.contents.cell_at(sheet, row, column)
        formula = ""
        if stored is not None and stored.formula_start >= 0:
            text = getattr(opened.value, "text", opened.value)  # of an array formula
            formula = text.removeprefix("=") if isinstance(text, str) else ""
        comment = opened.comment.text if opened.comment else ""
        value = self._stored(sheet, row, column)
        return OwnCell(value, formula, look_of(opened), comment)

    def _stored(self, sheet: str, row: int, column: int) -> Any:
        cell = self.contents.cell_at(sheet, row, column)
        value = self.contents.value(cell) if cell is not None else None
        return value.value if isinstance(value, CellError) else value

    def _page(self, sheet: str) -> Any:
        if self._opened is None:
            import openpyxl

            content = BytesIO(self.contents.package.content)
            self._opened = openpyxl.load_workbook(content, rich_text=False)
        return self._opened[sheet]

    # --- what stays behind, in words ---

    def _names(self) -> None:
        own = {sheet.name for sheet in self.own.sheets}
        for name in self.contents.names:
            if name.sheet is None and split_sheet(name.text)[0] in own:
                self.own.names[name.name] = name.text

    def _beside(self, sheet: Sheet) -> None:
        """Comments, charts and cells that somebody put on a sheet of the template."""
        package = self.contents.package
        links = package.relationships(sheet.part).values()
        own = sheet in self.sheets
        for kind, part in links:
            if kind == "comments" and not own:
                for comment in package.tree(part).iter("comment"):
                    text = "".join(comment.itertext()).strip()
                    self.own.words.append(
                        f"the comment at {sheet.name}!{comment.get('ref')}: {text}"
                    )
            elif kind == "drawing" and not own and sheet.name in self.book.workbook.sheetnames:
                links_of_drawing = package.relationships(part).values()
                drawn = sum(kind == "chart" for kind, _ in links_of_drawing)
                ours = len(self.book.workbook.sheetnames[sheet.name].charts)
                if drawn > ours:
                    self.own.words.append(f"{drawn - ours} charts of your own on {sheet.name}")
                if any(True for _ in package.tree(part).iter("sp")):
                    self.own.words.append(f"shapes or text boxes on {sheet.name}")
        if not own and sheet.name != MACROS:
            self._typed_beside(sheet)

    def _typed_beside(self, sheet: Sheet) -> None:
        """Cells without any look: every cell that the template writes has one."""
        areas = [t.placed.area for t in self.reading.tables.values() if t.sheet == sheet.name]
        carried = {
            (t.sheet, column)
            for t in self.reading.tables.values()
            for column in self._right_of(t).values()
        }
        found = [
            f"{cell_name(c.row, c.column)} ({_short(self.contents.value(c))})"
            for c in self.contents.scan(sheet).cells
            if c.style in ("", "0")
            and (c.text or c.formula_start >= 0)
            and not any(area.holds(sheet.name, c.row, c.column) for area in areas)
            and (sheet.name, c.column) not in carried
            and (sheet.name, c.row, c.column) not in self.named.values()
        ]
        if found:
            more = f" and {len(found) - _MOST_LISTED} more" if len(found) > _MOST_LISTED else ""
            self.own.words.append(
                f"cells of your own on {sheet.name}: {', '.join(found[:_MOST_LISTED])}{more}"
            )

    def _looks(self, table: TableInWorkbook) -> None:
        """Input cells that somebody gave another look than the rest of their column."""
        area, cells = table.placed.area, []
        for column in table.places.values():
            rows = range(area.first_row + table.placed.header_rows, area.last_row + 1)
            styles = {row: c.style for row in rows
                      if (c := self.contents.cell_at(table.sheet, row, column))}  # fmt: skip
            usual = Counter(styles.values()).most_common(1)
            cells += [cell_name(r, column) for r, style in styles.items() if style != usual[0][0]]
        if cells:
            self.own.words.append(
                f"the look that you gave to {len(cells)} cells of {table.table.name}, such as"
                f" {cells[0]}"
            )


def _prompted(contents: Contents, table: TableInWorkbook) -> set[int]:
    """Columns whose header tells what it means when it is chosen: those of the template."""
    found: set[int] = set()
    part = next(s.part for s in contents.sheets if s.name == table.sheet)
    for rule in contents.package.tree(part).iter("dataValidation"):
        for reference in rule.get("sqref", "").split():
            area = parse_area(reference, table.sheet)
            if area and area.first_row <= table.header_row <= area.last_row:
                found.update(range(area.first_column, area.last_column + 1))
    return found


def _short(value: Any) -> str:
    text = f"{value:.6g}" if isinstance(value, float) else str(value)
    return text if len(text) <= 30 else text[:27] + "..."


# --- the look of a cell as openpyxl reads it, as properties of an XlsxWriter format ---
_BORDERS = ("thin", "medium", "dashed", "dotted", "thick", "double", "hair", "mediumDashed",
            "dashDot", "mediumDashDot", "dashDotDot", "mediumDashDotDot",
            "slantDashDot")  # fmt: skip
_ACROSS = {"centerContinuous": "center_across"}
_DOWN = {"center": "vcenter", "justify": "vjustify", "distributed": "vdistributed"}


def look_of(cell: Any) -> Look:
    """Font, fill, borders, alignment, number format and lock; theme colours stay automatic."""
    if not cell.has_style:
        return {}
    font, fill, align = cell.font, cell.fill, cell.alignment
    look = {
        "font_name": font.name, "font_size": font.sz, "bold": font.b, "italic": font.i,
        "underline": 1 if font.u else None, "font_strikeout": font.strike,
        "font_color": _colour(font.color),
        "bg_color": _colour(fill.fgColor) if fill.fill_type == "solid" else None,
        "num_format": cell.number_format if cell.number_format != "General" else None,
        "align": _ACROSS.get(align.horizontal or "", align.horizontal),
        "valign": _DOWN.get(align.vertical or "", align.vertical),
        "text_wrap": align.wrap_text, "indent": int(align.indent or 0) or None,
        "rotation": align.textRotation if -90 <= (align.textRotation or 0) <= 90 else None,
        "locked": cell.protection.locked,
    }  # fmt: skip
    for side in ("left", "right", "top", "bottom"):
        line = getattr(cell.border, side)
        if line is not None and line.style in _BORDERS:
            look[side] = _BORDERS.index(line.style) + 1
            look[f"{side}_color"] = _colour(line.color)
    return {name: value for name, value in look.items() if value not in (None, False, "")} | (
        {} if cell.protection.locked else {"locked": False}
    )


def _colour(colour: Any) -> str | None:
    rgb = getattr(colour, "rgb", None)
    return f"#{rgb[-6:]}" if isinstance(rgb, str) and colour.type == "rgb" else None
