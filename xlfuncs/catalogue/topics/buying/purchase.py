"""Declarations: rolls and packs, what to buy and how to cut it."""

from math import isnan
from typing import Any

from xlfuncs.calculations.buying import cut_list as cutting_lists
from xlfuncs.calculations.buying import packs, roll_fit, rolls
from xlfuncs.calculations.buying.cutting import RollPlan, cheapest_rolls
from xlfuncs.catalogue.declaration import UNITS, Arg, Result, table, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, Source
from xlfuncs.tables.money.prices import NEEDS, PRICES

COLUMN_GENERATION = Source(
    "Gilmore and Gomory (1961), A linear programming approach to the cutting-stock problem,"
    " Operations Research 9, 849-859"
)

PIECES = table(
    "pieces", "What is to be cut, a row a length", NEEDS,
    "piece_lengths: length, >0, <=3000, column length: Length to cut for each line, see CUT_LENGTH",
    "pieces_of_each: count, >=0, <=10000, whole, column number: How many of that length",
)  # fmt: skip
_ON_SALE = (
    "roll_lengths: length, >0, <=10000, column roll_length: Lengths of the rolls on sale",
    "roll_prices: money, >0, column price: Price of each roll",
)
JOIN_PRICE = Arg.of("[join_price]: money, >=0: Price of a coupler, where a line may run on from"
                    " roll to roll (blank: lines stay whole)")  # fmt: skip
JOIN_LOSS = Arg.of("[join_loss=0]: length, >=0, <=10: Length lost at a roll end that is joined;"
                   " one emitter spacing keeps cuts between emitters")  # fmt: skip
TIME_LIMIT = Arg.of("[time_limit=5 s]: seconds, >0, <=600 s: Longest search; then the best found,"
                    " marked unproven")  # fmt: skip
ROLL_ARGS = (
    PIECES,
    table(
        "rolls", "The rolls, a row a size", PRICES, *_ON_SALE,
        "[available]: count, >=0, whole: How many of each roll there are (blank: any number)",
    ),
    JOIN_PRICE, UNITS, JOIN_LOSS, TIME_LIMIT,
)  # fmt: skip


def proof(plan: RollPlan) -> str:
    """What is known of a purchase, in words."""
    if plan.proven:
        return "proven cheapest"
    return f"best found in time, unproven: no purchase is below {plan.bound:.2f}"


worksheet_function(
    "CUT_LENGTH",
    help="Length to cut for a line: whole emitter spacings within its length, as lines are cut"
    " between emitters, and an allowance for connector and end.",
    args=(
        "length: length, >=0, <=3000: Length of the bed that the line waters",
        "emitter_spacing: width, >0, <=5, divides: Distance between emitters",
        "[end_allowance=0]: length, >=0, <=10: Added for connector and end, both together",
    ),
    results=(Result("cut_length", "length", "Length to cut"),),
    source=DEFINITION.at("whole spacings, rounded down, plus the allowance"),
    plain="INT({length}/{emitter_spacing}+0.000000001)*{emitter_spacing}+{end_allowance}",
    examples=("CUT_LENGTH(46, 8, 0.5)",),
)(roll_fit.cut_length)


def _bought_and_cut(
    piece_lengths: Any, pieces_of_each: Any, roll_lengths: Any, roll_prices: Any, join_price: Any,
    join_loss: Any, time_limit: Any, available: Any,
) -> Any:  # fmt: skip
    """The rolls on sale, the cheapest purchase of them, and how its rolls are cut."""
    lengths, rolls = list(piece_lengths), list(roll_lengths)
    there = [None if isnan(number) else int(number) for number in available]
    plan = cheapest_rolls(
        lengths, [int(n) for n in pieces_of_each], rolls, list(roll_prices), join_price, join_loss,
        time_limit, available=there,
    )  # fmt: skip
    cuts = cutting_lists.cut_list(plan, lengths, rolls, join_loss)
    return rolls, plan, cuts


@worksheet_function(
    "ROLL_PURCHASE",
    help="The cheapest rolls from which all pieces can be cut, proven: one row a roll size. Pieces"
    " stay whole, or run on from roll to roll through a coupler at join_price.",
    args=ROLL_ARGS,
    source=COLUMN_GENERATION.at("with an exact search of the gap; any plan with joins"),
    rows="rolls",
    examples=("ROLL_PURCHASE(B1:C15, H1:I5)",),
)
def roll_purchase(roll_prices: Any, join_price: Any, **given: Any) -> Any:
    rolls, plan, cuts = _bought_and_cut(roll_prices=roll_prices, join_price=join_price, **given)
    run_on = (cutting_lists.START, cutting_lists.MIDDLE)
    joins = [
        sum(cut.size == size and cut.part in run_on for cut in cuts) for size in range(len(rolls))
    ]
    costs = [
        number * price + (join_price or 0.0) * joined
        for number, price, joined in zip(plan.rolls, roll_prices, joins, strict=True)
    ]
    left = cutting_lists.left_over_by_size(plan, cuts, rolls)
    return rolls, list(plan.rolls), costs, left, joins, [proof(plan)] * len(rolls)


@worksheet_function(
    "CUT_LIST",
    help="How to cut the purchase of ROLL_PURCHASE (same arguments), step by step: which pieces"
    " come from which roll, in an order to follow with scissors, and what stays on the roll.",
    args=ROLL_ARGS,
    source=COLUMN_GENERATION.at("laid out roll by roll"),
    examples=("CUT_LIST(B1:C15, H1:I5)",),
)
def cut_list(**given: Any) -> Any:
    rolls, _, cuts = _bought_and_cut(**given)
    return [
        (cut.roll, rolls[cut.size], cut.piece + 1, cut.pieces, cut.length, cut.part, cut.left)
        for cut in cuts
    ]


@worksheet_function(
    "PACK_PURCHASE",
    help="The cheapest packs that hold at least what is needed, proven: one row an offer. Offers of"
    " one pack size are steps of its price, each from a number of packs bought.",
    args=(
        "needed: number, >=0, <=1e+06: How many are needed",
        "pack_sizes: number, >0, of offers: How many a pack holds",
        "pack_prices: money, >0, of offers: Price of one pack",
        "[from_packs=1]: count, >=1, whole, of offers: Price holds from so many packs",
    ),
    source=DEFINITION.at("least cost over all numbers of packs"),
    rows="offers",
    examples=("PACK_PURCHASE(53, H2:H4, I2:I4)",),
)
def pack_purchase(needed: Any, pack_sizes: Any, pack_prices: Any, from_packs: Any) -> Any:
    sizes = list(pack_sizes)
    plan = packs.cheapest_packs(
        needed, sizes, list(pack_prices), [int(number) for number in from_packs]
    )
    bought = [row for row, number in enumerate(plan.packs) if number]
    smallest = min(bought, key=lambda row: sizes[row], default=None)
    return (
        sizes,
        list(plan.packs),
        [number * price for number, price in zip(plan.packs, pack_prices, strict=True)],
        [plan.spare if row == smallest else 0.0 for row in range(len(sizes))],
    )


@worksheet_function(
    "ROLL_FIT",
    help="How much shorter every line must be for the next cheaper purchase of rolls, one row a"
    " step; how much longer lines may be, and how many more lines there may be, for nothing.",
    args=(
        PIECES, table("rolls", "The rolls on sale, a row a size", PRICES, *_ON_SALE),
        "emitter_spacing: width, >0, <=5: Distance between emitters: the smallest step",
        JOIN_PRICE, UNITS, JOIN_LOSS,
        "[most_steps=12]: count, >=1, <=60, whole: Most spacings shorter or longer",
        "[time_limit=5 s]: seconds, >0, <=60 s: Longest search for all purchases together",
    ),
    source=COLUMN_GENERATION.at("one purchase a step"),
    examples=("ROLL_FIT(B1:C15, H1:I5, 8)",),
)  # fmt: skip
def fit_of_rolls(
    piece_lengths: Any, pieces_of_each: Any, roll_lengths: Any, roll_prices: Any,
    emitter_spacing: Any, join_price: Any, join_loss: Any, most_steps: Any, time_limit: Any,
) -> Any:  # fmt: skip
    steps = roll_fit.roll_fit(
        list(piece_lengths), [int(n) for n in pieces_of_each], list(roll_lengths),
        list(roll_prices), emitter_spacing, join_price, join_loss, int(most_steps),
        time_limit=time_limit,
    )  # fmt: skip
    return [
        (step.kind, step.spacings, step.length_change, step.more_lines, step.cost, step.saving,
         step.left_over, ("proven cheapest" if step.proven else "best found in time")
         + ("" if step.complete else "; time ran out before every step was proven"))
        for step in steps
    ]  # fmt: skip


worksheet_function(
    "ROLLS_NEEDED",
    help="Whole rolls for a total length, with an allowance for trimming. Joins are not counted:"
    " see ROLL_PURCHASE.",
    args=(
        "total_length: length, >=0: Total length of all pieces",
        "roll_length: length, >0, divides: Length of one roll",
        "[allowance=0]: ratio, >=0, <=1: Share added for trimming and mistakes",
    ),
    results=(Result("rolls", "count", "Rolls to buy"),),
    source=DEFINITION.at("total length over roll length, rounded up"),
    plain="-INT(-({total_length}*(1+{allowance})/{roll_length}-0.000000001))",
    examples=("ROLLS_NEEDED(1850, 1000, 0.05)",),
)(rolls.rolls_needed)
