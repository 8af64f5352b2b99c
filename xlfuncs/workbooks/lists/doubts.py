"""What came of a list: its rows and how it was read; and what it leaves open once they are read:
units, missing columns, which beds count."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from statistics import median
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.tables.header_words import names_crops, plain
from xlfuncs.tables.headers import Header, of_another_kind
from xlfuncs.units import SYSTEMS, conversion, display, to_base
from xlfuncs.workbooks.lists import values as of_cells
from xlfuncs.workbooks.lists.headers import Found, HeadingLines, Wanted, is_number
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, is_plain
from xlfuncs.workbooks.lists.mapping import ListMapping, given_answers, mapping_text
from xlfuncs.workbooks.lists.numbers import doubted, several
from xlfuncs.workbooks.lists.questions import LEAVE_OUT, OpenQuestions, Question
from xlfuncs.workbooks.lists.values import ValueReader, lines_by_width

_FAR = {"us": "10, 14, 18 ft", "metric": "10, 14, 18 m"}
_EVERY = {"us": "18 in", "metric": "45 cm"}  # of the bed's width a line, as an example
MOST_SHOWN = 12  # of the values of rows, one by one; else the first and last
NUMBERED = "1, 2, 3"  # said of the column that names the rows: they are numbered


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
    """us or metric, whichever has more of the units that the headings state."""
    units = [h.unit for found in reading.headers.values() for h in found if h.unit]
    metric, american = (sum(_only_of(unit, s) for unit in units) for s in ("metric", "us"))
    return "metric" if metric > american else "us"


def tell_units(reading: Reading, *, stated: bool) -> None:
    """Reports or asks what plain numbers are whose unit is stated nowhere."""
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


def _ask_size(reading: Reading, header: Header, unit: str, *, foreign: bool) -> None:
    """Asks for a unit where a size would be odd, or every stated unit is of the other system; the
    size of the middle bed or, among cells that state units, of any that does not."""
    name, column = header.column.name, header.column
    beds = [(to_base(v, column.dimension, reading.system), row, is_plain(cell))
            for row, cell in zip(reading.rows, reading.numbers(name), strict=False)
            if isinstance(v := row.values.get(name), float)]  # fmt: skip
    bare = [bed for bed in beds if bed[2]]
    if name not in reading.wanted.usual or not bare:
        return
    low, high = reading.wanted.usual[name]
    size, of = median(size for size, *_ in beds), "for the middle bed"
    if len(bare) < len(beds):
        size, row, _ = max(bare, key=lambda bed: not low <= bed[0] <= high)
        of = f"in row {row.line.number}, unlike the others"
    if low <= size <= high and not foreign:
        return
    number = size / conversion(unit, column.dimension)[0]
    units = [u for u in ("ft", "in", "m", "cm", "mm")
             if low <= number * conversion(u, column.dimension)[0] <= high]  # fmt: skip
    shown = display(size, column.dimension, reading.system, 3)
    words = f"{column.header} states no unit and would be {shown} {of}."
    reading.ask(("units", name), f"{words} What is its unit?", units)


def ask_missing(reading: Reading, count: int) -> None:
    """Asks for required columns and values, and for what is named elsewhere; `count` rows are on
    the list."""
    first = reading.wanted.table.columns[0].name
    for column in reading.wanted.table.columns:
        names = reading.wanted.names.get(column.name, ())
        asked = any(q.key[1:] == (column.name,) for q in reading.questions)
        if not (column.required or names) or not count or asked:
            continue
        rows = [row for row in reading.rows if column.name not in row.values]
        lines = [row.line.number for row in rows]
        key = column.name == first
        if lines and column.name not in reading.headers and len(rows) == len(reading.rows):
            meaning = column.help[0].lower() + column.help[1:].rstrip(".")
            also = f'"{NUMBERED}" to number them' if key else "one for all beds"
            if number := is_number(column):
                far = column.name == "distance"
                also += f"{' (fed from one place)' * far}, or one for each: "
                also += _FAR[reading.system] if far else "2, 3, 2"
            if column.name == "laterals":
                every = "" if reading.wanted.follows else f", or every {_EVERY[reading.system]}"
                soil = str(reading.mapping.settings.get("soil", ""))
                also += f"{every}. {of_cells.wetted_widths(reading.system, soil)}"
            spare = list(reading.unused.values()) if key else spare_headings(reading, column)
            if names:
                words = (
                    f"{column.header}: {meaning.partition(', by its name')[0]}? One for all beds"
                )
                words += f", or the column that says it: {', '.join(spare)}" if spare else ""
                reading.ask(("values", column.name), f"{words}.", names)
                continue
            of, choices = f"{column.header} ({meaning})", [*spare, NUMBERED] if key else spare
            words = f"Which column gives {of}? Or" if spare or not number else f"{of}:"
            checked = _checked(reading, column, rows) if number else {}
            if column.name == "laterals" and every and not spare:
                checked |= of_cells.lines_proposed(reading.system, soil, checked["fault"])
            reading.ask(("columns", column.name), f"{words} {also}.", choices, number=number,
                        **checked)  # fmt: skip
        elif lines and column.required and not reading.wanted.follows:
            listed = ", ".join(map(str, lines))
            named = [str(row.values.get(first)) for row in rows if first in row.values]
            of = f" of {', '.join(named)}" if named else ""
            words = f"{column.header}{of} is missing in line {listed}."
            if not is_number(column):
                reading.ask(("leave_out",), words, (listed,))
                continue
            each = "one for each, in that order, with commas" if len(lines) > 1 else "it"
            reading.ask(("leave_out",), f"{words} Type {each}; or:", (LEAVE_OUT + listed,),
                        instead=column.name, number=True,
                        **_checked(reading, column, rows))  # fmt: skip


def values_for(
    reading: Reading, column: Column, typed: object, rows: Sequence[ListRow]
) -> list[Any]:
    """The values of "10, 14, 18 ft" or "every 18 in", one for each of the rows, or one for all;
    each has the unit of the last, or that of its heading. InputError says what is wrong."""
    header = next(iter(reading.headers.get(column.name, ())), Header(0, column.name, column))
    if across := by_width(reading, column, typed, rows):
        return [float(lines) for lines, _ in across]
    count = len(rows) if is_number(column) else 1
    *others, last = several(str(typed).strip(), count) if count > 1 else [typed]
    behind = partial(re.sub, r"^[-+.,\d\s]+", "")  # the number: the unit
    parts = [*(part if behind(part) else f"{part} {behind(last)}" for part in others), last]
    if others and len(parts) != count:
        last = min(len(parts), count) - 1
        at = f"they end at {_names(reading, rows)[last]} with {str(parts[last]).strip()}"
        at += f"; {parts[count]} is left over" if len(parts) > count else ""
        raise InputError(column.name, f"{len(parts)} values for {count} rows: {at}")
    header = replace(header, place=0)
    return [reading.reader.read((header,), FileLine(0, (part,))) for part in parts]


def by_width(
    reading: Reading, column: Column, typed: object, rows: Sequence[ListRow]
) -> list[tuple[int, float]]:
    """Lines and width of each bed where a rule gives the lines; formulas that follow have none."""
    if column.name != "laterals" or reading.wanted.follows:
        return []
    return lines_by_width(reading.reader, str(typed), [row.values for row in rows])


def _checked(reading: Reading, column: Column, rows: Sequence[ListRow]) -> dict[str, Any]:
    """What says what is wrong with values typed for the rows, and what repeats them bed by bed."""

    def read(typed: str) -> list[Any]:
        heading = plain(typed) in map(plain, reading.headings)  # or its letters
        left_out = heading or bool(re.fullmatch("[A-Z]{1,3}", typed)) or typed.startswith(LEAVE_OUT)
        return [] if left_out else values_for(reading, column, typed, rows)

    def fault(typed: str) -> str:
        try:
            read(typed)
        except InputError as error:
            return f"{typed!r}: {error.message}."
        return ""

    def echo(typed: str) -> tuple[str, str]:
        values, names = read(typed), _names(reading, rows)
        if len({*values}) < 2 or by_width(reading, column, typed, rows):
            return "", ""
        pairs = [f"{name} {value:g}" for name, value in zip(names, values, strict=True)]
        if len(pairs) > MOST_SHOWN:
            pairs[1:-1] = [f"{pairs[1]} ... {pairs[-2]}"]
        words = f"{', '.join(pairs)} {column.unit(reading.system)}".rstrip()
        return f"{words}; to change: {column.header} on Beds", doubted(typed, values)

    return {"fault": fault, "echo": echo}


def _names(reading: Reading, rows: Sequence[ListRow]) -> list[str]:
    first = reading.wanted.table.columns[0].name
    return [str(row.values.get(first, f"line {row.line.number}")) for row in rows]


def spare_headings(reading: Reading, column: Column) -> list[str]:
    """The headings that nothing is read from and that may be a column's: numbers for a number, and
    no unit of another kind."""
    found = []
    for place, text in reading.unused.items():
        cells = [cell for row in reading.rows if (cell := row.line.cell(place)) is not None]
        digits = r"\d+" if column.dimension == "count" else r".*\d.*"  # 5' counts nothing
        numbers = sum(bool(re.fullmatch(digits, str(cell).strip())) for cell in cells)
        other = is_number(column) and of_another_kind(text, column)
        crops = not is_number(column) and names_crops([str(cell) for cell in cells])
        if (2 * numbers >= len(cells)) == is_number(column) and not other and not crops:
            found.append(text)
    return found
