"""The price list: what a part costs, in which pack or roll, by whom and when it was said; single
values that the counting of parts and the purchase rest on."""

from xlfuncs.tables.columns import section, table

PRICES = table("Prices")
NEEDS = table("Needs")
ALREADY_HAVE = table("AlreadyHave")
ORDERS = table("Orders")
BUYING = section("How parts are counted and bought")
BACKFLOW = section("Backflow protection")
CUTTING = section("Lines to cut")
CHOICES = section("Time for a watering")
TARIFFS = table("Tariffs")
TIERS = table("Tiers")
