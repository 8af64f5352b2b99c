"""Supply: what the tap, well, pump or tank gives, and what the parts behind it leave of it."""

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import Place, call, checked
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.garden.supply_pressure import (
    CURVE,
    IN_USE,
    as_flow,
    by_kind,
    given,
    parts,
    pressure_at,
    pump_flows,
)
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.head_assembly import (
    HEAD_PARTS,
    PUMP,
    PUMP_CURVES,
    REGULATORS,
    SERVICE,
    SUPPLIES,
    SUPPLY_IN_USE,
    TANK,
    WELL,
)

SHEETS = (
    SheetFor("Supply",
             "What reaches the start of the main at each flow. Fill in what your supply and parts"
             " are.", (GROWER, CONSULTANT), title="Supply and head assembly", group="garden",
             needs=("Pressure",), client=SEEN),
)  # fmt: skip


POINTS = 61  # so many that the bend where a regulator lets go lies right within a few hundredths
FINE = 15  # first of the folded columns that hold them
WIDTHS = (30, 18, *[12] * 10, 30)
SAID = said("supply")
TAKEN = ("gauge_flow", "gauge_pressure", "cut_in_pressure", "cut_out_pressure",
         "sustained_yield", "lift", "water_level", "tank_area")  # fmt: skip


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=WIDTHS, numbers_at=18)
    page.note(SAID.caution)
    page.settings(SUPPLY_IN_USE)
    _tables(page)
    _in_use(book, page)
    _curve(book, page)
    write_head(book, page)


def _tables(page: Page) -> None:
    flow = as_flow(page.book, "{flow}")
    in_use = {"flow_in_use": f'IF({{supply}}="","",IF({{supply}}=supply_used,{flow},""))'}
    shown: tuple[tuple[str, Table, dict[str, str], int], ...] = (
        ("Supplies", SUPPLIES, {}, 2),
        ("Points of pump curves", PUMP_CURVES, in_use, 4),
        ("Head assembly: the parts in the order of the flow", HEAD_PARTS, {}, 4),
        ("Other regulators to compare", REGULATORS, {}, 2),
    )
    for title, table, computed, spare in shown:
        page.section(title)
        page.note(table.help)
        widths = dict(zip([*table.names, *computed], WIDTHS, strict=False))
        page.table(table, computed, spare=spare, widths=widths)


# --- the supply in use ---


def _of(book: Book, column: str) -> str:
    """A value of the supply in use, blank where none is given."""
    there = f"INDEX({book.column('Supplies', column)},supply_row)"
    return f'IF(supply_row="","",IF({there}="","",{there}))'


def _in_use(book: Book, page: Page) -> None:
    def otherwise(own: str, setting: str) -> str:
        return f'IF(supply_kind<>"{SERVICE}","",IF({own}="",{setting},{own}))'

    page.section("The supply in use")
    place = f"MATCH(supply_used,{book.column('Supplies', 'supply')},0)"
    page.result("supply_row", f'IF(supply_used="","",IFERROR({place},""))')
    first = page.row
    page.result_row("Supply", 'IF(supply_used="","",supply_used)', "text", "As chosen above")
    page.result("supply_kind", f'IF(supply_used="","{SERVICE}",{_of(book, "kind")})')
    folded = ("static_pressure", "open_flow", *TAKEN)
    for name in folded:
        column = SUPPLIES[name]
        own = name if name in TAKEN else f"own_{name}"
        label = column.header if name in TAKEN else f"{column.header}, its own"
        page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
        page.result_row(label, _of(book, name), column.dimension, "As above, where it is given",
                        name=given(own))  # fmt: skip
    page.result("supply_drawn", "N(tank_drawn)")
    own, of_tap = given("own_static_pressure"), 'IF(static_pressure="","",static_pressure)'
    page.result("supply_static", otherwise(own, of_tap))
    page.result("supply_open_flow", otherwise(given("own_open_flow"), "measured_flow"))
    book.name_settings(IN_USE, page.name, first, page.row - 1)
    flows = pump_flows(book)
    last = f'IF(COUNT({flows})<2,"",MAX({flows}))'
    last = book.name_formula("pump_greatest_flow", page.name, last)
    greatest = by_kind({
        SERVICE: "supply_open_flow", WELL: given("sustained_yield"),
        PUMP: last, TANK: "measured_flow",
    })  # fmt: skip
    greatest = book.name_formula("supply_flow_as_typed", page.name, greatest)
    page.result("supply_greatest_flow", as_flow(book, greatest))
    _state(book, page)
    cut_out = given("cut_out_pressure")
    at_rest = f"INDEX({pressure_at(book, '0')},1,1)"
    most = f'IF(AND(supply_kind="{WELL}",{cut_out}<>""),{cut_out},{at_rest})'
    page.result("supply_most_pressure", f'IF(supply_state="ok",{most},"")')
    page.row += 1


def _state(book: Book, page: Page) -> None:
    nothing = "AND(N(supply_greatest_flow)=0,supply_kind="
    missing = (
        ('supply_kind=""', '"Supply in use: not among the supplies above"'),
        *((f'{nothing}"{kind}")', f'"{said}"') for kind, said in (
            (SERVICE, "Measure the tap: the bucket test on Setup is missing"),
            (WELL, "Sustained yield of the supply in use is blank on Supply"),
            (PUMP, "Points of the pump's curve: two at least, above"),
            (TANK, "Measure the outlet: the bucket test on Setup is missing"),
        )),
    )  # fmt: skip
    known = f'IF(N(supply_greatest_flow)=0,"",{pressure_at(book, "supply_greatest_flow", checked)})'
    page.state(known, "supply_state", missing=missing, style=page.styles.shown("text"))


def _curve(book: Book, page: Page) -> None:
    """Flows to read, and folded beside them the many that the solver and the chart take."""
    page.section("Pressure at each flow, before and behind the head assembly")
    top = page.row + 1
    columns = {name: FINE + i for i, name in enumerate(("flow", "pressure", "behind"))}
    place = Place(page.name, top + 1, top + POINTS, columns)
    book.places[CURVE] = place
    book.workbook.define_name("start_of_main", "=" + place.with_headers("flow", "behind"))
    arguments = (place.reference("flow"), place.reference("pressure"), *parts(book))
    words = f'IF(supply_state<>"ok",supply_state,{checked("HEAD_PRESSURE", *arguments)})'
    page.state(words, "head_state")
    least = f"MIN({pump_flows(book)})"
    flows = place.reference("flow")
    supply = page.answer(POINTS, "SUPPLY_CURVE", flows, IN_USE, book.span(PUMP_CURVES))
    behind = page.answer(POINTS, "HEAD_PRESSURE", *arguments)
    fine = [
        f'IF(supply_state="ok",{least}+(supply_greatest_flow-{least})*({{n}}-1)/{POINTS - 1},"")',
        f'IF(supply_state="ok",{supply.item(1)},"")',
        f'IF(head_state="ok",{behind.item(1)},"")',
    ]
    headers = (("Flow", "flow"), ("Supply", "pressure"), ("Start of the main", "pressure"))
    page.grid(headers, [fine] * POINTS, col=FINE)
    page.sheet.set_column(FINE, FINE + 2, 11, None, {"level": 1, "hidden": True})
    page.row = top
    numbers = range(1, POINTS + 1, (POINTS - 1) // 10)
    cells = [[place.cell(name, i) for name in columns] for i in numbers]
    page.grid(headers, [[f'IF({cell}="","",{cell})' for cell in row] for row in cells])
    drawn = [rows_of(page, place.first, place.last, col) for col in columns.values()]
    chart(
        page, "scatter", "What the supply gives and what reaches the main",
        [Series("Supply", drawn[0], drawn[1], bare=True),
         Series("Start of the main", drawn[0], drawn[2], bare=True)],
        (top, 4), x_title=f"Flow ({book.unit('flow')})",
        y_title=f"Pressure ({book.unit('pressure')})", size=(560, 300), from_zero=True,
    )  # fmt: skip
    page.row = top + 16


# --- the head assembly on Supply: whether every part is within its limits ---
NOTHING_BROKEN = "ok"


def write_head(book: Book, page: Page) -> None:
    page.section("Head assembly: is every part within its limits?")
    place = book.places[CURVE]
    curve = place.reference("flow"), place.reference("pressure")
    flows = page.answer(1, "HEAD_FLOWS", *curve, *parts(book))
    for column, name in enumerate(("head_least_flow", "head_greatest_flow"), 1):
        page.result(name, f'IF(head_state="ok",{flows.item(column, 1)},"")')
    cut_out = f'AND(head_state="ok",supply_kind="{WELL}",{given("cut_out_pressure")}<>"")'
    most = f"INDEX({call('HEAD_PRESSURE', '0', 'supply_most_pressure', *parts(book))},1,1)"
    page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
    page.result("start_most_pressure", f'IF({cut_out},{most},"")')
    page.row += 1
    page.note(SAID.limits)
    flows_of = ("highest", "most_open_flow"), ("lowest", "fewest_open_flow")
    words = [_through_the_parts(book, page, f"Valve with the {which} flow", name)
             for which, name in flows_of]  # fmt: skip
    broken = "+".join(f'COUNTIF({cells},"?*")-COUNTIF({cells},"{NOTHING_BROKEN}")'
                      for cells in words)  # fmt: skip
    stopped = "+".join(f'COUNTIF({cells},"*will not work*")' for cells in words)
    page.result("head_limits_broken", f'IF(N(most_open_flow)=0,"",{broken})')
    book.name_formula("parts_stopped", page.name, stopped)
    gravity = (
        f'IF(supply_kind<>"{TANK}","not in use",IF(N(most_open_flow)=0,"not solved yet",'
        'IF(parts_stopped=0,"every part has the pressure that it needs",'
        '"some parts will not work: see the words above")))'
    )
    page.state(gravity, "gravity_words", label="Tank", style=page.styles.shown("text"))


def _through_the_parts(book: Book, page: Page, title: str, flow: str) -> str:
    """Pressure before and behind each part at one flow, and words; gives the cells of the words."""
    page.row += 1
    page.result_row(title, f'IF(N({flow})=0,"",{flow})', "flow", "Flow delivered, from Pressure",
                    strong=True)  # fmt: skip
    rows = book.places["HeadParts"].rows
    through = page.answer(rows, "HEAD_ASSEMBLY", flow, pressure_at(book, flow), *parts(book))
    ready = f'OR($A{{row}}="",head_state<>"ok",N({flow})=0)'
    part = book.nth("HeadParts", "part")
    found = [through.item(j) for j in (1, 2, 3)]
    found[2] = f'IF({found[2]}="","{NOTHING_BROKEN}",{found[2]})'
    row = [f'IF({part}="","",{part})', *(f'IF({ready},"",{cell})' for cell in found)]
    headers = (("Part", "text"), ("Inlet pressure", "pressure"), ("Outlet pressure", "pressure"),
               ("Check", "text"))  # fmt: skip
    first = page.grid(headers, [row] * rows, styles={3: page.styles.shown("text")})
    page.row -= 1
    return f"$D${first + 1}:$D${first + rows}"
