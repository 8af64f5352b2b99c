"""Field check: what was measured in the garden, beside the plan."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.formulas import call, escaped
from workbook_template.kit.page import Computed, Page
from workbook_template.sheets.water.pressure import DELIVERY
from xlfuncs.tables.garden.field_check import CATCH_TESTS, CUPS, FIELD_CHECKS

SHEETS = (
    SheetFor("Field check", (CONSULTANT,), group="field check", needs=("Beds", "Pressure")),
    SheetFor("Catch test", (CONSULTANT,), group="field check", needs=("Beds", "Pressure")),
)

WIDTH = 10
POOR = 0.7  # uniformity below which lines are to be cleaned or replaced; a class in common use
TOLERANCE = 10  # per cent within which a bed does as planned; common practice
WORDS = (
    "Run one bed at a time, its lines full. What differs by less than 10 % is as planned (common"
    " practice, no published source). The pressure planned at the far end leaves out what the"
    " manifold loses."
)
CLASSES = (
    "Uniformity is the mean of the lowest quarter over the mean of all: excellent from 0.9, good"
    " from 0.8, fair from 0.7, poor below (classes in common use). Sixteen cups are the least for a"
    " judgement."
)


def write(book: Book) -> None:
    page = Page(
        book, "Field check", "Field check", "What was measured in the garden, beside the plan.",
    )  # fmt: skip
    page.note(FIELD_CHECKS.help, columns=WIDTH, lines=1)
    page.note(WORDS, columns=WIDTH, lines=2)
    page.freeze(page.row + 1)
    page.table(FIELD_CHECKS, _of_check(book), widths={
        "bed": 16, "note": 14, "planned_flow": 10, "flow_difference": 10,
        "planned_far_pressure": 12, "pressure_difference": 12, "words": 50})  # fmt: skip
    page = Page(
        book, "Catch test", "Catch test",
        "How evenly the emitters of a bed give, by cups under them.",
    )  # fmt: skip
    page.note(CATCH_TESTS.help, columns=CUPS, lines=2)
    page.note(CLASSES, columns=CUPS, lines=2)
    page.freeze(page.row + 1)
    page.table(CATCH_TESTS, _of_catch(book), widths={
        "bed": 13, "words": 22, "note": 10, "cups": 6, "uniformity": 10,
        **{f"cup_{i}": 6 for i in range(1, CUPS + 1)}})  # fmt: skip


def _of_bed(book: Book, column: str) -> str:
    """The value of the row's bed on Beds, blank where there is none."""
    found = book.lookup("Beds", column, "bed", "{bed}")
    return f'IFERROR(IF({found}="","",{found}),"")'


def _of_delivery(book: Book, column: str) -> str:
    """The same for a column of the beds on Pressure."""
    cells = book.places[DELIVERY].reference(column)
    found = f"INDEX({cells},MATCH({{bed}},{book.column('Beds', 'bed')},0))"
    return f'IFERROR(IF({found}="","",{found}),"")'


def _percent(measured: str, planned: str) -> str:
    return (
        f'IF(OR({{{measured}}}="",N({{{planned}}})=0),"",'
        f"ROUND(100*({{{measured}}}/{{{planned}}}-1),1))"
    )


def _of_check(book: Book) -> tuple[Computed, ...]:
    profile = call(
        "LATERAL_PROFILE", length=_of_bed(book, "length"),
        emitter_spacing=_of_bed(book, "emitter_spacing"), rated_flow=_of_bed(book, "emitter_flow"),
        rated_pressure=_of_bed(book, "rated_pressure"),
        inside_diameter=_of_bed(book, "lateral_diameter"),
        inlet_pressure=_of_delivery(book, "inlet"),
        exponent=_of_bed(book, "exponent"), slope=_of_bed(book, "slope"),
        min_pressure=_of_bed(book, "min_pressure"),
    )  # fmt: skip
    delivered, nominal = _of_bed(book, "delivered_flow"), _of_bed(book, "nominal_flow")
    known = f"N({_of_delivery(book, 'inlet')})=0"
    return (
        Computed("planned_flow", "Planned flow", "flow",
                 "Delivered, from Pressure; nominal where that is not solved",
                 f'IF({{bed}}="","",IF({delivered}="",{nominal},{delivered}))'),
        Computed("flow_difference", "Flow, more or less (%)", "number", "Metered against planned",
                 _percent("metered_flow", "planned_flow")),
        Computed("planned_far_pressure", "Planned at the far end", "pressure",
                 "At the last emitter of a line, from the pressure at the bed on Pressure",
                 f'IF({{bed}}="","",IF({known},"",INDEX({profile},ROWS({profile}),2)))'),
        Computed("pressure_difference", "Pressure, more or less (%)", "number",
                 "Measured against planned", _percent("far_pressure", "planned_far_pressure")),
        Computed("words", "What it says", "text", "Where to look first", _words()),
    )  # fmt: skip


def _words() -> str:
    flow, pressure = "{flow_difference}", "{pressure_difference}"

    def by_pressure(low: str, fine: str, high: str, unknown: str) -> str:
        return (
            f'IF({pressure}="","{unknown}",IF({pressure}<-{TOLERANCE},"{low}",'
            f'IF({pressure}>{TOLERANCE},"{high}","{fine}")))'
        )

    less = by_pressure(
        "too little reaches the bed: supply, filter, valve, kinks",
        "emitters pass too little: clogged, or fewer than planned",
        "emitters are clogged: flush the lines, look at the filter",
        "less than planned: measure the far-end pressure too",
    )
    more = by_pressure(
        "a leak, an open line end, or more emitters than planned",
        "more emitters than planned, or a small leak",
        "pressure above the plan: look at the regulator",
        "more than planned: leaks, open line ends, the regulator",
    )
    same = by_pressure(
        "flow as planned, the far end low: a kink or narrow fitting", "as planned",
        "flow as planned, the far end high: check the gauge", "flow as planned",
    )  # fmt: skip
    unknown = by_pressure(
        "far end low: meter the flow too", "far end as planned", "far end high: meter the flow too",
        "nothing measured yet",
    )  # fmt: skip
    return (
        f'IF({{bed}}="","",IF(COUNT({{planned_flow}})=0,"bed not on Beds, or not counted",'
        f'IF({flow}="",{unknown},IF({flow}<-{TOLERANCE},{less},IF({flow}>{TOLERANCE},{more},'
        f"{same})))))"
    )


def _of_catch(book: Book) -> tuple[Computed, ...]:
    first, last = (escaped(CATCH_TESTS[f"cup_{i}"].heading(book.system)) for i in (1, CUPS))
    cups = f"{CATCH_TESTS.name}[[#This Row],[{first}]:[{last}]]"
    share, rated = _of_delivery(book, "share"), _of_bed(book, "emitter_flow")
    classes = "".join(
        f'IF({{uniformity}}>={least},"{name}",'
        for least, name in ((0.9, "excellent"), (0.8, "good"), (POOR, "fair"))
    )
    few = f'IF({{cups}}<{CUPS},"; few cups, a hint only","")'
    return (
        Computed("cups", "Cups", "count", "Cups with a reading",
                 f'IF(COUNT({cups})=0,"",COUNT({cups}))'),
        Computed("mean_flow", "Mean of an emitter", "emitter_flow", "Over all cups",
                 f'IF({{cups}}="","",AVERAGE({cups}))'),
        Computed("planned_emitter", "Planned, mean", "emitter_flow",
                 "The share that arrives, from Pressure, of the rated flow",
                 f'IF({{cups}}="","",IF(OR(N({share})=0,N({rated})=0),"",{share}*{rated}))'),
        Computed("mean_difference", "More or less (%)", "number", "Caught against planned",
                 _percent("mean_flow", "planned_emitter")),
        Computed("uniformity", "Uniformity", "ratio",
                 "Mean of the lowest quarter over the mean of all",
                 f'IF({{cups}}="","",{call("DISTRIBUTION_UNIFORMITY", cups)})'),
        Computed("words", "What it says", "text", "Class of the uniformity",
                 f'IF({{cups}}="","",{classes}"poor: clean, flush or replace the lines"'
                 f"{')' * 3}&{few})"),
    )  # fmt: skip
