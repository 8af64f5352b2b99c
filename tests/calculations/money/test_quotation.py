"""The sums of a quotation, by hand and by what must hold between them."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.money.quotation import (
    Quotation,
    Terms,
    margin_from_markup,
    markup_from_margin,
    quotation,
)
from xlfuncs.errors import InputError


def option(
    lines: list[tuple[float, float, bool]], hours: float = 0.0, rate: float = 0.0, **terms: float
) -> Quotation:
    quantities, costs, included = zip(*lines, strict=True)
    return quotation(
        np.array(quantities), np.array(costs), np.array(included), hours, rate, Terms(**terms)
    )


def test_an_option_by_hand() -> None:
    # 3 at 33.335 = 100.01 (a half cent rounds away from zero), 10 h at 25; 10 % contingency on
    # 350.01 is 35.00; half as much again is 577.52; 8 % tax 46.20. The optional 20 stands apart:
    # 20 + 2 = 22, 33 with markup, 35.64 with tax.
    q = option([(3, 33.335, True), (1, 20, False)], 10, 25, contingency=0.1, markup=0.5, tax=0.08)
    assert (q.materials, q.labour, q.contingency) == (Decimal("100.01"), 250, Decimal("35.00"))
    assert (q.cost, q.price, q.tax) == (Decimal("385.01"), Decimal("577.52"), Decimal("46.20"))
    assert (q.total, q.optional) == (Decimal("623.72"), Decimal("35.64"))


def test_markup_and_margin_of_a_published_example() -> None:
    # calcreal.com, markup: a cost of 40 with 50 % markup sells for 60, a margin of 33.33 %
    q = option([(1, 40, True)], markup=0.5)
    assert (q.price, q.markup, round(q.margin, 4)) == (60, 0.5, 0.3333)
    q = option([(1, 40, True)], margin=1 / 3)
    assert (q.price, round(q.markup, 4)) == (60, 0.5)


def test_one_of_markup_and_margin_is_entered() -> None:
    with pytest.raises(InputError, match="not both"):
        option([(1, 1, True)], markup=0.1, margin=0.1)
    assert option([(1, 7, True)]).price == 7


@given(markup=st.floats(0, 50))
def test_markup_and_margin_are_inverse(markup: float) -> None:
    assert markup_from_margin(margin_from_markup(markup)) == pytest.approx(markup, abs=1e-9)


@given(
    lines=st.lists(
        st.tuples(st.integers(0, 1000), st.floats(0, 1000), st.booleans()), min_size=1, max_size=20
    ),
    markup=st.floats(0, 2),
    tax=st.floats(0, 0.3),
)
def test_the_parts_add_up_whatever_the_order(
    lines: list[tuple[float, float, bool]], markup: float, tax: float
) -> None:
    q = option(lines, 12.5, 31.4, contingency=0.07, markup=markup, tax=tax)
    assert q.cost == q.materials + q.labour + q.contingency
    assert q.total == q.price + q.tax
    assert q == option(lines[::-1], 12.5, 31.4, contingency=0.07, markup=markup, tax=tax)
