"""What was measured in the garden once the lines lay, to be compared with the plan."""

from xlfuncs.tables.columns import Column, Table

CUPS = 16
"""Emitters of a catch test; a quarter of them is the low quarter."""

FIELD_CHECKS = Table(
    "FieldChecks",
    "One row a check of a bed, with its valve open and its lines full: the flow by the water meter,"
    " the pressure by a gauge at the end of the farthest line.",
    (
        Column("bed", "Bed", "text", "Which bed, by its name on Beds", required=True,
               one_of=("Beds", "bed")),
        Column("checked_on", "Date", "date", "Day of the check"),
        Column("metered_flow", "Metered flow", "flow",
               "Flow of the bed alone: what the meter shows with this bed open less without it",
               minimum=0, maximum=2000 / 3600),
        Column("far_pressure", "Far-end pressure", "pressure",
               "By a gauge at the end of the bed's farthest line, while it runs", minimum=0,
               maximum=2e6),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="none",
)  # fmt: skip

CATCH_TESTS = Table(
    "CatchTests",
    "One row a catch test of a bed: cups of one kind under emitters spread over it, near and far,"
    " first line and last; what each caught, as a flow, or as it is for the uniformity alone.",
    (
        Column("bed", "Bed", "text", "Which bed, by its name on Beds", required=True,
               one_of=("Beds", "bed")),
        Column("checked_on", "Date", "date", "Day of the test"),
        *(Column(f"cup_{i}", f"Cup {i}", "emitter_flow", "Flow caught under one emitter",
                 minimum=0, maximum=100e-3 / 3600) for i in range(1, CUPS + 1)),
        Column("note", "Note", "text", "Anything to remember", internal=True),
    ),
    begins="none",
)  # fmt: skip
