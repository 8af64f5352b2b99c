"""Summary: what a grower wants to know first."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN_FIRST, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.sheets.money.purchase import BOUGHT_ROWS, quoted
from workbook_template.sheets.water.timer import SETS

SHEETS = (
    SheetFor("Summary", "Totals of the beds that are on and could be read.", (CONSULTANT,),
             group="summary", needs=("Beds", "Lines", "Parts", "Pressure", "Purchase", "Timer"),
             client=SEEN_FIRST),
)  # fmt: skip

MOST_SETS = 12  # shown here; Timer has all


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(36, 22, 14, 16, 16, 40), upright=True)
    _beds_and_water(book, page)
    _sets(book, page)
    _lines_to_buy(book, page)


def _beds_and_water(book: Book, page: Page) -> None:
    def beds(column: str) -> str:
        return book.column("Beds", column)

    counted = beds("counted")
    page.section("Beds and water")
    page.result("beds_counted", f'COUNTIF({counted},"yes")')
    page.result("beds_off", f'COUNTIF({counted},"off")')
    page.result("beds_left_out", f'COUNTIF({counted},"no")')
    if not book.edition.for_client:
        page.result_row("To put right", "checks_count", "count", "Listed on Checks, in words")
    page.result("planted_area", f"SUM({beds('area')})")
    page.result("water_a_week", f'IF(OR(weekly_depth="",N(efficiency_used)=0),"",'
                f"{call('VOLUME_FROM_DEPTH', 'planted_area', 'weekly_depth')}/efficiency_used)",
                strong=True)  # fmt: skip
    page.result("nominal_flow_total", f"SUM({beds('nominal_flow')})")
    page.result("summary_all_open", 'IF(all_open_flow="","",all_open_flow)')
    page.result("all_at_once", 'IF(feeds_all="","not solved: see Pressure",feeds_all&", "&'
                'TEXT(100*all_open_share,"0")&"% of nominal")', strong=True)  # fmt: skip
    page.result("summary_highest_valve", 'IF(most_open_flow="","",most_open_flow)')
    page.result_row("Flow to plan with", "design_flow", "flow", "Of the supply in use, as on Setup")
    longest = beds("minutes_delivered")
    page.result("longest_watering_delivered", f'IF(COUNT({longest})=0,"",MAX({longest}))',
                strong=True)  # fmt: skip
    page.result("number_of_lines", "SUM(piece_laterals)")
    page.result("line_length_total", "SUM(piece_total)")
    page.row += 1


def _sets(book: Book, page: Page) -> None:
    """What opens together, as the timer has it."""
    page.section("Sets: the beds that are watered together")
    place = book.places[SETS]
    names = place.reference("set")
    page.result("number_of_sets", f'COUNTIF({names},"?*")', strong=True)
    hours = f"SUM({place.reference('minutes')})/60"
    page.result("hours_of_sets", f'IF(number_of_sets=0,"",{hours})')
    page.headers(("Set", f"Minutes ({book.unit('time')})", "Beds"))
    for number in range(1, min(place.rows, MOST_SETS) + 1):

        def of(column: str, number: int = number) -> str:
            return f"INDEX({place.reference(column)},{number})"

        page.formula(page.row, 0, f'IF({of("set")}="","",{of("set")})', "text")
        page.formula(page.row, 1, f'IF({of("set")}="","",{of("minutes")})', "time")
        names = f'IF({of("set")}="","",{of("names")})'
        page.formula(page.row, 2, names, "text", style=page.styles.shown("text"))
        page.row += 1
    page.row += 1


def _lines_to_buy(book: Book, page: Page) -> None:
    """Of the cheapest purchase, which is that of all parts."""
    page.section("Lines to buy, from Purchase")
    place = page.block("lines to buy", _line_row(book), book.places["Lines"].rows)
    rolls, costs = (place.here(name, fixed=False) for name in ("rolls", "cost"))
    page.row += 2
    page.result("rolls_in_all", f"SUM({rolls})")
    page.result("cost_of_lines", f"SUM({costs})", strong=True)
    if quoted(book):
        return  # whose price is that of the quotation, with its work
    for of in ("cost_of_parts", "parts_cost_per_planted_area", "parts_cost_per_garden_area"):
        page.result(f"summary_{of}", f'IF({of}="","",{of})', strong=of == "cost_of_parts")


def _line_row(book: Book) -> dict[str, str]:
    bought = book.places[BOUGHT_ROWS]
    line = book.nth("Lines", "line")
    length = "SUMIF(piece_line,{line},piece_total)"

    def found(column: str) -> str:
        of_line = f"SUMIF({bought.reference('part')},{{line}},{bought.reference(column)})"
        return f'IF(N({{length}})=0,"",{of_line})'

    return {
        "line": f'IF({line}="","",{line})',
        "length": f'IF({{line}}="","",IF({length}=0,"–",{length}))',
        "rolls": found("packs"),
        "cost": found("total"),
    }
