"""What two tricks bring: garbage collection put off, and LAPACK loaded without the rest of scipy.

    python -m tests.bench.bench_tricks

Each is measured with and without, in turn, in a process of its own that finds its files in the
machine's cache: processor seconds, the least of five.
"""

from __future__ import annotations

import io
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

ROWS, ROUNDS = 5_000, 5


@contextmanager
def as_usual() -> Iterator[None]:
    yield


def content() -> bytes:
    import xlsxwriter

    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Beds")
    for row in range(1, ROWS + 1):
        sheet.write_row(row, 0, [row, 2.0, 30.0])
        sheet.write_formula(row, 3, f"=BED_AREA(A{row + 1},C{row + 1})")
        sheet.write_formula(row, 4, f"=A{row + 1}*B{row + 1}")
        sheet.write_formula(row, 5, f"=SUM(A{row + 1}:E{row + 1})")
        sheet.write_formula(row, 6, f"=IF(D{row + 1}>10,E{row + 1},F{row + 1})")
    book.close()
    return out.getvalue()


def recalculation(*, trick: bool) -> float:
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.recalculating import engine
    from xlfuncs.xlsx.contents import Contents
    from xlfuncs.xlsx.package import Package

    if not trick:
        engine.collection_put_off = as_usual  # type: ignore[attr-defined]
    functions, contents = worksheet_callables(), Contents(Package.open(content(), "beds"))
    begun = time.process_time()
    engine.evaluate(contents, functions)
    return time.process_time() - begun


def tridiagonal_solver(*, trick: bool) -> float:
    begun = time.process_time()
    if trick:
        from xlfuncs.calculations.pressure.lapack import tridiagonal_solver as load

        load()
    else:
        from scipy.linalg.lapack import dptsv  # noqa: F401
    return time.process_time() - begun


MEASURED = {"recalculation": recalculation, "tridiagonal_solver": tridiagonal_solver}


def measured(name: str, trick: bool) -> float:
    command = [sys.executable, "-m", "tests.bench.bench_tricks", name, str(trick)]
    return float(subprocess.run(command, check=True, capture_output=True, text=True).stdout)


def main() -> None:
    if len(sys.argv) > 1:
        print(MEASURED[sys.argv[1]](trick=sys.argv[2] == "True"))
        return
    for name in MEASURED:
        taken: dict[bool, list[float]] = {True: [], False: []}
        for _ in range(ROUNDS):
            for trick in taken:
                taken[trick].append(measured(name, trick))
        print(f"{name}: {min(taken[True]):.2f} s with, {min(taken[False]):.2f} s without")


if __name__ == "__main__":
    main()
