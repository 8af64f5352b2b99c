"""Lists as people type them: each is read right, or asked about; never a wrong number in silence.

The truth beside each list was written by hand before the reader was; see typed/README.md.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.workbooks.lists.typed_lists import TypedList, typed_lists
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.header_words import UnreadableError, read_date
from xlfuncs.workbooks.lists.bed_list_import import BedListReading, read_bed_list
from xlfuncs.workbooks.lists.mapping import mapping_from

LISTS = typed_lists()
# What most people's lists do not tell, and what `new` always asks for: not the matter here.
UNTOLD = {"line": "tape 8 in", "distance": "5 m"}


def read(typed: TypedList, folder: Path, answers: dict[str, Any]) -> BedListReading:
    told = typed.data["columns"]
    numbered = {} if "bed" in told else {"bed": "1, 2, 3"}
    values = {name: value for name, value in UNTOLD.items() if name not in told}
    mapping = {
        **answers,
        "columns": {**numbered, **answers.get("columns", {})},
        "values": {**values, **answers.get("values", {})},
    }
    return read_bed_list(typed.write(folder), typed.units, mapping_from(mapping, "answers", BEDS))


def assert_true(reading: BedListReading, typed: TypedList) -> None:
    assert len(reading.rows) == len(typed.truth)
    for row, truth in zip(reading.rows, typed.truth, strict=True):
        for name, value in truth.items():
            expected = pytest.approx(value, rel=1e-9) if isinstance(value, float) else value
            assert row.get(name, "") == expected, name


@pytest.mark.parametrize("typed", LISTS, ids=lambda typed: typed.name)
def test_every_list_is_read_right_or_asked_about(typed: TypedList, tmp_path: Path) -> None:
    reading = read(typed, tmp_path, {})
    if not reading.questions:
        assert_true(reading, typed)
        return
    answers = typed.data.get("answers")
    assert answers is not None, [str(question) for question in reading.questions]
    answered = read(typed, tmp_path, answers)
    assert [str(question) for question in answered.questions] == []
    assert_true(answered, typed)


@pytest.mark.parametrize("typed", LISTS, ids=lambda typed: typed.name)
def test_what_the_list_alone_cannot_say_is_asked(typed: TypedList, tmp_path: Path) -> None:
    if typed.data.get("asked"):
        assert read(typed, tmp_path, {}).questions


def test_most_are_read_without_a_question(tmp_path: Path) -> None:
    asked = [typed.name for typed in LISTS if read(typed, tmp_path, {}).questions]
    assert len(asked) <= len(LISTS) / 4, asked


@pytest.mark.parametrize(
    "text",
    ["14 March 2026", "March 14, 2026", "14-Mar-26", "14. März 2026", "14 mars 2026",
     "14 de marzo de 2026", "14 mrt 2026", "14 maart 2026", "14 marzo 2026", "14 mar. 2026"],
)  # fmt: skip
def test_months_have_names_in_six_languages(text: str) -> None:
    assert read_date(text, "") == date(2026, 3, 14)


@pytest.mark.parametrize("text", ["14 jui 2026", "14 Marktag 2026", "14 ma 2026"])
def test_a_name_of_two_months_or_none_is_refused(text: str) -> None:
    with pytest.raises(UnreadableError, match="names no month"):
        read_date(text, "")
