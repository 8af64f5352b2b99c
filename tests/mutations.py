"""Small wrong changes, one at a time, and whether a test notices: `python tests/mutations.py`.

    python tests/mutations.py 60 xlfuncs/calculations/money tests/calculations/money tests/catalogue

takes so many changes from the files of a room, at random from a fixed seed, runs the tests named
after it against each, and prints what nobody noticed and the share that was. A change alters a
value: a number, an operator, a comparison, a bound, a branch; words and types are left alone. It
works on a copy of the checkout.
"""

from __future__ import annotations

import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[1]
SWAPPED: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div, ast.Pow: ast.Mult, ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE,
    ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
CALLS = {"min": "max", "max": "min", "ceil": "floor", "floor": "ceil", "maximum": "minimum",
         "minimum": "maximum", "any": "all", "all": "any"}  # fmt: skip
TIME_LIMIT = 300  # s; a change that makes the tests hang is noticed


class Change(NamedTuple):
    """A file, which of its places that can be changed (in the order of a walk), and how."""

    path: Path
    place: int
    line: int
    words: str


def changed(tree: ast.AST, place: int) -> tuple[int, str]:
    """Change that place of the tree; its line and what was done. Raises StopIteration past all."""
    for number, (node, kind) in enumerate(places(tree)):
        if number == place:
            return node.lineno, _change(node, kind)
    raise StopIteration


def places(tree: ast.AST):
    """Every place that can be changed, with the kind of change."""
    skipped = {
        id(inner)
        for node in ast.walk(tree)
        for outer in _left_alone(node)
        for inner in ast.walk(outer)
    }
    for node in ast.walk(tree):
        if id(node) in skipped:
            continue
        if isinstance(node, ast.Constant) and type(node.value) in (int, float, bool):
            yield node, "constant"
        elif (
            isinstance(node, (ast.BinOp, ast.AugAssign)) and type(node.op) in SWAPPED
        ) or isinstance(node, ast.BoolOp):
            yield node, "operator"
        elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPPED:
            yield node, "comparison"
        elif isinstance(node, (ast.If, ast.IfExp, ast.While)):
            yield node, "branch"
        elif isinstance(node, ast.Call) and _called(node) in CALLS:
            yield node, "call"
        elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
            yield node, "sign"


def _left_alone(node: ast.AST) -> list[ast.AST]:
    """Annotations, raised errors (their words), asserts, decorators of declarations."""
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        found: list[ast.AST] = [*node.decorator_list]
        if isinstance(node, ast.FunctionDef):
            found += [a.annotation for a in ast.walk(node.args) if getattr(a, "annotation", None)]
            found += [node.returns] if node.returns else []
        return found
    if isinstance(node, (ast.Raise, ast.Assert, ast.JoinedStr)):
        return [node]
    if isinstance(node, ast.AnnAssign):
        return [node.annotation]
    if isinstance(node, ast.keyword) and node.arg in ("strict", "stacklevel", "maxsize", "dtype"):
        return [node.value]
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        return [node.test]
    return []


def _called(node: ast.Call) -> str:
    function = node.func
    return function.attr if isinstance(function, ast.Attribute) else getattr(function, "id", "")


def _change(node: ast.AST, kind: str) -> str:
    before = ast.unparse(node).split("\n")[0][:70]
    if kind == "constant":
        if isinstance(node.value, bool):
            node.value = not node.value
        elif isinstance(node.value, int):
            node.value += 1
        else:
            node.value = node.value * 1.01 + (0.01 if node.value == 0 else 0.0)
    elif kind == "operator":
        node.op = SWAPPED[type(node.op)]()
    elif kind == "comparison":
        node.ops[0] = SWAPPED[type(node.ops[0])]()
    elif kind == "branch":
        node.test = ast.UnaryOp(ast.Not(), node.test)
    elif kind == "call":
        name = CALLS[_called(node)]
        if isinstance(node.func, ast.Attribute):
            node.func.attr = name
        else:
            node.func.id = name
    else:
        node.op = ast.UAdd()
    after = ast.unparse(ast.fix_missing_locations(node)).split("\n")[0][:70]
    return f"{before}  ->  {after}"


def all_changes(room: Path) -> list[Change]:
    found = []
    for path in sorted(room.rglob("*.py")) if room.is_dir() else [room]:
        count = sum(1 for _ in places(ast.parse(path.read_text("utf-8"))))
        found += [Change(path.relative_to(ROOT), place, 0, "") for place in range(count)]
    return found


def is_noticed(copy: Path, tests: list[str]) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests]
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(
            command, cwd=copy, env=environment, capture_output=True, timeout=TIME_LIMIT
        )
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


def main(number: int, room: str, tests: list[str]) -> None:
    chance = random.Random(room)
    candidates = all_changes(ROOT / room)
    chosen = chance.sample(candidates, min(number, len(candidates)))
    noticed = 0
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "checkout"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "__pycache__"))
        for change in chosen:
            source = (ROOT / change.path).read_text("utf-8")
            tree = ast.parse(source)
            line, words = changed(tree, change.place)
            (copy / change.path).write_text(ast.unparse(tree), "utf-8")
            if is_noticed(copy, tests):
                noticed += 1
            else:
                print(f"not noticed: {change.path}:{line}: {words}", flush=True)
            (copy / change.path).write_text(source, "utf-8")
    print(f"{room}: {noticed} of {len(chosen)} noticed ({len(candidates)} possible)")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2], sys.argv[3:])
