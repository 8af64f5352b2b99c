"""Recalculating 500 formulas: this package beside LibreOffice, start-up left out and counted in.

    python -m tests.bench.bench_workbooks

The workbook has 100 beds with five formulas each: ordinary ones, calls of our functions, and items
of one whole result. LibreOffice recalculates the same file without a screen: once as a new
process that converts it (how it is usually called), once inside a process that already runs. Each
new process writes a file. LibreOffice keeps the values of a file from elsewhere unless its profile
says that all is to be computed on loading, so it does. Without our add-in, the calls and what reads
them are #NAME? there; with it, LibreOffice starts Python and loads this package too.
"""

from __future__ import annotations

import io
import os
import statistics
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import xlsxwriter

BEDS = 100
ROUNDS = 9

COMPUTE_ON_LOADING = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry"
 xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load">
<prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item></oor:items>
"""


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


def converting(path: Path, folder: Path, options: list[str]) -> Callable[[], object]:
    """A run of LibreOffice that computes the workbook anew and writes it into `folder`."""
    from xlfuncs.hosts.libreoffice.installation import find

    settings = folder / "profile" / "user" / "registrymodifications.xcu"
    settings.parent.mkdir(parents=True)
    settings.write_text(COMPUTE_ON_LOADING, "utf-8")
    found = find()
    command = [
        found.soffice, f"-env:UserInstallation={(folder / 'profile').as_uri()}", *options,
        "--headless", "--convert-to", "xlsx:Calc MS Excel 2007 XML", "--outdir", folder, path,
    ]  # fmt: skip
    return lambda: subprocess.run(command, check=True, capture_output=True, env=found.environment())


def unpacked_addin(folder: Path) -> list[str]:
    from xlfuncs.hosts.libreoffice import oxt

    folder.mkdir()
    with zipfile.ZipFile(oxt.build(folder / "xlfuncs.oxt")) as archive:
        archive.extractall(folder / "extensions" / "xlfuncs")
    return [f"-env:BUNDLED_EXTENSIONS={(folder / 'extensions').as_uri()}"]


def first_row(path: Path) -> list[object]:
    sheet = openpyxl.load_workbook(path, data_only=True)["Beds"]
    return [sheet.cell(2, column).value for column in range(4, 9)]


def main() -> None:
    from tests.workbooks.recalculated import recalculated_bytes
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.hosts.libreoffice.office import Office

    # an installed package has its bytecode; a checkout writes it on the first run, if it may
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        path, target = folder / "beds.xlsx", folder / "out.xlsx"
        path.write_bytes(content())
        functions = worksheet_callables()
        script = "from xlfuncs.command_line.main import main; main()"  # as the installed one
        command = [sys.executable, "-c", script, "recalculate", path, "--output", target]
        bare, full = folder / "without", folder / "with"
        ours = timed(lambda: recalculated_bytes(path.read_bytes(), functions))
        whole = timed(lambda: subprocess.run(command, check=True, capture_output=True))
        without = timed(converting(path, bare, []))
        addin = timed(converting(path, full, unpacked_addin(folder / "addin")))
        assert first_row(target) == first_row(full / path.name) != first_row(bare / path.name)
        with Office() as office:
            running = timed(lambda: office.values(path))
    print("ms                                          wall  processor")
    for words, (wall, processor) in (
        ("this package, start and imports left out", ours),
        ("this package, whole command", whole),
        ("LibreOffice, new process, without add-in", without),
        ("LibreOffice, new process, with our add-in", addin),
        ("LibreOffice, running, with our add-in", running),
    ):
        print(f"{words:41} {wall * 1000:7.0f} {processor * 1000:9.0f}")
    for words, mine in (("without start", ours), ("with start", whole)):
        for their_words, theirs in (("without", without), ("with", addin)):
            shares = (f"{one / other:.1%}" for one, other in zip(mine, theirs, strict=True))
            print(f"{words}: share of a new LibreOffice {their_words} add-in", *shares, sep="  ")


if __name__ == "__main__":
    main()
