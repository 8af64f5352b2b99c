"""Computed columns of Beds about pressure: what its line and pipes are, and what arrives."""

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Computed
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import LINES, PIPES

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
