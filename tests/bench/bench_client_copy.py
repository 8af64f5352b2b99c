"""A client's copy against computing the same workbook: the invented farm, and one of 60 beds.

Each command runs in a process of its own, by turns; processor time, user and system, the least of
three. A copy may take 2.5 times what `recalculate` takes.

    python -m tests.bench.bench_client_copy
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.bench_template import with_beds
from workbook_template.build import build, demo_inputs

ROUNDS = 3
ALLOWED = 2.5


def seconds(*arguments: str) -> float:
    """Of one command."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    command = [sys.executable, "-m", "xlfuncs.command_line.main", *arguments]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    farm = demo_inputs("us")
    with tempfile.TemporaryDirectory() as name:
        path, copy = Path(name) / "farm.xlsx", str(Path(name) / "copy.xlsx")
        for beds, inputs in ((len(farm.tables["Beds"]), farm), (60, with_beds(farm, 60))):
            build(path, "us", inputs)
            computed, copied = [], []
            for _ in range(ROUNDS):
                computed.append(seconds("recalculate", str(path), "--output", copy))
                copied.append(seconds("client-copy", str(path), "--output", copy, "--force"))
            one, two = min(computed), min(copied)
            print(f"{beds} beds: recalculate {one:.2f} s, client-copy {two:.2f} s,"
                  f" {two / one:.2f} times of {ALLOWED} allowed", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
