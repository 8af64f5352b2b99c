"""Reading a bed list that somebody else typed: columns in any order, any header, any unit.

Nothing is guessed in silence and nothing dropped in silence: what was understood in its own way
stands in `report`, with the number of the line; what only the owner of the list can say stands in
`questions`, to be answered in a mapping file (see list_mapping) or in the workbook.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.beds import BEDS, COVER_WORDS
from xlfuncs.units import DIMENSIONS, display, to_base
from xlfuncs.workbooks.lists.files import Line, ListFile, read_list_file
from xlfuncs.workbooks.lists.headers import (
    Header,
    HeaderReading,
    find_header_line,
    is_unit_line,
    normal,
    read_headers,
)
from xlfuncs.workbooks.lists.mapping import ListMapping, mapping_text
from xlfuncs.workbooks.lists.numbers import DecimalMark, decide_decimal_mark
from xlfuncs.workbooks.lists.rows import Kind, kind_of_line
from xlfuncs.workbooks.lists.values import ValueReader

# Sizes (m) within which beds usually are; outside, a header without a unit is asked about.
USUAL = {"strip_width": (0.2, 2.5), "bed_top_width": (0.25, 3.0), "length": (1.5, 300.0)}


@dataclass(frozen=True)
class BedListReading:
    """Rows by column name in default units (text as typed where it could not be read), questions
    for the owner, a report line by line, and a mapping file to answer in."""

    rows: tuple[Mapping[str, Any], ...]
    questions: tuple[str, ...]
    report: tuple[str, ...]
    mapping: str


def read_bed_list(path: Path, system: str, mapping: ListMapping | None = None) -> BedListReading:
    """The beds of a CSV or XLSX; `system` (us or metric) is that of the workbook to be."""
    return read_list(path, BEDS, system, mapping, COVER_WORDS)


def read_list(
    path: Path,
    table: Table,
    system: str,
    mapping: ListMapping | None = None,
    words: Mapping[str, str] | None = None,
) -> BedListReading:
    """The rows of any table from a list; `words` are other words for its choices."""
    mapping = mapping or ListMapping()
    files = read_list_file(path, mapping.sheet)
    headed = [file for file in files if find_header_line(file.lines, table) is not None]
    file = (headed or files)[0]
    reading = _Reading(file, table, system, mapping, words or {})
    others = ", ".join(repr(other.sheet) for other in files if other is not file)
    if others:
        reading.report.append(f"Read from sheet {file.sheet!r}; not used: {others}.")
    return reading.result()


@dataclass
class _Reading:
    file: ListFile
    table: Table
    system: str
    mapping: ListMapping
    words: Mapping[str, str]
    questions: list[str] = field(default_factory=list)
    report: list[str] = field(default_factory=list)
    rows: list[dict[str, Any]] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)  # the line of each row

    def result(self) -> BedListReading:
        self.report += self.file.remarks
        self.questions += self.file.doubts
        place = self._header_place()
        if place is None:
            names = ", ".join(c.header for c in self.table.columns if c.required)
            self.questions.append(
                f"Which line holds the headers? No line names two columns such as {names}. Answer"
                " with header_line and [columns] in the mapping file, or with sheet; if there is"
                " no such line, add one to the list."
            )
            return self._finished({}, (), decimal_asked=False)
        headers, below = self._headers(place)
        mark = self._decimal_mark(headers.headers, below)
        reader = ValueReader(self.system, mark.mark, self.mapping.units, self.words)
        self._read_lines(headers.headers, self.file.lines[place], below, reader)
        self._fill_values(reader)
        self._judge(headers.headers)
        understood = {
            name: headers.headers[name][0].text
            for name in self.table.names
            if name in headers.headers
        }
        return self._finished(understood, headers.unused, decimal_asked=bool(mark.question))

    # --- headers ---

    def _header_place(self) -> int | None:
        if self.mapping.header_line is None:
            return find_header_line(self.file.lines, self.table)
        for place, line in enumerate(self.file.lines):
            if line.number == self.mapping.header_line:
                return place
        return None

    def _headers(self, place: int) -> tuple[HeaderReading, Sequence[Line]]:
        lines = self.file.lines
        for line in lines[:place]:
            if not line.blank:
                self.report.append(f"Row {line.number} stands above the table: {_shown(line)}")
        below = lines[place + 1 :]
        headers = read_headers(lines[place], self.table, None, self.mapping.columns)
        if below and is_unit_line(below[0], headers.headers):
            self.report.append(f"Row {below[0].number} gives the units: {_shown(below[0])}")
            headers = read_headers(lines[place], self.table, below[0], self.mapping.columns)
            below = below[1:]
        self._tell_headers(headers)
        return headers, below

    def _tell_headers(self, headers: HeaderReading) -> None:
        for found in headers.headers.values():
            self._tell_header(found)
        for name, texts in headers.rivals.items():
            quoted = ", ".join(repr(text) for text in texts)
            self.questions.append(
                f"Which column is {self.table[name].header}: {quoted}? Answer with {name} under"
                " [columns] in the mapping file."
            )
        for wrong in headers.wrong:
            self.questions.append(
                f"Header {wrong.text!r}: {wrong.words}. Say the unit under [units] in the mapping"
                " file, or which other header is meant under [columns]."
            )
        known = {normal(text) for text in self.mapping.not_used}
        for text in headers.unused:
            if normal(text) not in known:
                self.report.append(
                    f"Column {text!r} is not used: it names nothing of {self._name}."
                )

    def _tell_header(self, found: tuple[Header, ...]) -> None:
        header = found[0]
        column = header.column
        if len(found) > 1:
            texts = " and ".join(repr(h.text) for h in found)
            self.report.append(f"Columns {texts} are added up to {column.header}.")
        elif normal(header.text) not in (normal(column.header), normal(column.heading("us")),
                                         normal(column.heading("metric"))):  # fmt: skip
            doubt = "" if header.sure else ", the nearest name"
            self.report.append(f"Column {header.text!r} is taken as {column.header}{doubt}.")
        unit = column.unit(self.system)
        stated = header.unit or self.mapping.units.get(column.name)
        if unit and not stated:
            aside = f" ({header.odd_unit!r} is no unit)" if header.odd_unit else ""
            self.report.append(
                f"Column {header.text!r} states no unit{aside}; plain numbers are read as {unit}."
            )

    @property
    def _name(self) -> str:
        return "the bed list" if self.table is BEDS else self.table.name

    # --- lines ---

    def _decimal_mark(
        self, headers: Mapping[str, tuple[Header, ...]], below: Iterable[Line]
    ) -> DecimalMark:
        places = [h.place for found in headers.values() for h in found
                  if DIMENSIONS[h.column.dimension].kind == "number"]  # fmt: skip
        texts = [
            line.cells[place]
            for line in below
            for place in places
            if place < len(line.cells) and isinstance(line.cells[place], str)
        ]
        mark = decide_decimal_mark(texts, self.mapping.decimal)
        self.report += [mark.remark] if mark.remark else []
        self.questions += [mark.question] if mark.question else []
        return mark

    def _read_lines(
        self, headers: Mapping[str, tuple[Header, ...]], header_line: Line,
        below: Sequence[Line], reader: ValueReader,
    ) -> None:  # fmt: skip
        blank = []
        key = self.table.columns[0].name
        for line in below:
            kind = kind_of_line(line, headers, header_line, key, self.rows, reader)
            if kind is Kind.BLANK:
                blank.append(line.number)
            elif kind is Kind.ROW:
                self._read_row(line, headers, header_line, reader)
            elif kind is Kind.NAMELESS:
                self.questions.append(
                    f"Row {line.number} has values but no {self.table[key].header.lower()}, so it"
                    f" is not used: {_shown(line)}. Give it a name, or leave it out."
                )
            else:
                self.report.append(f"Row {line.number} is not used, {kind.value}: {_shown(line)}")
        if blank:
            self.report.append(f"Blank rows: {', '.join(map(str, blank))}.")

    def _read_row(
        self, line: Line, headers: Mapping[str, tuple[Header, ...]], header_line: Line,
        reader: ValueReader,
    ) -> None:  # fmt: skip
        row: dict[str, Any] = {}
        for name in filter(headers.__contains__, self.table.names):
            found = headers[name]
            try:
                value = reader.read(found, line.cells)
            except InputError as error:
                value = _typed(found, line)
                where = f"Row {line.number}, {self.table[name].header}"
                if reader.mark or "," not in value:
                    self.questions.append(f"{where}: {error.message}. Correct it in the list.")
                else:
                    self.report.append(f"{where}: {value!r} waits for what commas mean.")
            if value is not None:
                row[name] = value
        self._tell_beside(line, header_line)
        self.rows.append(row)
        self.numbers.append(line.number)

    def _tell_beside(self, line: Line, header_line: Line) -> None:
        headed = {i for i, cell in enumerate(header_line.cells) if cell is not None}
        beside = [str(c) for i, c in enumerate(line.cells) if c is not None and i not in headed]
        if beside:
            words = f"Row {line.number} holds more where no header is, not used: "
            self.report.append(words + ", ".join(beside))

    # --- the whole ---

    def _fill_values(self, reader: ValueReader) -> None:
        """The values that the mapping gives to every row that has none."""
        for name, typed in self.mapping.values.items():
            header = Header(0, name, self.table[name])
            try:
                value = reader.read((header,), (typed,))
            except InputError as error:
                self.questions.append(f"[values] {name} in the mapping file: {error.message}.")
                continue
            for row in self.rows:
                row.setdefault(name, value)

    def _judge(self, headers: Mapping[str, tuple[Header, ...]]) -> None:
        if not self.rows:
            self.questions.append("No line below the headers is a bed. Is it the right sheet?")
        self._ask_missing(headers)
        self._ask_twice_named()
        self._ask_sizes(headers)
        absent = [c.header for c in self.table.columns
                  if c.name not in headers and not c.required
                  and c.name not in self.mapping.values]  # fmt: skip
        if absent:
            self.report.append(f"Not in the list, so left blank: {', '.join(absent)}.")

    def _ask_missing(self, headers: Mapping[str, tuple[Header, ...]]) -> None:
        for column in self.table.columns:
            if not column.required or not self.rows:
                continue
            lines = [n for n, row in zip(self.numbers, self.rows, strict=True)
                     if column.name not in row]  # fmt: skip
            if lines and column.name not in headers:
                meaning = column.help[0].lower() + column.help[1:].rstrip(".")
                self.questions.append(
                    f"Which column gives {column.header} ({meaning})? Name it under [columns] in"
                    " the mapping file, or give one value for all beds under [values]."
                )
            elif lines:
                listed = ", ".join(map(str, lines))
                self.questions.append(f"{column.header} is missing in line {listed}.")

    def _ask_twice_named(self) -> None:
        key = self.table.columns[0].name
        if self.table is not BEDS:
            return
        seen: dict[str, int] = {}
        for number, row in zip(self.numbers, self.rows, strict=True):
            name = str(row.get(key, "")).casefold()
            if name in seen:
                self.questions.append(
                    f"Lines {seen[name]} and {number} both name the bed {row[key]!r}. Which is it?"
                )
            seen.setdefault(name, number)

    def _ask_sizes(self, headers: Mapping[str, tuple[Header, ...]]) -> None:
        for name, (low, high) in USUAL.items():
            found = headers.get(name)
            if not found or self.table is not BEDS:
                continue
            if found[0].unit or name in self.mapping.units:
                continue
            column = self.table[name]
            sizes = [row[name] for row in self.rows if isinstance(row.get(name), float)]
            if not sizes:
                continue
            middle = to_base(median(sizes), column.dimension, self.system)
            if not low <= middle <= high:
                shown = display(middle, column.dimension, self.system, 3)
                self.questions.append(
                    f"{column.header} states no unit and would be {shown} for the middle bed. Say"
                    f" its unit under [units] in the mapping file."
                )

    def _finished(
        self, understood: Mapping[str, str], spare: Sequence[str], *, decimal_asked: bool
    ) -> BedListReading:
        missing = [
            c.name for c in self.table.columns
            if c.required and c.name not in understood and c.name not in self.mapping.values
        ]  # fmt: skip
        text = mapping_text(
            self.table, self.system, understood, missing, spare, decimal_asked=decimal_asked
        )
        return BedListReading(tuple(self.rows), tuple(self.questions), tuple(self.report), text)


def _typed(found: tuple[Header, ...], line: Line) -> str:
    cells = [line.cells[h.place] for h in found if h.place < len(line.cells)]
    return " ".join(str(cell) for cell in cells if cell is not None)


def _shown(line: Line) -> str:
    words = " | ".join(str(cell) for cell in line.filled)
    return words if len(words) <= 120 else words[:117] + "..."
