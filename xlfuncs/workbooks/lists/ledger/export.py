"""An export: its headings, the lines below, and what they all settle: order of dates, currency."""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import Any

from xlfuncs.tables.header_words import UnreadableError, is_total, plain, says
from xlfuncs.tables.headers import SYNONYM
from xlfuncs.workbooks.lists.files import headed_list, read_list_file
from xlfuncs.workbooks.lists.headers import Found, HeaderReading, Wanted, read_headers
from xlfuncs.workbooks.lists.ledger.figures import by_sums, uses, with_taxes
from xlfuncs.workbooks.lists.ledger.headings import (
    EXPORTED,
    LOOKS,
    SAID,
    by_content,
    holds,
    is_end,
    is_figure,
    is_price,
    money_places,
    names_of_columns,
    of_words,
    periods,
    with_periods_parted,
)
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, is_date, shown
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import Located, UnsettledError
from xlfuncs.workbooks.lists.orders.columns import (
    articles,
    counted,
    days_of_goods,
    papers,
    with_goods,
)
from xlfuncs.workbooks.lists.questions import Question

_ASKED = {"date": "the date", "period": "the last day of the bill",
          "amount": "the amount paid, tax included"}  # fmt: skip
# What one cell may say for all the lines beside it.
_MERGED = ("date", "bill_date", "period_start", "kind", "reference", "meter")
_WANTED = Wanted(EXPORTED, worst=SYNONYM, needed=(("date", "bill_date"), ("amount", "net")),
                 strict=True, several=frozenset({"note", "tax", "fixed"}))  # fmt: skip


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
        """The heading of a column, or of those that are added up, without its currency."""
        return " + ".join(re.sub(r"[\s,(\[]*(?:[A-Z]{3}|[€£$¥])[)\]]*$", "", header.text)
                          for header in self.headers[name])  # fmt: skip

    @cached_property
    def words(self) -> dict[Any, str]:
        """What the cells say, in plain words."""
        cells = {*chain.from_iterable(line.cells for line in self.below)} - {None}
        return {cell: plain(shown(cell)) for cell in cells}

    def saying(self, sort: Callable[[str], Any]) -> list[FileLine]:
        """The lines of which a cell says words of a sort."""
        found = {cell for cell, words in self.words.items() if sort(words)}
        return [line for line in self.below if not found.isdisjoint(line.cells)] if found else []

    def headings_left(self, sort: Callable[[Any], bool]) -> list[str]:
        """The headings that no column is read from, over cells of a sort."""
        used = {header.place for found in self.headers.values() for header in found}
        return [str(text) for place, text in enumerate(self.head.cells)
                if text is not None and place not in used
                and holds(self.head, str(text), self.below, sort)]  # fmt: skip

    def not_used(self, told: str) -> str:
        """What is said of headings that nothing is read from and that are not told of yet."""
        left = [repr(text) for text in self.headings_left(lambda cell: True)]
        left = [text for text in left if text not in told]
        days = [repr(text) for text in self.headings_left(is_date)]
        dated = f"; {' and '.join(days)} hold days" if len(days) > 1 else ""
        return f"headings not used: {', '.join(left)}{dated}" if left else ""

    def refuse_odd(self, line: FileLine) -> None:
        count = len(self.head.cells)
        if line.filled == self.head.filled:
            raise UnreadableError("repeats the headings")
        if beyond := sum(cell is not None for cell in line.cells[count:]):
            raise UnreadableError(f"has {count + beyond} cells under {count} headings")
        if is_total(shown(next(iter(line.filled), ""))):
            raise UnreadableError("is a total")

    def unknown(self, line: FileLine, name: str) -> str:
        """The words that stand for a figure that nobody knows: `n/a`, `-`."""
        cells = [line.cell(header.place) for header in self.headers.get(name, ())]
        words = [c for c in cells if isinstance(c, str) and c[:1] != "#" and not is_figure(c)]
        return ", ".join(words) if len(words) == len(cells) else ""

    def unit(self, name: str) -> str:
        """What stands in brackets in a heading, such as `kgal` or `mm/dd/yyyy`."""
        return (self.headers[name][0].unit or self.headers[name][0].odd_unit
                if name in self.headers else "")  # fmt: skip


def texts(export: Export, names: tuple[str, ...]) -> Iterator[Located]:
    for line in export.below:
        for header in (h for name in names for h in export.headers.get(name, ())):
            if isinstance(cell := line.cell(header.place), str):
                yield line.number, cell


def order_in_heading(export: Export) -> str | None:
    """The order that a heading such as `Date (mm/dd/yyyy)` states."""
    order = "".join(dict.fromkeys(re.sub(r"[^dmy]", "", export.unit("date").lower()))).upper()
    return order if order in ("DMY", "MDY", "YMD") else None


# --- headings ---


def read_export(path: Path, stated: ListMapping) -> tuple[Export, int, list[str]]:
    """The export, how many lines stand above its headings, and how it was read."""
    stated = replace(stated, columns=names_of_columns(stated.columns))
    wanted = replace(_WANTED, stated=stated.columns)
    files = [*map(with_periods_parted, read_list_file(path, wanted, stated))]
    try:
        return _read(path, stated, wanted, files)
    except UnsettledError as error:
        raise with_samples(error, [line for file in files for line in file.lines[:100]]) from None


def with_samples(error: UnsettledError, lines: Sequence[FileLine]) -> UnsettledError:
    """The error, its questions for a column with what stands below each heading."""

    def sample(place: int, below: Sequence[FileLine]) -> str:
        return next((shown(cell)[:24] for line in below
                     if (cell := line.cell(place)) is not None), "blank")  # fmt: skip

    def sampled(question: Question) -> Question:
        for i, line in enumerate(lines if question.key[0] == "columns" else ()):
            cells = [*map(shown, line.cells)]
            if question.choices and {*question.choices} <= {*cells}:
                found = (sample(cells.index(text), lines[i + 1 :]) for text in question.choices)
                return replace(question, samples=tuple(found))
        return question

    error.questions = tuple(map(sampled, error.questions))
    return error


def _read(
    path: Path, stated: ListMapping, wanted: Wanted, files: Sequence[ListFile]
) -> tuple[Export, int, list[str]]:
    columns = wanted.stated

    headed = headed_list(path.name, files, wanted, stated.header_row)
    for question in headed[0].questions if headed else ():
        if question.key == ("delimiter",):
            raise UnsettledError.of([question])
    if headed is None:
        question = _no_headings(path, files, wanted)
        if len(question.choices) != 1:
            raise UnsettledError.of([question])
        (heading,) = question.choices
        name = question.key[-1]
        likely = replace(wanted, stated={**columns, name: heading})
        export, above, how = _read(path, stated, likely, files)
        day = "last day" if "period_start" in export.headers else "day"
        what = {"amount": "amount", "date": day}
        if name in what and not heading.endswith("– to"):
            noted = f"{heading!r} is taken as the {what[name]}"
            export = replace(export, noted="; ".join(filter(None, [noted, export.noted])))
        return export, above, how
    file, head, sheets = headed
    below = file.lines[head.last + 1 :]
    found = with_goods(read_headers(head.line, wanted), head.line, below)
    if text := of_words(found, head.line, below, columns):
        name = "note" if "item" in found.headers else "item"
        return _read(path, stated, replace(wanted, stated={**columns, name: text}), files)
    meant = _meant_by_cells(found, head.line, below)
    said, own = columns.get("date"), meant.get("date")
    other = said and own not in (None, said)
    noted = f"{own!r} looks like a bill's last day, not {said!r}" if other else ""
    if columns.keys() & {"date", "bill_date"}:  # what is stated is not said to be another
        meant = {name: text for name, text in meant.items() if text not in columns.values()}
    elif "bill_date" in meant and not {*meant, *found.headers} & {"period_start"}:
        noted = f"dated by {meant['date']!r}, not {meant['bill_date']!r}"
    if meant:
        said_too = replace(wanted, stated={**meant, **columns})
        found = with_goods(read_headers(head.line, said_too), head.line, below)
    if found.rivals:
        raise UnsettledError.of([
            Question(("columns", name), f"Line {head.line.number}: {' and '.join(map(repr, texts))}"
                     f" may both be the {SAID.get(name, name)}. Which is it?", texts)
            for name, texts in found.rivals.items()
        ])  # fmt: skip
    for name, text in columns.items():
        if name not in found.headers:
            listed = tuple(map(str, head.line.filled))
            words = f"There is no heading {text!r} for {name}; there are {', '.join(listed)}."
            raise UnsettledError(name, words, under="columns")
    names = ", ".join(f"{name} from {' and '.join(repr(h.text) for h in heads)}"
                      for name, heads in found.headers.items())  # fmt: skip
    findings = [*file.remarks, f"headings on line {head.line.number}: {names}"]
    used = () if "quantity" in columns else uses(found, head.line, below)
    if len(used) > 1:
        added = ", ".join(repr(header.text) for header in used)
        noted = "; ".join(filter(None, [noted, f"{added} are added up as the quantity"]))
    headers, taxed = with_taxes(found, head.line, below, stated)
    noted = "; ".join(filter(None, [sheets, noted, taxed]))
    headers = {**headers, **({"quantity": used} if used else {})}
    of_all = {found.headers[name][0].place for name in _MERGED if name in found.headers}
    down = {place: value for place, value in file.down.items() if place[1] in of_all}
    lines = [_filled_down(line, down) for line in below] if down else below
    return Export(head.line, headers, lines, noted), head.last, findings


def _meant_by_cells(
    found: HeaderReading, head: FileLine, below: Sequence[FileLine]
) -> dict[str, str]:
    """Headings of columns that their cells tell, where the headings alone do not."""
    return {
        name: text
        for meant in (by_content, periods, days_of_goods, articles, papers, counted, by_sums)
        for name, text in meant(found, head, below).items()
    }


def _no_headings(path: Path, files: Sequence[ListFile], wanted: Wanted) -> Question:
    """What is missing in the line that names the most columns, and which headings may be it."""
    lines = [(line, file.lines[place + 1 :]) for file in files
             for place, line in enumerate(file.lines[:100]) if wanted.named(line)]  # fmt: skip
    lines = lines or [(line, file.lines[place + 1 :]) for file in files
                      for place, line in enumerate(file.lines[:100])
                      if _heads_a_list(line, file.lines[place + 1 : place + 2])][:1]  # fmt: skip
    if not lines:
        words = f"{path.name} has no line of headings: a date and an amount, or net, are needed."
        return Question(("header_row",), words)
    best, below = max(lines, key=lambda line: len(wanted.named(line[0])))
    found = read_headers(best, wanted)
    named = {*found.headers, *found.rivals}
    missing = next((group for group in wanted.needed if not {*group} & named), ("date",))[0]
    ways = (periods, days_of_goods) if missing == "date" else (by_sums,)
    meant = {name: text for way in ways for name, text in way(found, best, below).items()}
    left = tuple(found.unused.values())
    sort = LOOKS.get(missing, is_figure)
    alike = tuple(text for text in left if holds(best, text, below, sort))
    if missing == "date":
        days = tuple(t for t in alike if not says(t, "due day"))
        days = tuple(sorted(days, key=lambda t: is_end(t, "period_start") - is_end(t, "date")))
        alike = days or alike
    if missing == "amount":
        money = {str(best.cell(place)) for place in money_places(best, below)
                 if not is_price(str(best.cell(place)))}  # fmt: skip
        alike = tuple(text for text in alike if text in money)
    asked = _ASKED["period" if missing == "date" and "period_start" in found.headers else missing]
    choices = (meant[missing],) if missing in meant else alike or left
    words = f"Which column is {asked}? On line {best.number} no heading says it."
    if not left:
        words = f"No column is {asked}: line {best.number} has {', '.join(map(repr, best.filled))}."
    return Question(("columns", missing), words, choices)


def _heads_a_list(line: FileLine, below: Sequence[FileLine]) -> bool:
    """Whether words stand over a day and a figure, whatever they say."""
    cells = [cell for under in below for cell in under.filled]
    words = sum(isinstance(cell, str) and not is_figure(cell) for cell in line.filled)
    mostly = len(line.filled) > 2 and words * 3 > len(line.filled) * 2
    return mostly and any(map(is_date, cells)) and any(map(is_figure, cells))


def _filled_down(line: FileLine, down: Mapping[tuple[int, int], Any]) -> FileLine:
    """The line with what stands in cells that were merged down to it."""
    held = (down.get((line.number, i)) if cell is None else cell
            for i, cell in enumerate(line.cells))  # fmt: skip
    return line if line.blank else replace(line, cells=tuple(held))
