"""Prices and valves of one's own, where others are the examples' or proposed."""

from dataclasses import replace

from workbook_template.build import demo_inputs
from workbook_template.kit.declared import ALL
from workbook_template.own_prices import with_own_prices
from workbook_template.proposed_valves import moved_beds, with_valves
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.money.prices import PRICES


def test_what_is_typed_beside_one_own_price_holds_for_all() -> None:
    farm = demo_inputs("us")
    rows = [dict(row) for row in farm.tables[PRICES.name]]
    parts = [row["part"] for row in rows]
    tape, filters, plug = (parts.index(p) for p in ("tape 8 in", "screen filter", "plug"))
    said = {"tax": 0.06, "shop": "Feed store", "date": "2026-11-27", "source": "shelf"}
    rows[tape] |= {"price": 12.0, **said}
    # over the example's, whose source still stands, and bought elsewhere
    rows[filters] |= {"price": 24.9, "shop": "Web shop", "tax": 0.0}
    rows[plug] |= {"source": "the same there"}  # its price is the example's
    made, words = with_own_prices(replace(farm, tables={**farm.tables, PRICES.name: rows}))
    found = made.tables[PRICES.name]
    for part, typed in (
        ("tape 8 in", {"price": 12.0}),
        ("screen filter", {"price": 24.9, "shop": "Web shop", "tax": 0.0}),
        ("plug", {"price": rows[plug]["price"], "source": "the same there"}),
    ):
        (own,) = (row for row in found if row["part"] == part)  # the example's other packs are gone
        assert {name: own[name] for name in ("price", *said)} == {**said, **typed}
    others = [row for row in rows if row["part"] not in ("tape 8 in", "screen filter", "plug")]
    assert [row for row in found if row in others] == others
    assert "3 of yours" in words[0] and "2 take" in words[0] and "beside tape 8 in;" in words[0]
    assert with_own_prices(made) == (made, [])


def test_own_prices_without_a_source_wait_for_one() -> None:
    farm = demo_inputs("us")
    rows = [{**row, "price": 1.0} for row in farm.tables[PRICES.name][:2]]
    typed = replace(farm, tables={**farm.tables, PRICES.name: rows})
    assert with_own_prices(typed) == (
        typed, ["Prices: type Tax, Shop, Date and Source beside one of yours"]
    )  # fmt: skip
    assert with_own_prices(farm) == (farm, [])


def test_a_typed_valve_stays_where_others_lack_one_and_a_moved_bed_is_named() -> None:
    farm = demo_inputs("us")
    rows = [dict(row) for row in farm.tables[BEDS.name]]
    lacking = [row["bed"] for row in rows if row.get("valve")][-2:]
    typed = [{**row, "valve": None if row["bed"] in lacking or not row.get("valve")
              else f"V{row['valve']}"} for row in rows]  # fmt: skip
    inputs = replace(farm, tables={**farm.tables, BEDS.name: typed},
                     settings={**farm.settings, "stations": 12.0})  # fmt: skip
    made, _, _ = with_valves(inputs, "us", ALL)
    found = {row["bed"]: row.get("valve") for row in made.tables[BEDS.name]}
    assert all(found[row["bed"]] == row["valve"] for row in typed if row.get("valve"))
    used = {row["valve"] for row in typed}
    assert all(found[bed] not in used and found[bed].startswith("V") for bed in lacking)
    assert moved_beds(typed, made) == []
    (told,) = moved_beds([{**typed[0], "valve": 99.0}, *typed[1:]], made)
    assert told.endswith(f"{typed[0]['bed']} 99 -> {found[typed[0]['bed']]}")
