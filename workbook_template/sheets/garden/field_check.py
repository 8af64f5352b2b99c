"""Field check: what was measured in the garden, beside the plan."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SheetFor
from workbook_template.kit.formulas import call, column_of, escaped
from workbook_template.kit.page import Page
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


def _bed_row(book: Book) -> str:
    row = f'IFERROR(MATCH({{bed}},{book.column("Beds", "bed")},0),"")'
    return f'IF({{bed}}="","",{row})'


def _of_bed(cells: str, *, typed: bool = False) -> str:
    """What a column of the beds says of the row's bed: blank where there is nothing, or no number
    in what was not `typed`, which may be text with a unit."""
    there = f"INDEX({cells},{{bed_row}})"
    said = f'{there}<>""' if typed else f"ISNUMBER({there})"
    return f'IF({{bed_row}}="","",IF({said},{there},""))'


def _percent(measured: str, planned: str) -> str:
    change = f"ROUND(100*(N({{{measured}}})/{{{planned}}}-1),1)"
    return f'IF(OR(N({{{measured}}})=0,N({{{planned}}})=0),"",{change})'


def _of_check(book: Book) -> dict[str, str]:
    def beds(column: str) -> str:
        return book.column("Beds", column)

    inlet = book.places[DELIVERY].reference("inlet")
    profile = call(
        "LATERAL_PROFILE", book.span(LINES), "{bed_length}", "{inlet}", "{line}",
        slope=f"INDEX({beds('slope')},{{bed_row}})", columns='"pressure"',
    )  # fmt: skip
    ends = f"INDEX({profile},{call('EMITTER_COUNT', '{bed_length}', '{spacing}')})"
    return {
        "bed_row": _bed_row(book),
        "delivered": _of_bed(beds("delivered_flow")),
        "nominal": _of_bed(beds("nominal_flow")),
        "inlet": _of_bed(inlet),
        "line": _of_bed(beds("line"), typed=True),
        "bed_length": _of_bed(beds("length"), typed=True),
        "spacing": _of_bed(beds("emitter_spacing"), typed=True),
        "planned_flow": 'IF({delivered}="",{nominal},{delivered})',
        "flow_difference": _percent("metered_flow", "planned_flow"),
        "planned_far_pressure": f'IF(N({{inlet}})=0,"",{ends})',
        "pressure_difference": _percent("far_pressure", "planned_far_pressure"),
        "flow_side": _side("{flow_difference}"),
        "pressure_side": _side("{pressure_difference}"),
        **_words(),
    }  # fmt: skip


def _side(difference: str) -> str:
    low, high = f"{difference}<-{TOLERANCE}", f"{difference}>{TOLERANCE}"
    return f'IF({difference}="",4,IF({low},1,IF({high},3,2)))'


def _words() -> dict[str, str]:
    """The words for each of the flows in a folded column of its own; the last chooses."""
    names = ("flow_low", "flow_fine", "flow_high", "flow_unknown")

    def chosen(words: list[str]) -> str:
        return f"CHOOSE({{pressure_side}},{','.join(f'{chr(34)}{w}{chr(34)}' for w in words)})"

    by_flow = ",".join(f"{{{name}}}" for name in names)
    return {
        **{name: chosen(words) for name, words in zip(names, SAID.by_flow, strict=True)},
        "words": 'IF({bed}="","",IF(COUNT({planned_flow})=0,"bed not on Beds, or not counted",'
                 f"CHOOSE({{flow_side}},{by_flow})))",
        "finding": _finding(FIELD_CHECKS,
                            "{flow_side}=1,{flow_side}=3,{pressure_side}=1,{pressure_side}=3,"
                            'LEFT({words},7)="bed not"'),
    }  # fmt: skip


def _finding(table: Table, far: str) -> str:
    """What Checks says of a measurement; one that was made again since is a thing of the past."""
    return f'IF({{bed}}="","",IF(AND(OR({far}),{_since(table)}=0),{{words}},""))'


def _since(table: Table) -> str:
    """How often the bed of a row was measured again since."""
    bed, day = (column_of(table.name, table[c].heading("us")) for c in ("bed", "checked_on"))
    return f'COUNTIFS({bed},{{bed}},{day},">"&{{checked_on}})*(N({{checked_on}})>0)'


def _of_catch(book: Book) -> dict[str, str]:
    first, last = (escaped(CATCH_TESTS[f"cup_{i}"].heading(book.system)) for i in (1, CUPS))
    cups = f"{CATCH_TESTS.name}[[#This Row],[{first}]:[{last}]]"
    share, rated = book.places[DELIVERY].reference("share"), book.column("Beds", "emitter_flow")
    # At its rated pressure, whatever that is: a number, also of what was typed with a unit.
    number = call("EMITTER_FLOW", "1", f"INDEX({rated},{{bed_row}})", "1")
    classes = "".join(
        f'IF({{uniformity}}>={least},"{name}",'
        for least, name in ((0.9, "excellent"), (0.8, "good"), (POOR, "fair"))
    )
    few = f'IF({{cups}}<{CUPS},"; few cups, a hint only","")'
    return {
        "bed_row": _bed_row(book),
        "share": _of_bed(share),
        "rated": f'IF({{bed_row}}="","",IFERROR({number},""))',
        "cups": f'IF(COUNT({cups})=0,"",COUNT({cups}))',
        "mean_flow": f'IF({{cups}}="","",AVERAGE({cups}))',
        "planned_emitter": 'IF(OR({cups}="",N({share})=0,N({rated})=0),"",{share}*{rated})',
        "mean_difference": _percent("mean_flow", "planned_emitter"),
        "uniformity": f'IF({{cups}}="","",IFERROR({call("DISTRIBUTION_UNIFORMITY", cups)},""))',
        "words": f'IF({{cups}}="","",IF({{uniformity}}="","a cup cannot be read",{classes}'
                 f'"poor: clean, flush or replace the lines"{")" * 3}&{few}))',
        "counts": f'IF(N({{uniformity}})=0,"",IF({_since(CATCH_TESTS)}=0,{{uniformity}},""))',
        "finding": _finding(CATCH_TESTS, f'AND({{cups}}<>"",N({{uniformity}})<{POOR})'),
    }  # fmt: skip
