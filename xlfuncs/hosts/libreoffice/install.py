"""Installing the extension for LibreOffice's user, and removing it, by LibreOffice's `unopkg`."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import xlfuncs
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import Installation, OfficeError, find
from xlfuncs.hosts.readiness import State

TIME_LIMIT = 300.0  # s


def install(
    extension: Path | None = None, *, profile: Path | None = None, all_users: bool = False
) -> None:
    """Install or upgrade: `extension`, or one built for this environment, replaces an older one.

    `profile` is the folder of another LibreOffice profile than the user's own. `all_users`
    installs for every user of the machine, which needs an administrator.
    """
    if extension is not None:
        _unopkg("add", "--force", "--suppress-license", str(extension.absolute()),
                profile=profile, all_users=all_users)  # fmt: skip
        return
    with tempfile.TemporaryDirectory(prefix="xlfuncs-") as folder:
        install(oxt.build(Path(folder) / "xlfuncs.oxt"), profile=profile, all_users=all_users)


def remove(*, profile: Path | None = None, all_users: bool = False) -> bool:
    """Remove the extension; false where it was not installed."""
    if installed_version(profile=profile, all_users=all_users) is None:
        return False
    _unopkg("remove", oxt.IDENTIFIER, profile=profile, all_users=all_users)
    return True


def installed_version(*, profile: Path | None = None, all_users: bool = False) -> str | None:
    """The version of the installed extension, None where there is none."""
    listed = _unopkg("list", profile=profile, all_users=all_users)
    found = re.search(rf"Identifier: {re.escape(oxt.IDENTIFIER)}\s+Version: (\S+)", listed)
    return found[1] if found else None


@dataclass(frozen=True)
class Installed:
    """The extension that LibreOffice's user has, whichever environment built it."""

    version: str
    folder: Path  # where LibreOffice unpacked it

    @property
    def settings(self) -> dict[str, Any]:
        found: dict[str, Any] = json.loads((self.folder / "settings.json").read_text("utf-8"))
        return found

    @property
    def python(self) -> Path:
        """The Python of the environment that built it."""
        return Path(self.settings["command"][0])

    def runs_within(self, office: Installation) -> bool:
        """Whether its functions run inside this LibreOffice rather than in a process beside it."""
        settings = self.settings
        return bool(settings["in_process"]) and settings["suffix"] in office.python_suffixes()

    def trouble(self) -> str:
        """What is wrong with its environment, '' where its Python answers with the package."""
        try:
            told = subprocess.run(
                [self.python, "-c", _ASK, self.settings["paths"][-1]],
                capture_output=True, text=True, timeout=TIME_LIMIT,
            )  # fmt: skip
        except OSError:
            return f"its Python environment is gone: {self.python}"
        if told.returncode:
            words = told.stderr.strip().splitlines()
            return f"its Python has no xlfuncs any more: {words[-1] if words else self.python}"
        if told.stdout.strip() != self.version:
            return f"its environment now has version {told.stdout.strip()}"
        return ""


_ASK = "import sys; sys.path.append(sys.argv[1]); import xlfuncs; print(xlfuncs.__version__)"


def installed(*, profile: Path | None = None, all_users: bool = False) -> Installed | None:
    """The extension that is installed, None where there is none."""
    version = installed_version(profile=profile, all_users=all_users)
    if version is None:
        return None
    for cache in _caches(profile, all_users):
        for settings in cache.glob("uno_packages/cache/uno_packages/*/*/settings.json"):
            found = Installed(version, settings.parent)
            if found.settings.get("service") == oxt.SERVICE:
                return found
    raise OfficeError(f"the extension {version} is installed, but its folder was not found")


def _caches(profile: Path | None, all_users: bool) -> Iterator[Path]:
    """Where LibreOffice may keep what it unpacked."""
    if all_users:
        yield find().soffice.resolve().parent.parent / "share"
    elif profile is not None:
        yield profile / "user"
    else:
        home = Path.home()
        yield home / ".config" / "libreoffice" / "4" / "user"
        yield home / "Library" / "Application Support" / "LibreOffice" / "4" / "user"
        yield Path(os.environ.get("APPDATA", home)) / "LibreOffice" / "4" / "user"


def _unopkg(*words: str, profile: Path | None, all_users: bool) -> str:
    found = find()
    command = [str(found.unopkg), *words]
    if all_users:
        command.append("--shared")
    if profile is not None:
        command.append(f"-env:UserInstallation={profile.absolute().as_uri()}")
    try:
        done = subprocess.run(
            command, capture_output=True, text=True, encoding="utf-8", errors="replace",
            timeout=TIME_LIMIT, env=found.environment(), stdin=subprocess.DEVNULL,
        )  # fmt: skip
    except OSError as error:
        raise OfficeError(f"{command[0]} cannot be run: {error}") from None
    except subprocess.TimeoutExpired:
        raise OfficeError(
            f"{command[0]} did not end within {TIME_LIMIT:g} s; close LibreOffice and try again"
        ) from None
    told = f"{done.stdout}\n{done.stderr}".strip()
    if done.returncode or "ERROR:" in told:
        raise OfficeError(f"unopkg {words[0]} failed: {_reason(told)}")
    return told


def _reason(told: str) -> str:
    """What `unopkg` said, and what to do about it."""
    if exception := re.search(r"Exception occurred:.* com\.sun\.star\.\S+ (.*)", told):
        asked = "Is your home folder yours to write in, and is there room on the disk?"
        return f"{exception[1]}. {asked}"
    if "as root" in told:
        return f"{told} Run it as the user who works in LibreOffice, or install for all users."
    return f"{told} Close LibreOffice and try again." if "lock" in told.lower() else told


# --- whether LibreOffice on this machine has the functions, in words, each fault with its mend ---
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
