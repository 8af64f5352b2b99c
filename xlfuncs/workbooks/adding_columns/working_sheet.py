"""The sheet on which the pressure of a list is worked out, row by row, from the supply on."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from xlfuncs.workbooks.adding_columns.column_formulas import call
from xlfuncs.workbooks.adding_columns.new_cells import NewCells
from xlfuncs.workbooks.adding_columns.settings_sheet import (
    HEAD_SECTION,
    LINES_SECTION,
    PIPES_SECTION,
    Settings,
)
from xlfuncs.xlsx.cell_references import column_letters, quoted_sheet

POINTS = 61  # of the supply's curve, as in the template's
MOST_ROWS = 2000  # that a formula beside the list looks for
# What is read of the list, by the argument of SYSTEM_DELIVERY.
OF_LIST = {
    "distance": "distance", "laterals": "laterals", "lateral_length": "length",
    "branch": "branch", "branch_start": "branch_start", "elevation": "elevation", "slope": "slope",
}  # fmt: skip
OF_LINE = {
    "emitter_spacing": "emitter_spacing", "rated_flow": "flow_of_emitter",
    "rated_pressure": "rated_pressure", "lateral_diameter": "inside_diameter",
    "exponent": "exponent", "min_pressure": "min_pressure", "max_pressure": "max_pressure",
}  # fmt: skip
NEEDED = {
    "distance": "Distance: missing", "laterals": "Laterals: missing",
    "lateral_length": "Length: missing", "emitter_spacing": "Line: emitter spacing missing",
    "rated_flow": "Line: flow missing", "rated_pressure": "Line: rated pressure missing",
    "lateral_diameter": "Line: inside diameter missing",
    "main_diameter": "Pipe: inside diameter missing",
}  # fmt: skip
RESULTS = {"inlet_pressure": 1, "delivered_flow": 2, "share": 3, "remark": 11}
Taker = Callable[[str], str]  # a formula for the list's value in this row of the sheet


class WorkingSheet:
    """Its columns; row n belongs to the n-th row of the list, its headings being the first.

    `nominal` is the bed's nominal flow, which stands beside beds only, not beside totals and notes.
    """

    def __init__(self, name: str, rows: int, settings: Settings, take: Taker, nominal: str) -> None:
        self.name, self.rows, self.settings, self.take = name, rows, settings, take
        formulas = {
            **{arg: take(name) for arg, name in OF_LIST.items()},
            "line": take("line"), "main_pipe": take("main_pipe"),
            "manifold_pipe": take("manifold_pipe"), "bed": take("bed"), "valve": take("valve"),
            "on": take("on"),
        }  # fmt: skip
        self.names = [
            *formulas, *OF_LINE, "main_diameter", "manifold_diameter", "lateral_spacing", "check",
            "counted", "set", *RESULTS,
        ]  # fmt: skip
        line, main, manifold = (
            self.here(name) if formulas[name] else ""
            for name in ("line", "main_pipe", "manifold_pipe")
        )
        for arg, name in OF_LINE.items():
            formulas[arg] = _shown(settings.looked_up(LINES_SECTION, name, line))
        diameters = {"main_diameter": main, "manifold_diameter": manifold}
        for name, key in diameters.items():
            there = settings.looked_up(PIPES_SECTION, "inside_diameter", key)
            formulas[name] = _shown(there) if key or name == "main_diameter" else ""
        formulas["lateral_spacing"] = self._spacing() if manifold else ""
        formulas["check"] = self._check(formulas)
        formulas["counted"] = f'IF(AND({self.here("check")}="ok",N({nominal})>0),"yes","no")'
        formulas["set"] = self._set(formulas)
        self.formulas = formulas | self._results()

    def here(self, name: str) -> str:
        return f"${column_letters(self.names.index(name) + 1)}{{row}}"

    def cells(self, name: str, last: int) -> str:
        letters = column_letters(self.names.index(name) + 1)
        return f"${letters}$2:${letters}${last}"

    def beside(self, name: str, row: str) -> str:
        """For the list's own sheet: the value in its row of that number."""
        letters = column_letters(self.names.index(name) + 1)
        return f"INDEX({quoted_sheet(self.name)}!${letters}$1:${letters}${MOST_ROWS},{row})"

    def write(self, cells: NewCells, head_style: str) -> None:
        cells.make_sheet(self.name, [11] * (len(self.names) + 4))
        for place, name in enumerate(self.names, 1):
            header = name.replace("_", " ").capitalize()
            cells.put(self.name, 1, place, header, style=head_style)
            for row in range(2, self.rows + 1):
                if formula := self.formulas[name]:
                    cells.put(self.name, row, place, formula=formula.replace("{row}", str(row)))
        for i, (header, formula) in enumerate(self._curve().items()):
            place = len(self.names) + 2 + i
            cells.put(self.name, 1, place, header, style=head_style)
            for row in range(2, POINTS + 2):
                cells.put(self.name, row, place, formula=formula.replace("{row}", str(row)))

    def _spacing(self) -> str:
        wide = f"IF(ISNUMBER({self.take('strip_width')}),{self.take('strip_width')}*MAX(1,N("
        across = wide + f'{self.take("strips") or 1})),"")'
        if top := self.take("bed_top_width"):
            across = f'IF({top}="",{across},{top})'
        given = {"width": across, "laterals": self.here("laterals")}
        offsets = call("LINE_OFFSETS", self.settings.system, given)
        return f'IF({self.here("manifold_diameter")}="","",IFERROR(2*INDEX({offsets},1,1),""))'

    def _check(self, formulas: Mapping[str, str]) -> str:
        one = {arg: self.here(arg) for arg in (*OF_LIST, *OF_LINE, "main_diameter",
               "manifold_diameter", "lateral_spacing") if formulas[arg]}  # fmt: skip
        one["inlet_pressure"] = '"1 bar"'
        tried = call("SYSTEM_DELIVERY", self.settings.system, one).split("(", 1)[1]
        formula = f'SUBSTITUTE(SUBSTITUTE(INPUT_CHECK("SYSTEM_DELIVERY",{tried},'
        formula += '"SYSTEM_DELIVERY: ","")," (row 1)","")'
        for arg, missing in reversed(NEEDED.items()):
            formula = f'IF({self.here(arg)}="","{missing}",{formula})'
        flow, static = self.settings.cell("measured_flow"), self.settings.cell("static_pressure")
        formula = f'IF(OR({flow}="",{static}=""),"Supply: not measured yet",{formula})'
        return f'IF({self.here("on")}="no","off",{formula})' if formulas["on"] else formula

    def _set(self, formulas: Mapping[str, str]) -> str:
        bed = f'{self.here("bed")}&" alone"' if formulas["bed"] else 'ROW()&" alone"'
        valve = self.here("valve")
        key = f'IF({valve}="",{bed},{valve})' if formulas["valve"] else bed
        return f'IF({self.here("counted")}="yes",{key},"")'

    def _curve_cells(self, place: int) -> str:
        letters = column_letters(len(self.names) + 2 + place)
        return f"${letters}$2:${letters}${POINTS + 1}"

    def _curve(self) -> dict[str, str]:
        """The supply's pressure at flows up to the open tap's, before and behind the parts."""
        settings, system = self.settings, self.settings.system
        most, static = settings.cell("measured_flow"), settings.cell("static_pressure")
        unknown = f'OR({most}="",{static}="")'
        flow = f"${column_letters(len(self.names) + 2)}{{row}}"
        gauge = {name: f'IF({(cell := settings.cell(name))}="","",{cell})'
                 for name in ("gauge_flow", "gauge_pressure")}  # fmt: skip
        supply = {"flow": flow, "static_pressure": static, "open_flow": most, **gauge}
        parts = {name: settings.column(HEAD_SECTION, name)
                 for name in ("loss", "loss_flow", "opening_loss", "preset")}  # fmt: skip
        given = {"flow": self._curve_cells(0), "supply_pressure": self._curve_cells(1), **parts}
        behind = f"INDEX({call('HEAD_PRESSURE', system, given)},ROW()-1,1)"
        return {
            "Supply: flow": f'IF({unknown},"",{most}*(ROW()-2)/{POINTS - 1})',
            "Supply: pressure": f'IF({unknown},"",{call("SUPPLY_PRESSURE", system, supply)})',
            "Start of the main": f'IF({unknown},"",{behind})',
        }

    def _results(self) -> dict[str, str]:
        last = self.rows
        given = {name: self.cells(name, last) for name in
                 (*OF_LIST, *OF_LINE, "main_diameter", "manifold_diameter", "lateral_spacing",
                  "set", "counted")}  # fmt: skip
        behind = self._curve_cells(2)
        given |= {"inlet_pressure": f"MAX({behind})", "supply_flow": self._curve_cells(0),
                  "supply_pressure": behind}  # fmt: skip
        solved = call("SYSTEM_DELIVERY", self.settings.system, given)
        idle = f'{self.here("counted")}<>"yes"'
        return {name: f'IF({idle},"",INDEX({solved},ROW()-1,{place}))'
                for name, place in RESULTS.items()}  # fmt: skip


def _shown(there: str) -> str:
    """A looked-up value; blank where the cell is, or where the name is not on the sheet."""
    return f'IFERROR(IF({there}="","",{there}),"")'
