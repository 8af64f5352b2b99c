"""Puts the worksheet functions into a workbook: the last step of building one, and the way to have
them in a workbook of one's own, or to renew them after an update.

Three things go in, everything else stays as it is: the VBA module, a hidden sheet that names the
Python, and the texts of the function wizard. No add-in is needed.
"""

import re
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.excel import wrapper
from xlfuncs.xlsx.draft import Draft
from xlfuncs.xlsx.saving import save

if TYPE_CHECKING:
    from pyopenvba import ExcelFile
    from pyopenvba.vba import VBAProject

_FORMER_MODULES: Final = {"xlwings", "Dictionary"}
_MACRO_CONTENT: Final = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"


def add_functions(path: Path | str, interpreter: str | None = None) -> Path:
    """Put the functions into a workbook; gives the path of the .xlsm.

    `path` is an .xlsm, with or without VBA of its own (replaced by way of a file beside it), or
    an .xlsx (the .xlsm is made beside it, the .xlsx stays). `interpreter` is the python.exe that
    Excel is to start: by default the running one on Windows; elsewhere the one that the workbook
    names already, if any. WorkbookError says why a workbook cannot take the functions.
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
    settings = wrapper.settings_of(draft.contents)
    interpreter = wrapper.this_interpreter() if interpreter is None else interpreter
    draft.set_type(draft.workbook, _MACRO_CONTENT)  # else Excel does not open it as an .xlsm
    _write_settings(draft, wrapper.renewed(settings, interpreter))
    _write_wizard_texts(draft)
    return _with_modules(draft.result(), draft.package.name)


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
                _remove_former(book, project)
                if wrapper.MODULE_NAME in book.module_names():
                    book.set_module(wrapper.MODULE_NAME, wrapper.vba_module())
                else:
                    project.add_module(wrapper.MODULE_NAME, wrapper.vba_module())
                book.save()
        except PyOpenVBAError as error:
            raise WorkbookError(f"{name}: its VBA cannot be changed ({error})") from None
        return path.read_bytes()


def _remove_former(book: "ExcelFile", project: "VBAProject") -> None:
    """Take xlwings' own modules out, which our module once went by; a person's macros may use
    them, so they stay beside others."""
    names = book.module_names()
    if wrapper.MODULE_NAME not in names or "XLPy.CallUDF" not in book.get_module(
        wrapper.MODULE_NAME
    ):
        return
    own = project.get_module
    documents = {n for n in names if "VB_PredeclaredId = True" in own(n).source}
    if set(names) - documents <= {wrapper.MODULE_NAME, *_FORMER_MODULES}:
        for name in set(names) & _FORMER_MODULES:
            project.delete_module(name)


# --- the parts of the package --------------------------------------------------------------------


def _write_settings(draft: Draft, settings: dict[str, str]) -> None:
    sheet = draft.sheet(wrapper.SHEET)
    if sheet is None:
        draft.add_sheet(wrapper.SHEET, wrapper.sheet_xml(settings), hidden=True)
        return
    for stated in draft.find(sheet.part, "worksheet/dimension"):  # it may have more rows now
        draft.replace(sheet.part, stated, "")
    data = draft.one(sheet.part, "worksheet/sheetData")
    draft.replace(sheet.part, data, wrapper.sheet_data_xml(settings))


def _write_wizard_texts(draft: Draft) -> None:
    """Categories and argument help. A workbook with categories of its own keeps those."""
    part = draft.workbook
    if not draft.find(part, "workbook/functionGroups"):
        draft.insert_after(part, draft.one(part, "workbook/sheets"), wrapper.function_groups_xml())
    found = [e for e in draft.find(part, "workbook/extLst/ext")
             if e.attributes.get("uri") == wrapper.HELP_EXTENSION]  # fmt: skip
    if found:
        draft.replace(part, found[0], wrapper.argument_help_xml(_other_helps(draft)))
    elif lists := draft.find(part, "workbook/extLst"):
        draft.append(part, lists[0], wrapper.argument_help_xml())
    else:
        draft.append(
            part, draft.one(part, "workbook"), f"<extLst>{wrapper.argument_help_xml()}</extLst>"
        )


def _other_helps(draft: Draft) -> str:
    """The argument help of other macros, as it stands in the workbook."""
    content = draft.read(draft.workbook).decode()
    entries = re.findall(r"<x14:definedName .*?</x14:definedName>", content, re.DOTALL)
    known = functions()
    names = [re.search(r'name="([^"]*)"', entry) for entry in entries]
    return "".join(
        entry for entry, name in zip(entries, names, strict=True) if name and name[1] not in known
    )
