"""doctor: every fault is told with its mend, and a machine in order is told to be so."""

from __future__ import annotations

import sys
import types
from dataclasses import replace
from pathlib import Path

import pytest
import xlsxwriter
from click.testing import CliRunner
from pyopenvba import ExcelFile

from xlfuncs.command_line.main import commands
from xlfuncs.hosts.excel import machine, readiness
from xlfuncs.hosts.excel.machine import Machine, _library, bits_of, from_the_store, this_machine
from xlfuncs.hosts.excel.macro_workbook import add_functions
from xlfuncs.hosts.excel.wrapper import MODULE_NAME, library_file, vba_module

PYTHON = r"C:\farm\python\Scripts\python.exe"
READY = Machine(
    system="win32",
    python=PYTHON,
    python_version="3.12.4",
    xlwings="0.37.8",
    pywin32=True,
    library=r"C:\farm\python\xlwings64-0.37.8.dll",
    excel=r"C:\Program Files\Microsoft Office\root\Office16\EXCEL.EXE",
)
FAULTS = {
    "Store Python": (
        {"python": r"C:\Users\a\AppData\Local\Microsoft\WindowsApps\python.exe"},
        "from the Microsoft Store",
        "python.org",
    ),
    "no xlwings": ({"xlwings": ""}, "xlwings is missing", "pip install xlwings"),
    "no pywin32": ({"pywin32": False}, "pywin32 is missing", "pip install pywin32"),
    "no DLL": ({"library": ""}, "DLL is not beside python.exe", "venv"),
    "no Excel": ({"excel": ""}, "is not on this machine", "LibreOffice"),
    "Store Excel": (
        {"excel": r"C:\Program Files\WindowsApps\Microsoft.Office.Desktop_1\Office16\EXCEL.EXE"},
        "cannot start Python",
        "office.com",
    ),
    "32-bit Excel": ({"excel_bits": 32}, "of 32 bits, for which", "reinstall xlwings"),
    "blocked": ({"macros": 4}, "blocked without a word", "Trust Center"),
    "signed only": ({"macros": 3}, "only signed ones", "Trust Center"),
    "by policy": ({"macros": 4, "macros_by_policy": True}, "organization", "ask"),
    "old add-in": ({"add_in": r"C:\x\xlwings.xlam"}, "another version", "xlwings addin install"),
}


@pytest.fixture(autouse=True)
def _start_is_played(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also on Windows: these machines are not the one that this runs on."""
    monkeypatch.setattr(readiness, "try_start", lambda python: machine.Start(1.0))


def _faults(machine: Machine) -> list[readiness.State]:
    return [finding for finding in readiness.of_machine(machine) if finding.mend]


@pytest.mark.parametrize("macros", [None, 1, 2])
def test_a_machine_in_order(macros: int | None) -> None:
    assert _faults(replace(READY, macros=macros)) == []
    same = replace(READY, add_in=r"C:\x\xlwings.xlam", add_in_same=True)
    assert _faults(same) == []


@pytest.mark.parametrize("fault", FAULTS)
def test_each_fault_is_told_alone_with_its_mend(fault: str) -> None:
    changes, words, mend = FAULTS[fault]
    (finding,) = _faults(replace(READY, **changes))  # type: ignore[arg-type]
    assert words in finding.words
    assert mend in finding.mend


def test_functions_that_do_not_load_are_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "xlfuncs.hosts.excel.functions", None)
    monkeypatch.delattr("xlfuncs.hosts.excel.functions", raising=False)
    (finding,) = _faults(READY)
    assert "cannot be loaded" in finding.words


@pytest.mark.parametrize("system", ["darwin", "linux"])
def test_off_windows_it_says_what_is_possible(system: str) -> None:
    findings = readiness.of_machine(Machine(system, "/usr/bin/python3", "3.12.4"))
    words = " ".join(finding.words for finding in findings)
    assert "LibreOffice" in words
    assert "recalculate" in words
    assert ("Excel for Mac has no functions" in words) == (system == "darwin")
    assert not any(finding.mend for finding in findings)


def test_editions_from_the_store_are_known_by_their_folder() -> None:
    assert from_the_store(r"C:\Program Files\WindowsApps\Python\python.exe")
    assert not from_the_store(PYTHON)
    assert not from_the_store("")


def test_this_machine_can_be_looked_at() -> None:
    machine = this_machine()
    assert machine.system == sys.platform
    assert machine.xlwings


# --- what only Windows has, played ---------------------------------------------------------------


@pytest.fixture
def windows(monkeypatch: pytest.MonkeyPatch) -> dict[tuple[str, str], str]:
    """A Windows with an empty registry, to be filled."""
    registry: dict[tuple[str, str], str] = {}

    class Key:
        def __init__(self, root: str, key: str) -> None:
            self.place = f"{root}\\{key}"

        def __enter__(self) -> str:
            return self.place

        def __exit__(self, *_: object) -> None:
            pass

    def query(place: str, name: str) -> tuple[str, int]:
        if (place, name) not in registry:
            raise FileNotFoundError(place)
        return registry[place, name], 1

    winreg = types.SimpleNamespace(
        HKEY_LOCAL_MACHINE="HKLM", HKEY_CURRENT_USER="HKCU", OpenKey=Key, QueryValueEx=query
    )
    monkeypatch.setitem(sys.modules, "winreg", winreg)
    _run_as(PYTHON, monkeypatch)
    return registry


def _run_as(python: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only our modules see another system; the libraries stay on the real one."""
    played = types.SimpleNamespace(
        platform="win32", executable=python, version_info=sys.version_info
    )
    monkeypatch.setattr("xlfuncs.hosts.excel.machine.sys", played)
    monkeypatch.setattr("xlfuncs.hosts.excel.wrapper.sys", played)


SECURITY = r"Microsoft\Office\16.0\Excel\Security"


def test_the_registry_is_read_where_office_writes(windows: dict[tuple[str, str], str]) -> None:
    """App Paths, and the Trust Center's VBAWarnings, as Office's administrative templates name
    them; a policy outranks the person's choice."""
    assert this_machine().excel == ""
    assert this_machine().macros is None
    key = r"HKLM\SOFTWARE\Microsoft\Windows\CurrentVersion\App Paths\excel.exe"
    windows[key, ""] = READY.excel
    windows[rf"HKCU\Software\{SECURITY}", "VBAWarnings"] = "2"
    machine = this_machine()
    assert (machine.excel, machine.macros, machine.macros_by_policy) == (READY.excel, 2, False)
    windows[rf"HKCU\Software\Policies\{SECURITY}", "VBAWarnings"] = "4"
    machine = this_machine()
    assert (machine.macros, machine.macros_by_policy) == (4, True)


def test_the_library_is_looked_for_where_the_workbook_does(tmp_path: Path) -> None:
    python = tmp_path / "venv" / "Scripts" / "python.exe"
    assert _library(str(python)) == ""
    python.parent.mkdir(parents=True)
    (tmp_path / library_file(64)).touch()
    assert _library(str(python)) == ""
    library = tmp_path / "venv" / library_file(64)
    library.touch()
    assert _library(str(python)) == str(library)


# --- starting Python -----------------------------------------------------------------------------


def test_a_python_or_its_base_that_is_gone_is_told(tmp_path: Path) -> None:
    python = tmp_path / "venv" / "Scripts" / "python.exe"
    assert "not there any more" in machine.missing(str(python)).words  # type: ignore[union-attr]
    python.parent.mkdir(parents=True)
    python.touch()
    assert machine.missing(str(python)) is None
    settings = tmp_path / "venv" / "pyvenv.cfg"
    settings.write_text(f"home = {tmp_path}\nversion = 3.12\n")
    assert machine.missing(str(python)) is None
    settings.write_text(f"home = {tmp_path / 'gone'}\n")
    found = machine.missing(str(python))
    assert found is not None
    assert str(tmp_path / "gone") in found.words
    assert "anew" in found.mend


@pytest.mark.parametrize(("code", "words", "mend"), [
    (193, "another kind of processor", "anew"),  # ERROR_BAD_EXE_FORMAT
    (225, "blocked", "virus scanner"),  # ERROR_VIRUS_INFECTED
    (1260, "blocked", "ask who runs the PC"),  # ERROR_ACCESS_DISABLED_BY_POLICY
    (126, "cannot be loaded", "reinstall xlwings"),  # ERROR_MOD_NOT_FOUND
])  # fmt: skip
def test_what_hinders_the_library_is_told_by_windows_number(
    code: int, words: str, mend: str
) -> None:
    found = machine.of_library(code, "Windows says so")
    assert words in found.words
    assert mend in found.mend


@pytest.mark.parametrize(("told", "mend"), [
    ("Python was still not ready after 60 s and was ended", "virus scanner"),
    ("ModuleNotFoundError: No module named 'xlfuncs'", "reinstall xlfuncs"),
    (r"AttributeError: module 'numpy' has no attribute 'array' (C:\x\numpy.py)", "move it"),
])  # fmt: skip
def test_the_words_of_a_start_lead_to_a_mend(told: str, mend: str) -> None:
    assert mend in machine.mend_of(told)


@pytest.mark.parametrize(("kind", "bits"), [(0x14C, 32), (0x8664, 64), (0xAA64, 64), (1, 0)])
def test_the_bits_of_a_program_stand_in_its_header(tmp_path: Path, kind: int, bits: int) -> None:
    """PE format: the header's place at 0x3C, after its four letters the machine."""
    program = tmp_path / "EXCEL.EXE"
    head = bytearray(256)
    head[60:64], head[128:134] = (128).to_bytes(4, "little"), b"PE\0\0" + kind.to_bytes(2, "little")
    program.write_bytes(head)
    assert bits_of(str(program)) == bits
    assert bits_of(str(tmp_path / "none")) == 0


def test_a_downloaded_workbook_is_told(workbook: Path, windows: dict[tuple[str, str], str]) -> None:
    assert _workbook_faults(workbook) == []
    # the stream that Windows adds to a downloaded file
    Path(f"{workbook}:Zone.Identifier").write_text("[ZoneTransfer]\nZoneId=3\n")
    (finding,) = _workbook_faults(workbook)
    assert "Unblock" in finding.mend


# --- a workbook ----------------------------------------------------------------------------------


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    path = tmp_path / "my farm.xlsm"
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet()
    book.close()
    return add_functions(path, PYTHON)


def _workbook_faults(path: Path, machine: Machine = READY) -> list[readiness.State]:
    return [finding for finding in readiness.of_workbook(path, machine) if finding.mend]


def test_a_workbook_in_order(workbook: Path) -> None:
    assert _workbook_faults(workbook) == []
    assert _workbook_faults(workbook, replace(READY, python=PYTHON.upper())) == []


def test_the_editor_may_change_the_case_of_names(workbook: Path) -> None:
    """Excel's VBA editor spells a name alike everywhere in a project."""
    with ExcelFile(workbook) as book:
        book.set_module(MODULE_NAME, vba_module().replace("(length, width", "(Length, Width"))
        book.save()
    assert _workbook_faults(workbook) == []


def _change_module(path: Path, name: str, old: str, new: str) -> None:
    with ExcelFile(path) as book:
        text = book.get_module(name)
        assert old in text
        book.set_module(name, text.replace(old, new))
        book.save()


@pytest.mark.parametrize("old", ["Optional strips, ", "xlwings64-"])
def test_another_version_is_seen_and_renewed(workbook: Path, old: str) -> None:
    _change_module(workbook, MODULE_NAME, old, "")
    (finding,) = _workbook_faults(workbook)
    assert finding.subject == "Functions in it"
    assert "another version" in finding.words
    assert f'xlfuncs excel add "{workbook}"' in finding.mend
    add_functions(workbook, PYTHON)
    assert _workbook_faults(workbook) == []


def test_a_workbook_of_another_computer(workbook: Path) -> None:
    add_functions(workbook, r"D:\elsewhere\python.exe")
    (finding,) = _workbook_faults(workbook)
    assert r"D:\elsewhere\python.exe" in finding.words
    assert PYTHON in finding.words


def test_a_workbook_without_the_functions(tmp_path: Path) -> None:
    path = tmp_path / "plan.xlsx"
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet()
    book.close()
    (finding,) = _workbook_faults(path)
    assert "only an .xlsm can" in finding.words
    with ExcelFile.create_new(tmp_path / "own.xlsm") as other:
        other.set_module("Module1", "Sub Hello()\r\nEnd Sub\r\n")
        other.save()
    (finding,) = _workbook_faults(tmp_path / "own.xlsm")
    assert "none of the functions" in finding.words


# --- the commands --------------------------------------------------------------------------------


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    runner = CliRunner()
    book = xlsxwriter.Workbook("my plan.xlsx")
    book.add_worksheet()
    book.close()
    before = runner.invoke(commands, ["doctor", "my plan.xlsx", "--verbose"])
    assert before.exit_code == (1 if sys.platform == "win32" else 0)  # elsewhere it needs none
    assert "xlfuncs excel add" in before.output
    added = runner.invoke(commands, ["excel", "add", "my plan.xlsx"])
    assert added.exit_code == 0, added.output
    assert "my plan.xlsm" in added.output
    assert ("names no Python yet" in added.output) == (sys.platform != "win32")
    written = runner.invoke(commands, ["excel", "module", "functions.bas"])
    assert written.exit_code == 0
    assert Path("functions.bas").read_bytes() == vba_module().encode("ascii")
    after = runner.invoke(commands, ["doctor", "my plan.xlsm"])
    if sys.platform != "win32":  # there it depends on the machine
        assert after.exit_code == 0, after.output
