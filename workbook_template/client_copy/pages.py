"""The two pages that the client's copy adds: what it is, and the inputs as they were delivered."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from workbook_template.client_copy.cells import Inputs
from workbook_template.kit.book import Book
from workbook_template.kit.declared import SheetFor
from workbook_template.kit.page import Page, write_value
from workbook_template.kit.said import said
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.xlsx.cell_references import Area, quoted_sheet
from xlfuncs.xlsx.contents import CellValue

NOTICE = "inputs changed: ask for an update"
SAID = said("client_copy")
_FACTS = ("client", "site", "prepared_by", "quotation_number", "revision", "quotation_date",
          "plan_date", "currency")  # fmt: skip


class Fact(NamedTuple):
    """What a watched input is, as it was delivered, and the look of its cell."""

    label: str
    value: CellValue
    look: Any = None


def write_about(
    book: Book, name: str, sheets: Sequence[tuple[str, str]], *, live: bool, document: bool,
    consultant: Sequence[str] = (), terms: Sequence[str] = (), changed: Sequence[str] = (),
) -> None:  # fmt: skip
    """The first page: for whom the copy is and by whom, what is in it, how to use it, the terms."""
    settings = book.inputs.settings
    title = str(settings.get("farm") or "This garden")
    page = Page(book, SheetFor(name), title=title, widths=(24, 70), upright=True)
    for setting in SETTINGS:
        if setting.name in _FACTS and (value := settings.get(setting.name)) not in (None, ""):
            page.text(page.row, 0, setting.header, page.styles.strong)
            write_value(page.sheet, page.row, 1, value, page.styles.shown(setting.dimension))
            page.row += 1
    for words in consultant:
        page.text(page.row, 1, words, page.styles.words)
        page.row += 1
    page.row += 1
    for title, *told in [changed] if changed else []:
        page.section(title)
        for words in told:
            page.note(words)
        page.row += 1
    page.section("In this copy")
    for sheet, words in sheets:
        page.sheet.write_url(page.row, 0, f"internal:{quoted_sheet(sheet)}!A1", page.styles.link,
                             sheet)  # fmt: skip
        page.text(page.row, 1, words, page.styles.words)
        page.row += 1
    page.row += 1
    page.section("How to use it")
    told = [*SAID.live, *([SAID.document] if document else [])] if live else [SAID.values_only]
    for words in (*told, SAID.prices):
        page.note(words.format(notice=NOTICE))
    page.row += 1
    if terms:
        page.section("Terms")
        for words in terms:
            page.note(words)
        page.row += 1
    page.cautions()


class DeliveredInputs:
    """The page with every input behind a frozen result, and whether it was changed since.

    `condition` gives the test that a formula resting on frozen results needs. Results that rest
    on the same inputs share one line, which counts the changed ones.
    """

    FIRST_GROUP = 7  # its row

    def __init__(self, name: str, sheet_order: Sequence[str]) -> None:
        self.name = name
        self._order = {sheet: i for i, sheet in enumerate(sheet_order)}
        self._groups: dict[Inputs, list[str]] = {}
        self._rows: dict[Inputs, int] = {}

    def __bool__(self) -> bool:
        return bool(self._groups)

    def condition(self, inputs: Inputs, sheet: str) -> str:
        """The test for a formula of a sheet, which is counted."""
        self._rows.setdefault(inputs, self.FIRST_GROUP + len(self._rows))
        self._groups.setdefault(inputs, []).append(sheet)
        return f"{quoted_sheet(self.name)}!$E${self._rows[inputs]}=0"

    def listed(self) -> list[Area]:
        every = set().union(*self._groups) if self._groups else set()
        return sorted(every, key=self._place)

    def _place(self, area: Area) -> tuple[int, ...]:
        first = self._order[area.sheet], area.first_column
        return (*first, area.single, area.first_row, area.last_row)

    def write(self, book: Book, facts: Mapping[Area, Fact]) -> None:
        """The page; `facts` say what each listed input is."""
        intro = "The inputs behind results that were worked out beforehand."
        page = Page(book, SheetFor(self.name, intro), widths=(16, 12, 34, 26, 12), upright=True)
        page.sheet.print_area(0, 0, self.FIRST_GROUP - 4, 4)  # the lists are for the screen
        page.row = self.FIRST_GROUP - 4
        page.note(
            f'Where one is changed, the results on it show "{NOTICE}"; put the value below back,'
            " and they return."
        )
        page.section("Results, and how many of the inputs behind them were changed")
        page.headers(("Results on", "", "", "", "Changed"))
        listed = self.listed()
        first = self.FIRST_GROUP + len(self._groups) + 3
        rows = {area: first + i for i, area in enumerate(listed)}
        for inputs, sheets in self._groups.items():
            page.text(page.row, 0, _where(sheets))
            runs = _runs(rows[area] for area in inputs)
            page.formula(page.row, 4, f"SUM({runs})", "count")
            page.row += 1
        page.row += 1
        page.section("Inputs behind them")
        page.headers(("Sheet", "Cell", "What", "As delivered", "Changed"))
        for area in listed:
            self._input(page, area, facts[area])

    def _input(self, page: Page, area: Area, fact: Fact) -> None:
        cell = area.address().replace("$", "")
        for col, text in enumerate((area.sheet, cell, fact.label)):
            page.text(page.row, col, text)
        style = page.styles.like(fact.look)
        if isinstance(fact.value, bool):
            page.sheet.write_boolean(page.row, 3, fact.value, style)
        else:
            write_value(page.sheet, page.row, 3, fact.value, style)
        flag = _flag(area, fact.value, f"D{page.row + 1}")
        page.formula(page.row, 4, flag, "text", style=page.styles.changed)
        page.row += 1


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
