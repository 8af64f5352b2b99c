"""What a copy says twice, or of things that are not offered: the consultant settles it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from workbook_template.client_copy.former import Facts
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.water.timer import BY_TIMER
from workbook_template.sheets.water.valves import VALVES
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, WRONG
from xlfuncs.tables.money.parts import PART_LIVES
from xlfuncs.tables.money.prices import BACKFLOW
from xlfuncs.tables.money.quotation import QUOTATION_LINES, is_optional
from xlfuncs.workbooks.our_tables.findings import Finding

LINES = ("drip line", "tape")  # in the names of parts that wear out


def unlike_minutes(facts: Facts) -> dict[str, float]:
    """Beds that get too little or too much by the valve that they share, and how much of it."""
    return {bed: share for bed, (share, _) in _unlike(facts).items()}


def _unlike(facts: Facts) -> dict[str, tuple[float, str]]:
    """The same, with what Checks says of them."""
    if "Valves" not in facts.shown.sheets:
        return {}
    return {str(row["bed"]): (share, str(said)) for row in facts.block(VALVES)
            if (said := row.get("said_by_plan") or row.get("said_of_month"))
            and isinstance(share := row.get("share"), float)}  # fmt: skip


def unsaid_of_backflow(facts: Facts) -> list[str]:
    """What is blank of the backflow protection."""
    return [setting.header for setting in BACKFLOW.settings
            if setting.required and facts.named(setting.name) in (None, "")]  # fmt: skip


def not_told(facts: Facts, findings: Sequence[Finding]) -> list[Finding]:
    """The findings of which the proposal tells the client nothing."""
    said = [words for _, words in _unlike(facts).values()]
    said += [setting.header + BLANK for setting in BACKFLOW.settings]
    return [f for f in findings if not any(words in f.words for words in said)]


def to_settle(others: Sequence[Finding]) -> list[str]:
    """How much is wrong of what the proposal does not tell, which goes before all else."""
    wrong = sum(f.kind == WRONG for f in others)
    words = f"Settle before you send: {wrong} to fill in or wrong, which the client is not told"
    return [words] if wrong else []


def left_open(facts: Facts, others: Sequence[Finding]) -> Iterator[str]:
    """What is open that the proposal tells the client, and whether there is doubt in the `others`,
    of which it says nothing."""
    blanks = ", ".join(unsaid_of_backflow(facts))
    told = [f"backflow protection (blank on Connections: {blanks})"] if blanks else []
    beds = [f"{bed} ({share:.0%})" for bed, share in unlike_minutes(facts).items()]
    told += [f"minutes of {', '.join(beds)}"] if beds else []
    how = facts.text("sets_opened")  # which ends with what nobody lists
    if facts.number("number_of_sets") > 1 and how.startswith(BY_TIMER) and how != BY_TIMER:
        told.append("electric valves and the pipe from tap to each set are not in the price")
    if told:
        yield f"Open, and the proposal says so: {'; '.join(told)}"
    if any(f.kind == DOUBTFUL for f in others):
        yield "Of these doubtful things it says nothing: settle them, or tell the client"


def disagreeing(facts: Facts) -> Iterator[str]:
    """In words: parts that are bought and optional too, lines that are replaced and not laid."""
    lines = [(str(row["item"]), row) for row in facts.rows_behind(QUOTATION_LINES.name)
             if row.get("item")]  # fmt: skip
    optional = [item for item, row in lines if is_optional(row)]
    if "Purchase" in facts.shown.sheets:
        for part in dict.fromkeys(str(r["part"]) for r in facts.block(BOUGHT_ROWS) if r["part"]):
            for item in optional:
                if re.match(rf"{re.escape(part)}\b", item, re.IGNORECASE):
                    yield f"Purchase has {part}, and Quoting offers {item!r} as an optional item"
    for row in facts.rows(PART_LIVES.name):
        if row.get("cost") and not is_there(facts, row):
            yield f"Cost has {row['part']} in its years, which is neither laid nor on Quoting"


def is_there(facts: Facts, wearing: Mapping[str, Any]) -> bool:
    """Whether a part that wears out is there; a drip line is if it is laid or offered."""
    part = str(wearing.get("part") or "").lower()
    kind = next((kind for kind in LINES if kind in part), "")
    laid = {row["line"] for row in facts.rows_behind("Beds")}
    kinds = {"tape" if row.get("kind") == "tape" else "drip line"
             for row in facts.rows_behind("Lines") if row["line"] in laid}  # fmt: skip
    items = (str(row.get("item")).lower() for row in facts.rows_behind(QUOTATION_LINES.name))
    return not kind or kind in kinds or any(kind in item for item in items)
