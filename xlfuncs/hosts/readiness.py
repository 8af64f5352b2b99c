"""Whether this Python environment and this folder are ready: said in words, each fault with its
mend. What a host needs beyond that, the host says for itself."""

import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, metadata, requires, version
from pathlib import Path
from shutil import disk_usage

_ROOM = 20e6  # bytes: some workbooks, and what LibreOffice needs meanwhile


@dataclass(frozen=True)
class State:
    """One thing that was looked at. With a mend it is a fault, without one it is in order."""

    subject: str
    words: str
    mend: str = ""


def of_environment(folder: Path) -> Iterator[State]:
    """What was found of Python, the packages that are needed, and the folders to write in."""
    yield from _python()
    yield from _packages()
    for name, place in (("Folder", folder), ("Temporary files", Path(tempfile.gettempdir()))):
        if not os.access(place, os.W_OK | os.X_OK):
            yield State(
                name, f"{place} cannot be written", "work in a folder of your own, such as one"
                " under Documents, or give FILE and --output with such a folder",
            )  # fmt: skip
        elif (free := disk_usage(place).free) < _ROOM:
            yield State(name, f"{place} has room for {free / 1e6:.1f} MB only", "delete something")
        else:
            yield State(name, str(place))


def _python() -> Iterator[State]:
    words = f"{sys.version.split()[0]}, {sys.executable}"
    yield State("Python", words)


def _packages() -> Iterator[State]:
    from packaging.requirements import Requirement

    try:
        needed = [Requirement(line) for line in requires("xlfuncs") or ()]
    except PackageNotFoundError:
        yield State("Package", "xlfuncs is not installed in this environment, only found beside"
                      " it", "pip install . in the checkout")  # fmt: skip
        return
    wrong = []
    for one in needed:
        if one.marker is not None and not one.marker.evaluate({"extra": ""}):
            continue
        try:
            has = version(one.name)
        except PackageNotFoundError:
            wrong.append(f"{one.name} is missing")
            continue
        if not one.specifier.contains(has, prereleases=True):
            wrong.append(f"{one.name} is {has}, needed is {one.specifier}")
    if wrong:
        mend = f'"{sys.executable}" -m pip install --upgrade xlfuncs, or pip install . anew'
        yield State("Packages", "; ".join(wrong), mend)
    else:
        yield State("Packages", f"xlfuncs {metadata('xlfuncs')['Version']} and all it needs")
