"""The lines of a list that somebody typed or exported: any text, or the sheets of a workbook.

Of a text, columns are parted by what gives it a line of headings.
"""

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path

from xlfuncs.errors import WorkbookError
from xlfuncs.units import FOOT_MARKS, INCH_MARKS
from xlfuncs.workbooks.lists.headers import SEARCHED_LINES, HeadingLines, Wanted, find_headings
from xlfuncs.workbooks.lists.lines import FileLine, ListFile, tidy
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.lists.questions import Question
from xlfuncs.workbooks.lists.sheets import read_sheets

BLANKS = "  "  # two blanks or more part the columns of a table that was copied from a page
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar", BLANKS: "blanks"}
SHEET_FILES = (".xlsx", ".xlsm")


def read_list_file(path: Path, wanted: Wanted, mapping: ListMapping) -> list[ListFile]:
    """Every list that the file may be meant to hold: one of a text, one a sheet of a workbook."""
    try:
        data = path.read_bytes()
    except OSError as error:
        raise WorkbookError(f"{path.name}: {error.strerror or error}") from None
    if path.suffix.lower() in SHEET_FILES:
        return read_sheets(path.name, data, mapping.sheet)
    if data[:4] in (b"PK\x03\x04", b"\xd0\xcf\x11\xe0"):
        raise WorkbookError(f"{path.name}: a workbook of another kind; save it as .xlsx or .csv")
    text, remarks = _decoded(path.name, data, mapping.encoding)
    if not text.strip():
        raise WorkbookError(f"{path.name}: the file is empty")
    return [_read_text(path.name, text, remarks, wanted, mapping)]


def headed_list(
    name: str, files: Sequence[ListFile], wanted: Wanted, header_row: int | None
) -> tuple[ListFile, HeadingLines, str] | None:
    """The one list that has headings, with them, or the lists of sheets that have the same ones,
    one under the other, its lines counted on, and what is said of it; None where none has any."""
    found = [(file, head) for file in files if (head := find_headings(file, wanted, header_row))]
    filled = [(file, head) for file, head in found
              if not all(line.blank for line in file.lines[head.last + 1 :])]  # fmt: skip
    if len({tuple(map(str, head.line.cells)) for _, head in filled}) > 1:
        sheets = [file.sheet for file, _ in found]
        raise UnsettledError("sheet", f"{name} has {', '.join(sheets)}. Which?", sheets)
    for one, first in (filled or found)[:1]:
        begins = []
        for file, head in filled[1:]:
            number, below = one.lines[-1].number + 1, file.lines[head.last + 1 :]
            begins.append(f"{file.sheet} from line {number} on")
            on = number - below[0].number
            lines = (replace(line, number=line.number + on) for line in below)
            down = {(row + on, place): value for (row, place), value in file.down.items()}
            one = replace(one, lines=(*one.lines, *lines), down={**one.down, **down})
        said = f"sheet {one.sheet} is read and, under it, {', '.join(begins)}"
        return one, first, said if begins else ""
    return None


def of_years(stated: ListMapping, error: UnsettledError) -> list[ListMapping]:
    """Of a workbook that has a sheet for each year, each with headings of its own, and about which
    that is asked: the same for each of these sheets."""
    sheets = error.questions[0].choices if error.questions[0].key == ("sheet",) else ()
    of_year = [sheet for sheet in sheets if re.search(r"(?<!\d)(?:19|20)\d\d(?!\d)", sheet)]
    return [replace(stated, sheet=sheet) for sheet in of_year if len(of_year) == len(sheets)]


def _decoded(name: str, data: bytes, stated: str) -> tuple[str, list[str]]:
    utf_16 = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    for encoding in [stated] if stated else ["utf-16"] if utf_16 else ["utf-8-sig", "cp1252"]:
        try:
            text = data.decode(encoding)
        except (UnicodeDecodeError, LookupError):
            continue
        guessed = encoding == "cp1252" and not stated
        if guessed and re.search(r"[^\W\d_][³¹¿][^\W\d_]", text):  # in a word: `zap³aty`
            text, encoding = data.decode("cp1250", errors="replace"), "cp1250"
        words = f"encoding {encoding} (Windows-{encoding[2:]}), for it is not UTF-8;"
        words += " look at accents and ½ signs"
        return text, [words] if guessed else []
    if stated:
        raise WorkbookError(f"{name} is not text in {stated}")
    return data.decode("cp1252", errors="replace"), ["Some letters could not be read."]


def _read_text(
    name: str, text: str, remarks: list[str], wanted: Wanted, mapping: ListMapping
) -> ListFile:
    stated, most = mapping.delimiter, None if mapping.header_row else SEARCHED_LINES + 1
    tried = [stated] if stated else [*SEPARATORS]
    try:
        able = [s for s in tried if find_headings(ListFile(tuple(_lines(text, s, most)[0])),
                                                  wanted, mapping.header_row)]  # fmt: skip
        by_separator = {s: _lines(text, s) for s in able or tried}
    except csv.Error as error:
        raise WorkbookError(f"{name}: cannot be read as a CSV ({error})") from None
    if not able and not stated and "length" in wanted.table.names and (rows := notes_as_rows(text)):
        lines = [FileLine(number, tuple(cells)) for number, cells in rows]
        return ListFile(tuple(lines), (*remarks, "Read as notes: name, size, counts."))
    scores = {s: _score(lines) for s, (lines, _) in by_separator.items()}
    best = max(scores, key=lambda s: scores[s])
    lines, questions = by_separator[best]
    rivals = [s for s in able if scores[s] == scores[best]]
    if len(rivals) > 1 and BLANKS in rivals:
        rivals.remove(BLANKS)  # a tab parts columns of both kinds
    if len(rivals) > 1:
        names = " or ".join(SEPARATORS[s] for s in rivals)
        words = f"Columns may be parted by {names}; which is it?"
        questions = [*questions, Question(("delimiter",), words, tuple(rivals))]
    if best != ",":
        remarks = [*remarks, f"Columns are separated by {SEPARATORS.get(best, best)}s."]
    return ListFile(tuple(lines), tuple(remarks), tuple(questions))


def _score(lines: Sequence[FileLine]) -> tuple[int, int]:
    """How many lines have one and the same number of columns, and that number."""
    widths = Counter(len(line.cells) for line in lines if not line.blank)
    widths.pop(1, None)
    if not widths:
        return 0, 0
    width, count = widths.most_common(1)[0]
    return count, width


def _lines(
    text: str, separator: str, most: int | None = None
) -> tuple[list[FileLine], list[Question]]:
    """Numbered by the line on which each begins, since a quoted cell may span several."""
    if separator == BLANKS:
        rows = enumerate(text.splitlines()[:most], 1)
        return [
            FileLine(n, tuple(map(tidy, re.split(r"\s{2,}|\t", row.strip())))) for n, row in rows
        ], []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    lines, questions, last = [], [], 0
    for cells in islice(reader, most):
        lines.append(FileLine(last + 1, tuple([" ".join(cell.split()) or None for cell in cells])))
        if reader.line_num > last + 1:
            words = (
                f"Lines {last + 1} to {reader.line_num} are one row, for a quotation mark opens in"
                " the first and closes in the last. If it stands for inches, write in instead."
            )
            questions.append(Question((), words))
        last = reader.line_num
    return lines, questions


# --- lists without columns, as typed on a phone: `Bed 3 - 48 ft x 30 in, 2 lines`, a line a bed
_NUMBER = r"\d+(?:[.,]\d+)?(?:\s+\d+/\d+)?"
_UNIT = rf"(?:[^\W\d_]{{1,6}}\.?|[{FOOT_MARKS}{INCH_MARKS}])"
_SIZE = rf"{_NUMBER}\s*{_UNIT}?(?:\s*\d+\s*(?:in|[{INCH_MARKS}]))?"
_BED = re.compile(
    rf"\s*[-*•–·]?\s*(?P<name>\S.*?)\s*(?:[:–—=]|\s-|,|\s)\s*"
    rf"(?P<length>{_SIZE})\s*[x×*]\s*(?P<width>{_SIZE})\s*(?P<rest>.*)",
    re.IGNORECASE,
)
_COUNT = re.compile(r"(\d+)\s*(?:x\s*)?([^\W\d_][^,;.()]*)")


def notes_as_rows(text: str) -> list[tuple[int, list[str | None]]]:
    """The notes as rows under headings, each with its line number; none where they are no list.

    What is counted behind the size (`2 lines`) gets a column with that word as its heading.
    """
    found = {number: match for number, line in enumerate(text.splitlines(), 1)
             if (match := _BED.fullmatch(line))}  # fmt: skip
    if len(found) < 2:
        return []
    counted: dict[str, None] = {}
    for match in found.values():
        counted |= dict.fromkeys(word.strip().lower() for _, word in _COUNT.findall(match["rest"]))
    heads = ["Bed", "Length", "Strip width", *counted, "Notes"]
    rows: list[tuple[int, list[str | None]]] = [(0, list(heads))]
    for number, line in enumerate(text.splitlines(), 1):
        if match := found.get(number):
            rest = match["rest"]
            counts = {word.strip().lower(): n for n, word in _COUNT.findall(rest)}
            left = _COUNT.sub("", rest).strip(" ,;.-") or None
            sizes = [match["name"], match["length"].strip(), match["width"].strip()]
            rows.append((number, [*sizes, *(counts.get(word) for word in counted), left]))
        elif line.strip():
            rows.append((number, [" ".join(line.split())]))
    return rows
