"""Pages for paper, of values alone: a heading, words, lists whose headers repeat, a footer."""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import Any

import xlsxwriter

from workbook_template.build import Built, edition_named
from workbook_template.kit.book import WORKINGS
from workbook_template.kit.fitting import fit
from workbook_template.kit.paper import NAMED
from workbook_template.kit.style import Styles
from workbook_template.print_findings import BEARING, first_lines, found_in
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.our_tables.read_inputs import INVENTED_WORDS

PAPERS = {"letter": 1, "a4": 9}
BOX = "☐"
WIDTHS = {"Meaning": 90, "What Checks says": 80, "Beds": 36, "Notes": 36, "Bed": 14, "Set": 12,
          "Station": 9, "Program": 9, "Length of each": 14, "Then left on roll": 16,
          "Start times": 13, "Days": 20, "Valve": 8, "Value": 20, "Kind": 16,
          "Sheet": 13, "Where": 14, "It is": 12, "Counted by": 17, "Only for line": 12,
          "Winter": 16, "Why": 60}  # fmt: skip
Header = tuple[str, str]  # words and dimension
Rows = Sequence[Sequence[Any]]


@dataclass
class Pages:
    """A set that is being written, a worksheet a page or more."""

    built: Built
    system: str
    paper: str
    name: str  # of the set
    edition: str  # that the workbook has

    def __post_init__(self) -> None:
        self.content = BytesIO()
        self.missing: list[str] = []  # pages that there are not, and why
        self.workbook = xlsxwriter.Workbook(self.content, {"in_memory": True})
        self.styles = Styles(self.workbook, self.system)
        self.farm = str(self.built.named("farm") or "Garden")
        self.shown = edition_named(self.edition).shown
        self.findings = found_in(self.built, self.shown)
        self.unread = [r["bed"] for r in self.built.rows("Beds") if r["counted"] == "no"]

    def done(self, title: str) -> bytes:
        texts = list(self.workbook.str_table.string_table)
        for sheet in self.workbook.worksheets():
            fit(sheet, self.styles, texts)
        self.workbook.set_properties({"title": f"{self.farm}: {title}", "author": self.farm,
                                      "subject": "Drip irrigation of vegetable beds"})  # fmt: skip
        self.workbook.close()
        return self.content.getvalue()

    def sheet(self, title: str, columns: int, *, lying: bool = False) -> tuple[Any, int]:
        """A worksheet with its heading, and its first free row."""
        sheet = self.workbook.add_worksheet()  # a shop's name may hold what a sheet's may not
        sheet.hide_gridlines(2)
        (sheet.set_landscape if lying else sheet.set_portrait)()
        sheet.set_paper(PAPERS[self.paper])
        sheet.set_margins(0.5, 0.5, 0.6, 0.7)
        sheet.fit_to_pages(1, 0)
        named = {n: self.built.named(n) for n in ("plan_date", "revision")}
        revision = f", revision {named['revision']:.0f}" if named["revision"] else ""
        date = named["plan_date"] or ""
        day = date.date().isoformat() if hasattr(date, "date") else str(date)[:10]
        # A digit right behind the size would be read as part of it, hence the spaces.
        farm = self.farm[:NAMED].replace("&", "&&")
        sheet.set_footer(f"&L&10 {farm}&C&10 {title[:NAMED]}&R&10 {day}{revision}, page &P of &N",
                         {"scale_with_doc": False})  # fmt: skip
        sheet.write_string(0, 0, f"{self.farm}: {title}", self.styles.title)
        row = 1
        if self.built.inputs.invented:
            sheet.write_string(row, 0, INVENTED_WORDS, self.styles.aside)
            row += 1
        if len(self.workbook.worksheets()) == 1:
            for words in first_lines(self.findings, self.name):
                row = self.words(sheet, row, columns, words, self.styles.words_strong)
        if self.unread and self.name in BEARING:
            words = f"Without {', '.join(self.unread)} (cannot be read on Beds; see Checks)."
            row = self.words(sheet, row, columns, words, self.styles.words_strong)
        return sheet, row + 1

    def sheet_of(self, name: str) -> str:
        """Where the workbook has what stands on a sheet that its edition may lack."""
        return name if name in self.shown else WORKINGS

    def words(self, sheet: Any, row: int, columns: int, text: str, style: Any = None) -> int:
        sheet.merge_range(row, 0, row, max(columns - 1, 1), text, style or self.styles.note)
        return row + 1

    def rows(self, sheet: Any, row: int, headers: Sequence[Header], rows: Rows) -> int:
        """A list, its columns without anything left out; gives the next free row."""
        filled = [any(line[i] not in (None, "", "–") for line in rows) for i in range(len(headers))]
        kept = [i for i, (words, _) in enumerate(headers) if words == BOX or filled[i]]
        for col, i in enumerate(kept):
            words, dimension = headers[i]
            unit = DIMENSIONS[dimension].unit(self.system)
            sheet.write_string(row, col, f"{words} ({unit})" if unit else words,
                               self.styles.header)  # fmt: skip
            style = self.styles.result(dimension)
            width = 4 if words == BOX else WIDTHS.get(words, 24) if dimension == "text" else 10
            sheet.set_column(col, col, width)
            for below, line in enumerate(rows, row + 1):
                self._value(sheet, below, col, line[i], style)
        sheet.repeat_rows(row)
        return row + len(rows) + 2

    def _value(self, sheet: Any, row: int, col: int, value: Any, style: Any) -> None:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            sheet.write_number(row, col, value, style)
        elif hasattr(value, "year"):
            sheet.write_datetime(row, col, value, self.styles.result("date"))
        else:
            words = {True: "yes", False: "no", None: "", "–": ""}.get(value, str(value))
            sheet.write_string(row, col, words, style)
