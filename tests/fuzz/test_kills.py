"""Every command that writes, ended at any moment of its writing, and on a disk that is full.

The command runs until it first puts a file in its place; from there on it is forked, and each copy
goes on for itself and is killed after a while, or can write no more than so many bytes. What stands
under each name afterwards is the old file or the new one, whole, and the next run sweeps the rest.
More: `XLFUNCS_KILLS=200 python -m pytest tests/fuzz/test_kills.py`.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.workbooks.conftest import workbook
from xlfuncs.command_line.main import commands
from xlfuncs.xlsx import saving

resource: Any = pytest.importorskip("resource", reason="forks, and kills with a signal")
KILLS = int(os.environ.get("XLFUNCS_KILLS", "6"))
OLD = b"PK old" + b"o" * 50_000
LEDGER = "Date,Kind,Amount\n2026-02-03,water,12.50\n2026-03-03,water,14.00\n"
# The command, what must be there first, and what it writes.
CASES: dict[str, tuple[list[str], list[str]]] = {
    "demo": (["demo"], ["invented-farm-us.xlsx"]),
    "new": (["new", "garden.xlsx", "--force"], ["garden.xlsx"]),
    "new-questions": (["new", "g.xlsx", "--beds", "list.csv"], ["g.mapping.toml"]),
    "import-ledger": (
        ["import-ledger", "ledger.csv", "report.xlsx", "--force", "--currency", "USD"],
        ["report.xlsx"],
    ),
    "import-into": (
        ["import-ledger", "ledger.csv", "--into", "books.xlsx", "--yes"],
        ["books.xlsx"],
    ),
    "recalculate": (["recalculate", "stale.xlsx"], ["stale.xlsx"]),
    "map": (["map", "start.xlsx"], ["start-map.svg", "start-map.png"]),
    "client-copy": (
        ["client-copy", "start.xlsx", "--markup", "0.4", "--force"],
        ["start-client.xlsx", "start-client.pdf"],
    ),
    "excel-module": (["excel", "module", "functions.bas"], ["functions.bas"]),
    "libreoffice-build": (["libreoffice", "build", "add-in.oxt"], ["add-in.oxt"]),
}

WRITERS = (
    "workbook_template.kit.map_drawing", "xlfuncs.hosts.excel.macro_workbook",
    "xlfuncs.hosts.libreoffice.oxt", "xlfuncs.workbooks.adding_columns.adding",
    "xlfuncs.workbooks.ledger_books", "xlfuncs.workbooks.recalculating.recalculation",
)  # fmt: skip


@pytest.fixture(scope="module")
def start(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A workbook to begin with; and what writes is loaded, so that it can be stopped there."""
    for module in WRITERS:
        import_module(module)
    path = tmp_path_factory.mktemp("start") / "start.xlsx"
    done = CliRunner().invoke(commands, ["new", str(path)])
    assert done.exit_code == 0, done.output
    return path.read_bytes()


@pytest.mark.parametrize("name", CASES)
def test_old_or_new_and_nothing_left_over(
    name: str, start: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    arguments, written = CASES[name]
    old = workbook({"Data": {"A1": 2, "B1": "=A1*2"}}) if name == "recalculate" else OLD
    if name == "import-into":
        assert CliRunner().invoke(commands, ["new", "b.xlsx", "--for", "bookkeeper"]).exit_code == 0
        old = Path("b.xlsx").read_bytes()
    if name == "new-questions":
        Path("list.csv").write_text("Width (in),Length (ft)\n20,30\n20,30\n")
    Path("ledger.csv").write_text(LEDGER)
    Path("start.xlsx").write_bytes(start)
    there = [path for path in written if name not in ("new-questions", "demo")]
    for path in there:
        Path(path).write_bytes(old)
    before = {path: Path(path).read_bytes() for path in there}

    def ended(how: Callable[[], None]) -> None:
        child = os.fork()
        if child == 0:
            how()
            return  # and the command goes on
        os.waitpid(child, 0)

    fills = [lambda limit=limit: _full_disk(limit) for limit in (0, 5_000, 30_000)]
    chance = random.Random(name)
    waits = [chance.uniform(0, 0.02) for _ in range(KILLS)]
    kills = [lambda wait=wait: _killed_after(wait) for wait in waits]
    seen: list[dict[str, bytes]] = []
    parent = os.getpid()
    real = saving.save

    def save(path: Path, content: bytes, **more: bool) -> Path | None:
        monkeypatch.setattr(saving, "save", real)
        for how in [*fills, *kills]:
            ended(how)
            if os.getpid() != parent:
                return real(path, content, **more)
            seen.append({p: Path(p).read_bytes() for p in written if Path(p).exists()})
            for p in (p for p in written if Path(p).name == path.name):
                if p in before:
                    Path(p).write_bytes(before[p])
                else:
                    Path(p).unlink(missing_ok=True)
        return real(path, content, **more)

    _patch_everywhere(monkeypatch, save)
    done = CliRunner().invoke(commands, arguments)
    if os.getpid() != parent:
        os._exit(0)
    assert done.exit_code == (1 if name == "new-questions" else 0), done.output
    new = {path: Path(path).read_bytes() for path in written}
    assert len(seen) in (len(fills) + KILLS, 2 * (len(fills) + KILLS))  # a copy and its pages
    for state in seen:
        for path, content in state.items():
            assert content in (before.get(path), new[path]), f"{path}: neither old nor new"
        assert set(state) >= set(before)
    saving.sweep(Path())
    assert not [path for path in Path().glob(".*") if path.suffix == ".tmp"]


def _patch_everywhere(monkeypatch: pytest.MonkeyPatch, save: Callable[..., object]) -> None:
    """In the module, and where another module has it by name already."""
    for module in list(sys.modules.values()):
        if getattr(module, "save", None) is saving.save and module is not saving:
            monkeypatch.setattr(module, "save", lambda *a, **k: saving.save(*a, **k))
    monkeypatch.setattr(saving, "save", save)


def _full_disk(limit: int) -> None:
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))


def _killed_after(wait: float) -> None:
    watched = os.getpid()
    if os.fork() == 0:
        time.sleep(wait)
        os.kill(watched, signal.SIGKILL)
        os._exit(0)
