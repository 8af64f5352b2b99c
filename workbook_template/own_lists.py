"""What goes from one garden's workbook into the next: the lists and ways of the one who plans."""

import re
from collections.abc import Collection, Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from workbook_template.kit.declared import ALL, EDITIONS
from workbook_template.sheets.money.quoting import PARTS_BY_THE_LIST
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS
from xlfuncs.tables.money.prices import ORDERS
from xlfuncs.tables.money.quotation import QUOTATION_LINES, is_optional
from xlfuncs.workbooks.our_tables.read_inputs import Inputs, Reading, read_inputs
from xlfuncs.xlsx.cell_references import parse_area

# What is measured or decided at a garden (its tap, beds, weather, client) is asked for anew.
SETTINGS_KEPT = (
    "currency", "supply_share", "efficiency", "wanted_share", "wanted_uniformity", "max_velocity",
    "end_allowance", "trimming", "old_after", "interest", "plan_years",
    "prepared_by", "validity_days", "payment", "labour_rate", "contingency", "markup", "margin",
    "tax_rate", "weekly_depth",
)  # fmt: skip
TERMS = ("prepared_by", "validity_days", "payment")  # which the client reads
REMARKS = ("note", "source", "why")  # of a row, which no other cell rests on
PARTS_COST = "cost_of_parts"  # a name in a formula for the cost of the parts, which is kept
TABLES_KEPT = (
    *(table.name for table in TABLES if table.begins == "all"),
    ORDERS.name, QUOTATION_LINES.name,
)  # fmt: skip
# A quantity in these is the same in every garden, or the consultant's own estimate; a single one
# of the others is all that there is of it.
OF_NO_GARDEN = ("h", "hr", "hrs", "hour", "hours", "day", "days", "visit", "visits", "trip",
                "trips", "job", "jobs", "lump sum", "lump", "permit", "set", "item")  # fmt: skip
SINGLE = ("", "each", "ea", "pc", "pcs", "piece")
PARTS_NAMED = {
    "Lines": ("line", "kind"), "Pipes": ("pipe",), "HeadParts": ("part", "kind"),
    "CountingRules": ("part",), "Prices": ("part",),
}  # fmt: skip
_WORD = re.compile(r"[^\W\d_]{3,}")
# Words in a client's name that many lines have; a former client's other words may not go on.
_OF_MANY = frozenset((
    "family", "farm", "farms", "garden", "gardens", "market", "house", "school", "the", "and",
    "grower", "growers", "field", "fields", "invented", "example", "sample",
))  # fmt: skip
_ENDS = re.compile(r"[,;:(+&/–]|\b(?:with|and|for|of|to|in|on|at|from)\b")


class OwnLists(NamedTuple):
    """Of another workbook: its lists and ways, what is to be looked at, its system of units and
    edition, the hours of labor for each of its beds, its soil, the line if all have one, the
    settings that name the former client, which stay behind."""

    inputs: Inputs | None = None
    words: Sequence[str] = ()
    system: str = "us"
    edition: str = ALL
    hours_a_bed: float = 0.0
    soil: str = ""
    line: str = ""
    left_behind: Sequence[str] = ()

    def not_taken_over(self, given: Container[str]) -> list[str]:
        """In words, what stays behind and is not `given` anew."""
        headers = [s.header for s in SETTINGS if s.name in self.left_behind and s.name not in given]
        told = f"Not taken over, for it names the former client: {', '.join(headers)}"
        return [told] if headers else []


def own_lists(source: Path) -> OwnLists:
    """What goes from one workbook into the next.

    Raises WorkbookError for a file that is no workbook of the template, or of a newer program.
    """
    reading = read_inputs(source)
    tables: dict[str, Any] = {name: reading.inputs.tables[name] for name in TABLES_KEPT
                              if name in reading.inputs.tables}  # fmt: skip
    settings = {name: value for name, value in reading.inputs.settings.items()
                if name in SETTINGS_KEPT}  # fmt: skip
    before, beds = reading.inputs.settings, reading.inputs.tables.get("Beds", ())
    client = {*_WORD.findall(str(before.get("client") or "").lower())} - _OF_MANY
    named = [name for name, value in settings.items() if _named([value], client)]
    for name in named:
        del settings[name]
    words = [*_quoted_anew(reading, tables, source.name, client), *_remarks_cleared(tables, client)]
    if parts := [str(row["part"]) for row in tables.get(HEAD_PARTS.name, ()) if row.get("part")]:
        kept = f"Supply: kept {', '.join(parts)}"
        words.append(
            f"{kept}; clear the rows of what they lack there, on Connections and Counting rules"
        )
    words += _terms_kept(settings, source.name)
    hours, laid = before.get("labour_hours"), {str(bed.get("line") or "") for bed in beds}
    each = hours / len(beds) if beds and isinstance(hours, float) else 0.0
    person = (reading.marks.edition or ALL).partition("+")[0]
    edition = person if person in EDITIONS else ALL
    laid_last = str(before.get("soil") or ""), laid.pop() if len(laid) == 1 else ""
    lists = Inputs(settings, tables)
    return OwnLists(lists, words, reading.marks.system, edition, each, *laid_last, named)


def _named(texts: Iterable[Any], client: Collection[str]) -> bool:
    return any(word in client for text in texts if isinstance(text, str)
               for word in _WORD.findall(text.lower()))  # fmt: skip


def _remarks_cleared(tables: dict[str, Any], client: Collection[str]) -> Iterator[str]:
    """Takes out the remarks that name the former client, and says how many."""
    cleared = 0
    for name in tables.keys() - {QUOTATION_LINES.name}:
        rows = [{column: value for column, value in row.items()
                 if not (column in REMARKS and _named([value], client))}
                for row in tables[name]]  # fmt: skip
        cleared += sum(len(a) - len(b) for a, b in zip(tables[name], rows, strict=True))
        tables[name] = rows
    if cleared:
        yield f"Notes that name the former client, taken out: {cleared}"


def _terms_kept(settings: Mapping[str, Any], source: str) -> Iterator[str]:
    """What a proposal will say that was said to the client before."""
    terms = {s.header: settings.get(s.name) for s in SETTINGS if s.name in TERMS}
    terms = {header: f"{term:g} days" if isinstance(term, float) else term
             for header, term in terms.items() if term and "invented" not in str(term)}  # fmt: skip
    if len(terms) > 1:  # the days alone are the usual ones
        listed = ", ".join(f"{header} ({term})" for header, term in terms.items())
        yield f"From {source}: {listed}"


def _quoted_anew(
    reading: Reading, tables: dict[str, Any], source: str, client: Collection[str]
) -> Iterator[str]:
    """Puts the lines of a quotation for another garden into the tables, and says what became of
    them. All lines that name parts become one, what the parts of the garden cost; quantities stay
    where they are of no garden; costs that the other workbook computed do not.
    """
    formulas, known = costs_computed(reading), _words_of_parts(tables)
    kept: list[dict[str, Any]] = []
    parts, stay, sized, computed, theirs = [], [], [], [], []
    for i, line in enumerate(tables.get(QUOTATION_LINES.name, ())):
        item, unit = str(line.get("item") or f"line {i + 1}"), str(line.get("unit") or "")
        if _named(line.values(), client):
            theirs.append(item)
            continue
        if PARTS_COST in formulas.get(i, ""):
            kept.append({**line, "computed": formulas[i]})
            continue
        if _is_part(item, known):
            parts.append(line)
            continue
        line = dict(line)
        quantity, counted_in = line.get("quantity", ""), unit.lower().strip(".")
        single = quantity == 1 and counted_in in SINGLE
        if is_optional(line) or single or counted_in in OF_NO_GARDEN:
            stay.append(f"{item} ({quantity} {unit})".replace(".0 ", " "))
        else:
            line.pop("quantity", None)
            sized.append(f"{item} (was {quantity} {unit})".replace(".0 ", " "))
        if i in formulas:
            line.pop("unit_cost", None)
            computed.append(item)
        kept.append(line)
    if theirs:
        yield f"Quoting, not taken over, for they name the former client: {', '.join(theirs)}"
    told = [f"kept {', '.join(stay)}"] if stay else []
    if parts:
        anew = [] if any("computed" in line for line in kept) else [dict(PARTS_BY_THE_LIST)]
        kept = [*anew, *kept]
        gone = ", ".join(str(line["item"]) for line in parts if is_optional(line))
        told.insert(0, f"one line for all parts, {len(parts)} of {source} taken out")
        told += [f"no longer offered: {gone}"] if gone else []
    if told:
        yield f"Quoting: {'; '.join(told)}"
    if sized:
        words = "sized by the garden, so to be given a quantity, or cleared"
        yield f"Quoting, {words}: {', '.join(sized)}"
    if computed:
        yield f"Their unit costs were formulas, so type them anew: {', '.join(computed)}"
    if kept:
        tables[QUOTATION_LINES.name] = kept


def _words_of_parts(tables: Mapping[str, Any]) -> set[str]:
    """All words in the names of lines, pipes and parts that the plan counts."""
    names = [str(row.get(column) or "") for name, columns in PARTS_NAMED.items()
             for row in tables.get(name, ()) for column in columns]  # fmt: skip
    return {word.removesuffix("s") for name in names for word in _WORD.findall(name.lower())}


def _is_part(item: str, known: Collection[str]) -> bool:
    """Whether an item is named after parts, as in "tubing main with tees": its first words end with
    one, and tell of no work, as in "laying of lines" and "line laying"."""
    phrases = ([w.removesuffix("s") for w in _WORD.findall(p)] for p in _ENDS.split(item.lower()))
    first = next(filter(None, phrases), ["none"])
    return first[-1] in known and not any(w.endswith("ing") and w not in known for w in first)


def with_parts_cost(inputs: Inputs, reading: Reading) -> Inputs:
    """The inputs of a workbook with the cost of the parts computed where it was on Quoting."""
    formulas = {i: f for i, f in costs_computed(reading).items() if PARTS_COST in f}
    lines = inputs.tables.get(QUOTATION_LINES.name, ())
    rows = [{**line, "computed": formulas[i]} if i in formulas else line
            for i, line in enumerate(lines)]  # fmt: skip
    return replace(inputs, tables={**inputs.tables, QUOTATION_LINES.name: rows})


def costs_computed(reading: Reading) -> dict[int, str]:
    """The formulas for the cost of quotation lines, by their place in the list."""
    table = reading.tables.get(QUOTATION_LINES.name)
    if table is None:
        return {}
    first = table.placed.area.first_row + table.placed.header_rows
    column = table.places.get("unit_cost", -1)
    return {row - first: _formula(reading, (sheet, row, col))
            for sheet, row, col in reading.formulas
            if (sheet, col) == (table.sheet, column) and row >= first}  # fmt: skip


def _formula(reading: Reading, at: tuple[str, int, int]) -> str:
    """The formula of a cell, or that of the one cell of its sheet that it shows."""
    cell = reading.contents.cell_at(*at)
    formula = (cell.formula if cell else "") or "a formula"
    area = parse_area(formula.replace("$", ""), at[0])
    shown = area and reading.contents.cell_at(area.sheet, area.first_row, area.first_column)
    return (shown and shown.formula) or formula
