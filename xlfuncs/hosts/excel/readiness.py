"""Whether a machine, and a workbook on it, are ready for the functions in Excel: said in words,
each fault with its mend."""

from collections.abc import Iterator
from pathlib import Path

from xlfuncs.hosts.excel.machine import Machine, from_the_internet, from_the_store, try_start
from xlfuncs.hosts.excel.macro_workbook import module_of
from xlfuncs.hosts.excel.wrapper import MODULE_NAME, PYTHON, library_file, read_settings, vba_module
from xlfuncs.hosts.readiness import State

_OWN_ENVIRONMENT = (
    r"install Python from python.org, then: py -m venv C:\farm\python, and"
    r" C:\farm\python\Scripts\pip install xlfuncs"
)
_RENEW = 'close it in Excel, then run: xlfuncs excel add "{}"'


def of_machine(machine: Machine) -> list[State]:
    """What was found on the machine."""
    found = [_functions()]
    if machine.system == "win32":
        return [*found, *_python(machine), *_excel(machine)]
    if machine.system == "darwin":
        words = "Excel for Mac has no functions of this kind, whatever is installed"
    else:
        words = "Excel does not run on this system"
    return [
        *found,
        State("Excel", f"{words}; a workbook for a Windows machine can still be made here"),
        State(
            "Instead",
            "the functions work in LibreOffice (xlfuncs libreoffice install), and"
            " xlfuncs recalculate brings the values of a workbook up to date",
        ),
    ]


def of_workbook(path: Path, machine: Machine) -> list[State]:
    """What was found in a workbook; WorkbookError if it cannot be read."""
    if path.suffix.lower() != ".xlsm":
        words, mend = "holds no functions: only an .xlsm can", f'xlfuncs excel add "{path}"'
        if machine.system == "win32":
            return [State(path.name, words, f"run: {mend}")]
        return [State(path.name, f"{words}, by {mend}, for Excel on Windows")]
    ours = module_of(path, MODULE_NAME)
    if ours is None:
        return [State(path.name, "holds none of the functions", _RENEW.format(path))]
    return [*_modules(path, ours), *_interpreter(path, machine), *_mark(path)]


def _functions() -> State:
    """The module that Excel imports, tried as Excel would call it."""
    try:
        from xlfuncs.catalogue.registry import functions
        from xlfuncs.hosts.excel.server import loaded

        count = len(functions())
        module = loaded("xlfuncs.hosts.excel.functions")
        (answer,) = module.BED_AREA([["1 m"]], [["1 m"]], None, "metric")
    except Exception as error:  # whatever it is, it stands between Excel and the functions
        return State(
            "Functions",
            f"cannot be loaded: {type(error).__name__}: {error}",
            "run: pip install --force-reinstall xlfuncs",
        )
    if answer != [1.0]:
        return State("Functions", f"1 m by 1 m gave {answer}", "report this as a mistake of ours")
    return State("Functions", f"{count} load and compute")


def _python(machine: Machine) -> Iterator[State]:
    place = f"{machine.python_version} at {machine.python}"
    if from_the_store(machine.python):
        yield State(
            "Python", f"{place}: from the Microsoft Store, Excel cannot start it", _OWN_ENVIRONMENT
        )
    else:
        yield State("Python", place)
    if not machine.xlwings or not machine.pywin32:
        missing = "pywin32" if machine.xlwings else "xlwings"
        yield State("xlwings", f"{missing} is missing", f"run: pip install {missing}")
    elif not machine.library:
        yield State(
            "xlwings",
            f"{machine.xlwings}, but its DLL is not beside python.exe (pip installed it for one"
            " user only)",
            _OWN_ENVIRONMENT,
        )
    else:
        yield State("xlwings", f"{machine.xlwings}, {machine.library}")
        yield _start(machine.python)


def _start(python: str) -> State:
    """One real start and call, as a workbook makes them."""
    start = try_start(python)
    if start.mend:
        return State("Start", f"{python} {start.words}", start.mend)
    return State("Start", f"Python answers as it would to Excel, after {start.seconds:.1f} s")


def _excel(machine: Machine) -> Iterator[State]:
    if not machine.excel:
        yield State(
            "Excel",
            "is not on this machine",
            "install the desktop edition; the functions also work in LibreOffice"
            " (xlfuncs libreoffice install)",
        )
        return
    if from_the_store(machine.excel):
        yield State(
            "Excel",
            f"{machine.excel}: from the Microsoft Store, it cannot start Python",
            "uninstall it and install Office from office.com with the same account",
        )
    elif (
        machine.excel_bits == 32 and not (Path(machine.library).parent / library_file(32)).exists()
    ):
        yield State(
            "Excel",
            f"{machine.excel}: of 32 bits, for which xlwings' library is missing",
            "run: pip install --force-reinstall xlwings",
        )
    else:
        yield State("Excel", machine.excel)
    yield _macros(machine)
    yield _add_in(machine)


def _macros(machine: Machine) -> State:
    """The Trust Center's four settings; without a choice it is 2, a bar that asks."""
    words = {
        1: "all are enabled, which is more than the functions need",
        2: "Excel asks: press Enable Content when the workbook is opened",
        3: "only signed ones run, and ours are not signed",
        4: "all are blocked without a word",
    }[machine.macros if machine.macros in (1, 2, 3, 4) else 2]
    if machine.macros not in (3, 4):
        return State("Macros", words)
    if machine.macros_by_policy:
        return State("Macros", f"{words}, by a rule of your organization", "ask who runs the PC")
    return State(
        "Macros",
        words,
        "in Excel: File, Options, Trust Center, Trust Center Settings, Macro Settings,"
        " Disable VBA macros with notification",
    )


def _add_in(machine: Machine) -> State:
    if not machine.add_in:
        return State("Add-in", "xlwings' add-in is not installed, and not needed")
    if machine.add_in_same:
        return State("Add-in", "xlwings' add-in has the version of the package; it is not needed")
    return State(
        "Add-in",
        f"xlwings' add-in at {machine.add_in} is of another version than the package; our"
        " workbooks do not use it, but yours that do would fail",
        "close Excel, then run: xlwings addin install",
    )


def _modules(path: Path, ours: str) -> Iterator[State]:
    if _lines(ours) == _lines(vba_module()):
        yield State("Functions in it", "the ones of this package")
    else:
        yield State(
            "Functions in it",
            "of another version than this package, or of xlwings",
            _RENEW.format(path),
        )


def _interpreter(path: Path, machine: Machine) -> Iterator[State]:
    named = read_settings(path).get(PYTHON, "")
    if machine.system != "win32":
        yield State("Python of it", named or "none named yet")
    elif named.lower() == machine.python.lower():
        yield State("Python of it", "this one")
    else:
        words = f"{named}, while this is {machine.python}" if named else "none is named"
        yield State("Python of it", words, _RENEW.format(path))
        if named:
            yield _start(named)


def _mark(path: Path) -> Iterator[State]:
    if from_the_internet(path):
        yield State(
            "Origin",
            "Windows marked it as coming from the internet, so Excel blocks its macros",
            "right-click the file, Properties, tick Unblock, OK",
        )


def _lines(text: str) -> list[str]:
    """Lines as far as they matter: the VBA editor changes endings and the case of names."""
    return [
        line.strip().casefold()
        for line in text.splitlines()
        if line.strip() and not line.startswith("Attribute VB_")
    ]
