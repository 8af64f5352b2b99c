"""The consultant's client copy: a new workbook without macros, Python, costs or notes.

    copy = client_copy(Path("farm.xlsx"), worksheet_callables())
    copy.content      # the bytes of the new .xlsx
    copy.proposal()   # those of the PDF
    print(copy)       # what is in it, what was left out, and why some results are values

The copy is built from the workbook's inputs, with costs as selling prices, for a reader who sees
fewer sheets: what was never declared as the client's cannot come along. Each of our formulas
becomes its plain formula where it has one, else its value, which then knows the inputs behind it.
Plain formulas are computed too: one that does not give what its function gives becomes a value.
"""

import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from workbook_template.client_copy.agreeing import disagreeing
from workbook_template.client_copy.bought import Bought
from workbook_template.client_copy.cells import CopyPlan, InputsBehind
from workbook_template.client_copy.changes import changes, to_consultant
from workbook_template.client_copy.former import (
    Facts,
    Former,
    attacks,
    quoted,
    refuse_dry_beds,
    refuse_old_results,
    refuse_old_values,
    refuse_without_price,
    replaced,
)
from workbook_template.client_copy.scheme import Conclusion
from workbook_template.client_copy.selling import Sold, for_client, write_as_numbers
from workbook_template.client_copy.settings import Settings
from workbook_template.client_copy.shown import Shown, not_filled_in
from workbook_template.client_copy.writing import CopyWriter
from workbook_template.kit.book import WORKINGS, Book
from workbook_template.kit.declared import CLIENT
from workbook_template.kit.own import Own
from workbook_template.kit.spills import SHEET as RESULTS
from workbook_template.kit.written import Written
from workbook_template.renewal.moved import Moved
from workbook_template.renewal.renewing import written
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.order import declared_sheets
from xlfuncs.errors import WorkbookError
from xlfuncs.tables.money.quotation import OPTIONS
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, Reading, read_inputs
from xlfuncs.workbooks.recalculating.collecting import collection_put_off
from xlfuncs.workbooks.recalculating.engine import WorksheetCallable, evaluate
from xlfuncs.xlsx.cell_references import Area, cell_name

# Numbers and texts in a formula, not those of a cell's name.
_LITERAL = re.compile(r'"[^"]*"|(?<![\w.$!])\d[\d.]*(?![\w(!])')
AS_TYPED, AT_HOME = "Goes along as typed: ", "Left at home, not filled in: "
_TYPED = re.compile(AS_TYPED + r"([^!]+)![A-Z]+\d.*")  # of the cells of a table
# Not named one by one, for nothing of a file goes along but its inputs.
NOT_CARRIED = (
    "headers, footers, lists, prompts, rules for looks, number formats, styles, themes, names,"
    " titles of charts and properties of yours; those of the copy are the template's"
)


@dataclass(frozen=True)
class Wishes:
    """What the consultant asks for; without `markup` or `margin` the workbook's own counts."""

    markup: float | None = None
    include: Collection[str] = ()
    leave_out: Collection[str] = ()
    values_only: bool = False
    protect: bool = False
    margin: float | None = None
    settings: Settings = field(default_factory=Settings)
    former: Path | None = None  # the copy that was sent before, if one is there


@dataclass
class ClientCopy:
    """The finished copy; `str()` of it reads as a report, `brief()` as a short one."""

    content: bytes
    sheets: list[str]
    left_out: list[str]
    plain: int
    frozen: Mapping[Position, str]
    left_blank: Mapping[Position, str]
    facts: Facts
    concluded: Conclusion
    settings: Settings
    notes: list[str] = field(default_factory=list)
    compared: list[Conclusion] = field(default_factory=list)  # by one who knows costs
    replaced: str = ""  # in words, where its number was sent with other prices
    keeps_former: bool = False  # which has another number, revision or price

    def proposal(self, chosen: Collection[str] = ()) -> bytes:
        """The PDF for the client, of the chosen pages or all; its figures are those of the copy."""
        from workbook_template.client_copy.proposal.document import proposal

        return proposal(self.facts, self.settings, chosen)

    def __str__(self) -> str:
        lines = [
            f"Sheets: {', '.join(self.sheets)}",
            f"Left out: {', '.join(self.left_out) or 'none'}",
            f"{self.plain} plain formulas; {len(self.frozen)} results as values",
        ]
        return "\n".join([*lines, *_by_reason(self.frozen), *self._told(self.notes)])

    def brief(self) -> str:
        """Without odds that are no help and what is so in every copy; the sheets of cells whose
        texts go along."""
        typed = [note for note in self.notes if note.startswith(AS_TYPED)]
        sheets = dict.fromkeys(m[1].strip("'") for note in typed if (m := _TYPED.fullmatch(note)))
        own = [n.removeprefix(AS_TYPED) for n in typed if not _TYPED.fullmatch(n)]
        own += [f"names and texts on {', '.join(sheets)}"] if sheets else []
        usual = (f"Left out: {NOT_CARRIED}", AT_HOME)
        notes = [n for n in self.notes if n not in typed and not n.startswith(usual)]
        notes += [f"{AS_TYPED}{'; '.join(own)}"] if own else []
        return "\n".join(self._told(notes, all_odds=False))

    def _told(self, notes: list[str], all_odds: bool = True) -> list[str]:
        blank = [f"  {_named(place)}: {why}" for place, why in self.left_blank.items()]
        lines = ["Left blank, for they could not be computed:", *blank] if blank else []
        prices = [f"Prices: {c.told(all_odds)}" for c in (self.concluded, *self.compared)]
        return [*lines, *filter(None, [self.replaced]), *prices, *notes]


def client_copy(
    source: Path | bytes, functions: Mapping[str, WorksheetCallable], wishes: Wishes | None = None
) -> ClientCopy:
    """Make the client's copy of a workbook of the template; the source is only read.

    Raises WorkbookError for a file that is refused, one that says no markup, or one that has no
    sheet for a client.
    """
    wishes = wishes or Wishes()
    reading = read_inputs(source)
    if not reading.tables:
        name = reading.contents.package.name
        raise WorkbookError(f"{name}: not a workbook of the template; it has none of its tables")
    with collection_put_off():
        bought = Bought.of(reading.contents)
        refuse_old_values(reading, functions, bought)
        sold = _sold(reading, wishes, bought)
        book, own, moved = _written(reading, wishes, sold.inputs)
        left_out, at_home = _withhold(book, moved, wishes)
        shown = Shown.of(book)
        notes = [*own.words, *shown.hide(moved)]
        contents = Written(book)
        plan = CopyPlan(shown, contents, values_only=wishes.values_only)
        plan.write()
        evaluation = evaluate(contents, functions)
        if evaluation.failures:
            raise WorkbookError(f"not all was computed: {'; '.join(evaluation.failures[:3])}")
        reads = evaluation.reads()
        cells = plan.settle(evaluation, _not_explained(shown, own, reads))
        facts = Facts.of(shown, contents, evaluation.values, wishes.former)
        refuse_old_results(reading, facts)
        refuse_without_price(reading, facts)
        refuse_dry_beds(facts)
        writer = CopyWriter(shown, contents, cells, evaluation.values)
        if not wishes.values_only:
            writer.guard(InputsBehind(shown, contents, reads))
        paid = wishes.settings.with_terms(facts.text("payment"))
        changed = changes(facts, paid.texts)
        content = writer.written(protect=wishes.protect, settings=paid, changed=changed)
    sheets = [sheet.get_name() for sheet in book.workbook.worksheets()]
    notes = [f"Left out: {words}" for words in [*notes, *writer.notes]]
    notes += [f"{AT_HOME}{', '.join(at_home)}"] if at_home else []
    notes += [f"{AS_TYPED}{words}" for words in (*shown.typed(), *_included(own))]
    notes.append(f"Left out: {NOT_CARRIED}")
    if not any(isinstance(facts.named(f"option_{o.lower()}_total"), float) for o in OPTIONS):
        notes.append("Note: no option on Quoting has a price, so that the proposal has none")
    as_it_should = {f"{sheet}!{cell_name(*at)}: " for (sheet, *at), value in
                    reading.formulas.items() if bought.is_all(value)}  # fmt: skip
    notes += [f"Note: {note}" for note in reading.notes if not note.startswith((*as_it_should,))]
    notes += bought.otherwise(facts.block(BOUGHT_ROWS) if "Purchase" in sheets else ())
    notes += quoted(reading, facts, sold)
    notes += to_consultant(changed, paid.texts)
    said = {"Supply measured on": facts.named("supply_measured_on"), "Terms of payment": paid.terms}
    if unsaid := [label for label, value in said.items() if not value]:
        notes.append(f"Blank on Quoting, so not in the proposal: {', '.join(unsaid)}")
    notes += [f"Note: {words}" for words in disagreeing(facts)]
    now, then = Former.of(content), Former.of(wishes.former)
    concluded, *compared = attacks(sold, wishes.settings.prices, now, facts.then)
    return ClientCopy(
        content, sheets, left_out, len(cells.plain), cells.frozen, cells.left_blank,
        facts, concluded, wishes.settings, notes, compared, replaced(now, then),
        bool(now and then and (now.number, now.totals) != (then.number, then.totals)),
    )  # fmt: skip


def _sold(reading: Reading, wishes: Wishes, bought: Bought) -> Sold:
    terms = {"markup": wishes.markup, "margin": wishes.margin}
    given = {name: value for name, value in terms.items() if value is not None}
    own = wishes.settings
    labour = own.texts["labour"], own.texts["sundries"]
    return for_client(reading.inputs, reading.marks.system, given, own.prices, bought, labour)


def _written(reading: Reading, wishes: Wishes, inputs: Inputs) -> tuple[Book, Own, Moved]:
    """The book for a client, with those of the consultant's own things that were asked for."""
    asked = {name.lower() for name in wishes.include}
    book, own, moved = written(reading, reading.marks.system, inputs, edition=CLIENT,
                               wanted=lambda name: name.lower() in asked)  # fmt: skip
    columns = [c.header for found in own.columns.values() for c in found]
    for name in wishes.include:
        if name.lower() in {n.lower() for n in (*columns, *(s.name for s in own.sheets))}:
            continue
        sheet = reading.contents.sheet(name)  # refuses one that is not there
        if moved.sheets[sheet.name] not in book.edition.shown:
            raise WorkbookError(f"--include {name}: is no sheet or column of your own")
    lines = book.places["QuotationLines"]
    quoting = next(s for s in book.computed_sheets() if s.get_name() == lines.sheet)
    column = lines.columns["unit_cost"]
    for row, line in enumerate(inputs.tables["QuotationLines"], lines.first):
        if formula := line.get("sold"):
            quoting.write_formula(row, column, f"={formula}", None)
    write_as_numbers(book, {sheet.name for sheet in own.sheets})
    return book, own, moved


def _included(own: Own) -> Iterator[str]:
    """What is in the sheets and columns of their own that go along, by its kind."""
    places = {f"your sheet {s.name}": list(s.cells.values()) for s in own.sheets}
    places |= {
        f"your column {column.header} of {table}": list(column.cells)
        for table, columns in own.columns.items() for column in columns
    }  # fmt: skip
    for place, cells in places.items():
        formats = {str(c.look["num_format"]) for c in cells if c.look.get("num_format")}
        literals = {text for c in cells for text in _LITERAL.findall(c.formula)}
        told = [f"{sum(c.value is not None and not c.formula for c in cells)} typed cells"]
        told += [f"number formats {', '.join(sorted(formats))}"] if formats else []
        told += [f"in formulas {', '.join(sorted(literals))}"] if literals else []
        yield f"{place}: {'; '.join(told)}"
    if own.names:
        yield f"names {', '.join(sorted(own.names))}"


def _not_explained(
    shown: Shown, own: Own, reads: Mapping[Position, list[Area]]
) -> dict[Position, str]:
    """Own formulas that rest on what the client does not see, for that may be a cost."""
    found = {place: f"rests on what may be a cost: {why}" for place, why in own.lost.items()}
    more = True
    while more:
        more = False
        for place in shown.book.own_cells.keys() - found:
            for area in reads.get(place, ()):
                if not shown.keeps(area) or any(area.holds(*blank) for blank in found):
                    found[place] = f"rests on {area}, which is not in the copy and may be a cost"
                    more = True
                    break
    return found


def _withhold(book: Book, moved: Moved, wishes: Wishes) -> tuple[list[str], list[str]]:
    """Take out of the file what the workbook does not show, what is to be left out, and what is
    not filled in unless it is asked for.

    Gives the names of the workbook's sheets that are not in the file, and those not filled in.
    """
    contents = moved.reading.contents
    unwanted = {contents.sheet(name).name for name in wishes.leave_out} | contents.hidden_sheets
    unwanted |= {WORKINGS, RESULTS}
    there = [sheet.name for sheet in contents.sheets if sheet.name not in unwanted]
    kept = {moved.sheets[name] for name in there}
    asked = {name.lower() for name in wishes.include}
    waiting = kept & book.edition.shown & not_filled_in(book)
    waiting -= {moved.sheets[name] for name in there if name.lower() in asked}
    kept -= waiting
    own = {sheet.name for sheet in moved.own.sheets}
    for sheet in [s.get_name() for s in book.workbook.worksheets()]:
        if sheet not in kept and sheet not in own:
            book.withhold(sheet)
    shown = {sheet.get_name() for sheet in book.workbook.worksheets()}
    if not shown & set(declared_sheets()):
        names = ", ".join(sheet.name for sheet in contents.sheets)
        raise WorkbookError(f"none of its sheets is one that a client gets (there are: {names})")
    gone = [s.name for s in contents.sheets
            if s.name in unwanted or moved.sheets[s.name] not in shown]  # fmt: skip
    return gone, [name for name in declared_sheets() if name in waiting]


def _by_reason(frozen: Mapping[Position, str]) -> list[str]:
    """The reasons for values, most frequent first, each with its first cell."""
    places: dict[str, list[Position]] = {}
    for place, reason in frozen.items():
        places.setdefault(reason.partition(", which is not in")[0], []).append(place)
    ordered = sorted(places.items(), key=lambda item: -len(item[1]))
    return [f"  {len(found)} ({_named(found[0])} ...): {why}" for why, found in ordered[:12]]


def _named(place: Position) -> str:
    return f"{place[0]}!{cell_name(place[1], place[2])}"
