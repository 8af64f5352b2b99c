"""Exports into a workbook's own ledger: read one after the other, told, written in one step.

    plan = planned(Path("books.xlsx"), [(Path("water_2025.csv"), ListMapping())])
    print(plan)      # what would be done
    plan.write()     # a backup beside; undo(Path("books.xlsx")) takes the import back

What the ledger has already does not come in again, so that the same exports, or longer ones, add
only what is new.
"""

import contextlib
import hashlib
import json
import math
import re
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from xlfuncs.errors import UnitError, WorkbookError
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.header_words import date_evidence
from xlfuncs.tables.money.ledger import LEDGER
from xlfuncs.units import conversion
from xlfuncs.workbooks import refused_lines
from xlfuncs.workbooks.adding_rows import with_rows
from xlfuncs.workbooks.ledger_report import sums, told, year_in_words
from xlfuncs.workbooks.lists import mapping  # fmt: skip
from xlfuncs.workbooks.lists.bills.currencies import currencies_of, settled_currency
from xlfuncs.workbooks.lists.files import of_years, read_list_file
from xlfuncs.workbooks.lists.headers import Wanted, places_of
from xlfuncs.workbooks.lists.ledger.bills import ALREADY
from xlfuncs.workbooks.lists.ledger.export import read_export, texts
from xlfuncs.workbooks.lists.ledger.headings import EXPORTED, names_of_columns, with_periods_parted
from xlfuncs.workbooks.lists.ledger.importing import LedgerImport, entries_in, import_ledger
from xlfuncs.workbooks.lists.ledger.lines import Entry
from xlfuncs.workbooks.lists.lines import FileLine
from xlfuncs.workbooks.lists.numbers import UnsettledError, decimal_evidence
from xlfuncs.workbooks.lists.orders.columns import units_of
from xlfuncs.workbooks.our_tables.read_inputs import Reading, read_inputs
from xlfuncs.workbooks.our_tables.table_cells import named_cells
from xlfuncs.workbooks.recalculating.collecting import collection_put_off
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.workbooks.recalculating.recalculation import Recalculation, recalculated
from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import Package
from xlfuncs.xlsx.saving import refuse_if_open, save

# Of a note that the import made: in a ledger of many files a line needs its file.
_OF_A_LINE = re.compile(r"^(?:takes back|replaced by|same as|\d)[^;]*?\bline \d+(?! of )")


@dataclass
class Plan:
    """What several exports bring into a workbook; `in_words` tells it file by file."""

    book: Path
    content: bytes
    reading: Reading
    read: list[tuple[Path, LedgerImport]] = field(default_factory=list)
    changed: dict[int, dict[str, Any]] = field(default_factory=dict)  # rows of the ledger

    @property
    def entries(self) -> list[Entry]:
        return [entry for _, result in self.read for entry in result.entries]

    @property
    def unread(self) -> list[str]:
        """The files of which no line can be read."""
        return [path.name for path, result in self.read if result.refused_whole]

    @property
    def first(self) -> int:
        """The row that the first new entry goes to."""
        table = self.reading.tables[LEDGER.name]
        rows = len(self.reading.inputs.tables[LEDGER.name])
        return table.header_row + table.placed.header_rows + rows

    @property
    def currency(self) -> str:
        """The currency of the entries, where Setup has none yet."""
        found = {entry["currency"] for entry in self.entries} - {""}
        return found.pop() if len(found) == 1 and not self._setting("currency") else ""

    def _setting(self, name: str) -> Any:
        return self.reading.inputs.settings.get(name)

    def in_words(self, *, verbose: bool = False) -> str:
        currency = self.currency or self._setting("currency") or ""
        lines = sums(self.entries, currency)
        for path, result in self.read:
            known = sum(line.reason.startswith(ALREADY) for line in result.refused)
            beside = f", {known} known already" if known else ""
            lines.append(f"{path.name}: {len({*result.lines})} new{beside}")
            lines += [f"  {words}" for words in told(result, verbose=verbose)]
        lines += [f"row {row} of the ledger would be Counted: no" for row in self.changed]
        last, sheet = self.first + len(self.entries) - 1, self.reading.tables[LEDGER.name].sheet
        if self.entries:
            currency = f", {self.currency} to Setup" if self.currency else ""
            lines.append(f"To {sheet}, rows {self.first} to {last}{currency}")
        return "\n".join(lines)

    @collection_put_off()
    def write(self) -> tuple[Path | None, Recalculation, str]:
        """Puts the new workbook in the old one's place; gives the backup, what was computed, and
        what the sheet Years says now."""
        place = named_cells(self.reading.contents).get("currency")
        beside = {place: self.currency} if place and self.currency else {}
        typed = with_rows(self.reading, self.content, LEDGER.name, self.entries, self.changed,
                          beside)  # fmt: skip
        contents = Contents(Package.open(typed, self.book.name))
        made, report = recalculated(contents, evaluate(contents, worksheet_callables()))
        if not self.book.exists():
            save(self.book, self.content)
        kept = save(self.book, made or typed, backup=True)
        assert kept is not None
        took = ", ".join(f"{len(r.entries)} entries of {path.name}" for path, r in self.read)
        said = {"before": kept.name, "took": took,
                "refused": refused_lines.keep_those_of(self.book, self.read),
                "after": hashlib.sha256(made or typed).hexdigest()}  # fmt: skip
        lines = [f"{name} = {json.dumps(text, ensure_ascii=False)}" for name, text in said.items()]
        note = "\n".join(["# What xlfuncs import-ledger --undo takes back.", *lines, ""])
        save(_note(self.book), note.encode())
        return kept, report, year_in_words(Contents(Package.open(made or typed, self.book.name)))


@collection_put_off()
def planned(
    book: Path, exports: Sequence[tuple[Path, mapping.ListMapping]], new: bytes = b""
) -> Plan:
    """Reads the exports in turn, each with what those before it bring; nothing is written.

    `new` is the workbook where there is none yet.
    Raises WorkbookError for a file that is no workbook with a ledger of this version, and
    UnsettledError with what the exports leave open.
    """
    refuse_if_open(book)
    content = new or book.read_bytes()
    plan = Plan(book, content, reading := read_inputs(Contents(Package.open(content, book.name))))
    table = reading.tables.get(LEDGER.name)
    if table is None or "meter" not in table.places:
        raise WorkbookError(
            f"{book.name} has no ledger of this version: xlfuncs renew {book.name}, or"
            " xlfuncs new books.xlsx --for bookkeeper"
        )
    known = entries_in(reading.contents)
    own = {id(entry) for entry in known}
    currency = reading.inputs.settings.get("currency")
    left: list[UnsettledError] = []
    for path, stated in (each := [*exports]):
        if currency and not stated.values.get("currency"):
            stated = replace(stated, values={**stated.values, "currency": currency})
        try:
            result = import_ledger(path, reading.marks.system, stated, known)
        except WorkbookError as error:
            raise type(error)(f"{path.name}: {error}") from None
        except UnsettledError as error:
            if sheets := of_years(stated, error):
                each += [(path, where_headed({path: said}, ())[path]) for said in sheets]
                continue
            error.path = path
            left.append(error)
            continue
        if (path, stated.sheet) not in [(file, said.sheet) for file, said in exports]:
            path = path.with_name(f"{path.name}, sheet {stated.sheet}")
        for row, entry in enumerate(result.entries, plan.first + len(plan.entries)):
            entry["row"] = row
        for entry in (*result.entries, *(entry for entry, _ in result.replaced)):
            entry["note"] = _OF_A_LINE.sub(rf"\g<0> of {path.name}", str(entry["note"] or ""))
        for entry, _ in result.replaced:
            if id(entry) in own:
                plan.changed[entry["row"]] = {"counted": "no", "note": entry["note"]}
        plan.read.append((path, result))
        known += result.entries
        currency = currency or next((e["currency"] for e in result.entries if e["currency"]), "")
    if left:
        left[0].others = tuple(left[1:])
        raise left[0]
    return plan


def system_of(exports: Sequence[tuple[Path, mapping.ListMapping]]) -> str:
    """The units for a workbook of exports: US ones where one is in dollars, or in gallons, else
    metric, if one is in m³ or litres, in another currency, or has decimal commas or days first."""
    systems = set()
    for path, stated in (each := [*exports]):
        with contextlib.suppress(WorkbookError, UnsettledError):  # planned says so
            try:
                export = read_export(path, stated)[0]
            except UnsettledError as error:
                each += [(path, said) for said in of_years(stated, error)]
                raise
            for unit in units_of(export):
                with contextlib.suppress(UnitError):
                    ten = math.log10(conversion(unit, "billed_volume")[0]).is_integer()
                    systems.add("metric" if ten else "us")
            said = str(stated.values.get("currency") or "")
            if money := settled_currency(currencies_of(export), said):
                systems.add("" if money.value in ("$", "USD") else "metric in money")
            days = {date_evidence(text) for _, text in texts(export, ("date", "bill_date"))}
            commas = {decimal_evidence(text) for _, text in texts(export, ("amount", "net"))}
            systems.add("metric as written" if "DMY" in days or commas - {"?", ""} == {","} else "")
    return "us" if "us" in systems or not systems - {""} else "metric"


def undo(book: Path) -> str:
    """Puts back the workbook that was there before the last import; says what was taken back."""
    try:
        known = tomllib.loads(_note(book).read_text("utf-8"))
    except (OSError, tomllib.TOMLDecodeError):
        raise WorkbookError(
            f"{book.name}: no import is known that could be taken back; only the last can be, and"
            " older states are the backups beside the workbook"
        ) from None
    before = book.with_name(str(known.get("before")))
    if hashlib.sha256(book.read_bytes()).hexdigest() != known.get("after"):
        raise WorkbookError(
            f"{book.name} was saved since the import; it stays. As it was before: {before}"
        )
    save(book, before.read_bytes())
    if "refused" in known:
        refused_lines.put_back(book, str(known["refused"]))
    _note(book).unlink()
    took = known.get("took", "the last import")
    return f"Taken back: {took}. {book.name} is as {before} is; answers for the next export stay."


def _note(book: Path) -> Path:
    return book.with_name(f"{book.stem}.last-import.toml")


# --- what a supplier's exports need to be told, from year to year ---------------------------------


def settings_file(book: Path, export: Path, supplier: str = "") -> Path:
    """Where a supplier's answers are kept: by its name, or the export's without its numbers."""
    name = supplier or refused_lines.supplier_of(export.name) or "export"
    return book.with_name(f"{name}.import.toml")


def answers_for(kept: Path, stated: mapping.ListMapping) -> mapping.ListMapping:
    """What a supplier's file says, and what is stated now, which goes first."""
    stated = replace(stated, columns=names_of_columns(stated.columns))
    if not kept.exists():
        return stated
    before = mapping.mapping_from(mapping.load(kept), kept.name, EXPORTED)

    def both(name: str, now: Any) -> Any:
        old = getattr(before, name)
        return {**old, **now} if isinstance(now, Mapping) else now or old

    return mapping.ListMapping(**{name: both(name, now) for name, now in vars(stated).items()})


OR = "\n"  # between headings of a column of which each file has its own


def where_headed(
    said_of: Mapping[Path, mapping.ListMapping], stated: Iterable[str]
) -> dict[Path, mapping.ListMapping]:
    """The answers of several files, a heading of a column only for those that have it; one that is
    stated now, and that none has, for all."""
    there = {path: _headings_there(path, said) for path, said in said_of.items()}
    nowhere = {"", *(one for text in stated for one in text.split(OR))}.difference(*there.values())

    def meant(text: str, path: Path) -> list[str]:
        each = text.split(OR)
        return [one for one in each if one in there[path]] or [o for o in each if o in nowhere]

    return {path: replace(said, columns={
                name: OR.join(found) for name, text in said.columns.items()
                if (found := meant(text, path))})
            for path, said in said_of.items()}  # fmt: skip


def _headings_there(path: Path, stated: mapping.ListMapping) -> set[str]:
    """Those of the headings named for columns that stand in a file."""
    lines: list[FileLine] = []
    with contextlib.suppress(WorkbookError, UnsettledError):  # the import says so
        likely = {name: text.split(OR)[0] for name, text in stated.columns.items()}
        files = read_list_file(path, Wanted(EXPORTED, stated=likely), stated)
        lines = [line for file in files for line in with_periods_parted(file).lines[:100]]
    texts = {one for text in stated.columns.values() for one in text.split(OR)}
    return {text for text in texts for line in lines
            if places_of(line, text, letters=True)}  # fmt: skip


def keep_answers(kept: Path, answers: mapping.ListMapping) -> bool:
    """Keeps the answers for the next export, where there are any; whether the file is new."""
    text = mapping.mapping_text(mapping.given_answers(answers), (), {}).encode()
    if not mapping.given_answers(answers) or (kept.exists() and kept.read_bytes() == text):
        return False
    save(kept, text)
    return True
