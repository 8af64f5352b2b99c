"""The columns of an export, and the headings that are known by the cells below them."""

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import names_of, plain
from xlfuncs.tables.headers import measured_in
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.headers import HeaderReading
from xlfuncs.workbooks.lists.lines import FileLine, is_date
from xlfuncs.workbooks.lists.numbers import UnsettledError

# What an export has beside the ledger's columns: amounts before tax, for the ledger keeps what was
# paid and the tax in it; the day of the paper, where the days of the water are others.
_NET = Column("net", "Net", "money", "Amount before tax", synonyms=(
    "net amount", "subtotal", "amount excl tax", "amount before tax"))  # fmt: skip
_BILL_DATE = Column("bill_date", "Bill date", "date", "Day of the bill, where no reading is given",
    synonyms=("invoice date", "transaction date", "posting date", "order date",
              "date of purchase", "receipt date"))  # fmt: skip
SAID = {"date": "last day", "period_start": "first day", "bill_date": "day of the paper",
         "reference": "number of the paper"}  # fmt: skip
_NO_END = frozenset(("datum", "tag", "monat", "jour", "mois", "fecha", "dia", "mes", "dag", "maand",
                     "data", "mese", "date", "day", "month"))  # fmt: skip
_FIXED = Column("fixed", "Fixed charge", "money", "Part of the amount that goes with no quantity",
    synonyms=("standing charge", "base charge", "basic charge", "service charge", "meter charge",
              "fixed charges"))  # fmt: skip
EXPORTED = Table(LEDGER.name, LEDGER.help, (*LEDGER.columns, _NET, _FIXED, _BILL_DATE))


def holds(
    head: FileLine, heading: str, below: Sequence[FileLine], sort: Callable[[Any], bool]
) -> bool:
    """Whether most cells under a heading are of a sort."""
    place = next(i for i, cell in enumerate(head.cells) if str(cell) == heading)
    cells = [cell for line in below if (cell := line.cell(place)) is not None]
    return sum(map(sort, cells)) * 2 > len(cells)


def is_figure(cell: Any) -> bool:
    return not is_date(cell) and any(map(str.isdigit, str(cell)))


# What the cells of a column look like, where several headings may be meant: dates, an item in
# words rather than by its code, a number of the paper rather than the word for what it is.
LOOKS: Mapping[str, Callable[[Any], bool]] = {
    "date": is_date, "bill_date": is_date, "period_start": is_date,
    "item": lambda cell: bool(re.search(r"[^\W\d_]+ [^\W\d_]+|[^\W\d_]{5,}", str(cell))
                              and " " in str(cell)),
    "reference": lambda cell: any(c.isdigit() for c in str(cell)),
}  # fmt: skip


def meant_by_cells(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine]
) -> dict[str, str]:
    """Headings of columns that their cells tell, where the headings alone do not."""
    return {
        name: text
        for meant in (_by_content, periods, _by_unit)
        for name, text in meant(found, head, below).items()
    }


def _by_content(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Of rival headings the one whose cells look like the column's."""
    meant = {}
    for name, texts in found.rivals.items():
        sort = LOOKS.get(name, lambda cell: False)
        alike = [text for text in texts if holds(head, text, below, sort)]
        if len(alike) == 1:
            meant[name] = alike[0]
    return meant


def periods(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Headings such as "Abrechnung von" that hold dates: the last word tells what they are.

    A bill's last day goes before the day of its paper, though that is called the date.
    """
    ends = {
        name: [
            text
            for text in found.unused.values()
            if _last_word(text) in _words_of(name) and holds(head, text, below, is_date)
        ]
        for name in ("period_start", "date")
    }
    meant = {}
    for name, texts in ends.items():
        taken = found.headers.get(name)
        kept = taken and (name != "date" or _last_word(taken[0].text) in _words_of("date"))
        if len(texts) > 1 and not kept:
            listed = " and ".join(map(repr, texts))
            words = f"{listed} may both be the {SAID[name]}. Which is it?"
            raise UnsettledError(name, words, texts, under="columns")
        if texts and not kept:
            meant[name] = texts[0]
            if taken and "bill_date" not in found.headers:
                meant["bill_date"] = taken[0].text
    return meant


def _by_unit(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """A heading that is but a unit (m³, kWh used) over figures, where no other is the quantity."""
    texts = [text for text in found.unused.values()
             if measured_in(text) and holds(head, text, below, is_figure)]  # fmt: skip
    if "quantity" in found.headers or not texts:
        return {}
    if len(texts) > 1:
        words = f"{' and '.join(map(repr, texts))} may both be the quantity. Which is it?"
        raise UnsettledError("quantity", words, texts, under="columns")
    return {"quantity": texts[0]}


def _last_word(heading: str) -> str:
    return plain(heading).split()[-1] if plain(heading) else ""


def _words_of(name: str) -> frozenset[str]:
    """From and to, in every language."""
    own, others = names_of(EXPORTED[name])
    return frozenset(word for word in own | others if " " not in word and len(word) < 6) - _NO_END
