"""Declaration: whole designs over a person's own lists."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from xlfuncs.catalogue.declaration import REQUIRED, UNITS, Arg, table, worksheet_function
from xlfuncs.catalogue.design_rows import Designs, lines_words, proof_words
from xlfuncs.catalogue.design_sources import AsRead
from xlfuncs.catalogue.parts_of_a_declaration import columns_of
from xlfuncs.catalogue.sources import DEFINITION
from xlfuncs.catalogue.whole_designs import whole_designs
from xlfuncs.tables.columns import Table
from xlfuncs.tables.designs import DESIGN_WANTED, SUPPLY_CURVE
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, REGULATORS
from xlfuncs.tables.garden.lines import LINES, PIPES
from xlfuncs.tables.money.parts import COUNTING_RULES
from xlfuncs.tables.money.prices import ALREADY_HAVE, ORDERS, PRICES

# The columns that a design asks for, and no other: a new one stands in no design's way.
_ASKED = {
    "beds": "bed strips strip_width length bed_top_width distance branch branch_start"
    " manifold_pipe elevation slope valve on",
    "lines": "line kind emitter_spacing emitter_flow flow_per_length rated_pressure exponent cv"
    " min_pressure max_pressure inside_diameter",
    "pipes": "pipe inside_diameter",
    "prices": "part pack roll_length price from_packs currency tax delivery shop",
    "rules": "part counted_by each every only_line spare_share least_spares",
    "head": "part kind loss loss_flow dirty_loss opening_loss preset least_flow greatest_flow"
    " least_inlet",
    "regulators": "regulator preset loss loss_flow least_flow greatest_flow least_inlet",
    "stock": "part number length",
    "orders": "shop delivery tax",
}
_TABLES: dict[str, Table] = {
    "beds": BEDS, "lines": LINES, "pipes": PIPES, "prices": PRICES, "rules": COUNTING_RULES,
    "head": HEAD_PARTS, "regulators": REGULATORS, "stock": ALREADY_HAVE, "orders": ORDERS,
}  # fmt: skip


def _read(name: str, help: str, *more: str, default: Any = REQUIRED) -> Arg:
    """A table with the columns that a design asks for."""
    columns = " ".join(f"{column}={name}_{column}" for column in _ASKED[name].split())
    return table(name, help, _TABLES[name], columns, *more, default=default)


@worksheet_function(
    "DESIGNS",
    help="Whole designs over your own lists: the cheapest lines, pipes, regulator and sets that"
    " give every bed its water, others that are better in something, cheaper ones that fail and"
    " what would mend them.",
    args=(
        _read("beds", "The beds, a row each; those that are off are laid and not watered",
              "[beds_laid=yes]: flag, selects, column laid: Whether the bed is laid; others are"
              " not even read"),
        table("supply", "Pressure of the supply at flows, before the head assembly",
              SUPPLY_CURVE, "flow=supply_flow pressure=supply_pressure"),
        table("wanted", "Targets: labels and values, down", DESIGN_WANTED,
              *(replace(arg, default=None if arg.required else arg.default)
                for arg in columns_of(DESIGN_WANTED, " ".join(DESIGN_WANTED.names))),
              settings=True),
        replace(UNITS, default=REQUIRED),  # Excel takes no lists behind what may be left out
        Arg("lists", "table", "Lines, pipes, prices, counting rules and, where there are any, head"
            " assembly, regulators, what is there already, orders: each with its headers, in any"
            " order", variadic=True, holds=(
                _read("lines", "The drip lines to choose from"),
                _read("pipes", "The pipes to choose from"),
                _read("prices", "The price list"),
                _read("rules", "The counting rules"),
                _read("head", "The parts of the head assembly", default=None),
                _read("regulators", "Regulators that could be fitted instead", default=None),
                _read("stock", "What is there already", default=None),
                _read("orders", "Shops that charge for an order", default=None))),
    ),
    source=DEFINITION.at("every design bounded, bought, solved; in the order of cost"),
    examples=("DESIGNS(A1:P15, H1:I62, K1:L24, units, Lines, Pipes, Prices, Rules)",),
)  # fmt: skip
def designs(supply_flow: Any, supply_pressure: Any, **values: Any) -> Any:
    settings = {column.name: values[column.name] for column in DESIGN_WANTED.columns}
    columns = {
        of.name: {
            column.name: values[f"{name}_{column.name}"]
            for column in of.columns
            if f"{name}_{column.name}" in values
        }
        for name, of in _TABLES.items()
    }
    most = settings["most_pressure"]
    found = whole_designs(
        AsRead("us", columns, settings, np.asarray(supply_flow), np.asarray(supply_pressure),
               None if most is None else float(most))
    )  # fmt: skip
    return list(_rows(found)) or _none(found)


def _rows(found: Designs) -> Iterator[tuple[Any, ...]]:
    left_out = "; ".join(f"not compared: {words}" for words in found.left_out)
    for row in found.rows:
        words = f"{row.fails}. {row.mends}" if row.fails else ""
        if row.kind == "cheapest":
            words = proof_words(found)
        words = "; ".join(filter(None, (words, *row.doubts)))
        if row.kind == "cheapest" and left_out:
            words = f"{words}; {left_out}"
        sets = "; ".join(f"{i}: {', '.join(names)}" for i, names in enumerate(row.sets, start=1))
        yield (
            row.kind, lines_words(row), row.main, row.manifold, row.regulator, row.cost,
            row.cost / row.area if row.area else np.nan, float(len(row.sets)) or np.nan,
            row.hours * 3600 if row.sets else np.nan, row.least_share, row.uniformity,
            row.left_over_value, words, sets,
        )  # fmt: skip


def _none(found: Designs) -> list[tuple[Any, ...]]:
    words = "no design of these lists covers the beds and has all its prices"
    words = "; ".join(found.uncovered) or words
    if found.designs:
        words = f"none of the {found.judged} designs that were solved in the time there is passes"
    left_out = "".join(f"; not compared: {out}" for out in found.left_out)
    return [("fails", *[""] * 4, *[np.nan] * 7, words + left_out, "")]
