"""A sheet as paper: its title, words, formulas and marks, and how it prints."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from workbook_template.kit.book import Book
from workbook_template.kit.declared import SheetFor
from workbook_template.kit.said import told_of
from xlfuncs.tables.cautions import CAUTIONS
from xlfuncs.workbooks.our_tables.read_inputs import INVENTED_WORDS

FIRST, BACK = "Start", "← Start"  # the sheet that leads to all others, and the way back
ABOUT = "About"  # the first of a client's copy
PUBLISHED = "Invented farm; the figures on this page are published ones, or follow from them."
PAPERS = {"us": (1, 8.5, 11.0), "metric": (9, 8.27, 11.69)}  # letter and A4: code, sides in inches
NAMED = 60  # letters of a farm's name in a footer, which holds 255 in all
PRINTED = (10.0, 7.3)  # inches of a landscape page inside its margins


class Paper:
    """One sheet, written from the top down; `row` is the next free row.

    `title` in place of the declared one; `published` where its figures are not the invented
    farm's; `upright` as suits a list that is carried about.
    """

    def __init__(
        self, book: Book, of: SheetFor, *, title: str = "", widths: Sequence[float] = (),
        published: bool = False, upright: bool = False,
    ) -> None:  # fmt: skip
        self.book, self.styles, name = book, book.styles, of.name
        title = title or of.title or name
        self.sheet, self.top = book.sheet_for(name)
        book.titles[name] = title
        self.name = self.sheet.get_name()
        self.sheet.hide_gridlines(2)
        self.widths, self.columns = tuple(widths), len(widths) or 4
        self._breaks: list[int] = []
        for i, width in enumerate(widths):
            self.sheet.set_column(i, i, width)
        self.sheet.set_row(self.top, 24)
        self.sheet.write_string(self.top, 0, title, self.styles.title)
        if name != FIRST and {name, FIRST} <= book.edition.shown:
            link = self.leads_to(FIRST)  # the fitting puts it right of the title
            self.sheet.write_url(self.top, 1, link, self.styles.link, BACK)
            self.sheet.freeze_panes(self.top + 1, 0)  # where no header is, at least the way back
        self.sheet.write_string(self.top + 1, 0, of.words, self.styles.aside)
        self.row = self.top + 3
        if book.inputs.invented:
            words = PUBLISHED if published else INVENTED_WORDS
            self.sheet.write_string(self.top + 2, 0, words, self.styles.aside)
            self.row += 1
        self._print_setup(upright=upright)

    def leads_to(self, sheet: str) -> str:
        """A link to a sheet, by a name for its first cell: so that it follows a renamed sheet."""
        name = f"to_{sheet.lower().replace(' ', '_')}"
        self.book.workbook.define_name(name, f"='{sheet}'!$A$1")
        return f"internal:{name}"

    def _print_setup(self, *, upright: bool) -> None:
        self.sheet.set_landscape()
        if upright:
            self.sheet.set_portrait()
        self.sheet.set_paper(PAPERS[self.book.system][0])
        self.sheet.fit_to_pages(1, 0)
        # Margins that leave the same room on letter and A4, so that pages break alike.
        room = sorted(PRINTED, reverse=not upright)
        paper = sorted(PAPERS[self.book.system][1:], reverse=not upright)
        side, end = ((all_of - used) / 2 for all_of, used in zip(paper, room, strict=True))
        self.sheet.set_margins(side, side, end, end)
        self._footer()

    def _footer(self, *, own_cautions: bool = False) -> None:
        """Farm, sheet, date and page; in a garden's workbook also where the cautions stand, unless
        this page has its own."""
        named = str(self.book.inputs.settings.get("farm") or "")[:NAMED]
        farm = " " * named[:1].isdigit() + named.replace("&", "&&") or "&F"  # no part of the size
        first = ABOUT if self.book.edition.for_client else FIRST
        garden = self.book.edition.for_client or self.book.edition.has("Beds")  # not books alone
        cautions = f"The cautions on {first} come first" if garden and not own_cautions else ""
        day = self.book.inputs.settings.get("plan_date")
        fixed = self.book.edition.for_client and self.book.system == "metric"
        printed = f" {day:%Y-%m-%d}" if fixed and isinstance(day, date) else "&D"
        words = f"&L&10{farm}, &A&C&10{cautions}&R&10{printed}, page &P of &N"
        self.sheet.set_footer(words, {"scale_with_doc": False})

    def next_printed_page(self) -> None:
        """What follows starts a printed page."""
        self._breaks.append(self.row)
        self.sheet.set_h_pagebreaks(self._breaks)

    def section(self, title: str, *, columns: int = 0) -> None:
        """A band that starts a part of the page, over the page's columns or as many as told."""
        for col in range(columns or self.columns):
            self.sheet.write_blank(self.row, col, None, self.styles.section)
        self.sheet.write_string(self.row, 0, title, self.styles.section)
        self.row += 1

    def note(self, text: str, *, columns: int = 0) -> None:
        """Words across some columns, in as many lines as they need."""
        self.sheet.merge_range(
            self.row, 0, self.row, (columns or self.columns) - 1, text, self.styles.note
        )
        self.row += 1

    def cautions(self, *, columns: int = 0) -> None:
        """What can hurt somebody, in a bold frame."""
        columns = columns or self.columns
        self._footer(own_cautions=True)
        self.section("Cautions", columns=columns)
        for words in CAUTIONS:
            style = self.styles.caution(first=words == CAUTIONS[0], last=words == CAUTIONS[-1])
            self.sheet.merge_range(self.row, 0, self.row, columns - 1, words, style)
            self.row += 1
        self.row += 1

    # --- single cells ---

    def text(self, row: int, col: int, text: str, style: Any = None) -> None:
        self.sheet.write_string(row, col, text, style or self.styles.label)

    def formula(
        self, row: int, col: int, formula: str, dimension: str, *, strong: bool = False,
        style: Any = None,
    ) -> None:  # fmt: skip
        """A formula; its value comes when all are written."""
        style = style or self.styles.result(dimension, strong=strong)
        self.sheet.put_formula(row, col, formula, style)

    def remark(self, row: int, col: int, formula: str) -> None:
        """Small words that a formula gives, running on to the right."""
        self.formula(row, col, formula, "text", style=self.styles.aside)

    def headers(self, texts: Iterable[str], first: int = 0) -> None:
        """Headers from a column on, written one by one; what stands below them follows."""
        for col, text in enumerate(texts, first):
            self.text(self.row, col, text, self.styles.header)
        self.row += 1

    def result_row(
        self, label: str, formula: str, dimension: str, help_text: str = "", *, name: str = "",
        strong: bool = False, style: Any = None,
    ) -> None:  # fmt: skip
        """Label, computed value, unit, words; optionally with a defined name."""
        self.text(self.row, 0, label, self.styles.strong if strong else self.styles.label)
        self.formula(self.row, 1, formula, dimension, strong=strong, style=style)
        self._unit(dimension)
        self.text(self.row, 3, help_text, self.styles.aside)
        if name:
            self.book.name(name, self.name, self.row, 1)
        self.row += 1

    def result(self, name: str, formula: str, *, strong: bool = False, style: Any = None) -> None:
        """A row of a result that has a name, with what sheets/results.csv says of it."""
        label, dimension, words = told_of(name)
        self.result_row(label, formula, dimension, words, name=name, strong=strong, style=style)

    def state(
        self, words: str, name: str = "", *, label: str = "State",
        missing: Sequence[tuple[str, str]] = (), strong: bool = False, style: Any = None,
    ) -> None:  # fmt: skip
        """The state of a part of the sheet, in words that run on; optionally with a defined name.

        With conditions under which something is `missing`, what they say comes before `words`.
        """
        if missing:
            words = self.book.missing(name.rpartition("_")[0], self.name, missing, words)
        self.text(self.row, 0, label, self.styles.strong if strong else self.styles.label)
        self.formula(self.row, 1, words, "text", style=style or self.styles.aside)
        if name:
            self.book.name(name, self.name, self.row, 1)
        self.row += 1

    def _unit(self, dimension: str) -> None:
        """The unit beside a value; money is in the currency that Setup says."""
        unit = self.book.unit(dimension)
        if dimension.startswith("money"):
            words = f'TRIM(currency&" {unit}")' if unit else 'currency&""'
            self.formula(self.row, 2, words, "text", style=self.styles.label)
        elif unit:
            self.text(self.row, 2, unit)

    def freeze(self, row: int, col: int = 1) -> None:
        """Keep the rows above and the columns left of a cell in view, and repeat them in print."""
        self.sheet.freeze_panes(row, col)
        self.sheet.repeat_rows(row - 1)

    def cell(self, row: int, col: int) -> str:
        """An absolute reference to a cell of this page, for formulas elsewhere."""
        return f"'{self.name}'!${xl_col_to_name(col)}${row + 1}"


def feet(length: float) -> str:
    """A length in feet as a tape shows it, to the inch."""
    whole, inches = divmod(round(length * 12), 12)
    return f"{whole} ft {inches} in"
