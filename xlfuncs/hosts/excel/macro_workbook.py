"""Puts the worksheet functions into a workbook: the last step of building one, and the way to have
them in a workbook of one's own, or to renew them after an update.

Three things go in, everything else stays as it is: the VBA modules (ours, and the module of the
installed xlwings that reaches Python, so that no add-in is needed), a hidden sheet with xlwings'
settings, and the texts of the function wizard. The files taken from the xlwings package are under
its BSD licence, which covers everything but its `pro` folder, and keep their notices.
"""

from __future__ import annotations

import os
import re
import zipfile
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.excel.settings import (
    SHEET,
    read_settings,
    sheet_data_xml,
    this_interpreter,
    with_interpreter,
)
from xlfuncs.hosts.excel.wrapper import (
    MODULE_NAME,
    argument_help_xml,
    function_groups_xml,
    vba_module,
)

if TYPE_CHECKING:
    from pyopenvba import ExcelFile
    from pyopenvba.vba import VBAProject

XLWINGS_MODULE: Final = "xlwings"
_WORKBOOK: Final = "xl/workbook.xml"
_RELATIONS: Final = "xl/_rels/workbook.xml.rels"
_TYPES: Final = "[Content_Types].xml"
_MAIN: Final = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE: Final = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_CONTENT: Final = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_MACRO_CONTENT: Final = "application/vnd.ms-excel.sheet.macroEnabled.main+xml"

Parts = dict[str, bytes]


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
    parts = _read(source)
    settings = read_settings(source) if _settings_part(parts) else {}
    interpreter = this_interpreter() if interpreter is None else interpreter
    _declare_macros(parts)
    _write_settings(parts, sheet_data_xml(with_interpreter(settings, interpreter)))
    _write_wizard_texts(parts)
    _replace_by(target, parts)
    return target


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


def _read(path: Path) -> Parts:
    try:
        with zipfile.ZipFile(path) as package:
            parts = {name: package.read(name) for name in package.namelist()}
    except (OSError, zipfile.BadZipFile) as error:
        raise WorkbookError(f"{path.name}: cannot be read as a workbook ({error})") from None
    needed = {_WORKBOOK, _RELATIONS, _TYPES}
    if not needed <= parts.keys() or b"</sheets>" not in parts[_WORKBOOK]:
        raise WorkbookError(f"{path.name}: unusual inside; save it once in Excel, then try again")
    if any(name.startswith("_xmlsignatures/") for name in parts):
        raise WorkbookError(f"{path.name}: is digitally signed; remove the signature first")
    return parts


def _replace_by(target: Path, parts: Parts) -> None:
    """Write beside the target first, so that a failure leaves the old file as it was."""
    beside = target.with_name(f"~{target.stem}-{os.getpid()}.xlsm")
    try:
        with zipfile.ZipFile(beside, "w", zipfile.ZIP_DEFLATED) as package:
            for part, content in parts.items():
                package.writestr(part, content)
        _add_modules(beside, target.name)
        beside.replace(target)
    except OSError as error:
        words = f"cannot be written ({error.strerror}); close it in Excel first"
        raise WorkbookError(f"{target.name}: {words}") from None
    finally:
        beside.unlink(missing_ok=True)


# --- VBA -----------------------------------------------------------------------------------------


def _add_modules(path: Path, name: str) -> None:
    from pyopenvba import ExcelFile
    from pyopenvba.exceptions import PyOpenVBAError

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


def _substitute(parts: Parts, part: str, pattern: str, replacement: str) -> bool:
    """Replace the first match in a part; false where there is none."""
    text, count = re.subn(
        pattern, lambda match: replacement, parts[part].decode("utf-8"), count=1, flags=re.DOTALL
    )
    parts[part] = text.encode("utf-8")
    return bool(count)


def _declare_macros(parts: Parts) -> None:
    """Excel opens an .xlsm only if its main part is said to be one with macros."""
    _substitute(parts, _TYPES, re.escape(f"{_CONTENT}.sheet.main+xml"), _MACRO_CONTENT)


def _settings_part(parts: Parts) -> str:
    """The part that holds the settings sheet, or nothing."""
    sheet = re.search(rf'<sheet [^>]*name="{re.escape(SHEET)}"[^>]*>', parts[_WORKBOOK].decode())
    if sheet is None:
        return ""
    identity = re.search(r':id="([^"]+)"', sheet[0])
    relations = re.findall(r"<Relationship [^>]*>", parts[_RELATIONS].decode())
    for relation in relations:
        if identity and f'Id="{identity[1]}"' in relation:
            target = re.search(r'Target="([^"]+)"', relation)
            return "xl/" + target[1].removeprefix("/xl/") if target else ""
    return ""


def _write_settings(parts: Parts, sheet_data: str) -> None:
    if part := _settings_part(parts):
        _substitute(parts, part, r"<dimension [^>]*/>", "")  # it may have more rows now
        _substitute(parts, part, r"<sheetData/>|<sheetData>.*?</sheetData>", sheet_data)
        return
    part = _free(r"xl/worksheets/sheet{}.xml", parts)
    identity = _free('Id="rId{}"', [parts[_RELATIONS].decode()])[4:-1]
    numbers = [int(n) for n in re.findall(r'sheetId="(\d+)"', parts[_WORKBOOK].decode())]
    parts[part] = (
        '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        f'<worksheet xmlns="{_MAIN}"><cols><col min="1" max="2" width="40" customWidth="1"/></cols>'
        f"{sheet_data}</worksheet>"
    ).encode()
    _substitute(
        parts, _TYPES, "</Types>",
        f'<Override PartName="/{part}" ContentType="{_CONTENT}.worksheet+xml"/></Types>',
    )  # fmt: skip
    _substitute(
        parts, _RELATIONS, "</Relationships>",
        f'<Relationship Id="{identity}" Type="{_OFFICE}/worksheet"'
        f' Target="{part.removeprefix("xl/")}"/></Relationships>',
    )  # fmt: skip
    _substitute(
        parts, _WORKBOOK, "</sheets>",
        f'<sheet name="{SHEET}" sheetId="{max(numbers, default=0) + 1}" state="hidden"'
        f' r:id="{identity}" xmlns:r="{_OFFICE}"/></sheets>',
    )  # fmt: skip


def _free(pattern: str, taken: Parts | list[str]) -> str:
    """The first numbered name that does not occur yet."""
    number = 1
    while any(pattern.format(number) in text for text in taken):
        number += 1
    return pattern.format(number)


def _write_wizard_texts(parts: Parts) -> None:
    """Categories and argument help. A workbook with categories of its own keeps those."""
    if b"<functionGroups" not in parts[_WORKBOOK]:
        _substitute(parts, _WORKBOOK, "</sheets>", f"</sheets>{function_groups_xml()}")
    text = parts[_WORKBOOK].decode("utf-8")
    known = functions()
    others = [
        entry[0]
        for entry in re.finditer(r"<x14:definedName .*?</x14:definedName>", text, re.DOTALL)
        if re.search(r'name="([^"]*)"', entry[0])[1] not in known  # type: ignore[index]
    ]
    ours = argument_help_xml().replace(
        "</x14:definedNames>", f"{''.join(others)}</x14:definedNames>"
    )
    if _substitute(parts, _WORKBOOK, r"<ext [^>]*\{8193D73E-.*?</ext>", ours):
        return
    if not _substitute(parts, _WORKBOOK, r"</extLst>\s*</workbook>", f"{ours}</extLst></workbook>"):
        extended = f"<extLst>{ours}</extLst></workbook>"
        _substitute(parts, _WORKBOOK, "</workbook>", extended)
