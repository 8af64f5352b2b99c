"""What beds are fed by is what is bought, where the counting rules are not there to be changed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.made_once import made
from workbook_template.build import demo_inputs
from workbook_template.kit.declared import GROWER
from workbook_template.laid_pipes import bought_as_laid
from workbook_template.renewal.renewing import remade


def fed_by_another_main(system: str):
    inputs = demo_inputs(system)
    known = [row["pipe"] for row in inputs.tables["Pipes"]]
    used = inputs.tables["Beds"][0]["main_pipe"]
    other = next(pipe for pipe in known if pipe != used)
    beds = [{**bed, "main_pipe": other} for bed in inputs.tables["Beds"]]
    return replace(inputs, tables={**inputs.tables, "Beds": beds}), other


@pytest.mark.parametrize("system", ["us", "metric"])
def test_one_main_on_all_beds_is_the_one_that_is_bought(system: str) -> None:
    assert bought_as_laid(demo_inputs(system)) == (demo_inputs(system), [])
    inputs, other = fed_by_another_main(system)
    found, said = bought_as_laid(inputs)
    rules = [row for row in found.tables["CountingRules"] if row["counted_by"] == "main length"]
    assert other in {row["part"] for row in rules}
    assert said == [f"{other} is bought by the main length, as Beds says"]


def test_renew_does_it_where_no_sheet_has_the_rules() -> None:
    inputs, other = fed_by_another_main("us")
    content, _ = made("us", inputs, edition=GROWER)
    note = f"Note: {other} is bought by the main length, as Beds says"
    assert note in str(remade(content))
    assert note not in str(remade(content, edition="consultant"))
