"""`import xlfuncs` is light."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("pint", "pandas", "numpy", "scipy", "xlwings", "openpyxl", "highspy")


def test_import_alone_loads_nothing_heavy() -> None:
    code = f"import sys, xlfuncs; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
