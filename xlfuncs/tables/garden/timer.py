"""What a timer can do and when it may water, as TIMER_PROGRAM takes it."""

from xlfuncs.tables.columns import section, table

TIMER = section("Timer")
TIMER_SETTINGS = table("TimerSettings", *TIMER.settings)
TIMER_SETS = table("TimerSets")
