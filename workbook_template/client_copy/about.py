"""The first page of the client's copy: for whom it is, what is in it, how to use it."""

from __future__ import annotations

from dataclasses import dataclass

from workbook_template.client_copy.pages import NOTICE, Page
from workbook_template.client_copy.styles import BAND, HEADER, CopyStyles
from xlfuncs.tables.money.quotation import CAUTIONS
from xlfuncs.xlsx.cell_references import quoted_sheet
from xlfuncs.xlsx.contents import CellValue

LIVE = (
    "Tinted, framed cells are yours to change; what is computed from them follows at once, in any"
    " spreadsheet program. There are no macros in this file.",
    "Some results took a longer computation and were worked out beforehand, such as what to buy."
    f' Where an input behind one of them is changed, it and every total on it show "{NOTICE}".'
    " Put the old value back and they return; the last sheet lists those inputs as delivered.",
)
VALUES_ONLY = ("This copy holds the results as delivered; nothing in it is computed anew.",)
PRICES = "All prices are selling prices, without tax unless it says so."
_FACTS = (
    ("client", "Prepared for"), ("site", "Site"), ("prepared_by", "Prepared by"),
    ("quotation_number", "Quotation"), ("quotation_date", "Date"), ("plan_date", "Plan date"),
    ("currency", "Currency"),
)  # fmt: skip


@dataclass(frozen=True)
class About:
    """What the first page says; `facts` are the values of defined names, with their formats."""

    name: str
    title: str
    facts: dict[str, tuple[CellValue, str]]
    sheets: list[tuple[str, str]]  # name, and what it is about
    live: bool
    cautions: bool


def about_page(about: About, styles: CopyStyles) -> Page:
    page = Page((24, 70))
    band, plain = styles.page(bold=True, fill=BAND), styles.page(wrap=True)
    page.put(1, about.title, styles.page(size=18, bold=True))
    page.heights[1] = 28
    page.row = 3
    for name, label in _FACTS:
        value, style = about.facts.get(name, (None, ""))
        if value not in (None, ""):
            page.put(1, label, styles.page(bold=True, line=True))
            page.put(2, value, styles.listed(style))
            page.row += 1
    page.row += 1
    page.words("In this copy", band)
    page.line(("Sheet", "What it says"), styles.page(bold=True, white=True, fill=HEADER))
    for name, words in about.sheets:
        page.links.append((f"A{page.row}", f"{quoted_sheet(name)}!A1"))
        page.put(1, name, styles.page(link=True, line=True, wrap=True))
        page.put(2, words, styles.page(line=True, wrap=True))
        page.heights[page.row] = 14.0 * (1 + len(words) // 90) + 2
        page.row += 1
    page.row += 1
    page.words("How to use it", band)
    for words in (*(LIVE if about.live else VALUES_ONLY), PRICES):
        page.words(words, plain)
    if about.cautions:
        page.row += 1
        page.words("Cautions", band)
        for words in CAUTIONS:
            page.words(words, plain)
    return page
