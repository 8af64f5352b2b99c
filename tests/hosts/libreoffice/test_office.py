"""The office without a screen: what it reads and writes, and that nothing is left behind."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import openpyxl
import pytest

from tests.hosts.libreoffice.processes import below, gone, on_linux
from xlfuncs.errors import CellError
from xlfuncs.hosts.libreoffice import installation as places
from xlfuncs.hosts.libreoffice.installation import Installation, OfficeError
from xlfuncs.hosts.libreoffice.office import Office

pytestmark = pytest.mark.libreoffice

ROOT = Path(__file__).parents[3]


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    """Two sheets of values, formulas and errors, saved without computed values."""
    book = openpyxl.Workbook()
    first = book.worksheets[0]
    first.title = "Beds & lines"
    first["B2"], first["B3"], first["AB3"] = 48, "22 ft 9 in", True
    first["C2"], first["C3"], first["C4"] = "=BED_AREA(B2,30)", "=BED_AREA(B3,30)", "=NA()"
    first["D2"] = '=IF(B2>1,"","x")'
    book.create_sheet("Sum")["A1"] = "=SUM('Beds & lines'!C2:C3)"
    book.save(tmp_path / "beds.xlsx")
    return tmp_path / "beds.xlsx"


def test_values(installation: Installation, workbook: Path) -> None:
    with Office() as office:
        values = office.values(workbook)
    areas = 48 * 30 / 12, 22.75 * 30 / 12
    assert values == {
        "Beds & lines": {
            "B2": 48, "B3": "22 ft 9 in", "AB3": 1,
            "C2": pytest.approx(areas[0]), "C3": pytest.approx(areas[1]),
            "C4": CellError.NOT_AVAILABLE,
        },
        "Sum": {"A1": pytest.approx(sum(areas))},
    }  # fmt: skip


@pytest.mark.skipif(not on_linux, reason="elsewhere LibreOffice has a Python of its own")
@pytest.mark.parametrize("kind", ["of the system", "of this Python"])
def test_an_activated_environment_does_no_harm(
    kind: str, installation: Installation, workbook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On Linux the Python within LibreOffice lives where the first `python3` on the PATH does."""
    python = installation.python if kind == "of the system" else sys.executable
    active = workbook.parent / "active"
    subprocess.run([python, "-m", "venv", "--without-pip", active], check=True)
    monkeypatch.setenv("VIRTUAL_ENV", str(active))
    monkeypatch.setenv("PATH", str(active / "bin"), prepend=os.pathsep)
    with Office() as office:
        area = office.values(workbook)["Beds & lines"]["C2"]
    assert area == pytest.approx(48 * 30 / 12)


def test_saved_values_are_believed_unless_computed_anew(office: Office, tmp_path: Path) -> None:
    import xlsxwriter

    path = tmp_path / "saved.xlsx"
    with xlsxwriter.Workbook(path) as book:
        book.add_worksheet("Beds").write_formula("A1", "=BED_AREA(12,12)", None, 77)
    assert office.values(path, recalculate=False) == {"Beds": {"A1": 77}}
    assert office.values(path)["Beds"]["A1"] == pytest.approx(12)


def test_pdf(office: Office, workbook: Path, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    pages = pypdf.PdfReader(office.to_pdf(workbook, tmp_path / "beds.pdf")).pages
    assert "120" in pages[0].extract_text()
    assert "#N/A" in pages[0].extract_text()


def test_workbook_that_is_open_elsewhere_is_read(office: Office, workbook: Path) -> None:
    lock = workbook.with_name(f".~lock.{workbook.name}#")
    lock.write_text(",somebody,elsewhere,25.11.2026 09:00,file:///elsewhere;")
    assert office.values(workbook)["Beds & lines"]["B2"] == 48
    lock.unlink()
    office.values(workbook)
    assert [path.name for path in workbook.parent.iterdir()] == [workbook.name]


def test_what_is_no_workbook_is_refused_and_the_office_goes_on(
    office: Office, workbook: Path, tmp_path: Path
) -> None:
    with pytest.raises(OfficeError, match=r"missing\.xlsx"):
        office.values(tmp_path / "missing.xlsx")
    (tmp_path / "letter.html").write_text("<p>Dear gardener</p>")
    with pytest.raises(OfficeError, match="not a spreadsheet"):
        office.values(tmp_path / "letter.html")
    assert office.values(workbook)["Beds & lines"]["B2"] == 48


def test_missing_office_is_said_with_the_remedy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(places, "_offices", lambda: iter(()))
    with pytest.raises(OfficeError, match="python3-uno"), Office():
        pass


@pytest.mark.skipif(not on_linux, reason="reads /proc")
class TestNothingIsLeftBehind:
    def test_after_use_and_after_a_killed_worker(
        self, installation: Installation, workbook: Path
    ) -> None:
        before = set(below(os.getpid()))
        with Office(in_process=False) as office:
            first = office.values(workbook)
            started = {p: c for p, c in below(os.getpid()).items() if p not in before}
            assert len(started) >= 3  # the driver, the office, the worker
            (worker,) = (pid for pid, command in started.items() if "worker import" in command)
            os.kill(worker, signal.SIGKILL)
            assert office.values(workbook) == first
            started |= {p: c for p, c in below(os.getpid()).items() if p not in before}
        assert gone(list(started), within=5)

    def test_killed_office(self, installation: Installation, workbook: Path) -> None:
        before = set(below(os.getpid()))
        with Office(in_process=False) as office:
            office.values(workbook)
            started = {p: c for p, c in below(os.getpid()).items() if p not in before}
            (soffice,) = (pid for pid, command in started.items() if "soffice.bin" in command)
            os.kill(soffice, signal.SIGKILL)
            with pytest.raises(OfficeError):
                office.values(workbook)
        assert gone(list(started), within=5)

    def test_too_slow(self, installation: Installation, workbook: Path) -> None:
        before = set(below(os.getpid()))
        with Office() as office:
            started = below(os.getpid()).keys() - before
            office._time_limit = 0.001
            with pytest.raises(OfficeError, match="no answer within"):
                office.values(workbook)
        assert gone(list(started), within=5)

    def test_killed_user_of_the_office(self, installation: Installation) -> None:
        words = (
            f"import sys, time; sys.path.append({str(ROOT)!r});"
            " from xlfuncs.hosts.libreoffice.office import Office\n"
            "with Office(): print('started', flush=True); time.sleep(600)"
        )
        user = subprocess.Popen([sys.executable, "-c", words], stdout=subprocess.PIPE)
        assert user.stdout is not None
        assert user.stdout.readline() == b"started\n"
        started = list(below(user.pid))
        assert len(started) >= 2
        user.kill()
        user.wait()
        user.stdout.close()
        assert gone(started, within=30)


def test_two_offices_at_once(installation: Installation, workbook: Path) -> None:
    with Office() as one, Office(in_process=False) as other:
        assert one.values(workbook) == other.values(workbook)
