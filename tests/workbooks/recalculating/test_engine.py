"""What the engine hands to worksheet functions, what it makes of the answers, what it refuses."""

from __future__ import annotations

import gc
import io
import re
import weakref
from datetime import datetime
from typing import Any

import pytest
import xlsxwriter

from tests.workbooks.conftest import repacked, workbook
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.workbooks.recalculating.collecting import AT_MOST, collection_put_off
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package


def results(cells: dict[str, object], functions: dict[str, Any], **others: Any) -> Any:
    sheets = {"Data": cells, **others.pop("sheets", {})}
    return evaluate(workbook(sheets, others.pop("names", None)), functions, **others)


def test_a_function_gets_numbers_text_blanks_and_errors_as_cell_values() -> None:
    got: list[Any] = []
    cells = {
        "A1": 3, "A2": "bean", "A3": True, "A4": "=1/0", "A6": datetime(2026, 1, 2),
        "B1": "=KEEP(A1,A2,A3,A4,A5,A6)", "B2": "=KEEP(A1:A5)", "B3": '=KEEP(1,,"x")',
    }  # fmt: skip
    results(cells, {"KEEP": lambda a: got.append(a) or 1.0})
    in_order = sorted(got, key=len)
    assert in_order[0] == [[[3.0], ["bean"], [True], [CellError.DIVISION], [None]]]
    assert in_order[1] == [1.0, None, "x"]
    assert in_order[2] == [3.0, "bean", True, CellError.DIVISION, None, 46024.0]
    assert in_order[2][2] is True


def test_a_range_of_typed_cells_alone_is_what_the_engine_would_hand_over() -> None:
    """One formula among the cells, and the range goes through the engine."""
    typed = {
        "A1": "Bed", "B1": "Length", "A2": "bean", "B2": 3, "A3": True, "B3": "3", "B4": -0.5,
        "A5": datetime(2026, 1, 2), "B6": " ", "A6": 1e300,
    }  # fmt: skip
    for computed in ({}, {"C6": "=1+0"}, {"B4": "=-0.5"}):
        got: list[Any] = []
        calls = {"E1": "=SEE(A1:C6)", "E2": "=SEE(IF(B2>1,A1:C6))", "E3": "=SEE(LATER)",
                 "E4": "=INDEX(LATER,2)", "E5": "=SUM(B2:B4)", "E6": "=SEE(A2:A3,1)"}  # fmt: skip
        names = {"LATER": "Data!$A$1:$C$6"}
        found = results(typed | {"C6": 1.0} | computed | calls,
                        {"SEE": lambda a, got=got: got.append(a) or 1.0}, names=names)  # fmt: skip
        rows = [["Bed", "Length", None], ["bean", 3.0, None], [True, "3", None],
                [None, -0.5, None], [46024.0, None, None], [1e300, " ", 1.0]]  # fmt: skip
        assert [a for a in got if len(a) == 1] == [[rows]] * len([a for a in got if len(a) == 1])
        assert [[["bean"], [True]], 1.0] in got
        assert found.values["Data"][5, 5] == 2.5


@pytest.mark.parametrize("error", list(CellError)[:4])
def test_an_error_of_a_function_is_a_real_error_for_other_formulas(error: CellError) -> None:
    cells = {"A1": "=FAIL()", "B1": "=ISERROR(A1)", "C1": '=IFERROR(A1,"caught")', "D1": "=SUM(A1)"}
    values = results(cells, {"FAIL": lambda _: error}).values["Data"]
    assert values[1, 1] is error
    assert values[1, 2] is True
    assert values[1, 3] == "caught"
    assert values[1, 4] is error


def test_what_a_function_raises_or_gives_beyond_numbers_becomes_an_error_with_a_note() -> None:
    def bad_input(_: list[Any]) -> float:
        raise InputError("length", "is negative")

    def broken(_: list[Any]) -> float:
        raise RuntimeError("a mistake of ours")

    cells = {"A1": "=BAD()", "A2": "=BROKEN()", "A3": "=NOTANUMBER()"}
    found = results(
        cells, {"BAD": bad_input, "BROKEN": broken, "NOTANUMBER": lambda _: float("nan")}
    )
    assert found.values["Data"] == {
        (1, 1): CellError.NUMBER,
        (2, 1): CellError.VALUE,
        (3, 1): CellError.NUMBER,
    }
    assert found.failures == ["BROKEN failed: RuntimeError: a mistake of ours"]


def test_a_many_column_result_that_many_cells_read_is_computed_once() -> None:
    calls = []

    def squares(arguments: list[Any]) -> list[list[float]]:
        calls.append(1)
        return [[row[0], row[0] ** 2] for row in arguments[0]]

    cells: dict[str, object] = {f"A{row}": row for row in range(1, 51)}
    for row in range(1, 51):
        cells[f"B{row}"] = f"=INDEX(SQUARES($A$1:$A$50),{row},2)"
    cells["C1"] = "=INDEX(SQUARES(A1:A50),51,1)"
    cells["C2"] = "=INDEX(SQUARES(A1:A50),2,3)"
    cells["C3"] = '=IFERROR(INDEX(SQUARES(A1:A50),99,1),"none")'
    cells["C4"] = "=SUM(INDEX(SQUARES(A1:A50),0,2))"
    values = results(cells, {"SQUARES": squares}).values["Data"]
    assert [values[row, 2] for row in range(1, 51)] == [row**2 for row in range(1, 51)]
    assert values[1, 3] is values[2, 3] is CellError.REFERENCE
    assert values[3, 3] == "none"
    assert values[4, 3] == sum(row**2 for row in range(1, 51))
    assert len(calls) == 1


def test_a_whole_result_that_an_if_keeps_from_is_not_computed() -> None:
    """What a formula guards against may take minutes."""
    calls = []

    def slow(arguments: list[Any]) -> list[list[float]]:
        calls.append(arguments)
        return [[1.0, 2.0]]

    cells = {
        "A1": 500,
        "B1": '=IF(A1>60,"too many",INDEX(SLOW(A1),1,2))',
        "B2": "=INDEX(SLOW(),1,2)",
    }
    values = results(cells, {"SLOW": slow}).values["Data"]
    assert values[1, 2] == "too many"
    assert values[2, 2] == 2
    assert calls == [[]]


@pytest.mark.parametrize(
    "formula", ["=BED_AREA(A1,30)", '=IF(1>0,"",INDEX(BED_AREA(A2:A3,30),2))', "=BED_AREA(48,30)"]
)
def test_what_an_evaluation_held_is_free_when_it_ends(formula: str) -> None:
    """After an error of a cell too, and where a whole result was never asked for."""
    contents = Contents(Package.open(workbook({"Data": {"A1": "=1/0", "B1": formula}})))
    held = weakref.ref(contents)
    gc.collect()
    gc.disable()  # else it is found in circles
    try:
        evaluate(contents, worksheet_callables())
        del contents
        assert held() is None
    finally:
        gc.enable()


def test_index_that_gives_several_values_in_a_plain_formula_is_refused() -> None:
    """Whether it does is asked for only where a position may be 0, left out, or in an array."""
    cells: dict[str, object] = {f"{column}{row}": row for column in "AB" for row in range(1, 6)}
    for row in range(1, 6):
        cells[f"D{row}"] = f"=INDEX($A$1:$A$5,ROW()-{2})"  # 0 in row 2: the whole column
    cells |= {"F1": "=INDEX(A1:A5,ROW()-0)", "F2": "=INDEX(A1:B5,2)", "F3": "=INDEX(A1:B5,2,)"}
    cells |= {"F4": "=INDEX(A1:A5,MATCH(4,B1:B5,0))", "F5": "=INDEX(A1:B5,5,2)"}
    found = results(cells, {})
    assert {cell.cell for cell in found.unevaluated} >= {"D2", "F3"}
    values = found.values["Data"]
    assert [values[row, 4] for row in (3, 4, 5)] == [1, 2, 3]
    assert [values[row, 6] for row in (1, 4, 5)] == [1, 4, 5]


def test_cells_above_are_counted_and_a_sheet_says_its_name() -> None:
    above = "COUNTA(A$1:INDEX(A:A,ROW()-1))"
    cells: dict[str, object] = {f"A{row}": row * 10 for row in (1, 2, 4, 5)}  # a blank row between
    cells |= {f"B{row}": f"={above}" for row in (2, 3, 5)}
    cells |= {f"C{row}": f"=INDEX($A$1:$A$5,{above})" for row in (2, 3)}
    cells["D1"] = '=MID(CELL("filename",A1),FIND("]",CELL("filename",A1))+1,31)'
    values = results(cells, {}).values["Data"]
    assert [values[row, 2] for row in (2, 3, 5)] == [1, 2, 3]
    assert [values[row, 3] for row in (2, 3)] == [10, 20]
    assert values[1, 4] == "Data"


def test_equal_calls_are_computed_once_and_true_is_not_one() -> None:
    got = []
    cells = {"A1": "=SHOW(1)", "A2": "=SHOW(1)", "A3": "=SHOW(TRUE)", "A4": '=SHOW("1")'}
    values = results(cells, {"SHOW": lambda a: got.append(a) or repr(a[0])}).values["Data"]
    assert [values[row, 1] for row in (1, 2, 3, 4)] == ["1.0", "1.0", "True", "'1'"]
    assert len(got) == 3


def test_defined_names_are_read_as_cells_ranges_constants_and_formulas() -> None:
    names = {
        "units": "Setup!$A$1", "lengths": "Data!$A$1:$A$3", "allowance": "0.05",
        "longest": "MAX(Data!$A$1:$A$3)", "moves": "Data!A1",
    }  # fmt: skip
    cells = {
        "A1": 10, "A2": 20, "A3": 30, "B1": '=units&"!"', "B2": "=SUM(lengths)*(1+allowance)",
        "B3": "=longest/2", "B4": "=moves", "B5": "=lengths",
    }  # fmt: skip
    found = results(cells, {}, names=names, sheets={"Setup": {"A1": "us"}})
    values = found.values["Data"]
    assert values[1, 2] == "us!"
    assert values[2, 2] == pytest.approx(63)
    assert values[3, 2] == 15
    assert [str(cell) for cell in found.unevaluated] == [
        "Data!B4: the name moves moves with its reader"
    ]
    assert values[5, 2] is CellError.VALUE  # row 5 is beside none of the cells of the name


def table_workbook() -> bytes:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Beds")
    other = book.add_worksheet("Other")
    columns = [
        {"header": "Length (ft)", "total_function": "sum"},
        {"header": "it's [odd]"},
        {"header": "Twice", "formula": "=TWICE([@[Length (ft)]])"},
    ]
    data = [[10, 1], [20, 2], [None, 3]]
    sheet.add_table("B3:D7", {"name": "Beds", "columns": columns, "data": data, "total_row": True})
    for row, formula in enumerate(
        [
            "=SUM(Beds[Length (ft)])",
            "=SUM(Beds[[Length (ft)]:[Twice]])",
            "=Beds[[#Headers],[Twice]]",
            "=Beds[[#Totals],[Length (ft)]]",
            "=COUNTA(Beds[#All])",
            "=SUM(Beds[it''s '[odd']])",
            "=ROWS(Beds)",
            "=SUMPRODUCT(Beds[Length (ft)]*(Beds[it''s '[odd']]>1))",
            "=Beds[Nothing]",
            "=Beds[[#This Row],[Twice]]",
        ]
    ):
        other.write_formula(row, 0, formula)
    book.close()
    return out.getvalue()


def test_table_references_mean_what_they_mean_in_a_spreadsheet() -> None:
    twice = {"TWICE": lambda a: 0.0 if a[0] is None else a[0] * 2}
    found = evaluate(table_workbook(), twice)
    assert [found.values["Beds"][row, 4] for row in (4, 5, 6)] == [20, 40, 0]
    values = [found.values["Other"].get((row, 1)) for row in range(1, 11)]
    assert values == [30, 96, "Twice", 30, 12, 6, 3, 20, None, None]
    assert [cell.reason for cell in found.unevaluated] == [
        "the table Beds has no column 'Nothing'",
        "#This Row of Beds from outside its rows",
    ]


@pytest.mark.parametrize(
    ("formula", "reason"),
    [
        ("=INDIRECT(\"A1\")", "only known while computing"),
        ("=OFFSET(A1,1,0)", "only known while computing"),
        ("=RAND()", "another number each time"),
        ("=NOSUCHFUNCTION(1)", "not among the functions"),
        ("=SUM(Data:Other!A1)", "across several sheets"),
        ("=[1]Sheet1!A1", "another workbook"),
        ("='[prices.xlsx]Sheet1'!A1", "another workbook"),
        ("=SUM(A1:A3*2)", "single value is expected"),
        ("=INDEX(A1:B3,0,0)", "several values"),
        ("=A9:INDEX(A1:A3,2)", "ends are only known"),
        ("=Nowhere!A1", "there is no sheet"),
        ("=SUM((A1,A2))", "joins several ranges"),
        ("=A1+C9", "circular"),
        ("=TEXT(A1,\"[h]:mm\")", "format that was not checked"),
        ("=B1*2", "as a number"),
        ("=INT(4.35*100)", "programs differ"),
    ],
)  # fmt: skip
def test_what_cannot_be_computed_is_listed_with_its_readers(formula: str, reason: str) -> None:
    cells = {
        "A1": 1, "A2": 2, "A3": 3, "B1": "1/2", "C9": formula, "D9": "=C9+1",
        "E9": '=IFERROR(SUM(C1:C20),"hidden")', "F9": "=A1+A2",
    }  # fmt: skip
    found = results(cells, {}, sheets={"Other": {"A1": 1}})
    assert found.values["Data"] == {(9, 6): 3.0}
    listed = {cell.cell: cell.reason for cell in found.unevaluated}
    assert reason in listed["C9"]
    assert listed.keys() == {"C9", "D9", "E9"}


def test_an_array_formula_fills_its_extent_and_no_more() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Data")
    sheet.write_column("A1", [1, 2, 3])
    sheet.write_array_formula("B1:B3", "{=A1:A3*2}")
    sheet.write_array_formula("C1:C4", "{=A1:A3+1}")
    sheet.write_array_formula("D1", "{=SUM(A1:A3*A1:A3)}")
    sheet.write_array_formula("E1:F2", "{=SHOUT(A1)}")
    sheet.write_formula("G1", "=SUM(B1:B3)")
    book.close()
    found = evaluate(out.getvalue(), {"SHOUT": lambda _: "hey"})
    values = found.values["Data"]
    assert [values[row, 2] for row in (1, 2, 3)] == [2, 4, 6]
    assert [values[row, 3] for row in (1, 2, 3, 4)] == [2, 3, 4, CellError.NOT_AVAILABLE]
    assert values[1, 4] == 14
    assert {values[r, c] for r in (1, 2) for c in (5, 6)} == {"hey"}
    assert values[1, 7] == 12


def test_a_spilling_formula_takes_the_size_of_its_result() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Data")
    sheet.write_column("A1", [1, 2, 3])
    sheet.write_dynamic_array_formula("B1", "=SQUARES(A1:A3)")
    sheet.write_formula("E1", "=SUM(C1:C3)")
    book.close()
    found = evaluate(out.getvalue(), {"SQUARES": lambda a: [[row[0], row[0] ** 2] for row in a[0]]})
    values = found.values["Data"]
    assert [[values[r, c] for c in (2, 3)] for r in (1, 2, 3)] == [[1, 1], [2, 4], [3, 9]]
    assert values[1, 5] == 14


def test_an_array_formula_reads_a_whole_result_by_arrays_of_positions() -> None:
    """INDEX, ROW and COLUMN as ISO/IEC 29500-1 section 18.17 has them: arrays, item by item."""
    block = "ROW($B$3:$B$6)-2+0*COLUMN($B$3:$C$3)>ROWS({0})"
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Data")
    sheet.write_column("A1", [1, 2, 3])
    call = "SQUARES(A1:A3)"
    found = f"INDEX({call},ROW($B$3:$B$6)-2,COLUMN($B$3:$C$3)-1)"
    sheet.write_dynamic_array_formula("B3:C6", f'=IF({block.format(call)},"",{found})')
    sheet.write_array_formula("E3:E6", "{=INDEX(SQUARES(A1:A3),ROW($B$3:$B$6)-2,2)}")
    sheet.write_dynamic_array_formula("G3:H6", f"=INDEX(BAD(A1),{found.partition(',')[2]}")
    book.close()
    functions = {
        "SQUARES": lambda a: [[row[0], row[0] ** 2] for row in a[0]],
        "BAD": lambda _: CellError.NUMBER,
    }
    values = evaluate(out.getvalue(), functions).values["Data"]
    rows = [[values[row, col] for col in (2, 3)] for row in range(3, 7)]
    assert rows == [[1, 1], [2, 4], [3, 9], ["", ""]]
    assert [values[row, 5] for row in range(3, 7)] == [1, 4, 9, CellError.REFERENCE]
    assert {values[row, col] for row in range(3, 7) for col in (7, 8)} == {CellError.NUMBER}


def test_a_plain_formula_takes_the_first_item_of_a_whole_result() -> None:
    cells = {"A1": 2, "A2": 3, "B1": "=SQUARES(A1:A2)", "B2": "=SQUARES(A2:A2)*2", "C1": 5}
    squares = {"SQUARES": lambda a: [[r[0], r[0] ** 2] for r in (a[0] if a[0] else [])]}
    found = results(cells, squares)
    assert found.values["Data"][1, 2] == 2
    assert not [cell for cell in found.unevaluated if cell.cell == "B1"]


def test_today_is_what_the_caller_says() -> None:
    found = results({"A1": "=TODAY()", "A2": "=YEAR(NOW())"}, {}, now=datetime(2026, 5, 4, 13, 0))
    assert found.values["Data"] == {(1, 1): 46146.0, (2, 1): 2026.0}


def test_shared_formulas_move_their_relative_references() -> None:
    def shared(name: str, part: bytes) -> bytes:
        if not name.endswith("sheet1.xml"):
            return part
        first = rb'<c r="B1"><f t="shared" ref="B1:B3" si="0">A1*$A$3</f></c>'
        part = re.sub(rb'<c r="B1".*?</c>', lambda _: first, part)
        part = re.sub(rb'<c r="(B[23])".*?</c>', rb'<c r="\1"><f t="shared" si="0"/></c>', part)
        assert part.count(b'si="0"') == 3
        return part

    cells = {"A1": 1, "A2": 2, "A3": 10, "B1": "=A1*$A$3", "B2": "=0", "B3": "=0"}
    found = evaluate(repacked(workbook({"Data": cells}), shared), {})
    assert found.values["Data"] == {(1, 2): 10.0, (2, 2): 20.0, (3, 2): 100.0}


@pytest.mark.parametrize("written", [
    "SUM(A$3:A{row})", "SUM(A$3:A{above})", "SUM(A{row}:A$6)", "COUNTIF($A$3:$A{row},A{row})",
    "MATCH(A{row},A$3:A{row},0)", "INDEX(A$3:A{row},2)", "SUMIF(A$3:A{row},1,A$3:A$9)",
    "SUMPRODUCT(A$3:A{row}*B$3:B{row})", "SUMPRODUCT(ROW(A$3:A{row}))", "ROW()-ROW(A$3:A{row})",
    "COUNTIFS(A$3:A{row},1,B$3:B{row},\">2\")", "SUM(A$3:B{row},A$6:A{row})", "ROWS(A$3:A{row})",
    "IF(A$3:A{row}=1,1,2)", "IFERROR(INDEX(B$3:B{above},MATCH(A{row},A$3:A{above},0)),MAX(B$3:B5))",
])  # fmt: skip
def test_a_range_that_grows_from_row_to_row_gives_what_each_formula_gives_alone(
    written: str,
) -> None:
    given = {f"{column}{row}": (row * 7 + ord(column)) % 4 + 1.0
             for column in "AB" for row in range(2, 10)}  # fmt: skip
    formulas = {f"D{r}": "=" + written.format(row=r, above=r - 1) for r in range(3, 10)}
    together = results(given | formulas, {})
    for place, formula in formulas.items():
        alone = results(given | {place: formula}, {})
        at = int(place[1:]), 4
        assert together.values["Data"].get(at) == alone.values["Data"].get(at), place
        assert [u.reason for u in alone.unevaluated] == [
            u.reason for u in together.unevaluated if (u.row, u.column) == at
        ], place


def test_equal_formulas_outside_the_rows_of_their_table_are_not_taken_for_its_rows() -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Beds")
    sheet.add_table("A1:A3", {"name": "Beds", "columns": [{"header": "L"}], "data": [[5], [7]]})
    for row in (2, 3, 5):
        sheet.write_formula(f"C{row}", "=Beds[[#This Row],[L]]*2")
        sheet.write_formula(f"D{row}", "=ROW(Beds[[#This Row],[L]])")
    book.close()
    found = evaluate(out.getvalue(), {})
    assert found.values["Beds"] == {(2, 3): 10.0, (2, 4): 2.0, (3, 3): 14.0, (3, 4): 3.0}
    assert [cell.cell for cell in found.unevaluated] == ["C5", "D5"]


def test_cells_that_move_with_their_formula_are_told_from_texts_and_fixed_rows() -> None:
    """Equal formulas of a column are written once; what only looks like a moving cell is none."""
    buffer = io.BytesIO()
    book = xlsxwriter.Workbook(buffer)
    sheet = book.add_worksheet("Rows")
    for row in range(1, 6):
        sheet.write(row - 1, 0, row * 10)
        sheet.write_formula(row - 1, 1, f"=A{row}+ROW()")
        sheet.write_formula(row - 1, 2, f'="A{row}"&A{row}')
        sheet.write_formula(row - 1, 3, f"=SUM(A{row}:A5)")
        sheet.write_formula(row - 1, 4, f"=SUM(A$1:A{row})+A${row}")
        sheet.write_formula(row - 1, 5, f"=Rows!A{row}+LOG10(10)")
        sheet.write_formula(row - 1, 6, f"=SUM(Rows!$A{row + 1}:A{row + 2})+ROW(A{row + 3})")
        sheet.write_formula(row - 1, 7, f"=SUM(A{row}:A$3)")
        sheet.write_formula(row - 1, 8, "=A2&A$3")
    book.close()
    values = evaluate(buffer.getvalue(), {}).values["Rows"]
    for row in range(1, 6):
        own, rest = row * 10, sum(range(row, 6)) * 10
        upto = sum(range(1, row + 1)) * 10
        below = sum(r * 10 for r in (row + 1, row + 2) if r <= 5) + row + 3
        to_third = sum(range(min(row, 3), max(row, 3) + 1)) * 10
        found = [values[row, column] for column in range(2, 10)]
        assert found[:5] == [own + row, f"A{row}{own}", rest, upto + own, own + 1]
        assert found[5:] == [below, to_third, "2030"]


@pytest.mark.parametrize("text", ["=1+1", "@A1", "{=1}", "TRUE", "#N/A", "=cmd|x", "\tx", "1e5"])
def test_text_that_looks_like_a_formula_or_value_stays_text(text: str) -> None:
    out = io.BytesIO()
    book = xlsxwriter.Workbook(out, {"in_memory": True})
    sheet = book.add_worksheet("Data")
    sheet.write_string("A1", text)
    sheet.write_row("B1", ["=A1", "=ISTEXT(A1)", "=GIVE()", "=ISTEXT(GIVE())"])
    book.close()
    found = evaluate(out.getvalue(), {"GIVE": lambda _: text})
    assert list(found.values["Data"].values()) == [text, True, text, True]


def test_what_holds_itself_does_not_pile_up() -> None:
    """As a written book does; a process that computes many would end by holding all of them."""
    made = []
    for _ in range(AT_MOST + 1):  # what is made in the round of the collection is still held
        with collection_put_off():
            circle: list[Any] = [set()]
            made.append(weakref.ref(circle[0]))
            circle.append(circle)
    assert made[0]() is None
