"""Finding the LibreOffice of this machine and its Python."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from xlfuncs.errors import XlfuncsError

ADVICE: Final = (
    "Install LibreOffice Calc 25.2 or later with its Python support (on Debian and Ubuntu the"
    " packages libreoffice-calc and python3-uno), or put the folder of `soffice` on the PATH."
)


class OfficeError(XlfuncsError):
    """LibreOffice is missing, does not start, or cannot do what was asked; the words say which."""


@dataclass(frozen=True)
class Installation:
    """The programs of one LibreOffice."""

    soffice: Path
    unopkg: Path
    python: Path

    def python_suffixes(self) -> list[str]:
        """The endings of the compiled packages that its Python can load."""
        words = "import importlib.machinery as m; print(*m.EXTENSION_SUFFIXES)"
        told = subprocess.run(
            [self.python, "-c", words], capture_output=True, text=True, env=self.environment()
        )
        return told.stdout.split()

    def environment(self) -> dict[str, str]:
        """What its programs are to be started with, whichever environment the shell has activated.

        On Linux the Python within LibreOffice takes the first `python3` on the PATH for its own.
        Where that is another one of the same version it does not find `uno`, and Calc refuses
        every workbook that calls a function written in Python. So its own goes first.
        """
        path = os.environ.get("PATH", os.defpath)
        return _unsteered() | {"PATH": f"{self.python.parent}{os.pathsep}{path}"}


def find() -> Installation:
    """The LibreOffice on the PATH or in its usual places; OfficeError where there is none."""
    soffice = next(_offices(), None)
    if soffice is None:
        raise OfficeError(f"LibreOffice was not found on this machine. {ADVICE}")
    program = soffice.resolve().parent
    python = next(filter(_has_uno, _pythons(program)), None)
    if python is None:
        raise OfficeError(f"the LibreOffice in {program} has no Python with `uno`. {ADVICE}")
    suffix = ".exe" if os.name == "nt" else ""
    return Installation(soffice, program / f"unopkg{suffix}", python)


def _offices() -> Iterator[Path]:
    if on_path := shutil.which("soffice") or shutil.which("libreoffice"):
        yield Path(on_path)
    usual = (
        "/Applications/LibreOffice.app/Contents/MacOS/soffice",
        *(
            os.path.join(os.environ.get(variable, ""), "LibreOffice", "program", "soffice.exe")
            for variable in ("ProgramFiles", "ProgramFiles(x86)")
        ),
    )
    yield from (Path(place) for place in usual if os.path.isfile(place))
    # the packages of the makers unpack into a folder a version
    yield from sorted(Path("/opt").glob("libreoffice*/program/soffice"), reverse=True)


def _pythons(program: Path) -> Iterator[Path]:
    for place in (
        program / "python.exe",
        program / "python",
        program.parent / "Resources" / "python",
        Path("/usr/bin/python3"),
        Path(sys.executable),
    ):
        if place.is_file():
            yield place


def _has_uno(python: Path) -> bool:
    try:
        done = subprocess.run(
            [python, "-c", "import uno"], capture_output=True, timeout=60, env=_unsteered()
        )
    except (OSError, subprocess.TimeoutExpired):
        return False
    return done.returncode == 0


def _unsteered() -> dict[str, str]:
    """The environment without what steers another Python than the one that is started."""
    steers = ("PYTHON", "URE_", "VIRTUAL_ENV", "__PYVENV_LAUNCHER__")
    return {key: v for key, v in os.environ.items() if not key.startswith(steers)}
