"""Packages of columns: what a grower wants beside a list, with the settings that it rests on."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass

from xlfuncs.workbooks.adding_columns.column_formulas import CellOf, call, taken, unless_blank
from xlfuncs.workbooks.adding_columns.serving import Served
from xlfuncs.workbooks.adding_columns.settings_sheet import (
    BUYING_SECTION,
    HEAD_SECTION,
    LINES_SECTION,
    MONTHS,
    MONTHS_SECTION,
    PIPES_SECTION,
    SUPPLY_SECTION,
    TARGET_SECTION,
    Section,
    Settings,
)
from xlfuncs.workbooks.adding_columns.working_sheet import READ, WorkingSheet


@dataclass
class Beside:
    """What the formulas of a row are written from."""

    system: str
    served: Mapping[str, Served]  # by column of beds
    dimensions: Mapping[str, str]
    settings: Settings
    working: WorkingSheet | None
    number: str  # a formula for the number of the row in the list, its headings being 1
    cell: CellOf
    earlier: Mapping[str, int]  # columns of packages that stand beside the list already

    def take(self, name: str, *, required: bool = False) -> str:
        given = self.served.get(name)
        if given is None:
            return ""
        return taken(given, self.dimensions[name], self.cell, self.system, required=required)

    def own(self, name: str) -> str:
        """A column of a package."""
        return self.cell(self.earlier[name])

    def of_line(self, name: str) -> str:
        return self.settings.looked_up(LINES_SECTION, name, self.take("line", required=True))

    def call(self, name: str, **arguments: str) -> str:
        return call(name, self.system, arguments)

    def needed(self, *names: str) -> list[str]:
        """The cells of columns of beds."""
        return [self.cell(self.served[n].column) for n in names if self.served[n].column]


@dataclass(frozen=True)
class PackageColumn:
    name: str
    header: str
    dimension: str
    formula: Callable[[Beside], str]


@dataclass(frozen=True)
class Package:
    """Its columns, the columns of beds that it cannot do without, those that it reads besides, and
    its sections of settings."""

    columns: tuple[PackageColumn, ...]
    needs: tuple[str, ...]
    reads: tuple[str, ...]
    sections: tuple[Section, ...] = ()


def _area(b: Beside) -> str:
    area = b.call("BED_AREA", length=b.take("length", required=True),
                  width=b.take("strip_width", required=True), strips=b.take("strips"))  # fmt: skip
    return unless_blank(b.needed("length", "strip_width"), area)


def _line_length(b: Beside) -> str:
    total = b.call("LINE_LENGTH", length=b.take("length", required=True),
                   laterals=b.take("laterals", required=True))  # fmt: skip
    return unless_blank(b.needed("length", "laterals"), total)


def _nominal_flow(b: Beside) -> str:
    spacing, flow = b.of_line("emitter_spacing"), b.of_line("flow_of_emitter")
    nominal = b.call(
        "BED_FLOW", length=b.take("length", required=True), emitter_spacing=spacing,
        emitter_flow=flow, laterals=b.take("laterals", required=True),
    )  # fmt: skip
    return unless_blank([*b.needed("length", "laterals"), spacing, flow], nominal)


def _minutes(b: Beside, flow: str) -> str:
    depth = b.settings.cell("weekly_depth")
    minutes = b.call(
        "RUN_MINUTES", area=b.own("area"), depth=depth, flow=flow,
        events=b.settings.cell("waterings_a_week"), efficiency=b.settings.cell("efficiency"),
    )  # fmt: skip
    return f'IF(OR({b.own("area")}="",N({flow})=0,{depth}=""),"",{minutes})'


def _by_nominal(b: Beside) -> str:
    return _minutes(b, b.own("nominal_flow"))


def _by_delivered(b: Beside) -> str:
    return _minutes(b, b.own("delivered_flow"))


def _month(number: int) -> Callable[[Beside], str]:
    def formula(b: Beside) -> str:
        open_ground, covered = (b.settings.month(number, name) for name in ("open", "covered"))
        cover = b.take("cover", required=True)
        depth = f'IF(OR({cover}="",{cover}="open"),{open_ground},{covered})' if cover \
            else open_ground  # fmt: skip
        days = b.settings.month(number, "days")
        flow = b.own("delivered_flow" if "delivered_flow" in b.earlier else "nominal_flow")
        minutes = b.call(
            "SEASON_MINUTES", month_depth=depth, days=days, area=b.own("area"), flow=flow,
            waterings=b.settings.cell("waterings_a_week"),
        )  # fmt: skip
        blank = f'OR({b.own("area")}="",N({flow})=0,{open_ground}="",{days}="")'
        return f'IF({blank},"",{minutes})'

    return formula


def _worked(name: str) -> Callable[[Beside], str]:
    def formula(b: Beside) -> str:
        assert b.working is not None
        return b.working.beside(name, b.number)

    return formula


AREA = PackageColumn("area", "Planted area", "area", _area)
NOMINAL = PackageColumn("nominal_flow", "Nominal flow", "flow", _nominal_flow)
DELIVERED_MINUTES = PackageColumn("delivered_minutes", "Minutes, flow delivered", "time",
                                  _by_delivered)  # fmt: skip
SIZE, RUN = ("length", "strip_width"), ("length", "strip_width", "laterals")
PACKAGES = {
    "AREA": Package((AREA,), SIZE, ("strips",)),
    "PRESSURE": Package(
        (
            NOMINAL,
            PackageColumn("delivered_flow", "Flow delivered", "flow", _worked("delivered_flow")),
            PackageColumn("share", "Share of nominal", "ratio", _worked("share")),
            PackageColumn("inlet_pressure", "Pressure at the bed", "pressure",
                          _worked("inlet_pressure")),
            PackageColumn("pressure_check", "Pressure check", "text", _worked("words")),
        ),
        ("length", "laterals", "distance"),
        READ,
        (SUPPLY_SECTION, LINES_SECTION, PIPES_SECTION, HEAD_SECTION),
    ),
    "MINUTES": Package(
        (AREA, NOMINAL,
         PackageColumn("minutes", "Minutes at nominal flow", "time", _by_nominal)),
        RUN, ("strips", "line"), (TARGET_SECTION, LINES_SECTION),
    ),
    "SEASON": Package(
        (AREA, NOMINAL, *(PackageColumn(f"minutes_{name.lower()}", f"Minutes {name}", "time",
                                        _month(number)) for number, name in enumerate(MONTHS, 1))),
        RUN, ("strips", "line", "cover"), (TARGET_SECTION, LINES_SECTION, MONTHS_SECTION),
    ),
    "PURCHASE": Package(
        (PackageColumn("line_length", "Line in bed", "length", _line_length),),
        ("length", "laterals"), ("line",), (LINES_SECTION, BUYING_SECTION),
    ),
}  # fmt: skip


def columns_of(chosen: Collection[str], present: Collection[str]) -> list[PackageColumn]:
    """The columns of packages, each once; with pressure also the minutes by what arrives.

    `present` are those that stand beside the list already, by name: new rows get them too.
    """
    found: dict[str, PackageColumn] = {}
    for name, package in PACKAGES.items():
        for column in package.columns:
            if name in chosen or column.name in present:
                found.setdefault(column.name, column)
    if {"minutes", "delivered_flow"} <= found.keys():
        found[DELIVERED_MINUTES.name] = DELIVERED_MINUTES
    return sorted(found.values(), key=lambda column: column.name.startswith("minutes_"))
