"""What Calc's function wizard says of our functions, and that their names collide with none."""

from __future__ import annotations

import ast
import json
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import pytest

from xlfuncs.catalogue.registry import functions
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import Installation

HOST = Path(oxt.__file__).parent

# Runs in LibreOffice's Python: everything that the wizard knows of every function of Calc.
SCRIPT = """
import json, sys
sys.path.insert(0, sys.argv[1])
import office_driver
calc = office_driver.Calc(sys.argv[2], sys.argv[3], sys.argv[4:])
try:
    known = calc._service("com.sun.star.sheet.FunctionDescriptions")
    told = [{p.Name: p.Value for p in known.getByIndex(i)} for i in range(known.Count)]
    for one in told:
        one["Arguments"] = [[a.Name, a.Description] for a in one["Arguments"] or ()]
    print(json.dumps(told))
finally:
    calc.end()
"""


@pytest.fixture(scope="module")
def wizard(
    installation: Installation, tmp_path_factory: pytest.TempPathFactory
) -> list[dict[str, Any]]:
    folder = tmp_path_factory.mktemp("wizard")
    with zipfile.ZipFile(oxt.build(folder / "xlfuncs.oxt")) as archive:
        archive.extractall(folder / "extensions" / "xlfuncs")
    bundled = f"-env:BUNDLED_EXTENSIONS={(folder / 'extensions').as_uri()}"
    told = subprocess.run(
        [
            installation.python, "-c", SCRIPT, str(HOST), installation.soffice,
            folder / "profile", bundled,
        ],
        env=installation.environment(), capture_output=True, text=True, check=True, timeout=300,
    ).stdout  # fmt: skip
    known: list[dict[str, Any]] = json.loads(told)
    return known


@pytest.mark.libreoffice
def test_every_function_has_its_texts(wizard: list[dict[str, Any]]) -> None:
    told = {one["Name"]: one for one in wizard}
    for name, function in functions().items():
        assert told[name]["Description"].startswith(function.help)
        *first, last = function.positions
        # In a sequence an array formula would call the function for each cell of a table.
        apart = oxt.APART if name == "FINDINGS" else 0
        wanted = [(arg.name, arg.help) for arg in first]
        wanted += [(f"{last.name}_{i}", last.help) for i in range(1, apart + 1)]
        arguments = told[name]["Arguments"]
        for (own, words), arg in zip(arguments, [*wanted, (last.name, last.help)], strict=True):
            assert own == arg[0]
            assert words.startswith(arg[1])


@pytest.mark.libreoffice
def test_no_name_is_one_of_calc(wizard: list[dict[str, Any]]) -> None:
    names = [one["Name"] for one in wizard]
    assert {name for name in functions() if names.count(name) != 1} == set()


@pytest.mark.parametrize("name", ["addin.py", "ways.py", "office_driver.py", "../memory.py"])
def test_runs_in_old_pythons_too(name: str) -> None:
    """These run in LibreOffice's own Python, which on some systems is as old as 3.8."""
    ast.parse((HOST / name).read_text("utf-8"), feature_version=(3, 8))
