"""render: pages as PDF and pictures, by a real LibreOffice; and what it says when tools miss."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import click
import openpyxl
import pypdf
import pytest
from click.testing import CliRunner

from xlfuncs.command_line.commands import render
from xlfuncs.hosts.libreoffice.installation import OfficeError, find


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """Two printed pages, one a sheet; a sheet with a print area prints even when it is hidden."""
    book = openpyxl.Workbook()
    book.worksheets[0]["A1"] = "=BED_AREA(12,12)"
    book.worksheets[0].print_area = "A1:B2"
    book.create_sheet("Second")["A1"] = "second page"
    book.save(tmp_path / "beds.xlsx")
    return tmp_path / "beds.xlsx"


def need_libreoffice() -> None:
    try:
        find()
        if shutil.which(render.PDFTOPPM) is None:
            raise OfficeError(f"{render.PDFTOPPM} is missing")
    except OfficeError as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(f"needs LibreOffice: {error}")


@pytest.mark.libreoffice
def test_pages_and_pictures(workbook: Path, tmp_path: Path) -> None:
    need_libreoffice()
    before = workbook.read_bytes()
    out = tmp_path / "out"
    done = CliRunner().invoke(render.command, [str(workbook), "--output", str(out)])
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in out.iterdir()) == [
        "beds-page-1.png",
        "beds-page-2.png",
        "beds.pdf",
    ]
    assert (out / "beds-page-1.png").read_bytes().startswith(b"\x89PNG")
    assert workbook.read_bytes() == before
    only = [str(workbook), "--output", str(tmp_path / "one"), "--sheets", "Second", "--pdf-only"]
    assert CliRunner().invoke(render.command, only).exit_code == 0
    (page,) = pypdf.PdfReader(tmp_path / "one" / "beds.pdf").pages
    (tmp_path / "one" / "beds.pdf").write_bytes(b"%PDF-1.4 a proposal, by ReportLab")
    assert CliRunner().invoke(render.command, only).exit_code == 0
    assert (tmp_path / "one" / "beds.pdf").read_bytes().endswith(b"ReportLab")
    assert (tmp_path / "one" / "beds-pages.pdf").exists()
    assert "second page" in page.extract_text()
    unknown = CliRunner().invoke(render.command, [str(workbook), "--sheets", "Third"])
    assert "no sheet Third; there are: Sheet, Second" in str(unknown.exception)


def test_missing_picture_program_is_said_with_the_remedy(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    with pytest.raises(click.ClickException, match="poppler-utils"):
        render.pictures(tmp_path / "beds.pdf", 100, tmp_path)
