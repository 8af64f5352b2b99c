"""Computed columns of Beds about pressure: what its line and pipes are, and what arrives."""

from __future__ import annotations

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import call, checked
from workbook_template.kit.page import Computed
from xlfuncs.units import from_base

OF_LINE = (
    ("rated_pressure", "Rated pressure", "pressure"),
    ("exponent", "Exponent", "number"),
    ("cv", "CV", "number"),
    ("min_pressure", "Least pressure", "pressure"),
    ("max_pressure", "Greatest pressure", "pressure"),
)
ONE_BED = {
    "distance": "{distance}", "laterals": "{laterals}", "lateral_length": "{length}",
    "emitter_spacing": "{emitter_spacing}", "rated_flow": "{emitter_flow}",
    "rated_pressure": "{rated_pressure}", "lateral_diameter": "{lateral_diameter}",
    "main_diameter": "{main_diameter}",
    **{name: f'IF({{{name}}}="","",{{{name}}})'
       for name in ("branch", "branch_start", "elevation", "slope")},
    "exponent": "{exponent}", "min_pressure": "{min_pressure}",
    "manifold_diameter": "{manifold_diameter}", "lateral_spacing": "{lateral_spacing}",
}  # fmt: skip


def what_it_is(book: Book, across: str) -> tuple[Computed, ...]:
    """Its line and pipes, and whether the pressure of the bed can be solved.

    `across` is a formula for the width of the bed's head.
    """

    def found(table: str, key_column: str, column: str, key: str) -> str:
        there = book.lookup(table, column, key_column, key)
        return f'IF({key}="","",IFERROR(IF({there}="","",{there}),""))'

    lines = [
        Computed(name, header, dimension, "From the line",
                 found("Lines", "line", name, "{line}"), grouped=True)
        for name, header, dimension in OF_LINE
    ]  # fmt: skip
    pipes = [
        Computed(name, header, "diameter", f"Inside diameter, from the {table[:-1].lower()}",
                 found(table, table[:-1].lower(), "inside_diameter", key), grouped=True)
        for name, header, table, key in (
            ("lateral_diameter", "Lateral diameter", "Lines", "{line}"),
            ("main_diameter", "Main diameter", "Pipes", "{main_pipe}"),
            ("manifold_diameter", "Manifold diameter", "Pipes", "{manifold_pipe}"),
        )
    ]  # fmt: skip
    half = f"INDEX({call('LINE_OFFSETS', across, '{laterals}')},1,1)"
    return (
        *lines, *pipes,
        Computed("lateral_spacing", "Lateral spacing", "width",
                 "Along the manifold: the bed's width over its lines",
                 'IF(OR({counted}<>"yes",{manifold_diameter}="",N({laterals})=0),"",'
                 f'IFERROR(2*{half},""))', grouped=True),
        Computed("pressure_check", "Pressure", "text", "ok, or what keeps it from being solved",
                 _check(book), grouped=True),
        Computed("solved", "Pressure solved", "text", "Whether Pressure counts the bed",
                 'IF({bed}="","",IF({pressure_check}="ok","yes","no"))', grouped=True),
    )  # fmt: skip


def _check(book: Book) -> str:
    """Words on the first thing missing; what is typed as text or out of range is tried out."""
    one_bed = checked(
        "SYSTEM_DELIVERY", **ONE_BED, inlet_pressure=f"{from_base(1e5, 'pressure', book.system):g}"
    )
    typed = ("distance", "branch", "branch_start", "elevation", "slope")
    doubtful = ",".join([
        *(f"ISTEXT({{{name}}})" for name in typed), "N({distance})<0", "N({branch})<>0",
        "ISTEXT({rated_pressure})", "ISTEXT({lateral_diameter})", "ISTEXT({main_diameter})",
    ])  # fmt: skip
    missing = (
        ('{main_pipe}=""', "Main pipe: missing"),
        ('{main_diameter}=""', "Main pipe: not on Lines"),
        ('AND({manifold_pipe}<>"",{manifold_diameter}="")', "Manifold pipe: not on Lines"),
        ('{distance}=""', "Distance: missing"),
        ('{rated_pressure}=""', "Line: rated pressure missing"),
        ('{lateral_diameter}=""', "Line: inside diameter missing"),
    )
    formula = f'IF(OR({doubtful}),{one_bed},"ok")'
    for condition, words in reversed(missing):
        formula = f'IF({condition},"{words}",{formula})'
    return f'IF({{bed}}="","",IF({{counted}}<>"yes","not counted",{formula}))'


def what_arrives(row: str, if_counted: Callable[[str], str]) -> tuple[Computed, ...]:
    """Delivered flow and the minutes by it. `row` is a formula for the number of the bed's row."""
    solved = f"INDEX(delivered_flows,{row})"
    minutes = call("RUN_MINUTES", "{area}", "weekly_depth", "{delivered_flow}", "waterings_a_week",
                   "efficiency")  # fmt: skip
    return (
        Computed("delivered_flow", "Flow delivered", "flow",
                 "What arrives with the bed's valve open, from Pressure; blank: not solved",
                 if_counted(f'IF(ISNUMBER({solved}),{solved},"")')),
        Computed("minutes_delivered", "Minutes, flow delivered", "time",
                 "Minutes of one watering with the flow that arrives; set the timer by these",
                 if_counted(f'IF(OR(N({{delivered_flow}})=0,weekly_depth=""),"",{minutes})')),
    )  # fmt: skip
