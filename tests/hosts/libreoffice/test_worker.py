"""The worker process as the add-in uses it, without an office: answers, deaths, delays."""

from __future__ import annotations

import math
import os
import signal
import struct
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from tests.hosts.libreoffice.processes import below, gone, on_linux
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.answers import answering
from xlfuncs.hosts.libreoffice.ways import Worker, cell_error, choose

ROOT = Path(__file__).parents[3]
SETTINGS = oxt.settings(in_process=True, time_limit=20)
CALLS: list[tuple[str, list[Any]]] = [
    ("BED_AREA", [10.0, 30.0]),
    ("BED_AREA", ["22 ft 9 in", 30.0, None, "us"]),
    ("BED_AREA", [((10.0,), ("",), (-1.0,)), 30.0]),
    ("APPLICATION_RATE", [6.0, 0.0]),
    ("BED_AREA", ["3 psi", 30.0]),
    ("INPUT_CHECK", ["RUN_MINUTES", 600.0, 1.0, 0.0]),
    ("NO_SUCH_FUNCTION", []),
]
NAME, NOT_AVAILABLE = 525, 32767  # Calc's numbers of #NAME? and #N/A


def error_number(answer: float) -> int:
    """The number of the Calc error that a NaN carries."""
    assert math.isnan(answer)
    bits: int = struct.unpack("<Q", struct.pack("<d", answer))[0]
    return bits & 0xFFFF


def comparable(answer: Any) -> Any:
    if isinstance(answer, (list, tuple)):
        return [comparable(item) for item in answer]
    return ("error", error_number(answer)) if answer != answer else answer


def python(words: str) -> list[str]:
    return [sys.executable, "-c", f"import sys; sys.path.append({str(ROOT)!r}); {words}"]


@pytest.fixture
def worker() -> Worker:
    return Worker(SETTINGS["command"], 20)


@pytest.mark.parametrize(("name", "args"), CALLS)
def test_worker_answers_as_in_process(worker: Worker, name: str, args: list[Any]) -> None:
    assert comparable(worker(name, args)) == comparable(answering(cell_error)(name, args))


def test_chosen_way() -> None:
    assert not isinstance(choose(SETTINGS), Worker)
    assert isinstance(choose({**SETTINGS, "suffix": ".of-another-python.so"}), Worker)
    assert isinstance(choose({**SETTINGS, "in_process": False}), Worker)


def test_function_that_the_package_no_longer_has(worker: Worker) -> None:
    assert error_number(worker("NO_SUCH_FUNCTION", [])) == NAME
    assert worker("BED_AREA", [10.0, 12.0]) == pytest.approx(10)


@pytest.mark.skipif(not on_linux, reason="reads /proc")
def test_killed_worker_comes_back(worker: Worker) -> None:
    before = set(below(os.getpid()))
    first = worker("BED_AREA", [10.0, 30.0])
    (pid,) = set(below(os.getpid())) - before
    os.kill(pid, signal.SIGKILL)
    assert worker("BED_AREA", [10.0, 30.0]) == first


@pytest.mark.skipif(not on_linux, reason="reads /proc")
def test_hanging_worker_is_ended_and_gives_an_error() -> None:
    hanging = Worker(python("import time; print('ready', flush=True); time.sleep(600)"), 0.5)
    before = set(below(os.getpid()))
    start = time.monotonic()
    assert error_number(hanging("BED_AREA", [10.0, 30.0])) == NOT_AVAILABLE
    assert time.monotonic() - start < 10
    assert set(below(os.getpid())) - before == set()


def test_worker_that_always_dies_gives_an_error() -> None:
    dying = Worker(python("print('ready', flush=True); sys.stdin.readline()"), 20)
    assert error_number(dying("BED_AREA", [10.0, 30.0])) == NOT_AVAILABLE


@pytest.mark.parametrize("command", [["/no/such/python"], python("sys.exit('no package')")])
def test_worker_that_does_not_start_is_not_tried_a_thousand_times(command: list[str]) -> None:
    missing = Worker(command, 20)
    start = time.monotonic()
    answers = [missing("BED_AREA", [10.0, 30.0]) for _ in range(1000)]
    assert {error_number(answer) for answer in answers} == {NOT_AVAILABLE}
    assert time.monotonic() - start < 5


@pytest.mark.skipif(not on_linux, reason="reads /proc")
def test_worker_ends_with_a_killed_office() -> None:
    """An office that is killed cannot tell its worker, whose input simply ends."""
    asking = subprocess.Popen(
        python(
            "import time; from xlfuncs.hosts.libreoffice.ways import Worker;"
            f" w = Worker({SETTINGS['command']!r}, 20); w('BED_AREA', [10.0, 30.0]);"
            " print('asked', flush=True); time.sleep(600)"
        ),
        stdout=subprocess.PIPE,
    )
    assert asking.stdout is not None
    assert asking.stdout.readline() == b"asked\n"
    workers = list(below(asking.pid))
    assert len(workers) == 1
    asking.kill()
    asking.wait()
    asking.stdout.close()
    assert gone(workers, within=10)


def test_endless_answer_ends_the_worker_when_nobody_is_left_to_kill_it() -> None:
    endless = subprocess.Popen(
        python(
            "import time; from xlfuncs.hosts.libreoffice import worker;"
            " worker.answering = lambda _: lambda *_: time.sleep(600); worker.main(0.5)"
        ),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    endless.communicate(b'["BED_AREA", [10, 30]]\n', timeout=60)
    assert endless.returncode == 1
