"""The need of each year on Years: as it is typed, else as the log on This week says."""

from workbook_template.kit.book import Book
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.money.ledger import fiscal_year
from workbook_template.sheets.money.year_detail import COUNTED
from workbook_template.sheets.water.this_week import asked
from xlfuncs.tables.money.ledger import YEARS

SAID = said("logged_years")


def write(book: Book, page: Page, width: int) -> None:
    """The need of each year: as it is typed, else as the log on This week says."""
    page.section("Need beyond rain by the log", columns=width)
    page.note(SAID.log, columns=width)
    rows = book.places["Years"].rows
    found = page.answer(rows, "LOGGED_NEED", years=book.span(YEARS), **asked(book))
    year, area, typed = (book.nth("Years", column.name) for column in YEARS.columns[:3])

    def item(name: str) -> str:
        return f'IF(OR({{year}}="",this_week_state<>"ok"),"",IFERROR({found.item(name)},""))'

    place = page.block(COUNTED, {
        "year": f'IF({year}="","",{year})',
        "planted_area": f'IF({area}="","",{area})',
        "need": f'IF({{year}}="","",IF({typed}<>"",{typed},IF({{whole}}="yes",{{by_log}},"")))',
        "by_log": item("need"),
        "words": f'IF(AND({typed}<>"",{{by_log}}=""),"typed",{item("words")})',
        "whole": item("whole"),
    }, rows)  # fmt: skip
    last = book.name_formula("last_logged", page.name, f"MAX({book.column('WeatherLog', 'date')})")
    page.remark(
        page.row, 0,
        f'IF(OR({last}=0,COUNTIF({place.reference("year")},{fiscal_year(last)})>0),"",'
        '"The log has days of a later year: type that year above, and its need comes by itself")',
    )  # fmt: skip
    page.row += 2
