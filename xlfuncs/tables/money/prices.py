"""The price list: what a part costs, in which pack or roll, by whom and when it was said; single
values that the counting of parts and the purchase rest on."""

from xlfuncs.tables.columns import section, table

PRICES = table(
    "Prices",
    "One row an offer. Several rows of one part are several packs, rolls or price steps to choose"
    " from. All of it is internal: none of it goes into a client's copy.",
    begins="all",
)

NEEDS = table(
    "Needs", "What is needed, one row a part or a length of it, as the purchase takes it."
)

ALREADY_HAVE = table(
    "AlreadyHave",
    "What is there already and counts against the purchase: parts by number, rolls and rests of"
    " line or pipe by their length.",
)

ORDERS = table(
    "Orders",
    "Shops that charge once for an order, however much is in it; the purchase weighs it up.",
)

BUYING = section(
    "How parts are counted and bought",
    "Change these to see what they cost. Prices and rules stand on their own sheets.",
)

BACKFLOW = section(
    "Backflow protection",
    "Describe how it is built; the notes below are a first look. The local authority decides which"
    " kind is allowed, who may install it and how often it is tested.",
)

CUTTING = section("Lines to cut", "One list for each line, in an order to follow with scissors.")

CHOICES = section("Time for a watering", "The hours on Timer count too; the shorter of both.")

TARIFFS = table("Tariffs", "One row a tariff, from the day it holds.", begins="none")

TIERS = table("Tiers", "One row a tier of a tariff, the cheapest water first.", begins="none")
