"""What a sheet says of itself: for whom it is, what it rests on, what a client may see of it."""

from dataclasses import dataclass

GROWER, CONSULTANT, BOOKKEEPER = "grower", "consultant", "bookkeeper"
PEOPLE = (GROWER, CONSULTANT, BOOKKEEPER)
ALL = "all"
EDITIONS = (*PEOPLE, ALL)
CLIENT = "client"  # gets a copy, see client_copy
# How a client sees a sheet, in the order of the copy: a document of its date, values only, so that
# no fact changes; before the sheets that stand in the order of the work; among them.
AS_DELIVERED, SEEN_FIRST, SEEN = "as delivered", "seen first", "seen"
FOR_CLIENT = (AS_DELIVERED, SEEN_FIRST, SEEN)


@dataclass(frozen=True)
class SheetFor:
    """A sheet of the template; its module lists it under SHEETS and writes it."""

    name: str
    words: str = ""  # below its title
    people: tuple[str, ...] = ()  # whose edition has it
    title: str = ""  # blank: its name
    group: str = ""  # of sheets that are added together
    needs: tuple[str, ...] = ()  # sheets whose numbers it cannot do without
    reads: tuple[str, ...] = ()  # and those whose numbers it uses where they are filled in
    client: str = ""  # one of FOR_CLIENT; blank: no client sees it


@dataclass(frozen=True)
class Edition:
    """The sheets of a workbook: shown each as its own, or behind, together on one.

    A client's has all others computed too, but not in the file.
    """

    name: str
    shown: frozenset[str]
    behind: frozenset[str]

    @property
    def for_client(self) -> bool:
        return self.name == CLIENT

    def has(self, sheet: str) -> bool:
        return sheet in self.shown or sheet in self.behind
