"""The currency of an export, by its cells and headings."""

import re
from collections.abc import Mapping

from xlfuncs.workbooks.lists.ledger.export import Export
from xlfuncs.workbooks.lists.ledger.headings import USUAL
from xlfuncs.workbooks.lists.lines import Measured
from xlfuncs.workbooks.lists.numbers import Settled, UnsettledError

_SIGNS = {"€": "EUR", "£": "GBP", "$": "$", "¥": "¥"}
_CODE = re.compile(r"(?<![A-Za-z])[A-Z]{3}(?![A-Za-z])")


def currencies_of(export: Export) -> dict[int, str]:
    """The currency that each line names, in its own column or beside its amount, or its heading."""
    headings = " ".join(h.text for name in ("amount", "net") for h in export.headers.get(name, ()))
    usual = next(map(_any_currency, USUAL.findall(headings)), "")
    found = {line.number: usual for line in export.below}
    for name, find in (("net", _marked), ("amount", _marked), ("currency", _any_currency)):
        cells = {line.number: export.cell(line, name) for line in export.below}
        said = {cell: find(str(cell)) for cell in {*cells.values()}
                if isinstance(cell, (str, Measured))}  # fmt: skip
        found |= {number: code for number, cell in cells.items() if (code := said.get(cell))}
    return found


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


def settled_currency(named: Mapping[int, str], stated: str) -> Settled | None:
    """The currency of all lines, by what each names."""
    found = {*named.values()} - {""}
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
