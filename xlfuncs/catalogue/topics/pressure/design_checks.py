"""Declaration: what is wrong in a whole system, and the change that would mend it."""

from typing import Any

import numpy as np

from xlfuncs.calculations.pressure import pressure_checks
from xlfuncs.calculations.pressure.set_checks import (
    SetChecks,
)
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE
from xlfuncs.catalogue.topics.pressure.bed_tables import (
    COUNTED,
    CV,
    LIMIT_TABLE,
    LINE_TABLE,
    MAIN_START,
    SET,
    bed_table,
)
from xlfuncs.catalogue.topics.pressure.whole_systems import (
    limits_of,
    only,
    read_system,
    rows_by_set,
)
from xlfuncs.tables.garden.lines import PIPES


@worksheet_function(
    "DESIGN_CHECKS",
    topic="checks",
    help="What is wrong with the pressures of the open beds running together (or set by set), and"
    " what change, computed, would mend it.",
    args=(
        bed_table(
            CV,
            Arg("name", "text", "Name of the bed, for the words", default="", column="bed"),
        ),
        MAIN_START,
        LINE_TABLE,
        table("pipes", "The pipes by name, likewise; and those that can be bought", PIPES,
              Arg("pipe_diameters", "diameter", "Inside diameters of the pipes", default=None,
                  above=0, maximum=2, column="inside_diameter"), default=None),
        COUNTED,
        SET,
        LIMIT_TABLE,
        UNITS,
    ),
    results=(
        Result("bed", "count", "Row of the bed in the list, from 1; blank for a whole set",
               row_of="beds"),
        Result("check", "text", "What was checked"),
        Result("words", "text", "What is wrong, and what to change by how much"),
    ),
    source=COMMON_PRACTICE.at("velocity up to 5 ft/s, three quarters of the supply"),
    examples=("DESIGN_CHECKS(A1:H9, 12, J1:R4)",),
)  # fmt: skip
def design_checks(
    cv: Any, pipe_diameters: Any, open_flow: Any, wanted_share: Any, wanted_uniformity: Any,
    max_velocity: Any, set: Any, name: Any, supply_share: Any, least_flow: Any,
    greatest_flow: Any, most_pressure: Any, **arguments: Any,
) -> Any:  # fmt: skip
    system = read_system(**arguments)
    pipes = np.empty(0) if pipe_diameters is None else np.asarray(pipe_diameters, dtype=float)
    pipes = pipes[~np.isnan(pipes)]
    limits = limits_of(
        system, wanted_share, wanted_uniformity, max_velocity, cv, open_flow, supply_share,
        least_flow, greatest_flow, most_pressure,
    )  # fmt: skip
    found = []
    for set_name, rows in rows_by_set(set).items():
        whole = f"set {set_name}" if set_name else ""
        checks = SetChecks(only(system.beds, rows), system.supply, limits)
        for finding in pressure_checks.pressure_findings(checks, pipes):
            where = whole if finding.row is None else name[finding.row]
            words = f"{where}: {finding.words}" if where else finding.words
            number = np.nan if finding.row is None else finding.row + 1.0
            found.append((number, finding.check, words))
    columns = zip(*(found or [(np.nan, "pressure", "nothing found")]), strict=True)
    return tuple(list(column) for column in columns)
