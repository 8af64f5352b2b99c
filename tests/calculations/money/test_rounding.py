"""Money rounded as spreadsheets round it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from xlfuncs.calculations.money.rounding import round_money


@pytest.mark.parametrize(
    ("amount", "places", "rounded"),
    [
        # OpenDocument 1.2 part 2 (OASIS), 6.17.5 ROUND: halves are rounded away from zero.
        (2.5, 0, "3"),
        (-2.5, 0, "-3"),
        (0.5, 0, "1"),
        # 1.005 as a binary fraction lies just below; a spreadsheet shows and rounds 1.005.
        (1.005, 2, "1.01"),
        (-1.005, 2, "-1.01"),
        (Decimal("2.675"), 2, "2.68"),
        (Decimal("2.6749999"), 2, "2.67"),
        (1234.0, 2, "1234.00"),
        (1250.0, -2, "1.3E+3"),
    ],
)
def test_halves_go_away_from_zero(amount, places, rounded):
    assert round_money(amount, places) == Decimal(rounded)
