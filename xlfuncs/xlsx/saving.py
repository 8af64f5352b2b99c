"""Putting a file in its place, whole or not at all: the one way in which every command writes.

What is written lies beside the file under a name of its own until it is complete on disk, and then
takes the file's place in one step; a program that is ended, or a full disk, leaves the old file as
it was. What such an end leaves beside it is swept away when a file is next written there.
"""

import contextlib
import errno
import os
import platform
import re
import secrets
import shutil
import time
import zlib
from datetime import datetime
from functools import partial
from pathlib import Path

from xlfuncs.errors import WorkbookError

STALE_AFTER = 3600  # s; a program that has been writing for so long was ended
_HOST = f"{zlib.crc32(platform.node().encode()):08x}"
_BESIDE = re.compile(r"\.xlfuncs-([0-9a-f]{8})-(\d+)-.*\.tmp")
_NO_ROOM = {errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC)}


def refuse_if_open(path: Path) -> None:
    """Raise WorkbookError when a spreadsheet program seems to hold the file open.

    The program's lock lies beside the name under which it opened the file: a link, or its target.
    """
    for place in dict.fromkeys((path, path.resolve())):
        locks = [
            place.with_name("~$" + place.name),  # Excel
            place.with_name(f".~lock.{place.name}#"),  # LibreOffice
        ]
        for lock in locks:
            if os.path.lexists(lock):
                words = f"{path.name} seems to be open in a spreadsheet program ({lock.name} is"
                words += " there). Close it first; if it is not open, delete that lock file"
                raise WorkbookError(words)


def save(path: Path, content: bytes, *, backup: bool = False) -> Path | None:
    """Write beside the file, then put in place; returns the backup of what was there, if asked for.

    Raises WorkbookError with the reason where that is not possible; the old file is whole then.
    """
    try:
        target = path.resolve()  # a link stays a link
        if target.is_dir():
            raise WorkbookError(f"{path} is a folder, not a file")
        if not target.parent.is_dir():
            raise WorkbookError(f"there is no folder {path.parent}: make it first")
        refuse_if_open(path)
        for folder in {target.parent, path.absolute().parent}:
            sweep(folder)
        kept = _backup_name(path) if backup and target.exists() else None
        _put({kept: path.read_bytes(), target: content} if kept else {target: content}, target)
    except PermissionError as error:
        why = "is it open in a program, or its folder not yours to write in?"
        if not os.access(target.parent, os.W_OK):
            why = f"nothing may be written in the folder {target.parent}"
        raise WorkbookError(f"{path.name} is not written ({error.strerror}); {why}") from None
    except OSError as error:
        what = "there is no room on the disk" if error.errno in _NO_ROOM else error.strerror
        raise WorkbookError(f"{path.name} is not written: {what or error}") from None
    _sync_folder(target.parent)
    return kept


def _put(contents: dict[Path, bytes], target: Path) -> None:
    """The file and its backup: both lie complete beside their places before one takes its own."""
    beside: dict[Path, Path] = {}
    rights = 0o600 if target.exists() else 0o666  # till it has those of the file, or as any new one
    try:
        for place, content in contents.items():
            # A name by tempfile would be sought without end on Windows where none may be written.
            name = f".xlfuncs-{_HOST}-{os.getpid()}-{secrets.token_hex(4)}.tmp"
            beside[place] = place.with_name(name)
            with open(beside[place], "xb", opener=partial(os.open, mode=rights)) as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            if target.exists():
                (shutil.copymode if place == target else shutil.copystat)(target, beside[place])
        for place, complete in beside.items():
            os.replace(complete, place)
    finally:
        for complete in beside.values():
            complete.unlink(missing_ok=True)


def sweep(folder: Path) -> None:
    """Remove what a program that was ended while writing has left in the folder."""
    with contextlib.suppress(OSError):
        for found in folder.glob(".xlfuncs-*.tmp"):
            match = _BESIDE.fullmatch(found.name)
            if match and _is_stale(found, match[1], int(match[2])):
                with contextlib.suppress(OSError):
                    found.unlink()


def _is_stale(beside: Path, host: str, process: int) -> bool:
    if time.time() - beside.stat().st_mtime > STALE_AFTER:
        return True
    if host != _HOST or os.name != "posix":  # elsewhere nothing tells that it has ended
        return False
    try:
        os.kill(process, 0)  # asks only whether it is there
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False


def _backup_name(path: Path) -> Path:
    stamp = datetime.now().strftime("%Y%m%d-%H%M%S")
    kept = path.with_name(f"{path.stem}.backup-{stamp}{path.suffix}")
    count = 1
    while kept.exists():
        count += 1
        kept = path.with_name(f"{path.stem}.backup-{stamp}-{count}{path.suffix}")
    return kept


def _sync_folder(folder: Path) -> None:
    """Make the new name durable where the system lets a folder be opened (not on Windows)."""
    with contextlib.suppress(OSError, AttributeError):
        descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
