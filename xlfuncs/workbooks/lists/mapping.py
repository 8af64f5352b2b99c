"""The mapping file: answers, in TOML, to what a list does not say by itself. One set of keys.

sheet = "Beds 2026"        # of a workbook
header_row = 3             # the line with the headings
first_column = "E"         # where the list begins, if several stand side by side
last_row = 18              # of the list
decimal = ","              # or "."; date_order = "DMY", delimiter = ";", encoding = "cp1252"
system = "us"              # what numbers mean whose unit is stated nowhere
hidden_rows = "read"       # or "leave out"
several_beds = "split"     # or "one": what a row named 1-4 is
same_names = "number"      # beds of one name become A (1), A (2)
period_from = "first day"  # of a bill; or "reading": the day of the reading before
credits = "goods"          # what came back with money; or "money" alone
leave_out = [12]           # lines that are no beds
not_used = ["Soil pH"]     # headings to leave out without a word
add = ["BED_AREA"]         # columns that add-columns adds

[columns]                  # our column or argument = the heading, or the letter; "" for none
length = "Run"
width = { column = "C", unit = "in" }
[units]                    # our column = unit of its plain numbers
length = "m"
[values]                   # our column = one value for every row that has none
line = "tape 8 in"
[words]                    # a word of the list = what it means: yes, no, a cover, a kind, a unit
Brache = "no"
[headers]                  # of the columns that are added, where the usual one will not do
BED_AREA = "Planted (ft²)"
[settings]                 # what a package of columns has asked for
"""

import datetime as dt
import re
import tomllib
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.tables.columns import Table
from xlfuncs.units import conversion
from xlfuncs.workbooks.lists.questions import Question, quoted, quoted_key

_CHOICES = {
    "decimal": (",", "."), "system": ("us", "metric"), "date_order": ("DMY", "MDY", "YMD"),
    "hidden_rows": ("read", "leave out"), "several_beds": ("split", "one"),
    "same_names": ("number",), "period_from": ("reading", "first day"),
    "credits": ("goods", "money"),
}  # fmt: skip
_TEXTS = ("sheet", "first_column", "delimiter", "encoding", *_CHOICES)
_ROWS = ("header_row", "last_row")
LISTS = ("leave_out", "not_used", "add")
_SECTIONS = ("columns", "units", "values", "words", "headers", "settings")
_FIRST_LINE = "# Fill in between the quotation marks, or delete a line to leave the matter open."
_OTHERWISE = {"header_line": "header_row", "units": "system"}  # names that older files have
ALIASES = {"width": "strip_width"}  # arguments that the bed list calls otherwise


@dataclass(frozen=True)
class ListMapping:
    """What a mapping file answers; everything may be left out."""

    sheet: str = ""
    header_row: int | None = None
    first_column: str = ""
    last_row: int | None = None
    decimal: str = ""
    date_order: str = ""
    delimiter: str = ""
    encoding: str = ""
    system: str = ""
    hidden_rows: str = ""
    several_beds: str = ""
    same_names: str = ""
    period_from: str = ""
    credits: str = ""
    leave_out: tuple[int, ...] = ()
    not_used: tuple[str, ...] = ()
    add: tuple[str, ...] = ()
    columns: Mapping[str, str] = field(default_factory=dict)
    units: Mapping[str, str] = field(default_factory=dict)
    values: Mapping[str, Any] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    headers: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, Any] = field(default_factory=dict)
    asking: bool = False  # whether somebody is there to answer; not in the file, nor what comes:
    left_open: Collection[tuple[str, ...]] = ()  # questions that were put, and are for later
    known: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)  # rows of before, by name


def load(path: Path) -> dict[str, Any]:
    """The mapping file as it stands."""
    try:
        return tomllib.loads(path.read_text("utf-8-sig"))
    except OSError as error:
        raise WorkbookError(f"{path.name}: {error.strerror or error}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise WorkbookError(f"{path.name}: {error}") from None


def written_here(path: Path) -> bool:
    """Whether a mapping file was left with questions, or answers of the terminal, by us."""
    return path.read_text("utf-8-sig", errors="replace").startswith(_FIRST_LINE)


def mapping_from(raw: Mapping[str, Any], where: str, table: Table) -> ListMapping:
    """A mapping from what its file holds, against the columns of a table."""
    data = _known_names(raw)
    for fault in _faults(data, table.names):
        raise WorkbookError(f"{where}: {fault}")
    for name, target in data.get("columns", {}).items():
        if isinstance(target, dict):
            data["columns"][name] = target["column"]
            if target.get("unit"):
                data.setdefault("units", {})[name] = target["unit"]
    for name, unit in data.get("units", {}).items():
        try:
            conversion(str(unit), table[name].dimension)
        except UnitError as error:
            raise WorkbookError(f"{where}: [units] {name}: {error.message}") from None
    if "add" in data:
        data["add"] = [str(name).upper() for name in data["add"]]
    if "headers" in data:
        data["headers"] = {str(name).upper(): str(text) for name, text in data["headers"].items()}
    tuples = {name: tuple(data[name]) for name in LISTS if name in data}
    return ListMapping(**{**data, **tuples})


def _known_names(raw: Mapping[str, Any]) -> dict[str, Any]:
    """The mapping under today's names, without what was left blank; rows as numbers."""
    data: dict[str, Any] = {}
    for key, value in raw.items():
        if key == "header_line" or (key == "units" and isinstance(value, str)):
            key = _OTHERWISE[key]
        if key in _ROWS and isinstance(value, str) and value.strip().isdigit():
            value = int(value)
        if key in ("columns", "units", "values") and isinstance(value, dict):
            value = {ALIASES.get(name, name): given for name, given in value.items()}
        if isinstance(value, dict):
            none = key == "columns"  # the list has no such column, unless it must
            value = {name: given for name, given in value.items() if none or given != ""}
        if value != "":
            data[key] = value
    return data


def _faults(data: Mapping[str, Any], names: Collection[str]) -> Iterator[str]:
    known = {*_TEXTS, *_ROWS, *LISTS, *_SECTIONS}
    for key, given in data.items():
        if key not in known:
            yield f"unknown keys {[key]}: {key!r} is not known; use {', '.join(sorted(known))}"
        elif key in _TEXTS:
            choices = _CHOICES.get(key, ())
            if not isinstance(given, str) or (choices and given not in choices):
                listed = " or ".join(map(quoted, choices)) or "text"
                yield f"{'units' if key == 'system' else key} must be {listed}, is {given!r}"
        elif key in _ROWS and (not isinstance(given, int) or given < 1):
            yield f"{key} must be a row number from 1, is {given!r}"
        elif key in LISTS and not isinstance(given, list):
            yield f"{key} must be a list, as in {key} = [...]"
        elif key in _SECTIONS and not isinstance(given, dict):
            yield f"{key} must be a section, [{key}]"
        elif key in ("columns", "units", "values"):
            yield from (
                f for name, value in given.items() if (f := _fault(key, name, value, names))
            )


def _fault(section: str, name: str, value: Any, names: Collection[str]) -> str:
    if name not in names:
        return f"[{section}] {name}: no column; there are {', '.join(names)}"
    if section == "values":
        wrong = isinstance(value, bool) or not isinstance(value, str | int | float)
        return f"values.{name} must be a number or text, not {value!r}" if wrong else ""
    given = value if isinstance(value, dict) and section == "columns" else {"column": value}
    if isinstance(given.get("column"), str) and not given.keys() - {"column", "unit"}:
        return ""
    heading = 'a heading or a column letter, or { column = "...", unit = "..." }'
    return f"{section}.{name} must be {heading if section == 'columns' else 'a unit'}"


def with_answer(mapping: ListMapping, question: Question, answer: str) -> ListMapping:
    """The mapping with the answer to a question where it belongs."""
    *section, name = question.key
    given: dict[str, Any] = {name: answer}
    if section:
        given = {section[0]: {**getattr(mapping, section[0]), **given}}
    return replace(mapping, **given)


def answers_for_any(raw: Mapping[str, Any]) -> dict[str, Any]:
    """Answers about a list that hold for one with more rows: none that gives each row its value."""
    values = {name: value for name, value in raw.get("values", {}).items()
              if not re.search(r";|,\s|,.*,", str(value))}  # fmt: skip
    return {**raw, "values": values}


def given_answers(mapping: ListMapping) -> dict[str, Any]:
    """What a mapping answers, for the next file of answers."""
    ours = ("asking", "left_open", "known")
    return {name: value for name, value in vars(mapping).items() if value and name not in ours}


def mapping_text(
    answers: Mapping[str, Any], questions: Sequence[Question], understood: Mapping[str, str],
    spare: Sequence[str] = (),
) -> str:  # fmt: skip
    """A mapping file with the answers so far, what was understood, and each question to answer."""
    asked: dict[tuple[str, ...], list[str]] = {}
    lines = [_FIRST_LINE]
    if spare:
        lines.append(f"# Headings not used so far: {', '.join(spare)}")
    for question in questions:
        if not question.key:
            lines += [f"# To be put right in the list: {question.words}"]
            continue
        *under, name = question.key
        listed = ", ".join(quoted(choice) for choice in question.choices)
        about = [f"# {question.words}"] + ([f"# possible: {listed}"] if listed else [])
        blank = "[]" if name in LISTS else '""'
        place = asked.setdefault(tuple(under), [])
        answer = f"{quoted_key(name)} = {blank}"
        if answer in place:  # a key stands once, behind all that asks for it
            place.remove(answer)
        place += [*about, answer]
    told = {q.key for q in questions}
    lines += [
        _line(k, v) for k, v in answers.items() if not isinstance(v, dict) and (k,) not in told
    ]
    lines += asked.get((), [])
    for section in _SECTIONS:
        given = dict(answers.get(section, {})) if isinstance(answers.get(section), dict) else {}
        if section == "columns":
            given = {**understood, **given}
        filled = [_line(k, v) for k, v in given.items() if (section, k) not in told]
        lines += ["", f"[{section}]", *filled, *asked.get((section,), [])] if filled or (
            section,) in asked or section in ("columns", "units", "values") else []  # fmt: skip
    return "\n".join(lines) + "\n"


def _line(name: str, value: Any) -> str:
    return f"{quoted_key(name)} = {_toml(value)}"


def _toml(value: Any) -> str:
    if isinstance(value, dict):
        given = {name: item for name, item in value.items() if item is not None}
        return "{ " + ", ".join(_line(name, item) for name, item in given.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, dt.date):
        return value.isoformat()
    return repr(value) if isinstance(value, (int, float)) else quoted(str(value))
