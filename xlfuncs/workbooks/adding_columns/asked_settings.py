"""Settings that are asked for one by one where somebody is there to answer, each in one line."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from xlfuncs.catalogue.arguments import as_argument, read_one
from xlfuncs.errors import InputError
from xlfuncs.tables.columns import Column
from xlfuncs.units import from_base
from xlfuncs.workbooks.adding_columns import basis
from xlfuncs.workbooks.adding_columns.basis import Section
from xlfuncs.workbooks.adding_columns.settings_sheet import Settings, is_blank
from xlfuncs.workbooks.lists.questions import Question

_NUMBER = re.compile(r"([-+]?(?:\d+(?:[.,]\d+)?|[.,]\d+))\s*([^\W\d_][\w/²³]*)?")
_CLOCK = re.compile(r"\b(\d{1,2}):(\d\d)\b")
# Lines as they are often sold; common practice, no published source. Exponent 0: compensating.
_LINES = {
    "us": ("thin tape: 8 in, 0.25 gph, 8 psi, 0.63 in",
           "drip line: 12 in, 0.5 gph, 15 psi, 0.54 in",
           "compensating line: 12 in, 0.5 gph, 15 psi, 0.54 in, 0"),
    "metric": ("thin tape: 20 cm, 1 L/h, 0.55 bar, 15.9 mm",
               "drip line: 30 cm, 2 L/h, 1 bar, 13.6 mm",
               "compensating line: 30 cm, 2 L/h, 1 bar, 13.6 mm, 0"),
}  # fmt: skip
# Inside diameters: outside less twice the minimum wall, ASTM D1785 (Schedule 40; ASTM D2239,
# polyethylene by its inside diameter, SIDR, has the same) and EN 12201-2 (SDR 11).
_PIPES = {
    "us": ("3/4 in Schedule 40/poly: 0.824 in", "1 in Schedule 40/poly: 1.049 in",
           "1 1/4 in Schedule 40/poly: 1.38 in", "1 1/2 in Schedule 40/poly: 1.61 in"),
    "metric": ("PE 25 x 2.3: 20.4 mm", "PE 32 x 3.0: 26 mm", "PE 40 x 3.7: 32.6 mm",
               "PE 50 x 4.6: 40.8 mm"),
}  # fmt: skip

_TAP = {"us": "5 30 45", "metric": "10 20 3"}
NONE = "none"  # an answer that a part is not there
# What a line bears, in rated pressures, where it states no greatest; common practice, no published
# source.
BEARS = 1.5


@dataclass(frozen=True)
class Asked:
    """One question: the columns of its section that the numbers of the answer give, in order, of
    which the first `least` must be there. `alone` names the row of a table that has one only;
    `usual` is taken where nothing is said, and not asked."""

    name: str  # in [settings] of a mapping file
    section: Section
    parts: tuple[str, ...]
    words: str
    least: int = 1
    examples: Mapping[str, Sequence[str]] | None = None
    default: str = ""
    usual: Mapping[str, str] | None = None
    alone: str = ""

    def columns(self) -> list[Column]:
        columns = {c.name: c for c in (*basis.HEAD.columns, *self.section.columns)}
        return [columns[name] for name in self.parts]

    def question(self, system: str, before: str = "", *, later: bool = True) -> Question:
        units = [column.unit(system) for column in self.columns()]
        return Question(
            ("settings", self.name), before + self.words.format(*units, example=_TAP[system]),
            tuple((self.examples or {}).get(system, ())), later=later, default=self.default,
            fault=partial(_fault, self, system),
        )  # fmt: skip


ASKED = (
    Asked("tap", basis.SUPPLY, ("bucket_volume", "bucket_seconds", "static_pressure", "preset"),
          "Tap: a bucket's {0}, seconds to fill it, {2} at the gauge with all shut, as {example}",
          2),
    Asked("drip_line", basis.LINES,
          ("emitter_spacing", "emitter_flow", "rated_pressure", "inside_diameter", "exponent",
           "min_pressure"),
          "Drip line: spacing ({}), emitter flow ({}) at pressure ({}), inside diameter ({}); or:",
          4, _LINES, alone="line"),
    Asked("regulator", basis.HEAD, ("preset",),
          "What the regulator holds ({})", default=NONE, alone="regulator"),
    Asked("pipe", basis.PIPES, ("inside_diameter",),
          "Main pipe: inside diameter ({}), or a size:", 1, _PIPES, alone="main pipe"),
    Asked("depth", basis.TARGET, ("weekly_depth", "waterings_a_week"),
          "Water in the hottest weeks: depth per week ({}), waterings per week",
          usual={"us": "1 3", "metric": "25 3"}),
)  # fmt: skip


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
        return f"{words!r}: {error.message}."
    return ""


def values_of(asked: Asked, words: str, system: str) -> dict[str, Any]:
    """The numbers of an answer in the units of the system, by column."""
    words = _CLOCK.sub(lambda time: f"{int(time[1]) + int(time[2]) / 60:g}", words)
    found = _NUMBER.findall(words.rpartition(":")[2])
    columns = asked.columns()
    if not asked.least <= len(found) <= len(columns):
        needed = ", ".join(column.header.lower() for column in columns[: asked.least])
        raise InputError(asked.name, f"{len(found)} numbers, needed are {needed}")
    values = {}
    for column, (number, unit) in zip(columns, found, strict=False):
        unit = "" if unit == "at" else unit
        base = read_one(as_argument(column), f"{number.replace(',', '.')} {unit}".strip(), system)
        values[column.name] = float(f"{from_base(base, column.dimension, system):.12g}")
    return values


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
