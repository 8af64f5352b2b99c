"""For all tests."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from xlfuncs.hosts.cells import Cells
from xlfuncs.hosts.libreoffice.installation import OfficeError, find
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.workbooks.recalculating import collecting

# What tests keep for each other is as large as several of a command's books, and each collection
# searches through all of it.
collecting.AT_MOST = 3 * collecting.AT_MOST
gc.set_threshold(50_000, 20, 20)


@pytest.fixture(scope="session")
def _out_of_the_checkout(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("elsewhere")


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(
    request: pytest.FixtureRequest, _out_of_the_checkout: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reference engines leave files of their own where they run; keep them out of the checkout.

    One for each of thousands of tests that ask for none would take longer than most of them.
    """
    asked = "tmp_path" in request.fixturenames
    monkeypatch.chdir(request.getfixturevalue("tmp_path") if asked else _out_of_the_checkout)


@pytest.fixture(autouse=True)
def _mistakes_of_ours_are_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a calculation raises and did not declare must not pass as #VALUE!."""
    monkeypatch.setattr(Cells, "raises", True)


@pytest.fixture(scope="session")
def calc(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """A real Calc in an empty profile, without our add-in."""
    try:
        find()
    except OfficeError as error:
        if os.environ.get("CI"):
            pytest.fail(f"CI must have LibreOffice: {error}")
        pytest.skip(f"needs LibreOffice: {error}")
    with Office(profile=tmp_path_factory.mktemp("profile")) as office:
        yield office
