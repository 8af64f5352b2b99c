"""Every worksheet function in a real LibreOffice Calc gives what it gives in Python."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.cell import coordinate_from_string, get_column_letter

from tests.hosts.libreoffice.cases import (
    Case,
    arguments_of,
    base_arguments,
    cases,
    published_checks,
    write,
)
from xlfuncs.catalogue.registry import functions
from xlfuncs.errors import CellError
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.units import DIMENSIONS

pytestmark = pytest.mark.libreoffice

Rows = list[list[Any]]


def rows_at(cells: dict[str, Any], place: str, like: Any) -> Rows:
    """The cells from `place` on, as many as `like` has; an empty one is ""."""
    _, row = coordinate_from_string(place)
    height, width = (len(like), len(like[0])) if isinstance(like, list) else (1, 1)
    return [
        [cells.get(f"{get_column_letter(c)}{r}", "") for c in range(1, width + 1)]
        for r in range(row, row + height)
    ]


def same(got: Any, wanted: Any) -> bool:
    if isinstance(wanted, bool | int | float) and isinstance(got, float):
        return math.isclose(got, wanted, rel_tol=1e-9, abs_tol=1e-12)
    return bool(got == wanted)


def computed(office: Office, path: Path, calls: list[Case]) -> list[Rows]:
    places = write(path, calls)
    cells = office.values(path)["Results"]
    return [
        rows_at(cells, place, case.in_python) for place, case in zip(places, calls, strict=True)
    ]


@pytest.fixture(scope="module")
def in_calc(
    office: Office, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, list[tuple[Case, Rows]]]:
    """Every call with what Calc gave, by function; all in one workbook."""
    calls = cases()
    path = tmp_path_factory.mktemp("calls") / "calls.xlsx"
    found: dict[str, list[tuple[Case, Rows]]] = {name: [] for name in functions()}
    for call, rows in zip(calls, computed(office, path, calls), strict=True):
        found[call.function].append((call, rows))
    return found


def test_every_function_is_called() -> None:
    assert set(functions()) - set(base_arguments()) == set()


@pytest.mark.parametrize("name", sorted(functions()))
def test_function_gives_in_calc_what_it_gives_in_python(
    name: str, in_calc: dict[str, list[tuple[Case, Rows]]]
) -> None:
    assert in_calc[name]
    words = all(DIMENSIONS[r.dimension].kind == "text" for r in functions()[name].results)
    for case, got in in_calc[name]:
        wanted = case.in_python if isinstance(case.in_python, list) else [[case.in_python]]
        if words and isinstance(case.in_python, CellError) and not case.error_in:
            wanted = [[CellError.VALUE]]  # documented: words come without the kind of error
        assert all(
            same(g, w)
            for got_row, row in zip(got, wanted, strict=True)
            for g, w in zip(got_row, row, strict=True)
        ), (case.words, case.args, got, wanted)


def test_published_values_in_calc(office: Office, tmp_path: Path) -> None:
    """The printed result of every published check, from a cell; the sources are in the checks."""
    checks = list(published_checks())
    calls = [Case(c["function"], c["place"], tuple(arguments_of(c))) for c in checks]
    for check, rows in zip(checks, computed(office, tmp_path / "p.xlsx", calls), strict=True):
        results = [result.name for result in functions()[check["function"]].results]
        column = results.index(check["column"]) if "column" in check else 0
        got = [row[column] for row in rows]
        got = [got[check["row"]]] if "row" in check else got
        wanted = check["right"] if "known_error" in check else check["printed"]
        wanted = wanted if isinstance(wanted, list) else [wanted]
        assert len(got) == len(wanted), check["place"]
        for g, w in zip(got, wanted, strict=True):
            if isinstance(w, str):
                assert g == w, check["place"]
            else:
                assert g == pytest.approx(w, rel=0, abs=check["tolerance"]), check["place"]


def in_sheet(office: Office, path: Path, cells: dict[str, Any]) -> dict[str, Any]:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for place, value in cells.items():
        sheet[place] = value
    book.save(path)
    return office.values(path)["Sheet"]


def test_errors_are_real_errors(office: Office, tmp_path: Path) -> None:
    """What a spreadsheet does with its own errors it does with ours: none is text or a number."""
    got = in_sheet(
        office,
        tmp_path / "errors.xlsx",
        {
            "A1": "=BED_AREA(10,30)",
            "A2": "=BED_AREA(-1,30)",
            "A3": "=APPLICATION_RATE(6,0)",
            "A4": '=BED_AREA("3 psi",30)',
            "B1": "=SUM(A1:A2)",
            "B2": '=IFERROR(A2,"caught")',
            "B3": '=IFERROR(BED_AREA(-1,30),"caught")',
            "B4": "=ISNUMBER(A2)+ISTEXT(A2)",
            "B5": "=ERROR.TYPE(A2)",
            "B6": "=ERROR.TYPE(A3)",
            "B7": "=ERROR.TYPE(A4)",
            "B8": "=ISERROR(BED_AREA(-1,30))",
            "B9": "=A2+1",
            "B10": "=COUNT(A1:A4)",
            "B11": "=_xlfn.AGGREGATE(9,6,A1:A4)",
        },
    )
    assert got["A2"] is CellError.NUMBER
    assert got["A3"] is CellError.DIVISION
    assert got["A4"] is CellError.VALUE
    assert got["B1"] is CellError.NUMBER
    assert (got["B2"], got["B3"]) == ("caught", "caught")
    assert got["B4"] == 0
    # OpenDocument Format 1.3 part 4, ERROR.TYPE: #VALUE! 3, #DIV/0! 2, #NUM! 6
    assert [got[f"B{i}"] for i in (5, 6, 7)] == [6, 2, 3]
    assert got["B8"] == 1
    assert got["B9"] is CellError.NUMBER
    assert got["B10"] == 1
    assert got["B11"] == got["A1"]


def test_words_are_text_like_any_other(office: Office, tmp_path: Path) -> None:
    """Calc finds text that came among numbers equal to nothing; words must not come that way."""
    check = 'INPUT_CHECK("BED_AREA",10,30)'
    got = in_sheet(
        office,
        tmp_path / "words.xlsx",
        {
            "A1": f"={check}",
            "B1": '=A1="ok"',
            "B2": f'={check}="ok"',
            "B3": '=COUNTIF(A1:A1,"ok")',
            "B4": '=MATCH("ok",A1:A1,0)',
            "B5": f'=IF({check}<>"ok","wrong","fine")',
            "B6": f"=LEN({check})",
        },
    )
    assert [got[f"B{i}"] for i in range(1, 7)] == [1, 1, 1, 1, "fine", 2]


def test_what_calc_itself_decides(office: Office, tmp_path: Path) -> None:
    """The limits that the documentation names: they are Calc's, and no function can change them."""
    got = in_sheet(
        office,
        tmp_path / "limits.xlsx",
        {
            "A1": 10, "A2": "=NA()", "A4": 20,
            "B1": "=BED_AREA(Z99,30)",
            "B2": '=IF(Z99="","",BED_AREA(Z99,30))',
            "B3": "=SUM(BED_AREA(A1:A2,30))",
            "B4": "=SUM(BED_AREA(A3:A4,30))",
            "B5": "=BED_AREA(A2,30)",
            "B6": '=BED_AREA("",30)',
            "B7": '=B6=""',
            "B8": "=LEN(B6)",
            "B9": "=SUM(B6,B4)",
            "B10": '=IF(B6&""="","blank","")',
        },
    )  # fmt: skip
    assert got["B1"] == 0  # a reference to one empty cell arrives as 0
    assert "B2" not in got  # so a formula that must stay blank asks first
    assert isinstance(got["B3"], CellError)  # a range with an error fails as a whole
    assert got["B4"] == pytest.approx(20 * 30 / 12)  # an empty cell of a range is a blank
    assert got["B5"] is CellError.NOT_AVAILABLE
    # A blank result looks blank and counts as nothing, but "" finds it only through &"" or LEN.
    assert "B6" not in got
    assert (got["B7"], got["B8"], got["B9"]) == (0, 0, got["B4"])
    assert got["B10"] == "blank"


def test_names_survive_saving_as_xlsx(office: Office, tmp_path: Path) -> None:
    path, saved = tmp_path / "names.xlsx", tmp_path / "saved.xlsx"
    in_sheet(office, path, {f"A{i}": f"={name}()" for i, name in enumerate(functions(), 1)})
    office.save(path, saved, "Calc MS Excel 2007 XML")
    sheet = openpyxl.load_workbook(saved).active
    assert sheet is not None
    written = [sheet.cell(i, 1).value for i in range(1, len(functions()) + 1)]
    assert written == [f"={name}()" for name in functions()]


def test_names_survive_saving_as_ods(office: Office, tmp_path: Path) -> None:
    path, saved = tmp_path / "names.xlsx", tmp_path / "saved.ods"
    before = in_sheet(office, path, {"A1": "=BED_AREA(10,30)", "A2": '=BED_AREA("2 m",30)'})
    office.save(path, saved, "calc8")
    assert office.values(saved)["Sheet"] == before
