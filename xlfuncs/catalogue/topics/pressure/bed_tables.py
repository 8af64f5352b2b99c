"""Arguments that are tables: the beds with their lines and pipes, what feeds them, their limits."""

from xlfuncs.catalogue.declaration import Arg, table
from xlfuncs.catalogue.topics.pressure.pressure import ROUGHNESS
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import LIMITS, START_OF_MAIN
from xlfuncs.tables.garden.lines import LINES, PIPES

_OF_A_BED = (
    "[on=yes]: flag, selects: Whether the bed is counted; others are not even read",
    "distance laterals length=lateral_length",
    "emitter_spacing: width, >0, <=5, from lines.line.emitter_spacing: Distance between emitters;"
    " the first lies one full spacing from the inlet",
    "[rated_flow]: emitter_flow, >0, <=24 L/h, column emitter_flow, from lines.line.emitter_flow:"
    " Flow of one emitter at its rated pressure",
    "[flow_per_length]: flow_per_length, >0, <=50 L/h per m, from lines.line.flow_per_length: Or"
    " the flow of the line for its length",
    "rated_pressure: pressure, >0, <=10 bar, from lines.line.rated_pressure: Pressure at which"
    " that flow is given",
    "lateral_diameter: diameter, >0, <=0.2, from lines.line.inside_diameter: Inside diameter of"
    " the laterals, never the nominal size",
    "main_diameter: diameter, >0, <=2, from pipes.main_pipe.inside_diameter: Inside diameter of"
    " the pipe that ends at the bed's branch point, never the nominal size",
    "[open=yes]: flag: Which beds run together (default all)",
    "[exponent=0.5]: number, >=0, <=1, from lines.line.exponent: Emitter discharge exponent: 0.5"
    " for most, 0 to 0.1 compensating",
    "[min_pressure=0]: pressure, >=0, <=10 bar, from lines.line.min_pressure: Minimum working"
    " pressure of the line; below it flows are extrapolated as of an orifice",
    "[max_pressure]: pressure, >0, <=20 bar, from lines.line.max_pressure: Maximum working"
    " pressure of the line (blank: unknown)",
    "[branch=0]: count, >=0, <=10000, whole: Branch that the bed is on; 0 (default) is the main"
    " itself",
    "branch_start elevation slope",
    "[manifold_diameter]: diameter, >0, <=0.5, from pipes.manifold_pipe.inside_diameter: Inside"
    " diameter of the bed's manifold (blank: laterals straight at the branch point)",
    "[lateral_spacing]: width, >=0, <=30: Distance between laterals along the manifold; the first"
    " lies half of it from the branch point (default: the bed's width over its laterals)",
    "bed_top_width strips",
    "[strip_width]: width, >0, <=30: Width of a planted strip",
    "[fitting_loss=0]: number, >=0, <=1000: Loss coefficient of a lateral's fitting on the"
    " velocity head in the lateral",
)
CV = Arg.of("[cv=0]: number, >=0, <=0.5, from lines.line.cv: Manufacturer's coefficient of"
            " variation")  # fmt: skip
MAIN_START = table(
    "head",
    "Pressure at the start of the main: one value, or a table of flows and pressures",
    START_OF_MAIN,
    "[supply_flow]: flow, >=0, <=2000 m³/h, column flow: Flows of the supply's curve",
    "[supply_pressure]: pressure, >=0, <=20 bar, column pressure: Pressure at the start of the"
    " main at each of these flows",
    single=Arg.of("[inlet_pressure]: pressure, >0, <=20 bar: The one pressure; beside a curve, in"
                  " Python, the most that a regulator lets through"),
)  # fmt: skip
LINE_TABLE = table("lines", "The lines by name, for what the beds do not say of theirs", LINES,
               default=None)  # fmt: skip
PIPE_TABLE = table("pipes", "The pipes by name, likewise", PIPES, default=None)
COUNTED = Arg.of("[counted=yes]: flag, selects, of beds: Whether each bed is counted; others are"
                 " not even read")  # fmt: skip
FED = (MAIN_START, LINE_TABLE, PIPE_TABLE, COUNTED)
SET = Arg.of("[set=]: text, of beds: Set of each bed, such as its valve: beds of one set run"
             " together, apart from the other sets (default: all together)")  # fmt: skip


def bed_table(*more: Arg | str) -> Arg:
    return table("beds", "The beds, a row each", BEDS, *_OF_A_BED, *more)


LIMIT_TABLE = table(
    "limits", "What the beds are held to: labels and values, down", LIMITS,
    "wanted_share",
    "[wanted_uniformity=0.85]: ratio, >=0, <1: Emission uniformity to keep, the CV counted",
    "max_velocity",
    "[open_flow]: flow, >0, <=2000 m³/h: Flow of the supply by the bucket test (blank: unknown)",
    "[supply_share=0.75]: ratio, >0, <=1: Share of that flow to use",
    "[least_flow=0]: flow, >=0, <=2000 m³/h: Flow from which every part of the head assembly"
    " works, by HEAD_FLOWS",
    "[greatest_flow]: flow, >=0, <=2000 m³/h: Flow up to which every part works, by HEAD_FLOWS"
    " (blank: any)",
    "[most_pressure]: pressure, >0, <=20 bar: Most that can stand at the start of the main, as of"
    " a well at cut-out (blank: by the curve)",
    ROUGHNESS,
    default=None, settings=True,
)  # fmt: skip
