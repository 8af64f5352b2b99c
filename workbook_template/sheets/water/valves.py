"""Valves: beds on one valve share minutes; who gets too much and who too little."""

from functools import partial

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import Answer, Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.season import SEASON, flow_of, flow_words
from xlfuncs.units import from_base

SHEETS = (
    SheetFor("Valves", "Minutes of one watering: wanted, and given.", (CONSULTANT,),
             title="Beds that share a valve", group="watering",
             needs=("Timer", "Soils"), reads=("Season", "Plan"), client=SEEN),
)  # fmt: skip

THIS_WEEK, WEEK_RUNS = "This week", "week_runs"  # a sheet written later, its minutes by bed
VALVES = "beds by valve"  # the block, by which the timer finds it
ENDLESS = 1000.0  # mm of depletion, of which no run is the end: only ponding is
WIDTH, FOLDED = 9, 16  # columns in view, and those behind them
VALVES_NAMED = {  # columns that Timer reads, by their defined names
    name: f"valves_{name}" for name in ("bed", "valve", "set", "one_go", "together", "minutes",
                                        "flow")
}  # fmt: skip
SAID = said("valves")


def followed(book: Book) -> str:
    """A formula that says which minutes the timer follows."""
    there = book.edition.has(THIS_WEEK)
    state = 'IF(this_week_state="ok","the advice on This week",' \
        '"This week: "&this_week_state)' if there \
        else '"This week is no sheet of this workbook: choose Setup or month on Timer"'  # fmt: skip
    month = '"for month "&timer_month&", from Season; chosen on Timer"'
    none = '"for the net depth on Setup, as Timer has no month"'
    setup = f'IF(timer_month="",{none},{month})'
    return f'IF(timer_follows="this week",{state},{setup})'


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], widths=(18, 10, 12, 12, 14, 8, 12, 14, 16), numbers_at=WIDTH + FOLDED,
        upright=True,
    )  # fmt: skip
    page.state(followed(book), label="Minutes wanted", strong=True)
    page.remark(page.row, 1, flow_words(book))
    page.row += 1
    page.note(SAID.about, columns=WIDTH)
    page.note(SAID.one_go, columns=WIDTH)
    page.freeze(page.row + 1)
    _beds(book, page)


def _beds(book: Book, page: Page) -> None:
    rows = book.places["Beds"].rows
    place = page.place(VALVES, rows)
    shared = page.answer(
        rows, "SHARED_VALVE_MINUTES", place.reference("wanted"), place.reference("flow"),
        place.reference("valve"), bed=place.reference("running"),
    )  # fmt: skip
    page.sheet.set_column(WIDTH, WIDTH + FOLDED - 1, 24, None, {"level": 1, "hidden": True})
    planned = page.answer(
        rows, "SHARED_VALVE_MINUTES", place.reference("planned"), place.reference("flow"),
        place.reference("valve"),
    )  # fmt: skip
    page.block(VALVES, _row(book, place, shared, planned), rows)
    book.name_columns(place, VALVES_NAMED)
    none = f"COUNT({place.reference('wanted')})=0"
    for words in ("too little", "too much"):
        name = words.replace(" ", "_")
        verdicts, by_plan = (place.reference(column) for column in ("verdict", "by_plan"))
        page.result_row(f"Get {words}", f'IF({none},"",COUNTIF({by_plan},"{words}"))', "count",
                        "By more than a tenth of the net depth on Setup: by their lines",
                        name=f"beds_with_{name}")  # fmt: skip
        of_month = f'COUNTIF({verdicts},"{words}")'
        page.result_row(f"Get {words} this month",
                        f'IF(OR({none},timer_month=""),"",{of_month})', "count",
                        "By more than a tenth of what their crops want in the timer's month",
                        name=f"crops_with_{name}")  # fmt: skip


def _row(book: Book, place: Place, shared: Answer, planned: Answer) -> dict[str, str]:
    of_bed = partial(book.nth, "Beds")
    # from the heading to the row above
    sets, valves, nth = (
        f"{place.head(name)}:{{{name}-1}}" for name in ("set", "valve", "nth_valve")
    )
    return {
        "bed": f'IF({of_bed("bed")}="","",{of_bed("bed")})',
        "valve": f'IF({{wanted}}="","",{of_bed("valve")}&"")',
        "wanted": _wanted(), "of_week": _of_week(book),
        "flow": 'IF({wanted}="","",{flow_of_bed})',
        "one_go": _one_go(book),
        # A bed without a valve stands behind the others, whose stations stay what they are.
        "nth_valve": 'IF({valve}="","",'
                     f"IFERROR(INDEX({nth},MATCH({{valve}},{valves},0)),MAX({nth})+1))",
        "set": 'IF({wanted}="","",IF({valve}<>"",{nth_valve},'
               f"MAX({place.reference('nth_valve')},{sets})+1))",
        "minutes": f'IF(N({{flow}})=0,"",{shared.item(1)})',
        "surplus": f'IF(N({{flow}})=0,"",{shared.item(2)})',
        "verdict": f'IF({{bed}}="","",IF(N({{flow}})=0,{{left_out}},{shared.item(3)}))',
        "running": 'IF({wanted}="","",{bed})',
        "together": f'IF(N({{flow}})=0,"",{shared.item(4)})',
        "counted": of_bed("counted"), "flow_of_bed": flow_of(book), "left_out": _left_out(),
        "of_month": _of_month(book), "line_length": of_bed("line_length"), "least": _least(book),
        "planned": _planned(of_bed("minutes_delivered"), of_bed("minutes")),
        "by_plan": f'IF(OR(N({{planned}})=0,N({{flow}})=0),"",{planned.item(3)})',
        "given_by_plan": f'IF({{by_plan}}="","",{planned.item(1)})',
        "said_by_plan": _said("by_plan", "given_by_plan", "planned", "by its lines"),
        "said_of_month": 'IF(timer_month="","",'
                         + _said("verdict", "minutes", "wanted", "for its crop this month") + ")",
        "share": 'IFERROR(IF({said_by_plan}="",{minutes}/{wanted},{given_by_plan}/{planned}),"")',
    }  # fmt: skip


def _said(verdict: str, given: str, wanted: str, why: str) -> str:
    """What Checks says of a bed that gets too little or too much."""
    words = f'{{bed}}&": gets "&TEXT({{{given}}},"0")&" min of valve "&{{valve}}&", and wants "&'
    words += f'TEXT({{{wanted}}},"0")&" {why}: another valve, or other lines, would suit it"'
    return f'IF(LEFT({{{verdict}}},3)="too",{words},"")'


def _left_out() -> str:
    """Why a bed has no minutes: off, to correct on Beds, or fallow in the month."""
    fallow = 'IF(timer_follows="this week","no water",IF({of_month}="fallow","fallow",""))'
    return f'IF({{counted}}="off","off",IF({{counted}}<>"yes","see Beds",{fallow}))'


def _of_month(book: Book) -> str:
    """What Season says of the month that Timer is set for."""
    of_month = f"INDEX({book.places[SEASON].beside('1', '12')},N(timer_month))"
    return f'IF(N(timer_month)=0,"",{of_month})'


def _of_week(book: Book) -> str:
    """What This week says of the bed."""
    week = f"INDEX({WEEK_RUNS},{{n}})"
    return f'IF(N({week})>0,{week},"")' if book.edition.has(THIS_WEEK) else '""'


def _wanted() -> str:
    """What the advice of the week or the crops of the timer's month want, or what is planned."""
    asked = 'IF(timer_follows="this week",{of_week},IF(timer_month<>"",{of_month},{planned}))'
    return f'IF(OR({{counted}}<>"yes",N({{flow_of_bed}})=0),"",IF(ISNUMBER({asked}),{asked},""))'


def _planned(delivered: str, nominal: str) -> str:
    """Minutes for the net depth on Setup, to which beds are laid, by the flow that is in use."""
    idle = '{counted}<>"yes",N({flow_of_bed})=0,weekly_depth=""'
    return f'IF(OR({idle}),"",IFERROR(1*{delivered},{nominal}))'


def _least(book: Book) -> str:
    """The least depletion of the crops of the bed."""
    plan, depletion = book.column("BedPlan", "bed"), book.column("BedPlan", "depletion")
    some = f'COUNTIFS({plan},${{bed}},{depletion},">0")>0'
    return f'IF({some},_xlfn.MINIFS({depletion},{plan},${{bed}}),"")'


def _one_go(book: Book) -> str:
    """By the flow of the line for its length, the intake of the soil, and the least depletion of
    the bed's crops where Plan has some."""
    per_length = 100 if book.system == "us" else 60  # gpm a foot to gpm/100 ft; L/min to L/h per m
    longest = call(
        "MAX_CYCLE_MINUTES", f"{{flow}}/{{line_length}}*{per_length}", "soil_wetted_width",
        f'IF({{least}}="",{from_base(ENDLESS, "depth", book.system):.3g},{{least}})',
        'IF(soil_intake="","",soil_intake)',
    )  # fmt: skip
    unknown = 'AND({least}="",soil_intake=""),soil_wetted_width="",N({line_length})=0'
    return f'IF({{wanted}}="","",IF(OR({unknown}),"",{longest}))'
