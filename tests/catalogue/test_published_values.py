"""Every worksheet function against published values, which are data in tests/published_values.

One TOML file a source:

    [source]
    title = "Author (year), title"
    [[check]]
    place = "Example 18, p. 72"     # where in the source
    function = "REFERENCE_ET_PM"    # a worksheet function, or
    calculation = "evapotranspiration:saturation_vapour_pressure"  # one of xlfuncs.calculations
    inputs = { area = 600, depth = 1, flow = "6 gpm" }   # by argument name; lists are columns
    units = "us"                    # or "metric"; the default is us (functions only)
    printed = 62.338                # as the source prints it; a list for a whole column
    unit = "min"                    # unit of the printed value, in words
    tolerance = 0.01                # absolute; from the printed digits
    status = "read"                 # read | recomputed | definition | from memory | common practice
    column = "cost"                 # of a many-column result
    row = 0                         # of a many-row result
    known_error = "why the source is wrong"   # then `printed` must NOT be met and
    right = 150.86                            # this must be

`definition` is for plain geometry and unit definitions, `recomputed` for values computed with the
named library, `from memory` for values that nobody here has read in the source.
"""

from __future__ import annotations

import math
import tomllib
import warnings
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import xlfuncs
from xlfuncs.catalogue.registry import functions

FOLDER = Path(__file__).parents[1] / "published_values"
STATUSES = {"read", "recomputed", "definition", "from memory", "common practice"}
# Functions whose result is words or that hold together other functions.
WITHOUT_PUBLISHED_VALUE = {"INPUT_CHECK", "FINDINGS", "ROW_CHECK", "LEDGER_CHECK"}


def _load() -> list[tuple[str, dict[str, Any]]]:
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        data = tomllib.loads(path.read_text("utf-8"))
        for check in data["check"]:
            check["source"] = data["source"]["title"]
            name = check.get("function") or check["calculation"]
            found.append((f"{path.stem}: {check['place']}: {name}", check))
    return found


CHECKS = _load()


def _result(check: dict[str, Any]) -> Any:
    inputs = {
        key: np.array(value) if isinstance(value, list) and "calculation" in check else value
        for key, value in check["inputs"].items()
    }
    if "calculation" in check:
        module, name = check["calculation"].split(":")
        return getattr(import_module(f"xlfuncs.calculations.{module}"), name)(**inputs)
    call = getattr(xlfuncs, check["function"].lower())
    result = call(**inputs, units=check.get("units", "us"))
    if "column" in check:
        result = result[check["column"]]
    if "row" in check:
        result = np.asarray(result)[check["row"]]
    return result


@pytest.mark.parametrize("check", [c for _, c in CHECKS], ids=[n for n, _ in CHECKS])
def test_published_value(check: dict[str, Any]) -> None:
    assert check["status"] in STATUSES
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = _result(check)
    wanted = check["right"] if "known_error" in check else check["printed"]
    if isinstance(wanted, str):
        assert result == wanted
        return
    got = np.asarray(result, dtype=float)
    assert got.shape == np.asarray(wanted).shape or got.size == np.asarray(wanted).size == 1
    gap = np.abs(got.ravel() - np.asarray(wanted, float).ravel())
    assert np.all(gap <= check["tolerance"]), got
    if "known_error" in check:
        assert not math.isclose(float(got), check["printed"], abs_tol=check["tolerance"])


def test_every_function_has_a_published_value() -> None:
    checked = {check.get("function") for _, check in CHECKS}
    assert set(functions()) - checked - WITHOUT_PUBLISHED_VALUE == set()
