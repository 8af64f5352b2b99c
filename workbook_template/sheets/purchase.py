"""Purchase: the cheapest packs and rolls for every part and line, what is left over, cutting."""

from __future__ import annotations

from workbook_template.book import Book
from workbook_template.charts import Series, chart, rows_of
from workbook_template.formulas import call
from workbook_template.page import Page
from xlfuncs.tables.buying import CUTTING

NEEDS_AT = 15  # column of the needs, to the right of what is bought
BOUGHT = (
    ("Part", "text"), ("Packs or rolls", "count"), ("Pieces in each", "number"),
    ("Length of each", "length"), ("Price", "money"), ("Net", "money"), ("Delivery", "money"),
    ("Tax", "money"), ("Total", "money"), ("Spare pieces", "number"), ("Left over", "length"),
    ("Left-over value", "money"), ("Note", "text"),
)  # fmt: skip
CUT = (
    ("Roll", "count"), ("Roll length", "length"), ("Bed", "text"), ("Lines", "count"),
    ("Length of each", "length"), ("Whole or part", "text"), ("Then left on roll", "length"),
)  # fmt: skip
MORE_OFFERS = 15  # rows beyond the needs: one part may be bought in several packs or rolls


def write(book: Book) -> None:
    page = book.page(
        "Purchase",
        "Purchase",
        "The cheapest way to buy everything from the price list, tax and delivery included.",
        widths=(30, 9, 9, 10, 10, 11, 10, 10, 11, 9, 10, 10, 34),
    )
    totals = page.row
    page.row += 8
    rows = _needs(book, page)
    first, last = _bought(book, page, rows)
    _totals(page, totals, first, last)
    _cut_lists(book)


def _needs(book: Book, page: Page) -> int:
    """Parts, pipe by length and lines by piece, in one list; named columns for the purchase."""
    parts, beds = book.places["CountingRules"].rows, book.places["Beds"].rows

    def part() -> tuple[str, ...]:
        name, number, spares, length = (
            f"INDEX(counted_{c},{{n}})" for c in ("part", "number", "spares", "length")
        )
        needed = f"IF(N({length})>0,1,N({number})+N({spares}))"
        wanted = f'OR({name}="",{needed}=0)'
        return (
            f'IF({wanted},"",{name})',
            f'IF({wanted},"",{needed})',
            f'IF({wanted},"",IF(N({length})>0,{length},""))',
            f'IF({wanted},"",IF(N({length})>0,"yes","no"))',
        )

    def line() -> tuple[str, ...]:
        bed = f"INDEX(piece_laterals,{{n}}-{parts})"
        return (
            f'IF(N({bed})=0,"",INDEX(piece_line,{{n}}-{parts}))',
            f'IF(N({bed})=0,"",{bed})',
            f'IF(N({bed})=0,"",INDEX(piece_cut,{{n}}-{parts}))',
            f'IF(N({bed})=0,"","no")',
        )

    top = page.row
    page.text(top, NEEDS_AT, "What is needed", page.styles.strong)
    page.row += 1
    rows = [part()] * parts + [line()] * beds
    headers = (("Part", "text"), ("Number", "count"), ("Length", "length"), ("May be joined",
               "text"))  # fmt: skip
    first = page.grid(headers, rows, col=NEEDS_AT)
    for i, name in enumerate(("part", "number", "length", "joined")):
        column = "PQRS"[i]
        book.workbook.define_name(
            f"needed_{name}", f"='{page.name}'!${column}${first + 1}:${column}${first + len(rows)}"
        )
    page.sheet.set_column(NEEDS_AT, NEEDS_AT + 3, 12, None, {"level": 1, "hidden": True})
    page.row = top
    return len(rows)


def _bought(book: Book, page: Page, needs: int) -> tuple[int, int]:
    def price(column: str) -> str:
        return book.column("Prices", column)

    bought = call(
        "PURCHASE_LIST", parts="needed_part", numbers="needed_number", plan_date="plan_date",
        price_parts=price("part"), prices=price("price"), currencies=price("currency"),
        dates=price("date"), lengths="needed_length", joined="needed_joined",
        packs=price("pack"), roll_lengths=price("roll_length"), from_packs=price("from_packs"),
        taxes=price("tax"), deliveries=price("delivery"), old_after="old_after",
    )  # fmt: skip
    ready = f'AND(COUNT(needed_number)>0,plan_date<>"",COUNT({price("price")})>0)'
    rows = book.places["CountingRules"].rows + MORE_OFFERS
    check = f'INPUT_CHECK("PURCHASE_LIST",{bought[len("PURCHASE_LIST(") : -1]})'
    page.text(page.row, 3, "Check")
    page.formula(page.row, 4, f'IF({ready},{check},"nothing to buy yet")', "text",
                 style=page.styles.aside)  # fmt: skip
    book.name("purchase_check", page.name, page.row, 4)
    first = page.whole(bought, BOUGHT, min(rows, needs + MORE_OFFERS), ready=ready, dash=True)
    page.freeze(first)
    return first, page.row - 2


def _totals(page: Page, row: int, first: int, last: int) -> None:
    def column(letters: str) -> str:
        return f"{letters}{first + 1}:{letters}{last + 1}"

    end = page.row
    page.row = row
    facts = (
        ("Cost of all parts", f"SUM({column('I')})", "money", "Tax and delivery included",
         "cost_of_parts"),
        ("Of this, delivery", f"SUM({column('G')})", "money", "", "delivery_of_parts"),
        ("Of this, tax", f"SUM({column('H')})", "money", "", "tax_of_parts"),
        ("Value of what is left over", f"SUM({column('L')})", "money",
         "Spare pieces and ends of rolls, at what they cost", "left_over_value"),
        ("Cost per planted area",
         f'IF(N(planted_area)=0,"",{call("COST_PER_AREA", "cost_of_parts", "planted_area")})',
         "money_per_area", "Over the planted area", "parts_cost_per_planted_area"),
        ("Cost per garden area",
         f'IF(N(garden_area)=0,"",{call("COST_PER_AREA", "cost_of_parts", "garden_area")})',
         "money_per_area", "Over the garden with paths", "parts_cost_per_garden_area"),
    )  # fmt: skip
    for label, formula, dimension, words, name in facts:
        page.result_row(label, formula, dimension, words, name=name, strong=name == "cost_of_parts")
    page.row = end
    shown = min(last, first + 24)
    chart(
        page, "bar", "Where the money goes", [
            Series("Total", rows_of(page, first, shown, 0), rows_of(page, first, shown, 8))
        ], (end, 0), size=(760, 460), y_title="",
    )  # fmt: skip


def _cut_lists(book: Book) -> None:
    page = book.page(
        "Cut list",
        "Cut list",
        "Which pieces to cut from which roll, in order, and what then stays on it.",
        widths=(22, 16, 16, 10, 16, 16, 18),
    )
    page.settings(CUTTING)
    for number in (1, 2):
        _cut_list(book, page, f"cut_line_{number}")


def _cut_list(book: Book, page: Page, line: str) -> None:
    """One line's list; its pieces and rolls are picked out in columns to the right."""
    beds, offers = book.places["Beds"].rows, book.places["Prices"].rows

    def of_price(column: str) -> str:
        return f"INDEX({book.column('Prices', column)},{{n}})"

    pieces = tuple(
        f'IF({line}="","",IF(INDEX(piece_line,{{n}})={line},INDEX(piece_{name},{{n}}),""))'
        for name in ("bed", "cut", "laterals")
    )
    others = f'OR({line}="",{of_price("part")}<>{line},{of_price("roll_length")}="")'
    rolls = tuple(f'IF({others},"",{of_price(name)})' for name in ("roll_length", "price"))
    page.section(f"{'First' if line.endswith('1') else 'Second'} line", columns=7)
    top = page.row
    headers = (("Bed", "text"), ("Cut length", "length"), ("Lines", "count"))
    first = page.grid(headers, [pieces] * beds, col=9)
    page.row = top
    rolls_first = page.grid(
        (("Roll length", "length"), ("Price", "money")), [rolls] * offers, col=13
    )
    end = page.row
    page.row = top
    lengths, counts = (f"${c}${first + 1}:${c}${first + beds}" for c in "KL")
    sizes, prices = (f"${c}${rolls_first + 1}:${c}${rolls_first + offers}" for c in "NO")
    for name, cells in (("lengths", lengths), ("counts", counts), ("rolls", sizes),
                        ("prices", prices)):  # fmt: skip
        book.workbook.define_name(f"{line}_{name}", f"='{page.name}'!{cells}")
    cuts = call("CUT_LIST", f"{line}_lengths", f"{line}_counts", f"{line}_rolls", f"{line}_prices")
    ready = f"AND(COUNT({lengths})>0,COUNT({prices})>0)"
    names = f"$J${first + 1}:$J${first + beds}"
    listed = page.whole(cuts, CUT, 2 * beds, ready=ready)
    for row in range(listed, listed + 2 * beds):
        # the function names a piece by its row; a person wants the bed
        n = f"(ROW()-{listed})"
        bed = f"INDEX({names},INDEX({cuts},{n},3))"
        page.formula(row, 2, f'IF({n}>$B${listed - 1},"",{bed})', "text")
    page.row = max(page.row, end)
    page.sheet.set_column(9, 14, 11, None, {"level": 1, "hidden": True})
