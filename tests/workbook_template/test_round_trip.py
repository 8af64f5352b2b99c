"""build(read(build(inputs))) is build(inputs), part by part; run as a file for as many as wanted.

Values follow from formulas and inputs, so most seeds compare the files without values.
"""

from __future__ import annotations

import io
import sys
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from tests.workbook_template.random_inputs import random_inputs
from workbook_template.build import build, write
from workbook_template.kit.declared import EDITIONS
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.columns import Column
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, read_inputs

Saved = Callable[[bytes], bytes]  # what another program makes of a file


def without_values(system: str, inputs: Inputs, edition: str) -> bytes:
    return write(system, inputs, edition=edition).finish({})


def parts_that_differ(one: bytes, two: bytes) -> list[str]:
    a, b = (zipfile.ZipFile(io.BytesIO(content)) for content in (one, two))
    assert a.namelist() == b.namelist()
    # The core properties hold the time of making.
    return [n for n in a.namelist() if n != "docProps/core.xml" and a.read(n) != b.read(n)]


def differing(seed: int, saved: Saved = lambda content: content) -> list[str]:
    system, edition = ("us", "metric")[seed % 2], EDITIONS[seed // 2 % len(EDITIONS)]
    first = without_values(system, random_inputs(seed, system), edition)
    found = read_inputs(saved(first))
    assert (found.marks.system, found.marks.edition) == (system, edition)
    return parts_that_differ(first, without_values(system, found.inputs, edition))


def by_openpyxl(content: bytes) -> bytes:
    out = io.BytesIO()
    openpyxl.load_workbook(io.BytesIO(content)).save(out)
    return out.getvalue()


@pytest.mark.parametrize("seed", range(8))
def test_random_inputs_come_back(seed: int) -> None:
    assert differing(seed) == []


@pytest.mark.parametrize("seed", [100, 101])
def test_also_when_openpyxl_saved_it(seed: int) -> None:
    assert differing(seed, by_openpyxl) == []


@pytest.mark.libreoffice
@pytest.mark.parametrize("seed", [200, 201])
def test_also_when_calc_saved_it(seed: int, calc: Office, tmp_path: Path) -> None:
    assert differing(seed, by_calc(calc, tmp_path)) == []


def by_calc(calc: Office, folder: Path) -> Saved:
    def saved(content: bytes) -> bytes:
        path = folder / "farm.xlsx"
        path.write_bytes(content)
        to = folder / "saved.xlsx"
        calc.save(path, to, "Calc MS Excel 2007 XML", recalculate=False)
        return to.read_bytes()

    return saved


def test_text_that_looks_like_an_escape_stays(tmp_path: Path) -> None:
    """ECMA-376 part 1, 22.9.2.19; openpyxl reads such text wrongly, so no seed has it."""
    inputs = Inputs({"farm": "_x0041_ farm"}, {})
    assert read_inputs(without_values("us", inputs, "all")).inputs.settings["farm"] == (
        "_x0041_ farm"
    )


@pytest.mark.parametrize("seed", [1, 15])
def test_with_values_too(seed: int, tmp_path: Path) -> None:
    one, two = tmp_path / "one.xlsx", tmp_path / "two.xlsx"
    build(one, "us", random_inputs(seed, "us"))
    build(two, "us", read_inputs(one).inputs)
    assert parts_that_differ(one.read_bytes(), two.read_bytes()) == []


def test_a_word_for_a_count_or_a_day_leaves_no_cell_without_a_value(tmp_path: Path) -> None:
    """Programs differ on TRUE as a number; nothing may rest on that."""

    def odd(column: Column) -> str:
        return "TRUE" if column.dimension in ("count", "date") and not column.choices else "A"

    settings = {setting.name: odd(setting) for setting in SETTINGS if odd(setting) != "A"}
    tables = {table.name: [{c.name: odd(c) for c in table.columns}] for table in TABLES}
    build(tmp_path / "odd.xlsx", "us", Inputs(settings, tables))


if __name__ == "__main__":
    import tempfile

    count = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as folder, Office(profile=Path(folder)) as office:
        ways: dict[str, Saved] = {
            "as built": lambda content: content,
            "saved by openpyxl": by_openpyxl,
            "saved by Calc": by_calc(office, Path(folder)),
        }
        for way, saved in ways.items():
            bad = [seed for seed in range(count) if differing(seed, saved)]
            print(f"{way}: {count - len(bad)} of {count} the same; differing seeds: {bad}")
