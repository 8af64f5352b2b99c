"""Numbers as people and programs write them: decimal marks, and what settles them.

They are worked out from values that can be read in one way only. Where none settles it, or two
disagree, the person is asked; nothing is guessed.
"""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from pathlib import Path

from xlfuncs.errors import XlfuncsError
from xlfuncs.tables.header_words import DATE_ORDERS, UnreadableError, date_evidence
from xlfuncs.units import FOOT_MARKS, INCH_MARKS
from xlfuncs.workbooks.lists.questions import Question

Located = tuple[int, str]  # line number and text

DECIMAL_MARKS = (".", ",")
FAR_ABOVE = 3  # times the next, among values of which one may be a slip
_MONEY_SIGNS = re.compile(
    r"(?<![A-Za-z])(?:R\$?|Rs\.?|kr\.?|zł|Kč)(?=\s*-?\d)"
    r"|(?<=\d)\s*(?:kr\.?|zł|Kč|Rs\.?)$|[€£$¥₹]|(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])|(?<=\d)\s*(?:CR|DR)$"
)
_THOUSANDS_BLANK = re.compile(r"(?<![\d.,])(\d{1,3})((?: \d{3})+)(?!\d)")
_FEET_INCHES = re.compile(r"(\d+)\s*[-\s]\s*(\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+)")
_BARE_INCHES = re.compile(
    rf"""(\d+\s*(?:[{FOOT_MARKS}]|ft\.?|feet))\s*(\d+(?:\.\d+)?(?:\s+\d+/\d+)?)""", re.I
)


class UnsettledError(XlfuncsError):
    """The file does not settle something; a question's key is where a mapping keeps its answer."""

    path: Path | None = None  # of the file, where there are several
    others: "tuple[UnsettledError, ...]" = ()  # of the files after it

    def __init__(
        self, argument: str, question: str, choices: Sequence[str] = (), *, under: str = ""
    ) -> None:
        key = (under, argument) if under else (argument,)
        self.questions: tuple[Question, ...] = (Question(key, question, tuple(choices)),)
        super().__init__(question)

    @classmethod
    def of(cls, questions: Sequence[Question]) -> "UnsettledError":
        """All that is open at once."""
        error = cls(questions[0].key[-1], "\n".join(question.words for question in questions))
        error.questions = tuple(questions)
        return error


@dataclass(frozen=True)
class Settled:
    """What was settled, and the words on how."""

    value: str
    words: str
    text: str = ""  # the value that settled it


def settle(
    argument: str, stated: str | None, values: Iterable[Located], evidence: Callable[[str], str],
    question: str, choices: Sequence[str],
) -> Settled | None:  # fmt: skip
    """The one reading that the values allow; None where nothing needs it.

    `evidence` gives the only possible reading of a value, "?" where there are two, "" where it
    does not matter.
    """
    if stated:
        return Settled(stated, f"{argument} {stated}, as stated")
    seen: dict[str, Located] = {}
    first: dict[str, int] = {}
    for line, text in values:
        first.setdefault(text, line)
    for text, line in first.items():
        if reading := evidence(text):
            seen.setdefault(reading, (line, text))
    doubtful = seen.pop("?", None)
    if len(seen) > 1:
        found = " but ".join(f"line {line} has {text!r} ({r})" for r, (line, text) in seen.items())
        raise UnsettledError(argument, f"{question} {found}.", choices)
    if seen:
        ((reading, (line, text)),) = seen.items()
        return Settled(reading, f"{argument} {reading}, because line {line} has {text!r}", text)
    if doubtful:
        line, text = doubtful
        raise UnsettledError(
            argument,
            f"{question} {text!r} on line {line} can be read in two ways, as can the rest.",
            choices,
        )
    return None


def decimal_mark(stated: str | None, values: Iterable[Located]) -> Settled | None:
    """The decimal mark of a whole list."""
    question = "Is the decimal mark a point or a comma?"
    found = settle("decimal", stated, values, decimal_evidence, question, DECIMAL_MARKS)
    return found and replace(found, words=found.words.replace("decimal", "decimal_mark", 1))


def date_order(stated: str | None, values: Iterable[Located]) -> Settled | None:
    """Whether the day or the month comes first in a whole list."""
    question = "Does the day or the month come first?"
    return settle("date_order", stated, values, date_evidence, question, DATE_ORDERS[:2])


@lru_cache(maxsize=2**16)  # the cells of a list are read by several who ask
def bare_number(text: str) -> tuple[str, bool]:
    """The digits and marks of a number, and whether it is negative.

    Understands a minus before or after, brackets, CR for credit, and currency signs.
    """
    clean = text.strip().replace("\u2212", "-")
    negative = clean.startswith("(") and clean.endswith(")")
    negative = negative or bool(re.search(r"\d\s*CR$", clean))
    clean = _MONEY_SIGNS.sub("", clean.strip("()"))
    clean = re.sub(r"\s+", "", clean).replace("'", "").replace("’", "")
    if clean.startswith("-") or clean.endswith("-"):
        negative, clean = not negative, clean.strip("-")
    return clean.removeprefix("+"), negative


def decimal_evidence(text: str) -> str:
    """The decimal mark that a number must have, "?" if either, "" if it has no mark."""
    digits, _ = bare_number(text)
    if not re.fullmatch(r"[\d.,]*\d", digits):
        return ""
    marks = re.findall(r"[.,]", digits)
    if not marks:
        return ""
    last = str(marks[-1])
    other = "," if last == "." else "."
    if len(set(marks)) == 2:
        return last
    if len(marks) > 1:
        return other  # a mark that repeats parts thousands
    whole, _, fraction = digits.partition(last)
    could_part_thousands = len(fraction) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0"
    return "?" if could_part_thousands else last


@lru_cache(maxsize=2**16)
def read_number(text: str, mark: str) -> Decimal:
    """A number whose decimal mark is known; raises UnreadableError."""
    digits, negative = bare_number(text)
    parting = "," if mark == "." else "."
    d, p = re.escape(mark), re.escape(parting)
    if not re.fullmatch(rf"(\d+|\d{{1,3}}({p}\d{{3}})+)?({d}\d*)?", digits) or not re.search(
        r"\d", digits
    ):
        marked = f" with the decimal mark {mark!r}" if re.search(r"\d", text) else ""
        raise UnreadableError(f"{text.strip()!r} is not a number{marked}")
    value = Decimal(digits.replace(parting, "").replace(mark, ".") or "0")
    return -value if negative else value


def with_points(text: str, mark: str) -> str:
    """Measures with decimal points and no thousands marks: `1 050,5 m` -> `1050.5 m`."""
    text = _THOUSANDS_BLANK.sub(lambda m: m[1] + m[2].replace(" ", ""), text)
    if mark == ",":
        text = re.sub(r"(?<=\d)\.(?=\d{3}(?!\d))", "", text)
        return re.sub(r"(?<=\d),(?=\d)|(?<!\d),(?=\d)", ".", text)
    return re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", text)


def spelt_out(text: str, unit: str) -> str:
    """Text as the unit reader takes it: 22'9 -> 22' 9 in; 22-9 in a column whose heading says
    feet and inches -> 22 ft 9 in."""
    clean = re.sub(r"\b(ft|in|cm|mm|yd|feet|foot|inch|inches)\.(?!\d)", r"\1", text, flags=re.I)
    if match := _BARE_INCHES.fullmatch(clean):
        return f"{match[1].rstrip('.')} {match[2]} in"
    if unit == "ft-in" and (match := _FEET_INCHES.fullmatch(clean)):
        return f"{match[1]} ft {match[2]} in"
    return clean


def cell_numbers(texts: Sequence[str]) -> list[str]:
    """What in typed cells is a number with marks: `12,5 m` -> `12,5`."""
    found: list[str] = []
    for text in texts:
        found += re.findall(r"(?<![\d.,])\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?![\d.,])|[\d.,]*\d", text)
    return found


def several(typed: str, count: int) -> list[str]:
    """Parts between semicolons, or commas with a space: one without may be a decimal comma, unless
    there are as many of more than two as make one for each."""
    tight = count > 2 and typed.count(",") == count - 1 and ";" not in typed
    return re.split(r"\s*,\s*" if tight else r"\s*(?:;|,\s)\s*", typed)


def doubted(typed: str, values: Sequence[float]) -> str:
    """What is asked where values typed for rows have several units, or one is far above the rest,
    by a slip such as 180 for 18."""
    begun = map(re.compile(rf"[^\W\d_]+|[{FOOT_MARKS}{INCH_MARKS}]").search,
                several(typed, len(values)))  # fmt: skip
    units, (*_, second, most) = {unit[0] for unit in begun if unit}, sorted(values)
    why = f"{most:g} is far above the rest. " if most > FAR_ABOVE * second else ""
    why = "Several units. " if len(units) > 1 else why
    return f"{why}Press Enter if these are right, or type all {len(values)} again" if why else ""
