"""The three ways of data that DEVELOPERS.md lists read from the top down.

Each is run in a process of its own while every call from file to file is noted: the files of the
list are met in its order, and none of them calls one that calls it. What is handed down to be
called is let through by name: how a host reads and writes its cells, and what is remembered.
"""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
HANDED_DOWN = {"_in_full", "answer"}
WAYS = {
    "a cell's call": (
        "from xlfuncs.hosts.excel import functions",
        "functions.RAIN_UNDER_COVER([[10.0], [20.0]], [['open'], ['tunnel']])",
    ),
    "a bed list into a workbook": (
        "from xlfuncs.command_line.main import commands; from click.testing import CliRunner",
        "more = ['--beds', {beds!r}, '--mapping', {mapping!r}]\n"
        "done = CliRunner().invoke(commands, ['new', 'g.xlsx', '--for', 'grower', *more])\n"
        "assert not done.exit_code, done.output",
    ),
    "recalculating someone's workbook": (
        "from xlfuncs.command_line.main import commands; from click.testing import CliRunner\n"
        "CliRunner().invoke(commands, ['new', 'g.xlsx', '--for', 'grower'])",
        "done = CliRunner().invoke(commands, ['recalculate', 'g.xlsx'])\n"
        "assert not done.exit_code, done.output",
    ),
}
NOTED = """
import inspect, json, sys
first, edges, loading, known = {}, {}, 0, {}
def ours(code):
    if id(code) not in known:  # held, so that no other gets its number
        name, packages = code.co_filename, (ROOT + "xlfuncs", ROOT + "workbook_template")
        known[id(code)] = code, name[len(ROOT):] if name.startswith(packages) else ""
    return known[id(code)][1]
def note(frame, event, _):
    global loading
    if event != "call" and (event != "return" or not loading):  # millions, of C's own too
        return
    code = frame.f_code
    if code.co_name == "<module>":
        loading += (event == "call") - (event == "return")
    if event != "call" or loading or not code.co_flags & inspect.CO_OPTIMIZED or not ours(code):
        return
    caller = frame.f_back
    while caller is not None and not ours(caller.f_code):
        caller = caller.f_back
    first.setdefault(ours(code))
    if caller is not None and ours(caller.f_code) != ours(code):
        edges.setdefault((ours(caller.f_code), ours(code)), set()).add(caller.f_code.co_name)
"""


def listed(way: str) -> list[list[str]]:
    """The files of one column of DEVELOPERS.md's table, row by row, as ends of their paths."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.search(r"## Three ways of data\n.*?\n\n(.*?)\n\n", text, re.S)
    assert rows
    cells = [re.split(r"\s*\|\s*", row)[1:-1] for row in rows[1].split("\n")]
    column = cells[0].index(way)
    rest = [row[column] for row in cells[2:] if len(row) > column and row[column]]
    return [re.findall(r"`(\S+\.py|\S+/)`", cell) for cell in rest]


@pytest.mark.parametrize("way", WAYS)
def test_a_way_reads_from_the_top_down(way: str, tmp_path: Path) -> None:
    before, run = WAYS[way]
    beds = str(ROOT / "examples" / "us" / "handwritten_beds")
    run = run.format(beds=beds + ".csv", mapping=beds + ".mapping.toml")
    script = (
        f"ROOT = {str(ROOT) + os.sep!r}\n{NOTED}\n{before}\nsys.setprofile(note)\n"
        f"{run}\nsys.setprofile(None)\n"
        "print(json.dumps([list(first), [[*edge, sorted(by)] for edge, by in edges.items()]]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True, text=True,
    )  # fmt: skip
    assert not done.returncode, done.stderr
    met, edges = json.loads(done.stdout.splitlines()[-1])

    rows = [
        [part for part in row if any(f"/{part}" in f"/{f}" for f in met)] for row in listed(way)
    ]
    assert len(rows) > 5 and all(rows), "a row of which nothing is called"
    parts = [part for row in rows for part in row]
    places = [next(i for i, file in enumerate(met) if f"/{part}" in f"/{file}") for part in parts]
    assert places == sorted(places), str(dict(zip(parts, places, strict=True)))
    calls = {
        (caller, called)
        for caller, called, by in edges
        if not set(by) <= HANDED_DOWN and any(f"/{part}" in f"/{called}" for part in parts)
    }
    assert not [pair for pair in calls if pair[::-1] in calls], "two files that call each other"
