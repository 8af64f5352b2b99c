"""The money sheets: their numbers are those of the Python functions on the example inputs.

The sums are also taken from the example files by plain arithmetic, so that neither the sheets nor
the functions stand alone.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import xlfuncs
from tests.made_once import made_once
from workbook_template.build import Built, demo_inputs, results, starting_inputs, write
from workbook_template.kit.inputs import Inputs
from workbook_template.sheets.money import year_detail
from xlfuncs.tables.money.quotation import OPTIONS

SYSTEMS = ("us", "metric")
EXAMPLES = Path(__file__).parents[2] / "examples"
MONEY_SHEETS = (
    "Tariffs", "Cost", "Quoting", "Quotation", "Ledger", "Meter", "Stock", "Years", "Water bills",
    "Year detail",
)  # fmt: skip


@dataclass
class Farm:
    """A built workbook, as the builder and as a reader of the file sees it."""

    system: str
    built: Built
    book: Any

    def read(self, name: str) -> dict[str, list[Any]]:
        """The columns of an example file, blanks as None, headings without units."""
        with (EXAMPLES / self.system / name).open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        return {key.split(" (")[0]: [_value(row[key]) for row in rows] for key in rows[0]}

    def setting(self, name: str) -> Any:
        return self.built.inputs.settings.get(name)

    def block(self, sheet: str, heading: str, columns: int, left: int = 0) -> list[list[Any]]:
        """The filled rows below the cell that holds `heading`, from `left` columns before it."""
        page = self.book[sheet]
        top = next(c for row in page.iter_rows() for c in row if c.value == heading)
        first = top.column - left
        rows = page.iter_rows(top.row + 1, page.max_row, first, first + columns - 1, True)
        filled = []
        for row in rows:
            if row[0] in (None, ""):
                break
            filled.append(list(row))
        return filled


def _value(text: str) -> Any:
    try:
        return float(text) if text else None
    except ValueError:
        return text


def _farm(system: str, folder: Path, inputs: Inputs) -> Farm:
    path = folder / f"{system}.xlsx"
    built = made_once(path, system, inputs)
    return Farm(system, built, openpyxl.load_workbook(path, data_only=True))


@pytest.fixture(scope="module", params=SYSTEMS)
def farm(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Farm:
    folder = tmp_path_factory.mktemp("money")
    return _farm(request.param, folder, demo_inputs(request.param))


def _errors(book: Any, sheets: tuple[str, ...] = MONEY_SHEETS) -> Iterator[str]:
    for name in sheets:
        for row in book[name].iter_rows():
            yield from (f"{name}!{c.coordinate}" for c in row if str(c.value).startswith("#"))


def comparison(farm: Farm) -> Any:
    """YEAR_ON_YEAR from the example files, by way of Python."""
    ledger, around = farm.read("ledger.csv"), farm.read("years.csv")
    return xlfuncs.year_on_year(ledger, around, known_from="2023-01-01", units=farm.system)


def test_no_money_sheet_holds_an_error(farm: Farm) -> None:
    assert not list(_errors(farm.book))


def test_year_detail_is_year_on_year(farm: Farm) -> None:
    expected = comparison(farm)
    shown = farm.block(year_detail.SHEET, "Kind", year_detail.RANK)
    assert len(shown) == len(expected)
    for row, wanted in zip(shown, expected.itertuples(index=False), strict=True):
        assert (row[0], row[1]) == (wanted[0], wanted[1])
        for cell, number in zip(row[2:], wanted[2:], strict=True):
            if isinstance(number, str):
                assert cell == number or (cell, number) == ("–", "")
            elif number == number:
                assert cell == pytest.approx(number, abs=1e-9)
            else:
                assert cell == "–"


def test_sums_of_a_year_are_those_of_the_ledger(farm: Farm) -> None:
    table, around = comparison(farm), farm.read("years.csv")
    unit = "kgal" if farm.system == "us" else "m³"
    shown = farm.block("Years", f"Water ({unit})", 9, left=1)
    assert [row[0] for row in shown] == [2023, 2024, 2025]
    for year, water, paid, price, materials, labour, _, total, per_area in shown:
        of_year = table[table["year"] == year].set_index("kind")
        amounts = of_year["amount"]
        assert water == pytest.approx(of_year["quantity"]["water"])
        assert paid == pytest.approx(amounts["water"])
        assert labour == pytest.approx(amounts["labor"])
        assert total == pytest.approx(amounts.sum())
        assert materials == pytest.approx(amounts.drop(["water", "labor"]).sum())
        assert price == pytest.approx(paid / water)
        area = around["Planted area"][around["Year"].index(year)]
        assert per_area == pytest.approx(total / area)


def water_by_tariff(farm: Farm) -> Any:
    """TARIFF_YEAR_ON_YEAR of 2025 from the example files, by way of Python."""
    ledger, around = farm.read("ledger.csv"), farm.read("years.csv")
    tiers, tariffs = farm.read("tiers.csv"), farm.read("tariffs.csv")
    return xlfuncs.tariff_year_on_year(
        2025, ledger, tariffs, tiers, around, units=farm.system
    ).iloc[0]  # fmt: skip


def test_water_of_the_year_explained_goes_by_its_tariffs(farm: Farm) -> None:
    expected = water_by_tariff(farm)
    assert farm.built.named("water_bills_check") == "ok"
    assert farm.built.named("tariff_change") == pytest.approx(expected["change"])
    shown = {row[0]: row[1:] for row in farm.block("Years", "Kind", 13)}
    ledger = comparison(farm).set_index(["kind", "year"]).loc[("water", 2025)]
    before, now, change, *effects, credits, not_split, exchange, beside = shown["water"]
    assert (before, now, change) == pytest.approx(
        (ledger["before"], ledger["compared"], ledger["change"])
    )
    names = ("price_effect", "area_effect", "weather_effect", "use_effect", "fixed_effect")
    assert effects == pytest.approx([expected[name] for name in names])
    assert (credits, exchange) == (ledger["credits_effect"], expected["exchange_effect"])
    assert not_split == 0
    beyond = ledger["change"] - expected["change"] - credits
    assert beside == pytest.approx(beyond, abs=0.005)


def test_effects_of_every_kind_add_up_and_so_do_those_of_the_chart(farm: Farm) -> None:
    for _, before, now, change, *effects in farm.block("Years", "Kind", 13):
        if before is not None:
            assert sum(effects) == pytest.approx(change, abs=1e-9)
            assert now - before == pytest.approx(change, abs=1e-9)
    table = comparison(farm)
    last = table[table["year"] == 2025]
    rows = [[cell.value for cell in row[:13]] for row in farm.book["Years"].iter_rows()]
    (total,) = (row for row in rows if row[0] == "All kinds shown")
    assert total[1:3] == pytest.approx([last["before"].sum(), last["compared"].sum()])
    assert sum(total[4:]) == pytest.approx(total[3], abs=0.005)
    assert total[2] - total[1] == pytest.approx(total[3], abs=0.005)
    made = farm.book["Years"]._charts[0].series[0]  # the chart is of this row
    at = rows.index(total) + 1
    assert made.val.numRef.f == f"'Years'!$D${at}:$M${at}"
    assert [rows[at - 12][3], rows[at - 12][-1]] == ["Change", "Outside the tariff"]
    assert made.cat.strRef.f == f"'Years'!$D${at - 11}:$M${at - 11}"


def test_bills_as_paid_are_those_of_the_tariff(farm: Farm) -> None:
    # The invented bills were made from the tariff and rounded to the cent each in two parts.
    page = farm.book["Water bills"]
    heads = [c for row in page.iter_rows() for c in row if c.value == "Difference from the tariff"]
    bills = [page.cell(head.row + i, head.column).value for head in heads for i in range(1, 7)]
    assert len(bills) == 12
    labels = ("Paid for water", "Of it credits")  # these apart, the bills are what was paid
    terms = [[page.cell(c.row, 2).value for c in page["A"] if c.value == label] for label in labels]
    for head, total, back in zip(heads, *terms, strict=True):
        paid = sum(page.cell(head.row + i, head.column - 1).value for i in range(1, 7))
        assert paid + back == pytest.approx(total, abs=0.001)
    # But the bill over New Year: two of its 60 days are at the old tariff, which was lower.
    assert 0.02 < bills.pop(6) < 0.05
    assert bills == pytest.approx([0] * 11, abs=0.011)


def test_the_meter_agrees_with_the_bills(farm: Farm) -> None:
    readings = farm.read("readings.csv")
    use = xlfuncs.meter_use(
        readings["Date"], readings["Reading"], readings["Estimated"],
        readings["New meter starts at"], farm.setting("meter_register"), units=farm.system,
    )["use"]  # fmt: skip
    rows = farm.built.rows("Readings")
    assert [row["use"] for row in rows[1:]] == pytest.approx(list(use[1:]))
    unit = "kgal" if farm.system == "us" else "m³"
    for _, metered, billed, difference in farm.block(
        "Meter", f"Garden, metered ({unit})", 4, left=1
    ):
        assert metered == pytest.approx(billed, abs=0.01)
        assert difference == pytest.approx(0, abs=0.01)


def test_the_store_gives_what_the_ledger_says_was_laid(farm: Farm) -> None:
    ledger = farm.read("ledger.csv")
    laid = [
        amount
        for kind, counted, amount in zip(
            ledger["Kind"], ledger["Counted"], ledger["Amount"], strict=True
        )
        if kind == "tape" and counted == "yes"
    ]
    used = farm.block("Stock", "Opening", 7, left=3)
    assert [row[1] for row in used] == [2023, 2024, 2025]
    columns = farm.read("store.csv")
    expected = xlfuncs.stock_used(
        *(columns[name] for name in ("Date", "Kind", "Bought", "Amount", "In stock"))
    )
    assert [row[6] for row in used] == pytest.approx(list(expected["used"]))
    costs = [row[0] for row in farm.block("Stock", "Cost of stock used", 1)]
    assert costs == pytest.approx(laid)


def test_cost_of_a_season(farm: Farm) -> None:
    named, parts = farm.built.named, farm.read("part_lives.csv")
    interest = farm.setting("interest")
    # by hand, the sinking fund: what is lost in value over the life, put aside with interest,
    # and interest on the price
    wear = sum(
        (price - salvage) * (interest / ((1 + interest) ** life - 1)) + price * interest
        for price, life, salvage in zip(
            parts["Cost of replacing it"], parts["Likely life"], parts["Salvage value"],
            strict=True,
        )
    )  # fmt: skip
    assert named("season_equipment") == pytest.approx(wear)
    tiers, tariffs = farm.read("tiers.csv"), farm.read("tariffs.csv")
    rows = [i for i, day in enumerate(tiers["Valid from"]) if day == "2025-01-01"]
    bill = xlfuncs.water_charge(
        [named("season_volume") / 3], [tiers["Tier ends at"][i] for i in rows],
        [tiers["Price"][i] for i in rows], tariffs["Fixed charge"][1], units=farm.system,
    )["charge"][0]  # fmt: skip
    water = 3 * bill + 3 * tariffs["Fixed charge"][1]  # six bills a year, three with the water
    assert named("season_water_cost") == pytest.approx(water)
    assert named("season_labour") == farm.setting("season_hours") * farm.setting("hour_cost")
    assert named("season_cost") == pytest.approx(wear + water + named("season_labour"))


def test_a_season_is_shared_out_to_the_beds(farm: Farm) -> None:
    beds = {row["bed"]: row for row in farm.built.rows("Beds")}
    page = farm.book["Cost"]
    head = next(
        c for row in page.iter_rows() for c in row if c.value == "A season" and c.column > 1
    )
    shared, tops = 0.0, 0.0
    for i in range(1, len(beds) + 1):
        bed, area, top, cost = (
            page.cell(head.row + i, head.column - 3 + k).value for k in range(4)
        )
        if bed:
            shared, tops = shared + cost, tops + top
            row = beds[bed]
            assert area == pytest.approx(row["area"])
            assert top == pytest.approx(
                xlfuncs.bed_area(row["length"], row["bed_top_width"], units=farm.system)
            )
    assert shared == pytest.approx(farm.built.named("season_cost"))
    assert tops == pytest.approx(farm.built.named("bed_top_area"))


def test_replacements_fall_due_when_lives_end(farm: Farm) -> None:
    plan = farm.block("Cost", "Year from now", 4)
    assert [row[0] for row in plan] == list(range(1, 11))
    # by hand, likely lives: tape every 2 years from the third; drip line and timer in the ninth,
    # filter in the eighth; tubing wears out at the end of the tenth
    likely = [0, 0, 150, 0, 150, 0, 150, 95, 150 + 320 + 210, 0]
    assert [row[2] for row in plan] == likely


def test_options_of_the_quotation(farm: Farm) -> None:
    lines = farm.read("quotation_lines.csv")
    rows = list(zip(*(lines[n] for n in ("Option", "Quantity", "Unit cost", "Optional item")),
                    strict=True))  # fmt: skip
    get = farm.setting
    for option in OPTIONS:
        own = [round(q * c + 1e-9, 2) for o, q, c, extra in rows
               if o in (option, "all") and extra == "no"]  # fmt: skip
        work = sum(own) + get("labour_hours") * get("labour_rate")
        cost = work + round(work * get("contingency") + 1e-9, 2)
        price = round(cost * (1 + get("markup")) + 1e-9, 2)
        tax = round(price * get("tax_rate") + 1e-9, 2)
        name = f"option_{option.lower()}"
        assert farm.built.named(f"{name}_price") == pytest.approx(price, abs=0.001)
        assert farm.built.named(f"{name}_total") == pytest.approx(price + tax, abs=0.001)
        # markup of the cost is margin of the price: 35 % are 25.9 %
        markup, margin = farm.built.named(f"{name}_markup"), farm.built.named(f"{name}_margin")
        assert margin == pytest.approx(markup / (1 + markup))


def test_the_clients_page_holds_no_cost_of_ours(farm: Farm) -> None:
    inner = {
        row[key]
        for row in farm.built.rows("QuotationLines")
        for key in ("unit_cost", "line_cost")
        if row.get(key)
    }
    inner |= {farm.built.named(f"option_{o.lower()}_{n}") for o in OPTIONS
              for n in ("cost", "markup", "margin", "labor", "materials")}  # fmt: skip
    sheet = farm.book["Quotation"]
    numbers = sheet["G"]  # folded: rows of the blocks, counted
    assert sheet.column_dimensions["G"].hidden
    shown = {c.value for row in sheet.iter_rows() for c in row if c not in numbers}
    assert not shown & inner
    words = " ".join(str(v) for v in shown)
    for needed in ("Client", "Prices hold", "option ____", "Backflow", "2026-03-22", "revision 1"):
        assert needed in words
    assert "ontingency" not in words  # a share that is known turns totals back into costs


def test_rates_of_the_quotation_are_said_in_full(tmp_path: Path) -> None:
    rates = {"tax_rate": 0.0625, "labour_hours": 12.25}
    page = _farm("us", tmp_path, Inputs(rates, {})).book["Quotation"]
    words = " ".join(str(cell.value) for row in page.iter_rows() for cell in row)
    for said in ("Tax, 6.25%", "Labor: 12.25 hours"):
        assert said in words


def _with_ledger(system: str, rows: list[dict[str, Any]]) -> Inputs:
    farm = starting_inputs(system)
    return Inputs(farm.settings, {**farm.tables, "Ledger": rows, "Years": []})


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_half_filled_workbook_shows_blanks(system: str, tmp_path: Path) -> None:
    farm = _farm(system, tmp_path, starting_inputs(system))
    assert not list(_errors(farm.book))
    assert farm.built.named("compared_year") == ""
    assert farm.built.named("year_total") == ""


def test_an_empty_workbook_shows_blanks(tmp_path: Path) -> None:
    assert not list(_errors(_farm("us", tmp_path, Inputs({}, {})).book))


def test_entries_that_cannot_be_read_are_named_and_left_out(tmp_path: Path) -> None:
    good = {"date": date(2024, 5, 1), "kind": "tape", "quantity": 100, "amount": 7.0}
    rows: list[dict[str, Any]] = [
        good, {**good, "reference": "r"}, good,
        {**good, "date": None}, {**good, "kind": None}, {**good, "amount": "12,50"},
        {**good, "quantity": "two rolls"}, {**good, "period_start": date(2024, 6, 1)},
        {**good, "tax": 1.0, "recoverable": 7}, {**good, "amount": 99.0, "counted": "no"},
        {**good, "date": date(2025, 5, 1), "amount": 10.0},
    ]  # fmt: skip
    farm = _farm("us", tmp_path, _with_ledger("us", rows))
    checks = [row["check"] for row in farm.built.rows("Ledger")]
    assert checks[:3] == ["ok", "ok", "ok, but same as an entry before it: entered twice?"]
    words = ("Date", "Kind", "Amount", "Quantity", "Previous reading date", "Recoverable tax",
             "left out")  # fmt: skip
    assert all(text.startswith(word) for text, word in zip(checks[3:10], words, strict=True))
    assert farm.built.named("entries_to_correct") == 6
    warned = [row[0] for row in farm.block("Checks", "What", 1)]
    assert sum(text.startswith("Entries in the sums that perhaps") for text in warned) == 1
    assert farm.built.named("years_check") == "ok"
    assert farm.built.named("year_before_total") == 21.0
    assert farm.built.named("year_total") == 10.0


def test_bills_without_a_period_claim_no_days(tmp_path: Path) -> None:
    rows = [
        {"date": date(year, month, 20), "kind": "water", "quantity": 10.0, "amount": 100.0}
        for year in (2023, 2024) for month in (1, 3, 5, 7, 9, 11)
    ]  # fmt: skip
    farm = _farm("metric", tmp_path, _with_ledger("metric", rows))
    words = {cell.value for row in farm.book["Years"].iter_rows() for cell in row}
    assert "by the day of each bill, for none says its period" in words
    bills = [cell.value for row in farm.book["Water bills"].iter_rows() for cell in row]
    assert not any(str(value).startswith(("1899", "00:00")) for value in bills)


def test_the_last_whole_year_is_explained_and_the_days_compared_are_said(tmp_path: Path) -> None:
    ends = [date(2023, 12, 31) + timedelta(days=61 * i) for i in range(15)]  # to 2026-05-03
    rows = [
        {"date": end, "period_start": start, "kind": "water", "quantity": 61.0,
         "amount": 61.0 if end.year == 2024 else 122.0}
        for start, end in pairwise(ends)
    ]  # fmt: skip
    farm = _farm("metric", tmp_path, _with_ledger("metric", rows))
    assert farm.built.named("compared_year") == 2025
    words = {cell.value for row in farm.book["Years"].iter_rows() for cell in row}
    told = (
        "the last whole one; 2026 is passed over, known for 123 days: to see them type it on Setup"
    )
    assert f"{told}, Year to explain" in words
    assert "all days of both years" in words
    # a unit a day: 366 days of 2024 with the last 30 at the new price, by the bill over New Year
    assert farm.built.named("year_before_total") == pytest.approx(366 + 0.0, abs=31)
    assert farm.built.named("year_total") == pytest.approx(2 * 365)
    shown = farm.block("Years", "Days on water bills", 1)
    assert [row[0] for row in shown] == [366, 365, 123]


def test_years_without_tariffs_are_split_by_average_price(tmp_path: Path) -> None:
    rows = [
        {"date": date(2024, 6, 30), "kind": "water", "quantity": 10.0, "amount": 40.0},
        {"date": date(2025, 6, 30), "kind": "water", "quantity": 12.0, "amount": 60.0},
    ]
    inputs = _with_ledger("us", rows)
    bare = Inputs({}, {**inputs.tables, "Tariffs": [], "Tiers": []})
    farm = _farm("us", tmp_path, bare)
    assert farm.built.named("water_bills_check") == "No tariff for one of the years"
    ((_, before, now, change, price, *_, use, fixed, credits, not_split, exchange, beside),) = (
        farm.block("Years", "Kind", 13)
    )
    assert (before, now, change) == (40, 60, 20)
    assert (price, use, fixed, credits, not_split, exchange, beside) == (
        10,
        10,
        0,
        0,
        0,
        0,
        0,
    )  # by hand: 10 x (5 - 4), 2 x 5


def _gauge(year: int, last: date, inches: float) -> Iterator[dict[str, Any]]:
    """Rain on Wednesdays, warmth on Sundays, from the first of March on."""
    for day in (date(year, 3, 1) + timedelta(n) for n in range(366)):
        if day <= last and day.weekday() in (2, 6):
            warm = 15 * (5 < day.month < 9)
            warmth = {"max_temperature": 70 + warm, "min_temperature": 45 + warm}
            yield {"date": day, "rain": inches if day.weekday() == 2 else 0.0} | (
                warmth if day.weekday() == 6 else {}
            )


def test_a_logged_season_is_the_need_of_its_year_and_a_part_is_none() -> None:
    """2024 is typed, 2025 comes from the log, of 2026 there is a part: weather is told for 2025."""
    inputs = demo_inputs("us")
    plan = inputs.tables["BedPlan"]
    plan += [row | {end: row[end].replace(year=2025) for end in ("start", "end")} for row in plan]
    inputs.tables["WeatherLog"] = [*_gauge(2025, date(2025, 10, 5), 0.5),
                                   *_gauge(2026, date(2026, 7, 19), 1.0)]  # fmt: skip
    needs: dict[int, dict[str, Any]] = {2023: {}, 2024: {"need": 14.0}, 2025: {}, 2026: {}}
    inputs.tables["Years"] = [{"year": y, "planted_area": 2380} | n for y, n in needs.items()]
    built = results(write("us", inputs))
    rows = [row for row in built.block(year_detail.COUNTED) if row["year"]]
    assert [row["whole"] for row in rows] == ["no", "no", "yes", "no"]
    assert rows[1]["need"] == 14.0 and rows[2]["need"] == rows[2]["by_log"] > 5
    assert rows[3]["need"] in ("", None) and rows[3]["by_log"] > 0
    assert rows[3]["words"].startswith("140 of 216 days with a crop, 2026-03-02 to 2026-07-19")
    assert built.named("years_check") == built.named("water_bills_check") == "ok"
    assert built.named("compared_year") == 2025
    at_the_new_price = built.named("tariff_weather")
    dry = 1 - rows[2]["need"] / 14.0  # of the use of 2024, whose bills are tiers
    assert at_the_new_price < 0 and 0 < dry < 1
    (of_2024,) = [w for w in _water_words(built) if "need beyond rain is missing" in w]
    assert of_2024


def _water_words(built: Built) -> list[str]:
    return [str(row["words"]) for row in built.block(year_detail.COMPARED)]
