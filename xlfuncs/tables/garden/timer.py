"""What a timer can do and when it may water, as TIMER_PROGRAM takes it."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.settings import Section

FOLLOWS = ("Setup", "month", "this week")
TIMER = Section(
    "Timer",
    "Read the limits in the timer's own manual. One timer on one supply.",
    (
        Column("stations", "Stations", "count", "Valves that the timer can open, one at a time",
               required=True, minimum=0, maximum=200),
        Column("programs", "Programs", "count", "Programs, each with its own days and start times",
               default=3, minimum=1, maximum=26),
        Column("starts_per_program", "Starts a program", "count", "Start times of one program",
               default=4, minimum=1, maximum=24),
        Column("minute_step", "Step of run times", "time", "Smallest step of a station's run time",
               default=60.0, above=0, maximum=3600),
        Column("longest_run", "Longest run", "time", "Longest run time that can be entered",
               default=14400.0, above=0, maximum=86400),
        Column("timer_follows", "Follows", "text",
               "Setup: its waterings a week, with the minutes of the month below; month: as many"
               " waterings as Season finds suit that month; this week: the advice on This week",
               choices=FOLLOWS, default=FOLLOWS[0]),
        Column("timer_month", "Month to program", "count",
               "1 to 12: minutes of that month on Season; blank: those for the net depth a week"
               " on Setup", minimum=1, maximum=12),
        Column("seasonal_percentage", "Seasonal percentage", "ratio",
               "The timer's own adjustment of all run times, as it stands now; 1 is 100 %",
               default=1.0, above=0, maximum=3),
        Column("allowed_from", "Water from", "clock",
               "From when water may run, as 04:30 (4.5 is the same)",
               required=True, minimum=0, maximum=86400),
        Column("allowed_to", "Water until", "clock",
               "By when all must be off, as 09:00; earlier than the first: over midnight",
               required=True, minimum=0, maximum=86400),
        Column("allowed_days", "Days", "text", "Days that may have water, e.g. Mon Wed Fri;"
               " blank: all", default=""),
        Column("soak", "Soak", "time", "Minimum pause between the cycles of one set",
               default=1800.0, minimum=0, maximum=43200),
        Column("hose_from", "Hose from", "clock", "From when a hose takes water too",
               minimum=0, maximum=86400),
        Column("hose_to", "Hose until", "clock", "Until when a hose takes water too",
               minimum=0, maximum=86400),
    ),
)  # fmt: skip

TIMER_SETTINGS = Table(
    "TimerSettings",
    "The same as labels and values, with the days a week that sets are watered on.",
    (
        *TIMER.settings,
        Column("watering_days", "Days a week", "count", "Days a week with water", minimum=1,
               maximum=7),
    ),
)  # fmt: skip

TIMER_SETS = Table(
    "TimerSets",
    "One row a set: what one timer waters one after the other.",
    (
        Column("minutes", "Wanted", "time", "Minutes of one watering", required=True, minimum=0,
               synonyms=("minutes", "run time", "minutes wanted")),
        Column("waterings", "Waterings", "count", "Days a week with water", minimum=1, maximum=7,
               synonyms=("days a week", "waterings a week")),
        Column("cycles", "Cycles", "count", "Runs that one watering is split into", minimum=1,
               default=1, synonyms=("runs",)),
    ),
)  # fmt: skip
