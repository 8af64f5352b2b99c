"""What came of a list: its rows and how it was read; and what their units leave open."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from statistics import median
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.tables.headers import Header
from xlfuncs.units import FOOT_MARKS, INCH_MARKS, SYSTEMS, conversion, display, to_base
from xlfuncs.workbooks.lists.headers import Found, HeadingLines, Wanted, is_number
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, is_plain
from xlfuncs.workbooks.lists.mapping import ListMapping, given_answers, mapping_text
from xlfuncs.workbooks.lists.questions import OpenQuestions, Question
from xlfuncs.workbooks.lists.values import ValueReader

_UNIT_BEHIND = re.compile(rf"(?:(?<=[\d\s])[a-z]+|[{FOOT_MARKS}{INCH_MARKS}])$")


@dataclass
class ListRow:
    """One row of the list: its line, its values by column in default units (text as typed where it
    could not be read), and the heading of the block that it stands in."""

    line: FileLine
    values: dict[str, Any]
    block: str = ""


@dataclass
class Reading:
    """What came of a list."""

    file: ListFile
    wanted: Wanted
    system: str
    mapping: ListMapping
    head: HeadingLines | None = None
    headers: Found = field(default_factory=dict)
    unused: Mapping[int, str] = field(default_factory=dict)
    reader: ValueReader = field(default_factory=lambda: ValueReader("us", ".", "YMD", {}, {}))
    below: Sequence[FileLine] = ()
    rows: list[ListRow] = field(default_factory=list)
    questions: list[Question] = field(default_factory=list)
    report: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)  # rows that the owner takes for no beds
    unread: dict[tuple[str, int], str] = field(default_factory=dict)  # column and line: the fault

    def ask(
        self, key: tuple[str, ...], words: str, choices: Sequence[str] = (), **more: Any
    ) -> None:
        """Keeps a question, once for each matter; what a word means is one, whatever the row."""
        if not any(q.key == key and (q.words == words or key[:1] == ("words",))
                   for q in self.questions):  # fmt: skip
            more.setdefault("columns", self.headings)
            self.questions.append(Question(key, words, tuple(choices), **more))

    @property
    def headings(self) -> tuple[str, ...]:
        """All of the list, as typed."""
        return tuple(str(cell) for cell in self.head.line.filled) if self.head else ()

    @property
    def to_answer(self) -> str:
        """A mapping file with what is answered, understood and asked."""
        spare = list(self.unused.values())
        answers = given_answers(self.mapping)
        return mapping_text(answers, self.questions, self.understood, spare)

    def raise_questions(self) -> None:
        """Stops where something must be answered first."""
        if self.questions:
            raise OpenQuestions(tuple(self.questions), self.to_answer)

    @property
    def understood(self) -> dict[str, str]:
        """The headings by the columns that they were taken for."""
        names = self.wanted.table.names
        return {name: self.headers[name][0].text for name in names if name in self.headers}

    def numbers(self, name: str) -> Iterator[Any]:
        """The cells of a column of numbers in the rows."""
        for header in self.headers.get(name, ()):
            yield from (row.line.cell(header.place) for row in self.rows)


def system_of(reading: Reading) -> str:
    """us or metric, whichever has more of the units that the headings state, else the cells."""
    headers = [h for found in reading.headers.values() for h in found if is_number(h.column)]
    of_headings = [h.unit for h in headers if h.unit]
    of_cells = (_UNIT_BEHIND.search(str(line.cell(h.place)).strip().lower())
                for h in headers for line in reading.below)  # fmt: skip
    for units in (of_headings, [found[0] for found in of_cells if found]):
        metric, american = (sum(_only_of(unit, s) for unit in units) for s in ("metric", "us"))
        if metric != american:
            return "metric" if metric > american else "us"
    return "us"


def tell_units(reading: Reading, *, stated: bool) -> None:
    """Reports or asks what plain numbers are whose unit is stated nowhere."""
    for name in reading.mapping.units:
        _apart_from_the_unit(reading, name)
    units = {h.unit for found in reading.headers.values() for h in found if h.unit}
    bare = [found[0] for name, found in reading.headers.items()
            if is_number(found[0].column) and found[0].column.unit("us")
            and not found[0].unit and name not in reading.mapping.units
            and reading.wanted.is_read(name) and _holds_plain_numbers(reading, name)]  # fmt: skip
    if bare and not stated:
        names = ", ".join(repr(header.text) for header in bare)
        words = f"{names} names no unit. Are plain numbers US units (ft, in) or metric (m, cm)?"
        reading.ask(("system",), words, SYSTEMS)
        return
    system = reading.mapping.system or reading.system
    other = SYSTEMS[1 - SYSTEMS.index(system)]
    foreign = bool(units) and all(_only_of(unit, other) for unit in units)
    for header in bare:
        column = header.column
        aside = f" ({header.odd_unit!r} is no unit)" if header.odd_unit else ""
        unit = column.unit(system)
        if not header.measures_something_else:
            reading.report.append(
                f"Column {header.text!r} states no unit{aside}; plain numbers are read as {unit}."
            )
        _ask_size(reading, header, unit, foreign=foreign and not reading.mapping.system)


def _only_of(unit: str, system: str) -> bool:
    """Whether a unit is one of lengths that one of the systems has."""
    if unit == "ft-in":
        return system == "us"
    for own in {"us": ("ft", "in"), "metric": ("m", "cm")}[system]:
        try:
            if conversion(unit, "length") == conversion(own, "length"):
                return True
        except InputError:
            break
    return False


def _holds_plain_numbers(reading: Reading, name: str) -> bool:
    return any(map(is_plain, reading.numbers(name)))


def _plain_sizes(reading: Reading, name: str) -> list[tuple[float, ListRow, bool]]:
    """The sizes of a column in base units, with their rows and whether they state no unit."""
    column = reading.wanted.table[name]
    return [(to_base(v, column.dimension, reading.system), row, is_plain(cell))
            for row, cell in zip(reading.rows, reading.numbers(name), strict=False)
            if isinstance(v := row.values.get(name), float)]  # fmt: skip


def _apart_from_the_unit(reading: Reading, name: str) -> None:
    """Plain numbers that the unit answered for the others cannot be meant for: their cells are to
    be typed."""
    if name not in reading.wanted.usual or name not in reading.headers or reading.mapping.known:
        return
    low, high = reading.wanted.usual[name]
    bare = [(size, row) for size, row, plainly in _plain_sizes(reading, name) if plainly]
    odd = [(size, row) for size, row in bare if not low <= size <= high]
    if len(odd) == len(bare):  # then the unit was meant as it is
        return
    for size, row in odd:
        del row.values[name]
        shown = display(size, reading.wanted.table[name].dimension, reading.system, 3)
        reading.unread[name, row.line.number] = f"its number would be {shown}"


def _ask_size(reading: Reading, header: Header, unit: str, *, foreign: bool) -> None:
    """Asks for a unit where a size would be odd, or every stated unit is of the other system; the
    size of the middle bed or, among cells that state units, of any that does not."""
    name, column = header.column.name, header.column
    beds = _plain_sizes(reading, name)
    bare = [bed for bed in beds if bed[2]]
    if name not in reading.wanted.usual or not bare:
        return
    low, high = reading.wanted.usual[name]
    size, of = median(size for size, *_ in beds), "for the middle bed"
    if len(bare) < len(beds):
        size, row, _ = max(bare, key=lambda bed: not low <= bed[0] <= high)
        others = [str(one.line.number) for _, one, _ in bare if one is not row]
        of = f"in row {row.line.number}, unlike the others"
        of += f"; none either: {', '.join(others)}" if others else ""
    if low <= size <= high and not foreign:
        return
    number = size / conversion(unit, column.dimension)[0]
    units = [u for u in ("ft", "in", "m", "cm", "mm")
             if low <= number * conversion(u, column.dimension)[0] <= high]  # fmt: skip
    shown = display(size, column.dimension, reading.system, 3)
    words = f"{column.header} states no unit and would be {shown} {of}."
    reading.ask(("units", name), f"{words} What is its unit?", units)
