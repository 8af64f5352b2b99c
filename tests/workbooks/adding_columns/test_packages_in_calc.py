"""A length is changed in a real Calc: the flows of all beds follow, as our engine has them."""

from __future__ import annotations

import json
import subprocess
import zipfile
from pathlib import Path

import openpyxl
import pytest

from tests.workbooks.adding_columns.garden_lists import added, write_list
from workbook_template.build import build, demo_inputs
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import OfficeError, find
from xlfuncs.workbooks.adding_columns.plan_settings import settings_of_plan
from xlfuncs.workbooks.recalculating.engine import evaluate

pytestmark = pytest.mark.libreoffice

# Runs in LibreOffice's Python; nothing is asked to be computed, that is for Calc to do by itself.
SCRIPT = """
import json, sys, time
sys.path.insert(0, sys.argv[1])
import office_driver
calc = office_driver.Calc(sys.argv[2], sys.argv[3], [sys.argv[4]])
try:
    document = calc.desktop.loadComponentFromURL(
        office_driver.url(sys.argv[5]), "_blank", 0, (office_driver.setting("Hidden", True),)
    )
    sheet = document.Sheets["My beds"]
    told = {"before": office_driver._sheet_values(sheet)}
    begun = time.perf_counter()
    sheet.getCellRangeByName(sys.argv[6]).Value = float(sys.argv[7])
    told["after"] = office_driver._sheet_values(sheet)
    told["seconds"] = time.perf_counter() - begun
    print(json.dumps(told))
finally:
    calc.end()
"""


def in_calc(path: Path, folder: Path, cell: str, value: float) -> dict[str, object]:
    """The values of the sheet before and after a value is typed, and the seconds it took."""
    try:
        installation = find()
    except OfficeError as error:
        pytest.skip(f"needs LibreOffice: {error}")
    with zipfile.ZipFile(oxt.build(folder / "xlfuncs.oxt")) as archive:
        archive.extractall(folder / "extensions" / "xlfuncs")
    bundled = f"-env:BUNDLED_EXTENSIONS={(folder / 'extensions').as_uri()}"
    call = [installation.python, "-c", SCRIPT, str(Path(oxt.__file__).parent),
            installation.soffice, folder / "profile", bundled, path, cell, str(value)]  # fmt: skip
    done = subprocess.run(call, env=installation.environment(), capture_output=True, text=True,
                          check=True, timeout=300)  # fmt: skip
    told: dict[str, object] = json.loads(done.stdout)
    return told


@pytest.mark.parametrize("table", [False, True])
def test_flows_follow_a_changed_length(tmp_path: Path, table: bool) -> None:
    farm = demo_inputs("us")
    build(tmp_path / "plan.xlsx", "us", farm)
    path = write_list(tmp_path / "mine.xlsx", farm, "us", table=table)
    settings, _ = settings_of_plan(tmp_path / "plan.xlsx")
    added(path, add=["pressure", "minutes"], settings=settings)
    told = in_calc(path, tmp_path, "D4", 60.0)
    book = openpyxl.load_workbook(path)
    book["My beds"]["D4"] = 60.0
    book.save(path)
    values = evaluate(path, worksheet_callables()).values["My beds"]
    heads = {str(cell.value): cell.column for cell in book["My beds"][3]}
    column = heads["Flow delivered (gpm)"]
    before, after = (
        [told[when][row - 1][column - 1] for row in range(4, 18)]  # type: ignore[index]
        for when in ("before", "after")
    )
    assert before[0] != after[0]
    for row, flow in enumerate(after, 4):
        assert flow == (values[row, column] or "") or flow == pytest.approx(values[row, column])
