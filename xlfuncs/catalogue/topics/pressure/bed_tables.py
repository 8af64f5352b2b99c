"""Arguments that are tables: the beds with their lines and pipes, what feeds them, their limits."""

from xlfuncs.catalogue.declaration import Arg, LookedUp, table
from xlfuncs.catalogue.topics.pressure.pressure import ROUGHNESS
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import LIMITS, START_OF_MAIN
from xlfuncs.tables.garden.lines import LINES, PIPES


def of_line(column: str) -> LookedUp:
    return LookedUp("lines", "line", column)


_OF_A_BED = (
    Arg("on", "flag", "Whether the bed is counted; others are not even read (default yes)",
        default=True, selects=True),
    "distance laterals length=lateral_length",
    Arg("emitter_spacing", "width", "Distance between emitters; the first lies one full spacing"
        " from the inlet", above=0, maximum=5, looked_up=of_line("emitter_spacing")),
    Arg("rated_flow", "emitter_flow", "Flow of one emitter at its rated pressure", default=None,
        above=0, maximum="24 L/h", column="emitter_flow", looked_up=of_line("emitter_flow")),
    Arg("flow_per_length", "flow_per_length", "Or the flow of the line for its length",
        default=None, above=0, maximum="50 L/h per m", looked_up=of_line("flow_per_length")),
    Arg("rated_pressure", "pressure", "Pressure at which that flow is given", above=0,
        maximum="10 bar", looked_up=of_line("rated_pressure")),
    Arg("lateral_diameter", "diameter", "Inside diameter of the laterals, never the nominal size",
        above=0, maximum=0.2, looked_up=of_line("inside_diameter")),
    Arg("main_diameter", "diameter", "Inside diameter of the pipe that ends at the bed's branch"
        " point, never the nominal size", above=0, maximum=2,
        looked_up=LookedUp("pipes", "main_pipe", "inside_diameter")),
    Arg("open", "flag", "Which beds run together (default all)", default=True),
    Arg("exponent", "number", "Emitter discharge exponent: 0.5 for most, 0 to 0.1 compensating"
        " (default 0.5)", default=0.5, minimum=0, maximum=1, looked_up=of_line("exponent")),
    Arg("min_pressure", "pressure", "Minimum working pressure of the line; below it flows are"
        " extrapolated as of an orifice (default 0)", default=0, minimum=0, maximum="10 bar",
        looked_up=of_line("min_pressure")),
    Arg("max_pressure", "pressure", "Maximum working pressure of the line (blank: unknown)",
        default=None, above=0, maximum="20 bar", looked_up=of_line("max_pressure")),
    Arg("branch", "count", "Branch that the bed is on; 0 (default) is the main itself", default=0,
        minimum=0, maximum=10_000, whole=True),
    "branch_start elevation slope",
    Arg("manifold_diameter", "diameter", "Inside diameter of the bed's manifold (blank: laterals"
        " straight at the branch point)", default=None, above=0, maximum=0.5,
        looked_up=LookedUp("pipes", "manifold_pipe", "inside_diameter")),
    Arg("lateral_spacing", "width", "Distance between laterals along the manifold; the first lies"
        " half of it from the branch point (default: the bed's width over its laterals)",
        default=None, minimum=0, maximum=30),
    "bed_top_width strips",
    Arg("strip_width", "width", "Width of a planted strip", default=None, above=0, maximum=30),
    Arg("fitting_loss", "number", "Loss coefficient of a lateral's fitting on the velocity head in"
        " the lateral (default 0)", default=0, minimum=0, maximum=1000),
)  # fmt: skip
CV = Arg("cv", "number", "Manufacturer's coefficient of variation (default 0)", default=0,
          minimum=0, maximum=0.5, looked_up=of_line("cv"))  # fmt: skip
MAIN_START = table(
    "head",
    "Pressure at the start of the main: one value, or a table of flows and pressures",
    START_OF_MAIN,
    Arg("supply_flow", "flow", "Flows of the supply's curve", default=None, minimum=0,
        maximum="2000 m³/h", column="flow"),
    Arg("supply_pressure", "pressure", "Pressure at the start of the main at each of these flows",
        default=None, minimum=0, maximum="20 bar", column="pressure"),
    single=Arg("inlet_pressure", "pressure", "The one pressure; beside a curve, in Python, the most"
               " that a regulator lets through", default=None, above=0, maximum="20 bar"),
)  # fmt: skip
LINE_TABLE = table("lines", "The lines by name, for what the beds do not say of theirs", LINES,
               default=None)  # fmt: skip
PIPE_TABLE = table("pipes", "The pipes by name, likewise", PIPES, default=None)
COUNTED = Arg(
    "counted", "flag", "Whether each bed is counted; others are not even read (default yes)",
    default=True, group="beds", selects=True,
)  # fmt: skip
SET = Arg("set", "text", "Set of each bed, such as its valve: beds of one set run together, apart"
           " from the other sets (default: all together)", default="", group="beds")  # fmt: skip


def bed_table(*more: Arg) -> Arg:
    return table("beds", "The beds, a row each", BEDS, *_OF_A_BED, *more)


LIMIT_TABLE = table(
    "limits", "What the beds are held to: labels and values, down", LIMITS,
    "wanted_share",
    Arg("wanted_uniformity", "ratio", "Emission uniformity to keep, the CV counted (default"
        " 0.85)", default=0.85, minimum=0, below=1),
    "max_velocity",
    Arg("open_flow", "flow", "Flow of the supply by the bucket test (blank: unknown)",
        default=None, above=0, maximum="2000 m³/h"),
    Arg("supply_share", "ratio", "Share of that flow to use (default 0.75)", default=0.75, above=0,
        maximum=1),
    Arg("least_flow", "flow", "Flow from which every part of the head assembly works, by"
        " HEAD_FLOWS (default 0)", default=0, minimum=0, maximum="2000 m³/h"),
    Arg("greatest_flow", "flow", "Flow up to which every part works, by HEAD_FLOWS (blank: any)",
        default=None, minimum=0, maximum="2000 m³/h"),
    Arg("most_pressure", "pressure", "Most that can stand at the start of the main, as of a well at"
        " cut-out (blank: by the curve)", default=None, above=0, maximum="20 bar"),
    ROUGHNESS,
    default=None, settings=True,
)  # fmt: skip
