"""Single values that the counting of parts and the purchase rest on."""

from xlfuncs.tables.columns import Column
from xlfuncs.tables.settings import Section

BUYING = Section(
    "How parts are counted and bought",
    "Change these to see what they cost. Prices and rules stand on their own sheets.",
    (
        Column("end_allowance", "Allowance a line", "width",
               "Added to each line for its connector and end, both together", minimum=0,
               maximum=3, default=0.1524),
        Column("trimming", "Trimming", "ratio",
               "Added to pipe that is bought by length (0.05 by common practice)", minimum=0,
               maximum=1, default=0.05),
        Column("main_turns", "Corners of the main", "count", "Elbows the main needs",
               minimum=0, maximum=1000, default=0),
        Column("old_after", "Prices are old after", "days",
               "Age from which a price is flagged (365 days by common practice)", minimum=1,
               maximum=5000, default=365, internal=True),
    ),
)  # fmt: skip

BACKFLOW = Section(
    "Backflow protection",
    "Describe how it is built; the notes below are a first look. The local authority decides which"
    " kind is allowed, who may install it and how often it is tested.",
    (
        Column("preventer", "Preventer", "text", "Kind of backflow preventer", required=True,
               choices=("hose vacuum breaker", "atmospheric vacuum breaker",
                        "pressure vacuum breaker", "double check valve",
                        "reduced pressure principle", "air gap")),
        Column("valves_after", "Valves after it", "flag",
               "yes where a timer or bed valves stand after it", default=True),
        Column("pressure_hours", "Hours under pressure", "hours",
               "Hours a day that it stands under pressure", minimum=0, maximum=86400,
               required=True),
        Column("preventer_height", "Height of the preventer", "elevation",
               "Its height above the highest outlet; below it negative", required=True,
               minimum=-100, maximum=100),
        Column("injection", "Fertilizer injected", "flag", "yes where anything is injected after"
               " it", default=False),
        Column("back_pressure", "Back pressure", "flag",
               "yes where a pump or a tank uphill can push back", default=False),
    ),
)  # fmt: skip

CUTTING = Section(
    "Lines to cut",
    "One list for each line, in an order to follow with scissors.",
    (
        Column("cut_line_1", "First line", "text", "By its name on Lines",
               one_of=("Lines", "line")),
        Column("cut_line_2", "Second line", "text", "By its name on Lines; blank: none",
               one_of=("Lines", "line")),
    ),
)  # fmt: skip

CHOICES = Section(
    "Time for a watering",
    "The hours on Timer count too; the shorter of both.",
    (
        Column("longest_day", "Longest watering", "hours",
               "Hours for all sets of a watering, one after another", above=0, maximum=86400,
               default=43200),
    ),
)  # fmt: skip
