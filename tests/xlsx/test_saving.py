"""Writing a workbook: whole or not at all, never under an open spreadsheet program."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.workbooks.conftest import workbook
from xlfuncs.errors import WorkbookError
from xlfuncs.workbooks.recalculating.recalculation import recalculate
from xlfuncs.xlsx import saving
from xlfuncs.xlsx.saving import save

KILLS = 200
OLD = b"PK old " + b"o" * 2_000_000
NEW = b"PK new " + b"n" * 3_000_000


@pytest.mark.skipif(sys.platform == "win32", reason="kills with a Unix signal")
def test_a_kill_at_any_moment_leaves_the_old_or_the_new_file_whole(tmp_path: Path) -> None:
    """A forked child is killed in the middle of saving, 200 times, at random moments."""
    path = tmp_path / "beds.xlsx"
    chance = random.Random(20260401)
    seen = {OLD: 0, NEW: 0}
    killed_while_writing = 0
    for _ in range(KILLS):
        path.write_bytes(OLD)
        child = os.fork()
        if child == 0:
            try:
                while True:
                    save(path, NEW)
                    save(path, OLD)
            finally:
                os._exit(1)
        time.sleep(chance.uniform(0.001, 0.02))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        content = path.read_bytes()
        assert content in seen, f"{len(content)} bytes, neither the old nor the new file"
        seen[content] += 1
        killed_while_writing += len(list(tmp_path.glob(".*.tmp")))
        saving.sweep(tmp_path)
        assert list(tmp_path.glob(".*.tmp")) == []
    assert sum(seen.values()) == KILLS
    assert killed_while_writing > KILLS / 10  # else the kills came at idle moments


def test_a_failing_disk_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(OLD)

    fits = iter([True])  # one file more: the backup or the new one

    def full(_: int) -> None:
        if not next(fits, False):
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving.os, "fsync", full)
    for backup in (True, False):
        with pytest.raises(WorkbookError, match="no room on the disk"):  # in words since every
            save(path, NEW, backup=backup)  # command writes this way
    assert path.read_bytes() == OLD
    assert os.listdir(tmp_path) == ["beds.xlsx"]


@pytest.mark.parametrize("lock", ["~$beds.xlsx", ".~lock.beds.xlsx#"])
def test_an_open_workbook_is_refused_before_anything_is_written(tmp_path: Path, lock: str) -> None:
    path = tmp_path / "beds.xlsx"
    content = workbook({"Data": {"A1": 2, "B1": "=A1*2"}})
    path.write_bytes(content)
    (tmp_path / lock).write_text("a grower")
    with pytest.raises(WorkbookError, match="seems to be open"):
        recalculate(path, {})
    assert path.read_bytes() == content


def test_a_new_file_has_no_backup(tmp_path: Path) -> None:
    assert save(tmp_path / "new.pdf", NEW, backup=True) is None
    assert [path.name for path in tmp_path.iterdir()] == ["new.pdf"]


def test_a_backup_is_the_old_file_and_never_overwrites_another(tmp_path: Path) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(OLD)
    first = save(path, NEW, backup=True)
    second = save(path, OLD, backup=True)
    assert first is not None
    assert second is not None
    assert first != second
    assert first.read_bytes() == OLD
    assert second.read_bytes() == NEW


@pytest.mark.skipif(sys.platform == "win32", reason="links take special rights there")
def test_a_link_to_a_workbook_stays_a_link_and_rights_stay(tmp_path: Path) -> None:
    real = tmp_path / "real.xlsx"
    real.write_bytes(OLD)
    real.chmod(0o640)
    link = tmp_path / "link.xlsx"
    link.symlink_to(real)
    save(link, NEW)
    assert link.is_symlink()
    assert real.read_bytes() == NEW
    assert real.stat().st_mode & 0o777 == 0o640


def test_a_new_workbook_has_the_rights_of_any_new_file(tmp_path: Path) -> None:
    (tmp_path / "other").write_bytes(OLD)
    save(tmp_path / "new.xlsx", NEW)
    rights = [(tmp_path / name).stat().st_mode for name in ("other", "new.xlsx")]
    assert rights[0] == rights[1]


def test_recalculating_twice_writes_once(tmp_path: Path) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Data": {"A1": 2, "B1": "=A1*2", "C1": "=NOSUCH(1)"}}))
    assert recalculate(path, {}).changed_cells == 1
    stamp = path.stat().st_mtime_ns
    again = recalculate(path, {})
    assert again.changed_cells == 0
    assert [cell.cell for cell in again.unevaluated] == ["C1"]
    assert path.stat().st_mtime_ns == stamp


def test_the_command_lists_what_it_could_not_compute(tmp_path: Path) -> None:
    path = tmp_path / "beds.xlsx"
    path.write_bytes(workbook({"Data": {"A1": 2, "B1": "=BED_AREA(48,30)", "C1": "=NOSUCH(1)"}}))
    command = [sys.executable, "-m", "xlfuncs.command_line.main", "recalculate", str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert "1 of 2 formulas computed" in done.stdout
    assert "Data!C1: NOSUCH is not among the functions" in done.stdout
    missing = subprocess.run(
        [*command[:-1], "none.xlsx"], capture_output=True, text=True, check=False
    )
    assert missing.returncode == 1
    assert "none.xlsx: cannot be read" in missing.stderr


@pytest.mark.skipif(sys.platform == "win32", reason="links take special rights there")
def test_a_lock_beside_the_target_of_a_link_is_seen(tmp_path: Path) -> None:
    (tmp_path / "kept").mkdir()
    real = tmp_path / "kept" / "beds.xlsx"
    real.write_bytes(OLD)
    link = tmp_path / "beds.xlsx"
    link.symlink_to(real)
    lock = tmp_path / "kept" / ".~lock.beds.xlsx#"
    lock.write_text("a grower")
    with pytest.raises(WorkbookError, match="seems to be open"):
        save(link, NEW)
    lock.unlink()
    save(link, NEW)
    assert link.is_symlink() and real.read_bytes() == NEW


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has other words")
def test_where_no_file_can_be_written_it_is_said_in_words(tmp_path: Path) -> None:
    with pytest.raises(WorkbookError, match="is a folder"):
        save(tmp_path, NEW)
    with pytest.raises(WorkbookError, match="there is no folder"):
        save(tmp_path / "missing" / "beds.xlsx", NEW)
    with pytest.raises(WorkbookError, match=r"is not written: .*name too long"):
        save(tmp_path / ("b" * 300 + ".xlsx"), NEW)
    save(tmp_path / ("b" * 250), NEW)  # the longest name that a file may have is written


def test_only_what_an_ended_program_left_is_swept(tmp_path: Path) -> None:
    ours, of_others = (tmp_path / f".xlfuncs-{h}-1-x.tmp" for h in (saving._HOST, "0" * 8))
    dead = tmp_path / f".xlfuncs-{saving._HOST}-{2**22 + 1}-x.tmp"
    for path in (ours, of_others, dead, tmp_path / ".notes.tmp"):
        path.write_bytes(b"")
    saving.sweep(tmp_path)
    assert not dead.exists() or sys.platform == "win32"
    assert ours.exists() and of_others.exists() and (tmp_path / ".notes.tmp").exists()
    os.utime(of_others, (0, 0))
    saving.sweep(tmp_path)
    assert not of_others.exists()
