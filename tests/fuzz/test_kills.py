"""Every command that writes, ended at any moment of its writing, and on a disk that is full.

The command runs until it is about to write a file; there it is forked, and each copy writes for
itself and is killed after a while, or can write no more than so many bytes. What stands under each
name afterwards is the old file or the new one, whole, and the next run sweeps the rest. No file is
written in any other way: all that changed was saved so.
More: `XLFUNCS_KILLS=200 python -m pytest tests/fuzz/test_kills.py`.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.command_line import every_command
from tests.command_line.every_command import COMMANDS, FINDS, outcome
from xlfuncs.hosts.libreoffice.installation import OfficeError, find
from xlfuncs.xlsx import saving

resource: Any = pytest.importorskip("resource", reason="forks, and kills with a signal")
KILLS = int(os.environ.get("XLFUNCS_KILLS", "6"))
FULL = (0, 5_000, 30_000)  # bytes that there is room for
NO_ROOM = 3  # how a copy ends that says so in words
IMPORTED = "import-ledger shop.csv --into books.xlsx --currency USD --yes"
# Other ways of the commands, each with what must have run before.
MORE: dict[str, str] = {
    "add-columns beds.csv --mapping beds.mapping.toml": "",
    "add-columns own.xlsx --add BED_AREA --backup": "",
    "add-sheets costs farm.xlsx": "",
    "client-copy farm.xlsx --markup 0.5 --force": "client-copy farm.xlsx --markup 0.4",
    "excel add own.xlsx": "",
    "import-ledger shop.csv own.xlsx --currency USD --force": "",
    "import-ledger --into books.xlsx --undo": IMPORTED,
    "new own.xlsx --force --for bookkeeper --from farm.xlsx": "",
    "recalculate own.xlsx --backup": "",
    "recalculate own.xlsx --with libreoffice": "",
    "render books.xlsx --tax-page 2023": IMPORTED,
    "renew farm.xlsx": "",
    "this-week farm.xlsx --log rain.csv --rain 'Sat 0.2'":
        "this-week farm.xlsx --log rain.csv --rain 'Sun 0.4' --high 84 --low 61",
}  # fmt: skip
BY_LIBREOFFICE = ("print", "render", "recalculate own.xlsx --with", "doctor", "libreoffice status")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return every_command.prepare(tmp_path_factory.mktemp("files"))


@pytest.mark.parametrize("command", [*COMMANDS, *MORE])
def test_old_or_new_and_nothing_left_over(
    command: str, files: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if command.startswith(BY_LIBREOFFICE):
        try:
            find()
        except OfficeError as error:
            pytest.skip(f"needs LibreOffice: {error}")
    shutil.copytree(files, tmp_path, dirs_exist_ok=True)
    if MORE.get(command):
        assert outcome(MORE[command], "utf-8")[0] == 0
    chance, parent, put = random.Random(command), os.getpid(), saving._put
    waits = [chance.uniform(0, 0.02) for _ in range(KILLS)]
    saved: set[str] = set()
    wrong: list[str] = []
    writing = 0

    def ended(contents: dict[Path, bytes], target: Path) -> None:
        nonlocal writing
        if target.parent != tmp_path or os.getpid() != parent:  # else a file of its own, or a copy
            return put(contents, target)
        before = _contents()
        new = {path.name: content for path, content in contents.items()}
        for how in [*FULL, *waits]:
            child = os.fork()
            if child == 0:  # what it leaves is its parent's too
                sys.dont_write_bytecode = True  # nor is a module left compiled in part
                monkeypatch.setattr(shutil, "rmtree", lambda *_, **__: None)
                if how in FULL:
                    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
                    resource.setrlimit(resource.RLIMIT_FSIZE, (how, how))
                saving.sweep(tmp_path)
                put(contents, target)
                os._exit(0)
            if how not in FULL:
                time.sleep(how)
                os.kill(child, signal.SIGKILL)
            code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
            after = _contents()
            rest = {name for name in after if name.endswith(".tmp")}
            writing += bool(rest)
            if code not in ((0, NO_ROOM) if how in FULL else (0, -signal.SIGKILL)):
                wrong.append(f"{how}: ended with {code}")
            if (rest and how in FULL) or (code == NO_ROOM and after != before):
                wrong.append(f"{how}: left {set(after) - set(before)}")
            for name in (before.keys() | after.keys()) - rest:
                if after.get(name) not in (before.get(name), new.get(name)):
                    wrong.append(f"{how}: {name} is neither old nor new")
                _put_back(Path(name), before.get(name))
        saved.update(new)
        saving.sweep(tmp_path)
        put(contents, target)

    before = _contents()
    monkeypatch.setattr(saving, "_put", ended)
    code, words = outcome(command, "utf-8")
    if os.getpid() != parent:
        os._exit(NO_ROOM if code and "room on the disk" in words else 1)
    print(f"{writing} of {len(saved)} x {KILLS} killed while writing {sorted(saved)}")
    assert code == 0 or command in FINDS, words
    assert wrong == []
    changed = {name for name, content in _contents().items() if before.get(name) != content}
    assert changed <= saved  # so there is no rubbish, and nothing was written in another way
    assert saved if command in MORE else COMMANDS[command] in saved or not saved


def _contents() -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in Path().iterdir() if path.is_file()}


def _put_back(path: Path, content: bytes | None) -> None:
    if content is None:
        path.unlink(missing_ok=True)
    elif path.read_bytes() != content:
        path.write_bytes(content)
