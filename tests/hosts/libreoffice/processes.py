"""The processes below one of ours, read from /proc; the tests end only such ones, by their id."""

from __future__ import annotations

import os
import time
from pathlib import Path


def below(pid: int) -> dict[int, str]:
    """Ids of all processes that descend from one, with their command lines."""
    parents = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                state, above = (entry / "stat").read_text().rpartition(")")[2].split()[:2]
            except OSError:
                continue
            if state != "Z":
                parents[int(entry.name)] = int(above)
    found: dict[int, str] = {}
    todo = [pid]
    while todo:
        parent = todo.pop()
        for child, its_parent in parents.items():
            if its_parent == parent:
                todo.append(child)
                found[child] = _command(child)
    return found


def alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def gone(pids: list[int], within: float) -> bool:
    """Whether all of them end within some seconds."""
    end = time.monotonic() + within
    while time.monotonic() < end:
        if not any(map(alive, pids)):
            return True
        time.sleep(0.05)
    return False


def _command(pid: int) -> str:
    try:
        return Path(f"/proc/{pid}/cmdline").read_bytes().replace(b"\0", b" ").decode()
    except OSError:
        return ""


on_linux = os.path.isdir("/proc/self")
