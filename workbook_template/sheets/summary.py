"""Summary: what a grower wants to know first."""

from __future__ import annotations

from workbook_template.book import Book, call


def write(book: Book) -> None:
    page = book.page(
        "Summary",
        "Summary",
        "Totals of the beds that are on and could be read.",
        widths=(36, 16, 12, 70),
    )

    def beds(column: str) -> str:
        return book.column("Beds", column)

    counted = beds("counted")
    page.section("Beds and water")
    page.result_row("Beds counted", f'COUNTIF({counted},"yes")', "count", name="beds_counted")
    page.result_row("Beds off", f'COUNTIF({counted},"off")', "count", "Marked no under On")
    page.result_row(
        "Beds left out", f'COUNTIF({counted},"no")', "count",
        "They cannot be read; the Check column on Beds says why", name="beds_left_out",
    )  # fmt: skip
    page.result_row("Planted area", f"SUM({beds('area')})", "area", name="planted_area")
    page.result_row(
        "Water a week", f"{call('VOLUME_FROM_DEPTH', 'planted_area', 'weekly_depth')}/efficiency",
        "volume", "Net depth over the planted area, divided by the efficiency",
        name="water_a_week", strong=True,
    )  # fmt: skip
    page.result_row(
        "Nominal flow, all beds", f"SUM({beds('nominal_flow')})", "flow",
        "At rated pressure everywhere; see Pressure for what the supply can carry",
        name="nominal_flow",
    )  # fmt: skip
    page.result_row(
        "Flow to plan with", "design_flow", "flow", "From the bucket test on Setup",
    )  # fmt: skip
    page.result_row(
        "Longest watering", f'IF(beds_counted=0,"",MAX({beds("minutes")}))', "time",
        "Of one bed, at nominal flow", strong=True,
    )  # fmt: skip
    page.row += 1
    page.section("Lines")
    page.result_row(
        "Number of lines", f'SUMIFS({beds("laterals")},{counted},"yes")', "count",
    )  # fmt: skip
    page.result_row("Length of lines", f"SUM({beds('line_length')})", "length",
                    name="line_length_total")  # fmt: skip
