"""All worksheet functions: the topic files are found, loaded once, and looked up by name."""

from __future__ import annotations

import pkgutil
from functools import lru_cache
from importlib import import_module

import xlfuncs.catalogue
from xlfuncs.catalogue.declaration import FUNCTIONS, WorksheetFunction

TOPICS = {
    "flow": "Area, volume, flow",
    "time": "Time",
    "pressure": "Pressure",
    "water_need": "Water need",
    "buying": "Buying",
    "money": "Money",
    "checks": "Checks",
}


@lru_cache(maxsize=1)
def functions() -> dict[str, WorksheetFunction]:
    """Every worksheet function by its name, in the order of the topics."""
    for module in pkgutil.iter_modules(xlfuncs.catalogue.__path__):
        import_module(f"xlfuncs.catalogue.{module.name}")
    order = list(TOPICS)
    return dict(sorted(FUNCTIONS.items(), key=lambda item: (order.index(item[1].topic), item[0])))


def find(name: str) -> WorksheetFunction:
    """A worksheet function by its name in either case; KeyError lists near names."""
    known = functions()
    try:
        return known[name.upper()]
    except KeyError:
        from difflib import get_close_matches

        near = get_close_matches(name.upper(), known, n=3)
        hint = f"; did you mean {', '.join(near)}?" if near else ""
        raise KeyError(f"there is no function {name!r}{hint}") from None
