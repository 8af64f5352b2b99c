"""Purchase: the cheapest packs and rolls for every part and line, what is left over, cutting."""

from __future__ import annotations

from xlsxwriter.utility import xl_col_to_name

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.currency import currency_axis
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from xlfuncs.tables.money.buying import CUTTING

SHEETS = (
    SheetFor(
        "Purchase",
        (GROWER, CONSULTANT),
        group="buying",
        needs=("Prices", "Parts", "Summary"),
        client=ForClient(
            columns_left_out=("Note",),
            words={
                "Spare pieces and ends of rolls, at what they cost": "Spare pieces and ends of"
                " rolls",
            },
        ),
    ),
    SheetFor(
        "Cut list",
        (GROWER, CONSULTANT),
        group="buying",
        needs=("Prices", "Purchase"),
        client=ForClient(),
    ),
)

NEEDS_AT = 15  # column of the needs, to the right of what is bought
DEAREST_AT, CHARTED = 20, 12  # column of the parts that cost most; so many are drawn
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
PICKED_AT = 9  # column of what the cut lists are made from
MORE_OFFERS = 15  # rows beyond the needs: one part may be bought in several packs or rolls


def write(book: Book) -> None:
    page = Page(
        book,
        "Purchase",
        "Purchase",
        "The cheapest way to buy everything from the price list, tax and delivery included.",
        widths=(30, 9, 12, 10, 10, 11, 10, 10, 11, 9, 10, 10, 46),
    )
    totals = page.row
    page.row += 7
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
    plain = dict.fromkeys(range(len(headers)), page.styles.aside)
    first = page.grid(headers, rows, col=NEEDS_AT, styles=plain)
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
    first = page.whole(bought, BOUGHT, min(rows, needs + MORE_OFFERS),
                       ready='purchase_check="ok"', dash=True)  # fmt: skip
    page.freeze(first)
    return first, page.row - 2


def _totals(page: Page, row: int, first: int, last: int) -> None:
    def total(letters: str) -> str:
        cells = f"{letters}{first + 1}:{letters}{last + 1}"
        return f'IF(COUNT(I{first + 1}:I{last + 1})=0,"",SUM({cells}))'

    def per(area: str) -> str:
        return (
            f'IF(OR(cost_of_parts="",N({area})=0),"",'
            f"{call('COST_PER_AREA', 'cost_of_parts', area)})"
        )

    end = page.row
    page.row = row
    facts = (
        ("Cost of all parts", total("I"), "money", "Tax and delivery included",
         "cost_of_parts"),
        ("Of this, delivery", total("G"), "money", "", "delivery_of_parts"),
        ("Of this, tax", total("H"), "money", "", "tax_of_parts"),
        ("Value of what is left over", total("L"), "money",
         "Spare pieces and ends of rolls, at what they cost", "left_over_value"),
        ("Cost per planted area", per("planted_area"), "money_per_area", "Over the planted area",
         "parts_cost_per_planted_area"),
        ("Cost per garden area", per("garden_area"), "money_per_area",
         "Over the garden with paths", "parts_cost_per_garden_area"),
    )  # fmt: skip
    for label, formula, dimension, words, name in facts:
        page.result_row(label, formula, dimension, words, name=name, strong=name == "cost_of_parts")
    page.row = end
    _dearest(page, first, last)


def _dearest(page: Page, first: int, last: int) -> None:
    """The parts that cost most, each with all its packs, and the rest: folded, for the chart."""

    def cells(col: int, top: int = first, end: int = last) -> str:
        letters = xl_col_to_name(col)
        return f"${letters}${top + 1}:${letters}${end + 1}"

    part, total, own = cells(0), cells(8), cells(DEAREST_AT)
    below, top = page.row, first - 1
    all_packs = f"SUMIF({part},$A{{row}},{total})+{{n}}/10^9"  # so that no two are the same
    each = f'IF($A{{row}}="","",IF(MATCH($A{{row}},{part},0)<>{{n}},"",{all_packs}))'
    page.row = top
    page.grid((("All its packs", "money"),), [(each,)] * (last - first + 1), col=DEAREST_AT)
    value = f"${xl_col_to_name(DEAREST_AT + 2)}{{row}}"
    ranked = (
        f'IF({value}="","",INDEX({part},MATCH({value},{own},0)))',
        f'IF({{n}}>COUNT({own}),"",LARGE({own},{{n}}))',
    )
    listed = cells(DEAREST_AT + 2, first, first + CHARTED - 1)
    rest = (
        f'IF({value}="","","all other parts")',
        f'IF(COUNT({own})<={CHARTED},"",SUM({own})-SUM({listed}))',
    )
    page.row = top
    page.grid((("Part", "text"), ("Cost", "money")), [*[ranked] * CHARTED, rest],
              col=DEAREST_AT + 1, styles={0: page.styles.aside})  # fmt: skip
    page.sheet.set_column(DEAREST_AT, DEAREST_AT + 2, 12, None, {"level": 1, "hidden": True})
    page.row = below
    names, costs = (rows_of(page, first, first + CHARTED, DEAREST_AT + i) for i in (1, 2))
    chart(
        page, "bar", "Where the money goes, tax and delivery included",
        [Series("Cost", names, costs)], (below, 0), size=(760, 400), x_title=currency_axis(page),
    )  # fmt: skip


def _cut_lists(book: Book) -> None:
    page = Page(
        book,
        "Cut list",
        "Cut list",
        "Which pieces to cut from which roll, in order, and what then stays on it.",
        widths=(14, 20, 22, 12, 18, 18, 20),
    )
    page.portrait()
    page.settings(CUTTING)
    picked_out_at = page.row + 2  # beside the first list, from its headers on
    _cut_list(book, page, 1, picked_out_at)
    page.next_printed_page()
    _cut_list(book, page, 2, picked_out_at)
    page.sheet.print_area(0, 0, page.row - 2, len(CUT) - 1)


def _cut_list(book: Book, page: Page, number: int, picked_out_at: int) -> None:
    """One line's list; its pieces and rolls are picked out in columns to the right."""
    line, rows = f"cut_line_{number}", 2 * book.places["Beds"].rows
    page.section(f"{('First', 'Second')[number - 1]} line")
    names = _picked_out(book, page, number, picked_out_at)
    given = (f"{line}_{name}" for name in ("lengths", "counts", "rolls", "prices"))
    cuts = page.answer(rows, "CUT_LIST", *given)
    ready = f"AND(COUNT({line}_lengths)>0,COUNT({line}_prices)>0)"
    unchosen = '"Choose a line under Lines to cut"' if number == 1 else '""'
    page.formula(
        page.row, 2, f'IF({line}="",{unchosen},IF($B${page.row + 1}>{rows},"Only the first {rows}'
        ' rows are shown; CUT_LIST gives all",""))', "text", style=page.styles.aside,
    )  # fmt: skip
    listed = page.whole(cuts, CUT, rows, ready=ready)
    for row in range(listed, listed + rows):
        # the function names a piece by its row; a person wants the bed
        n = f"(ROW()-{listed})"
        bed = f"INDEX({names},{cuts.item(3, n)})"
        page.formula(row, 2, f'IF({n}>$B${listed - 1},"",{bed})', "text")


def _picked_out(book: Book, page: Page, number: int, row: int) -> str:
    """The pieces and the rolls of a line, folded, with defined names; gives the cells of the beds.

    Those of the second line lie beside those of the first, so that its list follows at once.
    """
    line, below, at = f"cut_line_{number}", page.row, PICKED_AT + 6 * (number - 1)
    beds, offers = book.places["Beds"].rows, book.places["Prices"].rows

    def of_price(column: str) -> str:
        return f"INDEX({book.column('Prices', column)},{{n}})"

    def named(name: str, col: int, first: int, rows: int) -> str:
        letters = xl_col_to_name(col)
        cells = f"'{page.name}'!${letters}${first + 1}:${letters}${first + rows}"
        if name:
            book.workbook.define_name(f"{line}_{name}", "=" + cells)
        return cells

    pieces = tuple(
        f'IF({line}="","",IF(INDEX(piece_line,{{n}})={line},INDEX(piece_{name},{{n}}),""))'
        for name in ("bed", "cut", "laterals")
    )
    others = f'OR({line}="",{of_price("part")}<>{line},{of_price("roll_length")}="")'
    rolls = tuple(f'IF({others},"",{of_price(name)})' for name in ("roll_length", "price"))
    page.row = row
    headers = (("Bed", "text"), ("Cut length", "length"), ("Lines", "count"))
    first = page.grid(headers, [pieces] * beds, col=at, styles={0: page.styles.aside})
    named("lengths", at + 1, first, beds)
    named("counts", at + 2, first, beds)
    page.row = row
    sold = (("Roll length", "length"), ("Price", "money"))
    rolls_first = page.grid(sold, [rolls] * offers, col=at + 3)
    named("rolls", at + 3, rolls_first, offers)
    named("prices", at + 4, rolls_first, offers)
    page.row = below
    page.sheet.set_column(at, at + 4, 11, None, {"level": 1, "hidden": True})
    return named("", at, first, beds)
