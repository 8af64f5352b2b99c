"""Cost: what a season costs and what for, per area, per bed; when parts fall due."""

from functools import partial

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart, rows_of
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import call, checked
from workbook_template.kit.page import Page, currency_axis
from workbook_template.sheets.money import tariffs
from xlfuncs.tables.money.parts import PART_LIVES
from xlfuncs.tables.money.prices import TARIFFS

SHEETS = (
    SheetFor("Cost", "What a season costs, by the lives of parts below and Running cost on Setup.",
             (CONSULTANT,), group="costs", needs=("Tariffs", "Purchase", "Summary"),
             reads=("Need",), client=SEEN),
)  # fmt: skip

COLUMNS = 12
TIERS_AT = 9  # column of the tiers, beside the water of a season
BEDS_AT = 5  # column of the beds, beside the replacement plan
REPLACING = "replacing"  # the block, by which the proposal finds it
PLAN_ROWS = 20
CHARTED_YEARS = 10
CHART_ROWS = 16
LIVES = (
    ("shortest_life", "short life"), ("likely_life", "likely life"), ("longest_life", "long life"),
)  # fmt: skip
TARIFF = ("fixed", "sewer_price", "sewer_share", "billed_unit")  # what WATER_CHARGE asks of it
AREAS = (
    ("planted_area", "Over the planted area", "Where the crops stand"),
    ("bed_top_area", "Over the bed tops", "Beds from edge to edge"),
    ("garden_area", "Over the garden", "Beds and paths together"),
)


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(28, 13, 13, *(11,) * (COLUMNS - 4), 14), numbers_at=12)
    money = currency_axis(page)
    page.section("How long parts last, and what they cost a year", columns=COLUMNS)
    page.table(PART_LIVES, _yearly(), spare=6, widths={
        "part": 28, "cost": 13, "shortest_life": 13, "likely_life": 11, "longest_life": 11,
        "age": 11, "note": 22})  # fmt: skip
    _first_purchase(book, page)
    _water(book, page)
    first, last = _season(book, page)
    charts = page.row + 2  # a row that grows with its words does not reach them
    page.row = charts + CHART_ROWS
    plan = _plan_and_beds(book, page)
    _charts(page, charts, (first, last), plan, money)


def _yearly() -> dict[str, str]:
    return {
        f"yearly_{name}": f'IF(OR({{cost}}="",N({{{name}}})=0),"",'
        f"{call('ANNUAL_COST', '{cost}', f'{{{name}}}', 'interest', 'N({salvage})')})"
        for name, _ in LIVES
    }


def _over_areas(page: Page, cost: str) -> None:
    for area, label, words in AREAS:
        each = call("COST_PER_AREA", cost, area)
        page.result_row(label, f'IF(OR(N({cost})=0,N({area})=0),"",{each})', "money_per_area",
                        words)  # fmt: skip


def _first_purchase(book: Book, page: Page) -> None:
    page.section("Buying it now", columns=COLUMNS)
    page.result("materials_now", 'IF(N(cost_of_parts)=0,"",cost_of_parts)', strong=True)
    _over_areas(page, "materials_now")
    page.row += 1


def _water(book: Book, page: Page) -> None:
    """The season's water on its bills, by the tariff in force on the plan's date."""
    page.section("Water of a season", columns=COLUMNS)
    top = page.row
    tiers = [
        {"tier": f'IF({{price}}="","",{n})',
         **{name: tariffs.tier(book, name, "cost_tariff", n) for name in ("top", "price")}}
        for n in range(1, tariffs.MOST_TIERS + 1)
    ]  # fmt: skip
    listed = page.block("tiers in force", tiers, col=TIERS_AT)
    tops, prices = listed.here("top"), listed.here("price")
    page.row = top
    from_days = book.column("Tariffs", "valid_from")
    in_force = tariffs.tariff_in_force(book, "plan_date")
    in_force = f'IF(plan_date="",MAX({from_days}),{in_force})'

    terms = {
        "volume": "season_volume/N(season_bills)",
        "tier_tops": tops,
        "tier_prices": prices,
        **{name: f"cost_{name}" for name in TARIFF},
    }
    # gallons to thousands of gallons, small_units to cubic metres
    small_units = 'IF(season_weeks="",N(year_water),N(water_a_week)*season_weeks)'
    page.result("season_volume", f'IF({small_units}=0,"",{small_units}/1000)')
    page.result("cost_tariff", f'IF({in_force}=0,"",{in_force})')
    for name in TARIFF:
        cell, column = tariffs.of_tariff(book, name, "cost_tariff"), TARIFFS[name]
        otherwise = "1" if name == "sewer_share" else "0"
        page.sheet.set_row(page.row, None, None, {"level": 1, "hidden": True})
        page.result_row(column.header, f'IFERROR(IF({cell}="",{otherwise},{cell}),{otherwise})',
                        column.dimension, "Of that tariff", name=f"cost_{name}")  # fmt: skip
    missing = (
        ("OR(N(season_volume)=0,N(season_bills)=0)", '"No water: see Need, or Setup"'),
        (f"OR(N(cost_tariff)=0,COUNT({prices})=0)", '"No tariff on Tariffs yet"'),
    )
    page.state(checked("WATER_CHARGE", **terms), "water_charge_check", missing=missing)
    page.result("season_bill", f'IF(water_charge_check<>"ok","",{call("WATER_CHARGE", **terms)})')
    page.row = max(page.row, listed.last + 1) + 1


def _season(book: Book, page: Page) -> tuple[int, int]:
    """The cost of a season by what it is for; gives the first and last row of the parts."""
    page.section("A season", columns=COLUMNS)
    first = page.row
    wear = [book.column("PartLives", f"yearly_{name}") for name, _ in LIVES]
    bills, fixed = (tariffs.of_tariff(book, name, "cost_tariff") for name in ("periods", "fixed"))
    energy = call("PUMPING_ENERGY", "season_volume*1000", "pumping_pressure", "pump_efficiency",
                  "N(pump_lift)")  # fmt: skip
    no_pump = 'OR(pumping_pressure="",pump_efficiency="",energy_price="",N(season_volume)=0)'
    page.result("season_equipment", f'IF(COUNT({wear[1]})=0,"",SUM({wear[1]}))')
    page.result("season_water_cost", 'IF(N(season_bill)=0,"",season_bill*N(season_bills)'
                f"+MAX({bills}-N(season_bills),0)*N({fixed}))")  # fmt: skip
    page.result("season_energy", f'IF({no_pump},"",{energy}*energy_price)')
    page.result("season_labour", 'IF(OR(season_hours="",hour_cost=""),"",season_hours*hour_cost)')
    last = page.row - 1
    parts = f"$B${first + 1}:$B${last + 1}"
    page.result("season_cost", f'IF(COUNT({parts})=0,"",SUM({parts}))', strong=True)
    for (_, words), column in zip((LIVES[0], LIVES[2]), (wear[0], wear[2]), strict=True):
        page.result_row(
            f"With the {words} of parts",
            f'IF(N(season_equipment)=0,"",season_cost-season_equipment+SUM({column}))',
            "money",
        )
    _over_areas(page, "season_cost")
    page.result_row("A bed", 'IF(OR(N(season_cost)=0,beds_counted=0),"",season_cost/beds_counted)',
                    "money", "The mean of the beds counted; by their areas below")  # fmt: skip
    return first, last


def _plan_and_beds(book: Book, page: Page) -> int:
    """When parts fall due, and the season's cost of each bed beside it; the plan's first row."""
    page.section("Replacing parts, at today's prices; each bed's season", columns=COLUMNS)
    lives = book.span(PART_LIVES), "plan_years"
    parts, costs = (book.column("PartLives", name) for name in ("part", "cost"))
    missing = (
        (f"COUNT({costs})=0", '"No costs of parts yet"'),
        (f"COUNT({costs})<COUNTA({parts})", '"A part has no cost: enter it, or clear its row"'),
    )
    page.state(checked("REPLACEMENT_PLAN", *lives), "plan_check", missing=missing)
    top = page.row
    plan = page.whole(call("REPLACEMENT_PLAN", *lives), REPLACING, PLAN_ROWS,
                      ready='plan_check="ok"')  # fmt: skip
    end = page.row
    page.row = top + 1
    _beds(book, page)
    page.row = max(page.row, end)
    return plan.first


def _beds(book: Book, page: Page) -> None:
    of_bed = partial(book.nth, "Beds")
    beds = book.places["Beds"].rows
    counted = f'{of_bed("counted")}<>"yes"'
    width = of_bed("bed_top_width")
    top = f'IF({width}="",{{area}},{call("BED_AREA", of_bed("length"), width)})'
    listed = page.block("season of beds", {
        "bed": f'IF({counted},"",{of_bed("bed")})',
        "area": f'IF({counted},"",{of_bed("area")})',
        "top": f'IF({counted},"",{top})',
        "season": 'IF(OR({bed}="",N(season_cost)=0),"",season_cost*{area}/planted_area)',
    }, beds, col=BEDS_AT)  # fmt: skip
    page.row = listed.last + 1
    page.text(page.row, BEDS_AT, "In all", page.styles.strong)
    for name, dimension in (("area", "area"), ("top", "area"), ("season", "money")):
        cells = listed.here(name, fixed=False)
        page.formula(page.row, listed.columns[name], f'IF(COUNT({cells})=0,"",SUM({cells}))',
                     dimension, strong=True)  # fmt: skip
    book.name("bed_top_area", page.name, page.row, listed.columns["top"])
    page.text(page.row + 1, BEDS_AT, "The season's cost is shared out by planted area.",
              page.styles.aside)  # fmt: skip
    page.row += 3


def _charts(page: Page, below: int, season: tuple[int, int], plan: int, money: str) -> None:
    def of(rows: tuple[int, int], col: int) -> str:
        return rows_of(page, *rows, col)

    chart(page, "bar", "Where the money of a season goes",
          [Series("Cost", of(season, 0), of(season, 1))], (below, 0),
          x_title=money, size=(450, 300))  # fmt: skip
    years = plan, plan + CHARTED_YEARS - 1
    lives = [Series(words.capitalize(), of(years, 0), of(years, n))
             for n, (_, words) in enumerate(LIVES, 1)]  # fmt: skip
    chart(page, "column", "Replacing parts, by how long they last", lives, (below, 4),
          x_title="year from now, 1 the coming one", y_title=money,
          size=(640, 300))  # fmt: skip
