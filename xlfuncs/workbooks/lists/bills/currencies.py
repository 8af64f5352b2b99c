"""The currency of an export, by its cells and headings."""

import re

from xlfuncs.workbooks.lists.ledger_export import Export
from xlfuncs.workbooks.lists.ledger_headings import USUAL
from xlfuncs.workbooks.lists.lines import FileLine, Measured
from xlfuncs.workbooks.lists.numbers import Settled, UnsettledError

_SIGNS = {"€": "EUR", "£": "GBP", "$": "$", "¥": "¥"}
_CODE = re.compile(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])")


def currency_of(export: Export, line: FileLine) -> str:
    """The currency that a line names, in its own column or beside its amount, or its heading."""
    for name, find in (("currency", _any_currency), ("amount", _marked), ("net", _marked)):
        cell = export.cell(line, name)
        if isinstance(cell, (str, Measured)) and (found := find(str(cell))):
            return found
    headings = " ".join(h.text for name in ("amount", "net") for h in export.headers.get(name, ()))
    return next(map(_any_currency, USUAL.findall(headings)), "")


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
    if "$" in found and sum(code.endswith("D") for code in found) == 1:
        found.remove("$")
    if len(found) > 1:
        raise UnsettledError(
            "currency", f"The file has {' and '.join(sorted(found))}. Which is the ledger's?",
            sorted(found), under="values",
        )  # fmt: skip
    if not found:
        return None
    (currency,) = found
    return Settled(currency, f"currency {currency}, the only one in the file")
