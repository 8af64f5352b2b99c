"""Puts the worksheet functions into a workbook: the last step of building one, and the way to have
them in a workbook of one's own, or to renew them after an update.

Three things go in, everything else stays as it is: the VBA modules (ours, and the module of the
installed xlwings that reaches Python, so that no add-in is needed), a hidden sheet with xlwings'
settings, and the texts of the function wizard. The files taken from the xlwings package are under
its BSD licence, which covers everything but its `pro` folder, and keep their notices.
"""

from __future__ import annotations

import re
from importlib.resources import files
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.excel.settings import (
    SHEET,
    settings_of,
    sheet_data_xml,
    sheet_xml,
    this_interpreter,
    with_interpreter,
)
from xlfuncs.hosts.excel.wrapper import (
    HELP_EXTENSION,
    MODULE_NAME,
    argument_help_xml,
    function_groups_xml,
    vba_module,
)
from xlfuncs.xlsx.draft import Draft
from xlfuncs.xlsx.saving import save

if TYPE_CHECKING:
    from pyopenvba import ExcelFile
    from pyopenvba.vba import VBAProject

XLWINGS_MODULE: Final = "xlwings"
_MACRO_CONTENT: Final = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"


def add_functions(path: Path | str, interpreter: str | None = None) -> Path:
    """Put the functions into a workbook; gives the path of the .xlsm.

    `path` is an .xlsm, with or without VBA of its own (replaced by way of a file beside it), or
    an .xlsx (the .xlsm is made beside it, the .xlsx stays). `interpreter` is the python.exe that
    Excel is to start: by default the running one on Windows; elsewhere none, and then xlwings
    takes the `pythonw` on the PATH. WorkbookError says why a workbook cannot take the functions.
    """
    source = Path(path)
    if source.suffix.lower() not in (".xlsx", ".xlsm"):
        raise WorkbookError(f"{source.name}: needs an .xlsx or .xlsm workbook")
    target = source if source.suffix.lower() == ".xlsm" else source.with_suffix(".xlsm")
    if target != source and target.exists():
        raise WorkbookError(f"{target.name} exists already; name that file, or move it away first")
    save(target, with_functions(source, interpreter))
    return target


def with_functions(source: Path | bytes, interpreter: str | None = None) -> bytes:
    """The bytes of the .xlsm that a workbook (a file, or its bytes) becomes with the functions."""
    draft = Draft(source)
    settings = settings_of(draft.contents)
    interpreter = this_interpreter() if interpreter is None else interpreter
    draft.set_type(draft.workbook, _MACRO_CONTENT)  # else Excel does not open it as an .xlsm
    _write_settings(draft, with_interpreter(settings, interpreter))
    _write_wizard_texts(draft)
    return _with_modules(draft.result(), draft.package.name)


def xlwings_module() -> str:
    """The VBA module of the installed xlwings that reaches Python without its add-in."""
    return _packaged_text("xlwings.bas")


def module_of(path: Path | str, name: str) -> str | None:
    """The text of a VBA module in a workbook, or None without it."""
    from pyopenvba import ExcelFile
    from pyopenvba.exceptions import PyOpenVBAError

    try:
        with ExcelFile(path) as book:
            return book.get_module(name) if name in book.module_names() else None
    except (PyOpenVBAError, OSError) as error:
        raise WorkbookError(f"{Path(path).name}: its VBA cannot be read ({error})") from None


# --- VBA -----------------------------------------------------------------------------------------


def _with_modules(content: bytes, name: str) -> bytes:
    """The workbook with the VBA modules; the library works on a file, so on one of its own."""
    from pyopenvba import ExcelFile
    from pyopenvba.exceptions import PyOpenVBAError

    with TemporaryDirectory() as folder:
        path = Path(folder) / "workbook.xlsm"
        path.write_bytes(content)
        try:
            with ExcelFile(path) as book:
                project = book.vba_project() if book.has_vba_project() else book.add_vba_project()
                if not _uses_add_in(book):
                    _put(book, project, XLWINGS_MODULE, xlwings_module())
                    _put(book, project, "Dictionary", _packaged_text("addin/Dictionary.cls"))
                _put(book, project, MODULE_NAME, vba_module())
                book.save()
        except PyOpenVBAError as error:
            raise WorkbookError(f"{name}: its VBA cannot be changed ({error})") from None
        return path.read_bytes()


def _uses_add_in(book: ExcelFile) -> bool:
    """Whether the project refers to xlwings' add-in, which then provides the same module."""
    return any(reference.name.lower() == XLWINGS_MODULE for reference in book.references())


def _put(book: ExcelFile, project: VBAProject, name: str, source: str) -> None:
    from pyopenvba import VBAModuleKind

    if name in book.module_names():
        book.set_module(name, source)
    elif source.startswith("VERSION"):
        project.add_module(name, source, kind=VBAModuleKind.other)
    else:
        project.add_module(name, source)


def _packaged_text(name: str) -> str:
    text = files("xlwings").joinpath(name).read_text("utf-8")
    return "\r\n".join(text.splitlines()) + "\r\n"


# --- the parts of the package --------------------------------------------------------------------


def _write_settings(draft: Draft, settings: dict[str, str]) -> None:
    sheet = draft.sheet(SHEET)
    if sheet is None:
        draft.add_hidden_sheet(SHEET, sheet_xml(settings))
        return
    for stated in draft.find(sheet.part, "worksheet/dimension"):  # it may have more rows now
        draft.replace(sheet.part, stated, "")
    data = draft.one(sheet.part, "worksheet/sheetData")
    draft.replace(sheet.part, data, sheet_data_xml(settings))


def _write_wizard_texts(draft: Draft) -> None:
    """Categories and argument help. A workbook with categories of its own keeps those."""
    part = draft.workbook
    if not draft.find(part, "workbook/functionGroups"):
        draft.insert_after(part, draft.one(part, "workbook/sheets"), function_groups_xml())
    found = [e for e in draft.find(part, "workbook/extLst/ext")
             if e.attributes.get("uri") == HELP_EXTENSION]  # fmt: skip
    if found:
        draft.replace(part, found[0], argument_help_xml(_other_helps(draft)))
    elif lists := draft.find(part, "workbook/extLst"):
        draft.append(part, lists[0], argument_help_xml())
    else:
        draft.append(part, draft.one(part, "workbook"), f"<extLst>{argument_help_xml()}</extLst>")


def _other_helps(draft: Draft) -> str:
    """The argument help of other macros, as it stands in the workbook."""
    content = draft.read(draft.workbook).decode()
    entries = re.findall(r"<x14:definedName .*?</x14:definedName>", content, re.DOTALL)
    known = functions()
    names = [re.search(r'name="([^"]*)"', entry) for entry in entries]
    return "".join(
        entry for entry, name in zip(entries, names, strict=True) if name and name[1] not in known
    )
