"""Declarations: area, volume, flow."""

from typing import Any

from xlfuncs.calculations.layout import beds
from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, Source

AREA = Arg.of("area: area, >0, divides: Planted area that gets the water")
LENGTH = Arg.of("length: length, >0, <=3000: Length of the lateral or bed")
SPACING = Arg.of("emitter_spacing: width, >0, <=5, divides: Distance between emitters along the"
                 " line")  # fmt: skip
EMITTER_FLOW = Arg.of("emitter_flow: emitter_flow, >=0, <=24 L/h: Flow of one emitter")
FLOW = Arg.of("flow: flow, >0, <=2000 m³/h, divides: Flow while the water runs")
EFFICIENCY = Arg.of("[efficiency=1]: ratio, >0, <=1: Share of the water that serves the crop")
NOMINAL = Source("Nominal flow: number of emitters times emitter flow, ISO 9261:2004 terms")


worksheet_function(
    "BED_AREA",
    help="Planted area of a bed: length times width of a strip times number of strips.",
    args=(
        "length: length, >=0, <=3000: Length of the planted strips",
        "width: width, >=0, <=30: Width of one planted strip",
        "[strips=1]: count, >=1, <=100, whole: Planted strips side by side",
    ),
    results=(Result("area", "area", "Planted area"),),
    source=DEFINITION.at("area of a rectangle"),
    plain="{length}*{width}*{strips}",
    examples=("BED_AREA(48, 30, 2)", 'BED_AREA("22 ft 9 in", 30)'),
)(beds.bed_area)


worksheet_function(
    "VOLUME_FROM_DEPTH",
    help="Volume of water that covers an area to a depth.",
    args=(
        "area: area, >=0: Area that gets the water",
        "depth: depth, >=0, <=20000: Depth of water",
    ),
    results=(Result("volume", "volume", "Volume of water"),),
    source=DEFINITION.at("volume is area times depth"),
    plain="{area}*{depth}/1000",
    examples=("VOLUME_FROM_DEPTH(100, 1)",),
)(beds.volume_from_depth)


worksheet_function(
    "DEPTH_FROM_VOLUME",
    help="Depth of water that a volume gives on an area.",
    args=("volume: volume, >=0: Volume of water", AREA),
    results=(Result("depth", "depth", "Depth of water"),),
    source=DEFINITION.at("depth is volume over area"),
    plain="{volume}/{area}*1000",
    examples=("DEPTH_FROM_VOLUME(62.4, 100)",),
)(beds.depth_from_volume)


worksheet_function(
    "EMITTER_COUNT",
    help="Emitters on one lateral, the first one full spacing from its inlet.",
    args=(LENGTH, SPACING),
    results=(Result("emitters", "count", "Number of emitters"),),
    source=DEFINITION.at("whole spacings in the length"),
    plain="INT({length}/{emitter_spacing}+0.000000001)",
    examples=("EMITTER_COUNT(48, 8)",),
)(beds.emitter_count)


worksheet_function(
    "EMITTER_FLOW_FROM_TAPE",
    help="Flow of one emitter of tape that is sold by flow per length.",
    args=(
        "flow_per_length: flow_per_length, >=0, <=50 L/h per m: Flow per length of tape, as sold",
        SPACING,
    ),
    results=(Result("emitter_flow", "emitter_flow", "Flow of one emitter"),),
    source=DEFINITION.at("flow per length times spacing"),
    plain="{flow_per_length}*{emitter_spacing}",
    examples=("EMITTER_FLOW_FROM_TAPE(0.5, 8)",),
)(beds.emitter_flow_from_tape)


worksheet_function(
    "LATERAL_FLOW",
    help="Nominal flow of one lateral: its emitters times their flow, all at rated pressure.",
    args=(LENGTH, SPACING, EMITTER_FLOW),
    results=(Result("lateral_flow", "lateral_flow", "Nominal flow of the lateral"),),
    source=NOMINAL.at(),
    plain="INT({length}/{emitter_spacing}+0.000000001)*{emitter_flow}",
    examples=("LATERAL_FLOW(48, 8, 0.25)",),
)(beds.lateral_flow)


worksheet_function(
    "BED_FLOW",
    help="Nominal flow of a bed with equal laterals, at rated pressure everywhere.",
    args=(
        LENGTH,
        SPACING,
        EMITTER_FLOW,
        "laterals: count, >=0, <=1000, whole: Laterals in the bed",
    ),
    results=(Result("flow", "flow", "Nominal flow of the bed"),),
    source=NOMINAL.at(),
    plain="INT({length}/{emitter_spacing}+0.000000001)*{emitter_flow}*{laterals}",
    examples=("BED_FLOW(48, 8, 0.25, 4)",),
)(beds.bed_flow)


@worksheet_function(
    "LINE_LENGTH",
    help="Drip line in a bed: its length times its laterals. With one lateral, a length such as"
    " 22 ft 9 in or 14 m 20 cm as a plain number.",
    args=(LENGTH, "[laterals=1]: count, >=0, <=1000, whole: Laterals in the bed"),
    results=(Result("line_length", "length", "Length of all lines of the bed"),),
    source=DEFINITION.at("length times number"),
    plain="{length}*{laterals}",
    examples=('LINE_LENGTH("46 ft 6 in", 4)',),
)
def line_length(length: Any, laterals: Any) -> Any:
    return length * laterals


worksheet_function(
    "APPLICATION_RATE",
    help="How fast the water comes: depth over time of a flow spread on an area.",
    args=("flow: flow, >=0: Flow while the water runs", AREA),
    results=(Result("application_rate", "intake_rate", "Depth over time"),),
    source=DEFINITION.at("flow over area"),
    plain="{flow}/{area}*3600000",
    examples=("APPLICATION_RATE(6, 600)",),
)(beds.application_rate)


worksheet_function(
    "SUPPLY_FLOW",
    help="Flow of a supply by the bucket test: volume caught and seconds it took.",
    args=("volume: volume, >=0: Volume caught", "seconds: seconds, >0, divides: Seconds it took"),
    results=(Result("flow", "flow", "Flow of the supply"),),
    source=DEFINITION.at("volume over time"),
    plain="{volume}/{seconds}",
    examples=("SUPPLY_FLOW(5, 30)",),
)(beds.supply_flow)
