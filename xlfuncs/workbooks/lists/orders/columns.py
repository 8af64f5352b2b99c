"""The columns of orders that their headings and cells tell: days, articles, how many."""

import re
from collections.abc import Sequence

from xlfuncs.tables.header_words import says
from xlfuncs.workbooks.lists.headers import HeaderReading
from xlfuncs.workbooks.lists.ledger_headings import LOOKS, holds
from xlfuncs.workbooks.lists.lines import FileLine, is_date


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
    named = [text for text in found.unused.values() if says(text, "line of an order")]
    for sort in (LOOKS["item"], lambda cell: re.search(r"[^\W\d_]{3}", str(cell))):
        if words := [text for text in named if holds(head, text, below, sort)]:
            return {"item": words[0]}
    return {}


def counted(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """The heading over how many came of the articles, rather than how many were ordered."""
    if not (found.headers.keys() & {"item"} or articles(found, head, below)):
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
