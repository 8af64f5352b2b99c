"""A person types into the template in a real Calc: all that rests on it follows, charts too."""

from __future__ import annotations

import json
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from openpyxl.utils import get_column_letter

from tests.hosts.libreoffice.test_template_in_calc import same
from tests.made_once import made_once
from workbook_template.build import Built, demo_inputs, results, write
from workbook_template.kit.inputs import Inputs
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import Installation

pytestmark = pytest.mark.libreoffice

# Runs in LibreOffice's Python. Nothing is asked to be computed: that is for Calc to do by itself.
SCRIPT = """
import json, sys
sys.path.insert(0, sys.argv[1])
import office_driver
calc = office_driver.Calc(sys.argv[2], sys.argv[3], [sys.argv[4]])
def charts(sheet):
    for chart in sheet.Charts:
        shown = []
        for system in chart.EmbeddedObject.FirstDiagram.CoordinateSystems:
            for kind in system.ChartTypes:
                for series in kind.DataSeries:
                    for sequence in series.DataSequences:
                        numbers = [n for n in sequence.Values.Data if isinstance(n, float)]
                        shown += [n for n in numbers if n == n]
        yield shown
try:
    document = calc.desktop.loadComponentFromURL(
        office_driver.url(sys.argv[5]), "_blank", 0, (office_driver.setting("Hidden", True),)
    )
    told = {"before": {s.Name: list(charts(s)) for s in document.Sheets}}
    for name, cell, value in json.loads(sys.argv[6]):
        document.Sheets[name].getCellRangeByName(cell).Value = value
    told["after"] = {s.Name: list(charts(s)) for s in document.Sheets}
    told["values"] = {s.Name: office_driver._sheet_values(s) for s in document.Sheets}
    print(json.dumps(told))
finally:
    calc.end()
"""


def edited(inputs: Inputs) -> Inputs:
    """Another length of the first bed, less rain in July, a dearer line, lower efficiency."""
    tables = {name: [dict(row) for row in rows] for name, rows in inputs.tables.items()}
    tables["Beds"][0]["length"] *= 1.5
    tables["Prices"][0]["price"] *= 1.25
    july = next(row for row in tables["MonthlyWeather"] if row["month"] == 7)
    july["rain"] /= 2
    return replace(inputs, tables=tables, settings={**inputs.settings, "efficiency": 0.82})


def typed(built: Built, after: Inputs) -> list[tuple[str, str, float]]:
    """Where those values are typed: sheet, cell, value."""
    cells = []
    for table, rows in after.tables.items():
        place = built.places[table]
        for i, (new, old) in enumerate(zip(rows, built.inputs.tables[table], strict=True)):
            for name in [name for name in new if new[name] != old[name]]:
                address = f"{get_column_letter(place.columns[name] + 1)}{place.first + i + 1}"
                cells.append((place.sheet, address, new[name]))
    sheet, row, column = built.names["efficiency"]
    address = f"{get_column_letter(column + 1)}{row + 1}"
    return [*cells, (sheet, address, after.settings["efficiency"])]


@pytest.mark.parametrize("system", ["us", "metric"])
def test_everything_follows(installation: Installation, tmp_path: Path, system: str) -> None:
    path, farm = tmp_path / "farm.xlsx", demo_inputs(system)
    built = made_once(path, system, farm)
    after = edited(farm)
    edits = typed(built, after)
    assert len(edits) == 4
    with zipfile.ZipFile(oxt.build(tmp_path / "xlfuncs.oxt")) as archive:
        archive.extractall(tmp_path / "extensions" / "xlfuncs")
    bundled = f"-env:BUNDLED_EXTENSIONS={(tmp_path / 'extensions').as_uri()}"
    answer = subprocess.run(
        [
            installation.python, "-c", SCRIPT, str(Path(oxt.__file__).parent),
            installation.soffice, tmp_path / "profile", bundled, path, json.dumps(edits),
        ],
        env=installation.environment(), capture_output=True, text=True, check=True, timeout=300,
    ).stdout  # fmt: skip
    told: dict[str, Any] = json.loads(answer)
    wanted = results(write(system, after))
    different = {}
    for sheet, cells in wanted.values.items():
        rows = told["values"][sheet]
        for (row, column), value in cells.items():
            got = rows[row - 1][column - 1] if row <= len(rows) and column <= len(rows[0]) else ""
            got = got["error"] if isinstance(got, dict) else got
            if not same(got, str(value) if isinstance(got, str) and got[:1] == "#" else value):
                different[sheet, row, column] = (got, value)
    assert different == {}
    _charts_follow(told, wanted)


def _charts_follow(told: dict[str, Any], wanted: Built) -> None:
    """Charts show numbers of the workbook as it is now; those that can change have changed."""
    shown = [(sheet, numbers) for sheet, charts in told["after"].items() for numbers in charts]
    assert len(shown) >= 10
    computed = {value for cells in wanted.values.values() for value in cells.values()}
    rows = [row for table in wanted.inputs.tables.values() for row in table]
    known = [v for v in computed.union(*(row.values() for row in rows)) if is_number(v)]
    for sheet, numbers in shown:
        strange = [n for n in numbers if not any(same(n, value) for value in known)]
        assert strange == [], sheet
    changed = {sheet for sheet, charts in told["after"].items() if charts != told["before"][sheet]}
    assert changed >= {"Purchase", "Pressure", "Need", "Cost", "Map"}


def is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
