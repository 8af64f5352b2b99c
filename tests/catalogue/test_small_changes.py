"""Small wrong changes that no test noticed once; each of these fails on one of them."""

from __future__ import annotations

from decimal import Decimal

import numpy as np
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.calculations.buying.basket import Order, basket
from xlfuncs.calculations.buying.cutting import cheapest_rolls
from xlfuncs.calculations.buying.part_purchase import Need, Offer
from xlfuncs.calculations.money.tariffs import water_charge
from xlfuncs.errors import CellError, InputError
from xlfuncs.hosts.cells import call_from_cells


def test_sewer_is_charged_on_what_is_billed() -> None:
    """10.9 of which 10 are billed: 10 x 2.00, and sewer on half of 10 at 1.50."""
    volumes, none = np.array([10.9]), np.array([])
    charge = water_charge(volumes, none, np.array([2.0]), 0.0, 1.5, 0.5, 1.0)
    assert charge == pytest.approx([27.5])


def test_a_thousandth_is_no_whole_number() -> None:
    with pytest.raises(InputError, match="whole number"):
        xlfuncs.bed_area(40, 30, 2.001)
    assert xlfuncs.bed_area(40, 30, 2 + 1e-12) == xlfuncs.bed_area(40, 30, 2)


def test_a_piece_a_centimetre_over_the_roll_is_not_cut_from_it() -> None:
    assert cheapest_rolls([50.0], [2], [100.0], [1.0]).rolls == (1,)
    assert cheapest_rolls([50.01], [2], [100.0], [1.0]).rolls == (2,)
    with pytest.raises(InputError, match="longer than the longest roll"):
        cheapest_rolls([100.01], [1], [100.0], [1.0])


def test_what_is_too_much_stands_on_the_last_line_of_a_part() -> None:
    """27 from packs of 25 and 5: one of each, 3 too many."""
    first, last = basket([Need("tee", 27)], [Offer("tee", 25, 0, 10.0), Offer("tee", 5, 0, 3.0)])
    assert (first.packs, first.spare, last.packs, last.spare) == (1, 0, 1, 3)


def test_tax_and_delivery_stand_in_their_own_columns() -> None:
    offer = Offer("tee", 1, 0, 10.0, tax=0.1, delivery=2.0, shop="one")
    line, order = basket([Need("tee", 1)], [offer], orders=[Order("one", 5.0, 0.2)])
    assert (line.net, line.delivery, line.tax) == (
        Decimal("10.00"), Decimal("2.00"), Decimal("1.20"),
    )  # fmt: skip
    assert (order.net, order.delivery, order.tax) == (
        Decimal("0.00"), Decimal("5.00"), Decimal("1.00"),
    )  # fmt: skip


def test_the_first_error_of_a_row_stands() -> None:
    args = ([[CellError.NOT_AVAILABLE], [1.0]], [[CellError.NAME], [CellError.NAME]], 6.0)
    assert call_from_cells("RUN_MINUTES", args) == [[CellError.NOT_AVAILABLE], [CellError.NAME]]


def test_answers_are_kept_apart_by_the_error_in_their_inputs() -> None:
    for error in (CellError.NOT_AVAILABLE, CellError.DIVISION, CellError.NOT_AVAILABLE):
        rows = [[error], [30.0]]
        assert call_from_cells("DISTRIBUTION_UNIFORMITY", (rows,)) is error


def test_a_series_gives_its_index_back() -> None:
    lengths = pd.Series([40.0, 30.0], index=["north", "south"])
    areas = xlfuncs.bed_area(lengths, 30.0)
    assert list(areas.index) == ["north", "south"]
    assert areas["south"] == pytest.approx(75.0)
