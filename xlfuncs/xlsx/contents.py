"""What a workbook holds: its sheets and their cells, defined names and tables."""

import re
from datetime import datetime
from functools import cached_property
from typing import NamedTuple
from xml.etree import ElementTree

from xlfuncs.errors import CellError, WorkbookError
from xlfuncs.xlsx.cell_references import Area, parse_area
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.sheet_cells import Cell, SheetScan, scan_sheet

CellValue = float | bool | str | CellError | None

_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")
_SURROGATE = re.compile("[\ud800-\udfff]")
_EPOCH_1900 = datetime(1899, 12, 30)
_EPOCH_1904 = datetime(1904, 1, 1)


class Sheet(NamedTuple):
    name: str
    part: str
    home: str = ""  # the sheet whose cells its formulas read, where that is not their own


class ExcelTable(NamedTuple):
    """An Excel table; `area` covers its header and total rows too."""

    name: str
    area: Area
    columns: tuple[str, ...]
    header_rows: int
    total_rows: int
    part: str = ""  # of the package


class DefinedName(NamedTuple):
    name: str
    text: str  # the formula without its equals sign
    sheet: str | None  # None: the whole workbook


class Contents:
    """The parts of a package that a calculation needs; cells are read on first use."""

    def __init__(self, package: Package) -> None:
        self.package = package
        self.workbook_part = self._find_workbook()
        self._workbook = package.tree(self.workbook_part)
        self._links = package.relationships(self.workbook_part)
        properties = self._workbook.find("workbookPr")
        self.dates_from_1904 = _true(properties.get("date1904") if properties is not None else None)
        self.sheets = self._read_sheets()
        self.names = self._read_names()
        self._scans: dict[str, SheetScan] = {}
        self._cells: dict[str, dict[tuple[int, int], Cell]] = {}

    def _find_workbook(self) -> str:
        for kind, target in self.package.relationships("").values():
            if kind == "officeDocument":
                if target.lower().endswith(".bin"):
                    raise WorkbookError(f"{self.package.name}: a binary .xlsb; save it as .xlsx")
                return target
        raise WorkbookError(f"{self.package.name}: holds no workbook")

    def _read_sheets(self) -> list[Sheet]:
        found = []
        for element in self._workbook.iterfind("sheets/sheet"):
            kind, part = self._links.get(element.get("r:id", ""), ("", ""))
            if kind == "worksheet":  # chart sheets and dialog sheets hold no cells
                found.append(Sheet(element.get("name", ""), part))
        return found

    def _read_names(self) -> list[DefinedName]:
        order = [element.get("name", "") for element in self._workbook.iterfind("sheets/sheet")]
        found = []
        for element in self._workbook.iterfind("definedNames/definedName"):
            local = element.get("localSheetId")
            scope = order[int(local)] if local and int(local) < len(order) else None
            found.append(DefinedName(element.get("name", ""), element.text or "", scope))
        return found

    @property
    def hidden_sheets(self) -> set[str]:
        """Names of the sheets that are hidden, in either way."""
        sheets = self._workbook.iterfind("sheets/sheet")
        return {s.get("name", "") for s in sheets if s.get("state", "visible") != "visible"}

    @property
    def recalculates_on_opening(self) -> bool:
        """Whether the workbook asks for a full calculation whenever it is opened."""
        properties = self._workbook.find("calcPr")
        return properties is not None and _true(properties.get("fullCalcOnLoad"))

    @cached_property
    def tables(self) -> dict[str, ExcelTable]:
        """Tables by their lower-case name."""
        found = {}
        for sheet in self.sheets:
            for kind, part in self.package.relationships(sheet.part).values():
                if kind == "table":
                    table = _read_table(self.package.tree(part), sheet.name, part)
                    found[table.name.lower()] = table
        return found

    def related(self, kind: str) -> str:
        """The part of that kind that belongs to the workbook; '' when there is none."""
        for found, part in self._links.values():
            if found == kind and self.package.has(part):
                return part
        return ""

    @cached_property
    def shared_strings(self) -> list[str]:
        part = self.related("sharedStrings")
        if not part:
            return []
        return [_plain_text(item) for item in self.package.tree(part) if item.tag == "si"]

    def sheet(self, name: str) -> Sheet:
        for sheet in self.sheets:
            if sheet.name.lower() == name.lower():
                return sheet
        names = ", ".join(sheet.name for sheet in self.sheets)
        raise WorkbookError(f"{self.package.name}: no sheet {name!r}; there are: {names}")

    def scan(self, sheet: Sheet) -> SheetScan:
        if sheet.part not in self._scans:
            content = self.package.read(sheet.part)
            self._scans[sheet.part] = scan_sheet(content, f"{self.package.name}: {sheet.name}")
        return self._scans[sheet.part]

    def cell_at(self, sheet: str, row: int, column: int) -> Cell | None:
        """The cell at a place of a sheet (its exact name); None where nothing is stored."""
        if sheet not in self._cells:
            found = next((s for s in self.sheets if s.name == sheet), None)
            cells = self.scan(found).cells if found is not None else []
            self._cells[sheet] = {(cell.row, cell.column): cell for cell in cells}
        return self._cells[sheet].get((row, column))

    def value(self, cell: Cell) -> CellValue:
        """The stored value of a cell: what was typed, or what a formula last gave."""
        if cell.text is None:
            return None
        try:
            return self._value(cell.kind, cell.text)
        except (ValueError, IndexError):
            words = f"{self.package.name}: cell in row {cell.row}, column {cell.column} "
            words += f"holds {cell.text[:40]!r}, which is no value of kind {cell.kind!r}"
            raise WorkbookError(words) from None

    def _value(self, kind: str, text: str) -> CellValue:
        if kind == "n" and text.strip():
            return float(text)
        if kind == "s":
            return self.shared_strings[int(text)]
        if kind in ("str", "inlineStr"):
            return unescaped(text)
        if kind == "b":
            return text.strip() in ("1", "true")
        if kind == "e":
            return cell_error(text)
        if text.strip() == "":
            return None
        if kind == "d":
            return self.serial(datetime.fromisoformat(text))
        return float(text)

    def serial(self, moment: datetime) -> float:
        """The number that stands for a date in this workbook."""
        since = moment.replace(tzinfo=None) - (_EPOCH_1904 if self.dates_from_1904 else _EPOCH_1900)
        return since.days + since.seconds / 86400


def cell_error(text: str) -> CellError:
    """The error a cell shows; kinds outside the list (#SPILL!, #CALC! ...) read as #VALUE!."""
    try:
        return CellError(text)
    except ValueError:
        return CellError.VALUE


def unescaped(text: str) -> str:
    """Text with `_x000D_` turned into the character that it stands for.

    Two that make one character (UTF-16's surrogates) become it; one alone becomes U+FFFD.
    """
    if "_x" not in text:
        return text
    found = _ESCAPED.sub(lambda match: chr(int(match[1], 16)), text)
    if found.isascii() or not _SURROGATE.search(found):
        return found
    return found.encode("utf-16-le", "surrogatepass").decode("utf-16-le", "replace")


def _plain_text(item: ElementTree.Element) -> str:
    direct = [child.text or "" for child in item if child.tag == "t"]
    runs = [t.text or "" for run in item if run.tag == "r" for t in run if t.tag == "t"]
    return unescaped("".join(direct or runs))


def _read_table(root: ElementTree.Element, sheet: str, part: str) -> ExcelTable:
    area = parse_area(root.get("ref", ""), sheet)
    name = root.get("displayName") or root.get("name") or ""
    if area is None or not name:
        raise WorkbookError(f"{part}: a table without a name or place")
    columns = tuple(
        unescaped(column.get("name", "")) for column in root.iterfind("tableColumns/tableColumn")
    )
    header_rows = int(root.get("headerRowCount", "1"))
    return ExcelTable(name, area, columns, header_rows, int(root.get("totalsRowCount", "0")), part)


def _true(text: str | None) -> bool:
    return text in ("1", "true", "on")
