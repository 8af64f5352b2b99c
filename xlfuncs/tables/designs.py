"""What whole designs are held to, as a table of labels and values."""

from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.columns import table

_OF_SETUP = (
    "weekly_depth", "waterings_a_week", "efficiency", "supply_share", "wanted_share",
    "wanted_uniformity", "max_velocity", "keep_valves", "allowed_from", "allowed_to", "hose_from",
    "hose_to", "longest_day", "layout_single_row", "layout_twin_rows", "layout_zigzag",
    "layout_broad_cover", "layout_row_gap", "end_allowance", "trimming", "main_turns",
    "dirty_filters", "stations", "allowed_days",
)  # fmt: skip
_BY_NAME = {column.name: column for column in SETTINGS}

DESIGN_WANTED = table("DesignWanted", *(_BY_NAME[name] for name in _OF_SETUP))
SUPPLY_CURVE = table("SupplyCurve")
