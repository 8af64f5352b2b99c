"""One reader for every list that people type or export, whatever its layout.

Nothing is guessed in silence and nothing dropped in silence: what was understood in its own way
stands in `report`, with the number of the line; what only the owner of the list can say stands in
`questions`, to be answered in a mapping file (see `mapping`), in the terminal, or in the list.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import cycle, groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.header_words import plain
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.lists.doubts import ListRow, Reading, system_of, tell_units
from xlfuncs.workbooks.lists.files import read_list_file
from xlfuncs.workbooks.lists.headers import Wanted, find_headings, is_number
from xlfuncs.workbooks.lists.lines import FileLine, ListFile
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.missing import NUMBERED, by_width, values_for
from xlfuncs.workbooks.lists.numbers import UnsettledError, cell_numbers, date_order, decimal_mark
from xlfuncs.workbooks.lists.questions import LEAVE_OUT, Question
from xlfuncs.workbooks.lists.rows import Kind, kind_of_line, number_cells, numbers_of, read_headings
from xlfuncs.workbooks.lists.values import UnknownWord, ValueReader
from xlfuncs.xlsx.cell_references import column_letters


def read_list(
    path: Path, wanted: Wanted, system: str, mapping: ListMapping | None = None
) -> Reading:
    """The rows of a list in a file; `system` (us or metric) is that of the values wanted."""
    mapping = mapping or ListMapping()
    wanted = replace(wanted, stated=stated_headings(mapping, wanted.table))
    files = read_list_file(path, wanted, mapping)
    scores = [head.score if (head := find_headings(file, wanted)) else 0 for file in files]
    file = files[scores.index(max(scores))]
    reading = read_lines(file, wanted, system, mapping)
    rivals = [f.sheet for f, score in zip(files, scores, strict=True) if score == max(scores) > 0]
    if len(rivals) > 1:
        reading.ask(("sheet",), "Which sheet holds the list?", rivals)
    others = ", ".join(repr(other.sheet) for other in files if other is not file)
    if others:
        reading.report.append(f"Read from sheet {file.sheet!r}; not used: {others}.")
    return reading


def read_lines(file: ListFile, wanted: Wanted, system: str, mapping: ListMapping) -> Reading:
    """The rows of a list from its lines."""
    wanted = replace(wanted, stated=stated_headings(mapping, wanted.table))
    reading = Reading(file, wanted, system, mapping)
    reading.report += file.remarks
    reading.questions += [q for q in file.questions if not _answered(q, mapping)]
    read_headings(reading)
    if reading.head is None:
        return reading
    reading.system = mapping.system if wanted.follows else system
    reading.system = reading.system or system or system_of(reading)
    reading.reader = _value_reader(reading)
    for line in _rows_with_block_heading(reading, reading.head.line):
        reading.rows.append(ListRow(line[0], _values(reading, line[0]), line[1]))
    tell_units(reading, stated=bool(system or mapping.system))
    _fill_values(reading)
    return reading


def stated_headings(mapping: ListMapping, table: Table) -> dict[str, str]:
    """The columns whose headings were named, '' for those that the list is said not to have."""
    needed = {column.name for column in table.columns if column.required}
    return {name: text for name, text in mapping.columns.items()
            if text != NUMBERED and (text or name not in needed)}  # fmt: skip


def _answered(question: Question, mapping: ListMapping) -> bool:
    return len(question.key) == 1 and bool(getattr(mapping, question.key[0]))


def _value_reader(reading: Reading) -> ValueReader:
    """Settles decimal mark and order of dates for the whole list."""
    texts: dict[str, list[tuple[int, str]]] = {"number": [], "date": []}
    for line in reading.below:
        for header in (h for n, found in reading.headers.items() for h in found
                       if reading.wanted.is_read(n)):  # fmt: skip
            kind = DIMENSIONS[header.column.dimension].kind
            if kind in texts and isinstance(cell := line.cell(header.place), str):
                parts = cell_numbers([cell]) if kind == "number" else [cell]
                texts[kind] += [(line.number, text) for text in parts]
    mapping = reading.mapping
    mark, order = "", ""
    try:
        settled = decimal_mark(mapping.decimal, texts["number"])
        mark = settled.value if settled else "."
        if settled and settled.text and (mark == "," or "," in settled.text):
            sign = "decimal commas" if mark == "," else "thousands marks"
            reading.report.append(f"Commas are read as {sign}, as in {settled.text}.")
    except UnsettledError as error:
        reading.ask(("decimal",), f"{error} Is it a decimal comma, or a decimal point?", (",", "."))
    try:
        found = date_order(mapping.date_order, texts["date"])
        order = found.value if found else "YMD"
    except UnsettledError as error:
        reading.ask(("date_order",), str(error), error.questions[0].choices)
    units = dict(mapping.units)
    if mapping.system:
        for name, headers in reading.headers.items():
            if not headers[0].unit and (unit := headers[0].column.unit(mapping.system)):
                units.setdefault(name, unit)
    return ValueReader(reading.system, mark, order, units, mapping.words)


def _rows_with_block_heading(reading: Reading, head: FileLine) -> Iterator[tuple[FileLine, str]]:
    """The lines that are rows, each with the heading of its block; the others are reported."""
    blank, nameless, hidden = [], [], []
    block, before = "", Kind.ROW
    numbers: list[list[float | None]] = []
    mapping = reading.mapping
    for line in reading.below:
        kind = kind_of_line(line, reading.headers, head, reading.wanted, numbers)
        if line.number in mapping.leave_out and kind is not Kind.BLANK:
            reading.left_out.append(f"Row {line.number} is left out, as stated: {line.text}")
        elif line.hidden and mapping.hidden_rows == "leave out":
            hidden.append(line.number)
        elif kind is Kind.BLANK:
            blank.append(line.number)
        elif kind is Kind.ROW:
            numbers.append(numbers_of(line, reading.headers))
            yield line, block
        elif kind is Kind.NAMELESS:
            nameless.append(line)
        elif kind is Kind.HEADINGS and _ends_here(reading, line, before):
            reading.report.append(
                f"From row {line.number} another list begins, not used: {line.text}"
            )
            break
        elif kind is not Kind.HEADINGS:
            reading.report.append(f"Row {line.number} is not used, {kind.value}: {line.text}")
            if kind is Kind.NOTE and len(line.filled) == 1:
                block = str(line.filled[0])[:40].rstrip(" :")
        before = kind
    if blank:
        reading.report.append(f"Blank rows: {', '.join(map(str, blank))}.")
    if hidden:
        reading.left_out.append(f"Hidden rows are left out: {', '.join(map(str, hidden))}.")
    reading.report += reading.left_out
    if nameless:
        listed = "; ".join(f"Row {line.number}: {line.text}" for line in nameless)
        words = f"Rows with values but no {reading.wanted.table.columns[0].header.lower()} are"
        answer = ", ".join(str(line.number) for line in nameless)
        words += f" not used. Give them a name, or leave them out. {listed}."
        reading.ask(("leave_out",), words, (LEAVE_OUT + answer,))


def _ends_here(reading: Reading, line: FileLine, before: Kind) -> bool:
    """Whether words where numbers should be are the headings of another list; asks if unsure."""
    mapping, head = reading.mapping, reading.head
    words = len(number_cells(line, reading.headers))
    if len(reading.wanted.named(line)) > 1:
        if mapping.header_row or head is None:
            return True
        reading.ask(
            ("header_row",),
            f"Another list begins in row {line.number}: {line.text}. Which row heads the list?",
            (str(head.line.number), str(line.number)),
        )
    elif before is Kind.BLANK and words > 2:
        return True
    elif not mapping.last_row:
        reading.ask(
            ("last_row",),
            f"Row {line.number} has words where numbers should be: {line.text}. Which row is the"
            " last of the list? (Or leave the row out with leave_out.)",
            (str(line.number - 1),),
        )
    return False


def _values(reading: Reading, line: FileLine) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for name in filter(reading.headers.__contains__, reading.wanted.table.names):
        if not reading.wanted.is_read(name):
            continue
        headers = reading.headers[name]
        where = f"Row {line.number}, {headers[0].column.header}"
        uncomputed = [h for h in headers if line.cell(h.place) is None and h.place in line.formulas]
        if uncomputed and not reading.wanted.follows:
            cells = ", ".join(f"{column_letters(h.place + 1)}{line.number}" for h in uncomputed)
            words = f"Formulas without a computed value on sheet {reading.file.sheet!r}: {cells}."
            reading.ask((), f"{words} Open the workbook in a spreadsheet program and save it.")
        try:
            value = reading.reader.read(headers, line)
        except UnknownWord as error:
            reading.ask(("words", error.word), f"{where}: what does {error.word!r} mean?",
                        error.choices)  # fmt: skip
            continue
        except InputError as error:
            typed = [str(cell) for h in headers if (cell := line.cell(h.place)) is not None]
            value = " ".join(typed)
            if reading.wanted.follows:
                reading.report.append(f"{where}: {error.message}.")
            elif reading.reader.mark or not set(value) & {",", "."}:
                if _may_be_typed(reading, name):
                    reading.unread[name, line.number] = error.message
                    continue
                words = f"{where}: {error.message}. Correct it in the list."
                reading.ask(("leave_out",), words, (f"{LEAVE_OUT}{line.number}",))
            else:
                reading.report.append(f"{where}: {value!r} waits for what its mark means.")
        if value is not None:
            values[name] = value
    _tell_beside(reading, line)
    return values


def _may_be_typed(reading: Reading, name: str) -> bool:
    """Whether a cell that cannot be read may be typed, as one that is missing; not where values of
    before would stand in."""
    column = reading.wanted.table[name]
    return column.required and is_number(column) and not reading.mapping.known


def _tell_beside(reading: Reading, line: FileLine) -> None:
    head = reading.head.line if reading.head else line
    beside = [str(c) for i, c in enumerate(line.cells) if c is not None and head.cell(i) is None]
    if beside:
        words = f"Row {line.number} holds more where no header is, not used: "
        reading.report.append(words + ", ".join(beside))


def _fill_values(reading: Reading) -> None:
    """What is known of rows from before, then the values that the mapping gives to every row that
    has none, or one to each."""
    for row in reading.rows:
        before = reading.mapping.known.get(str(row.values.get(reading.wanted.table.names[0])), {})
        row.values |= {n: v for n, v in before.items() if n not in row.values and v is not None}
    given = reading.mapping.values
    for name in filter(given.__contains__, reading.wanted.table.names):  # a width before its lines
        column, typed = reading.wanted.table[name], given[name]
        rows = [row for row in reading.rows if name not in row.values]
        if reading.rows and not rows:
            continue
        try:
            values = values_for(reading, column, typed, rows)
        except InputError as error:
            if reading.mapping.known:  # one for each of the rows of before
                continue
            words = f"{column.header} for all rows: {error.message}."
            reading.ask(("values", name), words)
            continue
        if plain(str(typed)) in map(plain, reading.unused.values()):
            words = f"[values] {name} = {typed!r} is a heading: write it under [columns]."
            reading.ask(("columns", name), words, (str(typed),))
            continue
        for row, value in zip(rows, cycle(values)):
            row.values[name] = value
        if across := dict.fromkeys(by_width(reading, column, typed, rows)):
            unit = reading.wanted.table["strip_width"].unit(reading.system)
            told, behind = [], f" {unit} wide"
            for lines, same in groupby(sorted(across, reverse=True), itemgetter(0)):
                widths = [f"{wide:.4g}" for _, wide in same][::-1]
                told.append(f"{lines} ({' to '.join(widths[:: max(1, len(widths) - 1)])}{behind})")
                behind = ""
            reading.report.append(f"Lines per bed {typed}: {', '.join(told)}.")
