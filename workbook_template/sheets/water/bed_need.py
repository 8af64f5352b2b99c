"""Bed need: what the crops of each bed use in each month, and what rain gives them."""

from collections.abc import Callable

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import Answer, Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.this_week import MONTHLY_WEATHER
from xlfuncs.units import from_base

SHEETS = (
    SheetFor("Bed need", "Depths by bed, before any loss: no efficiency is counted on this sheet.",
             (CONSULTANT,), title="Need by bed and month", group="watering",
             needs=("Beds", "Plan", "Weather"), client=SEEN),
)  # fmt: skip

# The blocks and rows, by which other sheets find them.
USE, DAYS, RAIN, TAKEN_UP = "bed use", "bed days", "bed rain", "bed rain taken up"
DEPENDABLE, NET_WEEK = "bed dependable rain", "bed net week"
MONTH_DAYS, MONTH_RAIN, MONTH_DEPENDABLE = "month days", "month rain", "month dependable rain"
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
MONTH_NUMBERS = tuple(map(str, range(1, 13)))  # as names of columns
YEAR = 15  # column of it
LEAST_STORAGE, GREATEST_STORAGE = 7.62, 177.8  # mm; the range of the effective rain's method
SUM = 'IF(COUNT($D{row}:$O{row})=0,"",SUM($D{row}:$O{row}))'  # of the months
SAID = said("bed_need")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(16, 13, 9, *(8,) * 12, 9), numbers_at=16, upright=True)
    counted = book.column("BedPlan", "counted")
    use = page.answer(book.places["Beds"].rows, "BED_CROP_USE", *_read(book), counted=counted)
    _state(book, page, use)
    page.sheet.freeze_panes(0, 1)  # each block has its own row of months
    _part(book, page, "Crop use", SAID.use)
    beds = book.places["Beds"].rows
    page.block(USE, _use_row(book, use), beds)
    _part(book, page, "Days with a crop", "")
    _month_row(book, page, MONTH_DAYS, "Days", "count")
    page.block(DAYS, _days_row(book, use), beds)
    _part(book, page, "Effective rain", SAID.rain)
    _month_row(book, page, MONTH_RAIN, f"Rain ({book.unit('depth')})", "depth")
    page.block(RAIN, _rain_row(book), beds)
    _part(book, page, "Dependable rain", SAID.dependable)
    words = f"Dependable ({book.unit('depth')})"
    _month_row(book, page, MONTH_DEPENDABLE, words, "depth")
    page.block(DEPENDABLE, _dependable_row(book), beds)
    _part(book, page, "Net depth per week", SAID.net)
    page.block(NET_WEEK, _net_row(book), beds)
    _part(book, page, "Rain that soil and crop can take up", SAID.taken_up)
    page.block(TAKEN_UP, _taken_up_row(book), beds)


def _part(book: Book, page: Page, title: str, words: str) -> None:
    page.section(title, columns=YEAR + 1)
    if words:
        page.note(words, columns=YEAR + 1)


def _read(book: Book) -> tuple[str, ...]:
    season_end = 'IF(season_end="","",season_end)'
    weather = book.up_to(MONTHLY_WEATHER, "reference_et")
    return (book.span(BEDS), book.span(BED_PLAN), weather, "season_start", book.span(CROPS),
            season_end)  # fmt: skip


def _state(book: Book, page: Page, use: Answer) -> None:
    """What is missing before a bed's need can be said, in words; ok when nothing is."""
    planned = f'COUNTIF({book.column("BedPlan", "counted")},"yes")=0'
    missing = (
        ("weather_months<12", '12-weather_months&" of 12 months missing on Weather"'),
        ('season_start=""', '"Season from: is missing on Setup"'), (planned, '"Plan is empty"'),
    )  # fmt: skip
    page.state(book.words(use), "bed_need_state", missing=missing, strong=True)
    page.row += 1


def rain_counted(book: Book) -> str:
    """Which rain counts, and that of months without any on Weather nothing does."""
    unknown = f"12-COUNTA({book.column('MonthlyWeather', 'rain')})"
    words = f'rain_counted&": nothing in "&({unknown})&" months without rain on Weather"'
    return f'IF(OR(rain_counted="none",({unknown})<=0),rain_counted,{words})'


def _month_row(book: Book, page: Page, name: str, words: str, dimension: str) -> None:
    """What holds for all beds, above them: the days or the rain of the months."""
    columns = book.places[USE].columns
    page.text(page.row, columns["bed"], words)
    for month in range(1, 13):
        year = f"YEAR(N(season_start))+IF({month}<MONTH(N(season_start)),1,0)"
        rain = book.lookup("MonthlyWeather", "rain", "month", str(month))
        open_ground = call("RAIN_UNDER_COVER", rain, '"open"')  # which reads units too
        formula = {
            MONTH_DAYS: f'IF(N(season_start)=0,"",DAY(DATE({year},{month + 1},0)))',
            MONTH_RAIN: f'IFERROR(IF({rain}="","",{open_ground}),"")',
            MONTH_DEPENDABLE: f'IFERROR(IF({rain}="","",{call("DEPENDABLE_RAIN", rain)}),"")',
        }[name]
        page.formula(page.row, columns[str(month)], formula, dimension)
    book.places[name] = Place(page.name, page.row, page.row, columns)
    page.row += 1


def _row(book: Book, cell: Callable[[str], str], third: str, year: str = SUM) -> dict[str, str]:
    """The formulas of a bed's row; `cell` gives that of a month."""
    bed, cover = (book.nth("Beds", name) for name in ("bed", "cover"))
    return {
        "bed": f'IF({bed}="","",{bed})',
        "cover": f'IF({bed}="","",IF({cover}="","open",{cover}))',
        "third": third, **{month: cell(month) for month in MONTH_NUMBERS},
        **({"year": year} if year else {}),
    }  # fmt: skip


def _storage(book: Book) -> str:
    plan, depletion = book.column("BedPlan", "bed"), book.column("BedPlan", "depletion")
    least = f"_xlfn.MINIFS({depletion},{plan},$A{{row}})"
    low, high = (
        f"{from_base(edge, 'depth', book.system):.6g}" for edge in (LEAST_STORAGE, GREATEST_STORAGE)
    )
    unknown = f'COUNTIFS({plan},$A{{row}},{depletion},">0")=0'
    return f'IF({unknown},"",MAX({low},MIN({high},{least})))'


def _use_row(book: Book, use: Answer) -> dict[str, str]:
    return _row(book, lambda month: _month_cell(use, int(month)), _storage(book))


def _days_row(book: Book, use: Answer) -> dict[str, str]:
    planted, counted = (book.column("BedPlan", name) for name in ("bed", "counted"))
    crops = f'COUNTIFS({planted},${{bed}},{counted},"yes")'
    return _row(
        book, lambda month: _month_cell(use, 12 + int(month)), f'IF(${{bed}}="","",{crops})'
    )


def _month_cell(use: Answer, column: int) -> str:
    ready = 'OR(${bed}="",bed_need_state<>"ok")'
    return f'IF({ready},"",{use.item(column)})'


def _rain_row(book: Book) -> dict[str, str]:
    def cell(month: str) -> str:
        use, days = (book.places[block].beside(month) for block in (USE, DAYS))
        part = f"{days}/{book.places[MONTH_DAYS].cell(month)}"
        rain = f"N({book.places[MONTH_RAIN].cell(month)})*${{third}}"
        effective = call("EFFECTIVE_RAIN", rain, f"{use}/({part})", _held(book))
        return f'IF({use}="","",IF({use}*${{third}}=0,0,{part}*{effective}))'

    share = call("RAIN_UNDER_COVER", "1", "${cover}")
    return _row(book, cell, f'IF(${{bed}}="","",{share})')


def _dependable_row(book: Book) -> dict[str, str]:
    share = book.places[RAIN].beside("third")

    def cell(month: str) -> str:
        mean, days = (book.places[block].beside(month) for block in (RAIN, DAYS))
        rain = f"N({book.places[MONTH_DEPENDABLE].cell(month)})*{share}"
        part = f"{days}/{book.places[MONTH_DAYS].cell(month)}"
        return f'IF({mean}="","",MIN({mean},{part}*{rain}))'

    return _row(book, cell, f'IF({share}="","",{share})')


def _net_row(book: Book) -> dict[str, str]:
    def cell(month: str) -> str:
        use, days, mean, dependable = (
            book.places[block].beside(month) for block in (USE, DAYS, RAIN, DEPENDABLE)
        )
        rain = f'IF(rain_counted="mean",{mean},IF(rain_counted="none",0,{dependable}))'
        net = call("NET_IRRIGATION", use, rain)
        return f'IF(N({days})=0,"",{net}*7/{days})'

    return _row(book, cell, SUM.replace("SUM", "MAX"), "")


def _taken_up_row(book: Book) -> dict[str, str]:
    share, storage = book.places[RAIN].beside("third"), book.places[USE].beside("third")
    year = book.places[USE].beside("year")

    def cell(month: str) -> str:
        use, rain = book.places[USE].beside(month), book.places[MONTH_RAIN].cell(month)
        taken_up = call("EFFECTIVE_RAIN", f"N({rain})", f"{use}+N({storage})", _held(book))
        return f'IF({use}="","",IF({share}*{year}=0,0,{taken_up}))'

    return _row(book, cell, f'IF({storage}="","",{storage})')


def _held(book: Book) -> str:
    storage = book.places[USE].beside("third")
    return f'IF({storage}="","",{storage})'
