"""The same list gives the same beds to `new` and to `add-columns`: areas of every typed list."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.workbooks.adding_columns.garden_lists import added
from tests.workbooks.lists.typed_lists import TypedList, typed_lists
from xlfuncs.units import to_base
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question

# A row for several beds stays one row beside the list.
LISTS = [typed for typed in typed_lists() if {"length", "strip_width"} <= set(typed.data["columns"])
         and "several_beds" not in typed.data.get("answers", {})]  # fmt: skip


@pytest.mark.parametrize("typed", LISTS, ids=lambda typed: typed.name)
def test_areas_beside_the_list_are_those_of_its_beds(typed: TypedList, tmp_path: Path) -> None:
    path = typed.write(tmp_path)
    answers = {**typed.data.get("answers", {}), "add": ["area"]}
    asked: list[Question] = []
    try:
        report = added(path, **answers)
    except OpenQuestions as questions:
        asked = questions.questions
        report = added(path, **answers, system=typed.units)
    # `new` is told the system; beyond that nothing is asked that it does not ask
    assert {question.key[0] for question in asked} <= {"system", "units"}
    (column,) = {new.column for new in report.columns}
    system = "metric" if "m²" in report.columns[0].header else "us"
    found = [report.values[row, column] for row in report.rows]
    wanted = [
        to_base(bed["length"], "length", typed.units)
        * to_base(bed["strip_width"], "width", typed.units)
        * (bed.get("strips") or 1)
        for bed in typed.truth
    ]
    assert [to_base(float(str(area)), "area", system) for area in found] == pytest.approx(wanted)
