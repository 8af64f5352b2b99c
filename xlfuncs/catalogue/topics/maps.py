"""Declarations: where beds lie on a map to scale."""

from xlfuncs.calculations.layout import garden_map
from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION

worksheet_function(
    "BED_POSITIONS",
    topic="flow",
    help="Where each bed lies on a map: main straight up from the supply, beds across it, two at"
    " one distance facing each other, others on the side of the one before, each branch beside the"
    " main.",
    args=(
        Arg("distance", "length", "From the supply along the pipe to the bed",
            minimum=0, group="beds"),
        Arg("length", "length", "Length of the bed", above=0, group="beds"),
        Arg("branch", "count", "Branch of the main that feeds the bed (default 0, the main)",
            default=0, minimum=0, whole=True, group="beds"),
        Arg("gap", "length", "From the pipe to the head of a bed (default 0.3 m)",
            default="0.3 m", minimum=0),
        Arg("half_width", "length", "Half the width of the bed (default 0): beds that would overlap"
            " lie across from each other", default=0, minimum=0, group="beds"),
    ),
    results=(
        Result("inlet_x", "length", "Across: the head of the bed"),
        Result("end_x", "length", "Across: the far end of the bed"),
        Result("y", "length", "Up: the middle of the bed"),
        Result("pipe_x", "length", "Across: the pipe that feeds the bed"),
    ),
    source=DEFINITION.at("distances along the pipe, drawn straight"),
    elementwise=False,
    rows="beds",
    examples=("BED_POSITIONS(A2:A15, B2:B15)",),
)(garden_map.bed_positions)  # fmt: skip
