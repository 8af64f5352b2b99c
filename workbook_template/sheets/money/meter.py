"""Meter: readings of the water meter, what was used between them, and the bills beside it."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import Answer, call, checked
from workbook_template.kit.page import Page
from workbook_template.sheets.money.ledger import fiscal_year, in_year
from xlfuncs.tables.money.ledger import READINGS

SHEETS = (
    SheetFor("Meter",
             "One row a reading, in order of date. Estimates between true readings are set aside;"
             " a roll-over needs Meter rolls over at, on Setup.", (BOOKKEEPER,),
             title="Water meter", group="ledger", needs=("Ledger",)),
)  # fmt: skip

SPARE = 12
YEARS_SHOWN = 6
BESIDE = 11  # column of the block beside the table


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    book.headings["Readings"] = {c.name: c.heading(book.system) for c in READINGS.columns}
    names = ("date", "reading", "estimated", "new_meter_reading")
    use = (
        *(book.column("Readings", name) for name in names),
        'IF(meter_register="",0,meter_register)',
    )
    state = checked("METER_USE", *use)
    few = f'COUNT({book.column("Readings", "reading")})<2,"Two readings or more give a use"'
    page.state(f"IF({few},{state})", "meter_check")
    start = page.row
    page.freeze(start + 1)
    page.table(
        READINGS,
        _computed(book.in_table(page.name, "METER_USE", *use)),
        spare=SPARE,
        widths={"note": 24, "estimated": 10},
    )
    _beside_bills(book, page, start)


def _computed(use: Answer) -> dict[str, str]:
    number = "ROW()-ROW(Readings[[#Headers],[Date]])"
    day_before = "INDEX(Readings[Date]," + number + "-1)"
    shared = ("{use}", f"N({{date}})-{day_before}", "N({household_per_day})")
    return {
        "use": f'IF(OR({{reading}}="",{number}=1,meter_check<>"ok"),"",'
               f"{use.item(1, number)})",
        "garden": f'IF({{use}}="","",{call("GARDEN_USE", *shared)})',
        "year": f'IF({{use}}="","",{fiscal_year("N({date})")})',
    }  # fmt: skip


def _beside_bills(book: Book, page: Page, row: int) -> None:
    """Metered and billed water of each year, to see whether a bill is missing or wrong."""
    years = book.column("Readings", "year")
    page.row = row
    metered = f"SUMIFS({book.column('Readings', 'garden')},{years},{{year}})"
    billed = (
        f"SUMIFS({book.column('Ledger', 'garden_quantity')},{book.column('Ledger', 'kind')},"
        f'"water",{in_year(book, "{year}")})'
    )
    first = f"MAX(MIN({years}),MAX({years})-{YEARS_SHOWN - 1})"
    rows = [
        {"year": f'IF(OR(COUNT({years})=0,{first}+{i}>MAX({years})),"",{first}+{i})',
         "metered": f'IF({{year}}="","",{metered})', "billed": f'IF({{year}}="","",{billed})',
         "difference": 'IF({year}="","",{metered}-{billed})'}
        for i in range(YEARS_SHOWN)
    ]  # fmt: skip
    page.block("metered and billed", rows, col=BESIDE)
    page.sheet.set_column(BESIDE, BESIDE + 3, 10)
    page.sheet.set_column(BESIDE - 2, BESIDE - 1, 3)
    told = "By the date of reading or bill.", "A lasting difference: a bill missing or wrong."
    for below, words in enumerate(told, row + YEARS_SHOWN + 2):
        page.text(below, BESIDE, words, page.styles.aside)
