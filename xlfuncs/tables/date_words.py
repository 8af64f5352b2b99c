"""Dates as people and programs write them, in six languages; which of day and month comes first."""

import datetime as dt
import re

from xlfuncs.tables.header_words import month_of

DATE_ORDERS = ("DMY", "MDY", "YMD")
_THREE_NUMBERS = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4}|\d{2})(?:[ T].*)?")
_ISO = re.compile(r"(\d{4})[./-](\d{1,2})[./-](\d{1,2})(?:[ T].*)?|(\d{4})(\d{2})(\d{2})")
_NAMED = re.compile(r"(\d{1,2})(?:er|º|°)?[ .-]+(?:de )?([^\W\d_]+)\.?[ ,.-]+(?:de )?(\d{4}|\d{2})")
_NAMED_FIRST = re.compile(r"([^\W\d_]+)\.?[ ]+(\d{1,2}),?[ ]+(\d{4}|\d{2})")


class UnreadableError(ValueError):
    """A value that cannot be read; the message is the reason."""


def date_evidence(text: str) -> str:
    """The order that a date must have, "?" if day and month can change places, "" if neither."""
    match = _THREE_NUMBERS.fullmatch(text.strip())
    if not match:
        return ""
    first, second = int(match[1]), int(match[2])
    if first == second or min(first, second) > 12:
        return ""
    if first > 12:
        return "DMY"
    return "MDY" if second > 12 else "?"


def read_date(text: str, order: str) -> dt.date:
    """A date whose order of day and month is known; raises UnreadableError."""
    clean = text.strip()
    if match := _ISO.fullmatch(clean):
        year, month, day = (int(part) for part in match.groups() if part)
    elif match := _THREE_NUMBERS.fullmatch(clean):
        first, second, year = (int(part) for part in match.groups())
        day, month = (second, first) if order == "MDY" else (first, second)
    elif match := _NAMED.fullmatch(clean):
        day, month, year = int(match[1]), _month(match[2], clean), int(match[3])
    elif match := _NAMED_FIRST.fullmatch(clean):
        day, month, year = int(match[2]), _month(match[1], clean), int(match[3])
    else:
        raise UnreadableError(f"{clean!r} is not a date")
    try:
        return dt.date(year if year > 99 else 2000 + year, month, day)
    except ValueError:
        read = f", read as {order}" if order else ""
        raise UnreadableError(f"{clean!r} is not a day of the calendar{read}") from None


def _month(name: str, text: str) -> int:
    month = month_of(name)
    if month is None:
        raise UnreadableError(f"{text!r} names no month")
    return month
