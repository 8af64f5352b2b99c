"""Cut list: which pieces to cut from which roll, and what then stays on it."""

from functools import partial

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.page import Page
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from xlfuncs.tables.money.prices import CUTTING

SHEETS = (
    SheetFor("Cut list",
             "Which pieces to cut from which roll, in order, and what then stays on it.",
             (GROWER, CONSULTANT), group="buying", needs=("Prices", "Purchase"), client=SEEN),
)  # fmt: skip

CUTS = {1: "first cuts", 2: "second cuts"}  # the blocks, by the number of the line
PRINTED = 7  # columns
PICKED_AT = 9  # column of what the cut lists are made from


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(14, 20, 22, 12, 18, 18, 20), numbers_at=7, upright=True)
    page.settings(CUTTING)
    picked_out_at = page.row + 2  # beside the first list, from its headers on
    _cut_list(book, page, 1, picked_out_at)
    page.next_printed_page()
    _cut_list(book, page, 2, picked_out_at)
    page.sheet.print_area(0, 0, page.row - 2, PRINTED - 1)


def _cut_list(book: Book, page: Page, number: int, picked_out_at: int) -> None:
    """One line's list; its pieces and rolls are picked out in columns to the right."""
    line, rows = f"cut_line_{number}", 2 * book.places["Beds"].rows
    page.section(f"{('First', 'Second')[number - 1]} line")
    names = _picked_out(book, page, number, picked_out_at)
    cuts = page.answer(rows, "CUT_LIST", f"{line}_pieces", f"{line}_there")
    ready = f"AND(COUNT({line}_lengths)>0,COUNT({line}_bought)>0)"
    unchosen = '"Choose a line under Lines to cut"' if number == 1 else '""'
    page.formula(
        page.row, 2, f'IF({line}="",{unchosen},IF($B${page.row + 1}>{rows},"Only the first {rows}'
        ' rows are shown; CUT_LIST gives all",""))', "text", style=page.styles.aside,
    )  # fmt: skip
    bed = f"INDEX({names},{cuts.item(3)})"  # the function names a piece by its row
    book.places[CUTS[number]] = page.whole(cuts, "cuts", rows, ready=ready, instead={"bed": bed})


def _picked_out(book: Book, page: Page, number: int, row: int) -> str:
    """The pieces and the rolls of a line, folded, with defined names; gives the cells of the beds.

    Those of the second line lie beside those of the first, so that its list follows at once.
    """
    line, below, at = f"cut_line_{number}", page.row, PICKED_AT + 9 * (number - 1)
    bought = book.places[BOUGHT_ROWS]
    beds, offers = book.places["Beds"].rows, book.places["Prices"].rows
    of_price = partial(book.nth, "Prices")

    def piece(name: str) -> str:
        of_bed = f"INDEX(piece_{name},{{n}})"
        return f'IF({line}="","",IF(INDEX(piece_line,{{n}})={line},{of_bed},""))'

    def roll(name: str) -> str:
        others = (f'OR({line}="",{of_price("part")}<>{line},{of_price("roll_length")}="",'
                  f'{of_price("counted")}<>"yes")')  # fmt: skip
        return f'IF({others},"",{name})'

    def purchased(formula: str) -> str:
        """What Purchase buys of the line, or takes out of the store: the very rolls to cut."""
        return f'IF(OR({line}="",{of_bought("part")}<>{line}),"",{formula})'

    def of_bought(column: str) -> str:
        return f"INDEX({bought.reference(column)},{{n}})"

    page.row = row
    pieces = page.block("pieces to cut", {
        "bed": piece("bed"),
        "length": piece("cut"),
        "count": piece("laterals"),
    }, beds, col=at, styles={"bed": page.styles.aside})  # fmt: skip
    book.name_columns(pieces, {"length": f"{line}_lengths"})
    book.name_block(f"{line}_pieces", pieces, "length", "count")
    page.row = row
    if number == 1:  # whose lengths other rolls are compared for, on Designs
        full = f"({of_price('price')}+N({of_price('delivery')}))*(1+N({of_price('tax')}))"
        rolls = page.block("rolls to choose from", {
            "roll": roll(of_price("roll_length")),
            "price": f'IF({{roll}}="","",ROUND({full},2))',
        }, offers, col=at + 3)  # fmt: skip
        book.name_block(f"{line}_rolls", rolls, "roll", "price")
    page.row = row
    each = f"MAX(0.01,N({of_bought('total')})/{of_bought('packs')})"
    there = page.block("rolls to cut", {
        "bought": purchased(of_bought("length")),
        "each": purchased(each),
        "number": purchased(of_bought("packs")),
    }, bought.rows, col=at + 5)  # fmt: skip
    book.name_columns(there, {"bought": f"{line}_bought"})
    book.name_block(f"{line}_there", there, "bought", "number")
    page.row = below
    page.sheet.set_column(at, at + 7, 11, None, {"level": 1, "hidden": True})
    return pieces.reference("bed")
