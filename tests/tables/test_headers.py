"""What a heading of a person's list may mean."""

from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.headers import match_header


def test_a_heading_with_a_measure_names_no_line() -> None:
    assert match_header("Tape (ft)", BEDS) == ()
    assert [header.column.name for header in match_header("Tape", BEDS)] == ["line"]
