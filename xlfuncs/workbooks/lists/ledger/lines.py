"""One line of an export to one ledger entry, once the file's own ways are settled."""

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from xlfuncs.errors import CellError, UnitError
from xlfuncs.tables.header_words import (
    UnreadableError,
    date_evidence,
    flag_of,
    plain,
    read_date,
    says,
    words_of,
)
from xlfuncs.tables.headers import unit_of
from xlfuncs.tables.money.ledger import KINDS
from xlfuncs.units import DIMENSIONS, SYSTEMS, conversion, from_base
from xlfuncs.workbooks.lists.bills.credit_notes import credit_notes
from xlfuncs.workbooks.lists.bills.currencies import currencies_of, same_currency, settled_currency
from xlfuncs.workbooks.lists.bills.taxes import is_back_in_money
from xlfuncs.workbooks.lists.ledger.export import Export, order_in_heading, texts
from xlfuncs.workbooks.lists.ledger.figures import beside_net, fixed_inside, is_sewer
from xlfuncs.workbooks.lists.lines import FileLine, Measured, shown
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import (
    Settled,
    UnsettledError,
    date_order,
    decimal_mark,
    read_number,
)
from xlfuncs.workbooks.lists.orders.columns import (
    KIND_WORDS,
    UNIT_WORDS,
    is_tax,
    kind_named,
    sold_by,
    unit_of_articles,
    unit_of_line,
)

Entry = dict[str, Any]  # by the names of the ledger's columns

BILLED = "billed"  # before the day of the bill, in a note
_DATES = ("date", "bill_date", "period_start")
_NUMBERS = ("quantity", "amount", "net", "tax")
_COUNT_WORDS = frozenset(("", *words_of("pieces")))


@dataclass(frozen=True)
class LineReader:
    """Turns lines into entries by the file's date order, decimal mark and currency.

    `stated` are the person's answers: `values` of every line, `words` what the file's stand for.
    """

    export: Export
    system: str
    stated: ListMapping
    order: str
    mark: str
    currency: str
    findings: list[str]
    learned: Mapping[str, str]  # kinds of the ledger's items
    units: Mapping[str, str]  # and their units
    beside: Sequence[int] = ()  # columns that are in the amount beside the net one and the tax
    fixed_in: str = ""  # what fixed charges are a part of: the amount before tax (net), or gross
    credits: frozenset[int] = frozenset()  # lines whose figures are taken off
    back: bool = False  # whether the recoverable tax is money, not a part of it
    currencies: Mapping[int, str] = field(default_factory=dict)  # that lines name
    taken: dict[str, str] = field(default_factory=dict)  # those that lines took, by item
    odd_units: dict[str, str] = field(default_factory=dict)  # words that may be pieces, by kind
    uncounted: dict[int, str] = field(default_factory=dict)  # lines whose unit is not of their kind

    @classmethod
    def of(
        cls, export: Export, system: str, stated: ListMapping,
        learned: Mapping[str, str], units: Mapping[str, str],
    ) -> "LineReader":  # fmt: skip
        """Settle date order, decimal mark and currency from all the lines."""
        mark = decimal_mark(stated.decimal, texts(export, _NUMBERS))
        named = currencies_of(export)
        currency = settled_currency(named, str(stated.values.get("currency", "")))
        commas = {currency.value if currency else "", mark.value if mark else ""} & {",", "EUR"}
        dates = [*texts(export, _DATES)]
        try:
            order = date_order(stated.date_order or order_in_heading(export), dates)
        except UnsettledError:  # no country writes 4/25/2025 and 1,50, or 4.25.2025
            evidence = {date_evidence(text) for _, text in dates} - {""}
            dotted = any(re.match(r"\d+\.\d+\.\d", text) for _, text in dates)
            if evidence != {"?"} or not (commas or dotted):
                raise
            why = "as where numbers have commas" if commas else "as dates with points are"
            order = Settled("DMY", f"date_order DMY, {why}")
        export, fixed_in = fixed_inside(export)
        credits, told = credit_notes(export)
        export = replace(export, noted="; ".join(filter(None, [export.noted, told])))
        return cls(
            export, system, stated, order.value if order else "YMD", mark.value if mark else ".",
            currency.value if currency else "", [s.words for s in (order, mark, currency) if s],
            learned, units, beside_net(export), fixed_in, credits, is_back_in_money(export), named,
        )  # fmt: skip

    def entry(self, line: FileLine) -> Entry:
        """One entry; raises UnreadableError with the reason where the line is none."""
        self.export.refuse_odd(line)
        billed = self._date(line, "bill_date")
        date = self._date(line, "date") or billed
        word, item = self._text(line, "kind"), self._text(line, "item")
        kind = self._kind(word, item)
        quantity, unit = self._quantity(line, kind, item)
        amount, tax = self._money(line)
        tax = self._number(line, "recoverable") if tax is None and self.back else tax
        if tax is None and quantity in (None, 1) and is_tax(item):
            tax = amount
        if date is None and amount >= 0:  # a credit may be that of another line, of its date
            raise UnreadableError("has no date")
        return {
            "date": date,
            "period_start": self._date(line, "period_start"),
            "kind": kind,
            "item": item,
            "quantity": quantity,
            "unit": unit,
            "amount": float(amount),
            "tax": None if tax is None else float(tax),
            "recoverable": self._ratio(line, "recoverable", 0.0, tax if self.back else None),
            "currency": self._own_currency(line),
            "share": self._ratio(line, "share", 1.0),
            "reference": self._text(line, "reference"),
            "meter": self._text(line, "meter"),
            "counted": flag_of(self._text(line, "counted")) is not False,
            "word": word,
            "fixed": self._fixed(line, amount, tax) if quantity else None,
            "note": self._note(line, billed if billed != date else None),
        }

    def money(self, line: FileLine) -> Decimal | None:
        """What a line says was paid, where that can be read."""
        try:
            return self._money(line)[0]
        except UnreadableError:
            return None

    def _note(self, line: FileLine, billed: dt.date | None) -> str:
        """All notes of the line, and the day of the bill, where it is not that of the entry."""
        texts = [shown(line.cell(h.place)).strip() for h in self.export.headers.get("note", ())]
        if billed:
            ordered = says(self.export.headers["bill_date"][0].text, "order day")
            texts.append(f"{'ordered' if ordered else BILLED} {billed}")
        return "; ".join(filter(None, [*texts, self.uncounted.get(line.number)]))

    def _cell(self, line: FileLine, name: str) -> Any:
        cell = self.export.cell(line, name)
        typed = isinstance(cell, str) and cell.startswith("#") and cell[-1:] in "!?A"
        if typed or isinstance(cell, CellError):
            raise UnreadableError(f"the {name} is the error {cell}")
        return cell

    def _text(self, line: FileLine, name: str) -> str:
        return shown(self._cell(line, name)).strip() if name in self.export.headers else ""

    def _date(self, line: FileLine, name: str) -> dt.date | None:
        cell = self._cell(line, name)
        if cell is None or isinstance(cell, dt.date):
            return cell
        if isinstance(cell, str):
            return read_date(cell, self.order)
        raise UnreadableError(f"{shown(cell)} is a number, not a date")

    def _number(self, line: FileLine, name: str) -> Decimal | None:
        parts = self.export.headers.get(name, ())
        if len(parts) > 1:  # of one meter, by tariffs
            turned = [h for h in parts if name == "amount" and says(h.text, "credit side")]
            figures = [-x if h in turned else x for h in parts
                       if (x := self.figure(line.cell(h.place))) is not None]  # fmt: skip
            figure = sum(figures, Decimal(0)) if figures else None
        else:
            cell = self._cell(line, name)
            if isinstance(cell, (bool, dt.date)):
                raise UnreadableError(f"the {name} {cell} is not a number")
            figure = self.figure(cell)
        return -abs(figure) if figure is not None and line.number in self.credits else figure

    def figure(self, cell: Any) -> Decimal | None:
        if isinstance(cell, str):
            return read_number(cell, self.mark)
        if cell is None or isinstance(cell, (bool, dt.date, CellError)):
            return None
        return Decimal(repr(cell.value if isinstance(cell, Measured) else cell))

    def _ratio(self, line: FileLine, name: str, default: float, of: Decimal | None = None) -> float:
        text = self._text(line, name)
        if not text:
            return default
        number = read_number(text.removesuffix("%"), self.mark)
        ratio = abs(float(number / (100 if text.endswith("%") else of or 1)))
        if not 0 <= ratio <= 1:
            raise UnreadableError(f"the {name} {text} is not between 0 and 1")
        return ratio

    def _kind(self, word: str, item: str) -> str:
        word = word or kind_named(item, self.stated.words) or self.stated.values.get("kind", "")
        known = self.learned.get(item.lower(), "")
        if not (word or known):
            if over := [name for name in ("delivery", "discount") if says(item, name)]:
                return over[0]  # of whatever it is spread over
            raise UnreadableError("has no kind, and the ledger has no item like it")
        kind = self._meant(word) or KIND_WORDS.get(plain(word), word.lower())
        if known and kind not in KINDS and known != kind:
            kind = self.taken[item] = known
        return "sewer" if kind == "water" and is_sewer(item) else kind

    def _meant(self, word: str) -> str:
        """What a word of the file stands for, as stated; '' where nothing is said of it."""
        meant = {theirs.strip().lower(): ours for theirs, ours in self.stated.words.items()}
        return meant.get(word.lower(), "")

    def _quantity(self, line: FileLine, kind: str, item: str) -> tuple[float | None, str]:
        if word := self.export.unknown(line, "quantity"):
            self.uncounted[line.number] = word
            return None, ""
        quantity, dimension = self._number(line, "quantity"), KINDS.get(kind, "count")
        months = says(self._text(line, "unit"), "month") or says(item, "part fixed")
        if quantity is None or (dimension != "count" and months):
            return None, ""  # as days of a fixed charge
        unit = unit_of_articles(self._text(line, "unit")) or self.export.unit("quantity")
        pieces = dimension == "count"
        unit = unit or (sold_by(item) if pieces else unit_of_line(self.export, line))
        unit = self._meant(unit) or UNIT_WORDS.get(unit.lower(), unit)
        if pieces and plain(unit) in _COUNT_WORDS:
            return float(quantity), ""
        goods = pieces or dimension == "length"
        kept = goods and self.units.get(item.lower()) == unit.lower()  # the ledger counts it so
        if (kept and not unit_of(unit, dimension)) or (pieces and kind not in KINDS):
            return float(quantity), unit  # or a kind of somebody's own, as the shop sells it
        if pieces and not any(unit_of(unit, of) for of in {*KINDS.values()} - {"count"}):
            self.odd_units.setdefault(unit, kind)
            return float(quantity), ""
        unit = unit or str(self.stated.values.get("unit", ""))
        if not unit:
            usual = list(dict.fromkeys(DIMENSIONS[dimension].unit(system) for system in SYSTEMS))
            words = f"Line {line.number}: in what is the {kind} measured?"
            raise UnsettledError("unit", words, usual, under="values")
        try:
            scale, _ = conversion(unit, dimension)
        except UnitError:
            if not goods:
                raise UnreadableError(f"{unit!r} is not a unit for {kind}") from None
            self.uncounted[line.number] = f"{quantity} {unit}"  # the money comes in all the same
            return None, ""
        ours = DIMENSIONS[dimension].unit(self.system)
        if conversion(ours, dimension)[0] == scale:
            return float(quantity), ours
        return from_base(float(quantity) * scale, dimension, self.system), ours

    def _money(self, line: FileLine) -> tuple[Decimal, Decimal | None]:
        """The amount paid and the tax in it, None where the file says nothing of it."""
        amount, net, tax = (self._number(line, name) for name in ("amount", "net", "tax"))
        whole = amount if net is None else net
        if whole is None:
            raise UnreadableError("has no amount")
        one = tax is None and (amount is None or net is None)
        if text := self._text(line, "tax_rate") if one else "":
            rate = read_number(text.removesuffix("%"), self.mark)
            rate = rate / 100 if rate >= 1 or "%" in text else rate
            tax = round(whole * rate / (1 if amount is None else 1 + rate), 2)
        if net is None:
            return whole, tax
        if amount is None:
            return net + (tax or Decimal(0)), tax
        rest = sum((self.figure(line.cell(i)) or Decimal(0) for i in self.beside), Decimal(0))
        rounded = Decimal("0.01") * len(self.export.headers.get("tax", ()))
        if tax is not None and abs(net + tax + rest - amount) > rounded:
            raise UnreadableError(f"net {net} and tax {tax} do not make the amount {amount}")
        return amount, amount - net - rest

    def _fixed(self, line: FileLine, amount: Decimal, tax: Decimal | None) -> float | None:
        """The part of the amount that a column of fixed charges says, before or after tax."""
        whole = amount - (tax or 0) if self.fixed_in == "net" else amount
        fixed = self._number(line, "fixed") if self.fixed_in else None
        return float(fixed / whole) if fixed and whole and 0 < fixed / whole <= 1 else None

    def _own_currency(self, line: FileLine) -> str:
        own = self.currencies.get(line.number, "")
        if own and not same_currency(own, self.currency):
            raise UnreadableError(f"is in {own}, while the ledger is in {self.currency}")
        return self.currency
