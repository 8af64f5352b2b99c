"""Supply, Pressure and Field check: their numbers are those of the Python functions, called on the
example inputs apart from the sheets.

The functions themselves are held to published values and reference engines elsewhere; the field
check's low quarter and its percentages are also taken here by plain arithmetic.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest

import xlfuncs
from tests.made_once import made_once
from workbook_template.build import Built, demo_inputs, results, starting_inputs, write
from workbook_template.kit.inputs import Inputs
from workbook_template.kit.said import computed_columns
from workbook_template.sheets.garden.supply_pressure import CURVE
from workbook_template.sheets.water.pressure import DELIVERY, FINDINGS

SYSTEMS = ("us", "metric")
EXAMPLES = Path(__file__).parents[2] / "examples"
SHEETS = ("Supply", "Pressure", "Field check", "Catch test")
UNREADABLE, OFF = "South 4", "North 7"  # in the example bed list
SERVICE_STATIC = {"us": 52, "metric": 3.6}


@pytest.mark.parametrize(
    ("system", "used", "texts"),
    [
        # 1 m3 is 1000 L, 1 h 60 min: 31.6667 L/min. 1 gal is 3.785412 L (NIST SP 811).
        ("metric", "well", {"sustained_yield": "1.9 m3/h", "cut_in_pressure": "260 kPa"}),
        ("us", "well", {"sustained_yield": "30.283296 L/min", "cut_in_pressure": "40 psi"}),
        ("us", "creek pump", {"flow": "{} gpm", "head": "{} ft"}),
    ],
)
def test_a_supply_typed_with_units_is_that_of_plain_numbers(
    system: str, used: str, texts: dict[str, str]
) -> None:
    plain = {"metric": (1900 / 60, 2.6), "us": (8, 40)}[system]

    def shown(*, typed: bool) -> dict[str, Any]:
        inputs = demo_inputs(system)
        well = dict(zip(("sustained_yield", "cut_in_pressure"), plain, strict=True))
        well |= texts if typed and used == "well" else {}
        of_curve = texts if typed and used != "well" else {}
        rows = [{**row, **{name: text.format(row[name]) for name, text in of_curve.items()}}
                for row in inputs.tables["PumpCurves"]]  # fmt: skip
        supplies = [*inputs.tables["Supplies"], {"supply": "well", "kind": "well", **well}]
        tables = {**inputs.tables, "Supplies": supplies, "PumpCurves": rows}
        settings = {**inputs.settings, "supply_used": used}
        built = results(
            write(system, replace(inputs, settings=settings, tables=tables)), but=["DESIGNS"]
        )
        assert built.named("supply_state") == built.named("head_state") == "ok"
        delivered = (bed["delivered_flow"] for bed in built.rows("Beds"))
        return {
            "most": [built.named(name) for name in ("supply_greatest_flow", "design_flow")],
            "behind": [row["behind"] for row in built.block(CURVE)],
            "delivered": [flow for flow in delivered if isinstance(flow, float)],
        }

    numbers, texts_too = shown(typed=False), shown(typed=True)
    for name, values in numbers.items():
        assert values and texts_too[name] == pytest.approx(values, rel=1e-5), name


@dataclass
class Farm:
    system: str
    built: Built
    book: Any

    def read(self, table: str) -> list[dict[str, Any]]:
        """Rows of an example file, headings without units."""
        with (EXAMPLES / self.system / f"{table}.csv").open(encoding="utf-8", newline="") as file:
            return [
                {heading.split(" (")[0]: _value(text) for heading, text in row.items()}
                for row in csv.DictReader(file)
            ]

    def block(self, name: str) -> list[dict[str, Any]]:
        """Rows of a block of results by the names of its columns."""
        place = self.built.places[name]
        cells = self.built.values[place.sheet]
        return [
            {column: cells[row + 1, col + 1] for column, col in place.columns.items()}
            for row in range(place.first, place.last + 1)
        ]


def _value(text: str) -> Any:
    try:
        return float(text) if text else None
    except ValueError:
        return text


def _farm(system: str, folder: Path, inputs: Inputs) -> Farm:
    path = folder / f"{system}.xlsx"
    return Farm(
        system, made_once(path, system, inputs), openpyxl.load_workbook(path, data_only=True)
    )


@pytest.fixture(scope="module", params=SYSTEMS)
def farm(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Farm:
    return _farm(request.param, tmp_path_factory.mktemp("pressure"), demo_inputs(request.param))


@pytest.fixture(scope="module")
def new(tmp_path_factory: pytest.TempPathFactory) -> Farm:
    return _farm("us", tmp_path_factory.mktemp("new"), starting_inputs("us"))


def _errors(farm: Farm) -> list[str]:
    return [
        f"{name}!{cell.coordinate} {cell.value}"
        for name in (*SHEETS, "Beds", "Summary", "Season", "Valves", "Timer")
        for row in farm.book[name].iter_rows()
        for cell in row
        if str(cell.value).startswith("#")
    ]


def table_of(rows: list[dict[str, Any]]) -> dict[str, list[Any]]:
    return {name: [row[name] for row in rows] for name in rows[0]}


def curve(farm: Farm, points: int) -> tuple[Any, Any]:
    """Flow and pressure at the start of the main, from the example files by way of Python."""
    supply, parts = farm.read("supplies")[0], farm.read("head_parts")
    bucket = (5, 28) if farm.system == "us" else (20, 29)
    most = xlfuncs.supply_flow(*bucket, units=farm.system)
    flows = np.linspace(0, most, points)
    given = xlfuncs.supply_pressure(
        flows, SERVICE_STATIC[farm.system], most, supply["Gauge flow"], supply["Gauge pressure"],
        units=farm.system,
    )  # fmt: skip
    behind = xlfuncs.head_pressure(flows, given, table_of(parts), units=farm.system)
    return flows, np.asarray(behind).ravel()


def system(farm: Farm) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    """The beds that are watered, and the arguments of SYSTEM_DELIVERY, from the example files."""
    lines = {line["Line"]: line for line in farm.read("lines")}
    pipes = {pipe["Pipe"]: pipe for pipe in farm.read("pipes")}
    beds = [bed for bed in farm.read("beds") if bed["Bed"] not in (UNREADABLE, OFF)]

    def of_line(column: str) -> list[Any]:
        return [lines[bed["Line"]][column] for bed in beds]

    emitter = [
        lines[bed["Line"]]["Emitter flow"]
        or xlfuncs.emitter_flow_from_tape(
            lines[bed["Line"]]["Flow per length"], lines[bed["Line"]]["Emitter spacing"],
            units=farm.system,
        )
        for bed in beds
    ]  # fmt: skip
    flows, pressures = curve(farm, 61)
    return beds, {
        "distance": [bed["Distance"] for bed in beds],
        "laterals": [bed["Lines per bed"] for bed in beds],
        "lateral_length": [bed["Length"] for bed in beds],
        "emitter_spacing": of_line("Emitter spacing"), "rated_flow": emitter,
        "rated_pressure": of_line("Rated pressure"),
        "lateral_diameter": of_line("Inside diameter"),
        "main_diameter": [pipes[bed["Main pipe"]]["Inside diameter"] for bed in beds],
        "inlet_pressure": pressures.max(), "exponent": of_line("Exponent"),
        "min_pressure": of_line("Minimum pressure"), "max_pressure": of_line("Maximum pressure"),
        "elevation": [bed["Elevation"] for bed in beds], "slope": [bed["Slope"] for bed in beds],
        "manifold_diameter": [pipes[bed["Manifold pipe"]]["Inside diameter"] for bed in beds],
        "lateral_spacing": [bed["Bed top width"] / bed["Lines per bed"] for bed in beds],
        "supply_flow": flows, "supply_pressure": pressures, "units": farm.system,
    }  # fmt: skip


def limits(farm: Farm) -> dict[str, Any]:
    """What sets are held to, as the sheets ask for it, from the example files."""
    supply, parts = farm.read("supplies")[0], farm.read("head_parts")
    lines = {line["Line"]: line["CV"] for line in farm.read("lines")}
    flows, _ = curve(farm, 61)
    given = xlfuncs.supply_pressure(
        flows, SERVICE_STATIC[farm.system], flows[-1], supply["Gauge flow"],
        supply["Gauge pressure"], units=farm.system,
    )  # fmt: skip
    works = xlfuncs.head_flows(flows, given, table_of(parts), units=farm.system)
    beds = [bed for bed in farm.read("beds") if bed["Bed"] not in (UNREADABLE, OFF)]
    return {
        "cv": [lines[bed["Line"]] for bed in beds], "open_flow": flows[-1],
        "least_flow": works["least"].item(), "greatest_flow": works["greatest"].item(),
    }  # fmt: skip


def test_no_sheet_holds_an_error(farm: Farm) -> None:
    assert not _errors(farm)


def test_the_curve_is_that_of_supply_and_head_assembly(farm: Farm) -> None:
    rows = farm.block(CURVE)
    flows, pressures = curve(farm, len(rows))
    assert [row["flow"] for row in rows] == pytest.approx(flows.tolist())
    assert [row["behind"] for row in rows] == pytest.approx(pressures.tolist(), abs=1e-9)


def test_each_bed_gets_what_its_valve_alone_would_bring(farm: Farm) -> None:
    """One call a valve, with only its beds open."""
    beds, arguments = system(farm)
    shown = {row["bed"]: row for row in farm.block(DELIVERY)}
    for valve in {bed["Valve"] for bed in beds}:
        alone = xlfuncs.system_delivery(**arguments, open=[bed["Valve"] == valve for bed in beds])
        for bed, wanted in zip(beds, alone.to_dict("records"), strict=True):
            if bed["Valve"] != valve:
                continue
            row = shown[bed["Bed"]]
            for name, column in (("delivered", "flow"), ("share", "share"),
                                 ("inlet", "inlet_pressure"), ("driest", "driest_flow"),
                                 ("uniformity", "uniformity"), ("lowest", "lowest_pressure"),
                                 ("main_velocity", "main_velocity")):  # fmt: skip
                assert row[name] == pytest.approx(wanted[column], rel=1e-6)


def test_all_beds_open_get_what_one_call_gives(farm: Farm) -> None:
    beds, arguments = system(farm)
    got = xlfuncs.system_delivery(**arguments)
    shown = {row["bed"]: row for row in farm.block(DELIVERY)}
    assert [shown[b["Bed"]]["flow_all_open"] for b in beds] == pytest.approx(got["flow"].tolist())
    assert farm.built.named("all_open_flow") == pytest.approx(got["flow"].sum())
    feeds = "yes" if got["share"].min() >= 0.9 else "no"
    assert farm.built.named("feeds_all") == feeds
    assert farm.built.named("all_at_once").startswith(f"{feeds}, ")


def test_sets_are_those_of_the_functions(farm: Farm) -> None:
    beds, arguments = system(farm)
    shown = {row["bed"]: row for row in farm.block(DELIVERY)}
    solved = xlfuncs.pressure_sets(**arguments, **limits(farm))["set"].fillna(0).tolist()
    got = [shown[bed["Bed"]]["set_by_pressure"] for bed in beds]
    assert [0 if number == "none" else number for number in got] == solved
    nominal = [shown[bed["Bed"]]["planned"] for bed in beds]
    quick = xlfuncs.watering_sets(nominal, arguments["supply_flow"].max(), units=farm.system)
    assert [shown[bed["Bed"]]["set_by_flow"] for bed in beds] == quick["set"].tolist()


def test_run_minutes_rest_on_the_flow_delivered(farm: Farm) -> None:
    """Area times gross depth over flow, by hand: 231 in³ a gallon, 1 L a m² a mm."""
    depth, per = (1.2, 144 / 231) if farm.system == "us" else (30, 1)
    rows = [bed for bed in farm.built.rows("Beds") if bed["counted"] == "yes"]
    assert len(rows) == 12
    for bed in rows:
        water = bed["area"] * depth * per / 4 / 0.9
        assert bed["minutes_delivered"] == pytest.approx(water / bed["delivered_flow"])
        assert bed["minutes"] == pytest.approx(water / bed["nominal_flow"])


def test_beds_that_are_off_or_unreadable_get_nothing_and_say_so(farm: Farm) -> None:
    shown = {row["bed"]: row for row in farm.block(DELIVERY)}
    assert (shown[OFF]["delivered"], shown[OFF]["remark"]) == ("", "off")
    assert (shown[UNREADABLE]["delivered"], shown[UNREADABLE]["share"]) == ("", "")
    assert shown[UNREADABLE]["remark"] == "cannot be read: see Beds"


def test_findings_are_those_of_design_checks(farm: Farm) -> None:
    beds, arguments = system(farm)
    found = xlfuncs.design_checks(
        **arguments, **limits(farm),
        pipe_diameters=[pipe["Inside diameter"] for pipe in farm.read("pipes")],
        set=[f"{bed['Valve']:g}" for bed in beds], name=[bed["Bed"] for bed in beds],
    )  # fmt: skip
    wanted = [words for words in found["words"] if words != "nothing found"][:FINDINGS]
    cells = [str(cell.value) for cell in farm.book["Pressure"]["B"]]
    for words in wanted:
        assert words in cells
    assert farm.built.named("pressure_findings") == len(wanted)


def test_field_checks_by_hand(farm: Farm) -> None:
    measured = farm.read("field_checks")
    shown = {row["bed"]: row for row in farm.block(DELIVERY)}
    rows = farm.built.rows("FieldChecks")
    for check, row in zip(measured, rows, strict=True):
        planned = shown[check["Bed"]]["delivered"]
        wanted = round(100 * (check["Metered flow"] / planned - 1), 1)
        assert row["flow_difference"] == pytest.approx(wanted, abs=0.051)
        # the far end of a line lies between the bed's inlet and its driest emitter
        low, high = (shown[check["Bed"]][name] for name in ("lowest", "inlet"))
        assert low - 1e-6 <= row["planned_far_pressure"] <= high + 1e-6 + 0.1 * high
    assert [row["words"].split(":")[0] for row in rows] == [
        "as planned", "a leak, an open line end, or more emitters than planned",
        "emitters pass too little", "as planned", "as planned",
    ]  # fmt: skip
    assert [row["finding"] for row in rows] == [""] * 5  # what was put right is found no more


def test_catch_tests_by_hand(farm: Farm) -> None:
    """Low quarter of sixteen cups: the mean of the four least over the mean of all."""
    for test, row in zip(farm.read("catch_tests"), farm.built.rows("CatchTests"), strict=True):
        cups = sorted(test[f"Cup {i}"] for i in range(1, 17))
        assert row["uniformity"] == pytest.approx((sum(cups[:4]) / 4) / (sum(cups) / 16))


def test_the_gravity_tank_names_the_parts_that_will_not_work(tmp_path: Path) -> None:
    """7 ft of water are 3.03 psi, and the timer asks for 10."""
    inputs = demo_inputs("us")
    tank = replace(inputs, settings={**inputs.settings, "supply_used": "rain tank"})
    farm = _farm("us", tmp_path, tank)
    assert farm.built.named("supply_most_pressure") == pytest.approx(7 * 0.4335, rel=0.01)
    assert "will not work" in farm.built.named("gravity_words")
    words = [str(cell.value) for cell in farm.book["Supply"]["D"]]
    assert any("will not work: needs 10.0 psi" in text for text in words), words
    assert not _errors(farm)


@pytest.mark.parametrize("supply", ["creek pump", "nobody's well"])
def test_other_supplies_are_solved_or_say_why_not(supply: str, tmp_path: Path) -> None:
    inputs = demo_inputs("us")
    changed = replace(inputs, settings={**inputs.settings, "supply_used": supply})
    farm = _farm("us", tmp_path, changed)
    state = farm.built.named("pressure_state")
    if supply == "creek pump":
        assert state == "ok"
        # 92 ft of head less 14 ft of lift
        assert farm.built.named("supply_most_pressure") == pytest.approx(78 * 0.4327, rel=0.002)
    else:
        assert state == "Supply in use: not among the supplies above"
        assert farm.built.rows("Beds")[0]["delivered_flow"] == ""
    assert not _errors(farm)


def test_a_bed_without_its_pipe_runs_by_the_nominal_flow_and_spoils_no_other(
    tmp_path: Path,
) -> None:
    inputs = demo_inputs("us")
    first, *others = inputs.tables["Beds"]
    beds = [{name: x for name, x in first.items() if name != "main_pipe"}, *others]
    changed = _farm("us", tmp_path, replace(inputs, tables={**inputs.tables, "Beds": beds}))
    assert changed.built.named("beds_not_solved") == 1
    rows = changed.block(DELIVERY)
    assert (rows[0]["delivered"], rows[0]["remark"]) == ("", "Main pipe: is blank")
    assert rows[1]["delivered"] > 0
    flows = changed.built.places["beds by valve"]
    flow = changed.built.values[flows.sheet][flows.first + 1, flows.columns["flow"] + 1]
    assert flow == changed.built.rows("Beds")[0]["nominal_flow"]
    assert not _errors(changed)


def test_a_new_workbook_shows_blanks_and_says_what_is_missing(new: Farm) -> None:
    assert not _errors(new)
    assert new.built.named("pressure_state").startswith("Measure the tap")
    first = new.block(DELIVERY)[0]
    blank = {column.name for column in computed_columns(DELIVERY)} - {
        "bed", "valve", "planned", "minutes", "remark", "together", "along", "own_drawn",
        "all_drawn", "short", "number",
    }  # fmt: skip
    assert {first[name] for name in blank} == {""}
    assert new.built.rows("FieldChecks") == []
