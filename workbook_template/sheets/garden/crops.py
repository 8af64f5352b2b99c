"""Soils and crops: what soils hold and crops need, as published; a grower changes and adds rows."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from xlfuncs.tables.garden.crops import CROPS, SOILS

SHEETS = (
    SheetFor("Soils",
             "What soils hold and take in. A published table to start from, in your units.",
             (CONSULTANT,), group="reference", client=SEEN),
    SheetFor("Crops", "What crops use. A published table to start from, in your units.",
             (CONSULTANT,), group="reference", client=SEEN),
)  # fmt: skip

SOIL_WIDTH = 8  # columns
SAID = said("crops")
CROP_NOTE_WIDTH = 12  # columns


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], published=True)
    page.note(SAID.soil_source, columns=SOIL_WIDTH)
    page.freeze(page.row + 1)
    page.table(SOILS, spare=3, widths={"soil": 22, **dict.fromkeys(SOILS.names[1:], 11)})
    _your_soil(book, page)
    page = Page(book, SHEETS[1], published=True)
    page.note(SAID.crop_source, columns=CROP_NOTE_WIDTH)
    page.freeze(page.row + 1)
    page.table(CROPS, spare=6, widths={
        "crop": 22, "stages_of": 36, "development_days": 13, "salt_zero_yield": 10})  # fmt: skip


def _your_soil(book: Book, page: Page) -> None:
    page.section("Your soil, as chosen on Setup", columns=SOIL_WIDTH)

    def of_soil(column: str) -> str:
        return book.lookup("Soils", column, "soil", "soil")

    def middle(low: str, high: str) -> str:
        ends = f"({of_soil(low)}+{of_soil(high)})/2"
        return f'IF(soil_known="yes",{ends},"")'

    def as_listed(column: str) -> str:
        return f'IF(soil_known="yes",IF({of_soil(column)}="","",{of_soil(column)}),"")'

    known = f"COUNTIF({book.column('Soils', 'soil')},soil)=0"
    listed = f'IF(soil="","choose a soil on Setup",IF({known},"not on the list above","yes"))'
    page.state(listed, "soil_known", label="On the list")
    page.result("soil_field_capacity", middle("field_capacity_low", "field_capacity_high"))
    page.result("soil_wilting_point", middle("wilting_point_low", "wilting_point_high"))
    capacity = call("AVAILABLE_WATER_CAPACITY", "soil_field_capacity", "soil_wilting_point")
    page.result("soil_capacity", f'IF(soil_known="yes",{capacity},"")')
    page.result("soil_intake", as_listed("intake_low"))
    page.result("soil_wetted_width", as_listed("wetted_width"))
    page.row += 1
