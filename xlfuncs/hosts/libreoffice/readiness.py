"""Whether LibreOffice on this machine has the functions, in words, each fault with its mend."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator

import xlfuncs
from xlfuncs.hosts.libreoffice.install import installed
from xlfuncs.hosts.libreoffice.installation import OfficeError, find
from xlfuncs.hosts.readiness import State

_AGAIN = "xlfuncs libreoffice install"


def of_libreoffice() -> Iterator[State]:
    """What was found. No LibreOffice, or one without the extension, is no fault: not all use it."""
    try:
        found = find()
    except OfficeError as error:
        yield State("LibreOffice", f"none to use: {error}")
        return
    yield State("LibreOffice", str(found.soffice))
    yield from _of_font()
    try:
        extension = installed()
    except OfficeError as error:
        yield State("Extension", f"not looked at: {error}")
        return
    if extension is None:
        yield State("Extension", f"not installed; `{_AGAIN}` would")
    elif trouble := extension.trouble():
        yield State("Extension", trouble, _AGAIN)
    elif extension.version != xlfuncs.__version__:
        words = f"is {extension.version}, this is {xlfuncs.__version__}"
        yield State("Extension", words, _AGAIN)
    else:
        where = "inside LibreOffice" if extension.runs_within(found) else "in a process beside it"
        yield State("Extension", f"{extension.version}, its functions run {where}")


def font_for_calibri() -> tuple[str, bool]:
    """The font that pages print with, '' where it cannot be asked, and whether it is as narrow."""
    if not shutil.which("fc-match"):
        return "", True
    asked = ["fc-match", "--format=%{family}", "Calibri"]
    family = subprocess.run(asked, capture_output=True, text=True, check=False).stdout
    return family, family.startswith(("Calibri", "Carlito"))


def _of_font() -> Iterator[State]:
    """Whether pages print as large as they were laid out."""
    family, narrow = font_for_calibri()
    if family:
        words = f"{family} is taken for Calibri"
        if not narrow:
            words += " and is wider, so that pages print smaller: install fonts-crosextra-carlito"
        yield State("Font", words)
