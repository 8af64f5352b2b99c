"""Editions: the same garden as a workbook for a grower, a consultant, a bookkeeper, or for all.

An edition has the sheets that declare its person, and groups of sheets that were added: "grower",
"grower+costs+ledger". What those need stands on one sheet more, Workings. What nobody needs is not
there.
"""

from collections.abc import Iterable

from workbook_template.kit.declared import ALL, CLIENT, EDITIONS, Edition
from workbook_template.kit.spills import SHEET as RESULTS
from workbook_template.sheets.order import declared_sheets
from xlfuncs.errors import WorkbookError


def groups() -> dict[str, list[str]]:
    """The groups of sheets that can be added, each with its sheets."""
    found: dict[str, list[str]] = {}
    for sheet in declared_sheets().values():
        if sheet.group:
            found.setdefault(sheet.group, []).append(sheet.name)
    return found


def edition(name: str) -> Edition:
    """The sheets of an edition by its name; WorkbookError for a name that is none."""
    person, *added = name.split("+")
    if name == CLIENT:
        clients = frozenset(s.name for s in declared_sheets().values() if s.client is not None)
        return Edition(name, clients, frozenset())
    if person not in EDITIONS:
        raise WorkbookError(f"no edition {person!r}; there are: {', '.join(EDITIONS)}")
    sheets = declared_sheets()
    shown = {s.name for s in sheets.values() if person == ALL or person in s.people}
    for group in added:
        shown.update(_group(group))
    behind = _needed(shown) - shown
    (shown if person == ALL else behind).add(RESULTS)
    return Edition(name, frozenset(shown), frozenset(behind))


def with_group(name: str, group: str) -> str:
    """The name of an edition with a group of sheets added to it."""
    if set(_group(group)) <= edition(name).shown:
        raise WorkbookError(f"the sheets of {group!r} are there already")
    return f"{name}+{group}"


def edition_of(sheets: Iterable[str]) -> str:
    """The person's edition that is most like these sheets, for a file that does not say."""
    there = set(sheets)

    def unlike(person: str) -> int:
        return len(edition(person).shown ^ there)

    return min(reversed(EDITIONS), key=unlike)


def _group(name: str) -> list[str]:
    if name not in groups():
        raise WorkbookError(f"no group of sheets {name!r}; there are: {', '.join(groups())}")
    return groups()[name]


def _needed(shown: set[str]) -> set[str]:
    """Every sheet that those shown rest on, near or far."""
    found, waiting = set(shown), list(shown)
    while waiting:
        new = set(declared_sheets()[waiting.pop()].needs) - found
        found |= new
        waiting += new
    return found
