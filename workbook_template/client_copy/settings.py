"""The consultant's settings of a proposal: who they are, looks, terms, words, the price scheme.

    settings = read_settings(Path("proposal.toml"))

One file of TOML; everything in it is optional, what it cannot mean is refused with words.
"""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from typing import Any

from workbook_template.client_copy.scheme import Scheme, scheme_of
from workbook_template.kit.said import said
from workbook_template.kit.style import BAND, HEADER, INK, LINE
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.cautions import CAUTIONS, IN_SHORT

NAME = "proposal.toml"  # looked for beside the workbook
COLORS = {"ink": INK, "accent": HEADER, "tint": BAND, "line": LINE}
PAPERS = ("letter", "a4")
REACHED = ("phone", "email", "website", "registration")
CONSULTANT = ("name", "address", *REACHED, "logo")
PAGES = ("cover", "design", "map", "options", "quotation", "calendar", "terms")
FONTS = ("regular", "bold")
_PARTS = ("paper", "consultant", "terms", "colors", "fonts", "texts", "prices")


@cache
def fixed_texts() -> Mapping[str, Any]:
    """Every fixed text of a proposal, by its key; settings may replace each."""
    found = tomllib.loads((Path(__file__).parent / "texts.toml").read_text("utf-8"))
    own = said("quotation")
    listed = {"assumptions": own.assumptions, "exclusions": own.exclusions}
    return {**found, **listed, "cautions": list(CAUTIONS), "cautions_short": IN_SHORT}


@dataclass(frozen=True)
class Settings:
    """What the file says, defaults filled in; paths are whole."""

    paper: str = ""  # blank: that of the units
    consultant: Mapping[str, str] = field(default_factory=dict)
    terms: tuple[str, ...] = ()
    colors: Mapping[str, str] = field(default_factory=lambda: COLORS)
    fonts: Mapping[str, str] = field(default_factory=dict)
    texts: Mapping[str, Any] = field(default_factory=fixed_texts)
    prices: Scheme = field(default_factory=Scheme)

    def with_terms(self, payment: str) -> "Settings":
        """Those of the workbook before those of the file."""
        return replace(self, terms=(payment, *self.terms)) if payment else self

    def letterhead(self) -> list[str]:
        """Who makes the offer and how they are reached, line by line."""
        who = self.consultant
        lines = [who.get("name", ""), *who.get("address", "").strip().splitlines()]
        return [*filter(None, (*lines, *(who.get(key, "") for key in REACHED)))]


def read_settings(path: Path) -> Settings:
    """Raises WorkbookError for a file that is none, and for what it names that is not known."""
    try:
        given = tomllib.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        raise WorkbookError(f"{path.name}: {error}") from None
    _known("", given, _PARTS)
    paper = str(given.get("paper", "")).lower()
    if paper and paper not in PAPERS:
        raise WorkbookError(f"paper: {paper} is not {' or '.join(PAPERS)}")
    consultant = _texts(given, "consultant", CONSULTANT)
    fonts = _texts(given, "fonts", FONTS)
    for of, files in ((consultant, ("logo",)), (fonts, FONTS)):
        for name in files:
            if of.get(name) and not (path.parent / of[name]).is_file():
                raise WorkbookError(f"{name}: there is no file {of[name]} beside {path.name}")
            of |= {name: str(path.parent / of[name])} if of.get(name) else {}
    colors = _texts(given, "colors", tuple(COLORS))
    for name, color in colors.items():
        if not re.fullmatch("#[0-9a-fA-F]{6}", color):
            raise WorkbookError(f"colors.{name}: {color} is not six digits such as {COLORS[name]}")
    return Settings(
        paper, consultant, _terms(given.get("terms", [])), COLORS | colors, fonts,
        _words(given.get("texts", {})), scheme_of(given.get("prices", {})),
    )  # fmt: skip


def _terms(given: Any) -> tuple[str, ...]:
    if not isinstance(given, list) or not all(isinstance(text, str) for text in given):
        raise WorkbookError('terms: not a list of texts such as ["Payment within 30 days."]')
    return tuple(given)


def _words(given: Mapping[str, Any]) -> dict[str, Any]:
    """The fixed texts with those given in their places; a text keeps what it is to be filled."""
    known = fixed_texts()
    _known("texts.", given, tuple(known))
    for key, text in given.items():
        usual = known[key]
        if type(text) is not type(usual):
            kind = "a list of texts" if isinstance(usual, list) else "a text"
            raise WorkbookError(f"texts.{key}: {text!r} is not {kind}")
        if key in ("cautions", "months", "days", "tasks") and len(text) < len(usual):
            raise WorkbookError(f"texts.{key}: {len(text)} texts, where {len(usual)} are needed")
    return {**known, **given}


def _texts(given: Mapping[str, Any], part: str, names: tuple[str, ...]) -> dict[str, str]:
    found = given.get(part, {})
    if not isinstance(found, dict):
        raise WorkbookError(f"{part}: {found!r} is no table [{part}]")
    _known(f"{part}.", found, names)
    return {name: str(value) for name, value in found.items()}


def _known(part: str, given: Mapping[str, Any], names: tuple[str, ...]) -> None:
    for name in given:
        if name not in names:
            near = get_close_matches(name, names, 1)
            meant = f"; did you mean {near[0]}?" if near else f"; there are {', '.join(names)}"
            raise WorkbookError(f"{part}{name}: not known{meant}")
