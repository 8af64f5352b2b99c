"""Field check: what was measured in the garden, beside the plan."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.formulas import call, column_of, escaped
from workbook_template.kit.page import Computed, Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.pressure import DELIVERY
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.tables.garden.this_week import CATCH_TESTS, CUPS, FIELD_CHECKS

SHEETS = (
    SheetFor("Field check", "What was measured in the garden, beside the plan.", (CONSULTANT,),
             group="field check", needs=("Beds", "Pressure")),
    SheetFor("Catch test", "How evenly the emitters of a bed give, by cups under them.",
             (CONSULTANT,), group="field check", needs=("Beds", "Pressure")),
)  # fmt: skip

WIDTH = 10
POOR = 0.7  # uniformity below which lines are to be cleaned or replaced; a class in common use
TOLERANCE = 10  # per cent within which a bed does as planned; common practice
SAID = said("field_check")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.note(FIELD_CHECKS.help, columns=WIDTH)
    page.note(SAID.about, columns=WIDTH)
    page.freeze(page.row + 1)
    page.table(FIELD_CHECKS, _of_check(book), widths={
        "bed": 16, "note": 14, "planned_flow": 10, "flow_difference": 10,
        "planned_far_pressure": 12, "pressure_difference": 12, "words": 50})  # fmt: skip
    page = Page(book, SHEETS[1])
    page.note(CATCH_TESTS.help, columns=CUPS)
    page.note(SAID.classes, columns=CUPS)
    page.freeze(page.row + 1)
    page.table(CATCH_TESTS, _of_catch(book), widths={
        "bed": 13, "words": 22, "note": 10, "cups": 6, "uniformity": 10,
        **{f"cup_{i}": 6 for i in range(1, CUPS + 1)}}, grouped=("note",))  # fmt: skip


def _bed_row(book: Book) -> Computed:
    row = f'IFERROR(MATCH({{bed}},{book.column("Beds", "bed")},0),"")'
    return Computed("bed_row", "Bed row", "count", "On Beds", f'IF({{bed}}="","",{row})',
                    grouped=True)  # fmt: skip


def _of_bed(name: str, header: str, dimension: str, cells: str) -> Computed:
    """What a column of the beds says of the row's bed: folded, blank where there is nothing."""
    formula = f'IF({{bed_row}}="","",INDEX({cells},{{bed_row}})&"")'
    if dimension != "text":
        formula = f'IF({{bed_row}}="","",IF(ISNUMBER(INDEX({cells},{{bed_row}})),INDEX({cells},'
        formula += '{bed_row}),""))'
    return Computed(name, header, dimension, "From Beds and Pressure", formula, grouped=True)


def _percent(measured: str, planned: str) -> str:
    return (
        f'IF(OR({{{measured}}}="",N({{{planned}}})=0),"",'
        f"ROUND(100*({{{measured}}}/{{{planned}}}-1),1))"
    )


def _of_check(book: Book) -> tuple[Computed, ...]:
    def beds(column: str) -> str:
        return book.column("Beds", column)

    inlet = book.places[DELIVERY].reference("inlet")
    profile = call(
        "LATERAL_PROFILE", book.span(LINES), "{bed_length}", "{inlet}", "{line}",
        slope=f"INDEX({beds('slope')},{{bed_row}})", columns='"pressure"',
    )  # fmt: skip
    ends = f"INDEX({profile},{call('EMITTER_COUNT', '{bed_length}', '{spacing}')})"
    return (
        _bed_row(book),
        _of_bed("delivered", "Delivered", "flow", beds("delivered_flow")),
        _of_bed("nominal", "Nominal", "flow", beds("nominal_flow")),
        _of_bed("inlet", "At the bed", "pressure", inlet),
        _of_bed("line", "Line", "text", beds("line")),
        _of_bed("bed_length", "Length", "length", beds("length")),
        _of_bed("spacing", "Emitter spacing", "width", beds("emitter_spacing")),
        Computed("planned_flow", "Planned flow", "flow",
                 "Delivered, from Pressure; nominal where that is not solved",
                 'IF({delivered}="",{nominal},{delivered})'),
        Computed("flow_difference", "Flow, more or less (%)", "number", "Metered against planned",
                 _percent("metered_flow", "planned_flow")),
        Computed("planned_far_pressure", "Planned at the far end", "pressure",
                 "At the last emitter of a line, from the pressure at the bed on Pressure",
                 f'IF(N({{inlet}})=0,"",{ends})'),
        Computed("pressure_difference", "Pressure, more or less (%)", "number",
                 "Measured against planned", _percent("far_pressure", "planned_far_pressure")),
        _side("flow_side", "Flows", "{flow_difference}"),
        _side("pressure_side", "Ends", "{pressure_difference}"),
        *_words(),
    )  # fmt: skip


def _side(name: str, header: str, difference: str) -> Computed:
    low, high = f"{difference}<-{TOLERANCE}", f"{difference}>{TOLERANCE}"
    side = f'IF({difference}="",4,IF({low},1,IF({high},3,2)))'
    return Computed(name, header, "count", "1 low, 2 as planned, 3 high, 4 not measured", side,
                    grouped=True)  # fmt: skip


# By the flow and the pressure: low, as planned, high, not measured.
_SAID = (
    (
        "too little reaches the bed: supply, filter, valve, kinks",
        "emitters pass too little: clogged, or fewer than planned",
        "emitters are clogged: flush the lines, look at the filter",
        "less than planned: measure the far-end pressure too",
    ),
    (
        "flow as planned, the far end low: a kink or narrow fitting", "as planned",
        "flow as planned, the far end high: check the gauge", "flow as planned",
    ),
    (
        "a leak, an open line end, or more emitters than planned",
        "more emitters than planned, or a small leak",
        "pressure above the plan: look at the regulator",
        "more than planned: leaks, open line ends, the regulator",
    ),
    (
        "far end low: meter the flow too", "far end as planned", "far end high: meter the flow too",
        "nothing measured yet",
    ),
)  # fmt: skip


def _words() -> tuple[Computed, ...]:
    """The words for each of the flows in a folded column of its own; the last chooses."""
    names = ("flow_low", "flow_fine", "flow_high", "flow_unknown")
    headers = ("If flow is low", "If flow is as planned", "If flow is high", "Without a flow")

    def chosen(words: tuple[str, ...]) -> str:
        return f"CHOOSE({{pressure_side}},{','.join(f'{chr(34)}{w}{chr(34)}' for w in words)})"

    by_flow = ",".join(f"{{{name}}}" for name in names)
    return (
        *(Computed(name, header, "text", "By the pressure at the far end", chosen(words),
                   grouped=True)
          for name, header, words in zip(names, headers, _SAID, strict=True)),
        Computed("words", "What it says", "text", "Where to look first",
                 'IF({bed}="","",IF(COUNT({planned_flow})=0,"bed not on Beds, or not counted",'
                 f"CHOOSE({{flow_side}},{by_flow})))"),
        _finding(FIELD_CHECKS,
                 "What is not as planned, where the bed was not checked again since",
                 "{flow_side}=1,{flow_side}=3,{pressure_side}=1,{pressure_side}=3,"
                 'LEFT({words},7)="bed not"'),
    )  # fmt: skip


def _finding(table: Table, help_text: str, far: str) -> Computed:
    """What Checks says of a measurement; one that was made again since is a thing of the past."""
    bed, day = (column_of(table.name, table[c].heading("us")) for c in ("bed", "checked_on"))
    since = f'COUNTIFS({bed},{{bed}},{day},">"&{{checked_on}})*(N({{checked_on}})>0)'
    formula = f'IF({{bed}}="","",IF(AND(OR({far}),{since}=0),{{words}},""))'
    return Computed("finding", "For Checks", "text", help_text, formula, grouped=True)


def _of_catch(book: Book) -> tuple[Computed, ...]:
    first, last = (escaped(CATCH_TESTS[f"cup_{i}"].heading(book.system)) for i in (1, CUPS))
    cups = f"{CATCH_TESTS.name}[[#This Row],[{first}]:[{last}]]"
    share, rated = book.places[DELIVERY].reference("share"), book.column("Beds", "emitter_flow")
    classes = "".join(
        f'IF({{uniformity}}>={least},"{name}",'
        for least, name in ((0.9, "excellent"), (0.8, "good"), (POOR, "fair"))
    )
    few = f'IF({{cups}}<{CUPS},"; few cups, a hint only","")'
    return (
        _bed_row(book),
        _of_bed("share", "Share that arrives", "ratio", share),
        _of_bed("rated", "Rated flow", "emitter_flow", rated),
        Computed("cups", "Cups", "count", "Cups with a reading",
                 f'IF(COUNT({cups})=0,"",COUNT({cups}))'),
        Computed("mean_flow", "Mean of an emitter", "emitter_flow", "Over all cups",
                 f'IF({{cups}}="","",AVERAGE({cups}))'),
        Computed("planned_emitter", "Planned, mean", "emitter_flow",
                 "The share that arrives, from Pressure, of the rated flow",
                 'IF(OR({cups}="",N({share})=0,N({rated})=0),"",{share}*{rated})'),
        Computed("mean_difference", "More or less (%)", "number", "Caught against planned",
                 _percent("mean_flow", "planned_emitter")),
        Computed("uniformity", "Uniformity", "ratio",
                 "Mean of the lowest quarter over the mean of all",
                 f'IF({{cups}}="","",{call("DISTRIBUTION_UNIFORMITY", cups)})'),
        Computed("words", "What it says", "text", "Class of the uniformity",
                 f'IF({{cups}}="","",{classes}"poor: clean, flush or replace the lines"'
                 f"{')' * 3}&{few})"),
        _finding(CATCH_TESTS, "A poor one, where the bed was not tested again since",
                 f'AND({{cups}}<>"",N({{uniformity}})<{POOR})'),
    )  # fmt: skip
