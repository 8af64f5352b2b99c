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

# A text that is put into a person's workbook stays in its cell, which is valid (ECMA-376 part 1,
# 18.18.11) and leaves the table of texts as it is; Excel moves it there when it saves.
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


def _for_excel() -> str:
    give("new", "new.xlsm", "--excel")
    return "new.xlsm"


def _client_copy() -> str:
    give("demo")
    give("client-copy", "invented-farm-us.xlsx", "--output", "client.xlsx")
    return "client.xlsx"


@pytest.mark.parametrize("write", [_demo, _for_excel, _client_copy])
def test_what_is_built_has_no_finding(write: Callable[[], str]) -> None:
    """All sheets that there are; the fixture of all tests makes a folder of its own current."""
    path = Path(write())
    assert path.exists()
    assert findings(path) == Counter()


def test_a_persons_workbook_gets_no_new_finding(tmp_path: Path) -> None:
    """A list as a library writes it; test_hard_places looks at what the other commands write."""
    path = tmp_path / "own.xlsx"
    book = openpyxl.Workbook()
    book.active.append(["Bed", "Length (ft)"])
    book.save(path)
    before = findings(path)
    give("excel", "add", str(path))
    assert findings(path.with_suffix(".xlsm")) - before == Counter()
