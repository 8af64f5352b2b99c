"""The module that Excel starts: what it says when Python does not come up. Its start on Windows is
tested with xlwings' library under Wine (tests/hosts/excel/windows)."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from xlfuncs.hosts.excel import server
from xlfuncs.hosts.excel.wrapper import START_OPTIONS


def test_the_reason_is_one_line_that_names_the_file(tmp_path: Path) -> None:
    module = tmp_path / "numpy.py"
    module.write_text("raise ValueError('first\\nsecond')")
    sys.path.insert(0, str(tmp_path))
    try:
        with pytest.raises(ValueError, match="first") as raised:
            exec(compile(module.read_text(), str(module), "exec"))
    finally:
        sys.path.remove(str(tmp_path))
    assert server.words_of(raised.value) == f"ValueError: first second ({module})"
    assert len(server.words_of(ValueError("x" * 5000))) <= 600  # a cell takes 32,767 characters


def test_packages_that_are_only_liked_are_hidden_for_a_while() -> None:
    code = """
from xlfuncs.hosts.excel.server import _without
import sys
with _without("pandas", "json"):
    try:
        import pandas
    except ImportError:
        print("hidden")
import json, pandas
print(len(json.dumps(pandas.__name__)))
"""
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert told.stdout.split() == ["hidden", "8"]


def test_python_is_started_apart_from_everybody_elses_settings() -> None:
    options = START_OPTIONS.split()
    assert options == ["-I", "-B", "-m", "xlfuncs.hosts.excel.server", "$(CLSID)"]
    told = subprocess.run(
        [sys.executable, *options[:2], "-c", "import sys; print(sys.path[0], sys.flags.isolated,"
         " sys.flags.no_user_site, sys.flags.ignore_environment)"],
        capture_output=True, text=True, check=True, cwd=Path(__file__).parent,
    ).stdout.split()  # fmt: skip
    assert Path(told[0]) != Path(__file__).parent
    assert told[-3:] == ["1", "1", "1"]
