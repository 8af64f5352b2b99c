"""Bed need: what the crops of each bed use in each month, and what rain gives them."""

from __future__ import annotations

from collections.abc import Callable

from workbook_template.book import Book
from workbook_template.formulas import Place, call, checked
from workbook_template.page import Page
from xlfuncs.units import from_base

USE, RAIN, DAYS = "bed use", "bed rain", "bed days"  # the blocks, by which other sheets find them
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
BED, COVER, STORAGE, JANUARY, YEAR = 0, 1, 2, 3, 15  # columns
LEAST_STORAGE, GREATEST_STORAGE = 7.62, 177.8  # mm; the range of the effective rain's method
RAIN_WORDS = (
    "Effective rain by TR-21, from the month's rain, the use, and the water that the soil stores"
    " for the crop of the bed with the least (held to the method's 0.3 to 7 in; 3 in where it is"
    " not known). In a month with a crop for part of it the same part of the rain counts. Rain does"
    " nothing for beds in a tunnel or under plastic mulch."
)
# Rows that stand above the effective rain: days of the months, their rain, and what of it gets into
# the soil whatever the crop uses (the simplified form), from which Need fills the soil's store.
MONTH_DAYS, MONTH_RAIN, SOIL_RAIN = "month days", "month rain", "rain into the soil"


def write(book: Book) -> None:
    page = book.page(
        "Bed need", "Need by bed and month",
        "Depths by bed, before any loss: no efficiency is counted on this sheet.",
        widths=(16, 13, 9, *(7,) * 12, 9),
    )  # fmt: skip
    _state(book, page)
    page.freeze(page.row, 1)
    page.section("Crop use", columns=YEAR + 1)
    page.note("Reference ET times crop coefficient, summed over the days in the plan and in season."
              " 0: fallow, off or out of season.", columns=YEAR + 1)  # fmt: skip
    _block(book, page, USE, "depth", _use_row)
    page.section("Days with a crop", columns=YEAR + 1)
    _block(book, page, DAYS, "days", _days_row)
    page.section("Effective rain", columns=YEAR + 1)
    page.note(RAIN_WORDS, columns=YEAR + 1, lines=3)
    _weather_rows(book, page)
    _block(book, page, RAIN, "depth", _rain_row)


def crop_use(book: Book) -> str:
    """The call that gives use and days of all beds and months."""
    return call("BED_CROP_USE", **_arguments(book))


def _arguments(book: Book) -> dict[str, str]:
    plan = {
        "plan_bed": "bed", "plan_start": "start", "plan_end": "end", "kc_mid": "kc_mid",
        "kc_initial": "kc_initial", "kc_end": "kc_end", "initial_days": "initial_days",
        "development_days": "development_days", "mid_days": "mid_days", "late_days": "late_days",
        "plan_counted": "counted",
    }  # fmt: skip
    return {
        "bed": book.column("Beds", "bed"), "on": book.column("Beds", "on"),
        "month": book.column("MonthlyWeather", "month"),
        "reference_et": book.column("MonthlyWeather", "reference_et"),
        "season_start": "season_start", "season_end": 'IF(season_end="","",season_end)',
        **{argument: book.column("BedPlan", column) for argument, column in plan.items()},
    }  # fmt: skip


def _state(book: Book, page: Page) -> None:
    """What is missing before a bed's need can be said, in words; ok when nothing is."""
    planned = f'COUNTIF({book.column("BedPlan", "counted")},"yes")=0'
    page.text(page.row, 0, "State", page.styles.strong)
    page.formula(
        page.row, 1,
        f'IF(weather_months<12,12-weather_months&" months are missing on Weather",'
        f'IF(season_start="","Season from: is missing on Setup",IF({planned},"Plan is empty",'
        f"{checked('BED_CROP_USE', **_arguments(book))})))",
        "text", style=page.styles.aside,
    )  # fmt: skip
    book.name("bed_need_state", page.name, page.row, 1)
    page.row += 2


def _block(
    book: Book, page: Page, name: str, dimension: str, row_of: Callable[[Book, int], list[str]]
) -> None:
    """A row a bed and a column a month; `row_of` gives the formulas behind the bed's name."""
    first = page.row + 1
    beds = book.places["Beds"].rows
    columns = {"bed": BED, "cover": COVER, "storage": STORAGE, "year": YEAR}
    columns |= {str(month): JANUARY + month - 1 for month in range(1, 13)}
    book.places[name] = Place(page.name, first, first + beds - 1, columns)
    third = "Storage" if dimension == "depth" else ""
    headers = [("Bed", "text"), ("Cover", "text"), (third, "depth" if third else "text")]
    headers += [(month, dimension) for month in (*MONTHS, "Year")]
    page.grid(headers, [row_of(book, i) for i in range(1, beds + 1)])


def _weather_rows(book: Book, page: Page) -> None:
    def row_of(name: str, words: str, dimension: str, formulas: list[str]) -> None:
        page.text(page.row, 0, words)
        for month, formula in enumerate(formulas):
            page.formula(page.row, JANUARY + month, formula, dimension)
        columns = {"all": JANUARY} | {str(m): JANUARY + m - 1 for m in range(1, 13)}
        book.places[name] = Place(page.name, page.row, page.row, columns)
        page.row += 1

    months = range(1, 13)
    years = [f"YEAR(season_start)+IF({m}<MONTH(season_start),1,0)" for m in months]
    rains = [book.lookup("MonthlyWeather", "rain", "month", str(m)) for m in months]
    row_of(MONTH_DAYS, "Days", "count",
           [f'IF(season_start="","",DAY(DATE({year},{m + 1},0)))'
            for m, year in zip(months, years, strict=True)])  # fmt: skip
    row_of(MONTH_RAIN, f"Rain ({book.unit('depth')})", "depth",
           [f'IFERROR(IF({rain}="","",{rain}),"")' for rain in rains])  # fmt: skip
    falls = [f"{_letter(m)}{page.row}" for m in months]
    simplified = [call("EFFECTIVE_RAIN_SIMPLIFIED", cell) for cell in falls]
    row_of(SOIL_RAIN, "Into the soil", "depth",
           [f'IF({cell}="","",{formula})'
            for cell, formula in zip(falls, simplified, strict=True)])  # fmt: skip


def _letter(month: int) -> str:
    return chr(ord("A") + JANUARY + month - 1)


def _first(book: Book, i: int) -> list[str]:
    bed = f"INDEX({book.column('Beds', 'bed')},{i})"
    cover = f"INDEX({book.column('Beds', 'cover')},{i})"
    return [f'IF({bed}="","",{bed})', f'IF({bed}="","",IF({cover}="","open",{cover}))']


def _year() -> str:
    return 'IF(COUNT($D{row}:$O{row})=0,"",SUM($D{row}:$O{row}))'


def _storage(book: Book) -> str:
    plan, depletion = book.column("BedPlan", "bed"), book.column("BedPlan", "depletion")
    least = f"_xlfn.MINIFS({depletion},{plan},$A{{row}})"
    return f'IF(COUNTIFS({plan},$A{{row}},{depletion},">0")=0,"",{least})'


def _use_row(book: Book, i: int) -> list[str]:
    cells = [_month_cell(book, i, month) for month in range(1, 13)]
    return [*_first(book, i), _storage(book), *cells, _year()]


def _days_row(book: Book, i: int) -> list[str]:
    cells = [_month_cell(book, i, 12 + month) for month in range(1, 13)]
    return [*_first(book, i), "", *cells, _year()]


def _month_cell(book: Book, i: int, column: int) -> str:
    ready = 'OR($A{row}="",bed_need_state<>"ok")'
    return f'IF({ready},"",INDEX({crop_use(book)},{i},{column}))'


def _rain_row(book: Book, i: int) -> list[str]:
    use, days = (book.places[name].first + i for name in (USE, DAYS))  # rows of the same bed
    edges = [_edge(book, edge) for edge in (LEAST_STORAGE, GREATEST_STORAGE)]
    held = f'IF($C{{row}}="","",MAX({edges[0]},MIN({edges[1]},$C{{row}})))'
    cells = []
    for letter in map(_letter, range(1, 13)):
        month, rain = (
            f"{letter}${book.places[name].first + 1}" for name in (MONTH_DAYS, MONTH_RAIN)
        )
        part = f"{letter}{days}/{month}"
        counted = call("RAIN_UNDER_COVER", rain, "$B{row}")
        effective = call("EFFECTIVE_RAIN", counted, f"{letter}{use}/({part})", held)
        cells.append(f'IF({letter}{use}="","",IF({letter}{use}=0,0,{part}*{effective}))')
    return [*_first(book, i), f'IF($C{use}="","",$C{use})', *cells, _year()]


def _edge(book: Book, millimetres: float) -> str:
    return f"{from_base(millimetres, 'depth', book.system):.6g}"
