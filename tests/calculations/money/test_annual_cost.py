"""Capital recovery and replacements, against interest tables and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.money.annual_cost import (
    annual_cost,
    capital_recovery_factor,
    replacement_plan,
)
from xlfuncs.errors import InputError


@pytest.mark.parametrize(
    ("percent", "years", "printed"),
    [
        # Blank and Tarquin, Engineering Economy, Table 1 (0.25 %), column A/P
        (0.25, 1, 1.00250),
        (0.25, 5, 0.20150),
        (0.25, 10, 0.10138),
        (0.25, 20, 0.05132),
        (0.25, 25, 0.04131),
        # Newnan, Engineering Economic Analysis, compound interest tables, p. 585
        (35, 5, 0.4505),
        (35, 10, 0.3683),
    ],
)
def test_factor_agrees_with_printed_tables(percent: float, years: float, printed: float) -> None:
    digits = 5 if percent < 1 else 4
    assert round(float(capital_recovery_factor(percent / 100, years)), digits) == printed


def test_factor_is_the_payment_that_repays_a_loan() -> None:
    # By definition of the factor: pay it every year with interest on what is owed, and 0 is left.
    for interest in (0.0, 0.001, 0.05, 0.35):
        owed, payment = 1.0, float(capital_recovery_factor(interest, 12.0))
        for _ in range(12):
            owed = owed * (1 + interest) - payment
        assert owed == pytest.approx(0.0, abs=1e-12)


def test_factor_without_interest_is_straight_line() -> None:
    factor = capital_recovery_factor(np.array([0.0, 1e-13, 1e-9]), 7.0)
    assert factor == pytest.approx(1 / 7, rel=1e-8)


@given(
    price=st.floats(0, 1e6),
    share=st.floats(0, 1),
    years=st.integers(1, 40),
    interest=st.floats(0.0001, 0.5),
)
def test_two_forms_of_capital_recovery_agree(
    price: float, share: float, years: int, interest: float
) -> None:
    # P (A/P) - S (A/F), the other form that textbooks give, with A/F = i / ((1 + i)^n - 1)
    salvage = price * share
    sinking_fund = interest / ((1 + interest) ** years - 1)
    other = price * float(capital_recovery_factor(interest, years)) - salvage * sinking_fund
    ours = float(annual_cost(price, years, interest, salvage))
    assert ours == pytest.approx(other, rel=1e-9, abs=1e-6)


def plan(life: tuple[float, float, float], age: float, years: int) -> list[list[float]]:
    columns = [np.array([x]) for x in (100.0, *life, age)]
    return [list(c) for c in replacement_plan(*columns, years)]


def test_replacements_fall_in_the_year_after_each_life_ends() -> None:
    # Tape that lasts 2 seasons, new now, is bought for seasons 3 and 5; by counting on the fingers.
    years, short, likely, long = plan((1, 2, 3), 0, 5)
    assert years == [1, 2, 3, 4, 5]
    assert short == [0, 100, 100, 100, 100]
    assert likely == [0, 0, 100, 0, 100]
    assert long == [0, 0, 0, 100, 0]


def test_a_part_past_its_life_is_replaced_once_at_once() -> None:
    _, short, likely, _ = plan((2, 10, 20), 7, 6)
    assert short == [100, 0, 100, 0, 100, 0]
    assert likely == [0, 0, 0, 100, 0, 0]


def test_lives_shorter_than_a_year_count_every_replacement() -> None:
    _, short, _, _ = plan((0.1, 1, 1), 0, 3)
    assert sum(short) == 100 * 29  # at 0.1, 0.2, ... 2.9 years; none at the very end


def test_lives_in_disorder_are_refused_with_their_row() -> None:
    lives = [np.array([5.0, 5.0]), np.array([6.0, 4.0]), np.array([7.0, 7.0])]
    with pytest.raises(InputError, match="short life") as refused:
        replacement_plan(np.ones(2), *lives, np.zeros(2), 5)
    assert refused.value.row == 1
