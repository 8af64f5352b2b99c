"""Declarations: the whole system from the supply to the far bed, its sets and its checks."""

from typing import Any

import numpy as np

from xlfuncs.calculations.pressure import pressure_sets as by_pressure
from xlfuncs.calculations.pressure import set_checks
from xlfuncs.calculations.pressure import watering_sets as by_flow
from xlfuncs.calculations.pressure.bed_remarks import pressure_remarks
from xlfuncs.calculations.pressure.drip_systems import DripSystem
from xlfuncs.catalogue.declaration import UNITS, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, EPANET
from xlfuncs.catalogue.topics.pressure import bed_tables, whole_systems
from xlfuncs.catalogue.topics.pressure.pressure import ROUGHNESS


@worksheet_function(
    "SYSTEM_DELIVERY",
    help="What every bed gets, from the supply to the last emitter, the open beds of a set (or all)"
    " running together: pressure, flow, share of nominal, minutes that really give a depth.",
    args=(
        bed_tables.bed_table(
            "[area]: area, >0: Area that the bed waters (for the minutes)",
            "[depth]: depth, >=0, <=1000: Gross depth of one watering (for the minutes)",
        ),
        *bed_tables.FED,
        bed_tables.SET,
        UNITS,
        ROUGHNESS,
    ),
    source=EPANET.at("section 3.2 and appendix D: the equations of a tree of pipes and emitters"),
    rows="beds",
    examples=("SYSTEM_DELIVERY(A1:H9, 12, J1:R4)",),
)
def system_delivery(area: Any, depth: Any, set: Any, **arguments: Any) -> Any:
    system = whole_systems.read_system(**arguments)
    columns: list[Any] = [np.full(area.size, np.nan) for _ in range(10)]
    columns.append(np.full(area.size, "", dtype=object))
    for rows in whole_systems.rows_by_set(set).values():
        for column, of_set in zip(columns, _delivered(system, rows, area, depth), strict=True):
            column[rows] = of_set[rows]
    return tuple(columns)


def _delivered(system: whole_systems.System, rows: Any, area: Any, depth: Any) -> tuple[Any, ...]:
    """What SYSTEM_DELIVERY says of all beds where only these rows run."""
    beds = whole_systems.only(system.beds, rows)
    got = DripSystem(beds, system.roughness).deliver(system.supply)
    with np.errstate(divide="ignore", invalid="ignore"):
        minutes = np.where(got.flow > 0, depth / 1000 * area / got.flow, np.nan)
    lowest, highest, driest = got.lowest_pressure, got.highest_pressure, got.driest_flow
    remarks = pressure_remarks(lowest, highest, system.min_pressure, system.max_pressure, driest)
    share, driest = (np.where(beds.is_open, x, np.nan) for x in (got.share, driest))
    return (got.inlet_pressure, got.flow, share, driest, minutes, got.uniformity, lowest, highest,
            got.main_flow, got.main_velocity, remarks)  # fmt: skip


@worksheet_function(
    "PRESSURE_SETS",
    help="Fewest sets in which every bed, solved with its set, keeps the limits that DESIGN_CHECKS"
    " judges by. WATERING_SETS is the quick way by nominal flow.",
    args=(
        bed_tables.bed_table(bed_tables.CV),
        *bed_tables.FED,
        "[valve=]: text, of beds: Valve of each bed; beds of one valve stay together (blank: its"
        " own)",
        bed_tables.LIMIT_TABLE,
        UNITS,
    ),
    source=DEFINITION.at("groups tried with SYSTEM_DELIVERY, depth first, fewest sets"),
    rows="beds",
    examples=("PRESSURE_SETS(A1:H9, 12, J1:R4)",),
)
def pressure_sets(valve: Any, **arguments: Any) -> Any:
    found = by_pressure.pressure_sets(whole_systems.checks_of(**arguments), valve)
    placed = found.sets > 0
    overall = "no fewer sets possible" if found.fewest else "fewer may be possible"
    remarks = np.where(placed, f"solved; {overall}", "").astype(object)
    remarks[np.isin(found.sets, found.too_little)] = (
        "this set takes less than the head assembly needs; " + overall
    )
    for row, breach in found.alone.items():
        remarks[row] = _ALONE.get(breach.check, "no steady flow was found")
    shown = (np.where(placed, x, np.nan) for x in (found.sets, found.flow, found.share))
    return (*shown, found.uniformity, remarks)


_ALONE = {
    set_checks.SHARE: "gets too little even alone with its valve",
    set_checks.BELOW: "has too little pressure even alone with its valve",
    set_checks.ABOVE: "meets more pressure than its line bears",
    set_checks.UNIFORMITY: "waters too unevenly even alone with its valve",
    set_checks.VELOCITY: "water is too fast in its pipes even alone with its valve",
    set_checks.SUPPLY: "takes more than the share of the supply even alone with its valve",
    set_checks.HEAD: "takes more than the head assembly lets through even alone with its valve",
}


@worksheet_function(
    "WATERING_SETS",
    topic="time",
    help="Beds into the fewest sets by nominal flow, a share of the supply's flow at a time. Knows"
    " nothing of pressure: PRESSURE_SETS solves the pipes.",
    args=(
        "flows: flow, >=0, <=2000 m³/h, of beds: Nominal flow of each bed; 0 for a bed that is off",
        "supply_flow: flow, >0, <=2000 m³/h: Flow that the supply gives",
        "[usable_share=0.75]: ratio, >0, <=1: Share of that flow to use",
        UNITS,
        "[valve=]: text, of beds: Valve of each bed; beds of one valve stay together (blank: its"
        " own)",
    ),
    results=(
        Result("set", "count", "Number of the set; blank for a bed that is off"),
        Result("remark", "text", "Whether fewer sets are possible"),
    ),
    source=COMMON_PRACTICE.at("three quarters of the supply's flow; fewest sets by bin packing"),
    rows="beds",
    examples=("WATERING_SETS(A2:A9, 8)",),
)
def watering_sets(flows: Any, supply_flow: Any, usable_share: Any, valve: Any) -> Any:
    found = by_flow.watering_sets(flows, supply_flow, usable_share, valve)
    placed = found.sets > 0
    overall = "no fewer sets possible" if found.fewest else "fewer may be possible"
    return np.where(placed, found.sets, np.nan), np.where(placed, overall, "").astype(object)
