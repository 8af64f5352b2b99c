"""What a copy says of the plan: its values, by names, tables and blocks; and a copy that was made
before, what it said held against what the next one says."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from math import isclose
from pathlib import Path
from typing import Any

from workbook_template.build import Built
from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.scheme import Conclusion, Offer, Scheme, attack
from workbook_template.client_copy.selling import Sold
from workbook_template.client_copy.shown import Shown
from workbook_template.kit.book import Values
from workbook_template.kit.written import Written
from xlfuncs.errors import InputError, WorkbookError
from xlfuncs.tables.money.quotation import OPTIONS, QUOTATION_LINES
from xlfuncs.workbooks.bed_map import BedMap, bed_map
from xlfuncs.workbooks.our_tables.findings import cell_values
from xlfuncs.workbooks.our_tables.read_inputs import Reading
from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import cell_name
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package


@dataclass(frozen=True)
class Facts(Built):
    """The computed copy; `contents` are its cells, before what is internal was taken out."""

    system: str
    contents: Written
    shown: Shown
    then: "Former | None" = None  # what was sent before

    @classmethod
    def of(cls, shown: Shown, contents: Written, values: Values, sent: Path | None) -> "Facts":
        book = shown.book
        places, names = dict(book.places), dict(book.names)
        cells = values.get("Quotation", {})
        number = next((cells[row, col] for row, col in cells if col == 2
                       and contents.typed("Quotation", row, 1) == NUMBER), "")  # fmt: skip
        return cls(book.inputs, values, places, names, book.system, contents, shown,
                   Former.sent(str(number or ""), sent))  # fmt: skip

    def shows(self, sheet: str, row: int, column: int) -> CellValue:
        """What stands in a cell, rows and columns from 1."""
        computed = self.values.get(sheet, {}).get((row, column))
        return computed if computed is not None else self.contents.typed(sheet, row, column)

    def rows(self, table: str) -> list[dict[str, Any]]:
        """The rows of a table that the client may see: of no sheet or row that was held back."""
        place = self.places[table]
        if place.sheet not in self.shown.sheets:
            return []
        column = min(place.columns.values()) + 1
        return [row for i, row in enumerate(super().rows(table), place.first + 1)
                if not self.shown.is_gone(place.sheet, i, column)]  # fmt: skip

    def rows_behind(self, table: str) -> list[dict[str, Any]]:
        """All rows of a table, also those of a sheet that the client does not get."""
        return super().rows(table)

    def map(self) -> BedMap | None:
        """None where no bed can be placed."""
        values = cell_values(self.contents)
        for sheet, computed in self.values.items():
            values[sheet].update(computed)
        try:
            found = bed_map(self.contents, values, self.system, str(self.text("farm")))
        except (WorkbookError, InputError):
            return None
        seen = {row.get("bed") for row in self.rows("Beds")}
        beds = tuple(bed for bed in found.beds if bed.name in seen)
        return replace(found, beds=beds) if beds else None

    def number(self, name: str) -> float:
        """A named number; 0 where there is none."""
        value = self.named(name)
        return float(value) if isinstance(value, int | float) else 0.0

    def text(self, name: str) -> str:
        """A named text; blank where there is none."""
        value = self.named(name)
        return "" if value is None else str(value)


# --- what a workbook shows must be what its inputs give, or a client gets an old price or none ---
RESULTS = ("beds_counted", "planted_area", "line_length_total", "number_of_lines")
OLD = "the results in the file are older than its inputs ({what}): recalculate it first"


def refuse_old_values(
    reading: Reading, functions: Mapping[str, WorksheetCallable], bought: Bought
) -> None:
    """Formulas in input cells that no longer give what is stored; computed only if there are any.

    One that gives the cost of all parts is left, for that line is sold as the copy computes it.
    """
    asked = {place: value for place, value in reading.formulas.items()
             if isinstance(value, float) and not bought.is_all(value)}  # fmt: skip
    if not asked:
        return
    values = evaluate(reading.contents, functions).values
    for (sheet, row, column), stored in asked.items():
        now = values.get(sheet, {}).get((row, column))
        if now is not None and not _same(stored, now):
            what = f"{sheet}!{cell_name(row, column)} holds {stored:.12g}, its formula gives {now}"
            raise WorkbookError(OLD.format(what=what))


def refuse_old_results(reading: Reading, facts: Facts) -> None:
    """A bed that was changed by a program that left the results as they were.

    Where nothing was ever computed all of them are 0, and none is older.
    """
    places = named_cells(reading.contents)
    for name in RESULTS:
        stored = cell_value(reading.contents, places[name]) if name in places else None
        if isinstance(stored, float) and stored and not _same(stored, now := facts.named(name)):
            what = f"{name} holds {stored:.12g}, the inputs give {now}"
            raise WorkbookError(OLD.format(what=what))


def refuse_without_price(reading: Reading, facts: Facts) -> None:
    """Lines that are quoted nowhere, or at no price, where the client gets the quotation."""
    lines = reading.inputs.tables.get(QUOTATION_LINES.name, ())
    if "Quotation" not in facts.shown.sheets or not any(row.get("item") for row in lines):
        return
    notes = [note for note in reading.notes if note.startswith("Quoting!")]
    table = reading.tables[QUOTATION_LINES.name]
    first = table.placed.area.first_row + table.placed.header_rows
    for number, row in enumerate(facts.rows_behind(QUOTATION_LINES.name), first):
        if (said := row.get("check")) not in ("", "ok", None):
            header = str(said).partition(":")[0]
            column = next(c for c in QUOTATION_LINES.columns if c.header == header)
            cell = f"Quoting!{cell_name(number, table.places[column.name])}"
            why = "; ".join([str(said), *(note for note in notes if note.startswith(f"{cell}:"))])
            words = f"fill in {cell}, or clear the line; then client-copy again"
            raise WorkbookError(f"Quoting, line {row.get('item')}: {why}; {words}")
    if not any(isinstance(facts.named(f"option_{o.lower()}_total"), float) for o in OPTIONS):
        said = facts.text("quotation_check")
        raise WorkbookError(f"no option on Quoting has a price: {'; '.join([said, *notes])}")


def refuse_dry_beds(facts: Facts) -> None:
    """Beds that are laid and paid for, and of which nobody knows what water they get."""
    given = {str(row["bed"]): row.get("share") for row in facts.block("delivery") if row.get("bed")}
    known = {name for name, share in given.items() if isinstance(share, float)}
    dry = [str(row["bed"]) for row in facts.rows_behind("Beds")
           if row.get("counted") == "yes" and str(row["bed"]) not in known]  # fmt: skip
    if known and dry:
        raise WorkbookError(
            f"what {', '.join(dry)} would get cannot be computed, and it would be sold: fill in its"
            " row of Beds as check says (pipes, valve), or type no under On"
        )


def _same(stored: float, now: object) -> bool:
    return isinstance(now, float | int) and isclose(stored, now, rel_tol=1e-9, abs_tol=1e-9)


NUMBER = "Quotation, revision"
_TABLES = (("Quotation", "Item", "Price"), ("Purchase", "Part", "Price"))

_ALIKE = 4  # columns that say what a row is and how much of it


@dataclass(frozen=True)
class Former:
    """The quotation's number with its revision, its totals, and the rows of each priced thing."""

    number: str = ""
    totals: tuple[float, ...] = ()
    rows: dict[str, list[tuple[CellValue, ...]]] = field(default_factory=dict)
    prices: dict[str, list[float]] = field(default_factory=dict)
    contents: Contents | None = None

    @classmethod
    def of(cls, content: Any) -> "Former | None":
        """None for a file that is not there, or no copy with a quotation."""
        if content is None:
            return None
        try:
            contents = Contents(Package.open(content))
            read = {name: rows_of(contents, name) for name, *_ in _TABLES}
        except (WorkbookError, OSError):
            return None
        named = {str(row[0]): row[1:] for row in read["Quotation"]}
        rows: dict[str, list[tuple[CellValue, ...]]] = defaultdict(list)
        prices: dict[str, list[float]] = defaultdict(list)
        for sheet, thing, price in _TABLES:
            heads: tuple[CellValue, ...] = ()
            for row in read[sheet]:
                if thing in row and price in row:
                    heads = row
                elif heads and isinstance(name := row[heads.index(thing)], str):
                    rows[name.lower()].append(row)
                    if isinstance(paid := row[heads.index(price)], float):
                        prices[name.lower()].append(paid)
        totals = tuple(v for v in named.get("Total", ()) if isinstance(v, float))
        number = next((str(v) for v in named.get(NUMBER, ()) if v), "")
        return cls(number, totals, rows, prices, contents) if totals else None

    @staticmethod
    def sent(number: str, path: Path | None) -> "Former | None":
        """The last copy of another revision, there or kept beside: one of this number that is
        replaced was made again before it was sent."""
        kept = sorted(path.parent.glob(f"{path.stem}.backup-*{path.suffix}")) if path else []
        found = map(Former.of, (path, *reversed(kept)))
        return next((then for then in found if then and then.number != number), None)

    def differing(
        self, then: "Former", offers: Iterable[Offer], scheme: Scheme
    ) -> tuple[list[Offer], list[Offer]]:
        """The prices of what differs, and what the same things were offered at then.

        Without a secret in the settings a part has another spread in each copy.
        """
        new, old = [], []
        for offer in offers:
            name = offer.part.lower()
            was, now = then.prices.get(name, []), self.prices.get(name, [])
            if then.rows.get(name) == self.rows.get(name) or not now:
                continue
            new.append(offer)
            before, after = ([row[:_ALIKE] for row in f.rows.get(name, [])] for f in (then, self))
            if before == after and len(was) == len(now) == 1 and was != now:
                again = offer.part if scheme.secret else f"{offer.part} before"
                low, high = scheme.room(was[0])
                old.append(replace(offer, part=again, low=low, high=high))
        return new, old


def rows_of(contents: Contents, name: str) -> list[tuple[CellValue, ...]]:
    """The rows of a sheet that have cells, from the first column; none where it is not there."""
    if name not in {sheet.name for sheet in contents.sheets}:
        return []
    found: dict[int, dict[int, CellValue]] = defaultdict(dict)
    for cell in contents.scan(contents.sheet(name)).cells:
        found[cell.row][cell.column] = contents.value(cell)
    wide = max((max(row) for row in found.values()), default=0)
    return [tuple(row.get(c) for c in range(1, wide + 1)) for _, row in sorted(found.items())]


# --- what the consultant is told of the prices in a copy: their sums, and what they give away ---


def quoted(reading: Reading, facts: Facts, sold: Sold) -> Iterator[str]:
    """What is asked for options and optional items, beside what they come to by the workbook."""
    places = named_cells(reading.contents)
    for option in OPTIONS:
        name = f"option_{option.lower()}"
        price = facts.named(f"{name}_price")
        cost, own = (cell_value(reading.contents, places[n]) if n in places else None
                     for n in (f"{name}_cost", f"{name}_price"))  # fmt: skip
        if all(isinstance(v, float) and v for v in (price, cost, own)):
            told = f"{price:,.2f} before tax, {price / cost - 1:.1%} above its cost"
            off = f"{abs(price - own):,.2f} {'above' if price > own else 'below'}"
            off += f" the {own:,.2f} of your Quotation"
            off += " (--exact: to cents)" if abs(price - own) >= 0.5 else ""
            yield f"Option {option}: {told}; {off}"
    if asked := [f"{item} {price:,.2f} for your {own:,.2f}" for item, (price, own)
                 in sold.optional.items() if abs(price - own) >= 0.005]:  # fmt: skip
        yield f"Optional, before tax: {'; '.join(asked)} (no labor makes up for it)"


def attacks(
    sold: Sold, scheme: Scheme, now: Former | None, then: Former | None
) -> Iterator[Conclusion]:
    """By a reader of the copy; by those who know the costs of what differs in it, or since."""
    yield attack(sold.offers, scheme.spread, sold.markup)
    own = [offer for offer in sold.offers if offer.option in OPTIONS]
    known = {"the options differ": [own] if len({o.option for o in own}) > 1 else [[]]}
    if then and now:
        new, old = now.differing(then, sold.offers, scheme)
        known["it differs from the revision before"] = [new, [*new, *old]]
    for what, sets in known.items():
        if sets[0]:  # whichever tells more: the markup may have changed as well
            who = f"one who knows your costs of all by which {what}"
            yield max((attack(offers, scheme.spread, sold.markup, who=who, costs_known=True)
                       for offers in sets), key=lambda concluded: concluded.near)  # fmt: skip


def replaced(now: Former | None, then: Former | None) -> str:
    """A word where one number and revision stands for two prices."""
    if not (then and now) or then.number != now.number or then.totals == now.totals:
        return ""
    was, now_is = (" / ".join(f"{v:,.2f}" for v in f.totals) for f in (then, now))
    return (
        f"WARNING: {now.number or 'a quotation without a number'} was made with a total of {was}"
        f" before, and now has {now_is}: count Revision on Quoting up if that one was sent"
    )
