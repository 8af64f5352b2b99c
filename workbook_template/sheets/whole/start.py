"""Start: the answers, then what to fill in, in the order of the tabs, and what is missing."""

from collections.abc import Iterable
from dataclasses import dataclass

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SheetFor
from workbook_template.kit.page import Page
from workbook_template.sheets.water.pressure import DELIVERY
from workbook_template.sheets.water.timer import SETS
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.prices import BACKFLOW

SHEETS = (
    SheetFor("Start",
             "Yellow, framed cells are yours to fill in; the rest is computed. A click on a name"
             " leads there.", (GROWER, CONSULTANT, BOOKKEEPER)),
)  # fmt: skip

# Where nothing is missing, wrong or doubtful; no plan that rests on examples is ready.
READY = 'IF(SUM(examples_there)>0,"nothing missing, ","ready, ")'
ALSO = 9  # column of the links to sheets that are read together with one, behind what is folded
# What a state counts, by the words that follow the number; what is blank is missing, not wrong.
BLANK = 'COUNTIFS(findings_sheet,{sheet},findings_words,"*is blank*")'
COUNTED = (
    ("missing", f"MAX({{missing}},{BLANK})"),
    ("examples still there", "SUMIF(examples_sheet,{sheet},examples_there)"),
    ("wrong", f'COUNTIFS(findings_sheet,{{sheet}},findings_kind,"wrong")-{BLANK}'),
    ("doubtful", 'COUNTIFS(findings_sheet,{sheet},findings_kind,"doubtful")'),
)
EXAMPLES = (
    "Rows that are there already are invented examples: type over them, or clear them. One that"
    " happens to be like yours: clear Invented in its Note."
)


@dataclass(frozen=True)
class Step:
    """A step of the work: its sheet, what to do there, and a formula for what is missing."""

    sheet: str
    what: str
    missing: str = ""  # a formula for the number of things still missing, '' where nothing is asked
    state: bool = True  # whether anything can be said of the sheet
    also: str = ""  # a sheet that is read together with it


def _parts_of_the_work(book: Book) -> tuple[tuple[str, tuple[Step, ...]], ...]:
    """The steps in the order of the tabs."""
    return (
        (
            "Your garden as it is" if book.edition.has("Beds") else "Your books",
            _what_there_is(book),
        ),
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
        Step("Setup", "Measure the supply; enter how much water the crops need"
             if book.edition.has("Beds") else "Enter the farm's name and the currency", "0"),
        Step("Supply", "Your supply and the parts after it; its State says what is missing",
             'IF(head_state="ok",0,1)'),
        Step("Lines", "Enter the drip lines and pipes that you could buy, as they are sold",
             f"IF(COUNTA({lines})=0,1,0)"),
        Step("Beds", "One row per bed; correct what the Check column says",
             f"IF(COUNTA({beds})=0,1,beds_left_out)"),
    )  # fmt: skip


def _pressure_and_lines() -> tuple[Step, ...]:
    return (
        Step("Pressure", "See what each bed really gets, and what to change",
             'IF(pressure_state="ok",beds_not_solved,1)'),
        Step("Line layout", "See how many lines a bed needs, and which line your soil suits"),
    )  # fmt: skip


def _parts_to_buy(book: Book) -> tuple[Step, ...]:
    return (
        Step("Prices", "Enter prices with their dates", also="Counting rules"),
        Step("Parts", "See how many of each part the beds need"),
        Step("Connections", "See whether each part fits the next; describe the backflow preventer",
             _blanks(book, BACKFLOW.settings)),
        Step("Purchase", "The shopping list: the cheapest packs and rolls",
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
        Step("Need", "See the need by month, and which beds rain alone would water",
             also="Bed need"),
        Step("Season", "The minutes of a watering by bed and month"),
        Step("Timer", "Enter your timer's limits, copy the program to the timer",
             _blanks(book, TIMER.settings), also="Valves"),
        Step("This week", "Each Monday: type rain and temperatures, see what each bed needs"),
    )  # fmt: skip


def _money() -> tuple[Step, ...]:
    return (
        Step("Tariffs", "Enter what water costs, with the day from which it holds"),
        Step("Cost", "See what a season costs; enter what your parts cost and how long they last"),
        Step("Ledger", "For comparing years: enter or import bills, receipts, labor",
             "entries_to_correct"),
        Step("Meter", "Enter meter readings; see what was billed beside them"),
        Step("Stock", "Enter what is left of the rolls and parts at each year's end"),
        Step("Years", "Enter each year's area and need; see why this year differs from the last",
             'IF(OR(years_check="ok",years_check="The ledger is empty"),0,1)'),
        Step("Water bills", "See every bill beside its tariff", also="Year detail"),
        Step("Quoting", "If you plan for others: terms and lines", also="Quotation"),
    )  # fmt: skip


def _to_look_over() -> tuple[Step, ...]:
    return (
        Step("Summary", "See the main results"),
        Step("Field check", "After laying the lines: enter what you measured, compare",
             also="Catch test"),
        Step("Map", "See the garden to scale"),
        Step("Checks", "Put right what is missing, wrong or doubtful", "0"),
        Step("Soils", "Check that the published figures fit your soil and crops", also="Crops"),
        Step("Functions", "Look up a function for a sheet of your own", state=False),
    )  # fmt: skip


def _answers(book: Book) -> tuple[tuple[str, str, str], ...]:
    """What a person wants to know first: a label, the sheet that says more, words."""
    sets, beds = book.places[SETS], book.places[DELIVERY]
    minutes, shares = sets.reference("entered"), beds.reference("share")
    driest = book.name_formula(
        "driest_bed", "Pressure", f"INDEX({beds.reference('bed')},MATCH(least_share,{shares},0))"
    )
    cost = book.name_formula(
        "cost_in_words",
        "Purchase",
        'TEXT(IF(N(cost_of_priced)>0,cost_of_priced,cost_of_parts),"#,##0.00")&" "&currency',
    )
    return (
        ("What to buy", "Purchase",
         f'IF(N(cost_of_priced)>0,{cost}&" without the parts that have no price: see Check there",'
         f'IF(N(cost_of_parts)=0,"not known yet",{cost}&'
         '", tax and delivery included; "&rolls_in_all&" rolls of line"))'),
        ("Sets", "Timer",
         'IF(number_of_sets=0,"not known yet",number_of_sets&" sets, one after the other, "&'
         'TEXT(hours_of_sets,"0.0")&" h per watering")'),
        ("Minutes now", "Timer",
         f'IF(COUNT({minutes})=0,timer_state,TEXT(MIN({minutes}),"0")&" to "&'
         f'TEXT(MAX({minutes}),"0")&'
         f'" min per set, "&watering_days&" days a week")'),
        ("Driest bed", "Pressure",
         f'IF(N(least_share)=0,"not known yet",{driest}&" gets "&TEXT(100*least_share,"0")&'
         '" % of its planned flow"&IF(N(beds_with_too_little)=0,"","; "&beds_with_too_little&'
         '" get too few minutes of their valve: see Checks"))'),
        ("This year", "Years",
         'IF(compared_year="",years_check,"explained: "&compared_year&"; entries to correct: "&'
         "entries_to_correct)"),
        ("What is wrong", "Checks",
         'checks_wrong&" wrong, of these "&checks_missing&" to fill in; "&'
         'checks_doubtful&" doubtful"'),
    )  # fmt: skip


def write(book: Book) -> None:
    page = Page(
        book,
        SHEETS[0],
        title=str(book.inputs.settings.get("farm") or "How to start"),
        widths=(4, 15, 54, 54),
        upright=True,
    )
    plan = book.edition.has("Beds")  # and not books alone
    if plan and not book.inputs.invented:
        page.text(page.row - 1, 0, EXAMPLES, page.styles.aside)
        page.row += 1
    parts = [(title, [s for s in steps if s.sheet in book.edition.shown])
             for title, steps in _parts_of_the_work(book)]  # fmt: skip
    also = any(s.also in book.edition.shown for _, steps in parts for s in steps)
    last = ALSO if also else 3
    book.name_formula("all_there", page.name, READY)
    page.section("Answers", columns=last + 1)
    for label, sheet, words in _answers(book):
        if sheet in book.edition.shown:
            page.sheet.merge_range(page.row, 0, page.row, 1, "", page.styles.link)
            _link(page, 0, sheet, label)
            page.formula(page.row, 2, words, "text", strong=True)
            page.row += 1
    page.row += 1
    headers = ("", "Sheet", "What to do there", "State", *(column for column, _ in COUNTED))
    for col, header in enumerate(headers):
        page.text(page.row, col, header, page.styles.header)
    if also:
        page.text(page.row, ALSO, "See too", page.styles.header)
    page.row += 1
    number, order = 0, [page.name]
    for title, steps in parts:
        if steps:
            page.section(title, columns=last + 1)
        for step in steps:
            number += 1
            order += [step.sheet, step.also]
            if step.also in book.edition.shown:
                _link(page, ALSO, step.also, step.also)
            _row(page, number, step)
    page.row += 1
    if plan:
        page.cautions()
    page.sheet.print_area(0, 0, page.row, last)
    page.sheet.set_column(4, 4 + len(COUNTED), 10, None, {"level": 1, "hidden": True})
    page.sheet.set_column(ALSO, ALSO, 14)
    book.put_in_order(lambda name: order.index(name) if name in order else len(order))


def _link(page: Page, col: int, sheet: str, words: str) -> None:
    page.sheet.write_url(page.row, col, page.leads_to(sheet), page.styles.link, words)


def _row(page: Page, number: int, step: Step) -> None:
    """A step with its state: what is missing, invented, wrong or doubtful, and a link to it."""
    page.sheet.write_number(page.row, 0, number, page.styles.label)
    _link(page, 1, step.sheet, step.sheet)
    page.text(page.row, 2, step.what)
    if step.state:
        row = page.row + 1
        sheet = '"?*"' if step.sheet == "Checks" else f"$B{row}"
        for col, (_, formula) in enumerate(COUNTED, 4):
            counted = formula.format(sheet=sheet, missing=step.missing or "0")
            page.formula(page.row, col, counted, "count", style=page.styles.aside)
        at = f'IFERROR(" (first: "&INDEX(examples_cell,MATCH(B{row},examples_still,0))&")","")'
        more = {"F": f'&{at}&", "'} if step.sheet != "Checks" else {}
        parts = (f'IF({c}{row}>0,{c}{row}&" {words}"' + more.get(c, '&", "') + ',"")'
                 for c, (words, _) in zip("EFGH", COUNTED, strict=True))  # fmt: skip
        ready = "all_there" if step.missing else '", "'
        said = f"IF(SUM(E{row}:H{row})=0,{ready},{'&'.join(parts)})"
        page.formula(page.row, 8, said, "text", style=page.styles.aside)
        target = f"INDEX(findings_target,MATCH($B{row},findings_sheet,0))"
        first = f'IFERROR({target},"{page.leads_to(step.sheet).replace("internal:", "#")}")'
        shown = f"LEFT($I{row},LEN($I{row})-2)"
        page.formula(page.row, 3, f"HYPERLINK({first},{shown})", "text", style=page.styles.link)
        page.sheet.conditional_format(
            page.row, 3, page.row, 3,
            {"type": "formula", "criteria": f"=SUM($E${row}:$H${row})>0",
             "format": page.styles.emphasis},
        )  # fmt: skip
    page.row += 1
