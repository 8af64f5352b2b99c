"""Season: minutes of one watering, by bed and month."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import Place, call
from workbook_template.kit.page import Page
from workbook_template.sheets.water.bed_need import DAYS, MONTHS, RAIN, USE
from workbook_template.sheets.water.need import NEED

SHEETS = (
    SheetFor(
        "Season",
        (GROWER, CONSULTANT),
        group="watering",
        needs=("Bed need", "Need"),
        client=ForClient(),
    ),
)

SEASON = "season minutes"  # the block, by which other sheets find it
WIDTH = 15
WORDS = (
    "The gross depth of the month, spread over the waterings a week on Setup and the days with a"
    " crop. off: marked so on Beds. fallow: no crop in the plan that month. 0: rain is enough."
    " check: the bed cannot be read, see Beds."
)
DELIVERED = "Flow: what arrives at the bed, from Pressure; nominal for a bed not solved there."
NOMINAL = "Flow: nominal, as if the rated pressure were everywhere."


def flow_words(book: Book) -> str:
    """A formula that says which flow the run times rest on."""
    return f'IF({_delivered(book)}=0,"{NOMINAL}","{DELIVERED}")'


def flow_of(book: Book) -> str:
    """The flow of a grid's bed: what arrives where that has been solved, else the nominal flow."""
    nominal = f"INDEX({book.column('Beds', 'nominal_flow')},{{n}})"
    if "delivered_flow" not in book.headings["Beds"]:
        return nominal
    delivered = f"INDEX({book.column('Beds', 'delivered_flow')},{{n}})"
    return f"IF(ISNUMBER({delivered}),{delivered},{nominal})"


def _delivered(book: Book) -> str:
    """How many beds have a solved flow."""
    if "delivered_flow" not in book.headings["Beds"]:
        return "0"
    return f"COUNT({book.column('Beds', 'delivered_flow')})"


def write(book: Book) -> None:
    page = Page(
        book, "Season", "Season table", "Minutes of one watering, by bed and month.",
        widths=(16, 8, *(8,) * 12),
    )  # fmt: skip
    page.portrait()
    page.text(page.row, 0, "State", page.styles.strong)
    page.formula(page.row, 1, "bed_need_state", "text", style=page.styles.aside)
    page.row += 1
    page.text(page.row, 0, "Waterings", page.styles.strong)
    page.formula(page.row, 1, "waterings_a_week", "number", strong=True)
    words = f'"a week, from Setup. "&{flow_words(book)}'
    page.formula(page.row, 2, words, "text", style=page.styles.aside)
    page.row += 1
    page.note(WORDS, columns=WIDTH - 1, lines=2)
    page.freeze(page.row + 1)
    beds = book.places["Beds"].rows
    headers = [("Bed", "text"), ("Valve", "text"), *((month, "time") for month in MONTHS)]
    first = page.grid(headers, [_row(book)] * beds)
    book.places[SEASON] = Place(
        page.name, first, first + beds - 1, {str(m): m + 1 for m in range(1, 13)}
    )
    page.row -= 1
    page.text(page.row, 0, "Percentage (%)", page.styles.strong)
    for month in range(1, 13):
        page.formula(page.row, month + 1, _share(book, month), "count")
    page.row += 1
    page.note(
        "Percentage: net depth of the month over that of the greatest month; for a"
        " timer that is set for the greatest month and turned down by its seasonal percentage.",
        columns=WIDTH - 1, lines=2,
    )  # fmt: skip


def _share(book: Book, month: int) -> str:
    weeks = book.places[NEED].reference("net_depth_a_week")
    return f'IF(N(greatest_week)=0,"",ROUND(100*INDEX({weeks},{month})/greatest_week,0))'


def _row(book: Book) -> list[str]:
    def of_bed(column: str) -> str:
        return f"INDEX({book.column('Beds', column)},{{n}})"

    bed, valve = of_bed("bed"), of_bed("valve")
    return [
        f'IF({bed}="","",{bed})', f'IF({valve}="","",{valve})',
        *(_minutes(book, month, of_bed("counted"), of_bed("area"), flow_of(book))
          for month in range(1, 13)),
    ]  # fmt: skip


def _minutes(book: Book, month: int, counted: str, area: str, flow: str) -> str:
    def cell(block: str) -> str:
        return book.places[block].beside(str(month))

    net = call("NET_IRRIGATION", cell(USE), cell(RAIN))
    gross = call("GROSS_IRRIGATION", net, "efficiency", "leaching")
    minutes = call("SEASON_MINUTES", gross, cell(DAYS), "waterings_a_week", area, flow)
    return (
        f'IF($A{{row}}="","",IF({counted}="off","off",IF({counted}<>"yes","check",'
        f'IF({cell(DAYS)}="","",IF({cell(DAYS)}=0,"fallow",IF(N({flow})=0,"",{minutes}))))))'
    )
