"""Functions that read tables: the same answer however a person heads, orders and measures them.

The yardstick is the same call column by column, whose values are checked against EPANET and against
sets worked by hand in tests/published_values.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.cells import call_from_cells

LINES = [
    ["Line", "Emitter spacing (in)", "Emitter flow (gph)", "Flow per length (gpm/100 ft)",
     "Rated pressure (psi)", "Inside diameter (in)", "Exponent"],
    ["tape", 8, None, 0.5, 8, 0.625, 0.5],
    ["thick", 12, 0.6, None, 10, 0.55, 0.48],
]  # fmt: skip
PIPES = [["Pipe", "Inside diameter (in)"], ["poly 1", 1.06], ["poly 3/4", 0.81]]
BEDS = [
    ["Bed", "Length (ft)", "Laterals", "Line", "Main pipe", "Distance (ft)", "Elevation (ft)"],
    ["A", 50, 4, "tape", "poly 1", 10, 0],
    ["B", 60, 3, "thick", "poly 1", 40, 1],
    [None] * 7,
    ["C", 40, 4, "tape", "poly 3/4", 80, None],
]
HEAD = [["Flow (gpm)", "Pressure (psi)"], [0, 14], [6, 12], [12, 0]]
TAPE_FLOW = 0.5 / 100 * 60 * 8 / 12  # gph an emitter
BY_COLUMN: dict[str, Any] = {
    "distance": [10, 40, 80], "laterals": [4, 3, 4], "lateral_length": [50, 60, 40],
    "emitter_spacing": [8, 12, 8], "rated_flow": [TAPE_FLOW, 0.6, TAPE_FLOW],
    "rated_pressure": [8, 10, 8], "lateral_diameter": [0.625, 0.55, 0.625],
    "main_diameter": [1.06, 1.06, 0.81], "exponent": [0.5, 0.48, 0.5], "elevation": [0, 1, 0],
    "supply_flow": [0, 6, 12], "supply_pressure": [14, 12, 0],
}  # fmt: skip


def flows(beds: Any, lines: Any = LINES, pipes: Any = PIPES, units: str = "us") -> list[float]:
    got = xlfuncs.system_delivery(beds, HEAD, lines, pipes, units=units)["flow"]
    return got[got.notna()].tolist()


def changed(table: list[list[Any]], header: str, new: str, cells: Any = None) -> list[list[Any]]:
    """The table with another header, its cells turned by a function."""
    place = table[0].index(header)
    turn = cells or (lambda cell: cell)
    rows = [[*r[:place], turn(r[place]), *r[place + 1 :]] for r in table[1:]]
    return [[*table[0][:place], new, *table[0][place + 1 :]], *rows]


WANTED = xlfuncs.system_delivery(**BY_COLUMN)["flow"].tolist()


def metres(feet: Any) -> Any:
    return None if feet is None else feet * 0.3048


def as_text(feet: Any) -> Any:
    return None if feet is None else f"{metres(feet)} m"


@pytest.mark.parametrize(
    "beds",
    [
        BEDS,
        [list(reversed(row)) for row in BEDS],
        [[*row, note] for row, note in zip(BEDS, ["My own column", *"wxyz"], strict=True)],
        changed(BEDS, "Length (ft)", "Length (m)", metres),
        changed(BEDS, "Length (ft)", "Length", as_text),
        changed(changed(BEDS, "Length (ft)", "Länge (m)", metres), "Distance (ft)", "Abstand (m)",
                metres),
        changed(changed(BEDS, "Length (ft)", "Longueur (m)", metres), "Bed", "Planche"),
        changed(changed(BEDS, "Length (ft)", "Longitud (m)", metres), "Bed", "Cama"),
        changed(BEDS, "Laterals", "drip lines"),
        pd.DataFrame(BEDS[1:], columns=BEDS[0]),
    ],
    ids=["as it is", "reversed", "more columns", "metric", "units in cells", "German", "French",
         "Spanish", "other word", "DataFrame"],
)  # fmt: skip
def test_the_same_numbers_however_the_table_is_written(beds: Any) -> None:
    assert flows(beds) == pytest.approx(WANTED, rel=1e-9)


def test_both_systems_mixed_give_the_same_numbers() -> None:
    beds = changed(BEDS, "Length (ft)", "Length (m)", metres)
    beds = changed(beds, "Elevation (ft)", "Elevation", as_text)
    metric = [flow / 3.785411784 for flow in flows(beds, units="metric")]
    assert metric == pytest.approx(flows(BEDS), rel=1e-9)


@pytest.mark.parametrize(
    ("beds", "words"),
    [
        ([row[:1] + row[2:] for row in BEDS], "beds: needs a column Length"),
        (changed(BEDS, "Length (ft)", "Lenghth (ft)"), "no column 'Lenghth.*did you mean Length"),
        (changed(BEDS, "Elevation (ft)", "Elevatoin"), "did you mean Elevation"),
        (changed(BEDS, "Length (ft)", "Length (psi)"), "psi does not measure length"),
        (changed(BEDS, "Elevation (ft)", "Length"), "both 'Length.*' and 'Length' are Length"),
        (changed(BEDS, "Length (ft)", "Length (ft)", lambda cell: cell and -cell),
         r"beds: Length \(ft\) \(A\): must be above 0 ft"),
        (changed(BEDS, "Length (ft)", "Length (ft)", lambda cell: cell and f"{cell} psi"),
         r"beds: Length \(ft\) \(A\): 'psi' does not measure"),
        (changed(BEDS, "Line", "Line", lambda cell: "tap" if cell == "tape" else cell),
         r"beds: Line \(A\): 'tap' is not among the lines"),
        (changed(BEDS, "Main pipe", "Main pipe", lambda cell: None),
         r"beds: Main pipe \(A\): is blank"),
        (changed(BEDS, "Length (ft)", "Length (ft)", lambda c: c if c == 60 else as_text(c)),
         r"beds: 'Length \(ft\)' is in ft, most of its cells in m: what is 60"),
        (BEDS[1:], "needs a column"),
        ([[1.0, 2.0], [3.0, 4.0]], "headers in its first row"),
        (7.0, "needs a table"),
    ],
)  # fmt: skip
def test_words_name_table_column_and_row(beds: Any, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        flows(beds)
    said = call_from_cells("INPUT_CHECK", ["SYSTEM_DELIVERY", beds, HEAD, LINES, PIPES])
    assert said == str(caught.value)
    answer = call_from_cells("SYSTEM_DELIVERY", [beds, HEAD, LINES, PIPES])
    assert answer is caught.value.cell_error


def test_a_cell_with_a_unit_of_its_own_contradicts_nothing() -> None:
    beds = changed(BEDS, "Length (ft)", "Length (ft)", lambda c: as_text(c) if c == 50 else c)
    assert flows(beds) == pytest.approx(WANTED, rel=1e-9)
    for header in ("Length (m)", "Length (ft)"):
        beds = changed(BEDS, "Length (ft)", header, as_text)
        assert flows(beds) == pytest.approx(WANTED, rel=1e-9)


def test_a_value_of_ones_own_goes_before_that_of_the_line() -> None:
    beds = [[*row, cell] for row, cell in zip(BEDS, ["Emitter spacing", None, 6, None, None],
                                              strict=True)]  # fmt: skip
    by_column = BY_COLUMN | {"emitter_spacing": [8, 6, 8]}
    assert flows(beds) == pytest.approx(xlfuncs.system_delivery(**by_column)["flow"].tolist())


def test_columns_by_name_and_headers() -> None:
    args = [BEDS, HEAD, LINES, PIPES, None, None, "us", None]
    whole = call_from_cells("SYSTEM_DELIVERY", [*args, None, "yes"])
    assert whole[0][:3] == ["Inlet pressure (psi)", "Flow (gpm)", "Share"]
    some = call_from_cells("SYSTEM_DELIVERY", [*args, "share, flow"])
    assert some == [[row[2], row[1]] for row in whole[1:]]
    assert call_from_cells("SYSTEM_DELIVERY", [*args, "flwo"]) is CellError.VALUE
    words = call_from_cells("INPUT_CHECK", ["SYSTEM_DELIVERY", *args, "flwo"])
    assert words.endswith("there is no result 'flwo'; did you mean flow?")


def test_a_result_with_headers_is_a_table_for_the_next_function() -> None:
    """The delivered flows as the nominal ones of a plan by flow alone."""
    frame = xlfuncs.system_delivery(BEDS, HEAD, LINES, PIPES, columns="flow")
    assert list(frame.columns) == ["flow"]
    assert frame["flow"].notna().tolist() == [True, True, False, True]


def test_labels_and_values_down_are_limits() -> None:
    """16 lines of 30 gph in 0.818 in: 4.88 ft/s, as in tests/published_values.

    With more velocity allowed the next finding stands first.
    """
    beds = [["Bed", "Distance", "Laterals", "Length", "Emitter spacing", "Emitter flow",
             "Rated pressure", "Lateral diameter", "Main diameter", "Exponent"],
            ["far", 1, 16, 30, 12, 1, 10, "1.1 in", "0.818 in", 0]]  # fmt: skip
    limits = [["Velocity in pipes, at most", 4.8, "ft/s"], [None, None, None], ["Notes", 3, ""]]

    def checked(rows: list[list[Any]]) -> list[str]:
        args = [beds, 10.1, None, None, None, None, rows, "us", "check"]
        return [row[0] for row in call_from_cells("DESIGN_CHECKS", args)]

    assert checked(limits) == ["velocity"]
    assert checked([["Velocity in pipes, at most", 4.8 * 0.3048, "m/s"]]) == ["velocity"]
    assert checked([["Velocity in pipes, at most", 4.9, "ft/s"]]) == ["pressure"]


def test_what_keeps_each_row_from_being_used() -> None:
    beds = changed(BEDS, "Length (ft)", "Length (ft)", lambda cell: -50 if cell == 50 else cell)
    beds = changed(
        beds, "Main pipe", "Main pipe", lambda cell: None if cell == "poly 3/4" else cell
    )
    rows = call_from_cells("ROW_CHECK", ["SYSTEM_DELIVERY", beds, "1 bar", LINES, PIPES])
    assert [row[0] for row in rows] == [
        "Length (ft): must be above 0 ft, is -50 ft", "ok", "", "Main pipe: is blank",
    ]  # fmt: skip
    off = [[*row, cell] for row, cell in zip(BEDS, ["On", "no", None, None, "yes"], strict=True)]
    rows = call_from_cells("ROW_CHECK", ["SYSTEM_DELIVERY", off, "1 bar", LINES, PIPES])
    assert [row[0] for row in rows] == ["left out", "ok", "", "ok"]


def test_of_a_table_by_its_name_each_row_says_which_cell_cannot_be_read() -> None:
    beds = [["Bed", "Length (m)", "Distance (m)"], ["A", 12, "11,4"], ["B", "40 ft", None],
            [None, None, None], ["C", "15 8", "x"]]  # fmt: skip
    rows = call_from_cells("ROW_CHECK", ["Beds", beds, "metric"])
    assert [row[0] for row in rows] == [
        "Distance: '11,4' has a comma; write a decimal point, no thousands mark", "ok", "",
        "Length: '15 8' has a number without its unit",
    ]  # fmt: skip


def test_a_column_beside_the_table_says_which_rows_count() -> None:
    counted = [["yes"], ["no"], [None], ["yes"]]
    rows = call_from_cells("SYSTEM_DELIVERY", [BEDS, HEAD, LINES, PIPES, counted])
    alone = [row for i, row in enumerate(BEDS) if i != 2]
    assert [row[1] for row in rows if row[1] != ""] == pytest.approx(flows(alone))
    assert rows[1][1] == ""


def test_a_frame_keeps_its_index() -> None:
    frame = pd.DataFrame(BEDS[1:], columns=BEDS[0], index=list("wxyz"))
    assert list(xlfuncs.system_delivery(frame, HEAD, LINES, PIPES).index) == list("wxyz")
    assert np.isnan(xlfuncs.system_delivery(frame, HEAD, LINES, PIPES)["flow"]["y"])


DESIGN = [
    [["Bed", "Strip width (in)", "Length (ft)", "Distance (ft)"], ["A", 20, 10, 10]],
    [["Flow (gpm)", "Supply (psi)"], [0, 12], [5, 10]],
    [["Net depth a week (in)", 1], ["Waterings a week", 3], ["Efficiency", 0.9],
     ["Twin rows", "no"], ["Zigzag", "no"], ["Broad cover", "no"],
     ["Width that one line wets (in)", 24]],
]  # fmt: skip
LISTS = [
    [["Line", "Kind", "Emitter spacing (in)", "Emitter flow (gph)", "Rated pressure (psi)",
      "Inside diameter (in)", "Exponent"], ["tape", "tape", 12, 0.3, 10, 0.626, 0.5]],
    PIPES,
    [["Part", "Pack", "Roll length (ft)", "Price", "Currency"], ["tape", None, 100, 5, "USD"],
     ["poly 3/4", None, 50, 7, "USD"], ["connector", 1, None, 0.5, "USD"]],
    [["Part", "Counted by", "Each"], ["poly 3/4", "main length", 1], ["connector", "line", 2]],
]  # fmt: skip


def test_lists_are_known_by_their_headers_in_any_order():
    def cost(*lists: Any) -> Any:
        found = call_from_cells("DESIGNS", (*DESIGN, "us", *lists))
        return found if isinstance(found, CellError) else found[0][5]

    def words(*lists: Any) -> Any:
        return call_from_cells("INPUT_CHECK", ("DESIGNS", *DESIGN, "us", *lists))

    stock = [["Part", "Number", "Length (ft)"], ["connector", 2, None]]
    assert cost(*LISTS) == 13.0  # as tests/published_values/sets_by_hand.toml works out
    assert cost(*LISTS[::-1], None) == cost(LISTS[2], None, *LISTS[:2], LISTS[3]) == 13.0
    assert cost(*LISTS, stock) == cost(stock, *LISTS) < 13.0
    assert cost(*LISTS, PIPES) == CellError.VALUE
    assert words(*LISTS, PIPES) == "DESIGNS: lists: has two tables of pipes"
    assert "lists: has no table of lines, pipes, prices" in words(*LISTS, [["Cow", "Milk"], [1, 2]])
    assert words(*LISTS[1:]) == "DESIGNS: nothing computed, lines is blank"
