"""Beds: the bed list with its computed columns."""

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call, checked, column_of
from workbook_template.kit.page import Computed, Page
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.garden.this_week import FIELD_CHECKS
from xlfuncs.units import to_base

SHEETS = (
    SheetFor("Beds",
             "One row per bed; type the next one in the first free row. A bed that is off or"
             " cannot be read is left out of every total.", (GROWER, CONSULTANT), group="garden",
             needs=("Lines", "Pressure"), client=SEEN),
)  # fmt: skip

# Entered once, then out of the way: the columns that daily use does not need.
FOLDED = ("inset", "branch", "branch_start", "elevation", "slope", "notes")
SPACING, FLOW = "{emitter_spacing}", "{emitter_flow}"

WIDTHS = {
    "bed": 12, "strips": 7, "line": 14, "laterals": 8, "main_pipe": 14, "manifold_pipe": 14,
    "valve": 7, "cover": 13, "on": 6, "check": 26, "counted": 8, "notes": 40, "fill_check": 30,
}  # fmt: skip
# A blank cell reaches a function as 0 in Calc, so a blank number of strips is asked for first.
STRIPS = 'IF({strips}="",1,{strips})'


def _strips_across(book: Book) -> str:
    """Width of the strips of a bed together, which may be typed as text."""
    factor = to_base(1.0, "length", book.system) / to_base(1.0, "width", book.system)
    area = call("BED_AREA", "{length}", "{strip_width}", STRIPS)
    of_area = f"{area}/{call('LINE_LENGTH', '{length}')}*{factor:.12g}"
    return f"IF(ISNUMBER({{strip_width}}),{{strip_width}}*{STRIPS},{of_area})"


def _computed(book: Book, row: str) -> tuple[Computed, ...]:
    def of_line(column: str) -> str:
        found = book.lookup("Lines", column, "line", "{line}")
        return f'IF({{line}}="","",IFERROR({found},""))'

    def if_counted(formula: str) -> str:
        return f'IF({{counted}}="yes",{formula},"")'

    area = ("{length}", "{strip_width}", STRIPS)
    flow = ("{length}", SPACING, FLOW, "{laterals}")
    minutes = call("RUN_MINUTES", "{area}", "weekly_depth", "{nominal_flow}", "waterings_a_week",
                   "efficiency_used")  # fmt: skip
    known_line = f"COUNTIF({book.column('Lines', 'line')},{{line}})=0"
    readable = (
        f'IF({{bed}}="","",IF({known_line},"Line: not on the Lines sheet",'
        f'IF({{area_check}}<>"ok",{_plain("{area_check}")},'
        f'IF({{flow_check}}="ok","ok",{_plain("{flow_check}")}))))'
    )
    said = "{readable}"  # all that a client sees of it, for other findings rest on costs
    if not book.edition.for_client:
        said = f'IFERROR(INDEX(listed_words,MATCH("Beds "&{row},listed_key,0)),{said})'
    return (
        Computed("emitter_spacing", "Emitter spacing", "width", "From the line",
                 of_line("emitter_spacing"), grouped=True),
        Computed("emitter_flow", "Emitter flow", "emitter_flow", "From the line",
                 of_line("flow_of_emitter"), grouped=True),
        Computed("strips_across", "Strips together", "width", "Their width, side by side",
                 f'IF({{bed}}="","",IFERROR({_strips_across(book)},""))', grouped=True),
        Computed("across", "Width across", "width", "Of its top, else of its strips together",
                 'IF({bed_top_width}<>"",{bed_top_width},{strips_across})', grouped=True),
        Computed("area_check", "Its strips", "text", "Length and width",
                 f'IF({{bed}}="","",{checked("BED_AREA", *area)})', grouped=True),
        Computed("flow_check", "Its lines", "text", "Spacing, flow, laterals",
                 f'IF({{bed}}="","",{checked("BED_FLOW", *flow)})', grouped=True),
        Computed("check", "Check", "text", "ok, or what Checks says of the row",
                 f'IF({{bed}}&{{length}}="","",{said})'),
        Computed(
            "counted", "Counted", "text", "Whether the bed is in every total: on, and checked",
            'IF({bed}="","",IF({readable}<>"ok","no",IF({on}="no","off","yes")))', grouped=True,
        ),
        Computed("laid", "Laid", "text", "Whether lines are bought: a bed that is off keeps its",
                 'IF({counted}="","",IF({counted}="no","no","yes"))', grouped=True),
        Computed("area", "Planted area", "area", "Length times width of its strips",
                 if_counted(call("BED_AREA", *area))),
        Computed("line_length", "Line in bed", "length", "Length of all lines of the bed",
                 if_counted(call("LINE_LENGTH", "{length}", "{laterals}"))),
        Computed("nominal_flow", "Nominal flow", "flow",
                 "Emitters times their flow at rated pressure; see Pressure for what arrives",
                 if_counted(call("BED_FLOW", *flow))),
        Computed(
            "minutes", "Minutes at nominal flow", "time", "Minutes of one watering, if the rated"
            " pressure were everywhere",
            if_counted(f'IF(weekly_depth="","",{minutes})'),
        ),
        *what_arrives(row, if_counted),
        *_measured(book),
        *_filling(book, if_counted),
        *what_it_is(book, row),
        Computed("readable", "Readable", "text", "ok, or what keeps the bed from being counted",
                 readable, grouped=True),
    )  # fmt: skip


def _measured(book: Book) -> tuple[Computed, ...]:
    """Mean of the metered flows of the bed, where the workbook has the field checks."""
    if not book.edition.has("Field check"):
        return ()
    metered, bed = (column_of(FIELD_CHECKS.name, FIELD_CHECKS[name].heading(book.system))
                    for name in ("metered_flow", "bed"))  # fmt: skip
    mean = f'IF({{bed}}="","",IFERROR(AVERAGEIFS({metered},{bed},{{bed}}),""))'
    return (Computed("flow_measured", "Flow measured", "flow", "Mean of what was metered", mean,
                     grouped=True),)  # fmt: skip


def _plain(words: str) -> str:
    """Words of INPUT_CHECK without the name of the function in front."""
    return f'MID({words},FIND(": ",{words})+2,400)'


def _filling(book: Book, if_counted: Callable[[str], str]) -> tuple[Computed, ...]:
    """How long the empty lines and the manifold take to fill, and whether that is too long."""
    diameter = f'IFERROR({book.lookup("Lines", "inside_diameter", "line", "{line}")},"")'
    manifold = book.lookup("Pipes", "inside_diameter", "pipe", "{manifold_pipe}")
    factor = to_base(1.0, "width", book.system) / to_base(1.0, "length", book.system)
    as_length = f"IF(ISNUMBER({{across}}),{{across}}*{factor:.12g},{{across}})"
    fill = call(
        "FILL_MINUTES",
        "{nominal_flow}",
        "{length}",
        "{laterals}",
        "{bore}",
        "{manifold_length}",
        "{manifold_bore}",
    )
    share = ("{fill_minutes}", "{minutes}")
    runs = "AND(N({fill_minutes})>0,N({minutes})>0)"
    return (
        Computed("bore", "Bore of the line", "diameter", "From Lines", if_counted(diameter),
                 grouped=True),
        Computed("manifold_length", "Manifold across", "length", "Over the width of the bed",
                 if_counted(f'IF({{manifold_pipe}}="",0,{as_length})'), grouped=True),
        Computed("manifold_bore", "Bore of the manifold", "diameter", "From Pipes",
                 if_counted(f'IF({{manifold_pipe}}="","",IFERROR({manifold},""))'), grouped=True),
        Computed("fill_minutes", "Minutes to fill", "time",
                 "Until empty lines and the manifold across the bed are full, at nominal flow",
                 if_counted(f'IF(N({{nominal_flow}})=0,"",IFERROR({fill},""))'), grouped=True),
        Computed("fill_share", "Filling, share of a watering", "ratio",
                 "Over a fifth, the bed is watered unevenly (common practice)",
                 f'IF({runs},{call("FILL_SHARE", *share)},"")', grouped=True),
        Computed("fill_check", "Filling", "text", "ok, or what to do about a long filling",
                 f'IF({runs},{checked("FILL_SHARE", *share)},"")', grouped=True),
    )  # fmt: skip


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.freeze(page.row + 1)
    page.table(
        BEDS,
        _computed(book, f"ROW()-ROW($A${page.row + 1})"),
        widths=WIDTHS,
        grouped=FOLDED,
    )


# --- computed columns of Beds about pressure: what its line and pipes are, and what arrives ---
OF_LINE = (
    ("rated_pressure", "Rated pressure", "pressure", "rated_pressure"),
    ("exponent", "Exponent", "number", "exponent"),
    ("min_pressure", "Minimum pressure", "pressure", "min_pressure"),
    ("lateral_diameter", "Lateral diameter", "diameter", "inside_diameter"),
)


def what_it_is(book: Book, row: str) -> tuple[Computed, ...]:
    """What its line is, and whether the pressure of the bed can be solved.

    `row` is a formula for the number of the bed's row.
    """

    def of_line(column: str) -> str:
        there = book.lookup("Lines", column, "line", "{line}")
        return f'IF({{line}}="","",IFERROR(IF({there}="","",{there}),""))'

    lines = [
        Computed(name, header, dimension, "From the line", of_line(column), grouped=True)
        for name, header, dimension, column in OF_LINE
    ]  # fmt: skip
    system = ",".join([book.span(BEDS), '"1 bar"', book.span(LINES), book.span(PIPES)])
    read = f'INDEX(ROW_CHECK("SYSTEM_DELIVERY",{system},,,units),{row},1)'
    return (
        *lines,
        Computed("pressure_check", "Pressure", "text", "ok, or what keeps it from being solved",
                 f'IF({{bed}}="","",IF({{counted}}<>"yes","not counted",{read}))', grouped=True),
        Computed("solved", "Pressure solved", "text", "Whether Pressure counts the bed",
                 'IF({bed}="","",IF({pressure_check}="ok","yes","no"))', grouped=True),
    )  # fmt: skip


def what_arrives(row: str, if_counted: Callable[[str], str]) -> tuple[Computed, ...]:
    """Delivered flow and the minutes by it. `row` is a formula for the number of the bed's row."""
    solved = f"INDEX(delivered_flows,{row})"
    minutes = call("RUN_MINUTES", "{area}", "weekly_depth", "{delivered_flow}", "waterings_a_week",
                   "efficiency_used")  # fmt: skip
    return (
        Computed("delivered_flow", "Flow delivered", "flow",
                 "What arrives with the bed's valve open, from Pressure; blank: not solved",
                 if_counted(f'IF(ISNUMBER({solved}),{solved},"")')),
        Computed("flow_used", "Flow in use", "flow",
                 "Delivered where it is solved, else nominal: what all minutes rest on",
                 if_counted("IF(ISNUMBER({delivered_flow}),{delivered_flow},{nominal_flow})"),
                 grouped=True),
        Computed("minutes_delivered", "Minutes, flow delivered", "time",
                 "Minutes of one watering with the flow that arrives; set the timer by these",
                 if_counted(f'IF(OR(N({{delivered_flow}})=0,weekly_depth=""),"",{minutes})')),
    )  # fmt: skip
