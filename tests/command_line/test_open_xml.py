"""Every workbook that a command writes, held against the schemas and rules of Open XML by a
validator of its own (openxml-audit), so that Excel need not repair it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from click.testing import CliRunner

from xlfuncs.command_line.main import commands

US = Path(__file__).parents[2] / "examples" / "us"
# The client's copy keeps its texts in the cells, which is valid (ECMA-376 part 1, 18.18.11); Excel
# moves them to a table of their own when it saves.
KEPT_IN_CELLS = "Excel_InlineStrCells"


def findings(path: Path) -> Counter[str]:
    from openxml_audit import OpenXmlValidator

    told = OpenXmlValidator().validate(str(path)).errors
    return Counter(f"{e.id}: {e.description[:200]}" for e in told if e.id != KEPT_IN_CELLS)


def give(*arguments: str) -> None:
    done = CliRunner().invoke(commands, [str(argument) for argument in arguments])
    assert done.exit_code in (0, 1), done.output
    assert done.exception is None or isinstance(done.exception, SystemExit), done.output


def _demo() -> str:
    give("demo")
    return "invented-farm-us.xlsx"


def _new() -> str:
    give("new", "new.xlsx", "--units", "metric")
    return "new.xlsx"


def _for_excel() -> str:
    give("new", "new.xlsm", "--excel")
    return "new.xlsm"


def _from_a_bed_list() -> str:
    mapping = str(US / "handwritten_beds.mapping.toml")
    give("new", "beds.xlsx", "--beds", str(US / "handwritten_beds.csv"), "--mapping", mapping)
    return "beds.xlsx"


def _client_copy() -> str:
    give("demo")
    give("client-copy", "invented-farm-us.xlsx", "--output", "client.xlsx")
    return "client.xlsx"


def _ledger() -> str:
    exports = US / "exports"
    give("import-ledger", str(exports / "shop_2023.csv"), "shop.xlsx", "--currency", "USD",
         "--as", "drip tape=tape")  # fmt: skip
    return "shop.xlsx"


@pytest.mark.parametrize(
    "write", [_demo, _new, _for_excel, _from_a_bed_list, _client_copy, _ledger]
)
def test_what_is_built_has_no_finding(write: Callable[[], str]) -> None:
    """The fixture of all tests makes a folder of its own the current one."""
    path = Path(write())
    assert path.exists()
    assert findings(path) == Counter()


def _own(path: Path) -> Path:
    """A person's list, as a library writes it."""
    book = openpyxl.Workbook()
    book.active.title = "Beds"
    book.active.append(["Bed", "Length (ft)", "Width (in)", "Laterals"])
    for name, length in (("B1", 20), ("B2", 22.5)):
        book.active.append([name, length, 30, 3])
    book.save(path)
    return path


def _columns_added(path: Path) -> Path:
    give("add-columns", str(path), "--sheet", "Beds", "--add", "BED_AREA", "--add", "LINE_LENGTH")
    return path


def _functions_added(path: Path) -> Path:
    give("excel", "add", str(path))
    return path.with_suffix(".xlsm")


def _recalculated(path: Path) -> Path:
    give("recalculate", str(path))
    return path


@pytest.mark.parametrize("extend", [_columns_added, _functions_added, _recalculated])
def test_a_persons_workbook_gets_no_new_finding(
    tmp_path: Path, extend: Callable[[Path], Path]
) -> None:
    path = _own(tmp_path / "own.xlsx")
    before = findings(path)
    assert findings(extend(path)) - before == Counter()
