"""Timer: what to enter in the timer, set by set, ready to copy."""

from __future__ import annotations

from workbook_template.kit.answers import Answer
from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.sheets.water.valves import VALVES
from xlfuncs.tables.garden.timer import TIMER

SHEETS = (
    SheetFor(
        "Timer", (GROWER, CONSULTANT), group="watering", needs=("Valves",), client=ForClient()
    ),
)

WIDTH = 13
WORDS = (
    "One set a valve, never two at once. Copy program, start times, minutes and days into the"
    " timer. A set beyond the stations is opened by hand. A watering is split into cycles where"
    " water would stand or pass the roots; the pause between them is at least the soak."
)
CAUTION = (
    "Electricity: a timer or valve on mains outdoors is a licensed electrician's work, behind the"
    " protection that the code asks for; switch off before opening it. Batteries: fresh ones each"
    " season, out before frost; a flat one leaves the valve as it stands, open or shut. Watch the"
    " first run of every set, and have a valve by hand before the timer."
)
BY_HAND = "by hand"
ANSWERS = (
    ("Station", "text"), ("Program", "text"), ("Start times", "text"), ("Set opens", "text"),
    ("Minutes to enter", "time"), ("Days", "text"), ("Time a week", "time"), ("Notes", "text"),
)  # fmt: skip


def write(book: Book) -> None:
    page = Page(
        book, "Timer", "Timer program", "What to enter in the timer, ready to copy.",
        widths=(22, 13, 10, 9, 8, 9, 9, 13, 13, 10, 14, 9, 40),
    )  # fmt: skip
    page.note(CAUTION, columns=WIDTH, lines=2)
    page.row += 1
    page.settings(TIMER)
    _rhythm(page)
    page.next_printed_page()  # the one to take to the timer
    page.section("Program", columns=WIDTH)
    page.note(WORDS, columns=WIDTH, lines=2)
    _sets(book, page)


def _rhythm(page: Page) -> None:
    page.section("Rhythm")
    page.result_row(
        "Days a week", "MIN(7,MAX(1,ROUND(waterings_a_week,0)))", "count",
        "Waterings a week on Setup as whole days; what is over a week's days becomes cycles",
        name="watering_days",
    )  # fmt: skip
    page.row += 1


def _sets(book: Book, page: Page) -> None:
    rows = book.places[VALVES].rows
    state_row, first = page.row, page.row + 5  # behind the state, two counts, a gap, the header
    program = _program(page, first, rows)
    page.text(page.row, 0, "State", page.styles.strong)
    words = _missing(first, rows, program)
    page.formula(page.row, 1, words, "text", style=page.styles.aside)
    book.name("timer_state", page.name, page.row, 1)
    page.row += 1
    stations, flows = (f"{c}{first + 1}:{c}{first + rows}" for c in "FD")
    by_hand = f'IF(timer_state="ok",COUNTIF({stations},"{BY_HAND}"),"")'
    page.result_row("Opened by hand", by_hand, "count",
                    "Sets beyond the stations of the timer", name="sets_by_hand")  # fmt: skip
    over = f'IF(OR(design_flow="",COUNT({flows})=0),"",COUNTIF({flows},">"&design_flow))'
    page.result_row("Over the supply", over, "count",
                    "Sets that want more than the flow to plan with on Setup: part their beds",
                    name="sets_over_supply")  # fmt: skip
    page.row += 1
    assert page.row + 1 == first, state_row
    headers = (("Set", "text"), ("Beds", "count"), ("Wanted", "time"), ("Flow", "flow"),
               ("Cycles", "count"), *ANSWERS)  # fmt: skip
    page.grid(headers, [_row(book, program)] * rows)


def _program(page: Page, first: int, rows: int) -> Answer:
    minutes, cycles = (f"${c}${first + 1}:${c}${first + rows}" for c in "CE")
    arguments = {
        "minutes": minutes, "waterings": "watering_days", "cycles": cycles,
        "stations": "stations", "allowed_from": "allowed_from", "allowed_to": "allowed_to",
        **{name: f'IF({name}="","",{name})' for name in (
            "programs", "starts_per_program", "minute_step", "longest_run", "seasonal_percentage",
            "allowed_days", "soak", "hose_from", "hose_to",
        )},
    }  # fmt: skip
    return page.answer(rows, "TIMER_PROGRAM", **arguments)


def _missing(first: int, rows: int, program: Answer) -> str:
    minutes = f"$C${first + 1}:$C${first + rows}"
    return (
        'IF(OR(stations="",allowed_from="",allowed_to=""),"Stations and hours are missing above",'
        f'IF(COUNT({minutes})=0,"No bed wants water",{program.check}))'
    )


def _row(book: Book, program: Answer) -> list[str]:
    valves = book.places[VALVES]
    sets = valves.reference("set")
    where = f"MATCH({{n}},{sets},0)"

    def of_first(column: str) -> str:
        return f"INDEX({valves.reference(column)},{where})"

    longest = f"_xlfn.MINIFS({valves.reference('one_go')},{sets},{{n}})"
    known = f'COUNTIFS({sets},{{n}},{valves.reference("one_go")},">0")'
    cycles = call("CYCLES_NEEDED", "C{row}", longest)
    least = "ROUNDUP(waterings_a_week/watering_days,0)"
    answers = [program.item(column) for column in range(1, 9)]
    answers[0] = f'IF(N({answers[0]})=0,"{BY_HAND}",{answers[0]})'
    # A text result is never empty: a program without our functions recomputes "".
    for words in (1, 2, 3, 5, 7):
        answers[words] = f'IF({answers[words]}="","–",{answers[words]})'
    answers[5] = f'IF(F{{row}}="{BY_HAND}",watering_days&" a week",{answers[5]})'
    answers[6] = f'IF(F{{row}}="{BY_HAND}",ROUND(J{{row}},0)*watering_days,{answers[6]})'
    idle = 'OR(C{row}="",timer_state<>"ok")'
    return [
        f'IF(COUNTIF({sets},{{n}})=0,"",IF({of_first("valve")}="",{of_first("bed")},'
        f'"Valve "&{of_first("valve")}))',
        f'IF(A{{row}}="","",COUNTIF({sets},{{n}}))',
        f'IF(A{{row}}="","",{of_first("minutes")}*waterings_a_week/watering_days)',
        f'IF(A{{row}}="","",SUMIF({sets},{{n}},{valves.reference("flow")}))',
        f'IF(A{{row}}="","",IF({known}=0,{least},MAX({least},{cycles})))',
        *(f'IF({idle},"",{answer})' for answer in answers),
    ]
