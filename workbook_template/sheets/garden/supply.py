"""Supply: what the tap, well, pump or tank gives, and what the parts behind it leave of it."""

from __future__ import annotations

from collections.abc import Callable

from xlsxwriter.utility import xl_col_to_name

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import Place, call, checked
from workbook_template.kit.page import Computed, Page
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.head_assembly import (
    HEAD_PARTS,
    PUMP,
    PUMP_CURVES,
    REGULATORS,
    SERVICE,
    SUPPLIES,
    TANK,
    WELL,
)
from xlfuncs.tables.garden.pressure import SUPPLY_IN_USE

SHEETS = (
    SheetFor(
        "Supply", (GROWER, CONSULTANT), group="garden", needs=("Pressure",), client=ForClient()
    ),
)

CURVE = "supply curve"  # the block, by which the pressure sheet finds it
POINTS = 61  # so many that the bend where a regulator lets go lies right within a few hundredths
FINE = 15  # first of the folded columns that hold them
WIDTHS = (30, 18, *[12] * 10, 30)
CAUTION = (
    "Backflow can carry soil and fertiliser into drinking water: fit what your local code asks for,"
    " where and tested as it asks. The regulator stands before the tape, which bursts above its"
    " rating. Pumps and their wiring are for licensed people."
)
LIMITS = (
    "Once with the valve that takes the most, once with the one that takes the least: one small bed"
    " can fall below the least flow of a regulator or timer."
)
NOTHING_BROKEN = "in order"
TAKEN = ("gauge_flow", "gauge_pressure", "cut_in_pressure", "cut_out_pressure",
         "sustained_yield", "lift", "water_level", "tank_area")  # fmt: skip
LOSSES = ("loss_in_use", "loss_flow", "opening_loss", "preset")
WORKS = ("least_flow", "greatest_flow", "least_inlet")


def write(book: Book) -> None:
    page = Page(
        book, "Supply", "Supply and head assembly",
        "What reaches the start of the main at each flow. Fill in what your supply and parts are.",
        widths=WIDTHS,
    )  # fmt: skip
    page.note(CAUTION)
    page.settings(SUPPLY_IN_USE)
    _tables(page)
    _in_use(book, page)
    _curve(book, page)
    _head(book, page)


def _tables(page: Page) -> None:
    shown: tuple[tuple[str, Table, tuple[Computed, ...], int], ...] = (
        ("Supplies", SUPPLIES, (), 2),
        ("Points of pump curves", PUMP_CURVES, _of_pump(), 4),
        ("Head assembly: the parts in the order of the flow", HEAD_PARTS, _of_part(), 4),
        ("Other regulators to compare", REGULATORS, (), 2),
    )
    for title, table, computed, spare in shown:
        page.section(title)
        page.note(table.help)
        names = [*table.names, *(column.name for column in computed)]
        widths = dict(zip(names, WIDTHS, strict=False))
        page.table(table, computed, spare=spare, widths=widths)


def _of_pump() -> tuple[Computed, ...]:
    return tuple(
        Computed(f"{name}_in_use", f"{name.capitalize()}, pump in use", name,
                 "Points of the supply in use",
                 f'IF({{supply}}="","",IF({{supply}}=supply_used,{{{name}}},""))')
        for name in ("flow", "head")
    )  # fmt: skip


def _of_part() -> tuple[Computed, ...]:
    dirty = 'AND({dirty_loss}<>"",dirty_filters<>"no")'
    return (
        Computed("loss_in_use", "Loss reckoned with", "pressure",
                 "A filter's dirty or clean, as chosen above",
                 f'IF({dirty},{{dirty_loss}},IF({{loss}}="","",{{loss}}))'),
    )  # fmt: skip


# --- the supply in use ---


def _of(book: Book, column: str) -> str:
    """A value of the supply in use, blank where none is given."""
    there = book.lookup("Supplies", column, "supply", "supply_used")
    return f'IF(supply_used="","",IFERROR(IF({there}="","",{there}),""))'


def _given(column: str) -> str:
    """The defined name of such a value."""
    return f"supply_{column}"


def _by_kind(formulas: dict[str, str]) -> str:
    formula = '""'
    for kind, of_kind in reversed(formulas.items()):
        formula = f'IF(supply_kind="{kind}",{of_kind},{formula})'
    return formula


def _pump_flows(book: Book) -> str:
    return book.column("PumpCurves", "flow_in_use")


def pressure_at(book: Book, flow: str, of: Callable[..., str] = call) -> str:
    """A formula for the pressure of the supply in use at a flow, or for the words on it."""
    within = f"MAX({flow},MIN({_pump_flows(book)}))"  # a curve is known from its first point on
    heads = book.column("PumpCurves", "head_in_use")
    return _by_kind({
        SERVICE: of("SUPPLY_PRESSURE", flow, "supply_static", "supply_open_flow",
                    _given("gauge_flow"), _given("gauge_pressure")),
        WELL: of("WELL_PRESSURE", flow, _given("cut_in_pressure"), _given("sustained_yield")),
        PUMP: of("PUMP_PRESSURE", within, _pump_flows(book), heads, _given("lift")),
        TANK: of("TANK_PRESSURE", _given("water_level"), "tank_drawn", _given("tank_area")),
    })  # fmt: skip


def _in_use(book: Book, page: Page) -> None:
    def otherwise(column: str, setting: str) -> str:
        own = _of(book, column)
        return f'IF(supply_kind<>"{SERVICE}","",IF({own}="",{setting},{own}))'

    page.next_printed_page()
    page.section("The supply in use")
    page.result_row("Kind", f'IF(supply_used="","{SERVICE}",{_of(book, "kind")})', "text",
                    "As above", name="supply_kind")  # fmt: skip
    page.result_row(
        "Static pressure",
        otherwise("static_pressure", 'IF(static_pressure="","",static_pressure)'),
        "pressure", "Service: as above, or else from Setup", name="supply_static",
    )  # fmt: skip
    page.result_row("Open flow", otherwise("open_flow", "measured_flow"), "flow",
                    "Service: as above, or else by the bucket test on Setup",
                    name="supply_open_flow")  # fmt: skip
    flows = _pump_flows(book)
    greatest = _by_kind({
        SERVICE: "supply_open_flow", WELL: _given("sustained_yield"),
        PUMP: f'IF(COUNT({flows})<2,"",MAX({flows}))', TANK: "measured_flow",
    })  # fmt: skip
    page.result_row("Greatest flow", greatest, "flow", "Of the open tap, a well's sustained yield,"
                    " the last point of a pump's curve", name="supply_greatest_flow")  # fmt: skip
    page.text(page.row, 0, "State")
    page.formula(page.row, 1, _state(book), "text", style=page.styles.shown("text"))
    book.name("supply_state", page.name, page.row, 1)
    page.row += 1
    nothing_drawn = pressure_at(book, "0")
    cut_out = _given("cut_out_pressure")
    most = f'IF(AND(supply_kind="{WELL}",{cut_out}<>""),{cut_out},{nothing_drawn})'
    page.result_row("Pressure with nothing drawn", f'IF(supply_state="ok",{most},"")', "pressure",
                    "Of a well at cut-out: the most that the parts before a regulator feel",
                    name="supply_most_pressure")  # fmt: skip
    for name in TAKEN:
        column = SUPPLIES[name]
        page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
        page.result_row(column.header, _of(book, name), column.dimension,
                        "As above, where it is given", name=_given(name))  # fmt: skip
    page.row += 1


def _state(book: Book) -> str:
    missing = _by_kind({
        SERVICE: '"Measure the tap: the bucket test on Setup is missing"',
        WELL: '"Sustained yield: missing above"',
        PUMP: '"Points of the pump\'s curve: two at least, above"',
        TANK: '"Measure the outlet: the bucket test on Setup is missing"',
    })  # fmt: skip
    tried = pressure_at(book, "supply_greatest_flow", checked)
    return (
        'IF(supply_kind="","Supply in use: not among the supplies above",'
        f"IF(N(supply_greatest_flow)=0,{missing},{tried}))"
    )


# --- the curve ---


def behind_at(book: Book, flow: str) -> str:
    """A formula for the pressure at the start of the main at a flow, behind all parts."""
    losses = _parts(book, *LOSSES)
    return f"INDEX({call('HEAD_PRESSURE', flow, pressure_at(book, flow), *losses)},1,1)"


def _parts(book: Book, *names: str) -> list[str]:
    return [book.column("HeadParts", name) for name in names]


def _curve(book: Book, page: Page) -> None:
    """Flows to read, and folded beside them the many that the solver and the chart take."""
    page.section("Pressure at each flow, before and behind the head assembly")
    state, top = page.row, page.row + 1
    columns = {name: FINE + i for i, name in enumerate(("flow", "pressure", "behind"))}
    place = Place(page.name, top + 1, top + POINTS, columns)
    book.places[CURVE] = place
    book.workbook.define_name("start_of_main", "=" + place.with_headers("flow", "behind"))
    arguments = (place.reference("flow"), place.reference("pressure"), *_parts(book, *LOSSES))
    page.text(state, 0, "State")
    words = f'IF(supply_state<>"ok",supply_state,{checked("HEAD_PRESSURE", *arguments)})'
    page.formula(state, 1, words, "text", style=page.styles.aside)
    book.name("head_state", page.name, state, 1)
    least = f"MIN({_pump_flows(book)})"
    flow = f"{xl_col_to_name(FINE)}{{row}}"
    behind = page.answer(POINTS, "HEAD_PRESSURE", *arguments)
    fine = [
        f'IF(supply_state="ok",{least}+(supply_greatest_flow-{least})*({{n}}-1)/{POINTS - 1},"")',
        f'IF(supply_state="ok",{pressure_at(book, flow)},"")',
        f'IF(head_state="ok",{behind.item(1)},"")',
    ]
    headers = (("Flow", "flow"), ("Supply", "pressure"), ("Start of the main", "pressure"))
    page.row = top
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


# --- the head assembly ---


def _head(book: Book, page: Page) -> None:
    page.section("Head assembly: is every part within its limits?")
    place, losses = book.places[CURVE], _parts(book, *LOSSES)
    flows = page.answer(
        1, "HEAD_FLOWS", place.reference("flow"), place.reference("pressure"), *losses,
        *_parts(book, *WORKS),
    )  # fmt: skip
    for label, name, column, said in (
        ("Least flow", "head_least_flow", 1, "From it on every part works: no set may take less"),
        ("Greatest flow", "head_greatest_flow", 2, "Up to it every part works and has the pressure"
         " that it needs: no set may take more"),
    ):  # fmt: skip
        page.result_row(label, f'IF(head_state="ok",{flows.item(column, 1)},"")', "flow", said,
                        name=name)  # fmt: skip
    cut_out = f'AND(head_state="ok",supply_kind="{WELL}",{_given("cut_out_pressure")}<>"")'
    most = f"INDEX({call('HEAD_PRESSURE', '0', 'supply_most_pressure', *losses)},1,1)"
    page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
    page.result_row("Start of the main, cut-out", f'IF({cut_out},{most},"")', "pressure",
                    "Of a well: what a line must bear", name="start_most_pressure")  # fmt: skip
    page.note(LIMITS)
    words = [
        _through_the_parts(book, page, "With the valve that takes the most", "most_open_flow"),
        _through_the_parts(book, page, "With the valve that takes the least", "fewest_open_flow"),
    ]
    broken = "+".join(f'COUNTIF({cells},"?*")-COUNTIF({cells},"{NOTHING_BROKEN}")'
                      for cells in words)  # fmt: skip
    stopped = "+".join(f'COUNTIF({cells},"*will not work*")' for cells in words)
    page.result_row("Limits broken", f'IF(N(most_open_flow)=0,"",{broken})', "count",
                    "In the two cases together", name="head_limits_broken")  # fmt: skip
    gravity = (
        f'IF(supply_kind<>"{TANK}","the supply is no tank",IF(N(most_open_flow)=0,"not solved yet",'
        f'IF({stopped}=0,"every part has the pressure that it needs","some parts will not work: see'
        ' the words above")))'
    )
    page.text(page.row, 0, "Under a tank")
    page.formula(page.row, 1, gravity, "text", style=page.styles.shown("text"))
    book.name("gravity_words", page.name, page.row, 1)
    page.row += 1


def _through_the_parts(book: Book, page: Page, title: str, flow: str) -> str:
    """Pressure before and behind each part at one flow, and words; gives the cells of the words."""
    page.row += 1
    page.result_row(title, f'IF(N({flow})=0,"",{flow})', "flow", "Flow delivered, from Pressure",
                    strong=True)  # fmt: skip
    columns = (*LOSSES, *WORKS)
    parts = book.places["HeadParts"].rows
    through = page.answer(
        parts, "HEAD_ASSEMBLY", flow, pressure_at(book, flow), *_parts(book, *columns)
    )
    ready = f'OR($A{{row}}="",head_state<>"ok",N({flow})=0)'
    part = f"INDEX({book.column('HeadParts', 'part')},{{n}})"
    found = [through.item(j) for j in (1, 2, 3)]
    found[2] = f'IF({found[2]}="","{NOTHING_BROKEN}",{found[2]})'
    row = [f'IF({part}="","",{part})', *(f'IF({ready},"",{cell})' for cell in found)]
    headers = (("Part", "text"), ("Before it", "pressure"), ("Behind it", "pressure"),
               ("Limits", "text"))  # fmt: skip
    first = page.grid(headers, [row] * parts, styles={3: page.styles.shown("text")})
    page.row -= 1
    return f"$D${first + 1}:$D${first + parts}"
