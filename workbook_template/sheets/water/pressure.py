"""Pressure: what every bed really gets, and which beds can run together."""

from collections.abc import Callable
from functools import partial

from xlsxwriter.utility import xl_range_abs

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import NUMBER, Place, call, shortened
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.garden.supply_pressure import behind_at
from workbook_template.sheets.water.pressure_calls import Calls, calls_of
from xlfuncs.tables.garden.head_assembly import LIMITS, PRESSURE_WANTED

SHEETS = (
    SheetFor("Pressure", "Planned against delivered.", (GROWER, CONSULTANT),
             title="Pressure: what the far bed really gets", group="garden",
             needs=("Supply", "Lines", "Beds", "Summary"), client=SEEN),
)  # fmt: skip

DELIVERY = "delivery"  # the block of the beds, by which other sheets find it
WIDTH = 15
MOST_FOR_SETS = 60  # beds for which sets by pressure are searched; more take minutes
MOST_CHECKED = 200  # beds that changes are worked out for
MOST_DRAWN = 60
PRESSURE_FINDINGS = "what to change"  # the block, by which the checks find it
FINDINGS = 12
FIGURE_ROWS, CHART_ROWS = 16, 15
FOLDED_FROM, FOLDED_TO = 15, 29  # columns of the block that are folded away
DELIVERED = {"inlet": 1, "delivered": 2, "share": 3, "driest": 4, "main_flow": 9,
             "main_velocity": 10}  # fmt: skip
OF_A_RUNNING_BED = {"uniformity": 6, "lowest": 7, "highest": 8}
REMARK = 11
ALL_OPEN = {"inlet_all_open": 1, "flow_all_open": 2, "share_all_open": 3}
LIMITS_ELSEWHERE = {
    "supply_share": "supply_share", "open_flow": "supply_greatest_flow",
    "least_flow": "head_least_flow", "greatest_flow": "head_greatest_flow",
    "most_pressure": "start_most_pressure",
}  # fmt: skip
SAID = said("pressure")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(26, 12, *[11] * 9, 38, *[11] * 3))
    page.sheet.set_column(FOLDED_FROM, FOLDED_TO, 11, None, {"level": 1, "hidden": True})
    _limits(page)
    rows = book.places["Beds"].rows
    first = page.row + FIGURE_ROWS + CHART_ROWS + 4  # behind figures, charts, words, the header
    place = page.place(DELIVERY, rows, first=first)
    book.workbook.define_name("delivered_flows", "=" + place.reference("delivered"))
    calls = calls_of(page, place, FINDINGS)
    _results(book, page, calls)
    _charts(page, place, page.row)
    page.row = first - 4
    page.section("Bed by bed")
    page.note(SAID.about)
    page.note(SAID.sets)
    page.block(DELIVERY, _bed_formulas(book, calls), rows)
    _checks(page, calls)


def _limits(page: Page) -> None:
    """What is wanted, with what the supply can do beside it, as a table of labels and values."""
    first = page.row + 2
    page.settings(PRESSURE_WANTED)
    page.row -= 1
    for name, source in LIMITS_ELSEWHERE.items():
        column = LIMITS[name]
        page.result_row(column.header, f'IF({source}="","",{source})', column.dimension,
                        column.help)  # fmt: skip
    cells = xl_range_abs(first, 0, page.row - 1, 2)
    page.book.workbook.define_name("pressure_limits", f"='{page.name}'!{cells}")
    page.row += 1


def _beds_solved(book: Book) -> str:
    return f'COUNTIF({book.column("Beds", "solved")},"yes")'


def _results(book: Book, page: Page, calls: Calls) -> None:
    place, end = book.places[DELIVERY], page.row + FIGURE_ROWS
    page.section("Results")
    nothing = '"No bed can be solved yet: the folded column Pressure of Beds says what is missing"'
    page.state(f'IF(head_state<>"ok",head_state,IF({_beds_solved(book)}=0,{nothing},'
               f"{book.words(calls.own)}))", "pressure_state")  # fmt: skip
    page.result("beds_not_solved", f"beds_counted-{_beds_solved(book)}")
    page.result_row("Beds short of minutes", "beds_with_too_little", "count",
                    "Pressure is one thing, minutes another: they share a valve with beds that"
                    " want less; Checks names them")  # fmt: skip
    planned = f'SUMIF({book.column("Beds", "solved")},"yes",{book.column("Beds", "nominal_flow")})'
    valves, shares = place.reference("valve_flow"), place.reference("share_all_open")
    for name, formula in (
        ("most_open_flow", f"MAX({valves})"),
        ("fewest_open_flow", f"MIN({valves})"),
        ("start_pressure", behind_at(book, "most_open_flow")),
        ("least_share", f"MIN({place.reference('share')})"),
        ("design_uniformity", _uniformity(book, place)),
        ("all_open_flow", f"SUM({place.reference('flow_all_open')})"),
        ("start_pressure_all", behind_at(book, "all_open_flow")),
        ("all_open_share", f"all_open_flow/{planned}"),
        ("feeds_all", f'IF(MIN({shares})>=wanted_share,"yes","no")'),
    ):
        page.result(name, f'IF(pressure_state="ok",{formula},"")', strong=name == "feeds_all")
    too_many = f'"more than {MOST_FOR_SETS} beds: ask PRESSURE_SETS for a part of them"'
    found = f"IF({_beds_solved(book)}>{MOST_FOR_SETS},{too_many},{book.words(calls.by_pressure)})"
    page.state(f'IF(pressure_state<>"ok","not solved",{found})', "sets_by_pressure_state",
               label="Sets by pressure")  # fmt: skip
    nominal = "Sets by nominal flow"
    page.state(book.words(calls.by_flow), "sets_by_flow_state", label=nominal, missing=(
        ("N(supply_greatest_flow)=0", '"flow of the supply not known"'),
        ("beds_counted=0", '"no bed is counted"'),
    ))  # fmt: skip
    page.row = end


def _uniformity(book: Book, place: Place) -> str:
    """Of the design (Keller and Karmeli): one emitter a plant."""
    uneven, cv = place.reference("uniformity"), f"MAX({book.column('Lines', 'cv')})"
    return f'IF(COUNT({uneven})=0,"",{call("EMISSION_UNIFORMITY", f"AVERAGE({uneven})", "1", cv)})'


def _bed_formulas(book: Book, calls: Calls) -> dict[str, str]:
    place = book.places[DELIVERY]
    of = partial(book.nth, "Beds")

    def shown(column: str) -> str:
        return f'IF({of(column)}="","",{of(column)})'

    idle = f'OR({of("solved")}<>"yes",pressure_state<>"ok")'
    without_sets = f'OR({idle},sets_by_pressure_state<>"ok")'
    by_pressure, distance = calls.by_pressure.item(1), of("distance")
    key = f'IF({of("valve")}="",{of("bed")}&" alone",{of("valve")})'
    return {
        **{n: f'IF({idle},"",{calls.own.item(j)})' for n, j in DELIVERED.items()},
        # a dash, for a blank that a function gave is not believed by programs without it
        **{n: f'IF({idle},"",IF(${{delivered}}=0,"–",{calls.own.item(j)}))'
           for n, j in OF_A_RUNNING_BED.items()},
        **{n: f'IF({idle},"",IFERROR({calls.every.item(j)},""))' for n, j in ALL_OPEN.items()},
        **{n: shown(n) for n in ("bed", "valve", "minutes", "minutes_delivered")},
        "planned": shown("nominal_flow"),
        "remark": _remark(of), "judged": _judged(calls), "short": shortened("${bed}"),
        "set_by_pressure": f'IF({without_sets},"",IF({by_pressure}="","none",{by_pressure}))',
        "share_in_set": f'IF({without_sets},"",IF(${{set_by_pressure}}="none","–",'
                        f"{calls.by_pressure.item(3)}))",
        "set_by_flow": f'IF(OR(N(${{planned}})=0,sets_by_flow_state<>"ok"),"",'
                       f"{calls.by_flow.item(1)})",
        "together": f'IF({of("solved")}="yes",{key},"")',
        "kept": f'IF(AND({of("counted")}="yes",keep_valves="yes"),{shown("valve")},"")',
        "valve_flow": f'IF(N(${{delivered}})=0,"",SUMIF({place.reference("together")},'
                      f"${{together}},{place.reference('delivered')}))",
        "along": f"IF({idle},0,IF(ISNUMBER({distance}),{distance},"
                 f"{call('LINE_LENGTH', distance, '1')}))",
        # what is not solved is drawn at the supply, for a text would spoil the axis
        "own_drawn": f"IF({idle},N(start_pressure),${{inlet}})",
        "all_drawn": "IF(N(${inlet_all_open})=0,N(start_pressure_all),"
                     "${inlet_all_open})",
        "number": NUMBER,
    }  # fmt: skip


def _judged(calls: Calls) -> str:
    """What is said of a bed that is solved."""
    said, share = calls.own.item(REMARK), "${share}"
    return (
        f'IF({share}="","",IF({said}<>"",{said},'
        f'IF({share}<wanted_share,"too little: under the share wanted",'
        f'IF({share}>2-wanted_share,"ok: above its rated pressure, so it runs shorter","ok"))))'
    )


def _remark(of: Callable[[str], str]) -> str:
    return (
        f'IF(${{bed}}="","",IF({of("counted")}="off","off",IF({of("counted")}<>"yes",'
        f'"cannot be read: see Beds",IF({of("solved")}<>"yes",{of("pressure_check")},'
        f'IF(${{judged}}="","not solved: see State",${{judged}})))))'
    )


def _charts(page: Page, place: Place, at: int) -> None:
    last = min(place.last, place.first + MOST_DRAWN - 1)

    def cells(name: str) -> str:
        return rows_of(page, place.first, last, place.columns[name])

    flow, pressure = page.book.unit("flow"), page.book.unit("pressure")
    chart(
        page, "column", "Planned against delivered, each bed with its own valve open",
        [Series("Planned", cells("short"), cells("planned")),
         Series("Delivered", cells("short"), cells("delivered"))],
        (at, 0), y_title=f"Flow ({flow})", size=(660, 290), from_zero=True,
    )  # fmt: skip
    chart(
        page, "scatter", "Pressure along the main, where each bed is fed",
        [Series("Own valve open", cells("along"), cells("own_drawn"), points=True),
         Series("All beds open", cells("along"), cells("all_drawn"), points=True)],
        (at, 7), x_title=f"Distance from the supply ({page.book.unit('length')})",
        y_title=f"Pressure ({pressure})", size=(620, 290), from_zero=True,
    )  # fmt: skip


def _checks(page: Page, calls: Calls) -> None:
    """What is wrong, and the change that would mend it, valve by valve."""
    page.section("What to change, valve by valve")
    too_many = f'"more than {MOST_CHECKED} beds: ask DESIGN_CHECKS for a part of them"'
    words = page.book.words(calls.checks)
    page.state(f'IF(pressure_state<>"ok","not solved",IF({_beds_solved(page.book)}>'
               f"{MOST_CHECKED},{too_many},{words}))", "design_state")  # fmt: skip
    count = f'IF(design_state="ok",{calls.checks.count},0)'
    nothing = calls.checks.item(3, 1)
    number = f'IF({nothing}="nothing found",0,{count})'
    page.result("pressure_findings", f'IF(design_state<>"ok","",{number})')
    for col, header in enumerate(("Checked", "What is wrong, and what to change")):
        page.text(page.row, col, header, page.styles.header)
    page.sheet.merge_range(page.row, 1, page.row, WIDTH - 1, "What is wrong, and what to change",
                           page.styles.header)  # fmt: skip
    page.book.places[PRESSURE_FINDINGS] = Place(
        page.name, page.row + 1, page.row + FINDINGS, {"checked": 0, "words": 1}
    )
    for i in range(1, FINDINGS + 1):
        page.row += 1
        beyond = f'OR(pressure_findings="",{i}>N(pressure_findings))'
        page.formula(page.row, 0, f'IF({beyond},"",{calls.checks.item(2, i)})', "text")
        page.sheet.merge_range(page.row, 1, page.row, WIDTH - 1, "", page.styles.words)
        page.formula(page.row, 1, f'IF({beyond},"",{calls.checks.item(3, i)})', "text",
                     style=page.styles.words)  # fmt: skip
        page.sheet.set_row(page.row, 26)
    page.row += 2
