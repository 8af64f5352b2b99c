"""Beds: the bed list with its computed columns."""

from collections.abc import Callable
from typing import Any

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call, checked, column_of
from workbook_template.kit.page import Page
from xlfuncs.catalogue.findings.cells import unreadable_rows
from xlfuncs.catalogue.findings.given import from_range
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.garden.this_week import FIELD_CHECKS
from xlfuncs.units import to_base

SHEETS = (
    SheetFor("Beds",
             "One row per bed; type the next one in the first free row. One that is off"
             " gets no water, but keeps its lines; one that cannot be read is in no total.",
             (GROWER, CONSULTANT), group="garden", needs=("Lines", "Pressure"),
             client=SEEN),
)  # fmt: skip

# Entered once, then out of the way: the columns that daily use does not need.
FOLDED = ("inset", "branch", "branch_start", "elevation", "slope", "notes")
SPACING, FLOW = "{emitter_spacing}", "{emitter_flow}"

WIDTHS = {
    "bed": 12, "strips": 7, "line": 14, "laterals": 8, "main_pipe": 14, "manifold_pipe": 14,
    "valve": 7, "cover": 13, "on": 6, "check": 26, "counted": 8, "notes": 40, "fill_check": 30
}  # fmt: skip
ROOM = {"main_pipe": 82, "manifold_pipe": 74, "check": 95}  # pixels that words get in any case
# A blank cell reaches a function as 0 in Calc, so a blank number of strips is asked for first.
STRIPS = 'IF({strips}="",1,{strips})'
UNREAD = "a cell could not be read: ask for an update"
NO_LINE = "BED_FLOW: Lines per bed: must be at least 1, is 0"  # which the function takes


def _strips_across(book: Book) -> str:
    """Width of the strips of a bed together, which may be typed as text."""
    factor = to_base(1.0, "length", book.system) / to_base(1.0, "width", book.system)
    of_area = f"{call('BED_AREA', '1', '{strip_width}', STRIPS)}*{factor:.12g}"
    together = 'N({strip_width})*IF({strips}="",1,N({strips}))'
    return f"IF(ISNUMBER({{strip_width}}),{together},{of_area})"


def _computed(book: Book, row: str) -> dict[str, str]:
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
        'IF({bed}="","",IF({cells_check}<>"ok",{cells_check},'
        f'IF({{area_check}}<>"ok",{_plain("{area_check}")},'
        f'IF({{flow_check}}="ok","ok",{_plain("{flow_check}")}))))'
    )
    said = "{readable}"  # all that a client sees of it, for other findings rest on costs
    if not book.edition.for_client:
        said = f'IFERROR(INDEX(listed_words,MATCH("Beds "&{row},listed_key,0)),{said})'
    return {
        "emitter_spacing": of_line("emitter_spacing"),
        "emitter_flow": of_line("flow_of_emitter"),
        "strips_across": f'IF({{bed}}="","",IFERROR({_strips_across(book)},""))',
        "across": 'IF({bed_top_width}<>"",{bed_top_width},{strips_across})',
        "cells_check": f'IF({known_line},"Line: not on the Lines sheet",{_read(book, row)})',
        "area_check": f'IF({{bed}}="","",{checked("BED_AREA", *area)})',
        "flow_check": f'IF({{bed}}="","",IF({{laterals}}&""="0","{NO_LINE}",'
                      f"{checked('BED_FLOW', *flow)}))",
        "check": f'IF({{bed}}&{{length}}="","",{said})',
        "counted": 'IF({bed}="","",IF({readable}<>"ok","no",IF({on}="no","off","yes")))',
        "laid": 'IF({counted}="","",IF({counted}="no","no","yes"))',
        "area": if_counted(call("BED_AREA", *area)),
        "line_length": if_counted(call("LINE_LENGTH", "{length}", "{laterals}")),
        "nominal_flow": if_counted(call("BED_FLOW", *flow)),
        "minutes": if_counted(f'IF(weekly_depth="","",{minutes})'),
        **what_arrives(row, if_counted),
        **_measured(book),
        **_filling(book, if_counted),
        **what_it_is(book, row),
        "readable": readable
    }  # fmt: skip


def _read(book: Book, row: str) -> str:
    """Whether the cells of a row can be read: for a client, who has no functions and types a length
    in one row, those that could not be read when the copy was made."""
    if not book.edition.for_client:
        return f'INDEX(ROW_CHECK("{BEDS.name}",{book.span(BEDS)},units),{row},1)'
    beds = book.inputs.tables.get(BEDS.name, ())
    cells: list[list[Any]] = [[column.heading(book.system) for column in BEDS.columns]]
    cells += [[bed.get(column.name) for column in BEDS.columns] for bed in beds]
    faulty = unreadable_rows(from_range(BEDS, cells, book.system))
    told = ",".join(f"{row}={number}" for number in faulty)
    return f'IF(OR({told}),"{UNREAD}","ok")' if faulty else '"ok"'


def _measured(book: Book) -> dict[str, str]:
    """Mean of the metered flows of the bed, where the workbook has the field checks."""
    if not book.edition.has("Field check"):
        return {}
    metered, bed = (column_of(FIELD_CHECKS.name, FIELD_CHECKS[name].heading(book.system))
                    for name in ("metered_flow", "bed"))  # fmt: skip
    mean = f'IF({{bed}}="","",IFERROR(AVERAGEIFS({metered},{bed},{{bed}}),""))'
    return {"flow_measured": mean}


def _plain(words: str) -> str:
    """Words of INPUT_CHECK without the name of the function in front."""
    return f'MID({words},FIND(": ",{words})+2,400)'


def _filling(book: Book, if_counted: Callable[[str], str]) -> dict[str, str]:
    """How long the empty lines and the manifold take to fill, and whether that is too long."""
    diameter = f'IFERROR({book.lookup("Lines", "inside_diameter", "line", "{line}")},"")'
    manifold = book.lookup("Pipes", "inside_diameter", "pipe", "{manifold_pipe}")
    factor = to_base(1.0, "width", book.system) / to_base(1.0, "length", book.system)
    text = call("LINE_LENGTH", "{across}")
    as_length = f"IF(ISNUMBER({{across}}),N({{across}})*{factor:.12g},{text})"
    fill = call(
        "FILL_MINUTES", "{nominal_flow}", "{length}", "{laterals}", "{bore}", "{manifold_length}",
        "{manifold_bore}",
    )  # fmt: skip
    share = ("{fill_minutes}", "{minutes}")
    runs = "AND(N({fill_minutes})>0,N({minutes})>0)"
    return {
        "bore": if_counted(diameter),
        "manifold_length": if_counted(f'IF({{manifold_pipe}}="",0,{as_length})'),
        "manifold_bore": if_counted(f'IF({{manifold_pipe}}="","",IFERROR({manifold},""))'),
        "fill_minutes": if_counted(f'IF(N({{nominal_flow}})=0,"",IFERROR({fill},""))'),
        "fill_share": f'IF({runs},{call("FILL_SHARE", *share)},"")',
        "fill_check": f'IF({runs},{checked("FILL_SHARE", *share)},"")'
    }  # fmt: skip


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.freeze(page.row + 1)
    page.table(
        BEDS, _computed(book, f"ROW()-ROW($A${page.row + 1})"), widths=WIDTHS, grouped=FOLDED
    )
    at = book.places["Beds"].columns
    page.sheet.least_pixels = {at[name]: pixels for name, pixels in ROOM.items()}


# --- computed columns of Beds about pressure: what its line and pipes are, and what arrives ---
OF_LINE = {"rated_pressure": "rated_pressure", "exponent": "exponent",
           "min_pressure": "min_pressure", "lateral_diameter": "inside_diameter"}  # fmt: skip


def what_it_is(book: Book, row: str) -> dict[str, str]:
    """What its line is, and whether the pressure of the bed can be solved.

    `row` is a formula for the number of the bed's row.
    """

    def of_line(column: str) -> str:
        there = book.lookup("Lines", column, "line", "{line}")
        return f'IF({{line}}="","",IFERROR(IF({there}="","",{there}),""))'

    system = ",".join([book.span(BEDS), '"1 bar"', book.span(LINES), book.span(PIPES)])
    read = f'INDEX(ROW_CHECK("SYSTEM_DELIVERY",{system},,,units),{row},1)'
    return {
        **{name: of_line(column) for name, column in OF_LINE.items()},
        "pressure_check": f'IF({{bed}}="","",IF({{counted}}<>"yes","not counted",{read}))',
        "solved": 'IF({bed}="","",IF({pressure_check}="ok","yes","no"))'
    }  # fmt: skip


def what_arrives(row: str, if_counted: Callable[[str], str]) -> dict[str, str]:
    """Delivered flow and the minutes by it. `row` is a formula for the number of the bed's row."""
    solved = f"INDEX(delivered_flows,{row})"
    minutes = call("RUN_MINUTES", "{area}", "weekly_depth", "{delivered_flow}", "waterings_a_week",
                   "efficiency_used")  # fmt: skip
    return {
        "delivered_flow": if_counted(f'IF(ISNUMBER({solved}),{solved},"")'),
        "flow_used": if_counted("IF(ISNUMBER({delivered_flow}),{delivered_flow},{nominal_flow})"),
        "minutes_delivered":
            if_counted(f'IF(OR(N({{delivered_flow}})=0,weekly_depth=""),"",{minutes})')
    }  # fmt: skip
