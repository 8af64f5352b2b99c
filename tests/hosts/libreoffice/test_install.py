"""Install, use, upgrade, remove by `unopkg`, in a profile that did not exist before."""

from __future__ import annotations

import json
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest

from xlfuncs.errors import CellError
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.install import (
    install,
    installed,
    installed_version,
    remove,
)
from xlfuncs.hosts.libreoffice.installation import Installation, OfficeError
from xlfuncs.hosts.libreoffice.office import Office

pytestmark = pytest.mark.libreoffice

NOBODY = 65534


@pytest.fixture
def folder(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder that any user can use; as root the test goes on as an ordinary user."""
    with tempfile.TemporaryDirectory() as name:
        os.chmod(name, 0o777)
        monkeypatch.setenv("HOME", name)
        monkeypatch.chdir(name)  # `unopkg` looks at where it is started
        yield Path(name)
        monkeypatch.chdir("/")


class OrdinaryUser:
    """Within it root is nobody in particular, for `unopkg` refuses to work for root."""

    def __enter__(self) -> None:
        self._groups = os.getgroups()
        if os.geteuid() == 0:
            os.setgroups([])
            os.setresgid(NOBODY, NOBODY, 0)
            os.setresuid(NOBODY, NOBODY, 0)

    def __exit__(self, *_: object) -> None:
        if os.getresuid()[2] == 0:
            os.setresuid(0, 0, 0)
            os.setresgid(0, 0, 0)
            os.setgroups(self._groups)


def area_with(office: Office, folder: Path) -> object:
    book = openpyxl.Workbook()
    book.worksheets[0]["A1"] = "=BED_AREA(12,12)"
    book.save(folder / "area.xlsx")
    return office.values(folder / "area.xlsx")["Sheet"]["A1"]


def area_in(profile: Path, folder: Path) -> object:
    with tempfile.TemporaryDirectory() as name:
        # A copy, so that no file in the profile comes to belong to root.
        copy = shutil.copytree(profile, Path(name) / "profile")
        with Office(profile=copy) as office:
            return area_with(office, folder)


def test_install_use_upgrade_remove(installation: Installation, folder: Path) -> None:
    profile = folder / "profile"
    older = oxt.build(folder / "older.oxt", version="0.0.9", in_process=False)
    newer = oxt.build(folder / "newer.oxt", version="0.0.10")
    with OrdinaryUser():
        assert installed_version(profile=profile) is None
        install(older, profile=profile)
        assert installed_version(profile=profile) == "0.0.9"
    assert area_in(profile, folder) == pytest.approx(12)
    with OrdinaryUser():
        install(newer, profile=profile)
        assert installed_version(profile=profile) == "0.0.10"
    assert area_in(profile, folder) == pytest.approx(12)
    with OrdinaryUser():
        assert remove(profile=profile) is True
        assert remove(profile=profile) is False
        assert installed_version(profile=profile) is None
    assert area_in(profile, folder) is CellError.NAME


def test_a_file_that_is_no_extension_is_refused(installation: Installation, folder: Path) -> None:
    broken = folder / "broken.oxt"
    broken.write_text("not an extension")
    with OrdinaryUser(), pytest.raises(OfficeError, match="unopkg add failed"):
        install(broken, profile=folder / "profile")


def test_a_folder_that_takes_no_settings_is_told(installation: Installation, folder: Path) -> None:
    (folder / "shut").mkdir(mode=0o555)
    with OrdinaryUser(), pytest.raises(OfficeError, match="home folder yours to write in") as said:
        installed_version(profile=folder / "shut" / "profile")
    assert "com.sun.star" not in str(said.value)


@pytest.mark.skipif(os.geteuid() != 0, reason="says what root is told")
def test_root_is_told_what_to_do(installation: Installation, folder: Path) -> None:
    with pytest.raises(OfficeError, match="as the user who works in LibreOffice"):
        installed_version(profile=folder / "profile")


def test_status_speaks_of_the_extension_that_is_installed(
    installation: Installation, folder: Path
) -> None:
    """A worker's extension is one though this environment could run inside; a moved one is gone."""
    profile = folder / "profile"
    with OrdinaryUser():
        assert installed(profile=profile) is None
        install(oxt.build(folder / "xlfuncs.oxt", in_process=False), profile=profile)
        found = installed(profile=profile)
    assert found is not None
    assert not found.runs_within(installation)
    assert (found.python, found.trouble()) == (Path(sys.executable), "")
    with Office(extension=found.folder) as office:
        assert area_with(office, folder) == pytest.approx(12)
    settings = found.settings
    settings["command"][0] = str(folder / "moved" / "python")
    (found.folder / "settings.json").write_text(json.dumps(settings))
    assert "is gone" in found.trouble()
