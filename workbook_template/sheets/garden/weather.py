"""Weather: a climate table by month, and the reference evapotranspiration that follows from it."""

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, SEEN, SheetFor
from workbook_template.kit.formulas import call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said, told_of
from xlfuncs.tables.garden.this_week import MID_MONTH_DAYS, MONTHLY_WEATHER

SHEETS = (
    SheetFor("Weather", "Twelve rows from a climate table of a station near you.",
             (GROWER, CONSULTANT), title="Weather by month", group="watering", client=SEEN),
)  # fmt: skip

WIDTH = 13
SAID = said("weather")
COMPLETE = '{month}="",{max_temperature}="",{min_temperature}="",latitude="",site_elevation=""'


def write(book: Book) -> None:
    page = Page(book, SHEETS[0])
    page.note(SAID.rules, columns=WIDTH)
    page.freeze(page.row + 1)
    row = f"ROW()-ROW($A${page.row + 1})"
    months = book.inputs.tables.get(MONTHLY_WEATHER.name, ())
    page.table(
        MONTHLY_WEATHER, _computed(book, page.name, row), spare=12 - max(len(months), 1),
        widths={"month": 13, "max_temperature": 12, "min_temperature": 12, "estimated": 24,
                "temperature_et": 13,
                "radiation": 13, "sunshine": 11},
    )  # fmt: skip
    _results(book, page)


def _computed(book: Book, sheet: str, row: str) -> dict[str, str]:
    asked = (book.span(MONTHLY_WEATHER), "latitude", "site_elevation", 'near_coast="yes"')
    et = book.in_table(sheet, "MONTHLY_REFERENCE_ET", *asked,
                       counted="MonthlyWeather[[#Data],[Counted]]")  # fmt: skip
    inner = et.call.partition("(")[2].replace(",MonthlyWeather[[#Data],[Counted]]", "")
    checks = book.name_formula("weather_checks", sheet,
                               f'ROW_CHECK("MONTHLY_REFERENCE_ET",{inner}')  # fmt: skip
    by_temperature = call(
        "REFERENCE_ET", "{max_temperature}", "{min_temperature}", "latitude", "{middle_day}"
    )
    days = ",".join(map(str, MID_MONTH_DAYS))
    estimated = {
        "no_wind": ('{wind}=""', "wind "),
        "no_humidity": ('{min_humidity}=""', "humidity "),
        "no_sun": ('AND({sunshine}="",{radiation}="")', "sunshine"),
    }
    words = "&".join(f"{{{name}}}" for name in estimated)
    return {
        "middle_day": f'IF(N({{month}})<1,"",CHOOSE(N({{month}}),{days}))',
        "check": f'IF(OR({COMPLETE}),"",INDEX({checks},{row},1))',
        "counted": 'IF({check}="ok","yes","no")',
        "reference_et": f'IF({{counted}}="yes",{et.item(1, row)},"")',
        "temperature_et": f'IF(OR({COMPLETE}),"",{by_temperature})',
        **{name: f'IF({blank},"{said}","")' for name, (blank, said) in estimated.items()},
        "estimated": f'IF({{reference_et}}="","",IF({words}="","nothing",'
                     f'SUBSTITUTE(TRIM({words})," ",", ")))',
    }  # fmt: skip


def _results(book: Book, page: Page) -> None:
    et, rain = book.column("MonthlyWeather", "reference_et"), book.column("MonthlyWeather", "rain")
    on_open_ground = call("RAIN_UNDER_COVER", rain, '"open"')  # which reads units too
    for name, formula in (
        ("weather_months", f"COUNT({et})"),
        ("rain_a_year", f'IF(COUNTA({rain})=12,IFERROR(SUMPRODUCT({on_open_ground}),""),"")'),
        ("peak_reference_et", f'IF(COUNT({et})=0,"",MAX({et}))'),
    ):
        label, dimension, words = told_of(name)
        page.text(page.row, 0, label)
        page.formula(page.row, 1, formula, dimension, strong=True)
        page.text(page.row, 2, page.book.unit(dimension))
        page.text(page.row, 3, words, page.styles.aside)
        book.name(name, page.name, page.row, 1)
        page.row += 1
