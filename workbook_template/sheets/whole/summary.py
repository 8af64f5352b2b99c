"""Summary: what a grower wants to know first."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, ForClient, SheetFor
from workbook_template.kit.formulas import GridColumn, Place, by_letters, call, in_row
from workbook_template.kit.page import Page

SHEETS = (
    SheetFor(
        "Summary",
        (CONSULTANT,),
        group="summary",
        needs=("Beds", "Lines", "Pressure", "Purchase"),
        client=ForClient(
            first=True,
            rows_left_out=("To put right",),
            words={"At the roll prices on Lines": "At the prices on Lines"},
        ),
    ),
)

LINE_COLUMNS = (
    GridColumn("line", "Line", "text"), GridColumn("length", "Length", "length"),
    GridColumn("rolls", "Rolls", "count"), GridColumn("price", "Roll price", "money"),
    GridColumn("cost", "Cost", "money"),
)  # fmt: skip


def write(book: Book) -> None:
    page = Page(
        book,
        "Summary",
        "Summary",
        "Totals of the beds that are on and could be read.",
        widths=(36, 22, 14, 16, 16, 40),
    )
    _beds_and_water(book, page)
    _lines_to_buy(book, page)


def _beds_and_water(book: Book, page: Page) -> None:
    def beds(column: str) -> str:
        return book.column("Beds", column)

    counted = beds("counted")
    page.section("Beds and water")
    page.result_row("Beds counted", f'COUNTIF({counted},"yes")', "count", name="beds_counted")
    page.result_row("Beds off", f'COUNTIF({counted},"off")', "count", "Marked no under On",
                    name="beds_off")  # fmt: skip
    page.result_row(
        "Beds left out", f'COUNTIF({counted},"no")', "count",
        "They cannot be read; the Check column on Beds says why", name="beds_left_out",
    )  # fmt: skip
    page.result_row("To put right", "checks_count", "count", "Listed on Checks, in words")
    page.result_row("Planted area", f"SUM({beds('area')})", "area", name="planted_area")
    page.result_row(
        "Water a week",
        f'IF(OR(weekly_depth="",N(efficiency)=0),"",'
        f"{call('VOLUME_FROM_DEPTH', 'planted_area', 'weekly_depth')}/efficiency)",
        "volume", "Net depth over the planted area, divided by the efficiency",
        name="water_a_week", strong=True,
    )  # fmt: skip
    page.result_row(
        "Nominal flow, all beds", f"SUM({beds('nominal_flow')})", "flow",
        "At rated pressure everywhere; see Pressure for what the supply can carry",
        name="nominal_flow_total",
    )  # fmt: skip
    page.result_row(
        "All beds open, delivered", 'IF(all_open_flow="","",all_open_flow)', "flow",
        "What the supply and pipes bring with every bed open, from Pressure",
    )  # fmt: skip
    page.result_row(
        "Can the supply feed all at once",
        'IF(feeds_all="","not solved: see Pressure",feeds_all&", "&'
        'TEXT(100*all_open_share,"0")&" % of nominal")', "text",
        "yes where every bed then gets the share wanted on Pressure", name="all_at_once",
        strong=True,
    )  # fmt: skip
    page.result_row(
        "Valve that takes the most", 'IF(most_open_flow="","",most_open_flow)', "flow",
        "Delivered to its beds together; compare with the flow to plan with",
    )  # fmt: skip
    page.result_row("Flow to plan with", "design_flow", "flow", "From the bucket test on Setup")
    page.result_row(
        "Longest watering", f'IF(COUNT({beds("minutes")})=0,"",MAX({beds("minutes")}))', "time",
        "Of one bed, at nominal flow", name="longest_watering",
    )  # fmt: skip
    page.result_row(
        "Longest watering, delivered",
        f'IF(COUNT({beds("minutes_delivered")})=0,"",MAX({beds("minutes_delivered")}))',
        "time", "Of one bed, with the flow that arrives", name="longest_watering_delivered",
        strong=True,
    )  # fmt: skip
    page.result_row(
        "Number of lines", f'SUMIFS({beds("laterals")},{counted},"yes")', "count",
        name="number_of_lines",
    )  # fmt: skip
    page.result_row("Length of lines", f"SUM({beds('line_length')})", "length",
                    name="line_length_total")  # fmt: skip
    page.row += 1


def _lines_to_buy(book: Book, page: Page) -> None:
    """Rolls by total length: the simple answer; the purchase sheet has the cheapest one."""
    page.section("Lines to buy, by total length")
    place = Place.of(page.name, LINE_COLUMNS, page.row + 1, book.places["Lines"].rows)
    for column in LINE_COLUMNS:
        unit = f" ({book.unit('length')})" if column.dimension == "length" else ""
        page.text(page.row, place.columns[column.name], column.header + unit, page.styles.header)
    for number in range(1, place.rows + 1):
        page.row += 1
        row = _line_row(book, number)
        for column in LINE_COLUMNS:
            formula = in_row(by_letters(row[column.name], place), page.row, place.first)
            page.formula(page.row, place.columns[column.name], formula, column.dimension)
    costs, rolls = (place.here(name, fixed=False) for name in ("cost", "rolls"))
    page.row += 2
    page.result_row("Rolls in all", f"SUM({rolls})", "count", name="rolls_in_all")
    page.result_row("Cost of lines", f"SUM({costs})", "money", "At the roll prices on Lines",
                    name="cost_of_lines", strong=True)  # fmt: skip
    for label, area, words in (
        ("Lines, per planted area", "planted_area", "Over the planted area"),
        ("Lines, per garden area", "garden_area", "Over the garden with paths"),
    ):
        page.result_row(
            label,
            f'IF(N({area})=0,"",{call("COST_PER_AREA", "cost_of_lines", area)})',
            "money_per_area",
            words,
            name=f"line_cost_per_{area}",
        )
    page.result_row("Cost of all parts", 'IF(cost_of_parts="","",cost_of_parts)', "money",
                    "From Purchase: lines too, tax and delivery", strong=True)  # fmt: skip
    for label, name, words in (
        ("All parts, per planted area", "parts_cost_per_planted_area", "Over the planted area"),
        ("All parts, per garden area", "parts_cost_per_garden_area", "Over the garden with paths"),
    ):
        page.result_row(label, f'IF({name}="","",{name})', "money_per_area", words)


def _line_row(book: Book, number: int) -> dict[str, str]:
    def of_line(column: str) -> str:
        return f"INDEX({book.column('Lines', column)},{number})"

    lines, lengths = book.column("Beds", "line"), book.column("Beds", "line_length")
    length = f"SUMIFS({lengths},{lines},{{line}})"
    rolls = call("ROLLS_NEEDED", "{length}", of_line("roll_length"))
    price = of_line("roll_price")
    return {
        "line": f'IF({of_line("line")}="","",{of_line("line")})',
        "length": f'IF({{line}}="","",IF({length}=0,"–",{length}))',
        "rolls": f'IF(N({{length}})=0,"",{rolls})',
        "price": f'IF(N({{length}})=0,"",IF({price}="","no price",{price}))',
        "cost": 'IF(N({length})=0,"",{rolls}*{price})',
    }
