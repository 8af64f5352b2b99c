"""Soils, Crops, Plan, Weather, Bed need, Need, Season, Valves and Timer: the numbers on the sheets.

They are held against counts by day, balances of water, and the functions called from the examples.
"""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise, takewhile

import openpyxl
import pytest

import xlfuncs
from tests.made_once import made_once
from workbook_template.build import build, demo_inputs, results, starting_inputs, write
from workbook_template.kit.inputs import example_folder
from workbook_template.sheets.water.this_week import WEEK
from workbook_template.sheets.water.timer import SETS
from xlfuncs.errors import CellError

SHEETS = ("Soils", "Crops", "Plan", "Weather", "Bed need", "Need", "Season", "Valves", "Timer")
GALLON_OF_INCH_FOOT = 144 / 231  # an inch over a square foot, in US gallons of 231 cubic inches


@pytest.fixture(scope="module", params=["us", "metric"])
def system(request):
    return request.param


@pytest.fixture(scope="module")
def built(system, tmp_path_factory):
    path = tmp_path_factory.mktemp(system) / "farm.xlsx"
    result = made_once(path, system, demo_inputs(system))
    return result, openpyxl.load_workbook(path, data_only=True)


@pytest.fixture(scope="module")
def new(system, tmp_path_factory):
    path = tmp_path_factory.mktemp(system) / "new.xlsx"
    result = made_once(path, system, starting_inputs(system))
    return result, openpyxl.load_workbook(path, data_only=True)


def block(sheet, name, *, column=1, start=1):
    """Rows under the header row whose cell in `column` reads `name`: {first cell: the others}."""
    rows = sheet.iter_rows(min_row=start, values_only=True)
    assert any(row[column - 1] == name for row in rows)  # and on from there
    return {row[0]: row[1:] for row in takewhile(lambda row: row[0] not in (None, ""), rows)}


def read(path):
    """The sheets that are asked for, which saves most of a second; row by row."""
    return openpyxl.load_workbook(path, data_only=True, read_only=True)


def part(sheet, title, header="Bed"):
    """The block behind a section's title."""
    start = next(r for r in range(1, sheet.max_row) if sheet.cell(r, 1).value == title)
    return block(sheet, header, start=start)


def examples(system, name):
    path = example_folder(system) / f"{name}.csv"
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))[1:]


def weather(system):
    """Numbers by month of the example file, blanks as None."""
    rows = examples(system, "monthly_weather")
    return {int(row[0]): [float(cell) if cell else None for cell in row[1:]] for row in rows}


def reference_et(system, settings):
    """By month, straight from the file, with FAO-56's heat of the soil."""
    months, result = weather(system), {}
    mean = {m: (row[0] + row[1]) / 2 for m, row in months.items()}
    for m, (tmax, tmin, _, wind, high, low, sun, _) in months.items():
        heat = xlfuncs.monthly_soil_heat_flux(
            mean[(m - 2) % 12 + 1], mean[m], mean[m % 12 + 1], units=system
        )
        result[m] = xlfuncs.reference_et_pm(
            tmax, tmin, settings["latitude"], date(2026, m, 15).timetuple().tm_yday,
            settings["site_elevation"], wind, high, low, sun, soil_heat_flux=heat, units=system,
        )  # fmt: skip
    return result


def crop_of_day(system, settings):
    """(bed, day, coefficient) by a loop over the days of the example plan."""
    crops = {row["crop"]: row for row in demo_inputs(system).tables["Crops"]}
    season = settings["season_start"], settings["season_end"]
    for bed, crop, start, end in examples(system, "bed_plan"):
        first, row = date.fromisoformat(start), crops[crop]
        table = [row[f"{name}_days"] for name in ("initial", "development", "mid", "late")]
        length = (date.fromisoformat(end) - first).days
        # Stretched to the dates in whole days, what is left over goes to mid-season.
        stages = [round(days * length / sum(table)) for days in table]
        stages[2] += length - sum(stages)
        for age in range(length + 1):
            day = first + timedelta(age)
            kc = xlfuncs.crop_coefficient(
                age, *stages, row["kc_initial"], row["kc_mid"], row["kc_end"], units=system
            )
            if season[0] <= day <= season[1]:
                yield bed, day, kc


def test_no_cell_of_a_filled_or_a_new_workbook_holds_an_error(built, new):
    for book in (built[1], new[1]):
        for name in SHEETS:
            for row in book[name].iter_rows():
                for cell in row:
                    assert not str(cell.value).startswith("#"), f"{name}!{cell.coordinate}"


def test_a_new_workbook_shows_blanks_and_says_what_is_missing(new):
    result, book = new
    assert result.named("bed_need_state") == "12 of 12 months missing on Weather"
    assert (
        result.named("timer_state") == "Stations, Water from and Water until on Timer: one is blank"
    )
    for name, header in (("Season", "Bed"), ("Bed need", "Bed")):
        for bed, cells in block(book[name], header).items():
            assert bed == "North 1"
            shown = cells[:14]  # behind them folded ones say what Beds says
            assert not any(isinstance(cell, float | int) for cell in shown)


def test_reference_et_of_the_months(built, system):
    result, book = built
    expected = reference_et(system, result.inputs.settings)
    shown = {row["month"]: row["reference_et"] for row in result.rows("MonthlyWeather")}
    assert shown == pytest.approx(expected)
    assert result.named("peak_reference_et") == pytest.approx(max(expected.values()))
    assert book["Weather"].max_row > 12


def test_crop_use_and_days_against_a_loop_over_the_days(built, system):
    result, book = built
    et = reference_et(system, result.inputs.settings)
    use, days = {}, {}
    covers = {row["bed"]: row.get("cover") or "open" for row in result.rows("Beds")}
    left = {"open": 1.0, "plastic mulch": 0.85, "tunnel": 0.8}  # of the use in the open
    for bed, day, kc in crop_of_day(system, result.inputs.settings):
        used = left[covers[bed]] * kc * et[day.month]
        use[bed, day.month] = use.get((bed, day.month), 0) + used
        days[bed, day.month] = days.get((bed, day.month), 0) + 1
    for expected, title in ((use, "Crop use"), (days, "Days with a crop")):
        for bed, cells in part(book["Bed need"], title).items():
            for month in range(1, 13):
                right = 0 if bed == "North 7" else expected.get((bed, month), 0)
                assert cells[1 + month] == pytest.approx(right), (title, bed, month)


def test_effective_rain_never_passes_rain_or_use_and_stays_off_covered_beds(built, system):
    book, months = built[1], weather(system)
    use, rain = (part(book["Bed need"], title) for title in ("Crop use", "Effective rain"))
    for bed, cells in rain.items():
        for month in range(1, 13):
            got = cells[1 + month]
            assert 0 <= got <= min(use[bed][1 + month], months[month][2]) + 1e-9
            if cells[0] != "open":
                assert got == 0
    whole = xlfuncs.effective_rain(
        months[7][2], use["North 4"][8], use["North 4"][1], units=system
    )  # July is wholly planted
    assert rain["North 4"][8] == pytest.approx(whole)


def test_month_totals_balance_with_the_beds(built, system):
    """Gross volume of a month times the efficiency is the net depth of each bed on its area."""
    result, book = built
    use, rain = (part(book["Bed need"], t) for t in ("Crop use", "Effective rain"))
    areas = {row["bed"]: row["area"] for row in result.rows("Beds") if row["counted"] == "yes"}
    by_month = block(book["Need"], "Month")
    unit = GALLON_OF_INCH_FOOT if system == "us" else 1.0  # a millimetre on a m² is a litre
    for month, name in ((5, "May"), (7, "Jul"), (9, "Sep")):
        net = sum(
            (use[bed][1 + month] - rain[bed][1 + month]) * area * unit
            for bed, area in areas.items()
        )
        assert by_month[name][7] * result.named("efficiency") == pytest.approx(net)
    assert by_month["Year"][7] == pytest.approx(
        sum(row[7] for name, row in by_month.items() if name != "Year")
    )


def flow_of(row):
    """Solved, else nominal."""
    flows = (row.get(name) for name in ("delivered_flow", "nominal_flow"))
    return next(flow for flow in flows if isinstance(flow, float))


def test_season_minutes_bring_the_net_depth_of_the_month(built, system):
    """Minutes times flow times waterings, less losses, over the area: the depth that is missing."""
    result, book = built
    need = {t: part(book["Bed need"], t) for t in ("Crop use", "Dependable rain")}
    days = part(book["Bed need"], "Days with a crop")
    season = block(book["Season"], "Bed")
    unit = GALLON_OF_INCH_FOOT if system == "us" else 1.0
    checked = 0
    for row in result.rows("Beds"):
        for month in range(1, 13):
            minutes, in_use = season[row["bed"]][month], days[row["bed"]][1 + month]
            if row["counted"] != "yes":
                assert minutes == ("off" if row["counted"] == "off" else "check")
            elif in_use == 0:
                assert minutes == "fallow"
            else:
                waterings = result.named("waterings_a_week") * in_use / 7
                given = minutes * flow_of(row) * waterings * result.named("efficiency")
                wanted = need["Crop use"][row["bed"]][1 + month]
                wanted -= need["Dependable rain"][row["bed"]][1 + month]
                assert given / (row["area"] * unit) == pytest.approx(max(wanted, 0), abs=1e-9)
                checked += 1
    assert checked > 40


def test_each_month_gives_every_bed_what_it_wants_or_says_who_does_not_get_it(built):
    """The minutes of a valve from its beds with a crop only, and their percentages."""
    season = built[1]["Season"]
    wanted, given = block(season, "Bed"), part(season, "Given, with one time per valve")
    off, percent = part(season, "More or less than wanted (%)"), part(season, "Percentage")
    named = met = 0
    for bed, cells in wanted.items():
        for month in range(1, 13):
            want, gives, said = cells[month], given[bed][month], off[bed][month]
            if not isinstance(want, float | int):
                assert gives in ("", None)
                continue
            assert percent[bed][month] == round(
                100
                * gives
                / max(value for value in given[bed][1:13] if isinstance(value, float | int))
            )
            if want == 0:
                continue
            if abs(gives / want - 1) <= 0.1:
                met += 1
                assert said in ("", None)
            else:
                named += 1
                assert said == pytest.approx(100 * (gives / want - 1), abs=0.51)
    assert met > 20 and named > 10


def test_the_peak_is_that_of_the_thirstiest_bed(built):
    result, book = built
    most = {bed: cells[1] for bed, cells in part(book["Bed need"], "Net depth per week").items()}
    assert result.named("greatest_week") == max(v for v in most.values() if v not in ("", None))
    over = sum(v > result.named("weekly_depth") * 1.0001 for v in most.values()
               if v not in ("", None))  # fmt: skip
    assert result.named("beds_over_weekly_depth") == over


def test_rows_of_what_happens_while_the_water_runs(built, system):
    """By hand: the run less twice the filling; 1 ft/s through the widest line on Lines; what the
    bucket test leaves beside the greatest set, over that flow."""
    result, book = built
    rows = {row[0]: row[1] for row in book["Timer"].iter_rows(max_col=2, values_only=True)}
    sets = block(book["Timer"], "Set")
    filling = max(row["fill_minutes"] for row in result.rows("Beds")
                  if isinstance(row["fill_minutes"], float))  # fmt: skip
    assert rows["Lines full after"] == pytest.approx(filling)
    shortest = min(cells[2] for cells in sets.values())
    assert rows["Inject for"] == pytest.approx(shortest - 2 * filling)
    bore = max(row["inside_diameter"] for row in result.rows("Lines"))
    flow = bore**2 / 0.408498 if system == "us" else 0.3048 * math.pi / 4 * bore**2 * 0.06
    assert rows["Flow at a line's open end"] == pytest.approx(flow, rel=1e-4)
    spare = result.named("measured_flow") - max(cells[3] for cells in sets.values())
    assert rows["Ends open at once"] == math.floor(spare / flow)


def test_dependable_rain_is_never_more_than_that_of_a_mean_year(built):
    mean, dry = (part(built[1]["Bed need"], t) for t in ("Effective rain", "Dependable rain"))
    for bed, cells in dry.items():
        for month in range(1, 13):
            assert 0 <= cells[1 + month] <= mean[bed][1 + month]


def test_a_valve_passes_what_its_beds_want_and_the_verdicts_say_who_loses(built):
    valves = block(built[1]["Valves"], "Bed")
    sets = {}
    for valve, wanted, flow, _, number, given, surplus, verdict, *_ in valves.values():
        if wanted in (None, ""):
            assert verdict in ("off", "see Beds", "fallow")
            continue
        sets.setdefault(valve, []).append((wanted * flow, given * flow, number))
        assert surplus == pytest.approx(given - wanted)
        words = "ok" if abs(surplus) <= 0.1 * wanted else "too much"
        assert verdict == (words if surplus > 0 or words == "ok" else "too little")
    for beds in sets.values():
        assert sum(b[0] for b in beds) == pytest.approx(sum(b[1] for b in beds))
        assert len({b[2] for b in beds}) == 1
    assert len(sets) == 5


def test_timer_runs_one_set_at_a_time_inside_the_hours(built):
    result, book = built
    program = block(book["Timer"], "Set")
    assert result.named("timer_state") == "ok"
    runs = []
    for _, beds, wanted, _, _, station, _, _, opens, minutes, days, week, *_ in program.values():
        assert beds >= 1
        if station == "by hand":
            assert opens == "–"
            assert (days, week) == ("4 per week", 4 * round(minutes))
            continue
        assert minutes == pytest.approx(wanted, abs=0.51)  # to the timer's step
        assert days == "Mon Wed Fri Sun"
        hours, minute = opens.split(":")
        runs.append((int(hours) * 60 + int(minute), minutes))
    runs.sort()
    assert len(runs) == 4
    assert result.named("sets_by_hand") == 1
    assert runs[0][0] >= 4.5 * 60
    assert runs[-1][0] + runs[-1][1] <= 9 * 60
    for (start, length), (following, _) in pairwise(runs):
        assert start + length <= following


def test_open_beds_do_without_lines_in_a_wet_cool_year_and_covered_ones_never(tmp_path):
    system, inputs = "us", demo_inputs("us")
    rows = [
        {**row, "rain": row["rain"] * 6, "sunshine": 3.0, "min_humidity": 0.8, "max_humidity": 0.98}
        for row in inputs.tables["MonthlyWeather"]
    ]
    path = tmp_path / "wet.xlsx"
    wet = replace(inputs, tables={**inputs.tables, "MonthlyWeather": rows})
    build(path, system, wet)
    need = read(path)["Need"]
    verdicts = {bed: (cells[0], cells[5]) for bed, cells in block(need, "Bed").items()}
    assert verdicts["South 3"] == ("open", "does without")
    assert verdicts["North 7"] == ("open", "off")
    for cover, words in verdicts.values():
        if cover != "open":
            assert words == "needs lines"


def test_a_faulty_row_of_the_plan_is_named_and_spoils_no_other(tmp_path):
    system, inputs = "metric", demo_inputs("metric")
    plan = [dict(row) for row in inputs.tables["BedPlan"]]
    plan[1]["crop"] = "no such crop"
    plan[2] = {**plan[2], "end": date(2026, 1, 1)}
    path = tmp_path / "faulty.xlsx"
    result = build(path, system, replace(inputs, tables={**inputs.tables, "BedPlan": plan}))
    checks = [row["check"] for row in result.rows("BedPlan")]
    assert checks[1:3] == ["Crop: not in the list of crops", "To: before From"]
    assert set(checks) - set(checks[1:3]) == {"ok"}
    season = block(read(path)["Season"], "Bed")
    assert season["North 2"][7] == "fallow"
    assert season["Tunnel 1"][7] > 0


def test_a_cup_that_cannot_be_read_costs_its_test_alone():
    farm = demo_inputs("us")
    tests = [dict(row) for row in farm.tables["CatchTests"]]
    tests[0]["cup_1"] = "1,2x"
    result = results(write("us", replace(farm, tables={**farm.tables, "CatchTests": tests})))
    assert result.rows("CatchTests")[0]["words"] == "a cup cannot be read"
    cells = [value for sheet in result.values.values() for value in sheet.values()]
    assert not [value for value in cells if isinstance(value, CellError)]


@pytest.mark.parametrize(
    ("blank", "words"),
    [
        ("soil", "Choose a soil on Setup"),
        ("latitude", "Latitude on Setup is missing"),
        ("BedPlan", "Plan is empty: it says what grows where"),
    ],
)
def test_this_week_says_what_it_cannot_do_without(blank: str, words: str) -> None:
    farm = demo_inputs("us")
    settings = {name: value for name, value in farm.settings.items() if name != blank}
    tables = {name: [] if name == blank else rows for name, rows in farm.tables.items()}
    garden = replace(farm, settings=settings, tables=tables)
    built = results(write("us", garden, edition="grower"), but=["DESIGNS"])
    assert built.named("this_week_state") == words
    assert not [v for v in built.values["This week"].values() if isinstance(v, CellError)]


def made(tmp_path, system, edition="all", **settings):
    inputs = demo_inputs(system)
    inputs = replace(inputs, settings=inputs.settings | settings)
    return build(tmp_path / "farm.xlsx", system, inputs, edition=edition)


def sets_of(result):
    place = result.places[SETS]
    cells = result.values[place.sheet]
    rows = [
        {name: cells.get((row + 1, column + 1)) for name, column in place.columns.items()}
        for row in range(place.first, place.last + 1)
    ]
    return [row for row in rows if row["set"]]


def advice_of(result):
    place = result.places[WEEK]
    cells = result.values[place.sheet]
    rows = [
        {name: cells.get((row + 1, column + 1)) for name, column in place.columns.items()}
        for row in range(place.first, place.last + 1)
    ]
    return [row for row in rows if row["bed"]]


@pytest.mark.parametrize("edition", ["all", "grower"])
def test_a_timer_that_follows_this_week_has_its_minutes(system, tmp_path, edition):
    """Set by set; the advice itself is held against daily balances elsewhere."""
    result = made(tmp_path, system, edition, timer_follows="this week")
    advice, sets = advice_of(result), sets_of(result)
    assert result.named("timer_state") == "ok"
    assert result.named("watering_days") == 4  # Mon Wed Fri Sun on Timer
    for entry in sets:
        runs = [row for row in advice if row["bed"] in entry["names"].split(", ")]
        minutes = {round(row["minutes"], 6) for row in runs if row["minutes"]}
        assert minutes == {round(entry["minutes"], 6)}
    watered = {row["bed"] for row in advice if row["minutes"]}
    assert watered == {bed for entry in sets for bed in entry["names"].split(", ")}


def test_a_percentage_turns_the_timers_program_into_the_advice(built):
    result, _ = built
    sets = {bed: entry for entry in sets_of(result) for bed in entry["names"].split(", ")}
    shares = []
    for row in advice_of(result):
        if row["week_minutes"] and row["bed"] in sets:
            shares.append(row["week_minutes"] / sets[row["bed"]]["weekly_time"])
            assert row["percent"] == pytest.approx(shares[-1])
            assert f"{round(100 * shares[-1])}% of Timer's " in row["why"]
    midway = (sum(shares) / len(shares) + max(shares)) / 2
    assert result.named("week_percentage") == pytest.approx(midway, abs=0.005)


def test_the_timer_waters_as_often_as_the_month_asks_for(system, tmp_path):
    result = made(tmp_path, system, timer_follows="month", timer_month=7, allowed_days=None)
    season = read(tmp_path / "farm.xlsx")["Season"]
    asked = next(r for r in season.iter_rows(values_only=True) if r[0] == "Waterings" and r[8])
    setup = made(tmp_path, system, timer_month=7, allowed_days=None, waterings_a_week=3.0)
    assert result.named("watering_days") == asked[1 + 7] != setup.named("watering_days")
    two = {"allowed_days": "Tue, friday"}
    on_two = made(tmp_path, system, timer_follows="month", timer_month=7, **two)
    assert on_two.named("days_allowed") == on_two.named("watering_days") == 2
    assert {row["days"] for row in sets_of(on_two)} == {"Tue Fri", "2 per week"}
    for often, as_before in zip(sets_of(result), sets_of(setup), strict=True):
        weeks = [entry["minutes"] * r.named("watering_days")
                 for entry, r in ((often, result), (as_before, setup))]  # fmt: skip
        assert weeks[0] == pytest.approx(weeks[1])


@pytest.mark.parametrize("by", ["design", "measured"])
def test_gross_depth_rests_on_a_uniformity_once(system, tmp_path, built, by):
    """Keller and Karmeli: EU = (1 - 1.27 CV) qmin / qmean; the low quarter of the catch tests."""
    before, _ = built
    result = made(tmp_path, system, efficiency_by=by)
    book = read(tmp_path / "farm.xlsx")
    if by == "design":
        cv = max(float(line["cv"]) for line in demo_inputs(system).tables["Lines"])
        even = [row[7] for row in book["Pressure"].iter_rows(values_only=True)
                if isinstance(row[7], float) and 0.9 < row[7] < 1 and row[0]]  # fmt: skip
        used = (1 - 1.27 * cv) * sum(even) / len(even)
    else:
        used = result.named("uniformity_of_catch_tests")
    assert result.named("efficiency_used") == pytest.approx(used)
    assert result.named("efficiency_words") == by
    for now, then in zip(result.rows("Beds"), before.rows("Beds"), strict=True):
        if then["counted"] == "yes":
            ratio = then["minutes_delivered"] * before.named("efficiency")
            assert now["minutes_delivered"] * used == pytest.approx(ratio)


def test_a_catch_test_made_again_counts_alone(built):
    result, _ = built
    counts = {(row["bed"], row["checked_on"]): row["counts"] for row in result.rows("CatchTests")}
    again = {bed: max(day for b, day in counts if b == bed) for bed, _ in counts}
    last = [each for (bed, day), each in counts.items() if again[bed] == day]
    assert len(last) < len(counts)
    assert result.named("uniformity_of_catch_tests") == pytest.approx(sum(last) / len(last))


def test_a_bed_without_minutes_says_why(built):
    result, _ = built
    said = {row["bed"]: row["to_do"] for row in advice_of(result)}
    off = {row["bed"]: row["counted"] for row in result.rows("Beds")}
    assert {bed: said[bed] for bed, counted in off.items() if counted != "yes"} == {
        bed: "off" if counted == "off" else "see Beds"
        for bed, counted in off.items() if counted != "yes"
    }  # fmt: skip


def test_a_metered_flow_waters_its_bed(system, tmp_path, built):
    result, _ = built
    checks = {row["bed"]: row["metered_flow"] for row in demo_inputs(system).tables["FieldChecks"]}
    assert len(checks) == 3
    said = {row["bed"]: row["why"] for row in advice_of(result)}
    assert {bed for bed, why in said.items() if "by the flow measured" in why} == set(checks)


def test_a_bed_without_a_valve_is_named_and_moves_no_other_set(tmp_path):
    farm = demo_inputs("us")
    beds = [dict(row) for row in farm.tables["Beds"]]
    beds[0] |= {"valve": None}
    beds[1] |= {"laterals": 0}
    changed = replace(farm, tables=farm.tables | {"Beds": beds})
    own = build(tmp_path / "farm.xlsx", "us", changed)
    sets = [row["set"] for row in own.block(SETS) if row["set"]]
    before = [
        row["set"] for row in made_once(tmp_path / "b.xlsx", "us", farm).block(SETS) if row["set"]
    ]
    assert sets == [*before, beds[0]["bed"]]
    book = read(tmp_path / "farm.xlsx")
    words = [str(row[3].value) for row in book["Checks"].iter_rows(max_col=4)]
    assert f"{beds[0]['bed']}: Valve (other beds have one) is blank" in words
    assert f"{beds[1]['bed']}: Lines per bed: must be at least 1, is 0" in words
    assert not any("show an error" in said for said in words)


def test_a_bed_that_gets_less_than_half_of_its_minutes_is_wrong(tmp_path):
    farm = demo_inputs("us")
    beds = [dict(row) for row in farm.tables["Beds"]]
    beds[0] |= {"strip_width": 90, "bed_top_width": 190}  # six times as wide, by the same lines
    build(tmp_path / "farm.xlsx", "us", replace(farm, tables=farm.tables | {"Beds": beds}))
    book = read(tmp_path / "farm.xlsx")
    kinds = {row[1].value for row in book["Checks"].iter_rows(max_col=4)
             if str(row[3].value).startswith(f"{beds[0]['bed']}: gets ")}  # fmt: skip
    assert kinds == {"wrong"}


def test_months_without_rain_count_none_and_say_so(system):
    """Left blank, the rain made 535 cells of the sheets behind a #VALUE!."""
    inputs = demo_inputs(system)
    dry = [{**row, "rain": None} for row in inputs.tables["MonthlyWeather"]]
    built = results(
        write(system, replace(inputs, tables={**inputs.tables, "MonthlyWeather": dry})),
        but=["DESIGNS"],
    )
    errors = [(sheet, at) for sheet in SHEETS for at, value in built.values[sheet].items()
              if isinstance(value, CellError)]  # fmt: skip
    assert errors == []
    none = replace(inputs, settings={**inputs.settings, "rain_counted": "none"})
    without = results(write(system, none), but=["DESIGNS"])
    season = built.block("season minutes")
    assert len(season) > 9 and season == without.block("season minutes")
    said = "dependable: nothing in 12 months without rain on Weather"
    assert built.named("timer_rain_counted") == said


def test_clay_is_watered_in_cycles_before_crops_stand_on_plan(system):
    """Water stands on it whatever grows there."""
    inputs = demo_inputs(system)
    tables = {**inputs.tables, "BedPlan": []}
    settings = {
        **inputs.settings,
        "timer_follows": "Setup",
        "timer_month": None,
        "waterings_a_week": 1.0,
    }  # long ones
    for soil, more in (("clay", True), ("sand", False)):
        changed = replace(inputs, tables=tables, settings={**settings, "soil": soil})
        built = results(write(system, changed), but=["DESIGNS"])
        cycles = [row["cycles"] for row in built.block(SETS) if row["set"]]
        assert (max(cycles) > 1) == more, cycles
