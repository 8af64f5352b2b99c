"""Declarations: the simple answer to how many rolls."""

from xlfuncs.calculations.buying import rolls
from xlfuncs.catalogue.declaration import Arg, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION

worksheet_function(
    "ROLLS_NEEDED",
    topic="buying",
    help="Whole rolls for a total length, with an allowance for trimming. Joins are not counted:"
    " see ROLL_PURCHASE.",
    args=(
        Arg("total_length", "length", "Total length of all pieces", minimum=0),
        Arg("roll_length", "length", "Length of one roll", above=0, divides=True),
        Arg("allowance", "ratio", "Share added for trimming and mistakes (default 0)",
            default=0, minimum=0, maximum=1),
    ),
    results=(Result("rolls", "count", "Rolls to buy"),),
    source=DEFINITION.at("total length over roll length, rounded up"),
    plain="-INT(-({total_length}*(1+{allowance})/{roll_length}-0.000000001))",
    examples=("ROLLS_NEEDED(1850, 1000, 0.05)",),
)(rolls.rolls_needed)  # fmt: skip
