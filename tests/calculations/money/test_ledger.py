"""Meters, duplicates and the store of materials, against published examples and by hand."""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from xlfuncs.calculations.money.ledger import (
    checked_entries,
    entry_cost,
    garden_use,
    meter_use,
    refuse_second_currency,
    stock_used,
)
from xlfuncs.errors import InputError

NO = float("nan")


def use(
    days: list[str],
    readings: list[float],
    estimated: str = "",
    new: dict[int, float] | None = None,
    register: float = 0.0,
) -> list[float]:
    marks = np.array([m == "e" for m in estimated.ljust(len(days))])
    starts = np.array([(new or {}).get(i, NO) for i in range(len(days))])
    dates = np.array(days, dtype="datetime64[D]")
    return list(meter_use(dates, np.array(readings), marks, starts, register))[1:]


def test_the_difference_of_two_readings() -> None:
    # City of Temple, Texas, FAQ 127: readings of 245 and, 30 days later, 324 are a use of 79
    assert use(["2024-05-01", "2024-05-31"], [245, 324]) == [79]


def test_a_register_that_rolls_over() -> None:
    # From 99,998 a register of five digits goes to 100,000 = 0 and on to 23: 25 units.
    assert use(["2024-05-01", "2024-06-01"], [99_998, 23], register=100_000) == [25]
    with pytest.raises(InputError, match="roll-over"):
        use(["2024-05-01", "2024-06-01"], [99_998, 23])
    with pytest.raises(InputError, match="roll-over") as refused:  # 1,200 typed for 12,000
        use(["2024-05-01", "2024-06-01"], [11_000, 1_200], register=100_000)
    assert refused.value.row == 1


def test_a_meter_replaced_between_readings() -> None:
    days = ["2024-05-01", "2024-06-10", "2024-07-01"]
    assert use(days, [500, 530, 12], new={1: 2.0}) == [30, 10]


def test_an_estimate_is_replaced_by_what_the_true_readings_show() -> None:
    # 100 used in 100 days; the estimate of 180 after 40 days is set aside, even though the true
    # reading after it is lower, which must not look like a roll-over.
    days = ["2024-01-01", "2024-02-10", "2024-04-10"]
    assert use(days, [100, 280, 200], " e ", register=100_000) == pytest.approx([40, 60])


def test_a_last_estimate_stands_until_a_true_reading_comes() -> None:
    assert use(["2024-01-01", "2024-02-10"], [100, 180], " e") == [80]


def test_readings_out_of_order_are_refused() -> None:
    with pytest.raises(InputError, match="order of date") as refused:
        use(["2024-01-01", "2024-03-01", "2024-02-01"], [1, 2, 3])
    assert refused.value.row == 2


@given(
    steps=st.lists(st.integers(0, 400), min_size=2, max_size=30),
    start=st.integers(0, 999),
    marks=st.lists(st.booleans(), min_size=31, max_size=31),
)
def test_what_a_meter_counted_is_neither_lost_nor_counted_twice(
    steps: list[int], start: int, marks: list[bool]
) -> None:
    # A register of three digits that rolls over; true readings first and last, estimates between.
    reading = np.cumsum([start, *steps])
    count = len(reading)
    days = [str(np.datetime64("2024-01-01") + 30 * i) for i in range(count)]
    letters = "".join("e" if marks[i] and 0 < i < count - 1 else " " for i in range(count))
    kept = [i for i in range(count) if letters[i] == " "]
    # more than half the register between true readings cannot be told from a mistake
    assume(all(sum(steps[a:b]) <= 500 for a, b in pairwise(kept)))
    shown = [float(r % 1000) for r in reading]
    assert sum(use(days, shown, letters, register=1000)) == pytest.approx(sum(steps))


def test_cost_of_an_entry_and_the_gardens_part() -> None:
    # 119 with 19 of tax: 100 where tax comes back, 119 where not; half of it for the garden
    assert entry_cost(119.0, 19.0, 1.0, 1.0) == 100
    assert entry_cost(119.0, 19.0, 0.0, 0.5) == 59.5
    assert list(garden_use(np.array([30.0, 5.0]), 60.0, 0.25)) == [15.0, 0.0]


def checks(
    currencies: list[str], *rows: tuple[str, str, float, float, str], currency: str = ""
) -> list[str]:
    days, kinds, quantities, amounts, references = zip(*rows, strict=True)
    count, nothing = len(days), np.zeros(len(days))
    return checked_entries(
        np.array(days, dtype="datetime64[D]"), kinds, np.array(amounts), np.array(quantities),
        nothing, nothing, nothing + 1, np.full(count, "NaT", dtype="datetime64[D]"), [""] * count,
        references, currencies, currency,
    )[0]  # fmt: skip


def test_duplicates_and_second_currencies_are_named() -> None:
    bill = ("2024-05-01", "Water", NO, 42.5, "A-17")
    other = ("2024-05-01", "Water", NO, 42.5, "A-18")
    rows = bill, other, ("2024-05-01", "water ", NO, 42.5, "a-17"), bill
    currencies = ["EUR", "", "eur", "CHF"]
    twice = "ok, but same as an entry before it: entered twice?"
    words = checks(currencies, *rows)
    assert words == ["ok", "ok", twice, f"{twice}; in CHF, while the ledger is in EUR"]
    stated = checks(currencies, *rows, currency="EUR")
    assert stated == ["ok", "ok", twice, "Currency: CHF, while the ledger is in EUR"]
    with pytest.raises(InputError, match="CHF after EUR") as refused:
        refuse_second_currency(["EUR", "", "eur", "CHF"])
    assert refused.value.row == 3


def test_a_charge_that_was_taken_back_may_come_again_once() -> None:
    charge, back = (("2024-10-31", "water", NO, amount, "") for amount in (13.68, -13.68))
    twice = "ok, but same as an entry before it: entered twice?"
    assert checks([""] * 4, charge, back, charge, charge) == ["ok", "ok", "ok", twice]
    assert checks([""] * 3, charge, back, charge) == checks([""] * 3, charge, charge, back)


def test_weighted_average_of_a_published_inventory() -> None:
    # Accounting Principles: A Business Perspective (Hermanson, Edwards, Maher), Exhibit 55: 80
    # units for 690 in all, 20 left: 172.50 in store, 517.50 used.
    rows = [
        ("2024-01-01", 10, 80.0), ("2024-03-02", 10, 85.0), ("2024-05-28", 20, 168.0),
        ("2024-08-12", 10, 90.0), ("2024-10-12", 20, 176.0), ("2024-12-21", 10, 91.0),
    ]  # fmt: skip
    counts = [NO] * 5 + [20.0]
    days, bought, amounts = zip(*rows, strict=True)
    (year,) = stock_used(
        np.array(days, dtype="datetime64[D]"), ["Goods"] * 6, np.array(bought, dtype=float),
        np.array(amounts), np.array(counts), 1,
    )  # fmt: skip
    assert (year.closing_value, year.used_cost) == (Decimal("172.50"), Decimal("517.50"))
    assert (year.used, year.bought, year.closing) == (60, 80, 20)


def stock(*rows: tuple[str, str, float, float, float]) -> list[tuple[str, int, float, Decimal]]:
    days, kinds, bought, amounts, counts = zip(*rows, strict=True)
    years = stock_used(
        np.array(days, dtype="datetime64[D]"), kinds, np.array(bought), np.array(amounts),
        np.array(counts), 1,
    )  # fmt: skip
    return [(y.kind, y.year, y.used, y.used_cost) for y in years]


def test_a_years_rolls_are_not_that_years_use() -> None:
    rows = [
        ("2023-03-01", "Tape", 6.0, 600.0, NO),
        ("2023-11-01", "Tape", NO, NO, 4.0),
        ("2023-12-01", "Tape", 1.0, 100.0, NO),  # after the count: five left
        ("2024-11-01", "Tape", NO, NO, 1.0),
        ("2024-05-01", "Clips", 20.0, 8.0, NO),  # never counted: used as bought
    ]
    expected = [
        ("Clips", 2024, 20.0, Decimal("8.00")),
        ("Tape", 2023, 2.0, Decimal("200.00")),
        ("Tape", 2024, 4.0, Decimal("400.00")),
    ]
    assert stock(*rows) == expected
    assert stock(*reversed(rows)) == expected


def test_counts_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="not in 2024"):
        stock(("2023-03-01", "Tape", 6.0, 600.0, 4.0), ("2024-03-01", "Tape", 1.0, 100.0, NO))
    with pytest.raises(InputError, match="7 left, but only 6"):
        stock(("2023-03-01", "Tape", 6.0, 600.0, 7.0))


def test_only_money_that_came_back_with_a_use_is_doubted():
    days = np.array(["2026-01-31", "2026-02-28", "2026-03-31", "2026-04-30"], "datetime64[D]")
    amounts, quantities = np.array([0.0, -2.0, -2.0, -2.0]), np.array([5.0, 0.5, 0.0, -5.0])
    nothing, none = [""] * 4, np.full(4, np.datetime64("NaT"))
    words, costs, used = checked_entries(
        days, ["water"] * 4, amounts, quantities, np.zeros(4), np.zeros(4), np.ones(4), none,
        nothing, nothing, nothing,
    )  # fmt: skip
    assert ["money back" in said for said in words] == [False, True, False, False]
    assert costs.tolist() == amounts.tolist()
    assert used.tolist() == quantities.tolist()
