"""What Excel starts: `python -I -B -m xlfuncs.hosts.excel.server CLSID`.

The COM server is xlwings'. The functions are loaded before it answers, so that whatever stops them
stops the start, at once, with words that Excel's VBA can show: it reads them from where VBA keeps
settings of programs (GetSetting), in the registry of the person.
"""

import faulthandler
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import Any, Final

# A first start under a slow virus scanner takes 20 s; one that takes longer than this hangs.
LIMIT: Final = 60
APPLICATION, SECTION, KEY = "xlfuncs", "start", "refused"
REGISTRY: Final = rf"Software\VB and VBA Program Settings\{APPLICATION}\{SECTION}"
_LONGEST: Final = 600


def main() -> None:
    """Serve until Excel ends; exit code 1 and words where that cannot be."""
    report(f"Python was still not ready after {LIMIT} s and was ended")
    faulthandler.dump_traceback_later(LIMIT, exit=True)
    try:
        serve = _ready()
    except BaseException as error:
        report(words_of(error))
        raise
    faulthandler.cancel_dump_traceback_later()
    report("")
    serve(sys.argv[1])


def _ready() -> Any:
    """xlwings' serve with the functions loaded, called by Excel with one crossing a call."""
    com_server, functions = loaded("xlwings.com_server"), loaded("xlfuncs.hosts.excel.functions")
    functions.BED_AREA([["1 m"]], [["1 m"]], None, "metric")
    # CallUDF is the default member too, so that VBA need not ask for its number each time.
    members = {"_dispid_to_func_": {0: "CallUDF"}}
    vars(com_server)["XLPython"] = type("Calls", (com_server.XLPython,), members)
    return com_server.serve


def loaded(module: str) -> Any:
    """A module that needs xlwings, which can do without two thirds of what it would load."""
    with _without("pandas", "matplotlib"):
        return import_module(module)


@contextmanager
def _without(*packages: str) -> Iterator[None]:
    """Hide packages from an import that takes them if they are there."""
    hidden = [package for package in packages if package not in sys.modules]
    sys.modules.update(dict.fromkeys(hidden))  # type: ignore[arg-type]
    try:
        yield
    finally:
        for package in hidden:
            del sys.modules[package]


def words_of(error: BaseException) -> str:
    """One line: what failed, and in which file."""
    frames = traceback.extract_tb(error.__traceback__)
    place = f" ({frames[-1].filename})" if frames else ""
    text = " ".join(f"{type(error).__name__}: {error}".split())
    return f"{text[: _LONGEST - len(place)]}{place}"


def report(words: str) -> None:
    """Leave words for VBA's GetSetting; nothing off Windows."""
    if sys.platform == "win32":
        import winreg

        with winreg.CreateKey(winreg.HKEY_CURRENT_USER, REGISTRY) as key:
            winreg.SetValueEx(key, KEY, 0, winreg.REG_SZ, words)


if __name__ == "__main__":
    main()
