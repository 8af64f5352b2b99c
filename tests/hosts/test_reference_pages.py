"""The generated pages say what the declarations say."""

from __future__ import annotations

import runpy
import subprocess
import sys
from pathlib import Path

import pytest

from xlfuncs.hosts.reference_pages import FOLDER, PAGES

A_USERS_FILE = Path(__file__).with_name("a_users_file.py")


@pytest.mark.parametrize("name", list(PAGES))
def test_page_is_true(name: str) -> None:
    written = (FOLDER / name).read_text("utf-8")
    assert written == PAGES[name](), "run: python -m xlfuncs.hosts.reference_pages"


def test_a_strict_type_checker_takes_a_users_file_and_refuses_a_slip(tmp_path: Path) -> None:
    """PEP 561: an installed package with py.typed is checked by what its stub says."""
    pytest.importorskip("mypy")
    text = A_USERS_FILE.read_text("utf-8")
    runpy.run_path(str(A_USERS_FILE))
    slip = tmp_path / "slip.py"
    slip.write_text(text.replace("line_length(48, 3)", "line_length(lenght=48)"), "utf-8")
    right, wrong = (
        subprocess.run(
            [sys.executable, "-m", "mypy", "--strict", "--cache-dir", str(tmp_path), str(path)],
            capture_output=True, text=True, cwd=FOLDER.parent,
        )
        for path in (A_USERS_FILE, slip)
    )  # fmt: skip
    assert right.returncode == 0, right.stdout
    assert wrong.returncode == 1 and "line_length" in wrong.stdout
