"""Words that people type in lists, in six languages: headings, yes and no, covers, totals, months,
crops.

One table of words for every reader: headings stand in data/headings.csv, a row a column, the other
words in data/words.csv, a row a meaning, both with a column a language; the last three, of which
ledgers alone have words, are from memory. To add a word for one list
alone, a line in its mapping file does. Letters are compared without case and accents (`plain`), so
`Länge` stands there as `lange`.
"""

import datetime as dt
import re
import unicodedata
from collections.abc import Sequence
from functools import lru_cache

from xlfuncs.tables.columns import Column, data_rows
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL
from xlfuncs.tables.garden.crops import published_crops


@lru_cache(maxsize=1)
def headings() -> dict[str, dict[str, str]]:
    """Headings by the name of the column and the language, parted by commas.

    English stands in the tables themselves.
    """
    return {row.pop("column"): row for row in data_rows("headings.csv")}


_MEANT = {  # the words in any language, by what they mean
    row.pop("meaning"): frozenset(", ".join(row.values()).split(", ")) - {""}
    for row in data_rows("words.csv")
}


def words_of(meaning: str) -> frozenset[str]:
    return _MEANT[meaning]


def either(*meanings: str) -> str:
    """A pattern for the words of meanings, whole ones, of any ending where there is a star."""
    words = sorted(word for meaning in meanings for word in words_of(meaning))
    return rf"\b(?:{'|'.join(words)})\b".replace("*", r"\w*")


def parted(text: str) -> str:
    """A heading whose words are written together, `InvoiceDate`, as words; `MwSt` is one."""
    ends = r"(?<=[a-z])(?=[A-Z][a-z]{2})|(?<=[a-z]{2})(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z]{2})"
    return re.sub(ends, " ", text)


@lru_cache(maxsize=4096)
def says(text: str, *meanings: str) -> bool:
    return bool(re.search(either(*meanings), plain(parted(text))))


YES, RESTING = _MEANT["yes"], _MEANT["fallow"]
NO = RESTING | _MEANT["no"]
COVERS = {word: cover for cover in (OPEN_GROUND, PLASTIC_MULCH, TUNNEL) for word in _MEANT[cover]}
_MONTHS = [_MEANT[f"month {number}"] for number in range(1, 13)]
_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen|teil|end|sous|somme)[- ]?)?(?:totals?|totale|totales|totaal|summe)"
    r"(?:[ :(].*)?|gesamt(?:summe)?(?: .*)?|insgesamt|sums?(?: .*)?|somme|suma|somma|"
    r"averages?|avg|mean|mittel(?:wert)?|durchschnitt|moyenne|media|promedio|gemiddelde|"
    r"(?:opening |closing )?balance(?: .*)?|(?:neuer |alter )?saldo|eindtotaal|count of .*|"
    r".+[- ]total(?:s|e|es)?|(?:brought|carried) (?:forward|over)|ubertrag(?: .*)?|a reporter|"
    r"report|suma y sigue|riporto|transport"
)
_SHORT = {
    "len": "length", "lgth": "length", "lth": "length", "wid": "width", "wdth": "width",
    "dist": "distance", "elev": "elevation", "qty": "number", "ct": "count", "typ": "type",
    "ln": "line", "lns": "lines", "lat": "lateral", "lats": "laterals", "str": "strip",
    "bd": "bed", "l": "length", "w": "width", "larg": "largeur", "lungh": "lunghezza",
    "largh": "larghezza", "anch": "ancho", "lg": "lange", "br": "breite",
}  # fmt: skip


@lru_cache(maxsize=2**16)  # as many as a long list has texts
def plain(text: str) -> str:
    """Lower case, without accents, marks and double spaces; what counts is called a number."""
    words = text.replace("#", " number ").replace("º", "°").casefold()
    words = words.replace("n.°", "n°").replace("n°", "number ")
    if not words.isascii():
        parts = unicodedata.normalize("NFKD", words)
        words = "".join(c for c in parts if not unicodedata.combining(c))
    return " ".join(re.sub(r"[_\-./:*?]+", " ", words).split())


def content(text: str) -> frozenset[str]:
    """The words of plain text that carry its meaning, spelt out, whatever their order."""
    words = (_SHORT.get(word, word) for word in text.split())
    counted = ("number" if word in _MEANT["number"] else word for word in words)
    return frozenset(counted) - _MEANT["small word"]


@lru_cache(maxsize=1024)
def names_of(column: Column) -> tuple[frozenset[str], frozenset[str]]:
    """The plain headings of a column: its own, and the other words for it in every language."""
    own = frozenset({plain(column.header), plain(column.name)})
    lines = ",".join(headings().get(column.name, {}).values()).split(",")
    typed = frozenset(
        plain(word) for word in (*column.synonyms, *column.former, *lines) if word.strip()
    )
    return own, typed - own


def flag_of(word: str) -> bool | None:
    """Yes or no in any of the languages; None for another word."""
    bare = plain(word) or word.strip()
    return True if bare in YES else False if bare in NO else None


def month_of(word: str) -> int | None:
    """The month of a name or of its first letters, three or more; None where several begin so."""
    bare = plain(word)
    found = [number for number, names in enumerate(_MONTHS, 1)
             if len(bare) > 2 and any(name.startswith(bare) for name in names)]  # fmt: skip
    return found[0] if len(found) == 1 else None


def is_total(words: str) -> bool:
    """Whether the words of a cell call its row a sum, an average or a balance."""
    return bool(_TOTAL.fullmatch(plain(words).strip(" =")))


# --- dates as people and programs write them, in six languages; which of day and month comes first
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


_ENDINGS = (("ies", "y"), ("oes", "o"), ("es", ""), ("es", "e"), ("s", ""))


def names_crops(words: Sequence[str]) -> bool:
    """Whether most of the words are crops."""
    known = [str(row["crop"]) for row in published_crops()]
    return 0 < len(words) <= 2 * sum(1 for word in words if crop_of(word, known))


def nearest_crops(word: str, known: Sequence[str]) -> list[str]:
    """Crops of the same species, else those whose name has the word's last: bush beans, beans."""
    last = _forms(plain(word).rpartition(" ")[2])
    kin = _meant("species of", last | _forms(plain(word)), known)
    return kin or [crop for crop in known if last & {*plain(crop.replace(",", " ")).split()}]


def crop_of(word: str, known: Sequence[str]) -> str:
    """The one crop that a word means, in any of the languages, '' for none or several.

    Onion alone means neither 'onion, dry' nor 'onion, green'; pepper can only be 'pepper, sweet'.
    """
    meant = _forms(plain(word))
    by_parts = [(crop, crop.split(",")) for crop in known]
    for names in ([(crop, [crop]) for crop in known], by_parts):
        found = [crop for crop, own in names if any(_forms(plain(name)) & meant for name in own)]
        if found:
            return found[0] if len(found) == 1 else ""
    return next(iter(_meant("crop", meant, known)), "")


def _meant(how: str, forms: set[str], known: Sequence[str]) -> list[str]:
    return [crop for crop in known if forms & _MEANT.get(f"{how} {crop}", frozenset())]


def _forms(name: str) -> set[str]:
    """A name and what may be its singular."""
    return {name} | {
        name[: -len(end)] + one for end, one in _ENDINGS if name.endswith(end) and name != end
    }
