"""What this machine has that Excel needs to reach Python. Reads only, changes nothing."""

import os
import sys
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path, PureWindowsPath
from typing import Final

from xlfuncs.hosts.excel.settings import library_folder, this_interpreter
from xlfuncs.hosts.excel.wrapper import library_file

_EXCEL_PATH: Final = r"SOFTWARE\Microsoft\Windows\CurrentVersion\App Paths\excel.exe"
_SECURITY: Final = r"Office\16.0\Excel\Security"


@dataclass(frozen=True)
class Machine:
    """The facts. Paths are texts, empty where there is nothing."""

    system: str  # as sys.platform says: win32, darwin, linux ...
    python: str  # the interpreter, as Excel would start it
    python_version: str
    xlwings: str = ""  # version of the package
    pywin32: bool = False
    library: str = ""  # xlwings' DLL beside the interpreter
    excel: str = ""
    excel_bits: int = 0  # 32 or 64; 0 if not known
    macros: int | None = None  # the macro setting of Excel's Trust Center, 1 to 4
    macros_by_policy: bool = False
    add_in: str = ""  # xlwings' add-in, if it was ever installed
    add_in_same: bool = False  # and it is the one of the package


def this_machine() -> Machine:
    """The facts of the machine that this runs on."""
    windows = sys.platform == "win32"
    xlwings = _version("xlwings")
    policy, chosen = _macro_setting(policy=True), _macro_setting(policy=False)
    add_in = _add_in() if windows else ""
    excel = _registry_text("HKLM", _EXCEL_PATH) or _registry_text("HKCU", _EXCEL_PATH)
    return Machine(
        system=sys.platform,
        python=this_interpreter() or sys.executable,
        python_version=".".join(map(str, sys.version_info[:3])),
        xlwings=xlwings,
        pywin32=find_spec("pythoncom") is not None,
        library=_library(sys.executable) if windows else "",
        excel=excel,
        excel_bits=bits_of(excel) if excel else 0,
        macros=chosen if policy is None else policy,
        macros_by_policy=policy is not None,
        add_in=add_in,
        add_in_same=bool(add_in) and _is_packaged_add_in(Path(add_in)),
    )


def from_the_internet(path: Path) -> bool:
    """Whether Windows has marked a file as downloaded, so that Excel blocks its macros."""
    if sys.platform != "win32":
        return False
    try:
        mark = Path(f"{path}:Zone.Identifier").read_text(errors="replace")
    except OSError:
        return False
    return "ZoneId=3" in mark or "ZoneId=4" in mark


def from_the_store(path: str) -> bool:
    """Whether a program is an edition from the Microsoft Store, which runs walled off."""
    return "windowsapps" in (part.lower() for part in PureWindowsPath(path).parts)


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:
        return ""


def _library(python: str) -> str:
    """xlwings' library where the workbook's VBA looks; empty where it is not."""
    folder = Path(PureWindowsPath(library_folder(python)).as_posix())
    files = (folder / library_file(bits) for bits in (64, 32))
    return next((str(file) for file in files if file.exists()), "")


def bits_of(program: str) -> int:
    """Whether a program of Windows is of 32 or 64 bits (its PE header); 0 if it cannot be read."""
    try:
        with open(program, "rb") as file:
            head = file.read(4096)
    except OSError:
        return 0
    place = int.from_bytes(head[60:64], "little")
    kind = int.from_bytes(head[place + 4 : place + 6], "little")
    return {0x14C: 32, 0x8664: 64, 0xAA64: 64}.get(kind, 0)


def _add_in() -> str:
    path = Path(os.environ.get("APPDATA", "")) / "Microsoft" / "Excel" / "XLSTART" / "xlwings.xlam"
    return str(path) if path.exists() else ""


def _is_packaged_add_in(path: Path) -> bool:
    packaged = files("xlwings").joinpath("addin/xlwings.xlam")
    return packaged.is_file() and packaged.read_bytes() == path.read_bytes()


def _macro_setting(*, policy: bool) -> int | None:
    branch = (
        rf"Software\Policies\Microsoft\{_SECURITY}"
        if policy
        else rf"Software\Microsoft\{_SECURITY}"
    )
    text = _registry_text("HKCU", branch, "VBAWarnings")
    return int(text) if text.isdecimal() else None


def _registry_text(root: str, key: str, name: str = "") -> str:
    """A value of the Windows registry as text; empty without it, and off Windows."""
    if sys.platform != "win32":
        return ""
    import winreg

    roots = {"HKLM": winreg.HKEY_LOCAL_MACHINE, "HKCU": winreg.HKEY_CURRENT_USER}
    try:
        with winreg.OpenKey(roots[root], key) as opened:
            return str(winreg.QueryValueEx(opened, name)[0])
    except OSError:
        return ""
