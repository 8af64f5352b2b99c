"""What the functions on whole systems share: their arguments read, rows by set, limits. And the one
that says what is wrong in a system, and the change that would mend it."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from xlfuncs.calculations.pressure import pressure_checks
from xlfuncs.calculations.pressure.bed_lists import Beds
from xlfuncs.calculations.pressure.networks import Supply, constant_supply
from xlfuncs.calculations.pressure.properties import head_from_pressure
from xlfuncs.calculations.pressure.set_checks import Limits, SetChecks
from xlfuncs.calculations.supply import supplies
from xlfuncs.catalogue.declaration import UNITS, table, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE
from xlfuncs.catalogue.topics.pressure import bed_tables
from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.garden.lines import PIPES


@dataclass(frozen=True)
class System:
    """What the arguments that all functions here share amount to."""

    beds: Beds
    supply: Supply
    min_pressure: Any
    max_pressure: Any
    roughness: float


def read_system(
    inlet_pressure: Any, supply_flow: Any, supply_pressure: Any, roughness: Any, **columns: Any
) -> System:
    max_pressure = columns.pop("max_pressure")
    is_open = columns.pop("open")
    _complete(columns)
    manifold = ~np.isnan(columns["manifold_diameter"])
    lacking = np.flatnonzero(manifold & ~(columns["lateral_spacing"] > 0))
    if lacking.size:
        raise InputError("lateral_spacing", "is needed with a manifold", row=int(lacking[0]))
    beds = Beds.of(is_open=is_open, **columns)
    supply = _supply(inlet_pressure, supply_flow, supply_pressure)
    return System(beds, supply, columns["min_pressure"], max_pressure, roughness)


def _complete(columns: dict[str, Any]) -> None:
    """The emitter's flow by that for a length, the lateral's place by the width of the bed."""
    for_length = columns.pop("flow_per_length") * columns["emitter_spacing"]
    flow = columns["rated_flow"]
    columns["rated_flow"] = flow = np.where(np.isnan(flow), for_length, flow)
    lacking = np.flatnonzero(np.isnan(flow))
    if lacking.size:
        raise InputError("rated_flow", "is blank", cell_error=CellError.VALUE, row=int(lacking[0]))
    strips = columns.pop("strip_width") * columns.pop("strips")
    top = columns.pop("bed_top_width")
    with np.errstate(divide="ignore", invalid="ignore"):
        across = np.where(np.isnan(top), strips, top) / columns["laterals"]
    spacing = columns["lateral_spacing"]
    columns["lateral_spacing"] = np.where(
        np.isnan(spacing), np.nan_to_num(across, posinf=0), spacing
    )


def _supply(inlet_pressure: float | None, flow: Any, pressure: Any) -> Supply:
    """A constant pressure, or a curve, which the pressure may cap."""
    if flow is None or np.size(flow) == 0 or np.all(np.isnan(flow)):
        if inlet_pressure is None:
            raise InputError("head", "is blank", cell_error=CellError.VALUE)
        return constant_supply(head_from_pressure(inlet_pressure))
    lacking = np.flatnonzero(np.isnan(flow) | np.isnan(pressure))
    if lacking.size:
        words = "a point of the supply's curve needs both a flow and a pressure"
        raise InputError("supply_flow", words, row=int(lacking[0]))
    most = float(np.max(pressure)) if inlet_pressure is None else inlet_pressure
    return supplies.supply_from_curve(flow, pressure, most)


def rows_by_set(sets: Any) -> dict[str, Any]:
    """The rows of each set by its name; beds without one are a set too."""
    names = np.array([str(name).strip() for name in sets])
    return {name: np.flatnonzero(names == name) for name in dict.fromkeys(names.tolist())}


def only(beds: Beds, rows: Any) -> Beds:
    """The same beds, of which only these may be open."""
    chosen = np.zeros(beds.distance.size, dtype=np.bool_)
    chosen[rows] = True
    return beds.opened(beds.is_open & chosen)


def checks_of(
    wanted_share: Any, wanted_uniformity: Any, max_velocity: Any, cv: Any, open_flow: Any,
    supply_share: Any, least_flow: Any, greatest_flow: Any, most_pressure: Any, **arguments: Any,
) -> SetChecks:  # fmt: skip
    """What the beds are held to, with their lines and pipes."""
    system = read_system(**arguments)
    limits = Limits(
        wanted_share, wanted_uniformity, max_velocity, system.min_pressure, system.max_pressure,
        variation=cv, supply_flow=np.nan if open_flow is None else open_flow,
        supply_share=supply_share, least_flow=least_flow,
        greatest_flow=np.inf if greatest_flow is None else greatest_flow,
        most_pressure=np.nan if most_pressure is None else most_pressure,
        roughness=system.roughness,
    )  # fmt: skip
    return SetChecks(system.beds, system.supply, limits)


@worksheet_function(
    "DESIGN_CHECKS",
    topic="checks",
    help="What is wrong with the pressures of the open beds running together (or set by set), and"
    " what change, computed, would mend it.",
    args=(
        bed_tables.bed_table(
            bed_tables.CV,
            "[name=]: text, column bed: Name of the bed, for the words",
        ),
        bed_tables.MAIN_START,
        bed_tables.LINE_TABLE,
        table("pipes", "The pipes by name, likewise; and those that can be bought", PIPES,
              "[pipe_diameters]: diameter, >0, <=2, column inside_diameter: Inside"
              " diameters of the pipes", default=None),
        bed_tables.COUNTED,
        bed_tables.SET,
        bed_tables.LIMIT_TABLE,
        UNITS,
    ),
    source=COMMON_PRACTICE.at("velocity up to 5 ft/s, three quarters of the supply"),
    examples=("DESIGN_CHECKS(A1:H9, 12, J1:R4)",),
)  # fmt: skip
def design_checks(pipe_diameters: Any, set: Any, name: Any, **arguments: Any) -> Any:
    of_all = checks_of(**arguments)
    pipes = np.empty(0) if pipe_diameters is None else np.asarray(pipe_diameters, dtype=float)
    pipes = pipes[~np.isnan(pipes)]
    found = []
    for set_name, rows in rows_by_set(set).items():
        whole = f"set {set_name}" if set_name else ""
        checks = SetChecks(only(of_all.beds, rows), of_all.supply, of_all.limits)
        for finding in pressure_checks.pressure_findings(checks, pipes):
            where = whole if finding.row is None else name[finding.row]
            words = f"{where}: {finding.words}" if where else finding.words
            number = np.nan if finding.row is None else finding.row + 1.0
            found.append((number, finding.check, words))
    return found or [(np.nan, "pressure", "nothing found")]
