"""Recalculating 10,000 cells in a real LibreOffice Calc, in-process and through the worker.

Each cell is a call of its own (LATERAL_FLOW of a length beside it). Times are of Calc's own full
recalculation, the best of several, without start, loading or saving; a plain formula of the same
shape and an array formula over the whole column stand beside them. Run it on a machine that does
nothing else:

    python -m tests.bench.bench_libreoffice
"""

from __future__ import annotations

import subprocess
import tempfile
import zipfile
from pathlib import Path

from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import find

CELLS = 10_000
ROUNDS = 7

# Runs in LibreOffice's Python, with office_driver beside it.
SCRIPT = """
import sys, time
sys.path.insert(0, sys.argv[1])
import office_driver
calc = office_driver.Calc(sys.argv[2], sys.argv[3], sys.argv[4:-2])
cells, rounds = int(sys.argv[-2]), int(sys.argv[-1])
try:
    document = calc.desktop.loadComponentFromURL(
        "private:factory/scalc", "_blank", 0, (office_driver.setting("Hidden", True),)
    )
    sheet = document.Sheets[0]
    lengths = sheet.getCellRangeByPosition(0, 0, 0, cells - 1)
    lengths.DataArray = tuple((20 + row / 100,) for row in range(cells))
    results = sheet.getCellRangeByPosition(1, 0, 1, cells - 1)
    name = "ORG.XLFUNCS.WORKSHEETFUNCTIONS.LATERALFLOW"
    def best(formulas):
        formulas()
        times = []
        for _ in range(rounds):
            start = time.perf_counter()
            document.calculateAll()
            times.append(time.perf_counter() - start)
        assert results.DataArray[0][0] == 7.5, results.DataArray[0]
        results.clearContents(16)
        return min(times)
    def calls():
        results.FormulaArray = tuple((f'={name}(A{r};8;0.25;"us")',) for r in range(1, cells + 1))
    def plain():
        formula = "=INT(A{}*12/8+0.000000001)*0.25"
        results.FormulaArray = tuple((formula.format(r),) for r in range(1, cells + 1))
    def array():
        results.ArrayFormula = f'={name}(A1:A{cells};8;0.25;"us")'
    for words, formulas in (("calls", calls), ("plain formulas", plain), ("one array", array)):
        print(f"  {cells} {words}: {best(formulas):.3f} s")
finally:
    calc.end()
"""


def main() -> None:
    found = find()
    for way in ("in-process", "worker"):
        print(way)
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            extension = oxt.build(folder / "xlfuncs.oxt", in_process=way == "in-process")
            with zipfile.ZipFile(extension) as archive:
                archive.extractall(folder / "extensions" / "xlfuncs")
            bundled = f"-env:BUNDLED_EXTENSIONS={(folder / 'extensions').as_uri()}"
            subprocess.run(
                [
                    found.python, "-c", SCRIPT, str(Path(oxt.__file__).parent), found.soffice,
                    folder / "profile", bundled, str(CELLS), str(ROUNDS),
                ],
                env=found.environment(),
                check=True,
            )  # fmt: skip


if __name__ == "__main__":
    main()
