"""Timer: what to enter in the timer, set by set, ready to copy."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import Answer, Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.bed_need import rain_counted
from workbook_template.sheets.water.valves import THIS_WEEK, VALVES, VALVES_NAMED, followed
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.units import from_base, to_base

SHEETS = (
    SheetFor("Timer", "What to enter in the timer, ready to copy.", (GROWER, CONSULTANT),
             title="Timer program", group="watering", needs=("Valves", "Supply", "Lines"),
             client=SEEN),
)  # fmt: skip

WIDTH = 14
SAID = said("timer")
UNFIT = "do not fit between"  # in the notes of a set that gets no water
BY_TIMER = "by the valve at its station"
BY_HAND, A_WEEK = "by hand", " per week"  # of what no station waters
SETS = "sets of the timer"  # the block, by which the summary finds it
# In the order of TIMER_PROGRAM's.
ANSWERS = ("station", "program", "start_times", "opens", "entered", "days", "weekly_time", "notes")
MAY_BE_BLANK = ("program", "start_times", "opens", "days", "notes")


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], widths=(22, 26, 10, 10, 9, 8, 9, 9, 13, 13, 10, 14, 9, 40), numbers_at=14
    )
    page.note(SAID.caution, columns=WIDTH)
    page.row += 1
    first = page.settings(TIMER)
    _rhythm(book, page)
    book.name_settings("timer_settings", page.name, first, book.names["watering_days"][1])
    page.next_printed_page()  # the one to take to the timer
    page.section("Program", columns=WIDTH)
    page.note(SAID.about, columns=WIDTH)
    _sets(book, page)


def _rhythm(book: Book, page: Page) -> None:
    page.section("Rhythm")
    week = "N(week_waterings)" if book.edition.has(THIS_WEEK) else "0"
    month = "IFERROR(N(INDEX(season_waterings,1,N(timer_month))),0)"
    named = ",".join(f'SEARCH("{day}",allowed_days)'
                     for day in ("mon", "tue", "wed", "thu", "fri", "sat", "sun"))  # fmt: skip
    days = f'IF(allowed_days="",7,COUNT({named}))'
    page.result("days_allowed", days)
    asked = f'IF(timer_follows="this week",{week},IF(timer_follows="month",{month},0))'
    page.result("waterings_asked", asked)
    page.result("watering_days",
                "MAX(1,MIN(days_allowed,ROUND(IF(waterings_asked>0,waterings_asked,"
                "N(waterings_a_week)),0)))")  # fmt: skip
    page.result("waterings_of_minutes", 'IF(timer_follows="this week",watering_days,'
                "waterings_a_week)")  # fmt: skip
    page.result("timer_rests_on", followed(book))
    page.result("timer_rain_counted", rain_counted(book))
    page.row += 1


def _sets(book: Book, page: Page) -> None:
    first = page.row + 7  # behind three states, two counts, a gap, the header
    place = page.place(SETS, book.places[VALVES].rows, first=first)
    timed = place.with_headers("minutes", "cycles")
    program = page.answer(place.rows, "TIMER_PROGRAM", timed, "timer_settings")
    blank = '"Stations, Water from and Water until on Timer: one is blank"'
    page.state(_state(place), "timer_state", strong=True)
    page.state(program.check, "timer_inputs", label="Inputs", missing=(
        ('OR(stations="",allowed_from="",allowed_to="")', blank),
        (f"COUNT({place.here('minutes')})=0", '"No bed wants water"'),
    ))  # fmt: skip
    page.state(_opened(book), "sets_opened", label="A set opens")
    stations, flows = (place.here(name, fixed=False) for name in ("station", "flow"))
    by_hand = f'IF(timer_inputs="ok",COUNTIF({stations},"{BY_HAND}"),"")'
    page.result("sets_by_hand", by_hand)
    over = f'IF(OR(design_flow="",COUNT({flows})=0),"",COUNTIF({flows},">"&design_flow))'
    page.result("sets_over_supply", over)
    page.row += 1
    assert page.row + 1 == first
    page.block(SETS, _row(program), place.rows)
    _while_it_runs(book, page, place)


def _state(sets: Place) -> str:
    """What is wrong with the inputs; else the first set that gets no water."""
    named, notes = sets.here("set"), sets.here("notes")
    first = f'MATCH("*{UNFIT}*",{notes},0)'
    said = f'INDEX({named},{first})&": "&INDEX({notes},{first})'
    return f'IF(timer_inputs<>"ok",timer_inputs,IFERROR({said},"ok"))'


def _opened(book: Book) -> str:
    """How a set opens: by what the counting rules buy for it, or the timer's own stations."""
    by, part, each = (book.column("CountingRules", name) for name in ("counted_by", "part", "each"))
    bought = (f'{by},"valve"', f'{by},"valve by timer"', f'{part},"*electric*"')
    counted = "+".join(f'COUNTIFS({rule},{each},"<>0")' for rule in bought)
    valves = book.name_formula("valves_bought", "Timer", counted)
    own = f'IF({valves}>0,"","{SAID.own_station}")'
    own = book.name_formula("valves_of_ones_own", "Timer", own)
    return f'IF(MAX({valves},N(stations)-1)>0,"{BY_TIMER}"&{own},"{SAID.by_bed_valves}")'


def _while_it_runs(book: Book, page: Page, sets: Place) -> None:
    """Fertilizer, flushing and a tank, over a run of the sets above."""
    page.section("While the water runs", columns=WIDTH)
    page.note(SAID.injecting, columns=WIDTH)
    minutes, flows = (sets.here(name, fixed=False) for name in ("minutes", "flow"))
    laterals, fill = (book.column("Beds", name) for name in ("laterals", "fill_minutes"))
    bores = book.column("Lines", "inside_diameter")
    bore = f"IF(COUNT({bores})=0,INDEX({bores},1),MAX({bores}))"  # which may be text with a unit
    an_hour = from_base(to_base(1.0, "flow", book.system), "lateral_flow", book.system)
    flow_of_line = f"MAX({flows})*{an_hour:.6g}/SUM({laterals})"
    head = from_base(to_base(1.0, "head", book.system) * 1000.0, "depth", book.system)
    area, level = "supply_tank_area", "supply_water_level"
    volume = call("VOLUME_FROM_DEPTH", area, f"{level}*{head:.6g}")
    after = call("TANK_LEVEL", area, level, "0", f"MAX({flows})", f"MAX({minutes})")
    inject = call("INJECTION_MINUTES", f"MIN({minutes})", f"MAX({fill})")
    opened = call("LINES_TO_FLUSH", "measured_flow", f"SUM({laterals})", flow_of_line, bore)
    for name, formula in (
        ("lines_full_after", f'IF(COUNT({fill})=0,"",MAX({fill}))'),
        ("inject_for", f'IFERROR({inject},"")'),
        ("open_end_flow", f'IFERROR({call("FLUSH_FLOW", bore)},"")'),
        ("ends_open_at_once", f'IFERROR({opened},"")'),
        ("tank_after_run", f'IFERROR({after},"")'),
        ("waterings_in_tank", f'IFERROR(INT({volume}/SUMPRODUCT({minutes},{flows})),"")'),
    ):
        page.result(name, formula)


def _row(program: Answer) -> dict[str, str]:
    sets, in_one_go = VALVES_NAMED["set"], VALVES_NAMED["one_go"]
    where = f"MATCH({{n}},{sets},0)"

    def of_first(column: str) -> str:
        return f"INDEX({VALVES_NAMED[column]},{where})"

    longest = f"_xlfn.MINIFS({in_one_go},{sets},{{n}})"
    known = f'COUNTIFS({sets},{{n}},{in_one_go},">0")'
    cycles = call("CYCLES_NEEDED", "{minutes}", longest)
    least = "ROUNDUP(waterings_of_minutes/watering_days,0)"
    answers = {name: program.item(column) for column, name in enumerate(ANSWERS, 1)}
    answers["station"] = f'IF(N({answers["station"]})=0,"{BY_HAND}",{answers["station"]})'
    # A text result is never empty: a program without our functions recomputes "".
    answers |= {name: f'IF({answers[name]}="","–",{answers[name]})' for name in MAY_BE_BLANK}
    by_hand = {"days": f'watering_days&"{A_WEEK}"',
               "weekly_time": "ROUND({entered},0)*watering_days"}  # fmt: skip
    for name, formula in by_hand.items():
        answers[name] = f'IF({{station}}="{BY_HAND}",{formula},{answers[name]})'
    return {
        "set": f'IF(COUNTIF({sets},{{n}})=0,"",IF({of_first("valve")}="",{of_first("bed")},'
               f'IF(LEFT({of_first("valve")},5)="Valve","","Valve ")&{of_first("valve")}))',
        "names": f'IF({{set}}="","",{of_first("together")})',
        "beds": f'IF({{set}}="","",COUNTIF({sets},{{n}}))',
        "minutes": f'IF({{set}}="","",{of_first("minutes")}*waterings_of_minutes/watering_days)',
        "flow": f'IF({{set}}="","",SUMIF({sets},{{n}},{VALVES_NAMED["flow"]}))',
        "cycles": f'IF({{set}}="","",IF({known}=0,{least},MAX({least},{cycles})))',
        **{name: f'IF(OR({{minutes}}="",timer_inputs<>"ok"),"",{answer})'
           for name, answer in answers.items()},
    }  # fmt: skip
