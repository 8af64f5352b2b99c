"""Times of the bed functions, the reading of a bed list, and the check of a workbook.

python -m tests.bench.bench_beds
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

import xlfuncs
from xlfuncs.workbooks.checking.input_checks import check
from xlfuncs.workbooks.lists.bed_list_import import read_bed_list


def seconds(work: Callable[[], object], repeat: int = 3) -> float:
    """The best of some runs, after one that loads what is loaded once."""
    work()
    best = np.inf
    for _ in range(repeat):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return float(best)


def columns(rows: int = 10_000) -> None:
    rng = np.random.default_rng(1)
    width, lines = rng.uniform(20, 60, rows), rng.integers(1, 7, rows).astype(float)
    print(f"COVERAGE, {rows} rows: {seconds(lambda: xlfuncs.coverage(width, lines)) * 1e3:.1f} ms")
    fill = seconds(lambda: xlfuncs.fill_minutes(5.0, width, lines, 0.6))
    print(f"FILL_MINUTES, {rows} rows: {fill * 1e3:.1f} ms")
    layouts = seconds(lambda: xlfuncs.line_layouts(40, 12))
    print(f"LINE_LAYOUTS, 6 line counts: {layouts * 1e3:.1f} ms")


def bed_list(folder: Path, rows: int = 1_000) -> None:
    path = folder / "list.csv"
    lines = ["Bed no;Lenght (ft);Width in;# of tapes;Tape;From tap ft"]
    lines += [f"Bed {i};{20 + i % 30},5;30;4;tape 8 in;{i}" for i in range(rows)]
    path.write_text("\n".join(lines), "utf-8")
    print(f"bed list, {rows} lines: {seconds(lambda: read_bed_list(path, 'us')):.2f} s")


def workbook(folder: Path) -> None:
    from workbook_template.build import build, demo_inputs

    path = folder / "demo.xlsx"
    build(path, "us", demo_inputs("us"))
    print(f"check of the demo workbook: {seconds(lambda: check(path)):.2f} s")


def main() -> None:
    columns()
    with tempfile.TemporaryDirectory() as name:
        bed_list(Path(name))
        workbook(Path(name))


if __name__ == "__main__":
    main()
