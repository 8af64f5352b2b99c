"""From the line of headings to the columns: what was understood is told, what was not is asked.
Then what a line below them is: a row, a note, a sum, the headings again."""

import re
from collections.abc import Sequence
from dataclasses import replace
from enum import Enum
from typing import Any

from xlfuncs.errors import CellError, InputError
from xlfuncs.tables.header_words import is_total, plain
from xlfuncs.tables.headers import NEAR, Header, stated_header
from xlfuncs.units import DIMENSIONS, SYSTEMS
from xlfuncs.workbooks.lists.doubts import Reading
from xlfuncs.workbooks.lists.headers import (
    Found,
    HeaderReading,
    HeadingLines,
    Wanted,
    cut,
    find_headings,
    is_unit_line,
    read_headers,
    shown_place,
    side_by_side,
)
from xlfuncs.workbooks.lists.lines import FileLine, Measured
from xlfuncs.workbooks.lists.values import UnknownWord
from xlfuncs.xlsx.cell_references import column_letters


def read_headings(reading: Reading) -> None:
    """Finds the headings, the columns that they give, and the lines below; else asks for them."""
    reading.head = find_headings(reading.file, reading.wanted, reading.mapping.header_row)
    if reading.head is None:
        _ask_for_headings(reading)
        return
    part = _part(reading, reading.head)
    reading.head = replace(reading.head, line=cut(reading.head.line, part))
    _read_headings(reading, reading.head, part)


def _ask_for_headings(reading: Reading) -> None:
    names = ", ".join(c.header for c in reading.wanted.table.columns if c.required)
    texts = [str(line.number) for line in reading.file.lines
             if sum(isinstance(cell, str) for cell in line.cells) > 1]  # fmt: skip
    reading.ask(
        ("header_row",),
        f"Which line holds the headers? No row names two columns such as {names}. Say also which"
        " is which under [columns]; if there is no such line, add one to the list.",
        texts[:9],
    )


def _part(reading: Reading, head: HeadingLines) -> range:
    """The places that the list takes, where others stand beside it."""
    parts = side_by_side(reading.file, head, reading.wanted)
    letters = [column_letters(part.start + 1) for part in parts]
    chosen = reading.mapping.first_column
    if len(parts) > 1 and chosen not in letters:
        words = f"Lists stand side by side, from the columns {', '.join(letters)}. Which is it?"
        reading.ask(("first_column",), words, letters)
    part = parts[letters.index(chosen)] if chosen in letters else parts[0] if parts else range(9999)
    beside = [str(cell) for i, cell in enumerate(head.line.cells) if cell and i not in part]
    if beside and parts:
        reading.report.append(f"Another list beside it is not used: {', '.join(beside)}.")
    return part


def _read_headings(reading: Reading, head: HeadingLines, part: range) -> None:
    lines, mapping = reading.file.lines, reading.mapping
    for line in lines[: head.last]:
        if not line.blank and line.number < head.line.number:
            reading.report.append(f"Row {line.number} stands above the table: {line.text}")
    below = [cut(line, part) for line in lines[head.last + 1 :]]
    found = read_headers(head.line, reading.wanted)
    if below and is_unit_line(below[0], found.headers):
        reading.report.append(f"Row {below[0].number} gives the units: {below[0].text}")
        found = read_headers(head.line, reading.wanted, below[0])
        below = below[1:]
    if mapping.last_row:
        below = [line for line in below if line.number <= mapping.last_row]
        reading.report.append(f"Rows after {mapping.last_row} are not read, as stated.")
    found = replace(found, headers=_counted(reading, found, below))
    reading.headers, reading.unused, reading.below = found.headers, found.unused, below
    _tell_headings(reading, found)


def _counted(reading: Reading, found: HeaderReading, below: Sequence[FileLine]) -> Found:
    """Where no heading gives the laterals, small whole numbers under one for the line's name, such
    as 'Tape lines', are how many there are, and no names."""
    headers, wanted, mapping = found.headers, reading.wanted, reading.mapping
    known = {*headers, *found.rivals, *mapping.values, *wanted.stated}
    if not {"line", "laterals"} <= {*wanted.table.names} or known >= {"laterals"}:
        return headers
    if "line" not in headers or "line" in wanted.stated or reading.head is None:
        return headers
    header, head = headers["line"][0], reading.head.line
    cells = [line.cell(header.place) for line in below
             if kind_of_line(line, headers, head, wanted, ()) is Kind.ROW]  # fmt: skip
    typed = [str(cell).strip() for cell in cells if cell is not None]
    if not typed or not all(re.fullmatch(r"[0-9](?:\.0)?", text) for text in typed):
        return headers
    laterals = stated_header(header.place, header.text, wanted.table["laterals"])
    return {**{n: h for n, h in headers.items() if n != "line"}, "laterals": (laterals,)}


def _is_value(reading: Reading, name: str, text: str) -> bool:
    """Whether words that are no heading are a value of the column, a name only if it is known."""
    column = reading.wanted.table[name]
    if column.dimension == "text":
        known = (*column.choices, *reading.wanted.names.get(name, ()))
        return plain(text) in map(plain, known)
    try:
        return reading.reader.read((Header(0, name, column),), FileLine(0, (text,))) is not None
    except (InputError, UnknownWord):
        return False


def _tell_headings(reading: Reading, found: HeaderReading) -> None:
    table, file = reading.wanted.table, reading.file
    for name, text in reading.wanted.stated.items():
        if not text:
            reading.report.append(f"{table[name].header}: no column, as the mapping file says.")
        elif name not in found.headers and reading.wanted.is_read(name):
            if _is_value(reading, name, text):  # for all rows, where a heading was asked for
                values = {**reading.mapping.values, name: text}
                columns = {n: t for n, t in reading.mapping.columns.items() if n != name}
                reading.mapping = replace(reading.mapping, columns=columns, values=values)
                continue
            listed = ", ".join(shown_place(file, i, c) for i, c in enumerate(
                reading.head.line.cells if reading.head else ()) if c)  # fmt: skip
            words = f"The mapping says {name} = {text!r}, but the headers are: {listed}."
            words += f" (One value for all rows stands under [values]: {name} = ...)"
            reading.ask(("columns", name), words)
    for headers in found.headers.values():
        header, column = headers[0], headers[0].column
        if len(headers) > 1:
            texts = " and ".join(repr(h.text) for h in headers)
            reading.report.append(f"Columns {texts} are added up to {column.header}.")
        elif reading.wanted.is_read(column.name) and plain(header.text) not in map(
            plain, (column.header, *map(column.heading, SYSTEMS))
        ):
            doubt = ", the nearest name" if header.rank == NEAR else ""
            answered = reading.mapping.asking and column.name in reading.mapping.columns
            if not answered and (column is not table.columns[0] or not header.says_own_name):
                reading.report.append(f"Column {header.text!r} is taken as {column.header}{doubt}.")
        odd = header.measures_something_else and reading.wanted.is_read(column.name)
        if odd and column.name not in reading.mapping.units:
            words = f"{header.odd_unit!r} does not measure {column.dimension.replace('_', ' ')}"
            choices = dict.fromkeys(map(column.unit, SYSTEMS))
            reading.ask(("units", column.name), f"Header {header.text!r}: {words}.", tuple(choices))
    for name, rivals in found.rivals.items():
        if not reading.wanted.is_read(name):
            continue
        listed = ", ".join(map(repr, rivals))
        words = f"Which column is {table[name].header}: {listed}? Several columns could be."
        reading.ask(("columns", name), words, rivals)
    known = {plain(text) for text in reading.mapping.not_used}
    for text in found.unused.values():
        if plain(text) not in known:
            reading.report.append(not_used(text))


def not_used(heading: str) -> str:
    return f"Column {heading!r} is not used: it names nothing of the list."


_SUMMING = re.compile(r"\b(?:SUM|SUBTOTAL|AVERAGE|AGGREGATE)\s*\(([^()]*)\)", re.IGNORECASE)
_RULE = re.compile(r"[-=_:]{2,}")  # of a table drawn with marks
_ROW = re.compile(r"[A-Z]\$?(\d+)")


class Kind(Enum):
    """The value is how the report calls it."""

    ROW = "a row"
    BLANK = "blank"
    REPEATED = "the headers again"
    TOTAL = "a total"
    NOTE = "a note: no number in it"
    NAMELESS = "values without a name"
    HEADINGS = "the headings of another list"


def kind_of_line(
    line: FileLine,
    headers: Found,
    head: FileLine,
    wanted: Wanted,
    rows: Sequence[Sequence[float | None]],
) -> Kind:
    """What the line is; `rows` are the numbers of those before it, by column."""
    if line.blank or all(isinstance(c, str) and _RULE.fullmatch(c) for c in line.filled):
        return Kind.BLANK
    if list(map(_same, line.filled)) == list(map(_same, head.filled)):
        return Kind.REPEATED
    named = headers.get(wanted.table.columns[0].name)
    name = line.cell(named[0].place) if named else None
    if any(isinstance(c, str) and is_total(c) for c in (name, *line.filled[:1])):
        return Kind.TOTAL
    numbers = numbers_of(line, headers)
    if _sums_rows(line, headers) or (any(n is None for n in numbers) and _adds_up(numbers, rows)):
        return Kind.TOTAL
    if not _has_number(line, headers):
        return Kind.HEADINGS if _is_headings(line, headers, wanted) else Kind.NOTE
    if name is None and named:
        return Kind.TOTAL if _adds_up(numbers, rows) else Kind.NAMELESS
    return Kind.ROW


def _same(cell: Any) -> str:
    return plain(str(cell))


def numbers_of(line: FileLine, headers: Found) -> list[float | None]:
    """The numbers of a line as they stand, None for what is none; feet and inches as feet."""
    found: list[float | None] = []
    for parts in headers.values():
        if DIMENSIONS[parts[0].column.dimension].kind == "number":
            values = [_as_number(line.cell(header.place)) for header in parts]
            kept = [value for value in values if value is not None]
            found.append(kept[0] + sum(kept[1:]) / 12 if kept else None)
    return found


def _as_number(cell: Any) -> float | None:
    if isinstance(cell, Measured):
        return cell.value
    if isinstance(cell, str):
        match = re.match(r"\s*(\d+(?:[.,]\d+)?)(?![\d.,])", cell)
        return float(match[1].replace(",", ".")) if match else None
    return float(cell) if isinstance(cell, (int, float)) and not isinstance(cell, bool) else None


def _adds_up(numbers: Sequence[float | None], rows: Sequence[Sequence[float | None]]) -> bool:
    """Whether every number of the line is the sum of its column, of all rows or of the last."""
    told = [i for i, number in enumerate(numbers) if number is not None]
    sums = [0.0] * len(numbers)
    for count, row in enumerate(reversed(rows), 1):
        sums = [total + (row[i] or 0) for i, total in enumerate(sums)]
        if count > 1 and told and all(
            abs((numbers[i] or 0) - sums[i]) <= 0.005 * abs(sums[i]) and sums[i] for i in told
        ):  # fmt: skip
            return True
    return False


def _sums_rows(line: FileLine, headers: Found) -> bool:
    """Whether a number of the line is the sum of cells above it, by its formula."""
    places = {header.place for found in headers.values() for header in found}
    for place, formula in line.formulas.items():
        for match in _SUMMING.finditer(formula if place in places else ""):
            if any(int(row) != line.number for row in _ROW.findall(match[1].upper())):
                return True
    return False


def number_cells(line: FileLine, headers: Found) -> list[Any]:
    """What stands in the columns of numbers and dates."""
    cells = [line.cell(h.place) for found in headers.values() for h in found
             if DIMENSIONS[h.column.dimension].kind in ("number", "date")]  # fmt: skip
    return [cell for cell in cells if cell is not None]


def _has_number(line: FileLine, headers: Found) -> bool:
    """Whether a column of numbers holds a digit; words there are a note that ran over."""
    places = {h.place for found in headers.values() for h in found}
    return any(place in places for place in line.formulas) or any(
        not isinstance(cell, str) or any(c.isdigit() or c in "½¼¾" for c in cell[:12])
        for cell in number_cells(line, headers)
        if not isinstance(cell, CellError)
    )


def _is_headings(line: FileLine, headers: Found, wanted: Wanted) -> bool:
    """Whether words stand where the numbers are, as many as a list has headings."""
    words = [cell for cell in number_cells(line, headers) if isinstance(cell, str)]
    short = all(len(str(cell)) <= 40 for cell in line.filled)
    return short and (len(words) > 1 or len(wanted.named(line)) > 1)
