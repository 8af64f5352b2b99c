"""Prices of one's own, typed over those of the examples."""

from dataclasses import replace

from workbook_template.build import demo_inputs
from workbook_template.own_prices import with_own_prices
from xlfuncs.tables.money.prices import PRICES


def test_what_is_typed_beside_one_own_price_holds_for_all() -> None:
    farm = demo_inputs("us")
    rows = [dict(row) for row in farm.tables[PRICES.name]]
    parts = [row["part"] for row in rows]
    tape, filters, plug = (parts.index(p) for p in ("tape 8 in", "screen filter", "plug"))
    said = {"tax": 0.06, "shop": "Feed store", "date": "2026-11-27", "source": "shelf"}
    rows[tape] |= {"price": 12.0, **said}
    rows[filters] |= {"price": 24.9}  # over the example's, whose source still stands
    rows[plug] |= {"source": "the same there"}  # its price is the example's
    made, words = with_own_prices(replace(farm, tables={**farm.tables, PRICES.name: rows}))
    found = made.tables[PRICES.name]
    for part, price in (
        ("tape 8 in", 12.0),
        ("screen filter", 24.9),
        ("plug", rows[plug]["price"]),
    ):
        (own,) = (row for row in found if row["part"] == part)  # the example's other packs are gone
        assert {name: own[name] for name in ("price", *said)} == {"price": price, **said}
    others = [row for row in rows if row["part"] not in ("tape 8 in", "screen filter", "plug")]
    assert [row for row in found if row in others] == others
    assert "3 of yours" in words[0] and "as beside tape 8 in: 2;" in words[0]


def test_own_prices_without_a_source_wait_for_one() -> None:
    farm = demo_inputs("us")
    rows = [{**row, "price": 1.0} for row in farm.tables[PRICES.name][:2]]
    typed = replace(farm, tables={**farm.tables, PRICES.name: rows})
    assert with_own_prices(typed) == (
        typed, ["Prices: type Tax, Shop, Date and Source beside one of yours"]
    )  # fmt: skip
    assert with_own_prices(farm) == (farm, [])
