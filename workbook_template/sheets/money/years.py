"""Years: water and materials by year, and why this year differs from the last."""

from collections.abc import Mapping, Sequence

from xlsxwriter.utility import xl_range_abs

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import Place
from workbook_template.kit.page import Page, currency_axis
from workbook_template.kit.said import said
from workbook_template.sheets.money import logged_years
from workbook_template.sheets.money.ledger import fiscal_year
from workbook_template.sheets.money.year_detail import comparison, detail
from xlfuncs.catalogue.account_days import NEARLY
from xlfuncs.tables.money.ledger import YEARS

SHEETS = (
    SheetFor("Years",
             "Water and materials by year, and why the year explained differs from the one before"
             " it.", (BOOKKEEPER,), group="ledger", needs=("Ledger", "Year detail", "Water bills")),
)  # fmt: skip

YEARS_SHOWN = 5
KINDS_SHOWN = 10
WIDTH = 13  # columns
WATER_KINDS = ("water", "sewer")
EFFECTS = ("price", "area", "weather", "use", "fixed", "credits", "not_split")
CHART_ROWS = 19  # that the charts of the years cover
EFFECT_ROWS = 14


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(18, *(12,) * (WIDTH - 1)), upright=True)
    page.sheet.least_pixels = dict.fromkeys(range(1, WIDTH), 59)  # amounts to come
    money = currency_axis(page)
    page.table(YEARS, spare=4, widths={"year": 18, "planted_area": 12, "need": 12, "note": 12})
    logged = book.edition.has("This week")
    if logged:
        logged_years.write(book, page, WIDTH)
    _check(book, page)
    page.next_printed_page()  # the years with their charts
    by_year = _by_year(book, page)
    by_year_charts = page.row
    page.row += CHART_ROWS
    page.next_printed_page()  # the effects and their chart are read together
    _by_kind(page, money)
    _charts(page, by_year, by_year_charts, money)


def _check(book: Book, page: Page) -> None:
    nothing = f'COUNTIF({book.column("Ledger", "summed")},"yes")=0'
    words = f'IF({nothing},"The ledger is empty",{comparison(book)[1]})'
    page.state(words, "years_check", strong=True)
    year, days = detail("year"), detail("days")
    for name, least in (("last_whole_year", f">={NEARLY}"), ("last_compared_year", ">0")):
        book.name_formula(name, page.name, f'_xlfn.MAXIFS({year},{days},"{least}")')
    chosen = f'IF(COUNTIFS({year},compare_year,{days},">0")=0,0,compare_year)'
    last = "IF(last_whole_year=0,last_compared_year,last_whole_year)"
    book.name_formula("year_to_explain", page.name, f'IF(compare_year="",{last},{chosen})')
    page.text(page.row, 0, "Year explained", page.styles.strong)
    page.formula(page.row, 1, 'IF(year_to_explain=0,"",year_to_explain)', "count", strong=True)
    book.name("compared_year", page.name, page.row, 1)
    book.name_formula("newest_year", page.name, f"MAX({year})")
    known = f"_xlfn.MINIFS({detail('covered')},{year},newest_year)"
    book.name_formula("newest_days", page.name, known)
    words = (
        '"the last whole one; "&newest_year&" is passed over, known for "&newest_days&" days: to'
    )
    words += ' see them type it on Setup, Year to explain"'
    book.name_formula("passed_over", page.name, words)
    page.remark(
        page.row, 2,
        'IF(compared_year="","",IF(compare_year<>"","as typed on Setup",IF(newest_year>'
        'compared_year,passed_over,"beside the year before it")))',
    )  # fmt: skip
    page.row += 1
    kinds, ranks, words = (detail(name) for name in ("kind", "rank", "words"))
    rank = f'SUMIFS({ranks},{year},compared_year,{kinds},"water")'
    book.name_formula("water_explained", page.name, f"INDEX({words},MATCH({rank},{ranks},0))")
    told = 'IF(water_explained="–","all days of both years",water_explained)'
    page.state(f'IF(ISERROR(water_explained),"",{told})', label="Water compared", strong=True)
    page.row += 1


def _by_year(book: Book, page: Page) -> Place:
    """Sums of each year; gives where they lie."""
    year, kind = detail("year"), detail("kind")

    def total(column: str, kinds: Sequence[str] | None = None) -> str:
        if kinds is None:
            return f"SUMIFS({detail(column)},{year},{{year}})"
        return "+".join(f'SUMIFS({detail(column)},{year},{{year}},{kind},"{k}")' for k in kinds)

    def blank(sums: str) -> str:
        return f'IF(ROUND({sums},2)=0,"",{sums})'

    begins = f"IF(N(ledger_from)=0,0,{fiscal_year('N(ledger_from)')})"
    earliest = f"MAX(MIN({year}),MAX({year})-{YEARS_SHOWN - 1},{begins})"
    first = book.name_formula("first_year_shown", page.name, earliest)
    area = book.lookup("Years", "planted_area", "year", "{year}")
    page.section("By year, bills by their days", columns=WIDTH)
    sums = {
        "water": total("quantity", ("water",)),
        "water_cost": total("amount", WATER_KINDS),
        "price": 'IF({water}=0,"",{water_cost}/{water})',
        "materials": blank("{all}-{water_cost}-N({labour})-N({electricity})"),
        "labour": blank(total("amount", ("labo*r",))),  # labour too
        "electricity": blank(total("amount", ("electricity",))),
        "all": total("amount"),
        "all_of_area": f'IFERROR(IF(N({area})=0,"",{{all}}/{area}),"")',
        "days": total("covered", ("water",)),
    }
    of_year = {name: f'IF(${{year}}="","",{formula})' for name, formula in sums.items()}
    years = (
        f'IF(OR(COUNT({year})=0,{first}+{i}>MAX({year})),"",{first}+{i})'
        for i in range(YEARS_SHOWN)
    )
    return page.block("sums of years", [{"year": year} | of_year for year in years])


def _by_kind(page: Page, money: str) -> None:
    """The change of each kind in the year explained, and the effects of all as a chart."""
    page.section("From the year before to the year explained", columns=WIDTH)
    page.note(said("years").effects, columns=WIDTH)
    kinds = page.block("change of kinds", [_kind(number) for number in range(1, KINDS_SHOWN + 1)])
    page.row = kinds.last + 1
    page.text(page.row, 0, "All kinds shown", page.styles.strong)
    for column, col in [*kinds.columns.items()][1:]:
        cells = kinds.here(column, fixed=False)
        page.formula(page.row, col, f'IF(COUNT({cells})=0,"",ROUND(SUM({cells}),2))', "money",
                     strong=True)  # fmt: skip
    page.remark(page.row + 1, 0, 'IF(OR(water_bills_check="ok",compared_year=""),'
                'IFERROR(IF(water_explained="–","","Water: "&water_explained),""),'
                '"Water by its average price, not by tiers: "&water_bills_check)')  # fmt: skip
    ranks = detail("rank")
    more = f'IF(MAX({ranks})>{KINDS_SHOWN},"more kinds stand on Year detail","")'
    page.remark(page.row + 1, WIDTH - 4, more)
    for name, summed in (("year_before_total", "before"), ("year_total", "this"),
                         ("year_change", "change")):  # fmt: skip
        page.book.name(name, page.name, page.row, kinds.columns[summed])
    first, last = (kinds.columns[name] for name in ("change", "beside"))
    heads, sums = (f"'{page.name}'!{xl_range_abs(row, first, row, last)}"
                   for row in (kinds.first - 1, page.row))  # fmt: skip
    page.row += 2
    title = "The change from the year before and its effects, all kinds"
    chart(page, "column", title, [Series("Effect", heads, sums)], (page.row, 0), y_title=money,
          size=(930, 260))  # fmt: skip
    page.row += EFFECT_ROWS


def _kind(number: int) -> Mapping[str, str]:
    row = f"MATCH({number},{detail('rank')},0)"

    def of(column: str) -> str:
        return f"INDEX({detail(column)},{row})"

    shown = f"MAX({detail('rank')})<{number}"
    by_tariff = 'AND(${kind}="water",water_bills_check="ok")'

    def effect(name: str) -> str:
        paid = of(name)
        if name == "credits":
            return paid
        return f"IF({by_tariff},{0 if name == 'not_split' else f'tariff_{name}'},{paid})"

    cells = {
        "before": of("before"), "this": of("this"), "change": of("change"),
        **{name: effect(name) for name in EFFECTS},
        "exchange": f"IF({by_tariff},tariff_exchange,0)",
        "beside": f"IF({by_tariff},ROUND(${{change}}-tariff_change-${{credits}},2),0)",
    }  # fmt: skip
    return {
        "kind": f'IF({shown},"",{of("kind")})',
        **{name: f'IF(${{kind}}="","",{formula})' for name, formula in cells.items()},
    }


def _charts(page: Page, by_year: Place, below: int, money: str) -> None:
    of_year = by_year.reference
    years = of_year("year")
    volume, price = (page.book.unit(d) for d in ("billed_volume", "money_per_billed_volume"))
    chart(page, "column", "Water used", [Series("Water", years, of_year("water"))], (below, 0),
          y_title=volume, size=(365, 300))  # fmt: skip
    paid = [("Water", "water_cost"), ("Materials", "materials"), ("Labor", "labour"),
            ("Electricity", "electricity")]  # fmt: skip
    chart(page, "column", "Paid", [Series(n, years, of_year(c)) for n, c in paid], (below, 4),
          y_title=money, size=(320, 300), subtype="stacked")  # fmt: skip
    chart(page, "column", "Price of water, all charges", [Series("Price", years, of_year("price"))],
          (below, 8), y_title=price, size=(245, 300), from_zero=True)  # fmt: skip
