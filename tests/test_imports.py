"""`import xlfuncs` is light, and so is the recalculation of an ordinary workbook."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import openpyxl

HEAVY = ("pint", "pandas", "numpy", "scipy", "xlwings", "openpyxl", "highspy")


def test_import_alone_loads_nothing_heavy() -> None:
    code = f"import sys, xlfuncs; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_recalculation_loads_what_it_needs(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0]["A1"] = "=BED_AREA(48,30)+EMITTER_COUNT(48,8)"
    path = tmp_path / "book.xlsx"
    book.save(path)
    needless = [name for name in HEAVY if name != "numpy"]
    needless += ["rich", "matplotlib", "xlsxwriter", "xlfuncs.catalogue.topics.buying.purchase"]
    code = (
        "import sys; from xlfuncs.command_line.main import commands;"
        f"commands(['recalculate', {str(path)!r}], standalone_mode=False);"
        f"print([m for m in {needless!r} if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
    assert openpyxl.load_workbook(path, data_only=True).worksheets[0]["A1"].value == 120 + 72
