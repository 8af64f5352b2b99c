"""What a check of a workbook finds: words with the address of the cell they are about."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from xlfuncs.catalogue.findings.given import KINDS
from xlfuncs.xlsx.cell_references import cell_name, quoted_sheet
from xlfuncs.xlsx.contents import CellValue, Contents

EXAMPLES_USED = " invented examples are in use: "  # the words of a note: how many, and their names
EXAMPLES_LEFT = " invented examples are not used: "
CellValues = Mapping[str, Mapping[tuple[int, int], CellValue]]


@dataclass(frozen=True)
class Finding:
    """`kind` is wrong, doubtful or note; rows and columns count from 1."""

    kind: str
    sheet: str
    row: int
    column: int
    words: str
    last_row: int = 0  # of cells below each other of which the same is said

    @property
    def address(self) -> str:
        first = f"{quoted_sheet(self.sheet)}!{cell_name(self.row, self.column)}"
        below = self.last_row > self.row
        return f"{first}:{cell_name(self.last_row, self.column)}" if below else first

    def __str__(self) -> str:
        return f"{self.address}: {self.words}"


def grouped(findings: Iterable[Finding]) -> list[Finding]:
    """Without repetitions, worst first; what is said of cells below each other is said once."""
    unique = sorted(
        set(findings), key=lambda f: (KINDS.index(f.kind), f.sheet, f.column, f.words, f.row)
    )
    joined: list[Finding] = []
    for finding in unique:
        last = joined[-1] if joined else finding
        below = replace(finding, row=last.row, last_row=last.last_row) == last
        if below and finding.row == max(last.last_row, last.row) + 1:
            joined[-1] = replace(last, last_row=finding.row)
        else:
            joined.append(finding)
    return sorted(joined, key=lambda f: (KINDS.index(f.kind), f.sheet, f.row, f.column))


def cell_values(contents: Contents) -> dict[str, dict[tuple[int, int], CellValue]]:
    """Every stored value by sheet and (row, column): typed, or what a formula last gave."""
    return {
        sheet.name: {
            (cell.row, cell.column): contents.value(cell) for cell in contents.scan(sheet).cells
        }
        for sheet in contents.sheets
    }
