"""What a list does not say: columns and values that are missing, and how they may be typed."""

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.tables.header_words import names_crops, plain
from xlfuncs.tables.headers import Header, of_another_kind
from xlfuncs.workbooks.lists import values as of_cells
from xlfuncs.workbooks.lists.doubts import ListRow, Reading
from xlfuncs.workbooks.lists.headers import is_number
from xlfuncs.workbooks.lists.lines import FileLine
from xlfuncs.workbooks.lists.numbers import doubted, several
from xlfuncs.workbooks.lists.questions import LEAVE_OUT, WHICH

_FAR = {"us": "10, 14, 18 ft", "metric": "10, 14, 18 m"}
_EVERY = {"us": "18 in", "metric": "45 cm"}  # of the bed's width a line, as an example
MOST_SHOWN = 6  # of the values of rows, one by one; else the first and last
NUMBERED = "1, 2, 3"  # said of the column that names the rows: they are numbered


def ask_missing(reading: Reading, count: int) -> None:
    """Asks for required columns and values, and for what is named elsewhere; `count` rows are on
    the list."""
    for column in reading.wanted.table.columns:
        names = reading.wanted.names.get(column.name, ())
        asked = any(q.key[1:] == (column.name,) for q in reading.questions)
        if not (column.required or names) or not count or asked:
            continue
        rows = [row for row in reading.rows if column.name not in row.values]
        if rows and column.name not in reading.headers and len(rows) == len(reading.rows):
            _ask_column(reading, column, rows)
        elif rows and column.required and not reading.wanted.follows:
            _ask_rows(reading, column, rows)


def _ask_column(reading: Reading, column: Column, rows: Sequence[ListRow]) -> None:
    """Asks which heading says what no row has, or for the values."""
    key, number = column is reading.wanted.table.columns[0], is_number(column)
    meaning = column.help[0].lower() + column.help[1:].rstrip(".")
    spare = list(reading.unused.values()) if key else spare_headings(reading, column)
    if names := reading.wanted.names.get(column.name, ()):
        words = f"{column.header}: {meaning.partition(', by its name')[0]}? One for all beds"
        words += f", or the column that says it: {', '.join(spare)}" if spare else ""
        reading.ask(("values", column.name), f"{words}.", names)
        return
    also = f'"{NUMBERED}" to number them' if key else "one for all beds"
    checked = _checked(reading, column, rows) if number else {}
    if number:
        far = column.name == "distance"
        also += f"{' (fed from one place)' * far}, or one for each: "
        also += _FAR[reading.system] if far else "2, 3, 2"
    if column.name == "laterals":
        by_rule = _widths_known(rows) and not reading.wanted.follows
        soil = str(reading.mapping.settings.get("soil", ""))
        also += f", or every {_EVERY[reading.system]}" * by_rule
        also += f". {of_cells.wetted_widths(reading.system, soil)}"
        if by_rule and len(spare) == 1:
            checked |= {"default": spare[0], "proposed": "the one column left that counts"}
        elif by_rule and not spare:
            checked |= of_cells.lines_proposed(reading.system, soil, checked["fault"])
    of, choices = f"{column.header} ({meaning})", [*spare, NUMBERED] if key else spare
    words = f"{WHICH}{of}? Or" if spare or not number else f"{of}:"
    reading.ask(("columns", column.name), f"{words} {also}.", choices, number=number, **checked)


def _ask_rows(reading: Reading, column: Column, rows: Sequence[ListRow]) -> None:
    """Asks for what some rows lack, or have in a form that cannot be read; or to leave them out."""
    first, lines = reading.wanted.table.columns[0].name, [row.line.number for row in rows]
    listed = ", ".join(map(str, lines))
    named = [str(row.values.get(first)) for row in rows if first in row.values]
    of = f" of {', '.join(named)}" if named else ""
    faults = {reading.unread.get((column.name, line), "") for line in lines}
    fault = "; ".join(sorted(filter(None, faults)))
    lacks = f"cannot be read in line {listed}: {fault}" if fault else f"is missing in line {listed}"
    words, more = f"{column.header}{of} {lacks}.", {}
    if is_number(column):
        each = "one for each, in that order, with commas" if len(lines) > 1 else "it"
        words += f" Type {each}; or:"
        more = {"instead": column.name, "number": True, **_checked(reading, column, rows)}
    reading.ask(("leave_out",), words, (LEAVE_OUT + listed,), **more)


def _widths_known(rows: Sequence[ListRow]) -> bool:
    return all(isinstance(row.values.get("strip_width"), float) for row in rows)


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
    return of_cells.lines_by_width(reading.reader, str(typed), [row.values for row in rows])


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
    return [str(row.values.get(first, f"row {row.line.number}:")) for row in rows]


def spare_headings(reading: Reading, column: Column) -> list[str]:
    """The headings that nothing is read from and that may be a column's: numbers for a number, and
    no unit of another kind; a few words again and again for the name of a part, and no crops."""
    found = []
    for place, text in reading.unused.items():
        cells = [cell for row in reading.rows if (cell := row.line.cell(place)) is not None]
        digits = r"\d+" if column.dimension == "count" else r".*\d.*"  # 5' counts nothing
        numbers = sum(bool(re.fullmatch(digits, str(cell).strip())) for cell in cells)
        other = is_number(column) and of_another_kind(text, column)
        words = [str(cell) for cell in cells]
        names = is_number(column) or (
            2 * len({*words}) <= len(words) + 2 and not names_crops(words)
        )
        if (2 * numbers >= len(cells)) == is_number(column) and not other and names:
            found.append(text)
    return found
