"""For whom a quotation is: one line in the terminal, where somebody is there to answer."""

from collections.abc import Mapping
from typing import Any

from xlfuncs.workbooks.lists.questions import Question

KEY = ("settings", "quotation")  # of the answer, in a mapping file
HOURS = "labour_hours"
BY = "prepared_by"  # asked for too where the workbook before does not say it
ASKED = {  # in words, with an example
    "client": ("client", "Sample family"), "site": ("site", "3 Hill Road"),
    "quotation_number": ("its number", "Q-31"), HOURS: ("hours of labor", "12"),
    BY: ("prepared by", "A. Sample, 555-0100"),
}  # fmt: skip


def question(settings: Mapping[str, Any], hours_a_bed: float) -> Question:
    """The client, the site, the number, the hours; who prepares it, if that is not known."""
    terms = _terms(settings)
    usual = f" (blank: {hours_a_bed:.2g} per bed, as last time)" if hours_a_bed else ""
    listed = "; ".join(ASKED[term][0] + usual * (term == HOURS) for term in terms)
    example = "; ".join(ASKED[term][1] for term in terms)
    return Question(KEY, f"Quotation: {listed}; as {example}", later=True,
                    fault=lambda words: _fault(words, len(terms)))  # fmt: skip


def terms_of(
    answers: Mapping[str, Any], settings: Mapping[str, Any], usual_hours: float
) -> tuple[dict[str, Any], list[str]]:
    """The settings that the answer gives, and in words what is assumed where it gives no hours."""
    given = dict(zip(_terms(settings), _parts(answers), strict=False))
    found: dict[str, Any] = {name: value for name, value in given.items() if value}
    if HOURS in found:
        found[HOURS] = float(found[HOURS].replace(",", "."))
    elif usual_hours:
        found[HOURS] = round(usual_hours * 2) / 2
        words = "as many for each bed as last time"
        return found, [f"Assumed on Quoting, change it: Labor {found[HOURS]:g} h, {words}"]
    return found, []


def _terms(settings: Mapping[str, Any]) -> tuple[str, ...]:
    known = str(settings.get(BY) or "invented")
    return tuple(term for term in ASKED if term != BY or "invented" in known)


def _parts(answers: Mapping[str, Any]) -> list[str]:
    return [part.strip() for part in str(answers.get(KEY[1]) or "").split(";")]


def _fault(words: str, most: int) -> str:
    parts = _parts({KEY[1]: words})
    if len(parts) > most:
        return f"{len(parts)} parts between semicolons, at most {most} are asked for."
    hours = dict(zip(ASKED, parts, strict=False)).get(HOURS, "")
    try:
        fits = 0 <= float(hours.replace(",", ".") or 0) < float("inf")
    except ValueError:
        fits = False
    return "" if fits else f"{hours!r} is no number of hours."
