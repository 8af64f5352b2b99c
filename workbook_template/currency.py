"""The currency of the plan, where headers and axes of money cannot name it themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from xlsxwriter.utility import xl_rowcol_to_cell

if TYPE_CHECKING:
    from workbook_template.page import Page


def say_currency(page: Page) -> None:
    """Say under the page's title what its money is in."""
    words = 'IF(currency="","Money: in the currency of Setup","Money: in "&currency)'
    page.formula(page.row - 1, 0, words, "text", style=page.styles.aside)


def currency_axis(page: Page) -> str:
    """The cell with the currency, as the title of an axis."""
    sheet, row, col = page.book.names["currency"]
    return f"='{sheet}'!{xl_rowcol_to_cell(row, col, row_abs=True, col_abs=True)}"
