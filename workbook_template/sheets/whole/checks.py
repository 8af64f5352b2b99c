"""Checks: the one list of all that is wrong, doubtful or worth knowing, each with a link.

What FINDINGS finds in the inputs, and every cell that can warn, has a row of its own beside the
list, out of view: its kind, its words and where it is. The list shows those that have something to
say, worst first; the states on Start count the same rows.
"""

from collections.abc import Iterator, Mapping, Sequence

from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SheetFor
from workbook_template.kit.formulas import (
    Answer,
    Place,
    by_letters,
    cells_above,
    in_row,
)
from workbook_template.kit.page import Page
from workbook_template.kit.said import computed_columns
from workbook_template.sheets.whole.check_rows import Check, checks
from workbook_template.sheets.whole.examples import write_examples
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, KINDS, NOTE, WRONG
from xlfuncs.tables.all_tables import ALL_SECTIONS, TABLES
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.head_assembly import (
    HEAD_PARTS,
    PUMP_CURVES,
    REGULATORS,
    SUPPLIES,
    SUPPLY_IN_USE,
)
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.garden.this_week import BED_NOTES, MONTHLY_WEATHER, WEATHER_LOG
from xlfuncs.tables.money.parts import COUNTING_RULES
from xlfuncs.tables.money.prices import BACKFLOW, PRICES
from xlfuncs.tables.settings import SUPPLY

SHEETS = (
    SheetFor("Checks",
             "What is wrong, doubtful or worth knowing. Click a place to go there; what is put"
             " right leaves the list.", (GROWER, CONSULTANT, BOOKKEEPER)),
)  # fmt: skip

SHOWN = 40
LISTED = "Findings"
FIRST_HIDDEN = 5
# What is looked at together, and how many findings of it are listed.
TOGETHER = (
    ((BEDS, LINES, PIPES, CROPS, BED_PLAN, BED_NOTES, HEAD_PARTS, SUPPLIES, PUMP_CURVES,
      REGULATORS, COUNTING_RULES, PRICES),
     (SUPPLY, SUPPLY_IN_USE, BACKFLOW), 40),
    ((MONTHLY_WEATHER, WEATHER_LOG), (), 10),
)  # fmt: skip
APART = 10  # tables or sections that one call looks at, and findings of it


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(6, 10, 22, 84, 3), upright=True)
    rows = [check for check in checks(book) if check.sheet not in book.aside]
    found = list(_found(book, page))
    rows += [
        Check(f'IF(ISERROR({answer.count}),"inputs could not be looked over","")', page.name, 0, 0,
              kind=WRONG) for answer in found
    ]  # fmt: skip
    number = len(rows) + 1 + sum(answer.rows for answer in found)
    hidden = page.place(LISTED, number, first=page.row + 6, col=FIRST_HIDDEN)
    lost = (
        f'IF(ROWS({hidden.here("n")})<{number},"rows of this list were taken out: undo, or renew"'
    )
    rows.append(Check(f'{lost}&" the workbook","")', page.name, 0, 0, kind=WRONG))
    for column in ("kind", "sheet", "words", "target"):
        book.workbook.define_name(f"findings_{column}", "=" + hidden.reference(column))
    listed = Place(hidden.sheet, hidden.first, hidden.last - len(rows), hidden.columns)
    book.name_columns(listed, {"key": "listed_key", "words": "listed_words"})
    for kind in KINDS:
        page.text(page.row, 1, "notes" if kind == NOTE else kind, page.styles.strong)
        page.formula(page.row, 0, f'COUNTIF(findings_kind,"{kind}")', "count", strong=True)
        book.name(f"checks_{kind}", page.name, page.row, 0)
        if kind == WRONG:
            book.name("checks_missing", page.name, page.row, 2)
        if kind != DOUBTFUL:
            blank = f'COUNTIFS(findings_kind,"{kind}",findings_words,"*{BLANK}")'
            what = "to be filled in" if kind == WRONG else "that may wait: crops, weather, upkeep"
            page.formula(page.row, 2, blank, "count", strong=True)
            words = f"of these are blank cells, {what}"
            page.text(page.row, 3, words, page.styles.shown("text"))
        page.row += 1
    count = f'IF(checks_count=0,"Nothing to put right.",IF(checks_count>{SHOWN},"The first'
    page.text(page.row, 1, "in all", page.styles.strong)
    page.formula(page.row, 0, "+".join(f"checks_{kind}" for kind in KINDS), "count", strong=True)
    book.name("checks_count", page.name, page.row, 0)
    shown = f'{count} {SHOWN} are shown.","Shown below."))'
    page.formula(page.row, 3, shown, "text", style=page.styles.shown("text"))
    page.row += 2
    page.freeze(page.row + 1, 0)
    _rows_out_of_view(book, page, hidden, rows, found)
    headers = (("No.", "count"), ("It is", "text"), ("Where", "text"), ("What", "text"))
    styles = {0: page.styles.number, 1: page.styles.label, 2: page.styles.link}
    start = page.grid(headers, [_shown(hidden)] * SHOWN, styles=styles)
    page.sheet.print_area(0, 0, start + SHOWN - 1, 3)


def _shown(hidden: Place) -> list[str]:
    def of(column: str) -> str:
        return f"INDEX({hidden.here(column)},MATCH({{n}},{hidden.here('order')},0))"

    link = f"HYPERLINK({of('target')},{of('place')})"
    cells = ("{n}", of("kind"), link, of("words"))
    return [f'IF({{n}}>checks_count,"",{cell})' for cell in cells]


def _found(book: Book, page: Page) -> Iterator[Answer]:
    """What FINDINGS finds in the inputs of this workbook, in a few calls."""
    present = {name for name, place in book.places.items()
               if name in book.headings and place.sheet not in book.aside}  # fmt: skip
    sections = {title: place for title, place in book.sections.items()
                if place.sheet not in book.aside}  # fmt: skip

    def call(tables: Sequence[str], titles: Sequence[str], rows: int) -> Answer:
        by_name = {table.name: table for table in TABLES}
        given = [book.span(by_name[name]) for name in tables if name in present]
        given += [sections[title].span("label", "value") for title in titles if title in sections]
        return page.answer(rows, "FINDINGS", "units", *given)

    taken: set[str] = set()
    for tables, settings, rows in TOGETHER:
        names, titles = [t.name for t in tables], [s.title for s in settings]
        if present.intersection(names) or set(titles) & set(sections):
            yield call(names, titles, rows)
        taken |= {*names, *titles}
    rest = [table.name for table in TABLES if table.name in present - taken]
    for i in range(0, len(rest), APART):
        yield call(rest[i : i + APART], (), APART)
    others = [s.title for s in ALL_SECTIONS if s.title in sections and s.title not in taken]
    for i in range(0, len(others), APART):
        yield call((), others[i : i + APART], APART)


def _rows_out_of_view(
    book: Book, page: Page, hidden: Place, rows: list[Check], found: list[Answer]
) -> None:
    at = xl_col_to_name(hidden.columns["n"])
    named = _sheets(book, page, hidden)
    places = _places(book, page, hidden, named)
    last = write_examples(book, page, hidden.first, max(places.columns.values()) + 2)
    page.heads(LISTED, page.row)
    number = hidden.first
    for answer in found:
        formulas = _in_letters(hidden, _of_finding(answer, places))
        for i in range(answer.rows):
            _row(page, hidden, number, formulas, cells_above(at, number - i))
            number += 1
    for check in rows:
        own = cells_above(at, number + 1 - (check.number or 1))
        formulas = _in_letters(hidden, _of_check(check, named[check.sheet]))
        _row(page, hidden, number, formulas, own)
        number += 1
    for col in range(FIRST_HIDDEN, last + 1):
        page.sheet.set_column(col, col, 20, None, {"level": 1, "hidden": True})


def _in_letters(hidden: Place, formulas: dict[str, str]) -> dict[str, str]:
    """The formulas of a row, those that all rows have too, with the cells of its columns."""
    kinds = hidden.here("kind")
    worse = f'IF({{kind}}="{WRONG}",0,checks_{WRONG}+IF({{kind}}="{NOTE}",checks_{DOUBTFUL},0))'
    above = kinds.partition(":")[0] + ":{kind}"
    formulas |= {
        "place": 'IF({kind}="","",{now}&", "&{address})',
        "target": 'IF({kind}="","","#\'"&SUBSTITUTE({now},"\'","\'\'")&"\'!"&{address})',
        "order": f'IF({{kind}}="","",COUNTIF({above},{{kind}})+{worse})',
    }
    return {name: by_letters(formula, hidden) for name, formula in formulas.items()}


def _row(page: Page, hidden: Place, row: int, formulas: dict[str, str], n: str) -> None:
    for column in computed_columns(LISTED):
        formula = n if column.name == "n" else formulas[column.name]
        if formula:
            text = in_row(formula, row, hidden.first, "")
            page.formula(row, hidden.columns[column.name], text, column.dimension,
                         style=page.styles.aside)  # fmt: skip


def _of_check(check: Check, now: str) -> dict[str, str]:
    kind = check.kind[1:] if check.kind.startswith("=") else f'"{check.kind}"'
    cell = f"'{check.sheet}'!{xl_rowcol_to_cell(check.row, check.col)}"
    return {
        "kind": f'IF({{words}}="","",{kind})',
        "words": check.words,
        "sheet": f'IF({{kind}}="","","{check.sheet}")',
        "address": f"ADDRESS(ROW({cell}),COLUMN({cell}),4)",
        "key": check.key,
        "now": f'IF({{kind}}="","",{now})',
    }


def _of_finding(answer: Answer, places: Place) -> dict[str, str]:
    def item(column: str) -> str:
        return answer.item(column)

    def of(column: str) -> str:
        where = f"MATCH({item('place')},{places.here('key')},0)"
        return f"INDEX({places.here(column)},{where})"

    row = f"{of('row')}+{item('row')}"
    column = f"{of('column')}+{item('column')}-1"
    return {
        "kind": f'IFERROR({item("kind")}&"","")',
        "words": f'IF({{kind}}="","",{item("words")})',
        "sheet": f'IF({{kind}}="","",{of("on")})',
        "address": f'IF({{kind}}="","",ADDRESS({row},{column},4))',
        "key": f'IF({{kind}}="","",{item("place")}&" "&{item("row")})',
        "now": f'IF({{kind}}="","",{of("now")})',
    }


def _name_now(sheet: str) -> str:
    """What a sheet is called now: CELL is [book]Sheet in Excel, 'book'#$Sheet in Calc.

    A workbook that was never saved has no file yet: then as it was made. Calc computes CELL anew
    only beside what is always computed anew.
    """
    file = f"CELL(\"filename\",'{sheet}'!$A$1)"
    calc, excel = (f'MID({file},FIND("{mark}",{file})+{len(mark)},31)' for mark in ("#$", "]"))
    return f'IFERROR({calc},IFERROR({excel},"{sheet}"))&T(NOW())'


def _sheets(book: Book, page: Page, hidden: Place) -> dict[str, str]:
    """The cells with the names that the sheets have now, by those that they were made with."""
    col = max(hidden.columns.values()) + 2
    page.text(hidden.first - 1, col, "Sheets now", page.styles.words_strong)
    named = {}
    known = {place.sheet for place in (*book.places.values(), *book.sections.values(), *book.grids)}
    for number, sheet in enumerate(sorted({page.name, *known} - book.aside), hidden.first):
        page.remark(number, col, _name_now(sheet))
        named[sheet] = xl_rowcol_to_cell(number, col, row_abs=True, col_abs=True)
    return named


def _places(book: Book, page: Page, hidden: Place, named: Mapping[str, str]) -> Place:
    """Where each table begins and each setting stands, live, whatever is put in above them."""
    cells = {name: (place.sheet, place.first - 1, min(place.columns.values()))
             for name, place in book.places.items() if name in book.headings}  # fmt: skip
    settings = [setting.name for section in ALL_SECTIONS for setting in section.settings]
    cells |= {name: book.names[name] for name in settings if name in book.names}
    there = {key: at for key, at in cells.items() if at[0] not in book.aside}
    places = page.place("places of inputs", len(there), first=hidden.first,
                        col=max(hidden.columns.values()) + 4)  # fmt: skip
    page.heads("places of inputs", hidden.first - 1)
    for number, (key, (sheet, row, at)) in enumerate(there.items(), hidden.first):
        cell = f"'{sheet}'!{xl_rowcol_to_cell(row, at)}"
        page.text(number, places.columns["key"], key, page.styles.aside)
        page.text(number, places.columns["on"], sheet, page.styles.aside)
        page.remark(number, places.columns["now"], named[sheet])
        for part, function in (("row", "ROW"), ("column", "COLUMN")):
            page.formula(number, places.columns[part], f"{function}({cell})", "count",
                         style=page.styles.aside)  # fmt: skip
    return places
