"""An export below its headings, and what all its lines settle: order of dates, currency."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from xlfuncs.workbooks.lists.headers import Found
from xlfuncs.workbooks.lists.lines import FileLine, Measured
from xlfuncs.workbooks.lists.numbers import Located, Settled, UnsettledError

_SIGNS = {"€": "EUR", "£": "GBP", "$": "$", "¥": "¥"}
_CODE = re.compile(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])")


@dataclass(frozen=True)
class Export:
    """The lines of an export below its headings."""

    head: FileLine
    headers: Found
    below: Sequence[FileLine]

    def cell(self, line: FileLine, name: str) -> Any:
        return line.cell(self.headers[name][0].place) if name in self.headers else None

    def unit(self, name: str) -> str:
        """What stands in brackets in a heading, such as `kgal` or `mm/dd/yyyy`."""
        return (self.headers[name][0].unit or self.headers[name][0].odd_unit
                if name in self.headers else "")  # fmt: skip


def texts(export: Export, names: tuple[str, ...]) -> Iterator[Located]:
    for line in export.below:
        for name in names:
            if isinstance(cell := export.cell(line, name), str):
                yield line.number, cell


def order_in_heading(export: Export) -> str | None:
    """The order that a heading such as `Date (mm/dd/yyyy)` states."""
    letters = re.sub(r"[^dmy]", "", export.unit("date").lower())
    order = "".join(dict.fromkeys(letters)).upper()
    return order if order in ("DMY", "MDY", "YMD") else None


def currency_of(export: Export, line: FileLine) -> str:
    """The currency that a line names, in its own column or beside its amount."""
    for name, find in (("currency", _any_currency), ("amount", _marked), ("net", _marked)):
        cell = export.cell(line, name)
        if isinstance(cell, (str, Measured)) and (found := find(str(cell))):
            return found
    return ""


def _any_currency(text: str) -> str:
    return _SIGNS.get(text, text.upper())


def _marked(text: str) -> str:
    """The currency sign or code beside a number."""
    if match := _CODE.search(text):
        return match[0]
    return next((code for sign, code in _SIGNS.items() if sign in text), "")


def same_currency(own: str, ledger: str) -> bool:
    """A bare $ is whichever dollar the ledger is in."""
    return own == ledger or (own == "$" and ledger.endswith("D"))


def settled_currency(export: Export, stated: str) -> Settled | None:
    found = {code for line in export.below if (code := currency_of(export, line))}
    if stated:
        return Settled(stated.upper(), f"currency {stated.upper()}, as stated")
    if in_heading := export.unit("amount"):
        found.add(_any_currency(in_heading))
    if "$" in found and sum(code.endswith("D") for code in found) == 1:
        found.remove("$")
    if len(found) > 1:
        raise UnsettledError("currency", f"The file has {' and '.join(sorted(found))}.")
    if not found:
        return None
    (currency,) = found
    return Settled(currency, f"currency {currency}, the only one in the file")
