"""What a timer can do and when it may water, as TIMER_PROGRAM takes it."""

from xlfuncs.tables.columns import section, table

TIMER = section("Timer", "Read the limits in the timer's own manual. One timer on one supply.")

TIMER_SETTINGS = table(
    "TimerSettings",
    "The same as labels and values, with the days a week that sets are watered on.",
    *TIMER.settings,
)

TIMER_SETS = table("TimerSets", "One row a set: what one timer waters one after the other.")
