"""The template's versions, and what each changed in numbers; renewal tells it beside each change.

A change of a calculation or of a sheet that gives other numbers for the same inputs adds a line to
the version that is not yet out, whose number is `TEMPLATE_VERSION` in
`xlfuncs.workbooks.our_tables.read_inputs`.
"""

from typing import NamedTuple


class Change(NamedTuple):
    """What a version changed; `sheets` are those whose own numbers it changed."""

    version: int
    sheets: tuple[str, ...]
    words: str


CHANGES: tuple[Change, ...] = (
    Change(1, ("Supply", "Valves", "Timer", "Summary", "Pressure"),
           "beds are dealt into sets, and sets judged, by one rule for every sheet"),
    Change(1, ("Purchase", "Cut list", "Designs", "Summary"),
           "lines are bought and cut on their exact lengths, with what you have already, price"
           " steps and orders; rolls and their cost are said once, by Purchase"),
    Change(1, ("Plan", "Bed need", "Need", "Season", "Timer", "Valves"),
           "crop stages are fitted to the dates of the plan, roots grow with the crop, mulch and"
           " tunnels leave a share of the use"),
    Change(1, ("Bed need", "Need", "Season", "Valves", "Timer", "Weather"),
           "dependable rain is counted on in place of mean rain, unless Setup says otherwise; the"
           " peak is that of the thirstiest bed"),
    Change(1, ("Season",),
           "percentages are by valve, from its beds with a crop only, and one for all lies midway"
           " between the mean and the greatest of them"),
    Change(1, ("Plan", "Checks"),
           "waterings are often enough by their longest gap, against whole days"),
    Change(1, ("Ledger", "Years", "Year detail", "Water bills"),
           "the year explained is the last whole one; compared are the days that are on bills in"
           " both years; a year nearly billed counts with the need of the whole of it"),
    Change(1, ("Years", "Year detail", "Water bills"),
           "money back without a quantity is a credit, no fixed amount; what an exchange of meters"
           " in mid-period adds stands apart from use and fixed charges"),
    Change(1, ("Quoting",),
           "parts by the list are said before tax too, for a price is taxed itself"),
    Change(1, ("Start", "Checks", "Beds"),
           "one list says what is wrong, doubtful or worth knowing; every state counts it"),
    Change(1, ("Cut list",), "the price of a roll with its tax is in whole cents"),
    Change(1, ("Years", "Year detail", "Water bills"),
           "a year's need beyond rain comes from the log where none is typed; a year without one is"
           " compared without weather, and so is a part of a year"),
    Change(1, ("Plan", "This week", "Timer"),
           "the wetted share is of the planted width, as need is, no more of the bed top"),
    Change(1, ("Timer", "Designs"),
           "no more days a week than the timer's days allow; designs must fit into the hours of"
           " those days, and their depth rests on the efficiency in use"),
    Change(1, ("Designs",), "sets are searched further, by counted work: some designs are cheaper"),
    Change(1, ("Setup", "Summary", "Timer", "Checks"),
           "the flow to plan with is of the supply in use, a well's or a pump's too"),
)  # fmt: skip


def why(sheet: str, since: int) -> str:
    """What changed on a sheet since a version, in words; '' where no change of its own is known."""
    return "; ".join(c.words for c in CHANGES if c.version > since and sheet in c.sheets)
