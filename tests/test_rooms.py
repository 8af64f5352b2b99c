"""The code stays easy to find one's way in: no circles of files, small folders, small modules."""

from __future__ import annotations

import ast
from collections import Counter
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).parents[1]
FILES = [path for room in ("xlfuncs", "workbook_template") for path in (ROOT / room).rglob("*.py")]


def _module(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts).removesuffix(".__init__")


def _imported(path: Path, modules: set[str]) -> set[str]:
    """The modules of ours that a file imports, wherever in it; what it imports for types too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= names & modules or {node.module}
    return found & modules


def test_no_files_import_each_other_in_a_circle() -> None:
    modules = {_module(path) for path in FILES}
    imports = {_module(path): _imported(path, modules) for path in FILES}
    TopologicalSorter(imports).prepare()  # raises CycleError, which names the circle


MOST_LINES, MOST_MODULES = 300, 20


def test_modules_fit_a_few_screens() -> None:
    lines = {str(path.relative_to(ROOT).as_posix()): _lines(path) for path in FILES}
    over = {n: count for n, count in lines.items() if count > MOST_LINES}
    assert over == {}


def test_folders_are_seen_at_a_glance() -> None:
    modules = Counter(p.parent.relative_to(ROOT).as_posix() for p in FILES if p.stem != "__init__")
    over = {n: count for n, count in modules.items() if count > MOST_MODULES}
    assert over == {}


def _lines(path: Path) -> int:
    return len(path.read_text(encoding="utf-8").splitlines())


def test_a_persons_page_is_read_in_a_few_minutes() -> None:
    for person in ("grower", "consultant", "bookkeeper"):
        lines = (ROOT / "examples" / f"{person}.md").read_text().splitlines()
        assert len(lines) <= 60, f"{person}: what is more goes to a page beside it"
