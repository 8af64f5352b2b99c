"""Checks: everything that the sheets warn of, in words, each with a link to its cell.

Every cell that can warn has a row of its own beside the list, out of view: its words, or nothing.
The list shows those that have something to say.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from xlsxwriter.utility import xl_col_to_name, xl_rowcol_to_cell

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SheetFor
from workbook_template.kit.formulas import GridColumn, Place, by_letters, cells_above, in_row
from workbook_template.kit.page import Page
from workbook_template.sheets.garden.field_check import POOR, TOLERANCE
from workbook_template.sheets.garden.layout import LINE_ADVICE
from workbook_template.sheets.water.pressure import PRESSURE_FINDINGS
from xlfuncs.tables.garden.field_check import CATCH_TESTS, FIELD_CHECKS
from xlfuncs.tables.settings import SECTIONS

SHEETS = (SheetFor("Checks", (GROWER, CONSULTANT, BOOKKEEPER)),)

SHOWN = 40
FIRST_HIDDEN = 5
OUT_OF_VIEW = (
    GridColumn("words", "Words", "text"), GridColumn("number", "Number", "count"),
    GridColumn("target", "Target", "text"), GridColumn("place", "Place", "text"),
)  # fmt: skip
# Cells with the words of INPUT_CHECK, by their defined names, and what they are about.
STATES = (
    ("layout_state", "Lines compared"), ("line_advice_state", "Lines and soil"),
    ("bed_need_state", "Need of the beds"), ("timer_state", "Timer"),
    ("head_state", "Head assembly"), ("pressure_state", "Pressure"),
    ("design_state", "Pressure, what to change"), ("purchase_check", "Purchase"),
    ("plan_check", "Replacements"),
    ("water_charge_check", "Water bill"), ("quotation_check", "Quotation"),
    ("meter_check", "Water meter"), ("store_check", "Store"), ("years_check", "Years"),
    ("water_bills_check", "Water bills"),
)  # fmt: skip
# Cells that count what is wrong, and what they count.
COUNTS = (
    ("head_limits_broken", "Limits of parts of the head assembly that are broken"),
    ("beds_not_solved", "Beds whose pressure cannot be solved; see the folded columns of Beds"),
    ("beds_with_too_little", "Beds that get too little from the valve that they share"),
    ("beds_with_too_much", "Beds that get too much from the valve that they share"),
    ("crops_with_too_little", "Beds whose crops want more this month than their valve gives; open"
     " them longer, or by a valve of their kind"),
    ("crops_with_too_much", "Beds whose crops want less this month than their valve gives; shut"
     " them earlier"),
    ("sets_over_supply", "Sets that want more than the flow to plan with; part their beds"),
    ("sets_by_hand", "Sets without a station in the timer, to be opened by hand"),
    ("entries_to_correct", "Entries left out of the sums; see Check in each row"),
    ("entries_twice", "Entries that are in the sums and perhaps entered twice; see Check in a row"),
)  # fmt: skip
SELDOM = "the soil of its roots does not last from one watering to the next; water more often"


@dataclass(frozen=True)
class Check:
    """A cell that can warn: the formula of the words ('' where there is nothing), and its place."""

    words: str
    sheet: str
    row: int
    col: int
    number: int = 0  # of its row in a table, which stands in the words as {n}


def write(book: Book) -> None:
    page = Page(
        book, "Checks", "Checks",
        "What is missing, wrong or doubtful. Click a place to go there; what is"
        " put right leaves the list.",
        widths=(6, 22, 92, 3, 3, 30, 6, 20, 20),
    )  # fmt: skip
    checks = [check for check in _checks(book) if check.sheet not in book.aside]
    page.portrait()
    hidden = Place.of(page.name, OUT_OF_VIEW, page.row + 4, len(checks), FIRST_HIDDEN)
    page.text(page.row, 1, "to put right", page.styles.strong)
    numbers = hidden.here("number", fixed=False)
    page.formula(page.row, 0, f"MAX({numbers})", "count", strong=True)
    book.name("checks_count", page.name, page.row, 0)
    page.row += 1
    more = f'IF(checks_count=0,"Nothing to put right.",IF(checks_count>{SHOWN},"The first {SHOWN}'
    page.formula(page.row, 1, f'{more} are shown.","Shown below."))', "text",
                 style=page.styles.aside)  # fmt: skip
    page.row += 2
    page.freeze(page.row + 1, 0)
    _rows_out_of_view(page, checks, hidden)
    headers = (("No.", "count"), ("Where", "text"), ("What", "text"))
    rows = [_shown(hidden)] * SHOWN
    start = page.grid(headers, rows, styles={0: page.styles.number, 1: page.styles.link})
    page.sheet.print_area(0, 0, start + SHOWN - 1, 2)


def _shown(hidden: Place) -> list[str]:
    def of(column: str) -> str:
        return f"INDEX({hidden.here(column)},MATCH({{n}},{hidden.here('number')},0))"

    link = f"HYPERLINK({of('target')},{of('place')})"
    return [
        'IF({n}>checks_count,"",{n})',
        f'IF({{n}}>checks_count,"",{link})',
        f'IF({{n}}>checks_count,"",{of("words")})',
    ]


def _rows_out_of_view(page: Page, checks: list[Check], hidden: Place) -> None:
    for i, column in enumerate(OUT_OF_VIEW):
        page.text(page.row, FIRST_HIDDEN + i, column.header, page.styles.words_strong)
    number = by_letters('N({number-1})+IF({words}="",0,1)', hidden)
    for row, check in enumerate(checks, page.row + 1):
        cell = xl_rowcol_to_cell(check.row, check.col)
        letters = xl_col_to_name(FIRST_HIDDEN)
        own = cells_above(letters, row + 1 - check.number, row)
        words = in_row(check.words, row, row + 1 - check.number, own)
        page.formula(row, FIRST_HIDDEN, words, "text", style=page.styles.aside)
        page.formula(row, FIRST_HIDDEN + 1, in_row(number, row, hidden.first, ""), "count",
                     style=page.styles.aside)  # fmt: skip
        page.text(row, FIRST_HIDDEN + 2, f"#'{check.sheet}'!{cell}", page.styles.aside)
        page.text(row, FIRST_HIDDEN + 3, f"{check.sheet}, {cell}", page.styles.aside)
    for col in range(FIRST_HIDDEN, FIRST_HIDDEN + 4):
        page.sheet.set_column(col, col, 20, None, {"level": 1, "hidden": True})


def _of_input_check(words: str) -> str:
    """Whether words begin with the name of a function, as those of INPUT_CHECK do."""
    return f'AND({words}<>"",EXACT(LEFT({words},4),UPPER(LEFT({words},4))))'


def _plain(words: str) -> str:
    """Such words without the name in front."""
    return f'MID({words},FIND(": ",{words})+2,400)'


def _checks(book: Book) -> Iterator[Check]:
    for section in SECTIONS:
        for setting in section.settings:
            if setting.required:
                words = f'IF({setting.name}="","{setting.header}: not given yet","")'
                yield _at_name(book, setting.name, words)
    yield from _beds(book)
    yield from _plan(book)
    yield from _lines(book)
    yield from _pressure(book)
    yield from _parts(book)
    yield from _rules(book)
    yield from _prices(book)
    yield from _measured(book)
    for name, about in STATES:
        words = f'IF({_of_input_check(name)},"{about}: "&{_plain(name)},"")'
        yield _at_name(book, name, words)
    for name, words in COUNTS:
        yield _at_name(book, name, f'IF(N({name})>0,"{words}: "&{name},"")')


def _at_name(book: Book, name: str, words: str) -> Check:
    return Check(words, *book.names[name])


def _of(book: Book, table: str, *columns: str) -> list[str]:
    """The cells of some columns in a formula that stands for every row of a table."""
    named, place = table in book.headings, book.places[table]
    cells = (book.column(table, c) if named else place.reference(c) for c in columns)
    return [f"INDEX({column},{{n}})" for column in cells]


def _each(book: Book, table: str, column: str, words: str) -> Iterator[Check]:
    """The same words for every row of a table, of a cell in `column`."""
    place = book.places[table]
    for i in range(place.rows):
        yield Check(words, place.sheet, place.first + i, place.columns[column], i + 1)


def _beds(book: Book) -> Iterator[Check]:
    bed, check, fill = _of(book, "Beds", "bed", "check", "fill_check")
    words = f'IF(OR({check}="",{check}="ok"),"",{bed}&": "&{check})'
    yield from _each(book, "Beds", "check", words)
    words = f'IF(OR({fill}="",{fill}="ok"),"",{bed}&": "&{_plain(fill)})'
    yield from _each(book, "Beds", "bed", words)  # the words are folded away
    names = book.column("Beds", "bed")
    twice = f'IF({bed}="","",IF(COUNTIF({names},{bed})>1,{bed}&": another row has this name'
    yield from _each(book, "Beds", "bed", f'{twice} too",""))')


def _plan(book: Book) -> Iterator[Check]:
    columns = ("bed", "crop", "doubt", "often_enough")
    bed, crop, doubt, often = _of(book, "BedPlan", *columns)
    words = f'IF({doubt}="","",{bed}&", "&{crop}&": "&{doubt})'
    yield from _each(book, "BedPlan", "check", words)
    words = f'IF(LEFT({often},2)="no",{bed}&", "&{crop}&": {SELDOM}","")'
    yield from _each(book, "BedPlan", "often_enough", words)


def _measured(book: Book) -> Iterator[Check]:
    """What was measured and is not as planned."""
    columns = ("bed", "flow_difference", "pressure_difference", "words")
    bed, flow, pressure, said = _of(book, FIELD_CHECKS.name, *columns)
    far = ",".join(f"ABS(N({cell}))>{TOLERANCE}" for cell in (flow, pressure))
    words = f'IF({bed}="","",IF(OR({far},LEFT({said},7)="bed not"),{bed}&": "&{said},""))'
    yield from _each(book, FIELD_CHECKS.name, "words", words)
    bed, even, said = _of(book, CATCH_TESTS.name, "bed", "uniformity", "words")
    words = f'IF({even}="","",IF({even}<{POOR},{bed}&", evenness "&{said},""))'
    yield from _each(book, CATCH_TESTS.name, "words", words)


def _lines(book: Book) -> Iterator[Check]:
    """Lines that do not suit the soil, where a bed has them."""
    used = book.column("Beds", "line")
    line, advice, reason = _of(book, LINE_ADVICE, "line", "advice", "reason")
    unfit = f'OR({advice}="too fast",{advice}="too far apart")'
    words = f'IF({unfit},IF(COUNTIF({used},{line})>0,{line}&" "&{reason},""),"")'
    yield from _each(book, LINE_ADVICE, "advice", words)


def _pressure(book: Book) -> Iterator[Check]:
    (words,) = _of(book, PRESSURE_FINDINGS, "words")
    yield from _each(book, PRESSURE_FINDINGS, "words", f'IF({words}="","",{words})')


def _parts(book: Book) -> Iterator[Check]:
    part, fault = _of(book, "Parts", "part", "fault")
    words = f'IF(OR({fault}="",{fault}="fits"),"",{part}&": "&{fault})'
    yield from _each(book, "Parts", "fault", words)


def _rules(book: Book) -> Iterator[Check]:
    """Lines and pipes of the beds that no counting rule counts: the shopping list lacks them."""
    parts, only, by = (
        book.column("CountingRules", name) for name in ("part", "only_line", "counted_by")
    )
    used = book.column("Beds", "line")
    line, kind = _of(book, "Lines", "line", "kind")
    named = f"COUNTIF({only},{line})+COUNTIF({only},{kind})"
    none = f'{named}=0,COUNTIFS({only},"",{by},"line")=0'
    words = f'IF({line}="","",IF(AND(COUNTIF({used},{line})>0,{none}),'
    words += f'{line}&": no counting rule is for it; its connectors and ends are not counted",""))'
    yield from _each(book, "Lines", "line", words)
    (pipe,) = _of(book, "Pipes", "pipe")
    of_beds = (book.column("Beds", name) for name in ("main_pipe", "manifold_pipe"))
    mains = (f"COUNTIF({pipes},{pipe})" for pipes in of_beds)
    words = f'IF({pipe}="","",IF(AND({"+".join(mains)}>0,COUNTIF({parts},{pipe})=0),'
    words += f'{pipe}&": leads to beds, but no counting rule counts it",""))'
    yield from _each(book, "Pipes", "pipe", words)


def _prices(book: Book) -> Iterator[Check]:
    part, doubt = _of(book, "Prices", "part", "doubt")
    words = f'IF({doubt}="","",{part}&": "&{doubt})'
    yield from _each(book, "Prices", "age", words)
