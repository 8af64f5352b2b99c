"""Every computed cell of the example shows what it did before; in Calc: tests/hosts/libreoffice."""

from __future__ import annotations

import pytest

from tests.made_once import made
from tests.workbook_template.stored_values import differences, lines, stored
from workbook_template.build import demo_inputs


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_cell_shows_what_it_showed(system: str) -> None:
    _, built = made(system, demo_inputs(system))
    said = differences(lines(built.values), stored(system))
    assert said == [], "if on purpose: python -m tests.workbook_template.stored_values --store"
    cells = {place: dict(cells) for place, cells in built.values.items()}
    changed = next(at for at, value in cells["Season"].items() if isinstance(value, float))
    cells["Season"][changed] *= 1.0001
    assert len(differences(lines(cells), stored(system))) == 2  # one gone, one new
