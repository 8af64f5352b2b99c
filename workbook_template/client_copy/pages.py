"""The two pages that the client's copy adds: what it is, and the inputs as they were delivered."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from workbook_template.client_copy.cells import CopyCell
from workbook_template.client_copy.inputs import Inputs
from workbook_template.client_copy.markup import HEAD, MAIN, tag, text
from workbook_template.client_copy.sheets import PROTECTION, cell_xml
from workbook_template.client_copy.styles import BAND, HEADER, CopyStyles
from xlfuncs.xlsx.cell_references import Area, cell_name, quoted_sheet
from xlfuncs.xlsx.contents import CellValue
from xlfuncs.xlsx.package import RELATIONSHIPS

NOTICE = "inputs changed: ask for an update"
LETTERS_A_LINE = 105
Fact = tuple[str, CellValue, str]  # what an input is, its value, the format of its cell
_CHANGED = '"changed";;'


@dataclass
class Page:
    """A page written from the top down."""

    widths: Sequence[float]
    cells: dict[tuple[int, int], tuple[str, CopyCell, str]] = field(default_factory=dict)
    heights: dict[int, float] = field(default_factory=dict)
    merged: list[str] = field(default_factory=list)
    links: list[tuple[str, str]] = field(default_factory=list)
    row: int = 1

    def put(self, column: int, value: CellValue, style: str, formula: str = "") -> None:
        self.cells[self.row, column] = (style, CopyCell(value), formula)

    def line(self, values: Sequence[CellValue], style: str) -> None:
        for column, value in enumerate(values, 1):
            self.put(column, value, style)
        self.row += 1

    def words(self, value: str, style: str, lines: int = 0) -> None:
        """A paragraph across the page."""
        last = len(self.widths)
        self.put(1, value, style)
        self.merged.append(f"A{self.row}:{cell_name(self.row, last)}")
        self.heights[self.row] = 13.5 * (lines or 1 + len(value) // LETTERS_A_LINE) + 3
        self.row += 1

    def xml(self, *, protect: bool, first: bool, one_page: bool = False) -> bytes:
        by_row: dict[int, list[str]] = {}
        for (row, column), (style, cell, formula) in sorted(self.cells.items()):
            by_row.setdefault(row, []).append(cell_xml(row, column, style, cell, formula))
        rows = "".join(tag("row", self._row(row), "".join(c)) for row, c in by_row.items())
        cols = "".join(
            tag("col", {"min": str(i), "max": str(i), "width": str(w), "customWidth": "1"})
            for i, w in enumerate(self.widths, 1)
        )
        view = {"showGridLines": "0", "workbookViewId": "0"} | (
            {"tabSelected": "1"} if first else {}
        )
        merged = "".join(tag("mergeCell", {"ref": ref}) for ref in self.merged)
        links = "".join(tag("hyperlink", {"ref": r, "location": place}) for r, place in self.links)
        margins = {"left": "0.6", "right": "0.6", "top": "0.7", "bottom": "0.7", "header": "0.3",
                   "footer": "0.3"}  # fmt: skip
        inside = (
            tag("sheetPr", None, tag("pageSetUpPr", {"fitToPage": "1"}))
            + tag("sheetViews", None, tag("sheetView", view))
            + tag("sheetFormatPr", {"defaultRowHeight": "15"})
            + tag("cols", None, cols)
            + tag("sheetData", None, rows)
            + (tag("sheetProtection", PROTECTION) if protect else "")
            + (tag("mergeCells", {"count": str(len(self.merged))}, merged) if merged else "")
            + (tag("hyperlinks", None, links) if links else "")
            + tag("pageMargins", margins)
            + tag("pageSetup", {"orientation": "portrait", "fitToHeight": str(int(one_page))})
            + tag("headerFooter", None, tag("oddFooter", None, text("&L&A&RPage &P of &N")))
        )
        spaces = {"xmlns": MAIN, "xmlns:r": RELATIONSHIPS}
        return (HEAD + tag("worksheet", spaces, inside)).encode()

    def _row(self, row: int) -> dict[str, str]:
        height = self.heights.get(row)
        sized = {"ht": f"{height:g}", "customHeight": "1"} if height else {}
        return {"r": str(row)} | sized


class DeliveredInputs:
    """The page with every input behind a frozen result, and whether it was changed since.

    `condition` gives the test that a formula resting on frozen results needs. Results that rest
    on the same inputs share one line, which counts the changed ones.
    """

    def __init__(self, name: str, sheet_order: Sequence[str]) -> None:
        self.name = name
        self._order = {sheet: i for i, sheet in enumerate(sheet_order)}
        self._groups: dict[Inputs, list[str]] = {}
        self._rows: dict[Inputs, int] = {}

    def add(self, inputs: Inputs, sheet: str) -> None:
        self._rows.setdefault(inputs, self.FIRST_GROUP + len(self._rows))
        self._groups.setdefault(inputs, []).append(sheet)

    def __bool__(self) -> bool:
        return bool(self._groups)

    FIRST_GROUP = 6  # its row

    def condition(self, inputs: Inputs) -> str:
        return f"{quoted_sheet(self.name)}!$E${self._rows[inputs]}=0"

    def listed(self) -> list[Area]:
        every = set().union(*self._groups) if self._groups else set()
        return sorted(every, key=self._place)

    def _place(self, area: Area) -> tuple[int, ...]:
        first = self._order[area.sheet], area.first_column
        return (*first, area.single, area.first_row, area.last_row)

    def page(self, styles: CopyStyles, facts: dict[Area, Fact]) -> Page:
        """The page; `facts` say what each listed input is."""
        page = Page((16, 12, 34, 26, 12))
        head = styles.page(bold=True, white=True, fill=HEADER)
        plain, right = styles.page(line=True), styles.page(line=True, right=True)
        page.put(1, self.name, styles.page(size=16, bold=True))
        page.heights[1] = 24
        page.row = 2
        page.words(
            "Some results were worked out beforehand. Each knows the inputs behind it: where one "
            f'is changed, the result and every total on it show "{NOTICE}". Put the value below '
            "back, and they return.",
            styles.page(italic=True, wrap=True), lines=2,
        )  # fmt: skip
        page.row = self.FIRST_GROUP - 2
        page.words("Results, and how many of the inputs behind them were changed",
                   styles.page(bold=True, fill=BAND))  # fmt: skip
        page.line(("Results on", "", "", "", "Changed"), head)
        listed = self.listed()
        first = self.FIRST_GROUP + len(self._groups) + 3
        rows = {area: first + i for i, area in enumerate(listed)}
        for inputs, sheets in self._groups.items():
            page.put(1, _where(sheets), plain)
            for column in (2, 3, 4):
                page.put(column, "", plain)
            page.put(5, 0.0, right, f"SUM({_runs(rows[area] for area in inputs)})")
            page.row += 1
        page.row += 1
        page.words("Inputs behind them", styles.page(bold=True, fill=BAND))
        page.line(("Sheet", "Cell", "What", "As delivered", "Changed"), head)
        flag = styles.page(line=True, right=True, number_format=_CHANGED)
        for area in listed:
            label, value, style = facts[area]
            cell = area.address().replace("$", "")
            for column, shown in enumerate((area.sheet, cell, label), 1):
                page.put(column, shown, plain)
            page.put(4, value, styles.listed(style))
            page.put(5, 0.0, flag, _flag(area, value, f"D{page.row}"))
            page.row += 1
        return page


def _flag(area: Area, value: CellValue, delivered: str) -> str:
    """1 where an input is no longer what was delivered; a deleted cell counts as changed."""
    if not area.single:
        same = f"COUNTA({area})={delivered}"
    elif isinstance(value, bool):
        same = f"AND(ISLOGICAL({area}),{area}={delivered})"
    elif isinstance(value, float):
        same = f"AND(ISNUMBER({area}),{area}={delivered})"
    elif isinstance(value, str):
        same = f"EXACT({area},{delivered})"
    else:
        same = f"ISBLANK({area})" if value is None else f"ISERROR({area})"
    return f"IF(IFERROR({same},FALSE),0,1)"


def _runs(rows: Iterable[int]) -> str:
    """Ranges of the flags in some rows."""
    runs: list[list[int]] = []
    for row in sorted(rows):
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    texts = [f"E{a}" if a == b else f"E{a}:E{b}" for a, b in runs]
    most = 200  # arguments; a function takes 255
    parts = [",".join(texts[i : i + most]) for i in range(0, len(texts), most)]
    return parts[0] if len(parts) == 1 else ",".join(f"SUM({part})" for part in parts)


def _where(sheets: list[str]) -> str:
    counted = {name: sheets.count(name) for name in dict.fromkeys(sheets)}
    return ", ".join(f"{name} ({n} cells)" if n > 1 else f"{name} (1 cell)" for name, n in (
        counted.items()
    ))  # fmt: skip
