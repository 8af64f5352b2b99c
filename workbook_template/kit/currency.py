"""The currency of the plan, where headers and axes of money cannot name it themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from workbook_template.kit.page import Page


def say_currency(page: Page) -> None:
    """Say under the page's title what its money is in."""
    words = 'IF(currency="","Money in the currency of Setup","Money in "&currency)'
    page.formula(_row(page), 0, words, "text", style=page.styles.aside)


def currency_axis(page: Page) -> str:
    """Say it, and give the cell that says it, as the title of an axis."""
    say_currency(page)
    return "=" + page.cell(_row(page), 0)


def _row(page: Page) -> int:
    """The free row below the title and the words under it."""
    return page.top + (3 if page.book.inputs.invented else 2)
