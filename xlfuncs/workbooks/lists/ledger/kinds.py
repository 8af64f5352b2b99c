"""What an export lists: kinds of things, by its categories or as the ledger has them, and the
columns that nothing is read from."""

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from xlfuncs.tables.header_words import UnreadableError, either, plain, says, words_of
from xlfuncs.tables.headers import Header
from xlfuncs.tables.money.ledger import KINDS
from xlfuncs.workbooks.lists.ledger import netting
from xlfuncs.workbooks.lists.ledger.export import Export
from xlfuncs.workbooks.lists.ledger.figures import is_sewer, money_left
from xlfuncs.workbooks.lists.ledger.headings import EXPORTED, is_figure
from xlfuncs.workbooks.lists.ledger.lines import Entry, LineReader
from xlfuncs.workbooks.lists.lines import shown
from xlfuncs.workbooks.lists.mapping import ListMapping
from xlfuncs.workbooks.lists.numbers import UnsettledError
from xlfuncs.workbooks.lists.orders.columns import is_kind, likely_kinds
from xlfuncs.workbooks.lists.orders.sharing import Sums
from xlfuncs.workbooks.lists.orders.spreading import by_order

_IN_PART = re.compile(rf"{either('in part')}[ -]?(?:cancel|storn|annul|anul|geannul)\w*|teilstorno")


def kinds_stated(
    export: Export, stated: ListMapping, learned: Mapping[str, str], file: str
) -> tuple[Export, ListMapping, list[str]]:
    """The export, without a column of kinds that says what papers its lines are, and the kinds."""
    if _are_papers(export, stated):
        left = {name: h for name, h in export.headers.items() if name != "kind"}
        export = replace(export, headers=left)
    elif "kind" not in export.headers and "kind" not in stated.values:
        export = _with_kinds(export)
    if "kind" in export.headers:
        return export, *_meant(export, stated, learned)
    items = {shown(export.cell(line, "item")).strip() for line in export.below}
    if stated.values.get("kind"):
        return export, stated, []
    known = {learned[item.lower()] for item in items if item.lower() in learned}
    if known:  # items that are new beside them are of their kind, if that is none in particular
        sure = len(known) == 1 and (likely_kinds(export) or not known & KINDS.keys())
        kind = known.pop() if sure else "material"
        said = any(item.lower() not in learned and not says(item, "delivery") for item in items)
        stated = replace(stated, values={**stated.values, "kind": kind})
        return export, stated, [f"new items are taken as {kind} (else --kind WORD)"] * said
    heads = plain(" ".join((file, *map(shown, export.head.filled))))
    kind = _taken(export, heads, plain(" ".join(items)))
    stated = replace(stated, values={**stated.values, "kind": kind})
    return export, stated, [f"taken as {kind} (else --kind WORD)"]


def _with_kinds(export: Export) -> Export:
    """The export of what is measured, with the column of kinds that no heading says: `Service` over
    Water, Sewer. Items are kinds where two are."""
    used = {h.place: name for name, heads in export.headers.items() for h in heads}
    for place, text in enumerate(export.head.cells):
        words = {shown(line.cell(place)) for line in export.below} - {""}
        kinds = sum(map(is_kind, words))
        least = 1 if place not in used else 2 if used[place] == "item" else 9
        if least <= kinds <= len(words) < 9 and likely_kinds(export):
            header = Header(place, str(text), EXPORTED["kind"])
            return replace(export, headers={**export.headers, "kind": (header,)})
    return export


def _taken(export: Export, heads: str, items: str) -> str:
    """The kind of all lines by what is measured or counted and the words of the file, or asked."""
    likely = likely_kinds(export)
    if likely == ("electricity",):
        return likely[0]
    may = likely or (() if "item" in export.headers else netting.METERED)

    def named_in(said: str) -> list[str]:
        return [kind for kind in may if any(word in (said if len(word) > 4 else said.split())
                for word in words_of(f"kind {kind}"))]  # fmt: skip

    named = named_in(f"{heads} {items}")
    if named[:1] == ["water"] and "electricity" not in named and not is_sewer(items):
        return "water"  # whose bills may have a column, or lines, of sewer
    if len(named) == 1 and not likely:
        return named[0]
    if not likely and "item" in export.headers:
        return "material"
    words = "No column says of what kind it is. Which?"
    likely = likely or ("water", "electricity", "material")
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
    no_kinds = {plain(word) for word in goods} <= words_of("line of an order")
    if no_kinds and "kind" not in stated.values:
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
    return bool(likely_kinds(export)) or first <= words_of("paper")


def of_items(existing: Iterable[Entry], name: str) -> dict[str, str]:
    """What the ledger says of items that came in before: their kind, or their unit."""
    return {
        netting.text_of(entry, "item"): netting.text_of(entry, name)
        for entry in existing
        if entry.get("item") and entry.get("kind")
    }


def kinds_taken(taken: Mapping[str, str]) -> str:
    """Which kinds lines took from the ledger, in words; they are changed by changing them there."""
    listed = "; ".join(f"{item}: {kind}" for item, kind in sorted(taken.items()))
    return listed and f"kinds as the ledger has them of such items (its last row): {listed}"


# --- columns that nothing is read from -----------------------------------------------------------


def columns_left(reader: LineReader, read: Sequence[tuple[int, Entry]]) -> Iterator[str]:
    """What is said of columns of figures that nothing is read from; a column of delivery is put
    beside the entries, to be spread over their orders, where the amount is without it."""
    export = reader.export
    yield from _without_quantity(export, (entry["kind"] for _, entry in read))
    for line in export.saying(_IN_PART.fullmatch):
        yield f"line {line.number} is cancelled in part: counted as it stands"
    paid_for = {number for number, entry in read if entry["amount"] > 0}
    refunded = export.saying(lambda words: words in words_of("refunded"))
    back = [line.number for line in refunded if line.number in paid_for]
    if back:
        yield f"said to be paid back, counted as they stand: line {', '.join(map(str, back))}"
    metered = any(entry["kind"] in netting.METERED for _, entry in read)
    if metered and not {"date", "period_start"} & export.headers.keys():
        yield f"no heading says the bills' days: they count by {export.named('bill_date')!r}"
    if metered and "fixed" in export.headers and not reader.fixed_in:
        yield f"{export.named('fixed')!r} is not parted from the amount, for nothing adds up to it"
    money, inside = money_left(export)
    columns = {place: _figures(reader, read, place) for place in money if place not in inside}
    sums = {place: sum(values.values()) for place, values in columns.items()}
    paid = sum(Decimal(str(entry["amount"])) for _, entry in read)
    for place in [p for p, total in sums.items() if total and not metered]:
        heading, values = _text(export, place), columns[place]
        apart: bool | None = says(heading, "delivery") or None
        if says(heading, "discount"):
            values = {line: -abs(value) for line, value in values.items()}
            apart = Sums.of(reader).is_apart(place)
        if apart:
            total = _put_beside(read, values, heading)
            paid += total
            yield f"{heading!r}, {total:.2f} in all, is spread over its orders' lines"
        if apart is not None:
            sums.pop(place)
    tax = sum(Decimal(str(entry["tax"] or 0)) for _, entry in read)
    amount = export.headers.get("amount", export.headers.get("net", ()))[0].text
    left = {_text(export, place): total for place, total in sums.items() if total}
    if sum(left.values()) in (paid, paid - tax) or {*left.values()} <= {paid, paid - tax}:
        return  # the parts that make up the amount
    if larger := {text: total for text, total in left.items() if total > paid}:
        listed = ", ".join(f"{text!r} {total:.2f}" for text, total in larger.items())
        yield (f"not taken: {listed}; if that is what was paid, not {amount!r}, add"
               f' --column "amount={next(iter(larger))}"')  # fmt: skip
    if parts := ", ".join(f"{t!r} {v:.2f}" for t, v in left.items() if t not in larger):
        yield f"not added to {amount!r}: {parts}"


def _put_beside(
    entries: Sequence[tuple[int, Entry]], values: Mapping[int, Decimal], heading: str
) -> Decimal:
    """Puts what a column says of delivery beside the entries, once an order where each line of the
    orders of several lines repeats it; gives what it comes to."""
    orders = by_order(entries)
    long = [[values.get(line) for line, _ in lines] for lines in orders.values() if len(lines) > 1]
    repeated = any(map(any, long)) and all(len({*row}) == 1 for row in long)
    total = Decimal(0)
    for lines in orders.values():
        for line, entry in lines[: 1 if repeated else None]:
            if value := values.get(line):
                charge = {"amount": float(value), "tax": None, "item": heading}
                entry.setdefault("beside", []).append(charge)
                total += value
    return total


def _text(export: Export, place: int) -> str:
    return str(export.head.cells[place])


def _figures(
    reader: LineReader, read: Sequence[tuple[int, Entry]], place: int
) -> dict[int, Decimal]:
    """The figures of a column by the lines that are entries; none where one cannot be read."""
    numbers = {number for number, _ in read}
    try:
        return {line.number: figure for line in reader.export.below if line.number in numbers
                and (figure := reader.figure(line.cell(place)))}  # fmt: skip
    except UnreadableError:
        return {}


def _without_quantity(export: Export, kinds: Iterable[str]) -> Iterator[str]:
    """What is said where a kind that is billed by use has no column of it, though there are figures
    left: nothing of a price or of a use can be told then."""
    measured = sorted({*kinds} & {*netting.METERED})
    left = export.headings_left(is_figure) if measured else []
    if left and "quantity" not in export.headers:
        headings = ", ".join(map(repr, left[:8]))
        yield (f"no quantity of {' or '.join(measured)}, amounts only: if one of {headings} is it,"
               ' add --column "quantity=HEADING"')  # fmt: skip
