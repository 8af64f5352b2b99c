"""The columns of an export, and the headings that are known by the cells below them."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import either, names_of, parted, plain, says, words_of
from xlfuncs.tables.headers import Header, unit_in
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.tables.periods import ends_of, is_day, is_of_days
from xlfuncs.workbooks.lists.bills.periods import by_chain
from xlfuncs.workbooks.lists.headers import HeaderReading
from xlfuncs.workbooks.lists.lines import (
    LINES,
    FileLine,
    ListFile,
    counts_up,
    is_date,
    measured,
    shown,
)
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
# Last days that are included, in words behind `to`.
_INCLUSIVE = r"(?:\W+(?:inc|ink|ein|und|and|zum|el\b)\w*)*\W*$"
_AT_EDGE = {
    name: re.compile(rf"{edge}{_INCLUSIVE}|^{edge} {either('period', 'day')}$")
    for name, edge in (("date", either("to last day")), ("period_start", either("from first day")))
}
_FIXED = Column("fixed", "Fixed charge", "money", "Part of the amount that goes with no quantity",
    synonyms=("standing charge", "base charge", "basic charge", "service charge", "meter charge",
              "fixed charges"))  # fmt: skip
_RATE = Column("tax_rate", "Tax rate", "text", "Rate of the tax that is in the amount")
_SIDE = Column("side", "Debit or credit", "text", "Whether a line is a credit",
    synonyms=("debit/credit", "dr/cr", "d/c", "s/h", "soll/haben", "debe/haber"))  # fmt: skip
EXPORTED = Table(LEDGER.name, LEDGER.help,
                 (*LEDGER.columns, _NET, _FIXED, _BILL_DATE, _RATE, _SIDE))  # fmt: skip


def names_of_columns(columns: Mapping[str, str]) -> dict[str, str]:
    """Stated headings by the names of the ledger's columns, which may be said as on its sheet."""
    names = {word: column.name for column in EXPORTED.columns for part in names_of(column)
             for word in part} | {"first day": "period_start", "last day": "date",
             "period": "date"}  # fmt: skip
    for said in columns:
        if plain(said) not in names:
            known = ", ".join(f"{name} ({SAID[name]})" if name in SAID else name
                              for name in EXPORTED.names)  # fmt: skip
            raise UnsettledError("columns", f"The ledger has no column {said!r}; it has {known}.")
    return {names[plain(said)]: heading for said, heading in columns.items()}


def holds(
    head: FileLine, heading: str, below: Sequence[FileLine], sort: Callable[[Any], Any]
) -> bool:
    """Whether most cells under a heading are of a sort."""
    place = next(i for i, cell in enumerate(head.cells) if str(cell) == heading)
    cells = [cell for line in below if (cell := line.cell(place)) is not None]
    return sum(map(bool, map(sort, cells))) * 2 > len(cells)


def is_figure(cell: Any) -> bool:
    return not is_date(cell) and any(map(str.isdigit, str(cell)))


USUAL = re.compile(r"[€£$¥]|\b(?:EUR|USD|GBP|CHF|CAD|AUD|NZD|SEK|NOK|DKK|PLN|CZK|HUF|RON|ISK|ZAR"
                    r"|MXN|BRL|INR|JPY|CNY|TRY|ARS|CLP|COP)\b")  # fmt: skip
_BESIDE_SUMS = re.compile(  # and codes that are not among these, before or after cents
    rf"(?i:{USUAL.pattern}|\b(?:EURO?|Fr|kr|Rs|zl|Ft|lei|CR|DR)\b)"
    r"|\b[A-Z]{3} (?=-?\d[\d.,' ]*[.,]\d\d$)|(?<=[.,]\d\d) [A-Z]{3}$"
)


def is_sum(cell: Any) -> bool:
    """Whether a cell may be a sum of money: no word and no number of a paper, `INV-220`."""
    return is_figure(cell) and not re.search(r"[^\W\d_]", _BESIDE_SUMS.sub("", str(cell)))


# What the cells of a column look like, where several headings may be meant: dates, an item in
# words rather than by its code, a number of the paper rather than the word for what it is.
LOOKS: Mapping[str, Callable[[Any], bool]] = {
    "date": is_date, "bill_date": is_date, "period_start": is_date, "quantity": is_figure,
    "item": lambda cell: bool(re.search(r"[^\W\d_]+ [^\W\d_]+|[^\W\d_]{5,}", str(cell))
                              and " " in str(cell)),
    "unit": lambda cell: not is_figure(cell),
    "reference": lambda cell: any(c.isdigit() for c in str(cell)),
}  # fmt: skip


# Headings of figures that are no sums of money, and of sums that are not paid for the line.
_NO_SUM = re.compile(rf"(?<!\d)(?<!\d )%|{either('no sum')}")


def money_places(head: FileLine, below: Sequence[FileLine]) -> list[int]:
    """The places of columns of figures that may be sums of money."""
    return [
        place for place, text in enumerate(head.cells)
        if isinstance(text, str) and not _NO_SUM.search(plain(text)) and not unit_in(text)
        and not says(text, "how many") and holds(head, text, below[:LINES], is_sum)
        and not counts_up([shown(line.cell(place)) for line in below[:LINES]])
    ]  # fmt: skip


def is_price(text: str) -> bool:
    """Whether a heading says a price, which Grundpreis is none of, or money for a unit: `p/kWh`."""
    per = re.split(r"/|\b(?:per|pro|par|por)\b", text)[1:]
    return any(map(unit_in, per)) or (says(text, "price") and not says(text, "part fixed"))


def with_parts(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> HeaderReading:
    """The headings, with those of figures that by their words are a tax or a fixed charge."""
    headers, unused = dict(found.headers), dict(found.unused)
    for name, other in (("tax", ("before tax", "no tax", "price")), ("fixed", ("no sum",))):
        for place in money_places(head, below):
            text = unused.get(place, "")
            whole = name == "tax" and says(text, "amount") and len(plain(parted(text)).split()) > 2
            if says(text, f"part {name}") and not (whole or says(text, *other)):
                headers[name] = (*headers.get(name, ()), Header(place, text, EXPORTED[name]))
                unused.pop(place)
    return replace(found, headers=headers, unused=unused)


def of_words(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine], stated: Mapping[str, str]
) -> str:
    """A heading of money over words, such as `Charge` over what is charged for; '' without another
    column of figures."""
    figures = {place for place in money_places(head, below) if place in found.unused}
    for name in ("amount", "net") if figures or found.rivals else ():
        taken = (h.text for h in found.headers.get(name, ()) if name not in stated)
        for text in (*taken, *found.rivals.get(name, ())):
            if holds(head, text, below, lambda cell: re.search(r"[^\W\d_]{4,}", str(cell))):
                return text
    return ""


def by_content(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Of rival headings the one whose cells look like the column's."""
    meant = {}
    for name, texts in found.rivals.items():
        sort = LOOKS.get(name, lambda cell: False)
        alike = [text for text in texts if holds(head, text, below, sort)]
        if name == "meter":  # an account has meters
            alike = [text for text in texts if not plain(text).startswith("account")]
        if len(alike) == 1 or (alike and name == "reference"):
            meant[name] = min(alike, key=lambda text: papers_under(found, head, below, text))
    return meant


def papers_under(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine], heading: str
) -> tuple[int, int]:
    """How many papers of several days a heading numbers, and how many papers: that of an order
    holds more together than that of a line, an article's is on orders of several days."""
    place = [*map(str, head.cells)].index(heading)
    days = [h.place for name in ("date", "bill_date") for h in found.headers.get(name, ())][:1]
    of = {(shown(line.cell(place)), *(shown(line.cell(day)) for day in days)) for line in below}
    papers = {paper for paper, *_ in of}
    return len(of) - len(papers), len(papers)


def periods(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Headings such as "Abrechnung von", "Current read date" that hold dates: a word tells.

    A bill's last day goes before the day of its paper, though that is called the date.
    """
    days = {p: text for p, text in found.unused.items() if holds(head, text, below, is_date)}
    ends = {name: [text for text in days.values() if is_end(text, name)]
            for name in ("period_start", "date")}  # fmt: skip
    if not ends["date"]:
        ends = by_chain(found.headers, below, days, ends)
    meant = {}
    for name, texts in ends.items():
        taken = found.headers.get(name, ())
        if name == "period_start" and not any(holds(head, h.text, below, is_date) for h in taken):
            taken = ()  # what the register showed, not the day of it
        kept = taken and (name != "date" or is_end(taken[0].text, name))
        if len(texts) > 1 and not kept:
            listed = " and ".join(map(repr, texts))
            words = f"{listed} may both be the {SAID[name]}. Which is it?"
            raise UnsettledError(name, words, texts, under="columns")
        if texts and not kept:
            meant[name] = texts[0]
            if taken and "bill_date" not in found.headers:
                meant["bill_date"] = taken[0].text
    return meant


def is_end(heading: str, name: str) -> bool:
    """Whether a heading says the first or the last day of something, but of no payment and no
    paper: from and to at its end, or before its one noun, others anywhere."""
    text = plain(parted(heading))
    if says(heading, "due day") or text in set().union(*names_of(EXPORTED["bill_date"])):
        return False
    return says(heading, SAID[name]) or bool(_AT_EDGE[name].search(text))


# --- a period in one cell, `01.01.2023 - 31.03.2023` or `Jan 2023`, as two columns --------------


def _by_months(head: FileLine, place: int, line: FileLine) -> bool:
    """Whether months are what bills are for: the heading says so, and the line has no other day, or
    names a unit of what is used, or its headings do."""
    others = [cell for i, cell in enumerate(line.cells) if i != place]
    words = re.split(r"[\s()\[\],/]+", " ".join(map(shown, head.cells)))
    words += [cell for cell in others if isinstance(cell, str) and unit_in(cell) == cell]
    heading = shown(head.cell(place))
    days = [shown(head.cell(i)) for i, c in enumerate(line.cells) if i != place and is_day(c)]
    if all(any(is_end(text, name) for text in days) for name in ("period_start", "date")):
        return False  # for the days themselves stand beside it
    if re.search(r"-01$", shown(line.cell(place))):  # a month as a workbook keeps it, or a day
        return says(heading, "month")
    named = says(heading, "month", "period", "year")
    return named and (any(map(unit_in, words)) or not any(map(is_day, others)))


def with_periods_parted(file: ListFile) -> ListFile:
    """The list with two columns for one whose cells mostly are periods: its last days in place,
    its first days behind the others."""
    lines = _units_to_headings(_with_years(file.lines))
    for place in range(max((len(line.cells) for line in lines), default=0)):
        if not any(ends_of(shown(line.cell(place))) for line in lines[:100]):
            continue
        cells = [(i, str(line.cell(place))) for i, line in enumerate(lines) if line.cell(place)]
        said = {cell: ends_of(cell) for cell in {cell for _, cell in cells}}
        found = {i: ends for i, cell in cells if (ends := said[cell])}
        first = min(found, default=0)
        head = next((i for i, _ in reversed(cells) if i < first), None)
        if head is None or len(found) * 2 <= sum(i > head for i, _ in cells):
            continue
        stated = is_of_days(str(lines[first].cell(place)))
        if not stated and not _by_months(lines[head], place, lines[first]):
            continue
        heading, width = str(lines[head].cell(place)), len(lines[head].cells)
        heads = f"{heading} – from", f"{heading} – to"  # which a new page may repeat
        for i, ends in (found | {i: heads for i, cell in cells if cell == heading}).items():
            lines[i] = _parted(lines[i], place, width, *ends)
    return replace(file, lines=tuple(lines))


def _with_years(lines: Sequence[FileLine]) -> list[FileLine]:
    """The lines, a month or a quarter with the year that stands in a column of its own, or a year
    as its months, where they have no other day."""
    for i, head in enumerate(lines[:40]):
        years = [p for p, cell in enumerate(head.cells) if plain(shown(cell)) in words_of("year")]
        parts = [p for p, cell in enumerate(head.cells) if says(shown(cell), "month", "period")]
        below = lines[i + 1 :]
        days = any(map(is_date, (cell for line in below[:3] for cell in line.cells)))
        if len(years) == 1 and len(parts) < 2 and not days:
            part = [*parts, *years][0]
            return [*lines[: i + 1], *(_with_year(line, head, part, years[0]) for line in below)]
    return [*lines]


def _with_year(line: FileLine, head: FileLine, place: int, of: int) -> FileLine:
    year, part = shown(line.cell(of)), shown(line.cell(place))
    if not re.fullmatch(r"(?:19|20)\d\d", year) or not part:
        return line
    said = f"{part} {year}" if not part.isdigit() else f"{head.cell(place)} {part} {year}"
    said = f"{part}/{year}" if part.isdigit() and says(str(head.cell(place)), "month") else said
    said = f"01/{year} - 12/{year}" if place == of else said
    cells = (said if i == place else cell for i, cell in enumerate(line.cells))
    return replace(line, cells=tuple(cells))


def _units_to_headings(lines: list[FileLine]) -> list[FileLine]:
    """The lines, the one unit that stands behind every figure of a column in its heading."""
    for place in range(max((len(line.cells) for line in lines), default=0)):
        column = enumerate(line.cell(place) for line in lines)
        cells = [(i, cell) for i, cell in column if cell is not None]
        if not cells or not measured(cells[-1][1]):
            continue
        parts = {i: part for i, cell in cells if (part := measured(cell))}
        head = next((i for i, _ in reversed(cells) if i < min(parts)), None)
        one = len({unit for _, unit in parts.values()}) == 1
        if one and head is not None and len(parts) == sum(i > head for i, _ in cells):
            new = {i: number for i, (number, _) in parts.items()}
            new[head] = f"{lines[head].cell(place)} ({parts[max(parts)][1]})"
            for i, text in new.items():
                typed = (text if p == place else c for p, c in enumerate(lines[i].cells))
                lines[i] = replace(lines[i], cells=tuple(typed))
    return lines


def _parted(line: FileLine, place: int, width: int, first: str, last: str) -> FileLine:
    cells = [*line.cells, *[None] * (width - len(line.cells))]
    cells[place] = last
    return replace(line, cells=(*cells[:width], first, *cells[width:]))
