"""Checks: the one list of all that is wrong, doubtful or worth knowing, each with a link.

What FINDINGS finds in the inputs, and every cell that can warn, has a row of its own beside the
list, out of view: its kind, its words and where it is. The list shows those that have something to
say, worst first; the states on Start count the same rows.
"""

from collections.abc import Iterator, Mapping, Sequence

from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SheetFor
from workbook_template.kit.formulas import Answer, Place, by_letters, cells_above, in_row
from workbook_template.kit.page import Page
from workbook_template.kit.said import computed_columns
from workbook_template.sheets.whole.check_rows import Check, checks
from workbook_template.sheets.whole.examples import write_examples
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, KINDS, NOTE, WRONG
from xlfuncs.tables.all_tables import ALL_SECTIONS, TABLES
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS
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
from xlfuncs.tables.settings import PLACE_AND_SEASON, SUPPLY

SHEETS = (
    SheetFor("Checks",
             "What is wrong, doubtful or worth knowing. Click a place to go there; what is put"
             " right leaves the list.", (GROWER, CONSULTANT, BOOKKEEPER)),
)  # fmt: skip

SHOWN = 40
LISTED, SHOWN_ROWS, SHEETS_NOW = "Findings", "findings shown", "sheets now"
FIRST_HIDDEN = 5
# What is looked at together, and how many findings of it are listed.
TOGETHER = (
    ((BEDS, LINES, PIPES, CROPS, SOILS, BED_PLAN, BED_NOTES, HEAD_PARTS, SUPPLIES, PUMP_CURVES,
      REGULATORS, COUNTING_RULES, PRICES),
     (SUPPLY, SUPPLY_IN_USE, PLACE_AND_SEASON, BACKFLOW), 40),
    ((MONTHLY_WEATHER, WEATHER_LOG), (), 10)
)  # fmt: skip
# Names for settings among them, by which the call stays short.
NAMED = {SUPPLY.title: "tap_list", PLACE_AND_SEASON.title: "place_list",
         BACKFLOW.title: "preventer_list"}  # fmt: skip
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
    said = "rows of this list were taken out: undo, or renew the workbook"
    lost = f'IF(ROWS({hidden.here("n")})<{number},"{said}","")'
    rows.append(Check(lost, page.name, 0, 0, kind=WRONG))
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
    last = _shown(page, hidden, _behind(book.places["invented rows"]))
    for col in range(FIRST_HIDDEN, last + 1):
        page.sheet.set_column(col, col, 20, None, {"level": 1, "hidden": True})


def _shown(page: Page, hidden: Place, col: int) -> int:
    """The list: of each kind the finding that comes next after those above it; what finds them
    begins in `col`. Gives its last column."""
    headers = (("No.", "count"), ("It is", "text"), ("Where", "text"), ("What", "text"))
    styles = {0: page.styles.number, 1: page.styles.label, 2: page.styles.link}
    number, kind, top = "$A{row}", "$B{row}", page.row
    at = page.place(SHOWN_ROWS, SHOWN, col=col)
    here = by_letters("{at}", at)
    target = f"INDEX(findings_target,{here})"
    where = f"""SUBSTITUTE(SUBSTITUTE(MID({target},3,99),"''","'"),"'!",", ")"""
    by_rank = f'IF({number}<=checks_{WRONG}+checks_{DOUBTFUL},"{DOUBTFUL}","{NOTE}")'
    cells = ('IF({n}>checks_count,"",{n})', *(f'IF({number}="","",{cell})' for cell in (
        f'IF({number}<=checks_{WRONG},"{WRONG}",{by_rank})', f"HYPERLINK({target},{where})",
        f"INDEX(findings_words,{here})"
    )))  # fmt: skip
    start = page.grid(headers, [cells] * SHOWN, styles=styles)
    page.sheet.print_area(0, 0, start + SHOWN - 1, 3)
    page.row = top
    above = by_letters("{number-1}", at)
    last = f"_xlfn.MAXIFS({at.head('number')}:{above},B${at.first}:B{{row-1}},{kind})"
    numbers, kinds = hidden.here("number"), hidden.here("kind")
    following = f'_xlfn.MINIFS({numbers},{kinds},{kind},{numbers},">"&{last})'
    cells_of = {"number": following, "at": f"MATCH({{number}},{numbers},0)",
                "sheet": "INDEX(findings_sheet,{at})"}  # fmt: skip
    page.block(SHOWN_ROWS, {
        name: f'IF({number}="","",{cell})' for name, cell in cells_of.items()
    }, SHOWN, col=col, styles=dict.fromkeys(cells_of, page.styles.aside))  # fmt: skip
    page.book.name_columns(at, {"at": "shown_findings", "sheet": "shown_sheets"})
    return max(at.columns.values())


def _behind(place: Place) -> int:
    """The first column behind a block, with one between them."""
    return max(place.columns.values()) + 2


def _found(book: Book, page: Page) -> Iterator[Answer]:
    """What FINDINGS finds in the inputs of this workbook, in a few calls."""
    present = {name for name, place in book.places.items()
               if name in book.headings and place.sheet not in book.aside}  # fmt: skip
    sections = {title: place for title, place in book.sections.items()
                if place.sheet not in book.aside}  # fmt: skip

    def named(title: str) -> str:
        cells = sections[title].span("label", "value")
        if name := NAMED.get(title):
            book.workbook.define_name(name, f"={cells}")
        return name or cells

    def call(tables: Sequence[str], titles: Sequence[str], rows: int) -> Answer:
        by_name = {table.name: table for table in TABLES}
        given = [book.span(by_name[name]) for name in tables if name in present]
        given += [named(title) for title in titles if title in sections]
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
    leads, places = _sheets(book, page, hidden), _places(book, page, hidden)
    write_examples(book, page, hidden.first, _behind(places))
    page.heads(LISTED, page.row)
    number = hidden.first
    now = book.places[SHEETS_NOW]
    for answer in found:
        formulas = _in_letters(_of_finding(answer, places, now), hidden)
        for i in range(1, answer.rows + 1):
            _row(page, hidden, number, formulas, i)
            number += 1
    for check in rows:
        page.text(number, hidden.columns["sheet"], check.sheet, page.styles.aside)
        formulas = _of_check(check, leads[check.sheet])
        if check.number:
            formulas["n"] = cells_above(at, number + 1 - check.number)
        _row(page, hidden, number, _in_letters(formulas, hidden))
        number += 1


def _in_letters(formulas: Mapping[str, str], hidden: Place) -> dict[str, str]:
    return {name: by_letters(formula, hidden) for name, formula in formulas.items()}


def _row(page: Page, hidden: Place, row: int, formulas: Mapping[str, str], number: int = 1) -> None:
    """A row of the list out of view; its number in the table or answer, if no formula counts it."""
    for name, constant in {"n": number, "number": row - hidden.first + 1}.items():
        page.sheet.write_number(row, hidden.columns[name], constant, page.styles.aside)
    for column in computed_columns(LISTED):
        if formula := formulas.get(column.name):
            text = in_row(formula, row, hidden.first, "")
            page.formula(row, hidden.columns[column.name], text, column.dimension,
                         style=page.styles.aside)  # fmt: skip


def _of_check(check: Check, lead: str) -> dict[str, str]:
    kind = check.kind[1:] if check.kind.startswith("=") else f'"{check.kind}"'
    cell = f"'{check.sheet}'!{xl_rowcol_to_cell(check.row, check.col)}"
    return {
        "kind": f'IF({{words}}="","",{kind})',
        "words": check.words,
        "key": check.key,
        "target": f'IF({{kind}}="","",{lead}&ADDRESS(ROW({cell}),COLUMN({cell}),4))',
    }


def _of_finding(answer: Answer, places: Place, leads: Place) -> dict[str, str]:
    def item(column: str) -> str:
        return answer.item(column, "{n}")

    def of(column: str) -> str:
        return f"INDEX({places.here(column)},{{at}})"

    lead = f"INDEX({leads.here('lead')},MATCH({{sheet}},{leads.here('made')},0))"
    cell = f"{of('row')}+{item('row')},{of('column')}+{item('column')}-1"
    cells = {
        "words": item("words"),
        "target": f"{lead}&ADDRESS({cell},4)",
        "sheet": of("on"),
        "key": f'{item("place")}&" "&{item("row")}',
        "at": f"MATCH({item('place')},{places.here('key')},0)",
    }
    said = {name: f'IF({{kind}}="","",{formula})' for name, formula in cells.items()}
    return {"kind": f'IFERROR({item("kind")}&"","")', **said}


def _name_now(sheet: str) -> str:
    """What a sheet is called now: CELL is [book]Sheet in Excel, 'book'#$Sheet in Calc.

    A workbook that was never saved has no file yet: then as it was made. Calc computes CELL anew
    only beside what is always computed anew.
    """
    file = f"CELL(\"filename\",'{sheet}'!$A$1)"
    calc, excel = (f'MID({file},FIND("{mark}",{file})+{len(mark)},31)' for mark in ("#$", "]"))
    return f'IFERROR({calc},IFERROR({excel},"{sheet}"))&T(NOW())'


def _sheets(book: Book, page: Page, hidden: Place) -> dict[str, str]:
    """Cells with how links to a sheet begin now, by the names that the sheets were made with."""
    known = {place.sheet for place in (*book.places.values(), *book.sections.values(), *book.grids)}
    sheets = sorted({page.name} | known - book.aside)
    place = page.place(SHEETS_NOW, len(sheets), first=hidden.first, col=_behind(hidden))
    page.heads(SHEETS_NOW, hidden.first - 1)
    leads = {}
    for number, sheet in enumerate(sheets, hidden.first):
        at = place.columns
        now = xl_rowcol_to_cell(number, at["now"])
        leads[sheet] = xl_rowcol_to_cell(number, at["lead"], row_abs=True, col_abs=True)
        page.text(number, at["made"], sheet, page.styles.aside)
        page.remark(number, at["now"], _name_now(sheet))
        page.remark(number, at["lead"], f"""\"#'\"&SUBSTITUTE({now},\"'\",\"''\")&\"'!\"""")
    return leads


def _places(book: Book, page: Page, hidden: Place) -> Place:
    """Where each table begins and each setting stands, live, whatever is put in above them."""
    cells = {name: (place.sheet, place.first - 1, min(place.columns.values()))
             for name, place in book.places.items() if name in book.headings}  # fmt: skip
    settings = [setting.name for section in ALL_SECTIONS for setting in section.settings]
    cells |= {name: book.names[name] for name in settings if name in book.names}
    there = {key: at for key, at in cells.items() if at[0] not in book.aside}
    places = page.place("places of inputs", len(there), first=hidden.first,
                        col=_behind(book.places[SHEETS_NOW]))  # fmt: skip
    page.heads("places of inputs", hidden.first - 1)
    for number, (key, (sheet, row, at)) in enumerate(there.items(), hidden.first):
        cell = f"'{sheet}'!{xl_rowcol_to_cell(row, at)}"
        page.text(number, places.columns["key"], key, page.styles.aside)
        page.text(number, places.columns["on"], sheet, page.styles.aside)
        for part, function in (("row", "ROW"), ("column", "COLUMN")):
            page.formula(number, places.columns[part], f"{function}({cell})", "count",
                         style=page.styles.aside)  # fmt: skip
    return places
