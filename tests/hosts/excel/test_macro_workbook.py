"""Workbooks with the functions in them, held against oletools, the standards and a file that
Excel itself saved (the xlwings package ships one)."""

from __future__ import annotations

import io
import re
import sys
import warnings
import zipfile
from importlib.resources import files
from pathlib import Path, PureWindowsPath
from typing import Any
from xml.etree import ElementTree

import olefile
import openpyxl
import pytest
import xlsxwriter
import xlwings
from pyopenvba import ExcelFile
from pyopenvba.integrity import check_file

from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import WorkbookError
from xlfuncs.hosts.excel.macro_workbook import add_functions
from xlfuncs.hosts.excel.wrapper import (
    LIBRARY,
    MODULE_NAME,
    PYTHON,
    library_folder,
    reach_python,
    read_settings,
    vba_module,
)

MAIN = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
X14 = "{http://schemas.microsoft.com/office/spreadsheetml/2009/9/main}"
INTERPRETER = r"C:\Users\Jörg & Söhne\my farm\Scripts\python.exe"
SAVED_BY_EXCEL = str(files("xlwings").joinpath("quickstart.xlsm"))


def _plain_workbook(path: Path) -> Path:
    """What a person, or the template, may bring: tables, charts, names, letters of many kinds."""
    book = xlsxwriter.Workbook(str(path), {"calc_on_load": False})
    sheet = book.add_worksheet("Beete & Schläuche")
    sheet.write_row("A1", ["Length", "Width", "Area"])
    sheet.write_row("A2", [48, 30])
    sheet.write_formula("C2", "=BED_AREA(A2,B2)", None, 120)
    sheet.write_dynamic_array_formula("E2:E4", "=LINE_OFFSETS(30,3)", None, 5)
    sheet.add_table("A1:C2", {"name": "Beds", "columns": [{"header": h} for h in "LWA"]})
    book.define_name("units", '="us"')
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": ["Beete & Schläuche", 1, 0, 1, 1]})
    book.add_chartsheet("Chart").set_chart(chart)
    book.close()
    return path


@pytest.fixture
def workbook(tmp_path: Path) -> Path:
    folder = tmp_path / "Höfe mit Leerzeichen"
    folder.mkdir()
    return add_functions(_plain_workbook(folder / "mein Plan ü.xlsm"), INTERPRETER)


def _parts(path: Path | str) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as package:
        assert package.testzip() is None
        assert len(set(package.namelist())) == len(package.namelist())
        return {name: package.read(name) for name in package.namelist()}


def _listed(path: Path) -> dict[str, str]:
    """The VBA modules as olevba lists them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # oletools uses old names of pyparsing
        from oletools.olevba import VBA_Parser
    parser = VBA_Parser(str(path))
    try:
        found = {name: code for _, _, name, code in parser.extract_macros()}
    finally:
        parser.close()
    return {name.rsplit(".", 1)[0]: code.replace("\r\n", "\n") for name, code in found.items()}


def test_olevba_lists_the_very_text_that_was_made(workbook: Path) -> None:
    listed = _listed(workbook)
    ours = listed[MODULE_NAME]
    assert ours.splitlines() == vba_module().splitlines()
    standard = set(listed) - {"ThisWorkbook", "Sheet1", "Chart2", "Sheet3"}
    assert standard == {MODULE_NAME}
    for name in functions():
        assert f"Public Function {name}(" in ours


# What olevba says about any use of a library, and of a file name that ends in .dll: of
# xlwings64-0.37.8.dll it sees what follows the last but one point.
DECLARED = {("Suspicious", "Lib"), ("IOC", xlwings.__version__.rsplit(".", 1)[-1] + ".dll")}


def test_a_virus_scanner_finds_the_use_of_the_library_and_nothing_else() -> None:
    """The functions themselves are one line each; olevba would stumble over words in their help."""
    from oletools.olevba import VBA_Scanner

    found = {(kind, word) for kind, word, _ in VBA_Scanner(reach_python()).scan()}
    assert found == DECLARED


def test_what_is_vba_beside_the_functions_is_short() -> None:
    assert len(reach_python().splitlines()) <= 400
    assert not re.search(r"(?i)\b(dir|open|shell|kill|createobject)\b", reach_python())


def test_nothing_else_is_changed(tmp_path: Path) -> None:
    plain = _plain_workbook(tmp_path / "plan.xlsx")
    before, after = _parts(plain), _parts(add_functions(plain, INTERPRETER))
    touched = {"[Content_Types].xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels"}
    for name, content in before.items():
        text = after[name]
        if name.startswith(("xl/worksheets/sheet", "xl/chartsheets/")):
            # VBA finds a sheet by its code name
            text = re.sub(rb' ?codeName="\w+"', b"", text).replace(b"<sheetPr/>", b"")
            content = content.replace(b"<sheetPr/>", b"")
        assert name in touched or text == content, name
    assert set(after) - set(before) == {"xl/vbaProject.bin", "xl/worksheets/sheet2.xml"}
    assert plain.exists()


def test_the_computed_values_and_dynamic_arrays_are_still_there(workbook: Path) -> None:
    sheet = openpyxl.load_workbook(workbook, data_only=True)["Beete & Schläuche"]
    assert sheet["C2"].value == 120
    parts = _parts(workbook)
    assert b"<f>BED_AREA(A2,B2)</f>" in parts["xl/worksheets/sheet1.xml"]
    assert b'cm="1"' in parts["xl/worksheets/sheet1.xml"]
    assert b"XLDAPR" in parts["xl/metadata.xml"]


def test_the_interpreter_is_named_in_a_hidden_sheet(workbook: Path) -> None:
    folder = str(PureWindowsPath(INTERPRETER).parents[1])  # pip puts libraries beside Scripts
    assert read_settings(workbook) == {PYTHON: INTERPRETER, LIBRARY: folder}
    book = openpyxl.load_workbook(workbook)
    assert book["xlfuncs"].sheet_state == "hidden"
    assert book.sheetnames == ["Beete & Schläuche", "Chart", "xlfuncs"]
    # where the module looks: Range("A1:B2")
    assert [[c.value for c in row] for row in book["xlfuncs"]["A1:B2"]] == [
        [PYTHON, INTERPRETER],
        [LIBRARY, folder],
    ]


def test_opening_starts_python_by_a_volatile_cell(workbook: Path) -> None:
    """Excel computes formulas with NOW whenever a workbook is opened."""
    formula = openpyxl.load_workbook(workbook)["xlfuncs"]["B5"].value
    assert formula == '=IF(NOW()>0,INPUT_CHECK("BED_AREA",1,1),"")'
    assert openpyxl.load_workbook(workbook, data_only=True)["xlfuncs"]["B5"].value == "ok"


@pytest.mark.parametrize(("python", "folder"), [
    (r"C:\farm\Scripts\python.exe", r"C:\farm"),
    (r"C:\Python311\python.exe", r"C:\Python311"),
    (r"\\server\shared folder\scripts\python.exe", "\\\\server\\shared folder\\"),
])  # fmt: skip
def test_the_library_is_where_pip_puts_it(python: str, folder: str) -> None:
    assert library_folder(python) == folder


def test_the_module_asks_for_the_library_of_the_installed_xlwings() -> None:
    import xlwings

    for bits in (64, 32):
        assert reach_python().count(f'Lib "xlwings{bits}-{xlwings.__version__}.dll"') == 1


# --- against the standards and Excel -------------------------------------------------------------

# ISO/IEC 29500-1 section 18.2.27, CT_Workbook: its children come in this order.
WORKBOOK_ORDER = """
fileVersion fileSharing workbookPr workbookProtection bookViews sheets functionGroups
externalReferences definedNames calcPr oleSize customWorkbookViews pivotCaches smartTagPr
smartTagTypes webPublishing fileRecoveryPr webPublishObjects extLst
"""


def test_workbook_xml_keeps_the_order_of_the_standard(workbook: Path) -> None:
    root = ElementTree.fromstring(_parts(workbook)["xl/workbook.xml"])
    order = WORKBOOK_ORDER.split()
    places = [order.index(child.tag.removeprefix(MAIN)) for child in root]
    assert places == sorted(places)


def test_wizard_texts_follow_the_specification(workbook: Path) -> None:
    """[MS-OFFMACRO2] 2.2.3.2: unique names, each of a VBA macro; `count` counts the children."""
    root = ElementTree.fromstring(_parts(workbook)["xl/workbook.xml"])
    ext = root.find(f"{MAIN}extLst/{MAIN}ext")
    assert ext is not None
    assert ext.get("uri") == "{8193D73E-4604-4355-AFF4-8A2333D13BE4}"
    names = ext.findall(f"{X14}definedNames/{X14}definedName")
    assert [n.get("name") for n in names] == list(functions())
    for name in names:
        (group,) = name
        helps = [a.help for a in functions()[str(name.get("name"))].args]
        assert [int(str(c.get("index"))) for c in group] == list(range(len(helps)))
        assert int(str(group.get("count"))) == len(helps)
        assert [c.text for c in group] == helps


def _attributes(part: bytes, tag: str) -> list[dict[str, str]]:
    return [dict(e.attrib) for e in ElementTree.fromstring(part).iter() if e.tag.endswith(tag)]


def test_the_package_is_put_together_as_excel_does(workbook: Path) -> None:
    ours, excels = _parts(workbook), _parts(SAVED_BY_EXCEL)

    def types(parts: dict[str, bytes]) -> tuple[Any, Any]:
        found = _attributes(parts["[Content_Types].xml"], "Override")
        defaults = _attributes(parts["[Content_Types].xml"], "Default")
        main = next(t["ContentType"] for t in found if t["PartName"] == "/xl/workbook.xml")
        return main, next(t["ContentType"] for t in defaults if t["Extension"] == "bin")

    def relation(parts: dict[str, bytes]) -> list[tuple[str, str]]:
        relations = _attributes(parts["xl/_rels/workbook.xml.rels"], "Relationship")
        return [(r["Type"], r["Target"]) for r in relations if "vbaProject" in r["Target"]]

    assert types(ours) == types(excels)
    assert relation(ours) == relation(excels)
    assert len(relation(ours)) == 1


def _vba(parts: dict[str, bytes]) -> tuple[dict[str, list[str]], set[str]]:
    """The PROJECT stream as {keyword: values}, and the streams of the project."""
    with olefile.OleFileIO(io.BytesIO(parts["xl/vbaProject.bin"])) as ole:
        lines = ole.openstream("PROJECT").read().decode("cp1252").splitlines()
        streams = {"/".join(path) for path in ole.listdir()}
    found: dict[str, list[str]] = {}
    for line in lines[: lines.index("[Workspace]")]:
        keyword, _, value = line.partition("=")
        found.setdefault(keyword, []).append(value)
    return found, streams


def test_the_vba_project_is_put_together_as_excel_does(workbook: Path) -> None:
    ours, excels = _parts(workbook), _parts(SAVED_BY_EXCEL)
    (our_project, our_streams), (excel_project, excel_streams) = _vba(ours), _vba(excels)
    assert set(excel_project) - set(our_project) == set()
    assert our_project["Name"] == excel_project["Name"] == ['"VBAProject"']
    fixed = {s for s in excel_streams if s.count("/") == 0 or s.startswith(("VBA/_", "VBA/dir"))}
    assert fixed <= our_streams
    for parts, project, streams in (
        (ours, our_project, our_streams),
        (excels, excel_project, excel_streams),
    ):
        # every sheet and the workbook has its module, under its code name, and nothing besides
        documents = {value.split("/")[0] for value in project["Document"]}
        sheets = [n for n in parts if re.match(r"xl/(work|chart)sheets/sheet\d+\.xml", n)]
        codes = [_attributes(parts[n], "sheetPr")[0]["codeName"] for n in sheets]
        codes += [a["codeName"] for a in _attributes(parts["xl/workbook.xml"], MAIN + "workbookPr")]
        assert sorted(codes) == sorted(documents)
        modules = documents | set(project["Module"]) | set(project.get("Class", []))
        assert {s.removeprefix("VBA/") for s in streams - fixed} == modules


def test_a_checker_of_office_packages_finds_no_fault(workbook: Path) -> None:
    report = check_file(workbook)
    assert report.ok
    assert report.issues == ()


# --- workbooks of one's own, and after an update -------------------------------------------------


def test_a_workbook_saved_by_excel_with_its_own_macros_keeps_them(tmp_path: Path) -> None:
    path = tmp_path / "own.xlsm"
    path.write_bytes(Path(SAVED_BY_EXCEL).read_bytes())
    before = _listed(path)
    after = _listed(add_functions(path, INTERPRETER))
    assert before.items() <= after.items()
    assert MODULE_NAME in after
    assert read_settings(path)[PYTHON] == INTERPRETER
    assert check_file(path).ok


def test_adding_again_changes_nothing(workbook: Path) -> None:
    before = _parts(workbook)
    assert add_functions(workbook, INTERPRETER) == workbook
    assert _parts(workbook) == before


def test_adding_again_renews_what_is_old(workbook: Path) -> None:
    with ExcelFile(workbook) as book:
        book.set_module(MODULE_NAME, "Public Function BED_AREA(a)\r\nEnd Function\r\n")
        book.save()
    add_functions(workbook, r"D:\other\python.exe")
    assert _listed(workbook)[MODULE_NAME].splitlines() == vba_module().splitlines()
    assert read_settings(workbook)[PYTHON] == r"D:\other\python.exe"
    root = ElementTree.fromstring(_parts(workbook)["xl/workbook.xml"])
    assert len(root.findall(f"{MAIN}sheets/{MAIN}sheet")) == 3
    assert len(root.findall(f"{MAIN}functionGroups")) == 1
    assert len(list(root.iter(f"{X14}definedName"))) == len(functions())


def test_a_workbook_of_before_is_renewed(tmp_path: Path) -> None:
    """Once xlwings' own module and sheet reached Python; a person may use them too."""
    book = openpyxl.Workbook()
    book.create_sheet("xlwings.conf")
    for row in (("Interpreter_Win", r"C:\old\python.exe"), ("Show Console", "True")):
        book["xlwings.conf"].append(row)
    book.save(tmp_path / "own.xlsx")
    path = add_functions(tmp_path / "own.xlsx", "")
    assert read_settings(path)[PYTHON] == r"C:\old\python.exe"
    assert openpyxl.load_workbook(path)["xlwings.conf"]["B2"].value == "True"
    for own, kept in (("", False), ("Own", True)):
        with ExcelFile(path) as excel:
            excel.set_module(MODULE_NAME, "Function A()\r\nA = XLPy.CallUDF(1)\r\nEnd Function\r\n")
            for name in filter(None, ("xlwings", "Dictionary", own)):
                if name not in excel.module_names():
                    excel.vba_project().add_module(name, "Sub B()\r\nEnd Sub\r\n")
            excel.save()
        add_functions(path, "")
        assert ("xlwings" in _listed(path)) == kept
        assert ("Dictionary" in _listed(path)) == kept


def test_without_a_windows_python_the_named_one_stays(workbook: Path) -> None:
    add_functions(workbook, "")
    assert read_settings(workbook)[PYTHON] == INTERPRETER


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("plan.ods", b"", "needs an .xlsx or .xlsm"),
        ("plan.xlsm", b"not a zip", "not a readable zip package"),
        ("plan.xlsx", b"PK\x05\x06" + bytes(18), "[Content_Types].xml is missing"),
    ],
)
def test_what_cannot_take_them_is_left_alone(
    tmp_path: Path, name: str, content: bytes, words: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(WorkbookError, match=re.escape(words)):
        add_functions(path)
    assert [p.name for p in tmp_path.iterdir()] == [name]
    assert path.read_bytes() == content


def test_an_xlsm_beside_the_xlsx_is_not_overwritten(tmp_path: Path) -> None:
    plain = _plain_workbook(tmp_path / "plan.xlsx")
    add_functions(plain, INTERPRETER)
    with pytest.raises(WorkbookError, match=r"plan\.xlsm exists already"):
        add_functions(plain, INTERPRETER)


def test_a_failure_half_way_leaves_the_old_file(
    workbook: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = workbook.read_bytes()

    def fail(*args: object) -> None:
        raise PermissionError(13, "in use by another program")

    monkeypatch.setattr("xlfuncs.xlsx.saving.os.replace", fail)
    with pytest.raises(WorkbookError, match=r"in use by another program.*is it open in a program"):
        add_functions(workbook, INTERPRETER)
    assert workbook.read_bytes() == before
    assert len(list(workbook.parent.iterdir())) == 1


def test_a_workbook_that_is_open_is_left_alone(workbook: Path) -> None:
    """Excel keeps a file whose name begins with ~$ beside a workbook that it holds."""
    before = workbook.read_bytes()
    workbook.with_name(f"~${workbook.name}").write_bytes(b"")
    with pytest.raises(WorkbookError, match="Close it first"):
        add_functions(workbook, INTERPRETER)
    assert workbook.read_bytes() == before


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")
def test_who_may_read_the_file_stays(workbook: Path) -> None:
    workbook.chmod(0o640)
    add_functions(workbook, r"D:\other\python.exe")
    assert workbook.stat().st_mode & 0o777 == 0o640


def test_a_part_that_would_unpack_without_bound_is_refused(tmp_path: Path) -> None:
    path = _plain_workbook(tmp_path / "plan.xlsm")
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/media/image1.png", bytes(20 * 2**20))
    with pytest.raises(WorkbookError, match="zip bomb"):
        add_functions(path, INTERPRETER)


@pytest.mark.parametrize(("old", "new"), [
    (b"<workbook ", b'<x:workbook xmlns:x="x" '),  # as some libraries write all elements
    (b"http://schemas.openxmlformats.org/spreadsheetml/2006/main",
     b"http://purl.oclc.org/ooxml/spreadsheetml/main"),
])  # fmt: skip
def test_an_unusual_workbook_is_refused_in_words(tmp_path: Path, old: bytes, new: bytes) -> None:
    path = _plain_workbook(tmp_path / "plan.xlsm")
    parts = _parts(path)
    parts["xl/workbook.xml"] = (
        parts["xl/workbook.xml"]
        .replace(old, new)
        .replace(b"</workbook>", b"</x:workbook>" if b"x:" in new else b"</workbook>")
    )
    with zipfile.ZipFile(path, "w") as package:
        for name, content in parts.items():
            package.writestr(name, content)
    before = path.read_bytes()
    with pytest.raises(WorkbookError, match="save it once in a spreadsheet program"):
        add_functions(path, INTERPRETER)
    assert path.read_bytes() == before


def test_no_warning_is_raised_on_the_way(tmp_path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        add_functions(_plain_workbook(tmp_path / "plan.xlsm"), INTERPRETER)
