"""The lines of a list that somebody typed: a CSV of any kind, or a sheet of an XLSX workbook."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from xlfuncs.errors import WorkbookError

SEPARATORS = (",", ";", "\t", "|")
SHEET_FILES = (".xlsx", ".xlsm")
_UNIT_IN_FORMAT = re.compile(r'[0#?]\s*"([^"]*\S[^"]*)"\s*$')  # as in 0.0" ft"


@dataclass(frozen=True)
class Line:
    """One line with its number as an editor or spreadsheet program shows it; blank cells None."""

    number: int
    cells: tuple[Any, ...]

    @property
    def blank(self) -> bool:
        return not any(cell is not None for cell in self.cells)

    @property
    def filled(self) -> list[Any]:
        return [cell for cell in self.cells if cell is not None]


@dataclass(frozen=True)
class ListFile:
    """All lines of one list, what there is to tell about how it was read, and its sheet."""

    lines: tuple[Line, ...]
    remarks: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()  # what may have gone wrong in reading, to be asked about
    sheet: str = ""


def read_list_file(path: Path, sheet: str = "") -> list[ListFile]:
    """Every list that the file may be meant to hold: one of a CSV, one a sheet of a workbook.

    `sheet` names the one sheet to read.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise WorkbookError(f"{path.name}: {error.strerror or error}") from None
    if path.suffix.lower() in SHEET_FILES:
        return _read_workbook(path.name, content, sheet)
    if content[:4] == b"PK\x03\x04" or content[:4] == b"\xd0\xcf\x11\xe0":
        raise WorkbookError(f"{path.name}: a workbook of another kind; save it as .xlsx or .csv")
    try:
        return [_read_text(path.name, content)]
    except csv.Error as error:
        raise WorkbookError(f"{path.name}: cannot be read as a CSV ({error})") from None


def _read_text(name: str, content: bytes) -> ListFile:
    text, remarks = _decoded(content)
    if not text.strip():
        raise WorkbookError(f"{name}: the file is empty")
    separator = find_separator(text)
    if separator != ",":
        word = {";": "semicolons", "\t": "tabs", "|": "bars"}[separator]
        remarks.append(f"Columns are separated by {word}.")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    lines, doubts, last = [], [], 0
    for cells in reader:
        lines.append(Line(last + 1, tuple(_tidy(cell) for cell in cells)))
        if reader.line_num > last + 1:
            doubts.append(
                f"Lines {last + 1} to {reader.line_num} are one row, for a quotation mark opens in"
                " the first and closes in the last. If it stands for inches, write in instead."
            )
        last = reader.line_num
    return ListFile(tuple(lines), tuple(remarks), tuple(doubts))


def _decoded(content: bytes) -> tuple[str, list[str]]:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16"), []
    try:
        return content.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        words = "The text is not UTF-8 and was read as Windows-1252; look at accents and ½ signs."
        return content.decode("cp1252", errors="replace"), [words]


def find_separator(text: str) -> str:
    """The separator that splits the most lines into one and the same number of columns."""

    def score(separator: str) -> tuple[int, int]:
        rows = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
        widths = Counter(len(row) for row in rows if any(cell.strip() for cell in row))
        widths.pop(1, None)
        if not widths:
            return 0, 0
        width, lines = widths.most_common(1)[0]
        return lines, width

    return max(SEPARATORS, key=score)


def _read_workbook(name: str, content: bytes, wanted: str) -> list[ListFile]:
    import openpyxl

    try:
        book = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
        typed = openpyxl.load_workbook(io.BytesIO(content))
    except Exception as error:  # openpyxl raises whatever its zip and XML readers raise
        raise WorkbookError(f"{name}: cannot be read as a workbook ({error})") from None
    titles = [sheet.title for sheet in book.worksheets]
    if wanted and wanted not in titles:
        raise WorkbookError(f"{name}: no sheet {wanted!r}; there are: {', '.join(titles)}")
    found = [_read_sheet(book[title], typed[title]) for title in titles if wanted in ("", title)]
    filled = [file for file in found if not all(line.blank for line in file.lines)]
    if not filled:
        raise WorkbookError(f"{name}: no sheet holds a list")
    return filled


def _read_sheet(sheet: Any, typed: Any) -> ListFile:
    """The computed values of a sheet; `typed` is the same sheet with its formulas."""
    lines = tuple(
        Line(number, tuple(_as_shown(cell) for cell in row))
        for number, row in enumerate(sheet.iter_rows(), 1)
    )
    hidden = [i for i, row in sheet.row_dimensions.items() if row.hidden]
    remarks: tuple[str, ...] = ()
    if hidden:
        remarks = (f"Hidden rows are read like the others: {', '.join(map(str, hidden))}.",)
    bare = [
        cell.coordinate
        for row in typed.iter_rows()
        for cell in row
        if cell.data_type == "f" and sheet[cell.coordinate].value is None
    ]
    doubts: tuple[str, ...] = ()
    if bare:
        doubts = (
            f"Formulas without a computed value on sheet {sheet.title!r}: {', '.join(bare[:10])}."
            " Open the workbook in a spreadsheet program and save it.",
        )
    return ListFile(lines, remarks, doubts, sheet.title)


def _as_shown(cell: Any) -> Any:
    """A cell's value with the per cent sign or unit that its number format shows behind it."""
    value = cell.value
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        shown = str(cell.number_format).split(";")[0]
        if shown.rstrip().endswith("%"):
            return f"{value * 100:.12g}%"
        if match := _UNIT_IN_FORMAT.search(shown):
            return f"{value:.15g} {match[1].strip()}"
    return _tidy(value)


def _tidy(cell: Any) -> Any:
    if isinstance(cell, str):
        return " ".join(cell.replace("\u00a0", " ").split()) or None
    return cell
