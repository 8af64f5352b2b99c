"""Words that people type in lists, in six languages: headings, yes and no, covers, totals, months.

One table of words for every reader: headings stand in data/headings.csv, a row a column and a
column a language, the other words here. To add a word for one list alone, a line in its mapping
file does. Letters are compared without case and accents
(`plain`), so `Länge` stands here as `lange`.
"""

import datetime as dt
import re
import unicodedata
from functools import lru_cache

from xlfuncs.tables.columns import Column, data_rows
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL


@lru_cache(maxsize=1)
def headings() -> dict[str, dict[str, str]]:
    """Headings by the name of the column and the language, parted by commas.

    English stands in the tables themselves.
    """
    return {row.pop("column"): row for row in data_rows("headings.csv")}


def _words(text: str) -> frozenset[str]:
    """Words parted by commas, or by blanks where there is no comma."""
    parts = text.split(",") if "," in text else text.split()
    return frozenset(" ".join(part.split()) for part in parts)


YES = _words("""yes, y, true, on, x, 1, active, running, watered, planted, irrigated, ok, ✓, ✔,
    in use,
    ja, j, wahr, an, aktiv, in betrieb, oui, o, vrai, en service, si, s, verdadero, verdad, en uso,
    waar, aan, actief, in gebruik, vero, attivo, attiva, in uso""")
RESTING = _words("""fallow, resting, brache, brach, brach liegend, jachere, en jachere, barbecho,
    en barbecho, descanso, braak, maggese, incolto, riposo, a riposo""")
NO = RESTING | _words("""no, n, false, off, -, 0, inactive, closed, unused, none, not used,
    nein, falsch, aus, inaktiv, non, faux, arret, falso, nee, onwaar, uit, spento""")
_OPEN = _words("""none, no, bare, field, outdoor, outdoors, outside, straw, uncovered, bare ground,
    open ground, offen, freiland, keine, ohne, exterieur, aucun, aucune, plein champ, libre,
    ninguna,
    aire libre, buiten, geen, aperto, nessuna, campo aperto, pieno campo""")
_PLASTIC = _words("""plastic, black plastic, film, plastic film, poly mulch, folie, mulchfolie,
    bache,
    film plastique, plastico, acolchado plastico, plastic folie, telo, film plastico""")
_TUNNEL = _words("""high tunnel, poly tunnel, polytunnel, hoop house, hoophouse, greenhouse,
    caterpillar tunnel, folientunnel, gewachshaus, serre, invernadero, tunel, kas, serra""")
COVERS = {
    **dict.fromkeys(_OPEN, OPEN_GROUND),
    **dict.fromkeys(_PLASTIC, PLASTIC_MULCH),
    **dict.fromkeys(_TUNNEL, TUNNEL),
}
_MONTHS = (
    "january januar janner janvier enero januari gennaio",
    "february februar feber fevrier febrero februari febbraio",
    "march marz maerz mars marzo maart mrt", "april avril abril aprile",
    "may mai mayo mei maggio", "june juni juin junio giugno", "july juli juillet julio luglio",
    "august aout agosto augustus", "september septembre septiembre setiembre settembre",
    "october oktober octobre octubre ottobre", "november novembre noviembre",
    "december dezember decembre diciembre dicembre",
)  # fmt: skip
_TOTAL = re.compile(
    r"(?:(?:sub|grand|zwischen|teil|end|sous|somme)[- ]?)?(?:totals?|totale|totales|totaal|summe)"
    r"(?:[ :(].*)?|gesamt(?:summe)?(?: .*)?|insgesamt|sums?(?: .*)?|somme|suma|somma|"
    r"averages?|avg|mean|mittel(?:wert)?|durchschnitt|moyenne|media|promedio|gemiddelde|"
    r"(?:opening |closing )?balance(?: .*)?|saldo|eindtotaal|count of .*|.+[- ]total(?:s|e|es)?"
)
_SMALL = _words("""of the a to per for each in des der die das je pro vom zum zur von de du la le
    les
    l au aux par el los las al por del d van het tot dal alla della delle di da""")
_COUNTS = _words("""no nr num n nº n° no° anzahl nombre nb nbre numero num° aantal number nummer
    cantidad""")
_SHORT = {
    "len": "length", "lgth": "length", "lth": "length", "wid": "width", "wdth": "width",
    "dist": "distance", "elev": "elevation", "qty": "number", "ct": "count", "typ": "type",
    "ln": "line", "lns": "lines", "lat": "lateral", "lats": "laterals", "str": "strip",
    "bd": "bed", "l": "length", "w": "width", "larg": "largeur", "lungh": "lunghezza",
    "largh": "larghezza", "anch": "ancho", "lg": "lange", "br": "breite",
}  # fmt: skip


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Lower case, without accents, marks and double spaces; what counts is called a number."""
    words = text.replace("#", " number ").replace("º", "°").replace("n°", "number ")
    words = words.replace("N°", "number ").casefold()
    words = "".join(c for c in unicodedata.normalize("NFKD", words) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[_\-./:*?]+", " ", words).split())


def content(text: str) -> frozenset[str]:
    """The words of plain text that carry its meaning, spelt out, whatever their order."""
    words = (_SHORT.get(word, word) for word in text.split())
    return frozenset("number" if word in _COUNTS else word for word in words) - _SMALL


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
             if len(bare) > 2 and any(name.startswith(bare) for name in names.split())]  # fmt: skip
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
