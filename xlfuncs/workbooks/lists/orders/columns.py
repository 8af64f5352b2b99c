"""The columns of orders that their headings and cells tell: days, articles, how many."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from xlfuncs.tables.header_words import plain, says, words_of
from xlfuncs.tables.headers import Header, unit_in, unit_of
from xlfuncs.tables.money.ledger import KINDS
from xlfuncs.workbooks.lists.headers import HeaderReading
from xlfuncs.workbooks.lists.ledger.headings import (
    EXPORTED,
    LOOKS,
    holds,
    is_figure,
    money_places,
    papers_under,
    with_parts,
)
from xlfuncs.workbooks.lists.lines import FileLine, is_date, shown

UNIT_WORDS = {"mc": "m3", "cbm": "m3", "kubikmeter": "m3", "metri cubi": "m3"}
KIND_WORDS = {word: kind for kind in ("water", "sewer", "electricity", "labor")
              for word in words_of(f"kind {kind}")}  # fmt: skip
_METRES = frozenset(("mtr", "mtrs", "lfm", "lm", "metro", "metros", "metri"))


def days_of_goods(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine]
) -> dict[str, str]:
    """The day of delivery, else of the bill, where the day of the order or of the bill stands
    beside it: goods are paid for, and used, when they come."""
    named = [h.text for name in ("date", "bill_date") for h in found.headers.get(name, ())]
    rivals = [text for name in ("date", "bill_date") for text in found.rivals.get(name, ())]
    days = [text for text in (*named, *rivals, *found.unused.values())
            if not says(text, "due day") and holds(head, text, below, is_date)]  # fmt: skip
    sorts = [[text for text in days if says(text, sort)]
             for sort in ("delivery day", "invoice day", "order day")]  # fmt: skip
    known = {text for texts in sorts for text in texts}
    kinds = [texts[-1] for texts in sorts if texts]
    if "period_start" in found.headers or len({*kinds}) < 2 or not known >= {*named}:
        return {}
    return {"date": kinds[0], "bill_date": kinds[1]}


def articles(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """The heading over the articles, where no heading is known as that."""
    if "item" in found.headers:
        return {}
    texts = [*found.unused.values(), *(text for rivals in found.rivals.values() for text in rivals)]
    named = [text for text in texts if says(text, "line of an order")]
    for sort in (LOOKS["item"], lambda cell: re.search(r"[^\W\d_]{3}", str(cell))):
        if words := [text for text in named if holds(head, text, below, sort)]:
            return {"item": words[0]}
    return {}


def papers(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """The heading over the numbers of orders or invoices, where none is known as that: a number
    is of one day."""
    if "reference" in found.headers or not _of_articles(found, head, below):
        return {}
    named = [text for text in found.unused.values()
             if (says(text, "order day", "invoice day") or plain(text) in words_of("number"))
             and not says(text, "amount", "price", "how many", "delivery", "discount")
             and holds(head, text, below, LOOKS["reference"])
             and not holds(head, text, below, is_date)
             and not papers_under(found, head, below, text)[0]]  # fmt: skip
    return {"reference": named[0]} if named else {}


def with_goods(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> HeaderReading:
    """The headings, with those that are known by a part of their words or by their cells: taxes,
    fixed charges, what is credited beside what is debited, in what articles are counted."""
    found = with_parts(found, head, below)
    headers, unused = dict(found.headers), dict(found.unused)
    if "amount" in headers and says(headers["amount"][0].text, "debit side"):
        for place in money_places(head, below):
            if says(unused.get(place, ""), "credit side"):
                credit = Header(place, unused.pop(place), EXPORTED["amount"])
                headers["amount"] = (*headers["amount"], credit)
    if "unit" not in headers and _of_articles(found, head, below):
        taken = {header.place for of in headers.values() for header in of}
        width = max(len(line.cells) for line in (head, *below))
        for place in (place for place in range(width) if place not in taken):
            cells = [cell for line in below if (cell := line.cell(place)) is not None]
            if cells and sum(map(is_counted_in, cells)) * 5 > len(cells) * 4:
                headers["unit"] = (Header(place, unused.pop(place, ""), EXPORTED["unit"]),)
                break
    return replace(found, headers=headers, unused=unused)


_BY = "(?:per|pro|je|par|au|le|por|al|by the)"
_SOLD_BY = re.compile(  # `(per m)`, `, au mètre`, `by the foot`, `(m)`; no `4 emitters per m`
    rf"(?:[(\[,;–-] ?{_BY} ?|\b(?:by the|au|al|pro) |[(\[])"
    r"(m|mtr|metre|meter|mètre|metro|lfm|ml|ft|foot)\.? ?[)\]]?$",
    re.IGNORECASE,
)


def sold_by(article: str) -> str:
    """The length that an article is sold by, as its name says it; '' where it says none."""
    return plain(match[1]) if (match := _SOLD_BY.search(article.strip())) else ""


def kind_named(article: str, meanings: Mapping[str, str]) -> str:
    """The kind that stated words of an article stand for, the longest of them; '' where none do,
    as those of what the article is for: `valve for drip line`."""
    text, found = plain(article), {"": ""}
    for word, meaning in meanings.items():
        places = re.finditer(rf"(?<!\w){re.escape(plain(word))}(?!\w)", text)
        itself = any(not {*text[: m.start()].split()[-1:]} & words_of("small word") for m in places)
        if itself and not (
            is_counted_in(meaning) or any(unit_of(meaning, of) for of in KINDS.values())
        ):
            found[word] = meaning.lower()
    return found[max(found, key=len)]


def is_tax(article: str) -> bool:
    """Whether a line of an order, or of a bill, is a tax: `Sales tax 5 %`."""
    short = len(plain(article).split()) < 6
    other = says(article, "no tax", "before tax", "with tax")
    return short and says(article, "part tax") and not other


def unit_of_articles(text: str) -> str:
    """In what articles are counted, without small words: `metre` of `per metre`."""
    words = text.split()
    while len(words) > 1 and plain(words[0]) in words_of("small word"):
        words.pop(0)
    return " ".join(words)


def is_counted_in(cell: object) -> bool:
    """Whether a cell says in what articles are counted: `each`, `m`, `per metre`."""
    word = unit_of_articles(str(cell))
    known = plain(word) in words_of("pieces") | _METRES or bool(unit_of(word, "length"))
    return known and not is_figure(cell)


def _of_articles(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> bool:
    return "item" in found.headers or bool(articles(found, head, below))


def counted(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """The heading over how many came of the articles, rather than how many were ordered."""
    if not _of_articles(found, head, below):
        return {}
    taken = [header.text for header in found.headers.get("quantity", ())]
    texts = (*taken, *found.rivals.get("quantity", ()), *found.unused.values())
    known = [text for text in texts if text in taken or says(text, "how many", "delivered")]
    sure = [text for text in known if not says(text, "not how many")
            and holds(head, text, below, LOOKS["quantity"])]  # fmt: skip
    came = [text for text in sure if says(text, "delivered")]
    plain_ones = [text for text in sure if not says(text, "order day")]
    ways = [way for way in (came, plain_ones, sure) if way]
    chosen = next(iter(ways), [])
    return {"quantity": chosen[0]} if len(chosen) == 1 and chosen != taken else {}


def unit_of_line(export: Any, line: FileLine) -> str:
    """What a line's quantity is in, as its own column, the heading or its item in brackets says."""
    inside = re.findall(r"[(\[]([^()\[\]]*)[)\]]", shown(export.cell(line, "item")))
    unit = shown(export.cell(line, "unit")).strip() or export.unit("quantity")
    return unit or next(filter(None, map(unit_in, inside)), "")


def units_of(export: Any) -> set[str]:
    """What all quantities but days of fixed charges are in; '' where nothing says it."""
    lines = {(export.cell(line, "item"), export.cell(line, "unit")): line for line in export.below
             if export.cell(line, "quantity") is not None}  # fmt: skip
    units = {unit_of_line(export, line) for (item, _), line in lines.items()
             if not says(shown(item), "part fixed")}  # fmt: skip
    return {UNIT_WORDS.get(unit.lower(), unit) for unit in units}


def is_kind(word: str) -> bool:
    """Whether a word names one of the usual kinds."""
    return word.lower() in KINDS or plain(word) in KIND_WORDS


def likely_kinds(export: Any) -> tuple[str, ...]:
    """The kinds that are measured in what all quantities are in; none where they are counted."""
    units = units_of(export)
    metered = {k: measure for k, measure in KINDS.items() if measure not in ("count", "length")}
    return tuple(kind for kind, measure in metered.items()
                 if units and all(unit and unit_of(unit, measure) for unit in units))  # fmt: skip
