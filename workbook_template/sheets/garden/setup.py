"""Setup: the single values that the plan rests on."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from xlfuncs.tables import settings
from xlfuncs.tables.columns import Section

SHEETS = (
    SheetFor("Setup",
             "Yellow, framed cells are yours to fill in; everything else is computed.",
             (GROWER, CONSULTANT, BOOKKEEPER), client=SEEN),
)  # fmt: skip


# The sheet that a section's settings are for; the section is asked where that sheet is.
ASKED_FOR = (
    (settings.SUPPLY, "Supply"), (settings.TARGET, "Beds"), (settings.PLACE_AND_SEASON, "Plan"),
    (settings.LEDGER_AND_YEARS, "Ledger"), (settings.RUNNING_COST, "Cost"),
)  # fmt: skip


def _asked(book: Book, section: Section) -> bool:
    sheet = next((sheet for asked, sheet in ASKED_FOR if asked is section), "Setup")
    return book.edition.has(sheet)


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(28, 26, 14, 76))
    page.section("Units")
    page.text(page.row, 0, "Units")
    page.text(page.row, 1, book.system, page.styles.strong)
    length = {"us": "22 ft 9 in", "metric": "14 m 20 cm"}[book.system]
    words = f"us or metric; fixed when the workbook is made. Text such as {length} works too."
    page.text(page.row, 3, words, page.styles.aside)
    book.name("units", page.name, page.row, 1)
    page.row += 2
    aside = Page(book, SheetFor("Setup of other editions"))
    for section in settings.SECTIONS:
        if not _asked(book, section):
            aside.settings(section)
            continue
        page.settings(section)
    if not _asked(book, settings.SUPPLY):
        page = aside
    page.section("Computed from these")
    page.result("measured_flow", f'IF(OR(bucket_volume="",bucket_seconds=""),"",'
                f"{call('SUPPLY_FLOW', 'bucket_volume', 'bucket_seconds')})")  # fmt: skip
    flow = "supply_greatest_flow" if book.edition.has("Supply") else "measured_flow"
    page.result("design_flow", f'IF(N({flow})=0,"",{flow}*supply_share)')
    _efficiency(book, page)


def _efficiency(book: Book, page: Page) -> None:
    """What the gross depth rests on: the typed number, or a uniformity where one is known."""
    used, words, ends = "", "", ""
    for by, sheet, name in (("design", "Pressure", "design_uniformity"),
                            ("measured", "Need", "uniformity_of_catch_tests")):  # fmt: skip
        if book.edition.has(sheet):
            chosen = f'IF(AND(efficiency_by="{by}",N({name})>0)'
            used, words, ends = f"{used}{chosen},{name},", f'{words}{chosen},"{by}",', f"{ends})"
    typed = 'IF(efficiency_by="typed","typed","typed, for none by "&efficiency_by&" is known")'
    page.result("efficiency_used", f"{used}efficiency{ends}")
    page.result("efficiency_words", f"{words}{typed}{ends}")
