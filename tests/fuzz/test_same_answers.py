"""No function answers otherwise than before without somebody meaning it (see answers)."""

from __future__ import annotations

import pytest

from tests.fuzz.answers import NAMES, answers, same, stored_answers

STORED = stored_answers()


@pytest.mark.parametrize("name", NAMES)
def test_same_answers_as_before(name: str) -> None:
    now, before = answers(name), STORED.get(name, [])
    which = [answer[0] for answer in now], [answer[0] for answer in before]
    assert which[0] == which[1], "other inputs or answers: python -m tests.fuzz.answers"
    for stored, answer in zip(before, now, strict=True):
        assert same(stored, answer), (name, stored, answer)
