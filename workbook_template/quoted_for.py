"""For whom a quotation is: one line in the terminal, where somebody is there to answer."""

import re
from collections.abc import Iterable, Mapping
from typing import Any

from xlfuncs.workbooks.lists.questions import Question

KEY = ("settings", "quotation")  # of the answer, in a mapping file
HOURS = "labour_hours"
BY = "prepared_by"
KEPT = (BY, "payment")  # asked for too where the workbook before does not say them
ASKED = {  # in words, with an example
    "client": ("client", "Sample family"), "site": ("site", "3 Hill Road"),
    "quotation_number": ("its number", "Q-31"), HOURS: ("hours of labor", "12"),
    BY: ("prepared by", "A. Sample, 555-0100"), "payment": ("terms of payment", "14 days net"),
}  # fmt: skip


def question(settings: Mapping[str, Any], usual_hours: float, beds: int) -> Question:
    """The client, the site, the number, the hours; what is kept, if that is not known."""
    terms = _terms(settings)
    each = f"{usual_hours / beds:.2g} a bed as last time" if usual_hours else ""
    usual = f" (blank: {each})" if each else ""
    listed = "; ".join(ASKED[term][0] + usual * (term == HOURS) for term in terms)
    example = "; ".join(ASKED[term][1] for term in terms)
    taken = f"with {_half(usual_hours):g} h" * bool(each)
    return Question(KEY, f"Quotation: {listed}; as {example}", later=True, proposed=taken,
                    fault=_fault)  # fmt: skip


def terms_of(
    answers: Mapping[str, Any], settings: Mapping[str, Any], usual_hours: float
) -> tuple[dict[str, Any], list[str]]:
    """The settings that the answer gives, and in words what is assumed where it gives no hours."""
    found: dict[str, Any] = _given(answers.get(KEY[1], ""), _terms(settings))
    if HOURS in found:
        found[HOURS] = float(found[HOURS].replace(",", "."))
    elif usual_hours:
        found[HOURS] = _half(usual_hours)
        return found, [f"Assumed on Quoting: Labor {found[HOURS]:g} h, by bed as last time"]
    return found, []


def _half(hours: float) -> float:
    return round(hours * 2) / 2


def _terms(settings: Mapping[str, Any]) -> list[str]:
    return [t for t in ASKED if t not in KEPT or "invented" in str(settings.get(t) or "invented")]


def _given(words: str, terms: Iterable[str]) -> dict[str, str]:
    parts = map(str.strip, words.split(";"))
    return {term: part for term, part in zip(terms, parts, strict=False) if part}


def _fault(words: str) -> str:
    hours = _given(words, ASKED).get(HOURS, "0")
    return "" if re.fullmatch(r"\d+([.,]\d*)?", hours) else f"{hours!r} is no number of hours."
