"""Purchase: the cheapest packs and rolls for every part and line, what is left over, cutting."""

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import Place, call
from workbook_template.kit.page import Page, currency_axis
from workbook_template.sheets.whole.examples import words_on_examples
from xlfuncs.tables.money.prices import ALREADY_HAVE, NEEDS, ORDERS, PRICES
from xlfuncs.tables.money.quotation import QUOTATION_LINES

SHEETS = (
    SheetFor("Purchase",
             "The cheapest way to buy everything from the price list, tax and delivery included.",
             (GROWER, CONSULTANT), group="buying", needs=("Prices", "Parts", "Summary"),
             client=SEEN),
)  # fmt: skip

BOUGHT_ROWS = "bought"  # the block, by which the summary finds it
PARTS_ALONE = "Parts alone, with their tax and delivery; what is offered is on Quotation"
NEEDS_AT = 15  # column of the needs, to the right of what is bought
DEAREST_AT, CHARTED = 21, 12  # column of the parts that cost most; so many are drawn
MORE_OFFERS = 15  # rows beyond the needs: one part may be bought in several packs or rolls


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], widths=(30, 9, 12, 10, 10, 11, 10, 10, 11, 9, 10, 10, 46), numbers_at=13
    )
    words_on_examples(book, page)
    totals = page.row
    page.row += 8
    needs = _needs(book, page)
    bought = _bought(book, page, needs)
    _totals(page, totals, bought)


def _needs(book: Book, page: Page) -> Place:
    """Parts, pipe by length and lines by piece, in one list; named columns for the purchase."""
    parts, beds = book.places["CountingRules"].rows, book.places["Beds"].rows

    def without_price(name: str) -> str:
        """The name of a part that has no price and is not there already; '' for the others."""
        if book.edition.for_client:  # who has no prices
            return '""'
        offers, prices, counted, there = (book.column(*column) for column in (
            ("Prices", "part"), ("Prices", "price"), ("Prices", "counted"),
            (ALREADY_HAVE.name, "part")))  # fmt: skip
        priced = (f'AND(COUNTIFS({offers},{name},{counted},"yes")>0,'
                  f'COUNTIFS({offers},{name},{prices},"")=0)')  # fmt: skip
        return f'IF(OR({priced},COUNTIF({there},{name})>0),"",{name})'

    def need(name: str, wanted: str, length: str, joined: str) -> dict[str, str]:
        cells = {"number": "{wanted}", "length": length, "joined": joined}
        return {
            "wanted": wanted,
            "unpriced": f'IF({{wanted}}=0,"",{without_price(name)})',
            "part": f'IF(OR({{wanted}}=0,{{unpriced}}<>""),"",{name})',
            **{cell: f'IF({{part}}="","",{formula})' for cell, formula in cells.items()},
        }

    name, number, spares, length = (
        f"INDEX(counted_{c},{{n}})" for c in ("part", "number", "spares", "length")
    )
    needed = f"IF(N({length})>0,1,N({number})+N({spares}))"
    part = need(name, f'IF({name}="",0,{needed})', f'IF(N({length})>0,{length},"")',
                f'IF(N({length})>0,"yes","no")')  # fmt: skip
    name, laterals, cut = (f"INDEX(piece_{c},{{n}}-{parts})" for c in ("line", "laterals", "cut"))
    line = need(name, f"N({laterals})", cut, '"no"')
    top = page.row
    page.text(top, NEEDS_AT, "What is needed", page.styles.strong)
    page.row += 1
    rows = [part] * parts + [line] * beds
    plain = dict.fromkeys(rows[0], page.styles.aside)
    needs = page.block("needs", rows, after=NEEDS.columns, col=NEEDS_AT, styles=plain)
    book.name_columns(needs, {"number": "needed_number", "unpriced": "needed_unpriced"})
    page.sheet.set_column(NEEDS_AT, NEEDS_AT + 5, 12, None, {"level": 1, "hidden": True})
    page.row = top
    return needs


def _bought(book: Book, page: Page, needs: Place) -> Place:
    needed = needs.with_headers("part", "joined")
    bought = call(
        "PURCHASE_LIST", needed, book.up_to(PRICES, "counted"), "plan_date",
        book.span(ALREADY_HAVE), book.span(ORDERS), old_after="old_after",
    )  # fmt: skip
    prices = book.column("Prices", "price")
    ready = f'AND(COUNT(needed_number)>0,plan_date<>"",COUNT({prices})>0)'
    rows = book.places["CountingRules"].rows + MORE_OFFERS
    check = f'INPUT_CHECK("PURCHASE_LIST",{bought[len("PURCHASE_LIST(") : -1]})'
    page.remark(needs.first - 2, NEEDS_AT + 3, f'IF({ready},{check},"nothing to buy yet")')
    book.name("purchase_list_check", page.name, needs.first - 2, NEEDS_AT + 3)
    page.text(page.row, 3, "State")
    page.remark(
        page.row, 4,
        f'IF(purchase_list_check="ok",{_left_out(book, page.name)},purchase_list_check)',
    )  # fmt: skip
    book.name("purchase_check", page.name, page.row, 4)
    place = page.whole(
        bought, BOUGHT_ROWS, min(rows, needs.rows + MORE_OFFERS), ready='purchase_list_check="ok"',
        dash=True, without="note" if book.edition.for_client else "",  # it speaks to the buyer
    )  # fmt: skip
    page.freeze(place.first)
    book.name_columns(place, {"part": "bought_part", "price": "bought_price"})
    return place


def _left_out(book: Book, sheet: str) -> str:
    """ok, or which offer cannot be read; or which part has no price, and how many rows of needs
    beside it have none."""
    missing = book.name_formula("rows_unpriced", sheet, "SUMPRODUCT(1*(LEN(needed_unpriced)>0))")
    first = book.name_formula("first_unpriced", sheet,
                              'INDEX(needed_unpriced,MATCH("?*",needed_unpriced,0))')  # fmt: skip
    others = book.name_formula("more_unpriced", sheet,
                               f"{missing}-COUNTIF(needed_unpriced,{first})")  # fmt: skip
    words = book.name_formula(
        "unpriced_words", sheet,
        f""""PURCHASE_LIST: '"&{first}&"' has no price on Prices and is left out"&"""
        f"""IF({others}>0,", with "&{others}&" more rows of needs","")&"""
        '"; type its price, or the part under Already have there"',
    )  # fmt: skip
    parts, counted = book.column("Prices", "part"), book.column("Prices", "counted")
    unread = book.name_formula(
        "unread_words", sheet,
        f""""PURCHASE_LIST: an offer of '"&INDEX({parts},MATCH("no",{counted},0))&"""
        """"' cannot be read and is left out: see Checks\"""",
    )  # fmt: skip
    return f'IF(COUNTIF({counted},"no")>0,{unread},IF({missing}=0,"ok",{words}))'


def quoted(book: Book) -> bool:
    """Whether this is a client's copy, and the client has another price: that of a quotation."""
    return book.edition.for_client and bool(book.inputs.tables.get(QUOTATION_LINES.name))


def _totals(page: Page, row: int, bought: Place) -> None:
    def total(column: str) -> str:
        known, cells = (bought.here(name, fixed=False) for name in ("total", column))
        return f'IF(OR(COUNT({known})=0,purchase_check<>"ok"),"",SUM({cells}))'

    def per(area: str) -> str:
        each = call("COST_PER_AREA", "cost_of_parts", area)
        return f'IF(OR(cost_of_parts="",N({area})=0),"",{each})'

    end = page.row
    page.row = row
    priced = bought.here("total", fixed=False)
    of_some = f'IF(OR(COUNT({priced})=0,purchase_check="ok"),"",SUM({priced}))'
    page.result("cost_of_priced", of_some)
    page.result("cost_of_parts", total("total"), strong=True)
    if quoted(page.book):
        page.text(page.row - 1, 3, PARTS_ALONE, page.styles.aside)
    page.result("delivery_of_parts", total("delivery"))
    page.result("tax_of_parts", total("tax"))
    page.result("left_over_value", total("left_over"))
    page.result("parts_cost_per_planted_area", per("planted_area"))
    page.result("parts_cost_per_garden_area", per("garden_area"))
    page.row = end
    _dearest(page, bought)


def _dearest(page: Page, bought: Place) -> None:
    """The parts that cost most, each with all its packs, and the rest: folded, for the chart."""
    part, total = bought.here("part"), bought.here("total")
    below = page.row
    here = "$A{row}"  # the part that is bought in the row
    all_packs = f"SUMIF({part},{here},{total})+{{n}}/10^9"  # so that no two are the same
    again = f"COUNTIF($A${bought.first + 1}:{here},{here})>1"
    each = f'IF({here}="","",IF({again},"",{all_packs}))'
    page.row = bought.first - 1
    packs = page.block("packs of a part", {"packs": each}, bought.rows, col=DEAREST_AT)
    own = packs.here("packs")
    page.row = bought.first - 1
    listed = page.place("dearest parts", CHARTED, col=DEAREST_AT + 1)
    ranked = {
        "part": f'IF(${{cost}}="","",INDEX({part},MATCH(${{cost}},{own},0)))',
        "cost": f'IF({{n}}>COUNT({own}),"",LARGE({own},{{n}}))',
    }
    rest = {
        "part": 'IF(${cost}="","","all other parts")',
        "cost": f'IF(COUNT({own})<={CHARTED},"",SUM({own})-SUM({listed.here("cost")}))',
    }
    drawn = page.block("dearest parts", [*[ranked] * CHARTED, rest], col=DEAREST_AT + 1,
                       styles={"part": page.styles.aside})  # fmt: skip
    page.sheet.set_column(DEAREST_AT, DEAREST_AT + 2, 12, None, {"level": 1, "hidden": True})
    page.row = below
    chart(
        page, "bar", "Where the money goes, tax and delivery included",
        [Series("Cost", drawn.reference("part"), drawn.reference("cost"))], (below, 0),
        size=(760, 400), x_title=currency_axis(page),
    )  # fmt: skip
