"""What the findings of a workbook say on its printed sets of pages, by the rank of `check`."""

from collections.abc import Container, Sequence

from workbook_template.build import Built
from workbook_template.sheets.whole.checks import LISTED
from xlfuncs.catalogue.findings.given import KINDS
from xlfuncs.workbooks.checking.told import waits, wrong_at_once
from xlfuncs.workbooks.our_tables.findings import Finding
from xlfuncs.xlsx.cell_references import parse_area, split_sheet

FIRST_LINES = 8  # of what is wrong, on the first page of a set
LAID = ("Setup", "Supply", "Connections", "Lines", "Beds", "Pressure", "Counting rules", "Checks")
# The sheets whose faults bear on a set of pages; on what is filed all do.
BEARING = {
    "shop": (*LAID, "Parts", "Prices", "Purchase", "Cut list"),
    "field": (*LAID, "Timer", "Plan", "Weather", "This week"),
    "winter": LAID,
}


def found_in(built: Built, shown: Container[str]) -> list[Finding]:
    """The rows of the list behind Checks, worst first, of the sheets that a workbook shows."""
    found = []
    for row in built.block(LISTED):
        if row["kind"] in KINDS:  # what checks a cell with an error is itself in the list
            sheet, cell = split_sheet(row["target"].lstrip("#"))
            place = parse_area(cell, sheet or "")
            at = (place.first_row, place.first_column) if place else (1, 1)
            if (sheet := sheet or "") in shown:
                found.append(Finding(row["kind"], sheet, *at, str(row["words"])))
    return sorted(found, key=lambda finding: KINDS.index(finding.kind))


def first_lines(findings: Sequence[Finding], name: str) -> list[str]:
    """What is wrong and bears on a set, a line a matter, in a few lines."""
    lines = wrong_at_once([f for f in findings if f.sheet in BEARING.get(name, (f.sheet,))])
    more = len(lines) - FIRST_LINES
    return [*lines[:FIRST_LINES], *([f"Wrong: {more} more, on Checks"] if more > 0 else [])]


def filed_rows(findings: Sequence[Finding]) -> list[tuple[str, str, str]]:
    """All that is found, what may wait in a row: kind, sheet, words."""
    said = [(f.kind, f.sheet, f.words) for f in findings if not waits(f)]
    later = ", ".join(dict.fromkeys(f.sheet for f in findings if waits(f)))
    return [*said, *([("blank", later, "May wait: weather, crops, upkeep")] if later else [])]
