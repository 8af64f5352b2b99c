"""Periods in one cell, as people and programs write them in six languages: `01.01. - 31.03.2024`,
`Jan 2024`, `Nov 2023 - Jan 2024`, `1er trimestre 2024`, `2024-Q1`."""

import datetime as dt
import re
from contextlib import suppress

from xlfuncs.tables.header_words import (
    DATE_ORDERS,
    UnreadableError,
    month_of,
    plain,
    read_date,
    words_of,
)

_DAY = (r"(\d{1,4}[./-]\d{1,2}[./-]\d{1,4}|\d{1,2}\.? [^\W\d]+\.? \d{4}"
        r"|[^\W\d]+\.? \d{1,2},? \d{4})")  # fmt: skip
_TO = r"(?: ?[–—] ?| (?:-|to|through|bis|au|al|tot|hasta|a|t/m) |-(?=\d+[./]))"
_PERIOD = re.compile(rf"(?:[^\W\d]+ )?{_DAY}{_TO}{_DAY}")
_YEAR_ONCE = re.compile(  # `Jan 1 - Mar 31, 2023`, `01.01. - 31.03.2023`
    r"(?:[^\W\d]+ )??(\d{1,2}[./]\d{1,2}\.?|\d{1,2}\.? [^\W\d]+\.?|[^\W\d]+\.? \d{1,2})"
    rf"{_TO}{_DAY}")  # fmt: skip
_MONTH = re.compile(r"(?:[^\W\d]+ )?(?:([^\W\d]{3,})\.?[ -]?'?|(\d{1,2})[./-](?=\d{4}))"
                    r"(?:\d{4}|\d{2})|\d{4}[-/](\d{1,2})(?:-01)?")  # fmt: skip
_FROM_TO = re.compile(rf"{_TO}| ?[/-] ?")
_NUMBER = r"(?P<number>\d|i{1,3}|iv|vi?)(?:st|nd|rd|th|er|re|eme|e|ste|de|°|a|o)?"
_PARTS = {months: rf"(?:{'|'.join(words_of(f'months {months}'))})" for months in (2, 3, 6)}
_ROMAN = ("", "i", "ii", "iii", "iv", "v", "vi")


def is_day(cell: object) -> bool:
    return bool(re.fullmatch(_DAY, str(cell).lower()))


def is_of_days(text: str) -> bool:
    """Whether a period says its first and its last day."""
    return bool(_PERIOD.fullmatch(text.lower()))


def ends_of(text: str) -> tuple[str, str] | None:
    """First and last day of a period; None of another text."""
    text = text.lower()
    if match := _PERIOD.fullmatch(text):
        return match[1], match[2]
    if match := _YEAR_ONCE.fullmatch(text):
        return _with_year(match[1], match[2]), match[2]
    ends = _month(text) or _part_of_year(text) or (None if is_day(text) else _months(text))
    return ends and (ends[0].isoformat(), ends[1].isoformat())


def _with_year(first: str, last: str) -> str:
    """A first day with the year of the last one, or the year before where it is then later."""
    (year,) = re.findall(r"\d{4}", last)
    mark = next(iter(re.findall(r"\d([./])\d", first)), " ")
    for text in (f"{first.rstrip('.')}{mark}{int(year) - before}" for before in (0, 1)):
        for order in DATE_ORDERS[:2]:
            with suppress(UnreadableError):
                if read_date(text, order) <= read_date(last, order):
                    return text
    return first


def _span(year: int, month: int, months: int = 1) -> tuple[dt.date, dt.date] | None:
    """First and last day of some months of a year."""
    if not 0 < month <= 13 - months:
        return None
    after = month + months - 1
    return dt.date(year, month, 1), dt.date(year + after // 12, after % 12 + 1, 1) - dt.timedelta(1)


def _month(text: str) -> tuple[dt.date, dt.date] | None:
    if not (match := _MONTH.fullmatch(text)):
        return None
    name, *numbers = match.groups()
    month = month_of(name) if name else int(next(filter(None, numbers)))
    year = int((re.findall(r"\d{4}", text) or [f"20{text[-2:]}"])[0])
    return _span(year, month or 0)


def _months(text: str) -> tuple[dt.date, dt.date] | None:
    """From a month to another: `Nov - Jan 2024`, `01/2024 - 03/2024`."""
    for between in _FROM_TO.finditer(text):
        before, last = text[: between.start()], _month(text[between.end() :])
        for year in (last[0].year, last[0].year - 1) if last else ():
            first = _month(before) or _month(f"{before} {year}")
            if first and last and first < last:
                return first[0], last[1]
    return None


def _part_of_year(text: str) -> tuple[dt.date, dt.date] | None:
    """A quarter, or a part of two or of six months: `Q1 2024`, `1er trimestre 2024`, `2024-Q1`."""
    words = plain(re.sub(r"[,']", " ", text))
    for months, part in _PARTS.items():
        named = rf"(?:{_NUMBER} ?{part}|{part} ?{_NUMBER.replace('<number>', '<behind>')})"
        year = r"(?P<year>\d{4}|\d{2})"
        found = re.fullmatch(rf"{named}(?: (?:of|de|del|di|van))? ?{year}", words)
        if found or (found := re.fullmatch(rf"(?P<year>\d{{4}}) ?{named}", words)):
            said = found["number"] or found["behind"]
            number = int(said) if said.isdigit() else _ROMAN.index(said)
            return _span(int(f"20{found['year']}"[-4:]), (number - 1) * months + 1, months)
    return None
