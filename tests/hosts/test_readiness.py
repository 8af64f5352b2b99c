"""The doctor names what an environment lacks: versions below what is declared, folders."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path
from subprocess import CompletedProcess

import pytest

from xlfuncs.hosts import readiness
from xlfuncs.hosts.libreoffice import install as of_office
from xlfuncs.hosts.libreoffice.installation import OfficeError


def faults(folder: Path) -> dict[str, str]:
    return {f.subject: f.words for f in readiness.of_environment(folder) if f.mend}


def test_this_environment_is_in_order(tmp_path: Path) -> None:
    assert faults(tmp_path) == {}


def test_a_version_below_what_is_declared_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def version(name: str) -> str:
        if name == "pint":
            raise metadata.PackageNotFoundError(name)
        return "0.0.1" if name.lower() == "xlsxwriter" else metadata.version(name)

    monkeypatch.setattr(readiness, "version", version)
    words = faults(tmp_path)["Packages"]
    assert "xlsxwriter is 0.0.1, needed is" in words.lower()
    assert "pint is missing" in words


def test_a_folder_that_cannot_be_written_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(readiness.os, "access", lambda place, _: place != tmp_path)
    assert faults(tmp_path) == {"Folder": f"{tmp_path} cannot be written"}


def test_a_machine_without_libreoffice_has_no_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    def nothing() -> None:
        raise OfficeError("not found")

    monkeypatch.setattr(of_office, "find", nothing)
    assert [(f.subject, f.mend) for f in of_office.of_libreoffice()] == [("LibreOffice", "")]


@pytest.mark.parametrize(("family", "smaller"), [("Carlito", False), ("DejaVu Sans", True)])
def test_a_font_that_makes_pages_small_is_named(
    monkeypatch: pytest.MonkeyPatch, family: str, smaller: bool
) -> None:
    answer = CompletedProcess("fc-match", 0, stdout=family)
    monkeypatch.setattr(of_office.shutil, "which", str)
    monkeypatch.setattr(of_office.subprocess, "run", lambda *_, **__: answer)
    (found,) = of_office._of_font()
    assert family in found.words and ("print smaller" in found.words) == smaller
