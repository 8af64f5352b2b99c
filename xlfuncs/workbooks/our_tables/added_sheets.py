"""Names of the sheets that computed columns bring along, and of headings that a check looks for."""

SETTINGS_SHEET = "Water settings"
STATE = "State"  # heads the words on a row of settings, and stands beside single ones
FILL_IN = "fill in"
PURCHASE_SHEET = "Lines to buy"
PRESSURE_SHEET = " pressure"  # the end of the name of the sheet for a list's pressure
PRESSURE_WORDS = "Words"  # heads what is said of a bed there
PRESSURE_SHARE = "Share"  # heads the part of the nominal flow that it gets
