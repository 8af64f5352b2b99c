"""Start: what to fill in, in order, and what is still missing."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SheetFor
from workbook_template.kit.page import Page
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.buying import BACKFLOW

SHEETS = (SheetFor("Start", (GROWER, CONSULTANT, BOOKKEEPER)),)

READY = "ready"
# What a state counts, by the words that follow the number; what is blank is missing, not wrong.
BLANK = 'COUNTIFS(findings_sheet,{sheet},findings_words,"*is blank*")'
COUNTED = (
    ("missing", f"MAX({{missing}},{BLANK})"),
    ("examples still there", "SUMIF(examples_sheet,{sheet},examples_there)"),
    ("wrong", f'COUNTIFS(findings_sheet,{{sheet}},findings_kind,"wrong")-{BLANK}'),
    ("doubtful", 'COUNTIFS(findings_sheet,{sheet},findings_kind,"doubtful")'),
)
EXAMPLES = "Rows that are there already are invented examples: type over them, or clear them."


@dataclass(frozen=True)
class Step:
    """A step of the work: its sheet, what to do there, and a formula for what is missing."""

    sheet: str
    what: str
    missing: str = ""  # a formula for the number of things still missing, '' where nothing is asked
    state: bool = True  # whether anything can be said of the sheet


def _parts_of_the_work(book: Book) -> tuple[tuple[str, tuple[Step, ...]], ...]:
    return (
        ("Your garden as it is", _what_there_is(book)),
        ("Pressure and lines", _pressure_and_lines()),
        ("Parts to buy", _parts_to_buy(book)),
        ("When to water, and how long", _when_to_water(book)),
        ("Money", _money()),
        ("To look over and to hand on", _to_look_over()),
    )


def _blanks(book: Book, settings: Iterable[Column]) -> str:
    """How many of the settings that are required are still blank."""
    asked = (s.name for s in settings if s.required and book.has(s.name))
    return "+".join(f'IF({name}="",1,0)' for name in asked)


def _what_there_is(book: Book) -> tuple[Step, ...]:
    lines, beds = book.column("Lines", "line"), book.column("Beds", "bed")
    return (
        Step("Setup", "Measure the supply, say how much water the crops need", "0"),
        Step("Lines", "Enter the drip lines and pipes that you could buy, as they are sold",
             f"IF(COUNTA({lines})=0,1,0)"),
        Step("Beds", "One row a bed; correct what the Check column says",
             f"IF(COUNTA({beds})=0,1,beds_left_out)"),
        Step("Supply", "Your supply and the parts behind it; the State says what is missing",
             'IF(head_state="ok",0,1)'),
    )  # fmt: skip


def _pressure_and_lines() -> tuple[Step, ...]:
    return (
        Step("Pressure", "Read what each bed really gets, and what to change",
             'IF(pressure_state="ok",beds_not_solved,1)'),
        Step("Soils", "Check that the published figures fit your soil"),
        Step("Crops", "Check that the published figures fit your crops"),
        Step("Line layout", "See how many lines a bed needs, and which line your soil suits"),
    )  # fmt: skip


def _parts_to_buy(book: Book) -> tuple[Step, ...]:
    return (
        Step("Prices", "Enter prices with their dates; Counting rules sets how many of each part"),
        Step("Parts", "Read how many of each part the beds need"),
        Step("Connections", "See whether each part fits the next; describe the backflow preventer",
             _blanks(book, BACKFLOW.settings)),
        Step("Purchase", "Print the shopping list: the cheapest packs and rolls",
             'IF(purchase_check="ok",0,1)'),
        Step("Cut list", "Choose a line, cut its rolls in this order"),
        Step("Designs", "Compare whole designs: lines, pipes, regulator and sets, by cost"),
    )  # fmt: skip


def _when_to_water(book: Book) -> tuple[Step, ...]:
    plan, counted = book.column("BedPlan", "bed"), book.column("BedPlan", "counted")
    return (
        Step("Plan", "Which crop stands in which bed, from when to when",
             f'IF(COUNTA({plan})=0,1,COUNTIF({counted},"no"))'),
        Step("Weather", "Twelve months from a climate table near you", "12-weather_months"),
        Step("Need", "Read the need by month, and which beds rain alone would water"),
        Step("Season", "Print the minutes of a watering by bed and month"),
        Step("Timer", "Enter your timer's limits, copy the program; Valves shows who gets too much",
             _blanks(book, TIMER.settings)),
        Step("This week", "Each Monday: type rain and temperatures, read what each bed needs"),
        Step("Field check", "After laying the lines: enter what you measured, compare"),
    )  # fmt: skip


def _money() -> tuple[Step, ...]:
    return (
        Step("Cost", "See what a season costs; enter your tariff on Tariffs, your parts here"),
        Step("Ledger", "For comparing years: enter or import bills, receipts, labour",
             "entries_to_correct"),
        Step("Years", "Enter each year's area and need; read why this year differs from the last",
             'IF(OR(years_check="ok",years_check="The ledger is empty"),0,1)'),
        Step("Quoting", "If you plan for others: terms and lines; the client gets Quotation"),
    )  # fmt: skip


def _to_look_over() -> tuple[Step, ...]:
    return (
        Step("Summary", "Read what comes out of it"),
        Step("Map", "Look at the garden to scale"),
        Step("Checks", "Put right what is missing, wrong or doubtful", "0"),
        Step("Functions", "Look up a function for a sheet of your own", state=False),
    )  # fmt: skip


def write(book: Book) -> None:
    page = Page(
        book,
        "Start",
        str(book.inputs.settings.get("farm") or "How to start"),
        "Work down the list. Tinted, framed cells are yours to fill in; the rest is computed.",
        widths=(5, 18, 66, 36),
    )
    page.portrait()
    page.sheet.fit_to_pages(1, 1)
    if not book.inputs.invented:
        page.text(page.row - 1, 0, EXAMPLES, page.styles.aside)
        page.row += 1
    headers = ("", "Sheet", "What to do there", "State", *(column for column, _ in COUNTED))
    for col, header in enumerate(headers):
        page.text(page.row, col, header, page.styles.header)
    page.row += 1
    number = 0
    for title, steps in _parts_of_the_work(book):
        steps = tuple(s for s in steps if s.sheet in book.edition.shown)
        if steps:
            page.section(title)
        for step in steps:
            number += 1
            _row(page, number, step)
    page.row += 1
    page.cautions()
    page.sheet.print_area(0, 0, page.row, 3)
    page.sheet.set_column(4, 4 + len(COUNTED), 10, None, {"level": 1, "hidden": True})


def _row(page: Page, number: int, step: Step) -> None:
    """A step with its state: what is missing, invented, wrong or doubtful, and a link to it."""
    page.sheet.write_number(page.row, 0, number, page.styles.label)
    page.sheet.write_url(page.row, 1, f"internal:'{step.sheet}'!A1", page.styles.link, step.sheet)
    page.text(page.row, 2, step.what)
    if step.state:
        row = page.row + 1
        sheet = '"?*"' if step.sheet == "Checks" else f"$B{row}"
        for col, (_, formula) in enumerate(COUNTED, 4):
            counted = formula.format(sheet=sheet, missing=step.missing or "0")
            page.formula(page.row, col, counted, "count", style=page.styles.aside)
        parts = (f'IF({c}{row}>0,{c}{row}&" {words}, ","")'
                 for c, (words, _) in zip("EFGH", COUNTED, strict=True))  # fmt: skip
        ready = READY if step.missing else ""
        said = f'IF(SUM(E{row}:H{row})=0,"{ready}, ",{"&".join(parts)})'
        page.formula(page.row, 8, said, "text", style=page.styles.aside)
        target = f"INDEX(findings_target,MATCH($B{row},findings_sheet,0))"
        first = f'IFERROR({target},"#\'"&$B{row}&"\'!A1")'
        shown = f"LEFT($I{row},LEN($I{row})-2)"
        page.formula(page.row, 3, f"HYPERLINK({first},{shown})", "text", style=page.styles.link)
        page.sheet.conditional_format(
            page.row, 3, page.row, 3,
            {"type": "formula", "criteria": f"=SUM($E${row}:$H${row})>0",
             "format": page.styles.emphasis},
        )  # fmt: skip
    page.row += 1
