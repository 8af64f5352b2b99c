"""Each planted fault, typed into one open workbook in Calc, is said in the same places, in the same
words, as in the embedded engine: some alone, or with `XLFUNCS_FAULTS=1` all, a batch at once, whose
faults do not touch each other."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.hosts.libreoffice.typing_person import Person
from tests.made_once import made_once
from tests.workbook_template.planted_faults import (
    ALL,
    BATCHES,
    COMPUTED,
    SYSTEMS,
    one_at_a_time,
    read,
    typed,
    unsaid,
)
from workbook_template.build import demo_inputs
from xlfuncs.hosts.libreoffice.installation import Installation

pytestmark = pytest.mark.libreoffice


@pytest.mark.parametrize("system", SYSTEMS)
def test_each_fault(installation: Installation, tmp_path: Path, system: str) -> None:
    path = tmp_path / "farm.xlsx"
    built = made_once(path, system, demo_inputs(system))
    areas = {sheet: (rows, max(columns)) for sheet, (rows, columns) in read(built).items()}
    asked = [[sheet, 0, 0, rows - 1, last - 1] for sheet, (rows, last) in areas.items()]
    silent = []
    with Person(installation, tmp_path) as person:
        person.ask("open", str(path))
        alone = COMPUTED if ALL else one_at_a_time(system, every=16)
        for faults in [*(BATCHES if ALL else ()), *((fault,) for fault in alone)]:
            before = person.ask("type", [cell for f in faults for cell in typed(built, f)])
            shown = {
                sheet: {(r, c): value for r, row in enumerate(rows, 1)
                        for c, value in enumerate(row, 1) if value != ""}
                for sheet, rows in zip(areas, person.ask("read", asked), strict=True)
            }  # fmt: skip
            person.ask("type", before)
            for fault in faults:
                missing = unsaid(built, fault, shown)
                print(fault.sheet, fault.words, missing, flush=True)
                silent += [(fault.sheet, fault.words, where) for where in missing]
    assert silent == []
