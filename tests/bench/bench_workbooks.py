"""Recalculating 500 formulas: this package beside LibreOffice, start-up left out and counted in.

    python tests/bench/bench_workbooks.py

The workbook has 100 beds with five formulas each: ordinary ones, calls of our functions, and items
of one whole result. LibreOffice recalculates the same file without a screen: once as a new
process that converts it (how it is usually called), once inside a process that already runs.
"""

from __future__ import annotations

import io
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import xlsxwriter

BEDS = 100
ROUNDS = 5


def content() -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Beds")
    book.define_name("units", "=Setup!$A$1")
    book.add_worksheet("Setup").write("A1", "us")
    columns = [{"header": h} for h in ("Bed", "Length (ft)", "Width (in)", *"ABCDE")]
    sheet.add_table(0, 0, BEDS, 7, {"name": "Beds", "columns": columns})
    length, width = "Beds[[#This Row],[Length (ft)]]", "Beds[[#This Row],[Width (in)]]"
    for row in range(1, BEDS + 1):
        sheet.write_row(row, 0, [f"bed {row}", 20 + row % 40, 24 + row % 4 * 6])
        sheet.write_formula(row, 3, f'=IF({length}="","",BED_AREA({length},{width},1,units))')
        sheet.write_formula(row, 4, f'=IF({length}="","",EMITTER_COUNT({length},8,units))')
        sheet.write_formula(row, 5, f"=ROUND(D{row + 1}*1.1,1)")
        sheet.write_formula(row, 6, f'=IF(F{row + 1}>SUM(Beds[A])/{BEDS},"large","small")')
        sheet.write_formula(row, 7, f"=SUMIFS(Beds[A],Beds[Width (in)],C{row + 1})")
    book.close()
    return out.getvalue()


def timed(run: Callable[[], object]) -> tuple[float, float]:
    """Median wall and processor seconds of some rounds, after one that is not counted."""
    run()
    wall, processor = [], []
    for _ in range(ROUNDS):
        start, used = time.perf_counter(), sum(os.times()[:4])
        run()
        wall.append(time.perf_counter() - start)
        processor.append(sum(os.times()[:4]) - used)
    return statistics.median(wall), statistics.median(processor)


def main() -> None:
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.hosts.libreoffice.office import Office
    from xlfuncs.workbooks.recalculation import recalculated_bytes

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "beds.xlsx"
        path.write_bytes(content())
        functions = worksheet_callables()
        command = [sys.executable, "-m", "xlfuncs.command_line.main", "recalculate", str(path)]
        profile = f"-env:UserInstallation={(Path(folder) / 'profile').as_uri()}"
        soffice = os.environ.get("SOFFICE", "soffice")
        convert = [soffice, profile, "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML",
                   "--outdir", f"{folder}/out", str(path)]  # fmt: skip
        ours = timed(lambda: recalculated_bytes(path.read_bytes(), functions))
        whole = timed(lambda: subprocess.run(command, check=True, capture_output=True))
        started = timed(lambda: subprocess.run(convert, check=True, capture_output=True))
        with Office() as office:
            running = timed(lambda: office.values(path))
    print("ms                                          wall  processor")
    for words, (wall, processor) in (
        ("this package, start and imports left out", ours),
        ("this package, whole command", whole),
        ("LibreOffice, new process, without add-in", started),
        ("LibreOffice, running, with our add-in", running),
    ):
        print(f"{words:40} {wall * 1000:8.0f} {processor * 1000:9.0f}")
    for words, mine in (("without start", ours), ("with start", whole)):
        shares = (f"{one / other:.1%}" for one, other in zip(mine, started, strict=True))
        print(f"share of a new LibreOffice, {words:15} {'  '.join(shares)}")


if __name__ == "__main__":
    main()
