"""What kinds of things an export lists: its categories, what is stated, or as the ledger has it."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from xlfuncs.tables.header_words import UnreadableError, plain
from xlfuncs.workbooks.lists import ledger_netting as netting
from xlfuncs.workbooks.lists.ledger_export import Export
from xlfuncs.workbooks.lists.ledger_headings import is_figure
from xlfuncs.workbooks.lists.ledger_lines import (
    KIND_WORDS,
    Entry,
    LineReader,
    is_kind,
    likely_kinds,
)
from xlfuncs.workbooks.lists.lines import shown
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError

# Words that say that a column tells what a line of an order is, and not of what kind the thing is.
_NO_KINDS = """
    item items article artikel product products produkt good goods ware line position sale sales
    return returns returned refund credit retoure gutschrift article retour avoir articulo producto
    abono artikelen articolo prodotto reso charge charges fee fees
"""
_PAPERS = frozenset((
    "bill", "bills", "invoice", "credit", "credit note", "credit memo", "facture", "avoir",
    "rechnung", "gutschrift", "storno", "factura", "abono", "factuur", "creditnota", "fattura",
    "nota di credito", "sale", "sales", "return", "returns", "refund", "refunds",
))  # fmt: skip

# Headings of figures that are no sums of money, or of money that is not paid for the line.
_NO_SUM = re.compile(
    r"%|\b(?:no|nr|number|nummer|numero|note|date|days|weight|gewicht|poids|peso|per|each|rate"
    r"|(?:unit|list|your)? ?price|\w*preis|prix|precio|prijs|prezzo|tarif\w*|balance|previous"
    r"|payments?|paid)\b"
)


def kinds_stated(
    export: Export, stated: ListMapping, learned: Mapping[str, str], file: str
) -> tuple[Export, ListMapping, list[str]]:
    """The export, without a column of kinds that says what papers its lines are, and the kinds."""
    if _are_papers(export, stated):
        left = {name: h for name, h in export.headers.items() if name != "kind"}
        export = replace(export, headers=left)
    if "kind" in export.headers:
        return export, *_meant(export, stated, learned)
    items = {shown(export.cell(line, "item")).strip() for line in export.below}
    if stated.values.get("kind") or {item.lower() for item in items} & learned.keys():
        return export, stated, []
    kind = _taken(export, plain(" ".join((file, *map(shown, export.head.filled), *items))))
    stated = replace(stated, values={**stated.values, "kind": kind})
    return export, stated, [f"taken as {kind} (else --kind WORD)"]


def _taken(export: Export, said: str) -> str:
    """The kind of all lines by what is measured or counted and the words of the file, or asked."""
    likely = likely_kinds(export)
    if likely == ("electricity",):
        return likely[0]
    named = [kind for kind in likely if any(word in (said if len(word) > 4 else said.split())
             for word in (kind, *KIND_WORDS[kind].split()))]  # fmt: skip
    if named == ["water"]:
        return "water"
    if not likely and {"item", "quantity"} <= export.headers.keys():
        return "material"
    words = "No column says of what kind it is. Which?"
    if not likely:
        likely = ("material",) if "item" in export.headers else ("water", "electricity", "material")
    raise UnsettledError("kind", words, likely, under="values")


def _meant(
    export: Export, stated: ListMapping, learned: Mapping[str, str]
) -> tuple[ListMapping, list[str]]:
    """A kind that is stated stands for the words of a column that names none, as Item, Shipping.

    Words that are categories (Seed, Delivery) are kinds of their own, unless one kind is stated.
    """
    words = {text for line in export.below if (text := shown(export.cell(line, "kind")).strip())}
    given = {word.strip().lower() for word in stated.words}
    known = {word for word in words if word.lower() in given or is_kind(word)
             or word.lower() in learned.values()}  # fmt: skip
    heading = export.headers["kind"][0].text
    said = f"{heading!r} says {', '.join(sorted(words)[:8])}"
    kind = str(stated.values.get("kind", ""))
    if plain(kind) == plain(heading):
        kind = ""
        stated = replace(stated, values={k: v for k, v in stated.values.items() if k != "kind"})
    elif known or not words:
        beside = f"kind {kind} only where {heading!r} is blank"
        return stated, [beside] if kind and words else []
    if kind:
        meant = {**dict.fromkeys(words, kind), **stated.words}
        return replace(stated, words=meant), [f"kind {kind}, as stated: {said}"]
    goods = [word for word in words if not netting.OVER_ALL.search(plain(word))]
    if len(goods) == len(words):
        return stated, []
    if not {plain(word) for word in goods} - {*_NO_KINDS.split()} and "kind" not in stated.values:
        raise UnsettledError("kind", f"{said}: what kind of thing are these?", ("material",),
                             under="values")  # fmt: skip
    return stated, [f"kinds from {heading!r} (else --kind WORD)"]


def _are_papers(export: Export, stated: ListMapping) -> bool:
    """Whether a column of kinds says what papers the lines are, for no kind of its words can be
    measured as the quantities are, or its words are those of papers: Invoice, Credit note."""
    words = {shown(export.cell(line, "kind")).strip() for line in export.below} - {""}
    if words and plain(str(stated.values.get("kind", ""))) == plain(export.headers["kind"][0].text):
        return False
    meant = {word.strip().lower() for word in stated.words}
    if not words or any(is_kind(word) or word.lower() in meant for word in words):
        return False
    first = {re.split(r"[^\w ]", plain(word))[0].strip() for word in words}
    return bool(likely_kinds(export)) or first <= _PAPERS


def columns_left(reader: LineReader, read: Sequence[tuple[int, Entry]]) -> Iterator[str]:
    """What is said of columns of figures that nothing is read from."""
    if words := _without_quantity(reader.export, (entry["kind"] for _, entry in read)):
        yield words
    sums = _money_left(reader, {number for number, _ in read})
    paid = sum(Decimal(str(entry["amount"])) for _, entry in read)
    tax = sum(Decimal(str(entry["tax"] or 0)) for _, entry in read)
    if sum(sums.values()) in (paid, paid - tax):
        return  # the parts that make up the amount
    headers = reader.export.headers
    amount = headers.get("amount", headers.get("net", ()))[0].text
    for heading, total in sums.items():
        way = "write it as a line of its order in the file"
        if not netting.OVER_ALL.search(plain(heading)):
            way = f'if it is what was paid, add --column "amount={heading}"'
        yield f"not taken: {heading!r}, {total:.2f} in all. Where {amount!r} is without it, {way}"


def _money_left(reader: LineReader, numbers: set[int]) -> dict[str, Decimal]:
    """The sums, of the lines that are entries, of columns of money that nothing is read from."""
    sums = {}
    for heading in reader.export.headings_left(is_figure):
        place = [*map(str, reader.export.head.cells)].index(heading)
        cells = [cell for line in reader.export.below if line.number in numbers
                 and (cell := line.cell(place)) is not None]  # fmt: skip
        signed = any(sign in f"{heading} {cells}" for sign in "€£$¥")
        if _NO_SUM.search(plain(heading)) or not (
            signed or netting.OVER_ALL.search(plain(heading))
        ):
            continue
        try:
            total = sum((reader.figure(cell) or Decimal(0) for cell in cells), Decimal(0))
        except UnreadableError:
            continue
        if total:
            sums[heading] = total
    return sums


def _without_quantity(export: Export, kinds: Iterable[str]) -> str:
    """What is said where a kind that is billed by use has no column of it, though there are figures
    left: nothing of a price or of a use can be told then."""
    measured = sorted({*kinds} & {*netting.METERED})
    left = export.headings_left(is_figure) if measured else []
    if not left or "quantity" in export.headers:
        return ""
    headings = ", ".join(map(repr, left[:8]))
    return (f"no quantity of {' or '.join(measured)}, amounts only: if one of {headings} is it, add"
            ' --column "quantity=HEADING"')  # fmt: skip


def kinds_of_items(existing: Iterable[Entry]) -> dict[str, str]:
    """What the ledger says of items that came in before."""
    return {
        netting.text_of(entry, "item"): netting.text_of(entry, "kind")
        for entry in existing
        if entry.get("item") and entry.get("kind")
    }


def kinds_taken(taken: Mapping[str, str]) -> str:
    """Which kinds lines took from the ledger, in words; they are changed by changing them there."""
    listed = "; ".join(f"{item}: {kind}" for item, kind in sorted(taken.items()))
    return listed and f"kinds as the ledger has them of such items (its last row): {listed}"
