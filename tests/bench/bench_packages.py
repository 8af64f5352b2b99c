"""How soon the flows beside a list follow a changed length in Calc, and what the command takes."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

from tests.workbooks.adding_columns.garden_lists import added, write_list
from tests.workbooks.adding_columns.test_packages_in_calc import in_calc
from workbook_template.build import build, demo_inputs
from xlfuncs.workbooks.adding_columns.plan_settings import settings_of_plan


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder, farm = Path(name), demo_inputs("us")
        build(folder / "plan.xlsx", "us", farm)
        settings, _ = settings_of_plan(folder / "plan.xlsx")
        path = write_list(folder / "mine.xlsx", farm, "us")
        begun = time.perf_counter()
        added(path, add=["pressure", "minutes"], settings=settings)
        print(f"add-columns, {len(farm.tables['Beds'])} beds: {time.perf_counter() - begun:.2f} s")
        told = in_calc(path, folder, "D4", 60.0)
        print(f"a changed length in Calc, all flows: {told['seconds']:.3f} s")


if __name__ == "__main__":
    main()
