"""This week: what to give each bed, by the log of rain and temperatures; and the log itself."""

from string import ascii_uppercase

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart
from workbook_template.kit.declared import GROWER, SheetFor
from workbook_template.kit.formulas import Answer, Place
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from workbook_template.sheets.water.timer import SETS
from workbook_template.sheets.water.valves import VALVES_NAMED, WEEK_RUNS
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.crops import CROPS
from xlfuncs.tables.garden.this_week import (
    BED_NOTES,
    LOGGED_SETTINGS,
    MONTHLY_WEATHER,
    THIS_WEEK,
    WEATHER_LOG,
)

SHEETS = (
    SheetFor("This week", "What to give each bed, by a rain gauge and a thermometer.", (GROWER,),
             group="this week",
             needs=("Beds", "Plan", "Weather", "Soils", "Setup", "Timer"), reads=("Field check",)),
)  # fmt: skip

WEEK = "this week"  # the block, by which others find it
LOG_ROWS, NOTE_ROWS = 250, 30
SAID = said("this_week")
OF_PROGRAM = (
    'IF(N({percent})=0,"","; "&ROUND(100*{percent},0)&"% of Timer\'s "&'
    'ROUND({program_time},0)&" min a week")'
)
FROM = {"soil_capacity": "the soil chosen on Setup", "allowed_days": "Timer"}
CARD = {"us": ("1/4 in", "1/2 in", "1 in"), "metric": ("6 mm", "12 mm", "25 mm")}


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], widths=(18, 11, 26, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 90), numbers_at=19
    )
    page.note(SAID.about)
    page.note(SAID.assumes)
    link = page.row
    page.row += 2
    page.settings(THIS_WEEK)
    first = page.row - 1 - len(THIS_WEEK.settings)  # the settings and what stands below them
    page.row -= 1
    years = ("first_month",) if book.edition.has("Years") else ()
    for name in ("latitude", "soil_capacity", "efficiency", "allowed_days", *years):
        source, column = FROM.get(name, "Setup"), LOGGED_SETTINGS[name]
        name = "efficiency_used" if name == "efficiency" else name
        page.result_row(column.header, f'IF({name}="","",{name})', column.dimension,
                        f"From {source}")  # fmt: skip
    book.name_settings("week_settings", page.name, first, page.row - 1)
    page.row += 1
    week = page.answer(
        book.places["Beds"].rows, "THIS_WEEK", **asked(book), notes=book.span(BED_NOTES)
    )
    _state(book, page, week)
    _advice(book, page, week)
    _season(book, page, week)
    page.section("Notes by bed")
    page.note(SAID.note)
    page.table(BED_NOTES, spare=NOTE_ROWS, widths={"bed": 9, "finding": 40})
    page.row += 1
    words = "Go to the log, to type rain and temperatures"
    page.sheet.write_url(link, 0, f"internal:'{page.name}'!A{page.row + 1}", string=words)
    page.section("Log")
    page.note(SAID.log)
    page.sheet.repeat_rows(page.row)  # on pages behind it only
    page.table(WEATHER_LOG, spare=LOG_ROWS)
    page.sheet.set_column(14, 19, 9, None, {"level": 1, "hidden": True})
    for place, width in enumerate(page.widths):  # those of the to-do list, not of the tables
        page.sheet.set_column(place, place, width)


def asked(book: Book) -> dict[str, str]:
    """The tables that the balance of the log reads; in Calc each cell hands them over anew."""
    beds = list(book.headings["Beds"])
    flows = {"nominal_flow", "delivered_flow", "flow_measured"}.intersection(beds)
    return {
        "beds": book.up_to(BEDS, max(flows, key=beds.index)), "plan": "BedPlan[#All]",
        "log": book.span(WEATHER_LOG), "weather": book.up_to(MONTHLY_WEATHER, "reference_et"),
        "settings": "week_settings", "crops": book.span(CROPS),
    }  # fmt: skip


def _state(book: Book, page: Page, week: Answer) -> None:
    log = f"WeatherLog[[#Data],[{WEATHER_LOG['date'].heading(book.system)}]]"
    missing = (
        ('latitude=""', '"Latitude on Setup is missing"'),
        ('site_elevation=""', '"Elevation of the site on Setup is missing"'),
        ("N(soil_capacity)=0", '"Choose a soil on Setup"'),
        ("weather_months<12", '12-weather_months&" of 12 months missing on Weather"'),
        (f'COUNTA({book.column("BedPlan", "bed")})=0', '"Plan is empty: it says what grows where"'),
        (f'AND(COUNT({log})=0,week_from="")',
         '"the log is empty: type rain and temperatures there"'),
    )  # fmt: skip
    page.state(book.words(week), "this_week_state", missing=missing, strong=True)
    start = f'IF(this_week_state<>"ok","",IF(week_from<>"",week_from,MAX({log})+1))'
    page.result("week_start", start, strong=True)
    setup = '"; the "&waterings_a_week&" waterings a week on Setup do not count here"'
    every = f'"any day, for Days on Timer is blank"&IF(N(waterings_a_week)<7,{setup},"")'
    days = f'IF(allowed_days="",{every},allowed_days&", from Timer")'
    page.state(days, "week_days", label="Water on")
    page.row += 1


def _advice(book: Book, page: Page, week: Answer) -> None:
    beds = book.places["Beds"].rows
    page.section("To do")

    def item(name: str) -> str:
        return f'IF({{bed}}="","",{week.item(name)})'

    names, valves, counted = (book.nth("Beds", name) for name in ("bed", "valve", "counted"))

    def of_set(column: str) -> str:
        """What Timer has for the set of the bed."""
        there = book.places[SETS].reference(column)
        return f'IFERROR(INDEX({there},INDEX({VALVES_NAMED["set"]},{{n}})),"")'

    ready = 'this_week_state<>"ok"'
    card = dict(zip(("quarter", "half", "inch"), CARD[book.system], strict=True))
    place = page.block(WEEK, {
        "bed": f'IF(OR({ready},{names}=""),"",{names})',
        "valve": f'IF({{bed}}="","",{valves}&"")',
        "to_do": f'IF({{bed}}="","",IF({counted}="off","off",IF({counted}<>"yes","see Beds",'
                 f'{week.item("to_do")})))',
        "minutes": item("minutes"),
        "every": item("every"),
        "rest": item("rest"),
        "by_hand": item("by_hand"),
        "week_minutes": item("week_minutes"),
        "used": item("used"),
        "rest_quarter": item("rest_quarter"),
        "rest_half": item("rest_half"),
        "rest_inch": item("rest_inch"),
        "probe": item("probe"),
        "why": f"{item('why')}&{OF_PROGRAM}",
        "program_time": of_set("weekly_time"),
        "percent":
            'IF(OR(N({program_time})=0,N({week_minutes})=0),"",{week_minutes}/{program_time})',
        "program": f'{of_set("program")}&""',
        "runs": 'IF(N({minutes})=0,"",{minutes}*{a_week}/week_waterings)',
        "a_week": item("a_week"),
    }, beds, filled=card)  # fmt: skip
    book.name_columns(place, {"runs": WEEK_RUNS})
    page.result("beds_by_hand", f'IF({ready},"",COUNTIF({place.here("by_hand")},">0"))')
    page.result("probes_due", f'IF({ready},"",COUNTIF({place.here("probe")},"due"))')
    most = f'IF(OR({ready},MAX({place.here("a_week")})=0),"",MAX({place.here("a_week")}))'
    page.result("week_waterings", most)
    page.row += 1
    page.note(SAID.rain)
    page.note(SAID.why)
    page.row += 1
    _percentages(book, page, place)


def _percentages(book: Book, page: Page, place: Place) -> None:
    """By how much a timer that holds the month's program is turned up or down."""
    page.section("Percentage of the timer's program")
    page.note(SAID.percent)
    percents, programs = place.here("percent"), place.here("program")
    idle = f"COUNT({percents})=0"
    share = f"ROUND(AVERAGE({percents})/2+MAX({percents})/2,2)"
    shown = page.styles.result("percent")
    page.result("week_percentage", f'IF({idle},"",{share})', style=shown)
    typed = book.inputs.settings.get("programs")
    count = int(typed) if isinstance(typed, int | float) and 1 <= typed <= 26 else 3
    for letter in ascii_uppercase[:count]:
        of = f'{programs},"{letter}"'
        mean = f"AVERAGEIFS({percents},{of})/2+_xlfn.MAXIFS({percents},{of})/2"
        page.result_row(f"Program {letter}", f'IF({idle},"",IFERROR(ROUND({mean},2),""))', "ratio",
                        "Of its sets, by Timer", style=shown)  # fmt: skip
    page.row += 1


def _season(book: Book, page: Page, week: Answer) -> None:
    page.section("The season so far")

    def item(name: str) -> str:
        return f'IF({{bed}}="","",{week.item(name)})'

    place = page.block("season so far", {
        "bed": book.places[WEEK].beside("bed"),
        "dry_days": item("dry_days"),
        "words": 'IF(N({dry_days})=0,"",{dry_days}&" days beyond the easy water")',
        "need": item("need"),
        "rain_so_far": item("rain_so_far"),
        "watered_so_far": item("watered_so_far"),
        "beyond": item("need_beyond_rain"),
        # Beside it, so that a row that is put in parts no bed from its area.
        "area": f'IF({{bed}}="","",{book.nth("Beds", "area")})',
    }, book.places["Beds"].rows)  # fmt: skip
    beyond, areas = place.here("beyond"), place.here("area")
    ready = 'OR(this_week_state<>"ok",N(planted_area)=0)'
    page.result(
        "season_need_beyond_rain", f'IF({ready},"",SUMPRODUCT({beyond},{areas})/planted_area)'
    )
    filled = Place(place.sheet, place.first, place.first + _beds(book) - 1, place.columns)
    names, unit = filled.reference("bed"), book.unit("depth")
    series = [
        Series(words, names, filled.reference(column))
        for words, column in (
            ("Need", "need"), ("Rain", "rain_so_far"), ("Watered", "watered_so_far"),
        )
    ]  # fmt: skip
    chart(page, "column", "What beds needed, and what rain and lines gave", series, (page.row, 0),
          x_title="Bed", y_title=f"Depth since planting ({unit})", size=(880, 320))  # fmt: skip
    page.row += 17


def _beds(book: Book) -> int:
    return max(len(book.inputs.tables.get("Beds", ())), 1)
