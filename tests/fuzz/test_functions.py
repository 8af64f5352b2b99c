"""Every worksheet function with inputs of all kinds, from fixed seeds, as cells and Python ask.

No exception but a declared one, no infinity, the same answer both ways, and the relations between
calls. `python -m tests.fuzz.run 8000` tries more.
"""

from __future__ import annotations

import pytest

from tests.fuzz.relations import relations_of
from tests.fuzz.run import failing_input, failing_relation
from xlfuncs.catalogue.registry import functions

INPUTS, TRIES = 40, 6
NAMES = sorted(functions())


@pytest.mark.parametrize("name", NAMES)
def test_inputs_of_all_kinds(name: str) -> None:
    function = functions()[name]
    for number in range(INPUTS):
        assert not (words := failing_input(function, 0, number)), words


@pytest.mark.parametrize("name", NAMES)
def test_relations_between_calls(name: str) -> None:
    function = functions()[name]
    for relation in relations_of(function):
        for number in range(TRIES):
            words, _ = failing_relation(function, relation, 0, number)
            assert not words, words
