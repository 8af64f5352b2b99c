"""A Windows Python under Wine, with this checkout: `.ci/install_wine FOLDER`, then the tests with
XLFUNCS_WINE=FOLDER. Without it these tests are skipped; `.ci/run` says so aloud."""

from __future__ import annotations

import os
import shlex
import subprocess
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from xlfuncs.hosts.excel.wrapper import START_OPTIONS, library_file

LIMIT = 900  # s; on a machine with much else to do
PYTHON = r"C:\Python311\python.exe"
LIBRARY = rf"C:\Python311\{library_file(64)}"
START = f'"{PYTHON}" {START_OPTIONS}'
Steps = Sequence[Sequence[str]]


@dataclass
class Windows:
    """Programs run under Wine, and the host that plays Excel (`host.cpp` explains its steps)."""

    folder: Path
    scratch: Path
    count: int = 0

    @property
    def drive(self) -> Path:
        return self.folder / "prefix" / "drive_c"

    def begin(
        self, *arguments: str, errors: Any = subprocess.STDOUT, **variables: str
    ) -> subprocess.Popen[bytes]:
        words = shlex.join(arguments)
        return subprocess.Popen(
            ["bash", "-c", f". {self.folder}/environment.sh; wine {words}"],
            stdout=subprocess.PIPE, stderr=errors, cwd=self.scratch,
            env={"PATH": os.environ["PATH"], **variables},
        )  # fmt: skip

    def python(self, *arguments: str, **variables: str) -> str:
        """Its errors, Wine's among them, and then what it says."""
        program = self.begin(PYTHON, *arguments, errors=subprocess.PIPE, **variables)
        told, errors = program.communicate(timeout=LIMIT)
        return (errors + told).decode("utf-8", "replace").replace("\r\n", "\n")

    def begin_host(self, steps: Steps, config: str = START, **variables: str) -> Any:
        self.count += 1
        path = self.scratch / f"steps{self.count}.txt"
        lines = [("library", LIBRARY), ("config", config), *steps]
        path.write_text("\n".join("\t".join(step) for step in lines), "utf-8")
        host = str(self.folder / "host" / "host.exe")
        # Apart: what Wine tells of a Python that ends with its host can come anywhere.
        with (self.scratch / f"errors{self.count}.txt").open("wb") as errors:
            return self.begin(host, f"Z:{path}".replace("/", "\\"), errors=errors, **variables)

    def host(self, steps: Steps, config: str = START, **variables: str) -> list[list[str]]:
        """What the host says: one line a step, its parts."""
        told = heard(self.begin_host(steps, config, **variables))
        # Wine itself crashed, before the host began or in the Python that it starts first.
        if told and "Unhandled page fault" in " ".join(told[0]):
            told = heard(self.begin_host(steps, config, **variables))
        return told


def heard(host: Any) -> list[list[str]]:
    """The host's lines."""
    told, _ = host.communicate(timeout=LIMIT)
    lines = told.decode("utf-8").replace("\r\n", "\n").split("\n")
    return [line.split("\t") for line in lines if line]


@pytest.fixture(scope="session")
def windows(tmp_path_factory: pytest.TempPathFactory) -> Windows:
    folder = os.environ.get("XLFUNCS_WINE", "")
    if not folder:
        pytest.skip("needs a Windows Python: .ci/install_wine FOLDER, then XLFUNCS_WINE=FOLDER")
    return Windows(Path(folder), tmp_path_factory.mktemp("Höfe mit Leerzeichen"))


def cell_text(value: Any) -> str:
    """A value as the host's steps spell it."""
    import datetime as dt
    from decimal import Decimal

    kinds: Mapping[type, Any] = {
        bool: lambda: f"t:{int(value)}",
        float: lambda: f"n:{value!r}",
        int: lambda: f"i:{value}",
        str: lambda: f"s:{value}",
        Decimal: lambda: f"y:{value}",
        type(None): lambda: "b",
    }
    if isinstance(value, dt.datetime):
        return f"d:{(value.replace(tzinfo=None) - dt.datetime(1899, 12, 30)).days}"
    return str(kinds[type(value)]())


def values_of(text: str) -> list[Any]:
    """The cells that the host shows, in reading order."""
    if text[:1] in "AV" and text[1:3] != ":":
        cells = text[1:].replace("\x1e", "\x1f").split("\x1f")
        return [value for cell in cells for value in values_of(cell)]
    kind, _, rest = text.partition(":")
    read = {"n": float, "i": float, "s": str, "t": lambda truth: truth == "1"}
    return [read[kind](rest) if kind in read else text]
