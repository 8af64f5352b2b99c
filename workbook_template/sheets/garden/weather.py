"""Weather: a climate table by month, and the reference evapotranspiration that follows from it."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, GROWER, ForClient, SheetFor
from workbook_template.kit.formulas import call, escaped
from workbook_template.kit.page import Computed, Page
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.weather import MID_MONTH_DAYS, MONTHLY_WEATHER

SHEETS = (SheetFor("Weather", (GROWER, CONSULTANT), group="watering", client=ForClient()),)

WIDTH = 13
RULES = (
    "Reference ET by FAO Penman-Monteith, month by month. Where a column is blank FAO-56's rules"
    " for missing data (chapter 3) take its place: humidity from the least temperature, wind 2 m/s,"
    " sunshine from the range of temperatures. The heat that goes into the soil counts (Eq. 43)"
    " once all twelve months are there."
)
COMPLETE = '{month}="",{max_temperature}="",{min_temperature}="",latitude="",site_elevation=""'


def write(book: Book) -> None:
    page = Page(
        book,
        "Weather",
        "Weather by month",
        "Twelve rows from a climate table of a station near you.",
    )
    page.note(RULES, columns=WIDTH, lines=2)
    page.freeze(page.row + 1)
    months = book.inputs.tables.get(MONTHLY_WEATHER.name, ())
    page.table(
        MONTHLY_WEATHER, _computed(book), spare=12 - max(len(months), 1),
        widths={"month": 13, "max_temperature": 12, "min_temperature": 12, "estimated": 24,
                "temperature_et": 13,
                "radiation": 13, "sunshine": 11},
    )  # fmt: skip
    _results(book, page)


def _computed(book: Book) -> tuple[Computed, ...]:
    def own(column: Column | Computed) -> str:  # the table is not on the page yet
        return f"MonthlyWeather[[#Data],[{escaped(column.heading(book.system))}]]"

    def mean_of(shift: int) -> str:
        month = f"MOD({{month}}-1+{shift},12)+1"
        return f"INDEX({own(_MEAN)},MATCH({month},{own(MONTHLY_WEATHER['month'])},0))"

    def optional(name: str) -> str:
        return f'IF({{{name}}}="","",{{{name}}})'

    heat = call("MONTHLY_SOIL_HEAT_FLUX", mean_of(-1), "{mean_temperature}", mean_of(1))
    penman = call(
        "REFERENCE_ET_PM", "{max_temperature}", "{min_temperature}", "latitude", "{middle_day}",
        "site_elevation",
        **{name: optional(name)
           for name in ("wind", "max_humidity", "min_humidity", "sunshine", "radiation")},
        radiation_adjustment='IF(near_coast="yes",0.19,0.16)', soil_heat_flux="{soil_heat}",
    )  # fmt: skip
    by_temperature = call(
        "REFERENCE_ET", "{max_temperature}", "{min_temperature}", "latitude", "{middle_day}"
    )
    days = ",".join(map(str, MID_MONTH_DAYS))
    return (
        Computed("middle_day", "Day of its middle", "number", "Day of the year of the 15th",
                 f'IF({{month}}="","",CHOOSE({{month}},{days}))', grouped=True),
        _MEAN,
        Computed("soil_heat", "Soil heat", "radiation", "Heat into the soil in the month",
                 f'IF({{mean_temperature}}="","",IF(COUNT({own(_MEAN)})=12,{heat},0))',
                 grouped=True),
        Computed("reference_et", "Reference ET", "et", "FAO Penman-Monteith",
                 f'IF(OR({COMPLETE}),"",{penman})'),
        Computed("temperature_et", "By temperature alone", "et",
                 "The simple method (Hargreaves), to compare; not used further",
                 f'IF(OR({COMPLETE}),"",{by_temperature})'),
        Computed("estimated", "Estimated", "text", "What was not measured",
                 'IF({reference_et}="","",IF(AND({wind}<>"",{min_humidity}<>"",'
                 'OR({sunshine}<>"",{radiation}<>"")),"nothing",'
                 'SUBSTITUTE(TRIM(IF({wind}="","wind ","")&IF({min_humidity}="","humidity ","")'
                 '&IF(AND({sunshine}="",{radiation}=""),"sunshine",""))," ",", ")))'),
    )  # fmt: skip


_MEAN = Computed(
    "mean_temperature", "Mean temperature", "temperature", "Mean of greatest and least",
    'IF(OR({max_temperature}="",{min_temperature}=""),"",({max_temperature}+{min_temperature})/2)',
    grouped=True,
)  # fmt: skip


def _results(book: Book, page: Page) -> None:
    et, rain = book.column("MonthlyWeather", "reference_et"), book.column("MonthlyWeather", "rain")
    for label, formula, dimension, name in (
        ("Months", f"COUNT({et})", "count", "weather_months"),
        ("Rain a year", f'IF(COUNT({rain})=12,SUM({rain}),"")', "depth", "rain_a_year"),
        ("Hot day", f'IF(COUNT({et})=0,"",MAX({et}))', "et", "peak_reference_et"),
    ):
        page.text(page.row, 0, label)
        page.formula(page.row, 1, formula, dimension, strong=True)
        page.text(page.row, 2, page.book.unit(dimension))
        page.text(page.row, 3, _WORDS[name], page.styles.aside)
        book.name(name, page.name, page.row, 1)
        page.row += 1


_WORDS = {
    "weather_months": "Months whose reference ET is known, of 12",
    "rain_a_year": "All twelve months",
    "peak_reference_et": "Reference ET of the month with the most",
}
