"""Packages of columns: what a grower wants beside a list, with the settings that it rests on."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from functools import partial

from xlfuncs.workbooks.adding_columns import basis, serving
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings
from xlfuncs.workbooks.adding_columns.working_sheet import FAR_MORE, READ, WorkingSheet


@dataclass
class Beside:
    """What the formulas of a row are written from."""

    system: str
    served: Mapping[str, tuple[serving.Served, str]]  # by column of beds, with its dimension
    settings: Settings
    working: WorkingSheet | None
    number: str  # a formula for the number of the row in the list, its headings being 1
    cell: serving.CellOf
    added: Mapping[str, tuple[int, str]]  # place and dimension of the columns beside the list

    def find(self, name: str, needed: bool) -> serving.Found | None:
        """A column of packages, of the list, of its line on the settings, or a single setting."""
        if name in self.added:
            place, dimension = self.added[name]
            cell = self.cell(place)
            return cell, f"N({cell})=0" if dimension == "flow" else f'{cell}=""'
        if name == "area" and {"length", "strip_width"} <= self.served.keys():
            formula, blanks = serving.unguarded("BED_AREA", self.system, self.find)
            return formula, f"OR({','.join(blanks)})" if blanks else ""
        if name in self.served:
            return serving.find_in_list(self.served, self.cell, self.system, name, needed)
        if name in basis.LINES.names and "lines" in self.settings.tops:
            key = self.find("line", True) if "line" in self.served else None
            value = self.settings.looked_up(basis.LINES, name, key[0] if key else "")
            blank = f'{value}=""'
            return value, f"IF({key[1]},TRUE,{blank})" if key and key[1] else blank
        if name in basis.TARGET.names:
            value = self.settings.cell(name)
            return value, f'{value}=""'
        return None

    def call(self, function: str, **named: str) -> str:
        return serving.called(function, self.system, self.find, **named)


@dataclass(frozen=True)
class PackageColumn:
    name: str
    header: str
    dimension: str
    words: str  # what it is, for the report
    formula: Callable[[Beside], str]


@dataclass(frozen=True)
class Package:
    """Its columns, the columns of beds that it cannot do without, those that it reads besides, and
    its sections of settings."""

    columns: tuple[PackageColumn, ...]
    needs: tuple[str, ...]
    reads: tuple[str, ...]
    sections: tuple[basis.Section, ...] = ()
    besides: tuple[str, ...] = ()  # columns that it gets where others are there

    @property
    def own(self) -> set[str]:
        """Its columns but the nominal flow, which several have."""
        return {*(column.name for column in self.columns), *self.besides} - {"nominal_flow"}


def _by(
    name: str, header: str, dimension: str, words: str, function: str, **named: str
) -> PackageColumn:
    """A column that is one call; its arguments are columns of their names, or of those named."""
    return PackageColumn(name, header, dimension, words, lambda b: b.call(function, **named))


def _worked(name: str, header: str, dimension: str, words: str, of: str = "") -> PackageColumn:
    """A column of the working sheet, of the same name or of that one."""

    def formula(b: Beside) -> str:
        assert b.working is not None
        return b.working.beside(of or name, b.number)

    return PackageColumn(name, header, dimension, words, formula)


def _month(b: Beside, number: int) -> str:
    """Minutes of a month: by what arrives where that is known, with rain on open ground only."""
    opened, covered, days = (b.settings.month(number, n) for n in ("open", "covered", "days"))
    depth = opened
    if cover := b.find("cover", True):
        depth = f'IF(OR({cover[0]}="",{cover[0]}="open"),{opened},{covered})'
    flow = "delivered_flow" if "delivered_flow" in b.added else "nominal_flow"

    def find(name: str, needed: bool) -> serving.Found | None:
        # The depth has the losses of the efficiency in it already.
        own = {"month_depth": (depth, f'{opened}=""'), "days": (days, f'{days}=""')}
        return None if name == "efficiency" else own.get(name) or b.find(name, needed)

    return serving.called("SEASON_MINUTES", b.system, find, flow=flow, waterings="waterings_a_week")


AREA = _by("area", "Planted area", "area", "length times planted width", "BED_AREA")
NOMINAL = _by("nominal_flow", "Nominal flow", "flow", "what the data sheet of the line says",
              "BED_FLOW", emitter_flow="flow_of_emitter")  # fmt: skip
MINUTES, BY_FLOW = (
    _by(name, header, "time", words, "RUN_MINUTES", flow=flow, depth="weekly_depth",
        events="waterings_a_week")
    for name, header, words, flow in (
        ("minutes", "Minutes at nominal flow", "minutes of one watering", "nominal_flow"),
        ("delivered_minutes", "Minutes, flow delivered", "that this bed wants", "delivered_flow"),
    )
)  # fmt: skip
GIVEN = (
    _worked("valve_minutes", "Minutes to water", "time",
            "use these: one time for beds that open together"),
    _worked("minutes_words", "Minutes check", "text", "who wants more or less than that"),
)  # fmt: skip
# What the checks and the minutes of a valve are made of.
ASIDE = ("nominal_flow", "delivered_flow", "share", "inlet_pressure", BY_FLOW.name)


def _by_what_arrives(b: Beside) -> str:
    """No minutes for a flow that comes of far too much pressure: that is to be mended first."""
    asked = BY_FLOW.formula(b)
    if "pressure_check" not in b.added:
        return asked
    said = b.cell(b.added["pressure_check"][0])
    return f'IF(LEFT({said},{len(FAR_MORE)})="{FAR_MORE}","",{asked})'


RUN = ("length", "strip_width", "laterals")
PACKAGES = {
    "AREA": Package((AREA,), RUN[:2], ("strips",)),
    "PRESSURE": Package(
        (
            NOMINAL,
            _worked("delivered_flow", "Flow delivered", "flow", "what arrives, its valve open"),
            _worked("share", "Share of nominal", "ratio", "flow delivered over nominal flow"),
            _worked("inlet_pressure", "Pressure at the bed", "pressure", "where its lines begin"),
            _worked("pressure_check", "Pressure check", "text",
                    "what is wrong with flow or pressure", "words"),
        ),
        ("length", "laterals"),
        READ,
        (basis.SUPPLY, basis.DISTANCES, basis.LINES, basis.PIPES, basis.HEAD),
    ),
    "MINUTES": Package(
        (NOMINAL, MINUTES), RUN, ("strips", "line"), (basis.TARGET, basis.LINES),
        (BY_FLOW.name,),
    ),
    "SEASON": Package(
        (NOMINAL, *(
            PackageColumn(f"minutes_{name.lower()}", f"Minutes {name}", "time",
                          "minutes of one watering in that month", partial(_month, number=number))
            for number, name in enumerate(basis.MONTHS, 1)
        )),
        RUN, ("strips", "line", "cover"), (basis.TARGET, basis.LINES, basis.SEASON),
    ),
    "PURCHASE": Package(
        (_by("line_length", "Line in bed", "length", "all its lines", "LINE_LENGTH"),),
        ("length", "laterals"), ("line",),
        (basis.LINES, basis.BUYING, basis.ROLLS),
    ),
}  # fmt: skip


def columns_of(chosen: Collection[str], present: Collection[str]) -> list[PackageColumn]:
    """The columns of packages, each once; with pressure the minutes are by what arrives, beside
    those by the nominal flow only where these are `present`."""
    found = {column.name: column for name, package in PACKAGES.items() if name in chosen
             for column in package.columns}  # fmt: skip
    if {"minutes", "delivered_flow"} <= found.keys():
        found[BY_FLOW.name] = replace(BY_FLOW, formula=_by_what_arrives)
        found |= {column.name: column for column in GIVEN}
        if MINUTES.name not in present:
            del found[MINUTES.name]
    return sorted(found.values(), key=lambda column: (
        column.name == "pressure_check", column.name.startswith("minutes_")))  # fmt: skip
