"""The proposal as a whole: its pages in their order, each with a name by which it is chosen."""

from collections.abc import Callable, Collection, Iterator

from reportlab.platypus import Flowable, Spacer

from workbook_template.client_copy.facts import Facts
from workbook_template.client_copy.proposal.care import calendar, small_print
from workbook_template.client_copy.proposal.design import (
    contents,
    cover,
    design,
    garden_map,
    letterhead,
)
from workbook_template.client_copy.proposal.offer import Offer, options, quotation
from workbook_template.client_copy.proposal.paper import Paper
from workbook_template.client_copy.proposal.words import Words
from workbook_template.client_copy.settings import PAGES, Settings
from xlfuncs.errors import WorkbookError

TITLES = {name: name for name in PAGES} | {"terms": "small_print"}  # texts, by their keys


def proposal(facts: Facts, settings: Settings, chosen: Collection[str] = ()) -> bytes:
    """The bytes of the PDF; a page that has nothing to say is left out.

    Raises WorkbookError where none of the chosen pages has anything to say.
    """
    words = Words(settings.texts, facts.system, facts.text("currency"))
    paper = Paper(settings, facts.system, _every_text(facts, settings))
    wanted = [name for name in PAGES if not chosen or name in chosen]
    head = [] if "cover" in wanted else [letterhead(paper, facts, settings), Spacer(0, 14)]
    made: dict[str, Callable[[], list[Flowable]]] = {
        "cover": lambda: cover(paper, facts, words, settings),
        "design": lambda: design(paper, facts, words),
        "map": lambda: garden_map(paper, facts, words),
        "options": lambda: options(paper, facts, words),
        "quotation": lambda: quotation(
            paper, facts, words, head=head, terms=() if "terms" in wanted else settings.terms
        ),
        "calendar": lambda: calendar(paper, facts, words),
        "terms": lambda: small_print(paper, words, settings),
    }
    found: dict[str, list[Flowable]] = {n: page for n in wanted if (page := made[n]())}
    if "cover" in found:
        found["cover"] += contents(paper, words, [TITLES[n] for n in found if n != "cover"])
    pages = list(found.values())
    if not pages:
        why = ": no option on Quoting has a price" if "quotation" in wanted else ""
        raise WorkbookError(f"there is nothing to say on {', '.join(wanted)}{why}")
    offer, name = Offer(facts, words), settings.consultant.get("name", facts.text("prepared_by"))
    farm, invented = facts.text("farm"), facts.inputs.invented
    day = words.date(facts.named("quotation_date") or facts.named("plan_date"))

    def running(number: int, count: int) -> tuple[str, str, str, str]:
        at = words.texts["page"].format(page=number, pages=count)
        foot = words.texts["invented"] if invented else day
        if number == 1 and next(iter(found)) in ("cover", "quotation"):  # say it in full
            return "", "", foot, at
        return name, f"{farm}  {offer.number}".strip(), foot, at

    return paper.file(pages, {"title": farm or words.texts["heading"], "author": name}, running)


def _every_text(facts: Facts, settings: Settings) -> Iterator[str]:
    """All that may come onto a page, so that fonts are chosen that have its letters."""
    values = [facts.inputs.settings.values(), settings.consultant.values(), settings.terms]
    values += [row.values() for rows in facts.inputs.tables.values() for row in rows]
    for text in settings.texts.values():
        values.append(text if isinstance(text, list) else [text])
    for group in values:
        yield from (text for text in group if isinstance(text, str))
