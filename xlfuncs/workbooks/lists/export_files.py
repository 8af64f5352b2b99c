"""Reading an export, CSV or XLSX, as numbered lines under the headings that were found in it.

A CSV file's delimiter is the one under which a line of it holds the headings that are needed.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Table
from xlfuncs.workbooks.lists.export_values import UnsettledError

Cell = str | int | float | bool | dt.date | None
DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
_HEADING = re.compile(r"(.*?)\s*[(\[]([^)\]]*)[)\]]\s*")


@dataclass(frozen=True)
class Line:
    """A line of the file (a row of the sheet) and its cells."""

    number: int
    cells: tuple[Cell, ...]

    @property
    def text(self) -> str:
        """The line as words, for a report."""
        return " | ".join("" if cell is None else str(cell) for cell in self.cells).strip(" |")

    @property
    def blank(self) -> bool:
        return not any(cell is not None and str(cell).strip() for cell in self.cells)


@dataclass(frozen=True)
class Headings:
    """Which column of the file is which column of the table, with units in the headings."""

    line: Line
    places: dict[str, int]
    units: dict[str, str]


@dataclass(frozen=True)
class Export:
    """The file: its headings, the lines below them, and words on how it was read."""

    headings: Headings
    above: list[Line]
    below: list[Line]
    findings: list[str]


@dataclass(frozen=True)
class Wanted:
    """The headings to look for: those of a table, more names for them, and stated ones."""

    table: Table
    more: Mapping[str, tuple[str, ...]]
    stated: Mapping[str, str]
    needed: tuple[tuple[str, ...], ...]  # of each group one must be there

    def find(self, lines: list[Line]) -> Headings | None:
        """The first line that holds what is needed."""
        names = self._names()
        for line in lines:
            found, units = self._match(line, names)
            if all(any(name in found for name in group) for group in self.needed):
                for name, places in found.items():
                    if len(places) > 1:
                        both = " and ".join(repr(line.cells[p]) for p in places)
                        raise UnsettledError(
                            "columns", f"Line {line.number}: {both} may both be the {name}."
                        )
                return Headings(line, {name: places[0] for name, places in found.items()}, units)
        return None

    def _names(self) -> dict[str, str]:
        """Lower-case heading to column; a stated heading silences the column's other names."""
        names: dict[str, str] = {}
        for column in self.table.columns:
            if column.name not in self.stated:
                for name in (column.name, column.header, *column.synonyms):
                    names[name.lower()] = column.name
        for column_name, others in self.more.items():
            if column_name not in self.stated:
                names |= dict.fromkeys(others, column_name)
        return names | {heading.strip().lower(): name for name, heading in self.stated.items()}

    def left(self, headings: Headings) -> str:
        """The headings that no column was found in; raises where one of them was stated."""
        for name, heading in self.stated.items():
            if name not in headings.places:
                raise UnsettledError("columns", f"There is no heading {heading!r} for {name}.")
        used = set(headings.places.values())
        cells = enumerate(headings.line.cells)
        left = [repr(cell) for i, cell in cells if i not in used and str(cell or "").strip()]
        return f"headings not used: {', '.join(left)}" if left else ""

    def _match(
        self, line: Line, names: dict[str, str]
    ) -> tuple[dict[str, list[int]], dict[str, str]]:
        found: dict[str, list[int]] = {}
        units: dict[str, str] = {}
        for place, cell in enumerate(line.cells):
            if not isinstance(cell, str):
                continue
            heading, unit = cell.strip(), ""
            if heading.lower() not in names and (match := _HEADING.fullmatch(heading)):
                heading, unit = match[1], match[2].strip()
            if name := names.get(heading.lower()):
                found.setdefault(name, []).append(place)
                if unit:
                    units[name] = unit
        return found, units


def read_export(
    path: Path,
    wanted: Wanted,
    *,
    delimiter: str | None = None,
    encoding: str | None = None,
    sheet: str | None = None,
) -> Export:
    """The lines of a CSV or XLSX file; raises UnsettledError or WorkbookError."""
    if path.suffix.lower() in (".xlsx", ".xlsm"):
        lines, findings = _sheet_lines(path, sheet)
        headings = wanted.find(lines)
    else:
        text, findings = _decoded(path, encoding)
        lines, headings, words = _split(text, wanted, delimiter)
        findings.append(words)
    if headings is None:
        needed = ", ".join(" or ".join(group) for group in wanted.needed)
        raise UnsettledError(
            "columns", f"{path.name} has no line of headings with {needed}; which are they?"
        )
    first, left = headings.line.number, wanted.left(headings)
    names = ", ".join(f"{n} from {headings.line.cells[p]!r}" for n, p in headings.places.items())
    return Export(
        headings,
        [line for line in lines if line.number < first],
        [line for line in lines if line.number > first],
        [*findings, f"headings on line {first}: {names}", *([left] if left else [])],
    )


def _decoded(path: Path, encoding: str | None) -> tuple[str, list[str]]:
    data = path.read_bytes()
    for candidate in [encoding] if encoding else _encodings(data):
        try:
            return data.decode(candidate), [f"encoding {candidate}"]
        except (UnicodeDecodeError, LookupError):
            continue
    raise UnsettledError("encoding", f"{path.name} is not text in UTF-8 or Windows-1252.")


def _encodings(data: bytes) -> list[str]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return ["utf-16"]
    return ["utf-8-sig", "cp1252"]


def _split(
    text: str, wanted: Wanted, delimiter: str | None
) -> tuple[list[Line], Headings | None, str]:
    """The lines, their headings, and words on the delimiter."""
    readings = {}
    for candidate in [delimiter] if delimiter else DELIMITERS:
        lines = _lines(text, candidate)
        if (headings := wanted.find(lines)) or delimiter:
            readings[candidate] = lines, headings
    if len(readings) > 1:
        names = " or ".join(DELIMITERS[d] for d in readings)
        raise UnsettledError("delimiter", f"Columns may be parted by {names}.")
    if not readings:
        return [], None, ""
    ((found, (lines, headings)),) = readings.items()
    how = "as stated" if delimiter else "because so the headings are found"
    return lines, headings, f"delimiter {DELIMITERS.get(found, found)}, {how}"


def _lines(text: str, delimiter: str) -> list[Line]:
    """Numbered by the line on which each begins, since a quoted cell may span several."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    lines, number = [], 1
    try:
        for cells in reader:
            lines.append(Line(number, tuple(cells)))
            number = reader.line_num + 1
    except csv.Error as error:
        raise WorkbookError(f"line {reader.line_num}: {error}") from None
    return lines


def _sheet_lines(path: Path, sheet: str | None) -> tuple[list[Line], list[str]]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(path, read_only=True, data_only=True)
    except Exception as error:  # openpyxl raises many kinds for a file that is not a workbook
        raise WorkbookError(f"{path.name} is not a workbook that can be read: {error}") from None
    try:
        if sheet is None and len(book.sheetnames) > 1:
            raise UnsettledError("sheet", f"{path.name} has sheets {', '.join(book.sheetnames)}.")
        if sheet is not None and sheet not in book.sheetnames:
            raise UnsettledError("sheet", f"{path.name} has no sheet {sheet!r}.")
        page = book[sheet or book.sheetnames[0]]
        lines = [
            Line(number, tuple(_cell(value) for value in row))
            for number, row in enumerate(page.iter_rows(values_only=True), start=1)
        ]
        return lines, [f"sheet {page.title!r}"]
    finally:
        book.close()


def _cell(value: object) -> Cell:
    if isinstance(value, dt.datetime):
        return value.date()
    if value is None or isinstance(value, (str, int, float, bool, dt.date)):
        return value
    return str(value)
