"""All worksheet functions, looked up by name; a topic file is loaded when one of its is asked for.

Which file declares which function is kept in declared_in.txt, because loading every declaration
with its calculations takes longer than recalculating a workbook that uses two of them. After a
new declaration: `python -m xlfuncs.catalogue.registry`.
"""

import inspect
import pkgutil
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import import_module
from pathlib import Path

from xlfuncs.catalogue.declaration import FUNCTIONS, TOPICS, WorksheetFunction

_DECLARATION = re.compile(r'^@?worksheet_function\(\s*"(\w+)"', re.MULTILINE)
_TOPICS = Path(__file__).with_name("topics")
_KEPT = Path(__file__).with_name("declared_in.txt")


class _Functions(Mapping[str, WorksheetFunction]):
    """Names are known from the start; a declaration is loaded when it is looked up."""

    def __init__(self, declared_in: Mapping[str, str]) -> None:
        self._declared_in = declared_in

    def __getitem__(self, name: str) -> WorksheetFunction:
        if name not in FUNCTIONS:
            import_module(self._declared_in[name])
        return FUNCTIONS[name]

    def __contains__(self, name: object) -> bool:
        return name in self._declared_in

    def __iter__(self) -> Iterator[str]:
        return iter(self._declared_in)

    def __len__(self) -> int:
        return len(self._declared_in)


@lru_cache(maxsize=1)
def functions() -> Mapping[str, WorksheetFunction]:
    """Every worksheet function by its name, in the order of the topics."""
    lines = _KEPT.read_text("ascii").splitlines()
    return _Functions(dict(line.split() for line in lines))


def declared_in() -> dict[str, str]:
    """The module that declares each function, by loading all; a test compares what is kept."""
    modules: dict[str, str] = {}
    for module in pkgutil.walk_packages([str(_TOPICS)], "xlfuncs.catalogue.topics."):
        if not module.ispkg:
            text = inspect.getsource(import_module(module.name))
            modules |= dict.fromkeys(_DECLARATION.findall(text), module.name)
    order = list(TOPICS)
    found = sorted(FUNCTIONS.values(), key=lambda f: (order.index(f.topic), f.name))
    return {function.name: modules[function.name] for function in found}


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


if __name__ == "__main__":
    _KEPT.write_text("".join(f"{name} {module}\n" for name, module in declared_in().items()))
