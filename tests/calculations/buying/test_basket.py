"""The basket adds up, whatever is needed and on sale; money against decimal arithmetic by hand."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from xlfuncs.calculations.buying.basket import IN_STORE, Order, basket
from xlfuncs.calculations.buying.part_purchase import Need, Offer, Stock
from xlfuncs.errors import CellError, InputError


def test_an_invoice_by_hand():
    """7 connectors in packs of 5 at 3.35, 7.5 % tax: 2 x 3.35 = 6.70, tax 0.5025 is 0.50, 7.20.

    Lines of 30 m: 3 from rolls of 65 m at 12.15: two rolls 24.30, delivery 2 x 1.20, tax 2.0025
    of 26.70 is 2.00, together 28.70; 40 m are left over, worth 40/65 of (12.15 + 1.20) x 1.075.
    """
    lines = basket(
        [Need("connector", 7), Need("tape", 3, 30.0)],
        [
            Offer("connector", 5, 0, 3.35, tax=0.075),
            Offer("tape", 0, 65.0, 12.15, tax=0.075, delivery=1.20, age_days=400),
        ],
    )
    connector, tape = lines
    assert (connector.packs, connector.net, connector.tax, connector.total) == (
        2, Decimal("6.70"), Decimal("0.50"), Decimal("7.20"),
    )  # fmt: skip
    assert (connector.spare, connector.note) == (3, "")
    assert (tape.net, tape.delivery, tape.tax, tape.total) == (
        Decimal("24.30"), Decimal("2.40"), Decimal("2.00"), Decimal("28.70"),
    )  # fmt: skip
    assert (tape.left_over, tape.spare_money) == (pytest.approx(40), Decimal("8.83"))
    assert "400 days old" in tape.note


def test_a_missing_price_names_the_part_and_is_never_nought():
    with pytest.raises(InputError, match="'tee' has no price") as caught:
        basket([Need("cross", 1), Need("tee", 2)], [Offer("cross", 1, 0, 2.0)])
    assert (caught.value.row, caught.value.cell_error) == (1, CellError.NOT_AVAILABLE)


def test_a_blank_price_is_a_missing_price():
    offers = [Offer("tee", 1, 0, 1.0), Offer("tee", 10, 0, float("nan"))]
    with pytest.raises(InputError, match="'tee' has no price"):
        basket([Need("tee", 2)], offers)
    assert basket([Need("tee", 2)], offers[:1])


def test_a_part_needed_by_length_but_sold_by_number():
    with pytest.raises(
        InputError, match="'tubing' is needed by length, but its prices give a pack"
    ):
        basket([Need("tubing", 1, 30.0, joined=True)], [Offer("tubing", 1, 0, 9.0)])


def test_two_currencies_are_refused():
    offers = [Offer("tee", 1, 0, 1.0, currency="USD"), Offer("cross", 1, 0, 1.0, currency="EUR")]
    with pytest.raises(InputError, match=r"currencies \(row 2\): is 'EUR' here and 'USD' above"):
        basket([Need("tee", 1)], offers)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.sampled_from("abc"), st.integers(0, 40)), max_size=6),
    st.lists(st.tuples(st.integers(1, 30), st.integers(10, 3000)), min_size=3, max_size=6),
    st.sampled_from([0.0, 0.075, 0.2]),
)
def test_every_part_is_bought_and_the_total_is_the_sum(wanted, packs, tax):
    offers = [
        Offer("abc"[i % 3], size, 0, cents / 100, tax=tax, delivery=0.35)
        for i, (size, cents) in enumerate(packs)
    ]
    needs = [Need(part, number) for part, number in wanted]
    lines = basket(needs, offers)
    for part in "abc":
        needed = sum(need.number for need in needs if need.part == part)
        mine = [line for line in lines if line.part == part]
        held = sum(line.packs * offers[line.offer].pack for line in mine)
        assert held == pytest.approx(needed + sum(line.spare for line in mine))
        assert held >= needed
    for line in lines:
        assert line.total == line.net + line.delivery + line.tax
        price = Decimal(str(offers[line.offer].price))
        assert line.net == price * line.packs


def test_rolls_that_are_cut_whole_have_price_steps_too():
    """5 lines of 80 m need five rolls of 100 m: 5 x 20.00, or from six on 15.00: six cost 90.00."""
    offers = [
        Offer("tape", 0, 100.0, 20.0),
        Offer("tape", 0, 100.0, 15.0, from_packs=6),
    ]
    (line,) = basket([Need("tape", 5, 80.0)], offers)
    assert (line.packs, line.net, line.left_over) == (6, Decimal("90.00"), pytest.approx(200))
    (line,) = basket([Need("tape", 4, 80.0)], offers)
    assert (line.packs, line.net) == (4, Decimal("80.00"))


def test_what_is_in_store_is_used_before_anything_is_bought():
    """Two rests of 45 m hold two lines of 40 m; the third is cut from a roll of 100 m. Of 12
    connectors 8 are there: one pack of 5."""
    lines = basket(
        [Need("tape", 3, 40.0), Need("connector", 12)],
        [Offer("tape", 0, 100.0, 20.0), Offer("connector", 5, 0, 3.0)],
        stock=[Stock("tape", 2, 45.0), Stock("connector", 8)],
    )
    store = [(line.part, line.packs, line.length) for line in lines if line.note == IN_STORE]
    assert store == [("tape", 2, 45.0), ("connector", 8, 0.0)]
    bought = {line.part: line for line in lines if line.offer is not None}
    assert (bought["tape"].packs, bought["tape"].left_over) == (1, pytest.approx(60))
    assert (bought["connector"].packs, bought["connector"].spare) == (1, 1)
    assert bought["connector"].note == "12 needed: 1 pack of 5 + 8 in store"


def test_what_is_needed_of_a_part_in_several_packs_is_said_once():
    """18 valves: ten in a pack at 49.00, eight single at 5.90 each, 96.20."""
    lines = basket([Need("valve", 18)], [Offer("valve", 1, 0, 5.9), Offer("valve", 10, 0, 49.0)])
    assert sum(line.total for line in lines) == Decimal("96.20")
    assert [line.note for line in lines] == ["18 needed: 8 single + 1 pack of 10", ""]


def test_what_the_store_covers_needs_no_price():
    (line,) = basket([Need("tape", 2, 40.0)], [], stock=[Stock("tape", 1, 90.0)])
    assert (line.offer, line.packs, line.total) == (None, 1, Decimal("0.00"))
    with pytest.raises(InputError, match="'tape' has no price"):
        basket([Need("tape", 3, 40.0)], [], stock=[Stock("tape", 1, 90.0)])


def test_an_order_is_charged_once_and_by_shop():
    """Both parts from one shop with one delivery of 9.00 cost 39.00; each from its cheapest shop
    would cost 28.00 and two deliveries, 46.00."""
    offers = [
        Offer("tee", 10, 0, 10.0, shop="one"),
        Offer("tee", 10, 0, 12.0, shop="two"),
        Offer("cross", 10, 0, 20.0, shop="one"),
        Offer("cross", 10, 0, 18.0, shop="two"),
    ]
    needs = [Need("tee", 10), Need("cross", 10)]
    lines = basket(needs, offers, orders=[Order("one", 9.0, 0.1), Order("two", 9.0, 0.1)])
    assert {line.shop for line in lines} in ({"one"}, {"two"})
    assert sum(line.total for line in lines) == Decimal("39.90")
    (order,) = [line for line in lines if line.part == "delivery"]
    assert (order.delivery, order.tax, order.packs) == (Decimal("9.00"), Decimal("0.90"), 0)
    # Without a charge each part comes from where it is cheapest.
    assert {line.shop for line in basket(needs, offers)} == {"one", "two"}


def test_a_pack_that_holds_next_to_nothing_is_refused_in_words():
    with pytest.raises(InputError, match=r"pack_sizes \(row 1\).*more than 1000000 packs"):
        basket([Need("tee", 1)], [Offer("tee", 5e-324, 0, 1.0)])
