"""The proposal as a whole: its pages in their order, each with a name by which it is chosen."""

from collections.abc import Callable, Collection, Iterator
from datetime import date
from functools import partial
from typing import Any

from reportlab.platypus import Flowable, Spacer

from workbook_template.client_copy.agreeing import is_there
from workbook_template.client_copy.changes import changes
from workbook_template.client_copy.former import Facts
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
from workbook_template.sheets.money.cost import REPLACING
from xlfuncs.errors import WorkbookError

MONTHS = range(1, 13)
FLUSHED_EVERY = 2  # months of the season; common practice, no published source
INDOORS, DRAINS = "comes indoors", "drains in place"


def calendar(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    minutes = dict(_minutes(facts))
    wet = [m for m in MONTHS if any(given.get(m) for given in minutes.values())]
    page = paper.title(words["calendar"])
    if wet:
        page += [*paper.section(words["care"]), paper.text(words["care_words"], 8.5), Spacer(0, 4),
                 _tasks(paper, words, wet)]  # fmt: skip
        for key, winter in (("indoors", INDOORS), ("drains", DRAINS)):
            parts = [str(row["part"]) for row in facts.rows("Parts") if row.get("winter") == winter]
            if parts:
                listed = ", ".join(dict.fromkeys(parts))
                page += [Spacer(0, 4), paper.text(words.fill(key, parts=listed), 8.5)]
        page += [*paper.section(words["minutes"]), paper.text(words["minutes_words"], 8.5),
                 Spacer(0, 4), _by_month(paper, words, minutes)]  # fmt: skip
    page += _replacing(paper, facts, words)
    return page if len(page) > 2 else []


def _minutes(facts: Facts) -> Iterator[tuple[str, dict[int, float]]]:
    """Minutes of one watering by month, of each valve and of each bed without one."""
    beds = facts.block("season minutes")
    given = facts.block("season given")
    seen = set()
    for bed, row in zip(beds, given, strict=False):
        name = Words.named(bed.get("valve") or bed.get("bed"))
        times = {m: t for m in MONTHS if isinstance(t := row.get(str(m)), float) and t > 0}
        if name and times and name not in seen:
            seen.add(name)
            yield name, times


def _heads(words: Words) -> list[str]:
    letters = int(words.texts["month_letters"])
    return [words.month(m)[:letters] for m in MONTHS]


def _tasks(paper: Paper, words: Words, wet: list[int]) -> Flowable:
    """Squares in the months of each task, so that grey shows as much as colour."""
    before, after = (wet[0] - 2) % 12 + 1, wet[-1] % 12 + 1
    months = ([before], wet, wet, wet[::FLUSHED_EVERY], [after])
    rows = [["", *_heads(words)]]
    rows += [[task, *("" for _ in MONTHS)] for task in words.all("tasks")[: len(months)]]
    looks: list[Any] = [("BACKGROUND", (m, r), (m, r), paper.colors["accent"])
             for r, months_of in enumerate(months, 1) for m in months_of]  # fmt: skip
    looks += [("INNERGRID", (1, 1), (-1, -1), 2, "white"), ("ALIGN", (1, 0), (-1, -1), "CENTER")]
    return paper.table(rows, (44, *(7,) * 12), size=7.5, more=looks)


def _by_month(paper: Paper, words: Words, minutes: dict[str, dict[int, float]]) -> Flowable:
    rows = [[words.all("bed_columns")[1], *_heads(words)]]
    rows += [[Words.escaped(name), *(words.number(times[m]) if m in times else "" for m in MONTHS)]
             for name, times in minutes.items()]  # fmt: skip
    return paper.table(rows, (14, *(7,) * 12), right=range(1, 13), size=7.5)


def _replacing(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    rows = [words.priced("part_columns")]
    for row in filter(partial(is_there, facts), facts.rows("PartLives")):
        lives = [row.get(f"{life}_life") for life in ("shortest", "likely", "longest")]
        if row.get("part") and any(isinstance(life, int | float) for life in lives):
            told = [_years(words, life) for life in lives]
            rows.append([Words.escaped(str(row["part"])), *told, words.money(row.get("cost"))])
    if len(rows) == 1:
        return []
    page = [
        *paper.section(words["replacing"]),
        paper.filled(rows, (30, 15, 12, 12, 18), right=(1, 2, 3, 4), size=8),
    ]
    start = getattr(facts.named("plan_date"), "year", 0)  # the first of the years
    offer = Offer(facts, words)
    years = [
        words.filled(
            "in_year", year=start - 1 + int(row["year"]), amount=offer.amount(row["likely"])
        )
        for row in facts.block(REPLACING)
        if start and isinstance(row["likely"], float) and row["likely"] > 0
    ]
    if years:
        page += [Spacer(0, 4), paper.text(words.filled("in_years", years=" · ".join(years)), 8.5)]
    return page


def _years(words: Words, life: object) -> str:
    if not isinstance(life, int | float):
        return ""
    return words["one_year"] if life == 1 else words.fill("years", years=words.plain(life))


def small_print(paper: Paper, words: Words, settings: Settings) -> list[Flowable]:
    page = paper.title(words["small_print"])
    for title, texts in (
        ("assumptions_title", words.all("assumptions")),
        ("exclusions_title", words.all("exclusions")),
        ("terms_title", [Words.escaped(text) for text in settings.terms]),
        ("cautions_title", words.all("cautions")),
    ):  # fmt: skip
        if texts:
            page += [*paper.section(words[title]), *paper.bullets(texts, 9)]
    return page


TITLES = {name: name for name in PAGES} | {"terms": "small_print"}  # texts, by their keys


def proposal(facts: Facts, settings: Settings, chosen: Collection[str] = ()) -> bytes:
    """The bytes of the PDF; a page that has nothing to say is left out.

    Raises WorkbookError where none of the chosen pages has anything to say.
    """
    settings = settings.with_terms(facts.text("payment"))
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
        for title, *told in [changed] if (changed := changes(facts, words.texts)) else []:
            found["cover"] += [*paper.section(Words.escaped(title)),
                               *paper.bullets(map(Words.escaped, told), 9)]  # fmt: skip
        found["cover"] += contents(paper, words, [TITLES[n] for n in found if n != "cover"])
    pages = list(found.values())
    if not pages:
        why = ": no option on Quoting has a price" if "quotation" in wanted else ""
        raise WorkbookError(f"there is nothing to say on {', '.join(wanted)}{why}")
    name = settings.consultant.get("name", facts.text("prepared_by"))
    whose, invented = facts.text("client") or facts.text("farm"), facts.inputs.invented
    day = facts.named("quotation_date") or facts.named("plan_date")
    header = f"{whose}  {Offer(facts, words).number}".strip()

    def running(number: int, count: int) -> tuple[str, str, str, str]:
        at = words.texts["page"].format(page=number, pages=count)
        foot = words.texts["invented"] if invented else words.date(day)
        if number == 1 and next(iter(found)) in ("cover", "quotation"):  # say it in full
            return "", "", foot, at
        return name, header, foot, at

    about = {"title": whose or words.texts["heading"], "author": name}
    return paper.file(pages, about, running, words.day(day) or date.today())


def _every_text(facts: Facts, settings: Settings) -> Iterator[str]:
    """All that may come onto a page, so that fonts are chosen that have its letters."""
    values = [facts.inputs.settings.values(), settings.consultant.values(), settings.terms]
    values += [row.values() for rows in facts.inputs.tables.values() for row in rows]
    for text in settings.texts.values():
        values.append(text if isinstance(text, list) else [text])
    for group in values:
        yield from (text for text in group if isinstance(text, str))
