"""What a call from Excel costs on the Python side, through xlwings' own Windows code.

    python -m tests.bench.bench_excel

Excel's own part (COM between two processes, and VBA) comes on top and is not measured here.
"""

from __future__ import annotations

import re
import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.formula import ArrayFormula

from tests.hosts.excel.played_windows import MISSING, ExcelRange, call, error_code
from workbook_template.build import build, demo_inputs
from xlfuncs.catalogue.registry import functions

ROWS = 10_000


def _milliseconds(work: Callable[[], Any], times: int) -> list[float]:
    work()
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append((time.perf_counter() - start) * 1e3)
    return found


def _report(what: str, found: list[float], unit: float = 1.0, name: str = "ms") -> None:
    least, middle = min(found) * unit, statistics.median(found) * unit
    print(f"{what:58} least {least:8.1f} {name}, median {middle:8.1f} {name}")


def main() -> None:
    lengths: list[list[Any]] = [[float(i % 300 + 1)] for i in range(ROWS)]
    column = ExcelRange(lengths)
    texts = ExcelRange([[f"{i % 300 + 1} ft"] for i in range(ROWS)])
    mixed = ExcelRange(
        [[error_code(2042)] if i % 10 == 0 else row for i, row in enumerate(lengths)]
    )
    spacing, flow = ExcelRange(8.0), ExcelRange(0.25)

    def lateral_flow(rows: ExcelRange) -> Any:
        return call("LATERAL_FLOW", rows, spacing, flow, MISSING)

    one = [ExcelRange(48.0), spacing, flow, MISSING]
    _report("one cell", _milliseconds(lambda: call("LATERAL_FLOW", *one), 2000), 1e3, "µs")
    for what, rows in (("numbers", column), ("text", texts), ("one error in ten", mixed)):
        found = _milliseconds(lambda rows=rows: lateral_flow(rows), 30)  # type: ignore[misc]
        _report(f"{ROWS:,} rows in one call, {what}", found)


def calls_of_the_template() -> None:
    """How often Excel calls our functions to compute the demo anew, and those on the whole."""
    whole = {name for name, function in functions().items() if not function.elementwise}
    called = re.compile(rf"\b({'|'.join(functions())})\(")
    for ending, words in ((".xlsx", "read with INDEX"), (".xlsm", "spilled")):
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / f"farm{ending}"
            build(path, "us", demo_inputs("us"), macros=ending == ".xlsm")
            book = openpyxl.load_workbook(path)
        cells = [cell.value for sheet in book for row in sheet.iter_rows() for cell in row]
        texts = [v.text if isinstance(v, ArrayFormula) else v for v in cells]
        formulas = [v for v in texts if isinstance(v, str) and v[:1] == "="]
        named = {name: called.findall(one.attr_text) for name, one in book.defined_names.items()}
        behind = re.compile(rf"\b({'|'.join(n for n, calls in named.items() if calls)})\b")
        names = [n for v in formulas for n in called.findall(v)]
        names += [n for v in formulas for name in behind.findall(v) for n in named[name]]
        on_the_whole = sum(name in whole for name in names)
        print(f"demo, {words:15} calls {len(names):6,}, on the whole {on_the_whole:6,}")


if __name__ == "__main__":
    main()
    calls_of_the_template()
