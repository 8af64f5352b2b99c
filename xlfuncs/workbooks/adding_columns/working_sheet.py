"""The sheet on which the pressure of a list is worked out, row by row, from the supply on."""

from collections.abc import Callable

from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.new_cells import Block, NewCells
from xlfuncs.workbooks.adding_columns.serving import call, unless
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings
from xlfuncs.workbooks.our_tables.read_inputs import (
    MINUTES_WORDS,
    OK_ALONE,
    PRESSURE_WORDS,
    SETTINGS_SHEET,
)
from xlfuncs.xlsx.cell_references import quoted_sheet

POINTS, CURVE_AT = 61, 36  # of the supply's curve, as in the template's; its first column
MOST_ROWS = 2000  # that a formula beside the list looks for
# What the function reads of the list, under our headings and in the units of the columns.
READ = (
    "bed", "length", "laterals", "valve", "distance", "strip_width", "strips", "bed_top_width",
    "line", "main_pipe", "manifold_pipe", "branch", "branch_start", "elevation", "slope", "on",
)  # fmt: skip
KEYS = {"line": basis.LINES, "main_pipe": basis.PIPES}
RESULTS = {"inlet_pressure": "inlet_pressure", "delivered_flow": "flow", "share": "share",
           "remark": "remark"}  # fmt: skip
# Shares of the nominal flow, as the plan judges its beds; common practice, no published source.
TOO_LITTLE, TOO_MUCH = 0.9, 1.25
KEPT = 0.8  # of the pressure at the start of the main, where its pipes are wide enough; likewise
NO_MINUTES = "none: a bed of this valve has no minutes of its own; see Pressure check"
OFF = ", more than 10% off its valve's"  # the limit of SHARED_VALVE_MINUTES
FAR_MORE = "far more"  # begins what is said of a flow for which no minutes are given


class WorkingSheet:
    """Row n of it belongs to the n-th row of the list, its headings being the first.

    `take` gives a formula for the list's value in this row of the sheet, `nominal` is one for the
    bed's nominal flow, which stands beside beds only, not beside totals and notes; `wanted`, if
    any, is one for the minutes that the bed wants.
    """

    def __init__(
        self, name: str, rows: int, settings: Settings, take: Callable[[str], str], nominal: str,
        wanted: str = "",
    ) -> None:  # fmt: skip
        self.settings = settings
        self.beds = Block(name, 1, 1, rows - 1)
        self.curve = Block(name, 1, CURVE_AT, POINTS)
        self.named = {column: take(column) for column in READ}
        first = {name: settings.only(section, section.names[0]) for name, section in KEYS.items()}
        for column in READ:
            taken = self.named[column] or first.get(column, "")
            if column == "distance" and not taken and "distances" in settings.tops:
                taken = self._distance()
            if taken:
                self.beds.add(column, BEDS[column].heading(settings.system), taken)
        self._supply()
        here = self.beds.here
        self._add("check", self._check())
        self._add("nominal", f'IF({here("check")}="ok",{nominal},"")')
        self._add("counted", f'IF(AND({here("check")}="ok",N({here("nominal")})>0),"yes","no")')
        self._add("set", self._set())
        self._results()
        self.beds.add("words", PRESSURE_WORDS, self._words())
        if wanted:
            self._minutes(wanted)

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

    def _distance(self) -> str:
        """By the settings, for the beds of a valve or for all; none in a blank row."""
        column = self.settings.column
        beds, here = column(basis.DISTANCES, "beds"), self.beds.here
        place = all_open = f'MATCH("{basis.ALL_OPEN}",{beds},0)'
        if "valve" in self.beds.columns:
            place = f'IFERROR(MATCH({here("valve")}&"",{beds},0),{all_open})'
        there = f"INDEX({column(basis.DISTANCES, 'distance')},{place})"
        bed = f"{here('length')}&{here('laterals')}"
        return f'IF({bed}="","",IFERROR(IF({there}="","",{there}),""))'

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
            "parts": settings.span(basis.HEAD),
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
            "head": head, "lines": self.settings.span(basis.LINES),
            "pipes": self.settings.span(basis.PIPES),
        }  # fmt: skip

    def _check(self) -> str:
        """What keeps the row's bed from being solved, in words; nothing in a blank row."""
        asked = call("SYSTEM_DELIVERY", self.settings.system, self._system('"1 bar"'))
        read = f'INDEX(ROW_CHECK("SYSTEM_DELIVERY",{asked.split("(", 1)[1]},ROW()-1,1)'
        words = f'IF({self._unknown()},"Supply: not measured yet",{self._which(read)})'
        parts = f'IF({self.head_check}="",{words},"{SETTINGS_SHEET}, "&{self.head_check})'
        words = f"IF({self._unknown()},{words},{parts})"
        blank = "&".join(self.beds.here(n) for n in ("length", "laterals", "distance"))
        if not self.named["distance"]:
            far = f'{self.beds.here("distance")}=""'
            words = f'IF({far},"Distance: fill in on {SETTINGS_SHEET}",{words})'
        return f'IF({blank}="","",{words})'

    def _which(self, words: str) -> str:
        """Asks which line or pipe it is where the list names none and the settings have several."""
        for name, section in KEYS.items():
            if not self.named[name]:
                ask = f"{BEDS[name].header}: which one? {SETTINGS_SHEET} has several, the list none"
                words = f'IF({self.settings.several(section)},"{ask}",{words})'
        return words

    def _set(self) -> str:
        """Beds of a valve run together, a bed without one alone; without valves all, or each."""
        here = self.beds.here
        alone = (here("bed") if "bed" in self.beds.columns else "ROW()") + '&" alone"'
        one = f'"{basis.ALL_OPEN}"'
        key = f"IF({self.settings.cell('open_together')}={one},{one},{alone})"
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
        here = self.beds.here
        check, remark, share = (here(name) for name in ("check", "remark", "share"))
        fine = '"ok"'
        if "valve" not in self.beds.columns:
            fine = f'IF({self.settings.cell("open_together")}="","{OK_ALONE}","ok")'
        little = f'"too little: "&ROUND(100*{share},0)&"% of nominal; "&{self._cause()}'
        lines = here("laterals")
        fine = f'IF(AND({lines}<>"",N({lines})=0),"no lines",{fine})'
        flow = f'IF({remark}<>"",{remark},IF(AND(N({share})=0,{lines}<>"",N({lines})>0),"",{fine}))'
        flow = f"IF(AND(N({share})>0,N({share})<{TOO_LITTLE}),{little},{flow})"
        return (
            f'IF({check}<>"ok",{check},IF(N({share})>{TOO_MUCH},"{FAR_MORE} than nominal: is the'
            f' regulator missing? Thin tape bursts",{flow}))'
        )

    def _cause(self) -> str:
        """Why the beds that are open together get too little, and what mends it."""
        here, cells = self.beds.here, self.beds.cells
        unit = DIMENSIONS["flow"].unit(self.settings.system)
        sums = f"SUMIF({cells('set')},{here('set')},{cells('nominal')})"
        most = self.settings.cell("measured_flow")
        more = f'ROUND({sums},1)&" {unit} wanted at once, "&ROUND({most},1)&" at the bucket"'
        flow = f"SUMIF({cells('set')},{here('set')},{cells('delivered_flow')})"
        start = f"INDEX({self.curve.cells('main')},MATCH({flow},{self.curve.cells('flow')},1))"
        lost = f"{here('inlet_pressure')}<{KEPT}*{start}"
        why = f'IF(AND({lost},{sums}<={most}),"pressure is lost on the way",{more})'
        return f'{why}&": open fewer beds at once"&IF({lost},", or lay a wider pipe","")'

    def _minutes(self, wanted: str) -> None:
        """Those of the valve: its water between its beds, as on the sheet Valves of plans."""
        here, cells = self.beds.here, self.beds.cells
        counted = f'OR({here("counted")}<>"yes",N({wanted})=0)'
        self._add("wanted", f'IF({counted},"",{wanted})')
        # A valve with a bed whose minutes are not known gets none; the others keep theirs.
        of_valve = f"COUNTIFS({cells('set')},{here('set')}"
        lacking = f'{of_valve})>{of_valve},{cells("wanted")},">0")'
        self._add("set_of_wanted", f'IF({here("set")}="","",IF({lacking},"",{here("set")}))')
        self._add("flow_of_wanted",
                  f'IF({here("set_of_wanted")}="","",{here("delivered_flow")})')  # fmt: skip
        self._add("minutes_of_wanted", f'IF({here("set_of_wanted")}="","",{here("wanted")})')
        shared = call("SHARED_VALVE_MINUTES", self.settings.system, {
            "minutes": cells("minutes_of_wanted"), "flow": cells("flow_of_wanted"),
            "valve": cells("set_of_wanted"),
        })  # fmt: skip
        none = [f'{here("set_of_wanted")}=""']
        self._add("valve_minutes", unless(none, f"INDEX({shared},ROW()-1,1)"))
        verdict, own = f"INDEX({shared},ROW()-1,3)", f"ROUND({here('wanted')},0)"
        told = f'{verdict}&": wants "&{own}&" min{OFF}: move "&{self._odd()}'
        said = (
            f'IF({here("set_of_wanted")}="",IF(OR({here("set")}="",COUNT({cells("wanted")})=0),""'
        )
        said += f',"{NO_MINUTES}"),IF({verdict}="ok","ok",{told}))'
        self.beds.add("minutes_words", MINUTES_WORDS, said)

    def _odd(self) -> str:
        """Which bed to move: the one of the valve whose minutes differ most from the valve's."""
        here, cells, itself = self.beds.here, self.beds.cells, '"it to another"'
        if "bed" not in self.beds.columns:
            return itself
        valve = here("set_of_wanted")
        off = f"ROUND(ABS({here('wanted')}-{here('valve_minutes')}),6)"
        self._add("minutes_off", unless([f'{valve}=""'], off))
        more = f'{cells("set_of_wanted")},{valve},{cells("minutes_off")},">"&{here("minutes_off")}'
        self._add("valve_of_odd", unless([f'{valve}=""', f"COUNTIFS({more})>0"], valve))
        name = f"INDEX({cells('bed')},MATCH({valve},{cells('valve_of_odd')},0))"
        return f'IF({here("valve_of_odd")}<>"",{itself},{name}&" first")'
