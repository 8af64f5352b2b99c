"""What this machine has that Excel needs to reach Python. Reads only, changes nothing."""

import os
import sys
import time
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from importlib.util import find_spec
from pathlib import Path, PureWindowsPath
from typing import Any, Final

from xlfuncs.hosts.excel import server, wrapper

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
        system=sys.platform, python=wrapper.this_interpreter() or sys.executable,
        python_version=".".join(map(str, sys.version_info[:3])), xlwings=xlwings,
        pywin32=find_spec("pythoncom") is not None,
        library=_library(sys.executable) if windows else "", excel=excel,
        excel_bits=bits_of(excel) if excel else 0, macros=chosen if policy is None else policy,
        macros_by_policy=policy is not None, add_in=add_in,
        add_in_same=bool(add_in) and _is_packaged_add_in(Path(add_in)),
    )  # fmt: skip


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
    folder = Path(PureWindowsPath(wrapper.library_folder(python)).as_posix())
    files = (folder / wrapper.library_file(bits) for bits in (64, 32))
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


# --- Python started the way a workbook starts it: through xlwings' library, and one call ---
# Windows only for the start itself; what a failure means can be read anywhere.
SLOW: Final = 20.0  # s; a start takes one or two
_DISPATCH, _TEXT = 9, 8  # VT_DISPATCH and VT_BSTR of a VARIANT
_BLOCKED: Final = {5, 225, 1260}  # access denied, taken for a virus, forbidden by a policy
_WRONG_BITS: Final = 193

_RENEW = 'close the workbook in Excel, then run: xlfuncs excel add "WORKBOOK"'
_AGAIN = (
    "set up Python and the functions anew (examples/set_up_windows.bat), then run:"
    " xlfuncs excel add"
)


@dataclass(frozen=True)
class Start:
    """What came of one start: nothing wrong, or words and a mend."""

    seconds: float = 0.0
    words: str = ""
    mend: str = ""


def try_start(python: str) -> Start:
    """Start a python.exe as a workbook would, and let it compute one area."""
    if sys.platform != "win32":
        return Start()
    if (gone := missing(python)) is not None:
        return gone
    begin = time.monotonic()
    try:
        answer = _answer_of(python)
    except OSError as error:
        return of_library(getattr(error, "winerror", 0) or 0, str(error))
    seconds = time.monotonic() - begin
    if answer != 120.0:
        told = refused() or str(answer)
        return Start(seconds, f"does not start: {told}", mend_of(told))
    if seconds > SLOW:
        words = (
            f"needed {seconds:.0f} s to start; a virus scanner that looks at each file does that"
        )
        return Start(
            seconds, words, f"have it leave out {PureWindowsPath(wrapper.library_folder(python))}"
        )
    return Start(seconds)


def missing(python: str) -> Start | None:
    """What can be seen without starting: programs and folders that are gone."""
    if not Path(python).exists():
        return Start(words="is not there any more: moved, renamed or removed", mend=_RENEW)
    folder = Path(PureWindowsPath(wrapper.library_folder(python)).as_posix())
    settings = folder / "pyvenv.cfg"
    if settings.exists():
        lines = (line.partition("=") for line in settings.read_text("utf-8").splitlines())
        home = {name.strip().lower(): value.strip() for name, _, value in lines}.get("home", "")
        if home and not Path(home).exists():
            return Start(words=f"was made with a Python that is gone ({home})", mend=_AGAIN)
    return None


def of_library(code: int, words: str) -> Start:
    """What hinders the library, by the number of Windows' error."""
    if code == _WRONG_BITS:
        return Start(words="xlwings' library is for another kind of processor", mend=_AGAIN)
    if code in _BLOCKED:
        return Start(
            words=f"xlwings' library is blocked on this machine ({words})",
            mend="ask who runs the PC, or allow its folder in the virus scanner",
        )
    return Start(
        words=f"xlwings' library cannot be loaded ({words})",
        mend="run: pip install --force-reinstall xlwings",
    )


def mend_of(told: str) -> str:
    """What to do about the words with which Python did not start."""
    if "still not ready" in told:
        return "try again; if it stays, have the virus scanner leave out Python's folder"
    if "ModuleNotFoundError" in told or "exited before" in told:
        return "run: pip install --force-reinstall xlfuncs, with that Python"
    return "a file that is named here may have the name of a library; move it, or " + _AGAIN


def refused() -> str:
    """The words that Python left when it did not start; empty off Windows."""
    if sys.platform != "win32":
        return ""
    import winreg

    try:
        with winreg.OpenKey(winreg.HKEY_CURRENT_USER, server.REGISTRY) as key:
            return str(winreg.QueryValueEx(key, server.KEY)[0])
    except OSError:
        return ""


def _answer_of(python: str) -> Any:
    """What one call gives, or the library's words; OSError where the library cannot be loaded."""
    import ctypes
    from importlib import import_module

    com: Any = import_module("pythoncom")
    windows: Any = ctypes
    library = windows.WinDLL(str(Path(wrapper.library_folder(python)) / wrapper.library_file()))
    automation = windows.oledll.oleaut32
    automation.SysAllocStringByteLen.restype = ctypes.c_void_p
    # as VBA hands text to a library: in the code page of the machine
    config = f'"{python}" {wrapper.START_OPTIONS}'.encode("mbcs", "replace")
    handed = ctypes.c_void_p(automation.SysAllocStringByteLen(config, len(config)))
    found = (ctypes.c_uint64 * 3)()  # a VARIANT: its kind, then a pointer
    server.report("")
    com.CoInitialize()
    failed = library.XLPyDLLActivateAuto(ctypes.byref(found), handed, 1)
    kind, pointer = found[0] & 0xFFFF, found[1]
    if failed or kind != _DISPATCH:
        return ctypes.wstring_at(pointer).split("\n")[0] if kind == _TEXT else "no words"
    served = com.ObjectFromAddress(pointer, com.IID_IDispatch)
    flags = com.DISPATCH_METHOD | com.DISPATCH_PROPERTYGET
    answer = served.Invoke(0, 0, flags, True, wrapper.PYTHON_MODULE, "BED_AREA", (48.0, 30.0))
    library.XLPyDLLActivateAuto(ctypes.byref((ctypes.c_uint64 * 3)()), handed, -1)  # end it
    return answer
