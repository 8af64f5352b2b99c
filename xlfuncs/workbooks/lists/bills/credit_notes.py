"""Lines that take money back by what their paper is called, though their amount has no sign."""

from xlfuncs.tables.header_words import plain, words_of
from xlfuncs.workbooks.lists.ledger.export import Export
from xlfuncs.workbooks.lists.lines import shown

# Of the words for it those that also stand before the name of an article.
_BEFORE = tuple(word for word in words_of("credit note")
                if word == "gutschrift" or ("redit" in word and word != "credit"))  # fmt: skip


def credit_notes(export: Export) -> tuple[frozenset[int], str]:
    """The lines that are credit notes, and what is said of them.

    Told by a column that names papers on every line, as invoice or credit note, by a column of
    debit or credit, or by an item such as `Credit note, valve`.
    """
    own = {name: headers[0].place for name, headers in export.headers.items()}
    found: dict[str, list[int]] = {}
    for place, heading in enumerate(export.head.cells):
        cells = [(line.number, line.cell(place)) for line in export.below]
        texts = {cell for _, cell in cells if cell is not None}
        if not all(isinstance(cell, str) for cell in texts):
            continue  # dates, numbers
        if place == own.get("side"):
            meant = words_of("credit sign")
        elif all(plain(cell) in words_of("paper") for cell in texts):
            meant = words_of("credit note")
        elif place == own.get("item"):
            meant = frozenset(word for word in map(plain, texts) if word.startswith(_BEFORE))
        else:
            continue
        words = {cell: plain(cell) for cell in texts}
        if lines := [number for number, cell in cells if words.get(cell) in meant]:
            found[repr(heading)] = lines
    credits = frozenset(number for lines in found.values() for number in lines)
    amounts = [export.cell(line, name) for line in export.below if line.number in credits
               for name in ("amount", "net")]  # fmt: skip
    unsigned = any(shown(amount).strip()[:1].isdigit() for amount in amounts)
    told = f"credit notes by {' and '.join(found)}, taken off: {len(credits)}"
    return credits, told if unsigned else ""
