"""Water bills: those of the year explained and the year before, by the tariffs of each."""

from __future__ import annotations

from collections.abc import Mapping

from workbook_template.kit.book import Book
from workbook_template.kit.currency import say_currency
from workbook_template.kit.declared import BOOKKEEPER, SheetFor
from workbook_template.kit.formulas import GridColumn, Place, call
from workbook_template.kit.page import Page
from workbook_template.sheets.money import tariffs

SHEETS = (
    SheetFor("Water bills", (BOOKKEEPER,), group="ledger", needs=("Ledger", "Years", "Tariffs")),
)

BILLS = 13  # the most bills of a year
TIERS = tariffs.MOST_TIERS
BESIDE = 6  # column of the tiers, beside the bills
YEARS_AT = 12  # column of what is asked of both years
TIER_COLUMNS = (
    GridColumn("tier", "Tier", "count"),
    GridColumn("own", "Price of water", "money_per_billed_volume"),
    GridColumn("price", "Price with sewer", "money_per_billed_volume"),
    GridColumn("top", "Tier ends at", "billed_volume"),
    GridColumn("borne", "Price that the garden bears", "money_per_billed_volume"),
)  # fmt: skip
BILL_COLUMNS = (
    GridColumn("day", "Last day of the bill", "date"),
    GridColumn("water", "Water", "billed_volume"),
    GridColumn("by_tariff", "By the tariff", "money"),
    GridColumn("paid", "Paid", "money"),
    GridColumn("beyond", "Difference from the tariff", "money"),
)  # fmt: skip
EFFECTS = (
    ("Bills of the year before", "old_bill"), ("Bills of the year explained", "new_bill"),
    ("Change", "change"), ("Price", "price"), ("Area", "area"), ("Weather", "weather"),
    ("Use", "use"), ("Fixed charges", "fixed"),
)  # fmt: skip
WORDS = {
    "price": "Old volumes on the new tariff less on the old: the old year weighs the price",
    "area": "The old use of an area, on the new area, at the new tariff",
    "weather": "That in proportion to the new year's need, at the new tariff",
    "use": "The rest at the new tariff: a dearer tier reached by using more stands here",
    "fixed": "What every bill bears whatever is used",
}


def write(book: Book) -> None:
    page = Page(
        book,
        "Water bills",
        "Water bills by their tariff",
        "A bill belongs to the year of its last day, and to the tariff in force at the year's last"
        " bill.",
        widths=(26, 13, 13, 13, 13, 3, 8, 12, 12, 15, 15),
    )
    say_currency(page)
    ranges = {}
    for side, words in (("old", "The year before"), ("new", "The year explained")):
        if side == "new":
            page.next_printed_page()
        page.section(words, columns=10)
        _terms(book, page, side)
        ranges[side] = _bills_and_tiers(book, page, side)
    page.section("The change of the bills", columns=10)
    _effects(page, ranges)


def _terms(book: Book, page: Page, side: str) -> None:
    """What holds for one of the two years."""
    year = f"{side}_year"

    def of_ledger(column: str) -> str:
        return (
            f"SUMIFS({book.column('Ledger', column)},{book.column('Ledger', 'year')},{year},"
            f'{book.column("Ledger", "kind")},"water",{book.column("Ledger", "summed")},"yes")'
        )

    def of_years(column: str) -> str:
        found = book.lookup("Years", column, "year", year)
        return f'IF(N({year})=0,"",IFERROR(IF({found}="","",{found}),""))'

    metered = f'{book.column("Ledger", "year")},{year},{book.column("Ledger", "metered")},"yes"'
    last = f"_xlfn.MAXIFS({book.column('Ledger', 'date')},{metered})"
    in_force = tariffs.tariff_in_force(book, f"{side}_last")
    tariff = f"{side}_tariff"

    def of_tariff(formula: str) -> str:
        return f'IF(N({tariff})=0,"",{formula})'

    page.result_row(
        "Year", 'IF(compared_year="","",compared_year' + ("-1)" if side == "old" else ")"),
        "count", name=year,
    )  # fmt: skip
    page.result_row("Last bill", f'IF(N({year})=0,"",{last})', "date", name=f"{side}_last")
    page.result_row(
        "Tariff in force from",
        f'IF(N({side}_last)=0,"",IF({in_force}=0,"",{in_force}))',
        "date",
        name=tariff,
    )
    fixed = of_tariff(f"N({tariffs.of_tariff(book, 'fixed', tariff)})")
    page.result_row("Fixed charge a bill", fixed, "money", name=f"{side}_fixed")
    sewer = f'IFERROR({tariffs.sewer_per_volume(book, tariff)},"")'
    page.result_row("Sewer, on what is used", sewer, "money_per_billed_volume",
                    name=f"{side}_sewer")  # fmt: skip
    for label, column in (("Paid for water", "amount"), ("Of it the garden's", "cost")):
        page.result_row(label, f'IF(N({year})=0,"",{of_ledger(column)})', "money",
                        name=f"{side}_{column}")  # fmt: skip
    page.result_row(
        "Part that the garden bears",
        f'IF(N({year})=0,"",IF({side}_amount=0,1,{side}_cost/{side}_amount))',
        "ratio", "After tax that comes back and the household's share", name=f"{side}_borne",
    )  # fmt: skip
    page.result_row("Planted area", of_years("planted_area"), "area", name=f"{side}_area")
    page.result_row("Need beyond rain", of_years("need"), "depth", name=f"{side}_need")
    page.row += 1


def _bills_and_tiers(book: Book, page: Page, side: str) -> tuple[str, str]:
    """Writes both blocks side by side; gives the volumes, and the tiers that the garden bears."""
    top = page.row
    tier_rows = [_tier(book, side, number) for number in range(1, TIERS + 1)]
    tiers = page.block(TIER_COLUMNS, tier_rows, col=BESIDE)
    tops, prices = (tiers.here(name) for name in ("top", "price"))
    page.row = top
    first, later = (_bill(book, side, is_first, (tops, prices)) for is_first in (True, False))
    bills = page.block(BILL_COLUMNS, [first, *[later] * (BILLS - 1)])
    return bills.here("water"), tiers.with_headers("top", "borne")


def _tier(book: Book, side: str, number: int) -> Mapping[str, str]:
    tariff = f"{side}_tariff"
    return {
        "tier": f'IF({{price}}="","",{number})',
        "top": tariffs.tier(book, "top", tariff, number),
        "own": tariffs.tier(book, "price", tariff, number),
        "price": f'IF({{own}}="","",{{own}}+{side}_sewer)',
        "borne": f'IF({{price}}="","",{{price}}*{side}_borne)',
    }


def _bill(book: Book, side: str, first: bool, tiers: tuple[str, str]) -> Mapping[str, str]:
    def ledger(name: str) -> str:
        return book.column("Ledger", name)

    year = f"{side}_year"
    metered = f'{ledger("year")},{year},{ledger("metered")},"yes"'
    later = "" if first else f',{ledger("date")},">"&{{day-1}}'
    day = f"_xlfn.MINIFS({ledger('date')},{metered}{later})"
    none = f"N({year})=0" if first else "N({day-1})=0"
    of_day = f"{ledger('date')},{{day}}"
    charge = call("WATER_CHARGE", "{water}", *tiers, fixed=f"{side}_fixed")
    paid = f'{ledger("kind")},"water",{ledger("summed")},"yes",{of_day}'
    return {
        "day": f'IF({none},"",IF({day}=0,"",{day}))',
        "water": f'IF({{day}}="","",SUMIFS({ledger("quantity")},{metered},{of_day}))',
        "by_tariff": f'IF(OR({{day}}="",COUNT({tiers[1]})=0),"",{charge})',
        "paid": f'IF({{day}}="","",SUMIFS({ledger("amount")},{paid}))',
        "beyond": 'IF(OR(N({by_tariff})=0,{paid}=""),"",{paid}-{by_tariff})',
    }


def _years(page: Page) -> Place:
    """What the split of the bills asks of both years: folded, to the right."""

    def both(name: str, side: str) -> str:
        return f'IF(OR(old_{name}="",new_{name}=""),"",{side}_{name})'

    below = page.row
    place = page.block(
        (
            GridColumn("fixed", "Fixed", "money"), GridColumn("area", "Planted area", "area"),
            GridColumn("need", "Need beyond rain", "depth"),
        ),
        [{"fixed": f"N({side}_fixed)*N({side}_borne)", "area": both("area", side),
          "need": both("need", side)} for side in ("old", "new")],
        col=YEARS_AT,
    )  # fmt: skip
    page.sheet.set_column(YEARS_AT, YEARS_AT + 2, 12, None, {"level": 1, "hidden": True})
    page.row = below
    return place


def _effects(page: Page, ranges: dict[str, tuple[str, str]]) -> None:
    """The bills split by WATER_YEAR_ON_YEAR, where both years have tariffs and as many bills."""
    given = {"years": _years(page).with_headers("fixed", "need")}
    for side, (volumes, tiers) in ranges.items():
        given |= {f"{side}_volumes": volumes, f"{side}_tiers": tiers}
    (old, _), (new, _) = ranges["old"], ranges["new"]
    check = (
        ("N(old_year)=0", '"No year to compare with yet"'),
        (f"OR(COUNT({old})=0,COUNT({new})=0)", '"No water by volume in one of the years"'),
        ("OR(N(old_tariff)=0,N(new_tariff)=0)", '"No tariff for one of the years"'),
        (f"COUNT({old})<>COUNT({new})", '"Not as many bills in both years"'),
    )
    effects = page.answer(1, "WATER_YEAR_ON_YEAR", **given)
    words = page.book.missing("water_bills", page.name, check, page.book.words(effects))
    page.text(page.row, 0, "Check")
    page.formula(page.row, 1, words, "text", style=page.styles.aside)
    page.book.name("water_bills_check", page.name, page.row, 1)
    page.row += 1
    for number, (label, name) in enumerate(EFFECTS, 1):
        page.result_row(label, f'IF(water_bills_check<>"ok","",{effects.item(number, 1)})', "money",
                        WORDS.get(name, ""), name=f"tariff_{name}")  # fmt: skip
