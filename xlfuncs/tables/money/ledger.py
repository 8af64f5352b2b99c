"""The ledger: what was used and paid, one row an entry, and the readings of the water meter."""

from xlfuncs.tables.columns import table

# What the usual kinds are counted in: the dimension whose default unit in the workbook's system
# every quantity of the kind is in, so that one kind has one unit. Other kinds may be added.
KINDS = {
    "water": "billed_volume",
    "sewer": "billed_volume",
    "electricity": "energy",
    "tape": "length",
    "drip line": "length",
    "tubing": "length",
    "fittings": "count",
    "filters": "count",
    "labor": "hours",
}

LEDGER = table("Ledger")
READINGS = table("Readings")
YEARS = table("Years")
