"""Numbers as people type them: decimal commas, feet and inches, counts with a word behind."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

_GROUPED_POINT = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3})+\.\d+(?![\d.,])")  # 1,234.5
_GROUPED_COMMA = re.compile(r"(?<![\d.,])\d{1,3}(?:\.\d{3})+,\d+(?![\d.,])")  # 1.234,5
_COMMA = re.compile(r"(?<![\d.,])\d*,\d+(?![\d.,])")
_THOUSANDS = re.compile(r"(?<![\d.,])[1-9]\d{0,2},\d{3}(?![\d.,])")  # 1,234: either
_POINT = re.compile(r"(?<![\d.,])\d*\.\d+(?![\d.,])")
_COUNT = re.compile(
    r"(\d+)\s*(?:x|lines?|tapes?|strips?|rows?|laterals?|runs?|drip\s?lines?|pcs?\.?)", re.I
)
_FEET_INCHES = re.compile(r"(\d+)\s*[-\s]\s*(\d+(?:\.\d+)?(?:\s+\d+/\d+)?|\d+/\d+)")
_BARE_INCHES = re.compile(r"""(\d+\s*(?:'|′|ft\.?|feet))\s*(\d+(?:\.\d+)?(?:\s+\d+/\d+)?)""", re.I)


@dataclass(frozen=True)
class DecimalMark:
    """What the commas of a list mean; `mark` is '' where only a person can say."""

    mark: str
    remark: str = ""
    question: str = ""


def decide_decimal_mark(texts: Iterable[str], stated: str = "") -> DecimalMark:
    """Decides once for a whole list, from its number columns, what a comma in a number means."""
    if stated:
        return DecimalMark(stated)
    comma, point, either = [], [], []
    for text in texts:
        if _GROUPED_POINT.search(text):
            point.append(text)
        elif _GROUPED_COMMA.search(text):
            comma.append(text)
        elif _THOUSANDS.search(text):
            either.append(text)
        elif _COMMA.search(text):
            comma.append(text)
        elif _POINT.search(text):
            point.append(text)
    return _verdict(comma, point, either)


def _verdict(comma: list[str], point: list[str], either: list[str]) -> DecimalMark:
    ask = 'Answer with decimal = "," or decimal = "." in the mapping file.'
    if comma and any(not _GROUPED_POINT.search(p) for p in point):
        words = f"Some numbers have a decimal comma ({comma[0]}), others a point ({point[0]})."
        return DecimalMark("", question=f"{words} {ask}")
    if comma and point:
        words = f"{comma[0]} and {point[0]} use commas differently."
        return DecimalMark("", question=f"{words} {ask}")
    if comma:
        return DecimalMark(",", f"Commas are read as decimal commas, as in {comma[0]}.")
    grouped = [p for p in point if _GROUPED_POINT.search(p)]
    if grouped or (point and either):
        words = f"Commas are read as thousands marks, as in {(grouped or either)[0]}"
        return DecimalMark(".", f"{words}; other numbers have a decimal point ({point[0]}).")
    if either:
        words = f"{either[0]} may be a thousand and more, or have a decimal comma."
        return DecimalMark("", question=f"{words} {ask}")
    return DecimalMark(".")


def with_points(text: str, mark: str) -> str | None:
    """The text with decimal points and no thousands marks; None where its commas are not clear."""
    if "," not in text and not (mark == "," and "." in text):
        return text
    if mark == ",":
        text = re.sub(r"(?<=\d)\.(?=\d{3}(?!\d))", "", text)
        return re.sub(r"(?<=\d),(?=\d)|(?<!\d),(?=\d)", ".", text)
    if mark == ".":
        return re.sub(r"(?<=\d),(?=\d{3}(?!\d))", "", text)
    return None if re.search(r"\d,\d", text) else text


def spelt_out(text: str, dimension: str, unit: str) -> str:
    """Text as the unit reader takes it: 22'9 -> 22' 9 in; a count without the word behind it;
    22-9 in a column whose header says feet and inches -> 22 ft 9 in."""
    clean = text.strip()
    if dimension == "count" and (match := _COUNT.fullmatch(clean)):
        return match[1]
    clean = re.sub(r"\b(ft|in|cm|mm|yd|feet|foot|inch|inches)\.(?!\d)", r"\1", clean, flags=re.I)
    if match := _BARE_INCHES.fullmatch(clean):
        return f"{match[1].rstrip('.')} {match[2]} in"
    if unit == "ft-in" and (match := _FEET_INCHES.fullmatch(clean)):
        return f"{match[1]} ft {match[2]} in"
    return clean
