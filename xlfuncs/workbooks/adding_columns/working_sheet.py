"""The sheet on which the pressure of a list is worked out, row by row, from the supply on."""

from __future__ import annotations

from collections.abc import Callable

from xlfuncs.catalogue.registry import functions
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.units import DIMENSIONS
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
# What the function reads of the list, under our headings and in the units of the columns.
READ = (
    "bed", "length", "laterals", "distance", "strip_width", "strips", "bed_top_width", "line",
    "main_pipe", "manifold_pipe", "branch", "branch_start", "elevation", "slope", "valve", "on",
)  # fmt: skip
RESULTS = {"inlet_pressure": "inlet_pressure", "delivered_flow": "flow", "share": "share",
           "remark": "remark"}  # fmt: skip
# Shares of the nominal flow, as the plan judges its beds; common practice, no published source.
TOO_LITTLE, TOO_MUCH = 0.9, 1.25
Taker = Callable[[str], str]  # a formula for the list's value in this row of the sheet


class WorkingSheet:
    """Its columns; row n belongs to the n-th row of the list, its headings being the first.

    `nominal` is the bed's nominal flow, which stands beside beds only, not beside totals and notes.
    """

    def __init__(self, name: str, rows: int, settings: Settings, take: Taker, nominal: str) -> None:
        self.name, self.rows, self.settings = name, rows, settings
        self.taken = {column: take(column) for column in READ}
        for column, section in (("line", LINES_SECTION), ("main_pipe", PIPES_SECTION)):
            first = settings.first(section, section.columns[0].name)
            self.taken[column] = self.taken[column] or f'IF({first}="","",{first})'
        self.taken = {column: formula for column, formula in self.taken.items() if formula}
        self.names = [*self.taken, "check", "counted", "set", *RESULTS, "words"]
        self.curve_at = len(self.names) + 2
        counted = f'IF(AND({self.here("check")}="ok",N({nominal})>0),"yes","no")'
        self.formulas = {
            **self.taken, "check": self._check(), "counted": counted, "set": self._set(),
            **self._results(), "words": self._words(),
        }  # fmt: skip

    def here(self, name: str) -> str:
        return f"${self._letters(name)}{{row}}"

    def _words(self) -> str:
        """What keeps the bed from being solved, else what is wrong with its pressure or flow."""
        check, remark, share = (self.here(name) for name in ("check", "remark", "share"))
        flow = (
            f'IF({share}>{TOO_MUCH},"far more than nominal: is the regulator missing? Thin tape'
            f' bursts",IF({share}<{TOO_LITTLE},"too little: under {TOO_LITTLE:.0%} of nominal",'
            '"ok"))'
        )
        return f'IF({check}<>"ok",{check},IF({remark}<>"",{remark},IF(N({share})=0,"",{flow})))'

    def beside(self, name: str, row: str) -> str:
        """For the list's own sheet: the value in its row of that number."""
        letters = self._letters(name)
        return f"INDEX({quoted_sheet(self.name)}!${letters}$1:${letters}${MOST_ROWS},{row})"

    def write(self, cells: NewCells, head_style: str) -> None:
        cells.make_sheet(self.name, [11] * (self.curve_at + 2))
        system = self.settings.system
        for place, name in enumerate(self.names, 1):
            header = BEDS[name].heading(system) if name in self.taken \
                else name.replace("_", " ").capitalize()  # fmt: skip
            self._column(cells, place, header, self.formulas[name], self.rows, head_style)
        for place, (header, formula) in enumerate(self._curve().items(), self.curve_at):
            self._column(cells, place, header, formula, POINTS + 1, head_style)

    def _column(
        self, cells: NewCells, place: int, header: str, formula: str, last: int, style: str
    ) -> None:
        cells.put(self.name, 1, place, header, style=style)
        for row in range(2, last + 1):
            cells.put(self.name, row, place, formula=formula.replace("{row}", str(row)))

    def _letters(self, name: str) -> str:
        return column_letters(self.names.index(name) + 1)

    def _cells(self, name: str) -> str:
        return f"${self._letters(name)}$2:${self._letters(name)}${self.rows}"

    def _system(self, head: str) -> dict[str, str]:
        """The beds with their lines and pipes, fed by a supply."""
        return {
            "beds": f"$A$1:${column_letters(len(self.taken))}${self.rows}", "head": head,
            "lines": self.settings.span(LINES_SECTION), "pipes": self.settings.span(PIPES_SECTION),
        }  # fmt: skip

    def _unknown(self) -> str:
        settings = self.settings
        return f'OR({settings.cell("measured_flow")}="",{settings.cell("static_pressure")}="")'

    def _check(self) -> str:
        """What keeps the row's bed from being solved, in words."""
        asked = call("SYSTEM_DELIVERY", self.settings.system, self._system('"1 bar"'))
        read = f'INDEX(ROW_CHECK("SYSTEM_DELIVERY",{asked.split("(", 1)[1]},ROW()-1,1)'
        return f'IF({self._unknown()},"Supply: not measured yet",{read})'

    def _set(self) -> str:
        """Beds of a valve run together; a bed without one runs alone."""
        alone = (self.here("bed") if "bed" in self.taken else "ROW()") + '&" alone"'
        key = alone
        if "valve" in self.taken:
            valve = self.here("valve")
            key = f'IF({valve}="",{alone},{valve})'
        return f'IF({self.here("counted")}="yes",{key},"")'

    def _curve_cells(self, first: int, last: int, row: int = 2) -> str:
        left, right = (column_letters(self.curve_at + place) for place in (first, last))
        return f"${left}${row}:${right}${POINTS + 1}"

    def _curve(self) -> dict[str, str]:
        """The supply's pressure at flows up to the open tap's, before and behind the parts."""
        settings, system = self.settings, self.settings.system
        most, static = settings.cell("measured_flow"), settings.cell("static_pressure")
        gauge = {name: f'IF({(cell := settings.cell(name))}="","",{cell})'
                 for name in ("gauge_flow", "gauge_pressure")}  # fmt: skip
        flow = f"${column_letters(self.curve_at)}{{row}}"
        supply = {"flow": flow, "static_pressure": static, "open_flow": most, **gauge}
        parts = {name: settings.column(HEAD_SECTION, name)
                 for name in ("loss", "loss_flow", "opening_loss", "preset")}  # fmt: skip
        given = {"flow": self._curve_cells(0, 0), "supply_pressure": self._curve_cells(1, 1)}
        behind = f"INDEX({call('HEAD_PRESSURE', system, given | parts)},ROW()-1,1)"
        units = (DIMENSIONS[name].unit(system) for name in ("flow", "pressure", "pressure"))
        formulas = (
            f"{most}*(ROW()-2)/{POINTS - 1}", call("SUPPLY_PRESSURE", system, supply), behind
        )  # fmt: skip
        return {
            f"{header} ({unit})": f'IF({self._unknown()},"",{formula})'
            for header, unit, formula in zip(
                ("Flow", "Supply", "Start of the main"), units, formulas, strict=True
            )
        }

    def _results(self) -> dict[str, str]:
        head = self._curve_cells(0, 2, row=1)
        asked = {**self._system(head), "counted": self._cells("counted"), "set": self._cells("set")}
        solved = call("SYSTEM_DELIVERY", self.settings.system, asked)
        order = [result.name for result in functions()["SYSTEM_DELIVERY"].results]
        idle = f'{self.here("counted")}<>"yes"'
        return {name: f'IF({idle},"",INDEX({solved},ROW()-1,{order.index(result) + 1}))'
                for name, result in RESULTS.items()}  # fmt: skip
