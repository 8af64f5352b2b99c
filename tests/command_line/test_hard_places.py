"""Every command without a home folder, network or letters beyond ASCII, in a folder without rights,
on a disk that is full: words, no traceback, and no file harmed."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
import pytest

from tests.command_line import every_command
from tests.command_line.every_command import COMMANDS, FINDS, mistakes
from tests.command_line.test_open_xml import findings
from xlfuncs.command_line.main import commands

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="has places of its own")
ROOT = Path(__file__).parents[2]
FULL = """
mount -t tmpfs -o size=8m tmpfs "$1" && cp -r "$2"/. "$1" && cd "$1"
head -c 8M /dev/zero >fill 2>&- || true
shift 2; exec "$@"
"""


def in_place(folder: Path, before: Sequence[str] = (), **variables: str) -> Any:
    done = subprocess.run(
        [*before, sys.executable, every_command.__file__, str(folder), "ascii"],
        capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL,
        env={"PATH": "/usr/bin:/bin", "LC_ALL": "C", "PYTHONPATH": str(ROOT), **variables},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert mistakes(found["told"]) == {}
    return found["told"], found["changed"]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return every_command.prepare(tmp_path_factory.mktemp("files"))


def needs_libreoffice(command: str) -> bool:
    """And the program that draws its pages."""
    programs = [shutil.which(name, path="/usr/bin:/bin") for name in ("soffice", "pdftoppm")]
    return command.startswith("render") and None in programs


def written() -> set[str]:
    return {file for command, file in COMMANDS.items() if file and not needs_libreoffice(command)}


def refused(told: dict[str, Any], words: str) -> dict[str, Any]:
    """What is not as it should be where no file can be written."""
    return {command: said for command, said in told.items()
            if not needs_libreoffice(command)
            and (said[0] != 1 or words not in said[1] if COMMANDS[command]
                 else said[0] != 0 and command not in FINDS)}  # fmt: skip


def test_every_command_is_tried() -> None:
    """But for installing into LibreOffice, which would change the one of whoever runs the tests."""
    names = set()
    for name in commands.list_commands(click.Context(commands)):
        command = commands.get_command(click.Context(commands), name)
        parts = command.commands if isinstance(command, click.Group) else [""]
        names |= {f"{name} {part}".strip() for part in parts}
    names -= {"libreoffice install", "libreoffice remove"}
    assert {n for n in names if not any(c == n or c.startswith(f"{n} ") for c in COMMANDS)} == set()


@pytest.fixture(scope="module")
def without_home(files: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any, Any]:
    here = shutil.copytree(files, tmp_path_factory.mktemp("without") / "here")
    return here, *in_place(here)


def test_without_home_network_and_letters(without_home: tuple[Path, Any, Any]) -> None:
    _, told, changed = without_home
    assert {c: said for c, said in told.items()
            if said[0] and c not in FINDS and not needs_libreoffice(c)} == {}  # fmt: skip
    assert written() - set(changed) == set()


def test_what_they_write_is_valid_open_xml(
    files: Path, without_home: tuple[Path, Any, Any]
) -> None:
    books = [without_home[0] / file for file in written() if file.endswith((".xlsx", ".xlsm"))]
    own = findings(files / "own.xlsx")  # as a library wrote it
    assert {book.name: found for book in books if (found := findings(book) - own)} == {}


def test_in_a_folder_without_rights(files: Path, tmp_path: Path) -> None:
    if os.geteuid():
        before: tuple[str, ...] = ()
    else:  # root may write anywhere, until it gives that up
        rights = "-dac_override,-dac_read_search"
        before = ("setpriv", f"--bounding-set={rights}", f"--inh-caps={rights}")
        if subprocess.run([*before, "true"], check=False).returncode:
            pytest.skip("root cannot give up its rights here")
    here = shutil.copytree(files, tmp_path / "here")
    here.chmod(0o555)
    try:
        told, changed = in_place(here, before, HOME=str(here))
    finally:
        here.chmod(0o755)
    assert changed == []
    assert refused(told, f"nothing may be written in the folder {here}") == {}
    assert told["doctor"][0] == 1 and f"{here} cannot be written" in told["doctor"][1]


def test_on_a_full_disk(files: Path, tmp_path: Path) -> None:
    own_mounts = ("unshare", "-rm" if os.geteuid() else "-m")
    if subprocess.run([*own_mounts, "true"], check=False, capture_output=True).returncode:
        pytest.skip("no disk of its own can be made here")
    before = (*own_mounts, "sh", "-ec", FULL, "sh", str(tmp_path), str(files))
    told, changed = in_place(tmp_path, before, HOME=str(tmp_path), TMPDIR=str(tmp_path))
    assert changed == []
    assert refused(told, "room on the disk") == {}
    assert told["doctor"][0] == 1 and f"{tmp_path} has room for 0.0 MB only" in told["doctor"][1]
