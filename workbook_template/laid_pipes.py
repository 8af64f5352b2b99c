"""Pipes as the beds name them, and as the counting rules buy them."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from workbook_template.kit.inputs import Inputs
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.lines import PIPES
from xlfuncs.tables.money.parts import COUNTING_RULES, PIPES_COUNTED


def lay_pipes(rows: Sequence[dict[str, Any]], start: Inputs) -> dict[str, str]:
    """Gives beds whose list says nothing of pipes those that the counting rules buy, and says which
    by column; a bed of one line needs no pipe across its head."""
    rules = {rule.get("counted_by"): str(rule["part"]) for rule in start.tables[COUNTING_RULES.name]
             if rule.get("counted_by") in PIPES_COUNTED and not rule.get("every")}  # fmt: skip
    found = {column: rules[counted] for counted, column in PIPES_COUNTED.items()
             if counted in rules and not any(column in row for row in rows)}  # fmt: skip
    for row in rows:
        alone = row.get("laterals") in (0, 1)
        row |= {c: p for c, p in found.items() if c == "main_pipe" or not alone}
    return found


def bought_as_laid(inputs: Inputs) -> tuple[Inputs, list[str]]:
    """The inputs with the pipes that all beds name bought by the counting rules, in words which."""
    pipes = {row.get("pipe") for row in inputs.tables[PIPES.name]}
    rules, said = [], []
    for rule in inputs.tables[COUNTING_RULES.name]:
        column = PIPES_COUNTED.get(str(rule.get("counted_by")), "")
        laid = {bed[column] for bed in inputs.tables[BEDS.name] if bed.get(column)} & pipes
        if rule.get("part") in pipes and len(laid) == 1 and rule["part"] not in laid:
            rule = {**rule, "part": laid.pop()}
            said.append(f"{rule['part']} is bought by the {rule['counted_by']}, as Beds says")
        rules.append(rule)
    return replace(inputs, tables={**inputs.tables, COUNTING_RULES.name: rules}), said
