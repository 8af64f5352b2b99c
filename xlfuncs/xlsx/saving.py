"""Putting a changed workbook in the place of the old one: whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from datetime import datetime
from pathlib import Path

from xlfuncs.errors import WorkbookError


def refuse_if_open(path: Path) -> None:
    """Raise WorkbookError when a spreadsheet program seems to hold the file open."""
    locks = [
        path.with_name("~$" + path.name),  # Excel
        path.with_name(f".~lock.{path.name}#"),  # LibreOffice
    ]
    for lock in locks:
        if lock.exists():
            raise WorkbookError(
                f"{path.name} seems to be open in a spreadsheet program ({lock.name} is there). "
                "Close it first; if it is not open, delete that lock file"
            )


def save(path: Path, content: bytes, *, backup: bool = False) -> Path | None:
    """Write beside the file, then put in place; returns the backup when one was asked for.

    The old file stays whole until the new one is complete on disk.
    """
    refuse_if_open(path)
    kept = _back_up(path) if backup else None
    target = path.resolve()  # a link stays a link
    handle, name = tempfile.mkstemp(prefix=f".{target.stem}-", suffix=".tmp", dir=target.parent)
    beside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            shutil.copymode(target, beside)
        else:
            _as_new(beside)
        os.replace(beside, target)
    except PermissionError as error:
        raise WorkbookError(
            f"{path.name} cannot be replaced ({error.strerror}); is it open in a program?"
        ) from None
    finally:
        beside.unlink(missing_ok=True)
    _sync_folder(target.parent)
    return kept


def _as_new(path: Path) -> None:
    """Let those read it who may read any new file; a temporary file is its owner's alone."""
    mask = os.umask(0)
    os.umask(mask)
    path.chmod(0o666 & ~mask)


def _back_up(path: Path) -> Path:
    stamp = datetime.now().strftime("%Y%m%d-%H%M%S")
    kept = path.with_name(f"{path.stem}.backup-{stamp}{path.suffix}")
    count = 1
    while kept.exists():
        count += 1
        kept = path.with_name(f"{path.stem}.backup-{stamp}-{count}{path.suffix}")
    shutil.copy2(path, kept)
    return kept


def _sync_folder(folder: Path) -> None:
    """Make the new name durable where the system lets a folder be opened (not on Windows)."""
    with contextlib.suppress(OSError, AttributeError):
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
