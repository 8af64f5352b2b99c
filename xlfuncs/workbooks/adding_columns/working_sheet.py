"""The sheet on which the pressure of a list is worked out, row by row, from the supply on."""

from collections.abc import Callable
from dataclasses import dataclass, field

from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.money.prices import NEEDS, PRICES
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.serving import call, unless
from xlfuncs.workbooks.adding_columns.settings_sections import (
    HEAD_SECTION,
    LINES_SECTION,
    PIPES_SECTION,
)
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings
from xlfuncs.workbooks.our_tables.read_inputs import PRESSURE_WORDS, PURCHASE_SHEET, SETTINGS_SHEET
from xlfuncs.xlsx.cell_references import column_letters, quoted_sheet

POINTS, CURVE_AT = 61, 27  # of the supply's curve, as in the template's; its first column
MOST_ROWS = 2000  # that a formula beside the list looks for
# What the function reads of the list, under our headings and in the units of the columns.
READ = (
    "bed", "length", "laterals", "distance", "strip_width", "strips", "bed_top_width", "line",
    "main_pipe", "manifold_pipe", "branch", "branch_start", "elevation", "slope", "valve", "on",
)  # fmt: skip
KEYS = {"line": LINES_SECTION, "main_pipe": PIPES_SECTION}
RESULTS = {"inlet_pressure": "inlet_pressure", "delivered_flow": "flow", "share": "share",
           "remark": "remark"}  # fmt: skip
# Shares of the nominal flow, as the plan judges its beds; common practice, no published source.
TOO_LITTLE, TOO_MUCH = 0.9, 1.25
FAR_MORE = "far more"  # begins what is said of a flow for which no minutes are given


class WorkingSheet:
    """Row n of it belongs to the n-th row of the list, its headings being the first.

    `take` gives a formula for the list's value in this row of the sheet, `nominal` is one for the
    bed's nominal flow, which stands beside beds only, not beside totals and notes.
    """

    def __init__(
        self, name: str, rows: int, settings: Settings, take: Callable[[str], str], nominal: str
    ) -> None:
        self.settings = settings
        self.beds = Block(name, 1, 1, rows - 1)
        self.curve = Block(name, 1, CURVE_AT, POINTS)
        self.named = {column: take(column) for column in READ}
        first = {name: settings.only(section, section.names[0]) for name, section in KEYS.items()}
        for column in READ:
            if taken := self.named[column] or first.get(column, ""):
                self.beds.add(column, BEDS[column].heading(settings.system), taken)
        self._supply()
        here = self.beds.here
        self._add("check", self._check())
        self._add("counted", f'IF(AND({here("check")}="ok",N({nominal})>0),"yes","no")')
        self._add("set", self._set())
        self._results()
        self.beds.add("words", PRESSURE_WORDS, self._words())

    def beside(self, name: str, row: str) -> str:
        """For the list's own sheet: the value in its row of that number."""
        letters = self.beds.letters(name)
        return f"INDEX({quoted_sheet(self.beds.sheet)}!${letters}$1:${letters}${MOST_ROWS},{row})"

    def write(self, cells: NewCells, head_style: str) -> None:
        cells.make_sheet(self.beds.sheet, [11] * (CURVE_AT + 2))
        self.beds.write(cells, head_style)
        self.curve.write(cells, head_style)

    def _add(self, name: str, formula: str) -> None:
        self.beds.add(name, name.replace("_", " ").capitalize(), formula)

    def _unknown(self) -> str:
        flow, pressure = (self.settings.cell(n) for n in ("measured_flow", "static_pressure"))
        return f'OR({flow}="",{pressure}="")'

    def _supply(self) -> None:
        """The supply's pressure at flows up to the open tap's, before and behind the parts."""
        settings, system = self.settings, self.settings.system
        most, static = settings.cell("measured_flow"), settings.cell("static_pressure")
        gauge = {name: f'IF({(cell := settings.cell(name))}="","",{cell})'
                 for name in ("gauge_flow", "gauge_pressure")}  # fmt: skip
        flow, pressure = (DIMENSIONS[name].unit(system) for name in ("flow", "pressure"))
        unknown = [self._unknown()]
        self.curve.add("flow", f"Flow ({flow})", unless(unknown, f"{most}*(ROW()-2)/{POINTS - 1}"))
        supply = call("SUPPLY_PRESSURE", system, {
            "flow": self.curve.here("flow"), "static_pressure": static, "open_flow": most, **gauge,
        })  # fmt: skip
        self.curve.add("supply", f"Supply ({pressure})", unless(unknown, supply))
        behind = call("HEAD_PRESSURE", system, {
            "flow": self.curve.cells("flow"), "supply_pressure": self.curve.cells("supply"),
            "parts": settings.span(HEAD_SECTION),
        })  # fmt: skip
        asked = f'INPUT_CHECK("HEAD_PRESSURE",{behind.split("(", 1)[1]}'
        self.head_check = f'IFERROR(MID({asked},FIND(": ",{asked})+2,400),"")'
        self.curve.add("main", f"Start of the main ({pressure})",
                       unless(unknown, f'IFERROR(INDEX({behind},ROW()-1,1),"")'))  # fmt: skip

    def _system(self, head: str) -> dict[str, str]:
        """The beds with their lines and pipes, fed by a supply."""
        last = [name for name in self.beds.columns if name in READ][-1]
        return {
            "beds": self.beds.cells(next(iter(self.beds.columns)), last, headed=True),
            "head": head, "lines": self.settings.span(LINES_SECTION),
            "pipes": self.settings.span(PIPES_SECTION),
        }  # fmt: skip

    def _check(self) -> str:
        """What keeps the row's bed from being solved, in words; nothing in a blank row."""
        asked = call("SYSTEM_DELIVERY", self.settings.system, self._system('"1 bar"'))
        read = f'INDEX(ROW_CHECK("SYSTEM_DELIVERY",{asked.split("(", 1)[1]},ROW()-1,1)'
        words = f'IF({self._unknown()},"Supply: not measured yet",{self._which(read)})'
        parts = f'IF({self.head_check}="",{words},"{SETTINGS_SHEET}, "&{self.head_check})'
        words = f"IF({self._unknown()},{words},{parts})"
        blank = "&".join(self.beds.here(n) for n in ("length", "laterals", "distance"))
        return f'IF({blank}="","",{words})'

    def _which(self, words: str) -> str:
        """Asks which line or pipe it is where the list names none and the settings have several."""
        for name, section in KEYS.items():
            if not self.named[name]:
                ask = f"{BEDS[name].header}: which one? {SETTINGS_SHEET} has several, the list none"
                words = f'IF({self.settings.several(section)},"{ask}",{words})'
        return words

    def _set(self) -> str:
        """Beds of a valve run together; a bed without one runs alone."""
        here = self.beds.here
        alone = (here("bed") if "bed" in self.beds.columns else "ROW()") + '&" alone"'
        key = alone
        if "valve" in self.beds.columns:
            key = f'IF({here("valve")}="",{alone},{here("valve")})'
        return f'IF({here("counted")}="yes",{key},"")'

    def _results(self) -> None:
        head = self.curve.cells("flow", "main", headed=True)
        sets = {name: self.beds.cells(name) for name in ("counted", "set")}
        solved = call("SYSTEM_DELIVERY", self.settings.system, {**self._system(head), **sets})
        order = [result.name for result in functions()["SYSTEM_DELIVERY"].results]
        for name, result in RESULTS.items():
            there = f"INDEX({solved},ROW()-1,{order.index(result) + 1})"
            self._add(name, unless([f'{self.beds.here("counted")}<>"yes"'], there))

    def _words(self) -> str:
        """What keeps the bed from being solved, else what is wrong with its pressure or flow."""
        check, remark, share = (self.beds.here(name) for name in ("check", "remark", "share"))
        flow = f'IF({share}<{TOO_LITTLE},"too little: under {TOO_LITTLE:.0%} of nominal","ok")'
        flow = f'IF({remark}<>"",{remark},IF(N({share})=0,"",{flow}))'
        return (
            f'IF({check}<>"ok",{check},IF(N({share})>{TOO_MUCH},"{FAR_MORE} than nominal: is the'
            f' regulator missing? Thin tape bursts",{flow}))'
        )


# --- columns of formulas on a sheet of their own: headings, and the same formula in every row ---


@dataclass
class Block:
    """Columns by name, from a row with their headings on; in formulas `{row}` is their own row."""

    sheet: str
    top: int
    left: int
    rows: int
    columns: dict[str, tuple[str, str]] = field(default_factory=dict)  # heading and formula

    def add(self, name: str, heading: str, formula: str) -> None:
        self.columns[name] = heading, formula

    def letters(self, name: str) -> str:
        return column_letters(self.left + list(self.columns).index(name))

    def here(self, name: str) -> str:
        """The cell of a column in the row of a formula."""
        return f"${self.letters(name)}{{row}}"

    def cells(self, first: str, last: str = "", *, headed: bool = False) -> str:
        """The cells of a column, or of all from one to another, with their headings if asked."""
        top = self.top + (0 if headed else 1)
        return f"${self.letters(first)}${top}:${self.letters(last or first)}${self.top + self.rows}"

    def write(self, cells: NewCells, head_style: str) -> None:
        for place, (heading, formula) in enumerate(self.columns.values(), self.left):
            cells.put(self.sheet, self.top, place, heading, style=head_style)
            for row in range(self.top + 1, self.top + self.rows + 1):
                text = formula.replace("{row}", str(row))
                cells.put(self.sheet, row, place, formula=text)


# --- the sheet of what lines to buy for a list: the cheapest rolls, with no line joined in a bed


SHOWN = ("part", "packs", "roll_length", "price", "total", "left_over", "note")
OFFERED = {"part": "line", "roll_length": "roll_length", "price": "roll_price"}
TOP, NEEDS_AT = 4, 10  # row of the headings, first column of the needs
NUMBER = f"ROW()-{TOP}+1"  # of the row of the list that a need is of


def write_purchase(
    cells: NewCells, settings: Settings, rows: int, take: Callable[[str], str], length: str,
    head_style: str,
) -> None:  # fmt: skip
    """`take` gives a formula for the list's value in the row of that number; `length` one for the
    line in the bed, which only beds have."""
    system = settings.system
    cells.make_sheet(PURCHASE_SHEET, (24, 8, 12, 10, 11, 12, 46, 3, 3, 18, 9, 12))
    cells.put(PURCHASE_SHEET, 1, 1, "Lines to buy: the cheapest whole rolls from which every line"
              " is cut in one piece.")  # fmt: skip
    prices, dated = settings.column(LINES_SECTION, "roll_price"), settings.cell("plan_date")
    needs = Block(PURCHASE_SHEET, TOP, NEEDS_AT, rows - 1)
    line = take("line") or settings.only(LINES_SECTION, "line")
    for name, own in (("part", line), ("number", take("laterals")), ("length", take("length"))):
        needs.add(name, NEEDS[name].heading(system), unless([f"N({length})=0"], own))
    offers = Block(PURCHASE_SHEET, TOP, NEEDS_AT + len(needs.columns), LINES_SECTION.rows)
    for name, of_line in OFFERED.items():
        cell = f"INDEX({settings.column(LINES_SECTION, of_line)},ROW()-{TOP})"
        offers.add(name, PRICES[name].heading(system), unless([f'{cell}=""'], cell))
    offers.add("date", PRICES["date"].header, unless([f'{offers.here("price")}=""'], dated))
    bought = call("PURCHASE_LIST", system, {
        "needs": needs.cells("part", "length", headed=True), "plan_date": dated,
        "offers": offers.cells("part", "date", headed=True),
    })  # fmt: skip
    words = f'INPUT_CHECK("PURCHASE_LIST",{bought.split("(", 1)[1]}'
    cells.put(PURCHASE_SHEET, 2, 1, "Check")
    cells.put(PURCHASE_SHEET, 2, 2, formula=f'IF(OR(COUNT({prices})=0,{dated}=""),"Plan date, roll'
              f' lengths and prices: fill in on Water settings",{words})')  # fmt: skip
    results = {r.name: (i, r) for i, r in enumerate(functions()["PURCHASE_LIST"].results, 1)}
    rolls = Block(PURCHASE_SHEET, TOP, 1, LINES_SECTION.rows)
    for name in SHOWN:
        place, result = results[name]
        unit = DIMENSIONS[result.dimension].unit(system)
        header = "Rolls" if name == "packs" else name.replace("_", " ").capitalize()
        there = f'IFERROR(INDEX({bought},ROW()-{TOP},{place}),"")'
        rolls.add(name, f"{header} ({unit})" if unit else header, unless(['$B$2<>"ok"'], there))
    for block in (rolls, needs, offers):
        block.write(cells, head_style)
