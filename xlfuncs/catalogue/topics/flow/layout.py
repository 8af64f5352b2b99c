"""Declarations: where drip lines lie across a bed, and what they reach."""

import math
from typing import Any

import numpy as np

from xlfuncs.calculations.layout import beds, line_layout
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.errors import InputError

BED_WIDTH = Arg.of("width: width, >0, <=30: Width of the bed top")
LATERALS = Arg.of("laterals: count, >=1, <=1000, whole: Drip lines side by side")
INSET = Arg.of("[inset]: width, >=0, <=15: From the edge to the outermost line (default half the"
               " spacing of even lines)")  # fmt: skip
WETTED_WIDTH = Arg.of("wetted_width: width, >0, <=3, divides: Width that one line wets, seen by"
                      " digging or from WETTED_WIDTH")  # fmt: skip
PLANTING = Arg(
    "planting", "text",
    "How the bed is planted: single row, twin rows, zigzag, strips or broad cover (default)",
    default=line_layout.BROAD_COVER, choices=line_layout.PLANTINGS,
)  # fmt: skip
ROW_GAP = Arg.of("[row_gap]: width, >=0, <=30: Between twin rows (default half the bed) or zigzag"
                 " rows (default a third of it)")  # fmt: skip
STRIPS = Arg.of("[strips=1]: count, >=1, <=100, whole: Planted strips that share the bed evenly")
STRIP_WIDTH = Arg.of("[strip_width]: width, >0, <=30: Width of one planted strip; needed for"
                     " strips")  # fmt: skip
EMITTER_SPACING = Arg.of("[emitter_spacing]: width, >0, <=5: Between emitters: the band that is"
                         " wet all along is narrower then (default: full width)")  # fmt: skip
_ACROSS = (INSET, PLANTING, ROW_GAP, STRIPS, STRIP_WIDTH)
GEOMETRY = DEFINITION.at("distance across the bed from a point to the nearest line")


def _inset_too_wide(width: Any, laterals: Any, inset: Any) -> Any:
    return inset > np.where(np.asarray(laterals) > 1, width / 2, width)


def _outside(width: Any, planting: Any, row_gap: Any) -> Any:
    paired = np.isin(planting, (line_layout.TWIN_ROWS, line_layout.ZIGZAG))
    return paired & (row_gap > width)


def _no_strip_width(planting: Any, strip_width: Any) -> Any:
    return (np.asarray(planting) == line_layout.STRIPS) & np.isnan(strip_width)


def _strips_too_wide(width: Any, planting: Any, strips: Any, strip_width: Any) -> Any:
    planted = np.asarray(planting) == line_layout.STRIPS
    return planted & (strips * strip_width > width + line_layout.SLACK)


LAYOUT_RELATIONS = (
    Relation("inset", _inset_too_wide, "must be at most half the width of the bed"),
    Relation("row_gap", _outside, "must be at most the width of the bed"),
    Relation("strip_width", _no_strip_width, "is needed where the planting is strips"),
    Relation("strip_width", _strips_too_wide, "times strips is wider than the bed"),
)


@worksheet_function(
    "LINE_OFFSETS",
    help="Spills where the drip lines lie across a bed, from one edge: evenly, with an inset of"
    " half their spacing, or with the inset that you give. A single line lies in the middle.",
    args=(BED_WIDTH, LATERALS, INSET),
    results=(Result("offset", "width", "From one edge of the bed to the line"),),
    source=DEFINITION.at("equal spacing, symmetric about the middle of the bed"),
    elementwise=False,
    examples=("LINE_OFFSETS(30, 2)", "LINE_OFFSETS(30, 3, 5)"),
)
def line_offsets(width: float, laterals: float, inset: float | None) -> Any:
    given = math.nan if inset is None else inset
    if _inset_too_wide(width, laterals, given):
        raise InputError("inset", "must be at most half the width of the bed")
    return line_layout.line_offsets(width, laterals, given)


worksheet_function(
    "COVERAGE",
    help="How far the farthest planted point of a bed lies from a drip line, across the bed.",
    args=(BED_WIDTH, LATERALS, *_ACROSS),
    results=(Result("farthest", "width", "From the farthest planted point to its nearest line"),),
    source=GEOMETRY,
    relations=LAYOUT_RELATIONS,
    examples=("COVERAGE(30, 2)", 'COVERAGE(30, 2, , "twin rows")'),
)(line_layout.farthest_planted)


@worksheet_function(
    "COVERED_SHARE",
    help="Share of what is planted that lies in the wet band of a drip line: of the rows, or of"
    " the planted width.",
    args=(BED_WIDTH, LATERALS, WETTED_WIDTH, *_ACROSS, EMITTER_SPACING),
    results=(Result("share", "ratio", "Share of what is planted, 0 to 1"),),
    source=GEOMETRY,
    relations=LAYOUT_RELATIONS,
    examples=("COVERED_SHARE(30, 2, 12)",),
)
def covered_share(wetted_width: Any, emitter_spacing: Any, **across: Any) -> Any:
    reach = line_layout.band_reach(wetted_width, emitter_spacing)
    return line_layout.covered_share(reach=reach, **across)


@worksheet_function(
    "LINE_LAYOUTS",
    help="Compares 1, 2, ... drip lines for one bed: the best inset, how far the farthest point"
    " of each planting is, what is out of reach, and the fewest lines that serve all.",
    args=(
        BED_WIDTH,
        WETTED_WIDTH,
        Arg("plantings", "text", "What the one layout must serve, one in a cell (default all)",
            default=None, choices=line_layout.PLANTINGS, group="plantings"),
        ROW_GAP,
        STRIPS,
        STRIP_WIDTH,
        EMITTER_SPACING,
        "[most_laterals=6]: count, >=1, <=100, whole: How many rows: 1 line to this many",
        "[step=5 mm]: width, >0, <=1: Insets are tried in steps of this",
    ),
    source=GEOMETRY,
    examples=("LINE_LAYOUTS(30, 12)",),
)  # fmt: skip
def line_layouts(
    width: float, wetted_width: float, plantings: Any, row_gap: float | None, strips: float,
    strip_width: float | None, emitter_spacing: float | None, most_laterals: float, step: float,
) -> Any:  # fmt: skip
    gap, strip, spacing = (
        math.nan if value is None else value for value in (row_gap, strip_width, emitter_spacing)
    )
    if gap > width:
        raise InputError("row_gap", "must be at most the width of the bed")
    chosen = line_layout.chosen_plantings(list(plantings), width, strips, strip)
    bed = line_layout.Bed(width, chosen, gap, strips, strip)
    reach = float(line_layout.band_reach(wetted_width, spacing))
    return line_layout.layout_table(bed, reach, int(most_laterals), step)


worksheet_function(
    "BED_POSITIONS",
    help="Where each bed lies on a map: main straight up from the supply, beds across it, two at"
    " one distance facing each other, others on the side of the one before, each branch beside the"
    " main.",
    args=(
        "distance: length, >=0, of beds: From the supply along the pipe to the bed",
        "length: length, >0, of beds: Length of the bed",
        "[branch=0]: count, >=0, whole, of beds: Branch of the main that feeds the bed (default 0,"
        " the main)",
        "[gap=0.3 m]: length, >=0: From the pipe to the head of a bed",
        "[half_width=0]: length, >=0, of beds: Half the width of the bed (default 0): beds that"
        " would overlap lie across from each other",
    ),
    source=DEFINITION.at("distances along the pipe, drawn straight"),
    rows="beds",
    examples=("BED_POSITIONS(A2:A15, B2:B15)",),
)(beds.bed_positions)
