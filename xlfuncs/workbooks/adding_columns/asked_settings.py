"""Settings that are asked for one by one where somebody is there to answer, each in one line."""

import re
import tomllib
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.errors import InputError, UnitError
from xlfuncs.tables.columns import Column
from xlfuncs.tables.settings import SUPPLY
from xlfuncs.units import conversion, display, from_base, to_base
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.basis import Section
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings, is_blank
from xlfuncs.workbooks.lists.questions import Question

_NUMBER = re.compile(r"([-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+))\s*([^\W\d_][\w/²³]*)?")
_CLOCK = re.compile(  # 4:30, -9:00 of 5:00-9:00, 5 am
    r"(?:[-–]\s*)?\b(\d{1,2})(?=:\d|\s*[ap]\.?m\b)(?::(\d\d))?(?:\s*([ap])\.?m\b\.?)?", re.I
)
_FROM_TO = re.compile(r"(\d)\s*(?:[-–/]|to\b)\s*(\d[\d.,]*)\s*([^\W\d_][\w/²³]*)")  # 40-60 psi
_BETWEEN = re.compile(r"(?<=\d)(?:[-–]|\s+[-–]\s+)(?=\d)")  # 5-9; not 5 -9
NONE = "none"  # an answer that a part is not there
# What a line bears, in rated pressures, where it states no greatest; common practice, no published
# source.
BEARS = 1.5


@dataclass(frozen=True)
class Asked:
    """One question, an entry of asked.toml: the columns of its section that the numbers of the
    answer give, in order or by their units, of which the first `least` must be there. `example` and
    `usual`, which is taken where nothing is said, and not asked, are by system, and so are the
    `choices`; `alone` names the row of a table that has one only. The units of an answer may say
    that it is one to the `other`."""

    name: str  # in [settings] of a mapping file
    section: Section
    parts: Sequence[str]
    words: str
    least: int = 1
    choices: Mapping[str, Sequence[str]] = field(default_factory=dict)
    example: Mapping[str, str] = field(default_factory=dict)
    usual: Mapping[str, str] = field(default_factory=dict)
    default: str = ""
    alone: str = ""
    other: "Asked | None" = None

    @property
    def counted(self) -> str:
        """What its first number counts, a word that is no unit."""
        return self.columns()[0].header.lower()

    def columns(self) -> list[Column]:
        columns = {c.name: c for c in (*basis.HEAD.columns, *self.section.columns)}
        return [columns[name] for name in self.parts]

    def both(self) -> list["Asked"]:
        return [self, *(self.other.both() if self.other else ())]

    def question(self, system: str, before: str = "", *, later: bool = True) -> Question:
        words = (asked.words.format(*(column.unit(system) for column in asked.columns()),
                                    example=asked.example.get(system, ""))
                 for asked in self.both())  # fmt: skip
        return Question(
            ("settings", self.name), before + "; ".join(words),
            tuple(self.choices.get(system, ())), later=later, default=self.default,
            fault=partial(_fault, self, system), echo=partial(_flow_told, self, system),
        )  # fmt: skip


_ENTRIES = tomllib.loads(Path(__file__).with_name("asked.toml").read_text("utf-8"))
_SECTIONS = {section.name: section for section in basis.SECTIONS}
ASKED = tuple(Asked(name, _SECTIONS[entry.pop("of")], **entry) for name, entry in _ENTRIES.items())


def answered(
    answers: Mapping[str, Any], system: str, named: Callable[[Section], Sequence[str]]
) -> tuple[dict[str, Any], dict[str, str]]:
    """What the answers give to the settings, and what is wrong with those that give nothing.

    `named` are the lines or pipes that the list names.
    """
    given = {name: value for name, value in answers.items() if name not in {a.name for a in ASKED}}
    wrong: dict[str, str] = {}
    for asked in ASKED:
        words = str(answers.get(asked.name, "")).strip()
        if fault := _fault(asked, system, words):
            wrong[asked.name] = fault
        if not words or fault or words.lower() == NONE:
            continue
        values = values_of(asked, words, system)
        if asked.alone:
            own = words.partition(":")[0] if ":" in words else asked.alone
            name = next(iter(named(asked.section)), own)
            given[asked.section.name] = [{asked.section.names[0]: name, **values}]
        else:
            if preset := values.pop("preset", None):
                given["head_parts"] = [{"part": "regulator", "preset": preset}]
            given |= values
    return given, wrong


def usual(sections: Collection[Section], system: str) -> dict[str, Any]:
    """What is taken where nothing is said."""
    return {name: value for asked in ASKED if asked.usual and asked.section in sections
            for name, value in values_of(asked, asked.usual[system], system).items()}  # fmt: skip


def _fault(asked: Asked, system: str, words: str) -> str:
    """What is wrong with an answer."""
    try:
        if words and (words.lower() != NONE or asked.default != NONE):
            values_of(asked, words, system)
    except InputError as error:
        found = (of.example.get(system) or next(iter(of.choices.get(system, ())), "")
                 for of in asked.both())  # fmt: skip
        example = " or ".join(filter(None, found))
        return f"{words!r}: {error.message}{f'; type it as {example}' if example else ''}."
    return ""


def _flow_told(asked: Asked, system: str, words: str) -> tuple[str, str]:
    """What a bucket's numbers give, for they are easily typed the wrong way round; no doubt."""
    given = values_of(asked, words, system) if words.lower() != NONE else {}
    if not (given.get("bucket_volume") and given.get("bucket_seconds")):
        return "", ""
    volume = to_base(given["bucket_volume"], "volume", system)
    told = [display(volume / given["bucket_seconds"], "flow", system, 2)]
    if pressure := given.get("static_pressure"):
        told.append(f"{pressure:g} {SUPPLY['static_pressure'].unit(system)}")
    return " at ".join(told), ""


def values_of(asked: Asked, words: str, system: str) -> dict[str, Any]:
    """The numbers of an answer in the units of the system, by column."""
    words = _CLOCK.sub(_hours, words)
    words = _FROM_TO.sub(r"\1 \3 \2 \3", words.rpartition(":")[2])
    words = _BETWEEN.sub(" ", words)
    found = [f"{number.replace(',', '.')} {unit}".removesuffix("at").strip()
             for number, unit in _NUMBER.findall(words)]  # fmt: skip
    tried = [(one, *_placed(one, found)) for one in asked.both()]
    meant, placed, spare = min(tried, key=lambda one: len(one[2]))
    columns = meant.columns()
    if spare:
        listed = ", ".join(column.heading(system) for column in columns)
        raise InputError(asked.name, f"{spare[0]!r} is none of {listed}")
    if missing := [c.header.lower() for c in columns[: meant.least] if c.name not in placed]:
        raise InputError(asked.name, f"{' and '.join(missing)} needed too")
    values = {}
    for column in columns:
        if column.name in placed:
            base = read_one(as_argument(column), placed[column.name], system)
            values[column.name] = float(f"{from_base(base, column.dimension, system):.12g}")
    return values


def _hours(time: re.Match[str]) -> str:
    half = {"a": 0, "p": 12}.get(str(time[3]).lower())
    hour = int(time[1]) if half is None else int(time[1]) % 12 + half
    return f" {hour + int(time[2] or 0) / 60:g}"


def _placed(asked: Asked, found: Sequence[str]) -> tuple[dict[str, str], list[str]]:
    """The numbers of a question's columns, each by its unit or, without one, its place; and those
    that are none of them."""
    placed: dict[str, str] = {}
    spare = []
    for typed in found:
        number, _, unit = typed.partition(" ")
        if unit.lower() in (asked.counted, asked.counted.removesuffix("s"), "to"):
            typed, unit = number, ""  # 4 stations
        free = (column.name for column in asked.columns()
                if column.name not in placed and (not unit or _measures(unit, column)))  # fmt: skip
        if name := next(free, ""):
            placed[name] = typed
        else:
            spare.append(typed)
    return placed, spare


def _measures(unit: str, column: Column) -> bool:
    try:
        return bool(conversion(unit, column.dimension))
    except UnitError:
        return False


def open_questions(
    settings: Settings, sections: Sequence[Section], answers: Mapping[str, Any],
    wrong: Mapping[str, str], named: Callable[[Section], Sequence[str]],
    later: Collection[tuple[str, ...]],
) -> list[Question]:  # fmt: skip
    """The questions for what the settings lack and is not left for `later`; usual values where a
    default is honest."""
    system = settings.system
    found: list[Question] = []
    for asked in ASKED:
        left = ("settings", asked.name) in later
        known = left or (answers.get(asked.name) and asked.name not in wrong)
        shown = asked.section in sections and (not asked.usual or asked.name in wrong)
        if known or not shown or not _is_open(settings, asked, named):
            continue
        words = f"{wrong[asked.name]} " if asked.name in wrong else ""
        if asked.section is basis.HEAD:
            if found:
                break  # asked when the gauge and the line are known, or left for later
            words = _caution(settings) + words
        found.append(asked.question(system, words, later=asked.name not in wrong))
    return found


def _caution(settings: Settings) -> str:
    """Where the gauge shows more than a line bears without a regulator."""
    gauge = settings.values(basis.SUPPLY)["static_pressure"]
    unit = basis.SUPPLY.columns[2].unit(settings.system)
    for row in settings.table(basis.LINES).values():
        rated, most = row.get("rated_pressure"), row.get("max_pressure")
        numbers = [v for v in (gauge, most or rated) if isinstance(v, (int, float))]
        if len(numbers) == 2 and gauge > (most or BEARS * (rated or 0)):
            of = f"made for at most {most:g}" if most else f"rated at {rated:g}"
            shown = f"{gauge:g} {unit} at the gauge on a line {of}"
            return f"{shown}: without a regulator it may burst.\n"
    return ""


def _is_open(settings: Settings, asked: Asked, named: Callable[[Section], Sequence[str]]) -> bool:
    """Whether a single value is blank, or a table has no row yet and the list names one at most."""
    if not asked.section.rows:
        values = settings.values(asked.section)
        return any(is_blank(values[name]) for name in asked.parts[: asked.least])
    rows = settings.table(asked.section).values()
    return not rows and len(named(asked.section)) < 2
