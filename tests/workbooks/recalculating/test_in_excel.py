"""The steps with an open Excel, against a stand-in for xlwings; no real Excel was at hand."""

from __future__ import annotations

import sys
from pathlib import Path
from types import SimpleNamespace

import openpyxl
import pytest

from tests.workbooks.conftest import workbook
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.recalculating.in_excel import recalculate_open


class StandIn:
    """An Excel with one open workbook, which holds a lock file as long as it is open."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lock = path.with_name("~$" + path.name)
        self.did: list[str] = []
        self.books = Books(self)
        self.open(str(path))

    def open(self, _: str) -> None:
        self.did.append("open")
        self.lock.write_text("")

    def save(self) -> None:
        self.did.append("save")

    def close(self) -> None:
        self.did.append("close")
        self.lock.unlink()


class Books(list[SimpleNamespace]):
    def __init__(self, excel: StandIn) -> None:
        book = SimpleNamespace(
            name=excel.path.name, fullname=str(excel.path), save=excel.save, close=excel.close
        )
        super().__init__([book])
        self.open = excel.open


def test_the_workbook_is_saved_closed_recalculated_and_opened_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Data": {"A1": 2, "B1": "=A1*2"}}))
    excel = StandIn(path)
    monkeypatch.setitem(sys.modules, "xlwings", SimpleNamespace(apps=[excel]))
    report = recalculate_open("beds.xlsx", {})
    assert excel.did == ["open", "save", "close", "open"]
    assert report.changed_cells == 1
    assert report.backup is not None
    assert openpyxl.load_workbook(path, data_only=True)["Data"]["B1"].value == 4


def test_a_workbook_that_is_not_open_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "xlwings", SimpleNamespace(apps=[]))
    with pytest.raises(WorkbookError, match=r"other\.xlsx is not open"):
        recalculate_open("other.xlsx", {})
