"""An export: its headings, the lines below, and what they all settle: order of dates, currency."""

import datetime as dt
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.header_words import names_of, plain
from xlfuncs.tables.headers import SYNONYM
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.workbooks.lists.files import read_list_file
from xlfuncs.workbooks.lists.headers import (
    Found,
    HeaderReading,
    HeadingLines,
    Wanted,
    find_headings,
    read_headers,
)
from xlfuncs.workbooks.lists.ledger_periods import with_periods_parted
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, Measured
from xlfuncs.workbooks.lists.mapping import ListMapping, with_answer
from xlfuncs.workbooks.lists.numbers import Located, Settled, UnsettledError
from xlfuncs.workbooks.lists.questions import Question

# What an export has beside the ledger's columns: amounts before tax, for the ledger keeps what was
# paid and the tax in it; the day of the paper, where the days of the water are others.
_NET = Column("net", "Net", "money", "Amount before tax", synonyms=(
    "net amount", "subtotal", "amount excl tax", "amount before tax"))  # fmt: skip
_BILL_DATE = Column("bill_date", "Bill date", "date", "Day of the bill, where no reading is given",
    synonyms=("invoice date", "transaction date", "posting date", "order date",
              "date of purchase", "receipt date"))  # fmt: skip
_DATE = re.compile(r"\d\D+\d+\D+\d|\d\W*[^\W\d]{3,}\W*\d|^[^\W\d]{3,}\W+\d+\W+\d{4}")
_SAID = {"date": "last day", "period_start": "first day", "bill_date": "day of the paper",
         "reference": "number of the paper"}  # fmt: skip
_ASKED = {"date": "the date", "period": "the last day of the bill",
          "amount": "the amount paid, tax included"}  # fmt: skip
_NO_END = frozenset(("datum", "tag", "monat", "jour", "mois", "fecha", "dia", "mes", "dag", "maand",
                     "data", "mese", "date", "day", "month"))  # fmt: skip
_FIXED = Column("fixed", "Fixed charge", "money", "Part of the amount that goes with no quantity",
    synonyms=("standing charge", "base charge", "basic charge", "service charge", "meter charge",
              "fixed charges"))  # fmt: skip
EXPORTED = Table(LEDGER.name, LEDGER.help, (*LEDGER.columns, _NET, _FIXED, _BILL_DATE))
# What one cell may say for all the lines beside it.
_MERGED = ("date", "bill_date", "period_start", "kind", "reference", "meter")
_WANTED = Wanted(EXPORTED, worst=SYNONYM, needed=(("date", "bill_date"), ("amount", "net")),
                 strict=True, several=frozenset({"note"}))  # fmt: skip
_SIGNS = {"€": "EUR", "£": "GBP", "$": "$", "¥": "¥"}
_CODE = re.compile(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])")


@dataclass(frozen=True)
class Export:
    """The lines of an export below its headings."""

    head: FileLine
    headers: Found
    below: Sequence[FileLine]
    noted: str = ""  # what to look at

    def cell(self, line: FileLine, name: str) -> Any:
        return line.cell(self.headers[name][0].place) if name in self.headers else None

    def named(self, name: str) -> str:
        """The heading of a column without its currency."""
        return re.sub(r"[\s,(\[]*(?:[A-Z]{3}|[€£$¥])[)\]]*$", "", self.headers[name][0].text)

    def unit(self, name: str) -> str:
        """What stands in brackets in a heading, such as `kgal` or `mm/dd/yyyy`."""
        return (self.headers[name][0].unit or self.headers[name][0].odd_unit
                if name in self.headers else "")  # fmt: skip


def texts(export: Export, names: tuple[str, ...]) -> Iterator[Located]:
    for line in export.below:
        for name in names:
            if isinstance(cell := export.cell(line, name), str):
                yield line.number, cell


def order_in_heading(export: Export) -> str | None:
    """The order that a heading such as `Date (mm/dd/yyyy)` states."""
    order = "".join(dict.fromkeys(re.sub(r"[^dmy]", "", export.unit("date").lower()))).upper()
    return order if order in ("DMY", "MDY", "YMD") else None


def currency_of(export: Export, line: FileLine) -> str:
    """The currency that a line names, in its own column or beside its amount."""
    for name, find in (("currency", _any_currency), ("amount", _marked), ("net", _marked)):
        cell = export.cell(line, name)
        if isinstance(cell, (str, Measured)) and (found := find(str(cell))):
            return found
    return ""


def _any_currency(text: str) -> str:
    return _SIGNS.get(text, text.upper())


def _marked(text: str) -> str:
    """The currency sign or code beside a number."""
    if match := _CODE.search(text):
        return match[0]
    return next((code for sign, code in _SIGNS.items() if sign in text), "")


def same_currency(own: str, ledger: str) -> bool:
    """A bare $ is whichever dollar the ledger is in."""
    return own == ledger or (own == "$" and ledger.endswith("D"))


def settled_currency(export: Export, stated: str) -> Settled | None:
    found = {code for line in export.below if (code := currency_of(export, line))}
    if stated:
        return Settled(stated.upper(), f"currency {stated.upper()}, as stated")
    if in_heading := export.unit("amount"):
        found.add(_any_currency(in_heading))
    if "$" in found and sum(code.endswith("D") for code in found) == 1:
        found.remove("$")
    if len(found) > 1:
        raise UnsettledError(
            "currency", f"The file has {' and '.join(sorted(found))}. Which is the ledger's?",
            sorted(found), under="values",
        )  # fmt: skip
    if not found:
        return None
    (currency,) = found
    return Settled(currency, f"currency {currency}, the only one in the file")


# --- headings ---


def read_export(path: Path, stated: ListMapping) -> tuple[Export, int, list[str]]:
    """The export, how many lines stand above its headings, and how it was read."""
    columns = names_of_columns(stated.columns)
    wanted = replace(_WANTED, stated=columns)

    def heads(file: ListFile) -> HeadingLines | None:
        return find_headings(file, wanted, stated.header_row)

    files = [*map(with_periods_parted, read_list_file(path, wanted, stated))]
    headed = [file for file in files if heads(file)]
    if len(headed) > 1:
        sheets = [file.sheet for file in headed]
        raise UnsettledError("sheet", f"{path.name} has {', '.join(sheets)}. Which?", sheets)
    for question in headed[0].questions if headed else ():
        if question.key == ("delimiter",):
            raise UnsettledError.of([question])
    head = heads(headed[0]) if headed else None
    if head is None:
        question = _no_headings(path, files, wanted)
        if len(question.choices) != 1:
            raise UnsettledError.of([question])
        return read_export(path, with_answer(stated, question, question.choices[0]))
    found = read_headers(head.line, wanted)
    below = headed[0].lines[head.last + 1 :]
    meant = _by_content(found, head.line, below) | _periods(found, head.line, below)
    said, own = columns.get("date"), meant.get("date")
    noted = f"{own!r} looks like a bill's last day, not {said!r}" if said and own else ""
    if columns.keys() & {"date", "bill_date"}:  # what is stated is not said to be another
        meant = {name: text for name, text in meant.items() if text not in columns.values()}
    if meant:
        found = read_headers(head.line, replace(wanted, stated={**meant, **columns}))
    if found.rivals:
        raise UnsettledError.of([
            Question(("columns", name), f"Line {head.line.number}: {' and '.join(map(repr, texts))}"
                     f" may both be the {_SAID.get(name, name)}. Which is it?", texts)
            for name, texts in found.rivals.items()
        ])  # fmt: skip
    for name, text in columns.items():
        if name not in found.headers:
            listed = tuple(map(str, head.line.filled))
            words = f"There is no heading {text!r} for {name}; there are {', '.join(listed)}."
            raise UnsettledError(name, words, under="columns")
    names = ", ".join(f"{name} from {' and '.join(repr(h.text) for h in heads)}"
                      for name, heads in found.headers.items())  # fmt: skip
    findings = [*headed[0].remarks, f"headings on line {head.line.number}: {names}"]
    unused = ", ".join(map(repr, found.unused.values()))
    findings += [f"headings not used: {unused}"] if unused else []
    of_all = {found.headers[name][0].place for name in _MERGED if name in found.headers}
    down = {place: value for place, value in headed[0].down.items() if place[1] in of_all}
    lines = [_filled_down(line, down) for line in below]
    return Export(head.line, found.headers, lines, noted), head.last, findings


def _holds(
    head: FileLine, heading: str, below: Sequence[FileLine], sort: Callable[[Any], bool]
) -> bool:
    """Whether most cells under a heading are of a sort."""
    place = next(i for i, cell in enumerate(head.cells) if str(cell) == heading)
    cells = [cell for line in below if (cell := line.cell(place)) is not None]
    return sum(map(sort, cells)) * 2 > len(cells)


def _is_date(cell: Any) -> bool:
    return isinstance(cell, dt.date) or bool(_DATE.search(str(cell)))


# What the cells of a column look like, where several headings may be meant: dates, an item in
# words rather than by its code, a number of the paper rather than the word for what it is.
_LOOKS: Mapping[str, Callable[[Any], bool]] = {
    "date": _is_date, "bill_date": _is_date, "period_start": _is_date,
    "item": lambda cell: bool(re.search(r"[^\W\d_]+ [^\W\d_]+|[^\W\d_]{5,}", str(cell))
                              and " " in str(cell)),
    "reference": lambda cell: any(c.isdigit() for c in str(cell)),
}  # fmt: skip


def _by_content(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Of rival headings the one whose cells look like the column's."""
    meant = {}
    for name, texts in found.rivals.items():
        sort = _LOOKS.get(name, lambda cell: False)
        alike = [text for text in texts if _holds(head, text, below, sort)]
        if len(alike) == 1:
            meant[name] = alike[0]
    return meant


def _periods(found: HeaderReading, head: FileLine, below: Sequence[FileLine]) -> dict[str, str]:
    """Headings such as "Abrechnung von" that hold dates: the last word tells what they are.

    A bill's last day goes before the day of its paper, though that is called the date.
    """
    ends = {
        name: [
            text
            for text in found.unused.values()
            if _last_word(text) in _words_of(name) and _holds(head, text, below, _is_date)
        ]
        for name in ("period_start", "date")
    }
    meant = {}
    for name, texts in ends.items():
        taken = found.headers.get(name)
        kept = taken and (name != "date" or _last_word(taken[0].text) in _words_of("date"))
        if len(texts) > 1 and not kept:
            listed = " and ".join(map(repr, texts))
            words = f"{listed} may both be the {_SAID[name]}. Which is it?"
            raise UnsettledError(name, words, texts, under="columns")
        if texts and not kept:
            meant[name] = texts[0]
            if taken and "bill_date" not in found.headers:
                meant["bill_date"] = taken[0].text
    return meant


def _last_word(heading: str) -> str:
    return plain(heading).split()[-1] if plain(heading) else ""


def _words_of(name: str) -> frozenset[str]:
    """From and to, in every language."""
    own, others = names_of(EXPORTED[name])
    return frozenset(word for word in own | others if " " not in word and len(word) < 6) - _NO_END


def _no_headings(path: Path, files: Sequence[ListFile], wanted: Wanted) -> Question:
    """What is missing in the line that names the most columns, and which headings may be it."""
    lines = [(line, file.lines[place + 1 :]) for file in files
             for place, line in enumerate(file.lines[:100]) if wanted.named(line)]  # fmt: skip
    if not lines:
        words = f"{path.name} has no line of headings: a date and an amount, or net, are needed."
        return Question(("header_row",), words)
    best, below = max(lines, key=lambda line: len(wanted.named(line[0])))
    found = read_headers(best, wanted)
    missing = next((g for g in wanted.needed if not {*g} & {*found.headers}), ("date",))[0]
    meant = _periods(found, best, below) if missing == "date" else {}
    left = tuple(found.unused.values())
    sort = _LOOKS.get(missing, lambda cell: not _is_date(cell) and any(map(str.isdigit, str(cell))))
    alike = tuple(text for text in left if _holds(best, text, below, sort))
    asked = _ASKED["period" if missing == "date" and "period_start" in found.headers else missing]
    choices = (meant[missing],) if missing in meant else alike or left
    words = f"Which column is {asked}? On line {best.number} no heading says it."
    if not left:
        words = f"No column is {asked}: line {best.number} has {', '.join(map(repr, best.filled))}."
    return Question(("columns", missing), words, choices)


def _filled_down(line: FileLine, down: Mapping[tuple[int, int], Any]) -> FileLine:
    """The line with what stands in cells that were merged down to it."""
    held = (down.get((line.number, i)) if cell is None else cell
            for i, cell in enumerate(line.cells))  # fmt: skip
    return line if line.blank or not down else replace(line, cells=tuple(held))


def names_of_columns(columns: Mapping[str, str]) -> dict[str, str]:
    """Stated headings by the names of the ledger's columns, which may be said as on its sheet."""
    names = {word: column.name for column in EXPORTED.columns for part in names_of(column)
             for word in part} | {"first day": "period_start", "last day": "date"}  # fmt: skip
    for said in columns:
        if plain(said) not in names:
            known = ", ".join(f"{name} ({_SAID[name]})" if name in _SAID else name
                              for name in EXPORTED.names)  # fmt: skip
            raise UnsettledError("columns", f"The ledger has no column {said!r}; it has {known}.")
    return {names[plain(said)]: heading for said, heading in columns.items()}
