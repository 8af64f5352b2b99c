"""50,000 entries: read from an export, read again, and computed in a workbook.

`python -m tests.bench.bench_ledger [ENTRIES]` prints seconds by the clock and of the processor.
"""

from __future__ import annotations

import csv
import random
import sys
import time
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TypeVar

from workbook_template.build import build, starting_inputs
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.adding_rows import with_rows
from xlfuncs.workbooks.ledger_books import planned
from xlfuncs.workbooks.lists.ledger.importing import import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.recalculating.recalculation import recalculate

Made = TypeVar("Made")


def timed(what: str, work: Callable[[], Made]) -> Made:
    clock, processor = time.perf_counter(), time.process_time()
    made = work()
    print(f"{what}: {time.perf_counter() - clock:.1f} s, processor "
          f"{time.process_time() - processor:.1f} s")  # fmt: skip
    return made


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 50_000
    chance = random.Random(count)
    with TemporaryDirectory() as folder:
        export, book = Path(folder) / "shop.csv", Path(folder) / "books.xlsx"
        with export.open("w", encoding="utf-8", newline="") as file:
            out = csv.writer(file)
            out.writerow(["Order date", "Order", "Category", "Product", "Qty", "Line total"])
            for i in range(count):
                day = f"{2022 + i * 4 // count}-{i % 12 + 1:02}-{i % 28 + 1:02}"
                kind = chance.choice(("fittings", "filters"))
                paid = f"{chance.uniform(1, 99):.2f}"
                out.writerow([day, f"R{i}", kind, f"Part {i % 300}", chance.randint(1, 50), paid])
        said = ListMapping()
        result = timed("read", lambda: import_ledger(export, "metric", said))
        timed("read again", lambda: import_ledger(export, "metric", said, result.entries))
        build(book, "metric", starting_inputs("metric"), edition="bookkeeper")
        plan = timed("import: read", lambda: planned(book, [(export, said)]))
        timed("import: put in", lambda: with_rows(
            plan.reading, plan.content, LEDGER.name, plan.entries, {}))  # fmt: skip
        timed("put in and computed", plan.write)
        timed("computed again", lambda: recalculate(book, worksheet_callables()))


if __name__ == "__main__":
    main()
