"""The head assembly on Supply: whether every part is within its limits."""

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.sheets.garden.supply_pressure import (
    CURVE,
    given,
    parts,
    pressure_at,
)
from xlfuncs.tables.garden.head_assembly import TANK, WELL

LIMITS = (
    "Once with the valve that takes the most, once with the one that takes the least: one small bed"
    " can fall below the least flow of a regulator or timer."
)
NOTHING_BROKEN = "ok"


def write_head(book: Book, page: Page) -> None:
    page.section("Head assembly: is every part within its limits?")
    place = book.places[CURVE]
    curve = place.reference("flow"), place.reference("pressure")
    flows = page.answer(1, "HEAD_FLOWS", *curve, *parts(book))
    for label, name, column, said in (
        ("Minimum flow", "head_least_flow", 1, "From it on every part works: no set may take less"),
        ("Maximum flow", "head_greatest_flow", 2, "Up to it every part works and has the pressure"
         " that it needs: no set may take more"),
    ):  # fmt: skip
        page.result_row(label, f'IF(head_state="ok",{flows.item(column, 1)},"")', "flow", said,
                        name=name)  # fmt: skip
    cut_out = f'AND(head_state="ok",supply_kind="{WELL}",{given("cut_out_pressure")}<>"")'
    most = f"INDEX({call('HEAD_PRESSURE', '0', 'supply_most_pressure', *parts(book))},1,1)"
    page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
    page.result_row("Start of the main, cut-out", f'IF({cut_out},{most},"")', "pressure",
                    "Of a well: what a line must bear", name="start_most_pressure")  # fmt: skip
    page.note(LIMITS)
    words = [
        _through_the_parts(book, page, "With the valve that takes the most", "most_open_flow"),
        _through_the_parts(book, page, "With the valve that takes the least", "fewest_open_flow"),
    ]
    broken = "+".join(f'COUNTIF({cells},"?*")-COUNTIF({cells},"{NOTHING_BROKEN}")'
                      for cells in words)  # fmt: skip
    stopped = "+".join(f'COUNTIF({cells},"*will not work*")' for cells in words)
    page.result_row("Limits broken", f'IF(N(most_open_flow)=0,"",{broken})', "count",
                    "In the two cases together", name="head_limits_broken")  # fmt: skip
    book.name_formula("parts_stopped", page.name, stopped)
    gravity = (
        f'IF(supply_kind<>"{TANK}","not in use",IF(N(most_open_flow)=0,"not solved yet",'
        'IF(parts_stopped=0,"every part has the pressure that it needs",'
        '"some parts will not work: see the words above")))'
    )
    page.text(page.row, 0, "Tank")
    page.formula(page.row, 1, gravity, "text", style=page.styles.shown("text"))
    book.name("gravity_words", page.name, page.row, 1)
    page.row += 1


def _through_the_parts(book: Book, page: Page, title: str, flow: str) -> str:
    """Pressure before and behind each part at one flow, and words; gives the cells of the words."""
    page.row += 1
    page.result_row(title, f'IF(N({flow})=0,"",{flow})', "flow", "Flow delivered, from Pressure",
                    strong=True)  # fmt: skip
    rows = book.places["HeadParts"].rows
    through = page.answer(rows, "HEAD_ASSEMBLY", flow, pressure_at(book, flow), *parts(book))
    ready = f'OR($A{{row}}="",head_state<>"ok",N({flow})=0)'
    part = f"INDEX({book.column('HeadParts', 'part')},{{n}})"
    found = [through.item(j) for j in (1, 2, 3)]
    found[2] = f'IF({found[2]}="","{NOTHING_BROKEN}",{found[2]})'
    row = [f'IF({part}="","",{part})', *(f'IF({ready},"",{cell})' for cell in found)]
    headers = (("Part", "text"), ("Inlet pressure", "pressure"), ("Outlet pressure", "pressure"),
               ("Check", "text"))  # fmt: skip
    first = page.grid(headers, [row] * rows, styles={3: page.styles.shown("text")})
    page.row -= 1
    return f"$D${first + 1}:$D${first + rows}"
