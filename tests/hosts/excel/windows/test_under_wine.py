"""The chain that Excel takes, for real: xlwings' library starts a Windows Python, its COM server
calls our functions. Only Excel is played, by a program that hands over values as our VBA does."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from tests.command_line import every_command
from tests.command_line.every_command import FINDS, mistakes
from tests.hosts.excel.played_windows import MISSING, ExcelRange, call
from tests.hosts.excel.test_functions_through_xlwings import (
    PUBLISHED,
    _agree,
    _excel_arguments,
    _flat,
)
from tests.hosts.excel.windows.conftest import PYTHON, START, Windows, cell_text, heard, values_of
from xlfuncs.hosts.excel import server

OFFICE = ("render", "print")  # what LibreOffice does, which is not under Wine
ONE = ("call", "BED_AREA", "n:48", "n:30")
FORTY_EIGHT_BY_THIRTY = ["BED_AREA", "n:120"]


def _argument(value: Any) -> str:
    if isinstance(value, ExcelRange):
        cells = value.Value if value.Count > 1 else ((value.Value,),)
        return "A" + "\x1e".join("\x1f".join(map(cell_text, row)) for row in cells)
    return "m" if value == MISSING else cell_text(value)


def test_all_published_values_come_out_as_on_linux(windows: Windows) -> None:
    """Each function has at least one; text stays text, blanks blanks, errors their mark."""
    checks = [check for _, check in PUBLISHED]
    given = [_excel_arguments(check) for check in checks]
    steps = [("call", check["function"], *map(_argument, args))
             for check, args in zip(checks, given, strict=True)]  # fmt: skip
    told = windows.host([("start",), *steps])
    assert told[0][0] == "started", told
    assert len(told) == len(checks) + 1
    different = []
    for check, args, (name, *words) in zip(checks, given, told[1:], strict=True):
        here = [_one_line(value) for value in _flat(call(check["function"], *args))]
        there = values_of(words[0])
        pairs = zip(here, there, strict=True) if len(here) == len(there) else [(here, words)]
        different += [(name, *pair) for pair in pairs if not _agree(*pair)]
    assert different == []


def _one_line(value: Any) -> Any:
    return value.replace("\n", " ") if isinstance(value, str) else value


MIXED = "An:48\x1eb\x1ee:2042\x1es:text\x1en:24\x1ee:2045\x1et:1\x1ey:48\x1ed:46024\x1es:48 ft"
CASES = {
    ("BED_AREA", MIXED, "n:30"): "A" + "\x1e".join([
        "n:120", "s:", "s:#xlfuncs##N/A", "s:#xlfuncs##VALUE!", "n:60", "s:#xlfuncs##VALUE!",
        "s:#xlfuncs##VALUE!", "n:120", "s:#xlfuncs##VALUE!", "n:120",
    ]),
    ("BED_AREA", "An:48\x1fn:24", "n:30"): "Vn:120\x1fn:60",
    ("BED_AREA", "s:Ł", "n:30"): "s:#xlfuncs##VALUE!",
    ("BED_AREA", "e:2042", "n:30"): "s:#xlfuncs##N/A",
    ("BED_AREA", "h:48", "i:30"): "n:120",
    ("DEPTH_FROM_VOLUME", "n:1", "n:0"): "s:#xlfuncs##DIV/0!",
    ("LINE_OFFSETS", "n:30", "n:3"): "An:5\x1en:15\x1en:25",
    ("INPUT_CHECK", "s:BED_AREA", "d:46024", "n:30"):
        "s:BED_AREA: length: is a date, a length is needed",
    ("INPUT_CHECK", "s:Łódź"): "s:there is no function 'Łódź'",
}  # fmt: skip


def test_values_of_every_kind(windows: Windows) -> None:
    """Dates, money, errors, whole numbers and letters of another code page."""
    told = windows.host([("start",), *(("call", *case) for case in CASES)])[1:]
    for case, (name, *words) in zip(CASES, told, strict=True):
        assert name == case[0]
        if case[0] == "INPUT_CHECK":
            assert words[0].startswith("s:") and words[0] != "s:ok", words
        else:
            assert values_of(words[0]) == values_of(CASES[case]), case


def test_a_call_is_one_crossing(windows: Windows) -> None:
    told = windows.host([("start",), ("time", "100", *ONE[1:])])
    assert told[1][1] == "1.00 crossings a call"


def test_python_that_was_ended_comes_back(windows: Windows) -> None:
    told = windows.host([("start",), ONE, ("end",), ("wait", "500"), ONE, ONE])
    assert told[1:3] == [FORTY_EIGHT_BY_THIRTY, ["ended"]]
    assert told[3][1] == "started"
    assert [told[3][-1], told[4]] == ["n:120", FORTY_EIGHT_BY_THIRTY]


def test_two_hosts_have_a_python_each(windows: Windows) -> None:
    hosts = [windows.begin_host([("start",), ONE, ("wait", "2000"), ONE]) for _ in range(2)]
    for host in hosts:
        told = heard(host)
        assert told[0][0] == "started"
        assert told[1:] == [FORTY_EIGHT_BY_THIRTY] * 2


def test_files_and_settings_of_others_do_not_matter(windows: Windows) -> None:
    """A numpy.py in the current folder, and what other programs leave in the environment."""
    (windows.scratch / "numpy.py").write_text("raise SystemExit(3)")
    try:
        told = windows.host([("start",), ONE], PYTHONPATH=str(windows.scratch),
                            PYTHONSTARTUP="nothing.py")  # fmt: skip
    finally:
        (windows.scratch / "numpy.py").unlink()
    assert [told[0][0], told[1]] == ["started", FORTY_EIGHT_BY_THIRTY]


@pytest.mark.parametrize("name", ["my farm's %TEMP% & co", "Höfe"])
def test_python_lies_in_a_folder_of_any_name(windows: Windows, name: str) -> None:
    folder = windows.drive / name
    folder.symlink_to("Python311")
    try:
        told = windows.host([("start",), ONE], START.replace("Python311", name))
    finally:
        folder.unlink()
    assert [told[0][0], told[1]] == ["started", FORTY_EIGHT_BY_THIRTY]


def test_python_lies_in_a_folder_with_letters_beyond_the_code_page(windows: Windows) -> None:
    """As the VBA does then: its folder is made the current one, and it is named without it."""
    folder = windows.drive / "Łąka"
    folder.symlink_to("Python311")
    try:
        config = START.replace(r"C:\Python311" "\\", "")
        told = windows.host([("folder", "C:\\Łąka\\"), ("start",), ONE], config)
    finally:
        folder.unlink()
    assert [told[0][0], told[1]] == ["started", FORTY_EIGHT_BY_THIRTY]


FAILING = {
    "no such program": (
        START.replace("python.exe", "pythn.exe"),
        "Could not create Python process",
    ),
    "functions missing": (START.replace("hosts.excel", "hosts.exel"), "exited before"),
}


@pytest.mark.parametrize("cause", FAILING)
def test_a_start_that_fails_says_so(windows: Windows, cause: str) -> None:
    config, words = FAILING[cause]
    told = windows.host([("start",)], config)
    assert told[0][0] == "refused"
    assert words in told[0][2]


def test_the_reason_of_python_reaches_the_workbook(windows: Windows) -> None:
    """Where VBA's GetSetting reads: a library that does not load; nothing after a good start."""
    code = (
        "import sys; sys.modules['xlwings.com_server'] = None; sys.argv[1:] = ['$(CLSID)'];"
        " from xlfuncs.hosts.excel import server; server.main()"
    )
    look = ("-c", "from xlfuncs.hosts.excel.machine import refused; print(repr(refused()))")
    assert windows.host([("start",)], f'"{PYTHON}" -I -B -c "{code}"')[0][0] == "refused"
    told = windows.python(*look)
    assert "ModuleNotFoundError: import of xlwings.com_server halted" in told
    assert "importlib" in told
    assert windows.host([("start",)])[0][0] == "started"
    assert windows.python(*look).strip().endswith("''")


def test_a_comma_as_decimal_sign_changes_nothing(windows: Windows) -> None:
    setting = (
        'import winreg as w; k = w.OpenKey(w.HKEY_CURRENT_USER, r"Control Panel\\International",'
        ' 0, w.KEY_SET_VALUE); w.SetValueEx(k, "sDecimal", 0, w.REG_SZ, "{}")'
    )
    lengths = ("s:48.5 ft", "n:48.5", "s:48,5")
    steps = [("start",), *(("call", "BED_AREA", length, "n:30") for length in lengths)]
    before = windows.host(steps)[1:]
    windows.python("-c", setting.format(","))
    try:
        after = windows.host(steps)[1:]
    finally:
        windows.python("-c", setting.format("."))
    assert after == before
    assert [values_of(words[1])[0] for words in before[:2]] == [pytest.approx(121.25)] * 2


def test_doctor_starts_python_and_says_so(windows: Windows) -> None:
    told = windows.python("-I", "-m", "xlfuncs.command_line.main", "doctor", "--verbose")
    assert "ok    Start: Python answers as it would to Excel" in told
    assert server.KEY not in told


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return every_command.prepare(tmp_path_factory.mktemp("files"))


@pytest.mark.parametrize("pages", [("cp437", "cp850", "cp1252"), ("utf-8",)])
def test_every_command_in_every_code_page(
    windows: Windows, files: Path, pages: tuple[str, ...]
) -> None:
    """In a folder with spaces and letters that none of the code pages has.

    Commands know of an encoding only whether it has all letters; so pages that don't share a run.
    """
    folder = shutil.copytree(files, windows.scratch / f"{pages[0]} Łąka ünd Höfe")
    script, place = (f"Z:{path}".replace("/", "\\") for path in (every_command.__file__, folder))
    told = windows.python(script, place, *pages)
    found = json.loads(told[told.index('{"told"') :])["told"]
    assert mistakes(found) == {}
    assert {c: said for c, said in found.items()
            if said[0] and c not in FINDS and not c.startswith(OFFICE)} == {}  # fmt: skip


def test_the_set_up_says_what_is_missing(windows: Windows) -> None:
    """The double-click file, on a Windows without a Python on its path."""
    file = Path(__file__).parents[4] / "examples" / "set_up_windows.bat"
    told = windows.begin("cmd", "/c", f"Z:{file}".replace("/", "\\"), XLFUNCS_NO_PAUSE="1")
    words, _ = told.communicate(timeout=900)
    assert b"Python 3.11 or later is not there. Get it from python.org" in words
    assert not (windows.drive / "users" / "root" / "xlfuncs").exists()
