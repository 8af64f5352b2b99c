"""The two ways from Calc to the worksheet functions; runs inside LibreOffice's own Python.

In-process where that Python can load the packages of the environment that built the extension,
else through a worker process of that environment. Only the standard library is used here: the
file travels in the extension, and LibreOffice's Python has nothing of ours.
"""

from __future__ import annotations

import importlib.machinery
import json
import os
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from typing import Any

VALUE_ERROR = 519  # Calc's own numbers of its errors
NOT_AVAILABLE = 32767
QUIET_NAN = 0x7FF8000000000000
START_LIMIT = 120.0  # s, for a first start that has to read numpy from a slow disk
PAUSE_AFTER_FAILED_START = 10.0  # s, so that a sheet of failing cells does not start thousands


def cell_error(number: int) -> float:
    """A NaN that Calc shows as the error of this number."""
    nan: float = struct.unpack("<d", struct.pack("<Q", QUIET_NAN | number))[0]
    return nan


class NoAnswer(Exception):  # noqa: N818 - not a mistake of ours
    """The worker gave none in its time."""


def choose(settings: dict[str, Any], memory: Any = None) -> Callable[[str, Sequence[Any]], Any]:
    """The quicker of the ways that this Python can go.

    An answer is a cell value or a tuple of rows. A worker's are kept in `memory` (hosts/memory.py,
    which the extension names otherwise), since a sheet reads a result cell by cell.
    """
    if settings["in_process"] and settings["suffix"] in importlib.machinery.EXTENSION_SUFFIXES:
        try:
            return _in_process(settings["paths"])
        except Exception as error:
            print(f"xlfuncs: not in-process ({error}); using a worker", file=sys.stderr)
    return Worker(settings["command"], settings["time_limit"], memory)


def _in_process(paths: list[str]) -> Callable[[str, Sequence[Any]], Any]:
    """The answers of the package itself, from the environment's own folders.

    They go before the others, so that numpy and what is built upon it come from one place.
    """
    missing = [path for path in paths if path not in sys.path]
    sys.path[:0] = missing
    try:
        from xlfuncs.hosts.libreoffice.answers import answering
    except BaseException:
        for path in missing:
            sys.path.remove(path)
        raise
    return answering(cell_error)


class Worker:
    """A process that answers one JSON line with one JSON line.

    A worker that died is started again and asked once more. One that takes longer than the time
    limit is killed and the call gives #N/A. When LibreOffice ends, however it ends, the worker's
    input closes and it ends too.
    """

    def __init__(self, command: list[str], time_limit: float, memory: Any = None) -> None:
        self._memory = memory
        self._command = command
        self._time_limit = time_limit
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._deadline: float | None = None
        self._not_before = 0.0

    def __call__(self, name: str, args: Sequence[Any]) -> Any:
        asked = partial(self._asked, name, args)
        try:
            return (
                self._memory.answer((name, *args), asked) if self._memory is not None else asked()
            )
        except NoAnswer:
            return cell_error(NOT_AVAILABLE)

    def _asked(self, name: str, args: Sequence[Any]) -> Any:
        question = json.dumps([name, args]).encode() + b"\n"
        with self._lock:
            for _ in range(2):
                process = self._running()
                if process is None:
                    break
                line, late = self._ask(process, question, self._time_limit)
                if line.endswith(b"\n"):
                    answer = json.loads(line, object_hook=lambda it: cell_error(it["error"]))
                    return tuple(map(tuple, answer)) if isinstance(answer, list) else answer
                self._end(process)
                if late:
                    break
        raise NoAnswer

    def _running(self) -> subprocess.Popen[bytes] | None:
        """The worker, started where there is none; None where it does not start."""
        if self._process is not None and self._process.poll() is None:
            return self._process
        if time.monotonic() < self._not_before:
            return None
        try:
            process = self._start()
        except OSError:
            self._not_before = time.monotonic() + PAUSE_AFTER_FAILED_START
            return None
        threading.Thread(target=self._watch, args=(process,), daemon=True).start()
        line, _ = self._ask(process, b"", START_LIMIT)
        if line.strip() != b"ready":
            self._end(process)
            self._not_before = time.monotonic() + PAUSE_AFTER_FAILED_START
            return None
        return process

    def _start(self) -> subprocess.Popen[bytes]:
        # LibreOffice sets variables for its own Python, which would mislead another one.
        own = ("PYTHON", "LD_LIBRARY_PATH", "URE_", "DYLD_")
        self._process = subprocess.Popen(
            self._command,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env={key: value for key, value in os.environ.items() if not key.startswith(own)},
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
        )
        return self._process

    def _ask(
        self, process: subprocess.Popen[bytes], question: bytes, limit: float
    ) -> tuple[bytes, bool]:
        """The line that comes back (cut short where the worker ends), and whether it was late."""
        assert process.stdin is not None
        assert process.stdout is not None
        self._deadline = deadline = time.monotonic() + limit
        try:
            process.stdin.write(question)
            process.stdin.flush()
            line = process.stdout.readline()
        except OSError:
            line = b""
        self._deadline = None
        return line, time.monotonic() >= deadline

    def _watch(self, process: subprocess.Popen[bytes]) -> None:
        """Kills the worker when a question is open past its deadline."""
        while process.poll() is None:
            time.sleep(0.1)
            deadline = self._deadline
            if deadline is not None and time.monotonic() > deadline and process is self._process:
                process.kill()

    def _end(self, process: subprocess.Popen[bytes]) -> None:
        self._process = None
        process.kill()
        process.wait()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()
