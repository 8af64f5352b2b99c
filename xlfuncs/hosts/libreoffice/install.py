"""Installing the extension for LibreOffice's user, and removing it, by LibreOffice's `unopkg`."""

from __future__ import annotations

import re
import subprocess
import tempfile
from pathlib import Path

from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import OfficeError, find

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


def _unopkg(*words: str, profile: Path | None, all_users: bool) -> str:
    found = find()
    command = [str(found.unopkg), *words]
    if all_users:
        command.append("--shared")
    if profile is not None:
        command.append(f"-env:UserInstallation={profile.absolute().as_uri()}")
    try:
        done = subprocess.run(
            command,
            capture_output=True,
            text=True,
            encoding="utf-8",
            errors="replace",
            timeout=TIME_LIMIT,
            env=found.environment(),
            stdin=subprocess.DEVNULL,
        )
    except OSError as error:
        raise OfficeError(f"{command[0]} cannot be run: {error}") from None
    except subprocess.TimeoutExpired:
        raise OfficeError(
            f"{command[0]} did not end within {TIME_LIMIT:g} s; close LibreOffice and try again"
        ) from None
    told = f"{done.stdout}\n{done.stderr}".strip()
    if done.returncode or "ERROR:" in told:
        raise OfficeError(f"unopkg {words[0]} failed: {told}{_advice(told)}")
    return told


def _advice(told: str) -> str:
    if "as root" in told:
        return " Run it as the user who works in LibreOffice, or install for all users."
    return " Close LibreOffice and try again." if "lock" in told.lower() else ""
