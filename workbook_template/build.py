"""Building a workbook: the sheets in the order of the work, then their values (see book).

An edition, for a grower, a consultant or a bookkeeper, has the sheets that declare its person, and
groups of sheets that were added: "grower", "grower+costs+ledger". What those need stands on one
sheet more, Workings. What nobody needs is not there.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbook_template.kit.book import Book, Values, save
from workbook_template.kit.declared import ALL, CLIENT, CONSULTANT, EDITIONS, Edition
from workbook_template.kit.formulas import Place
from workbook_template.kit.inputs import Inputs, Rows, invented_farm, published
from workbook_template.kit.own import Own
from workbook_template.kit.paper import FIRST
from workbook_template.kit.spills import SHEET as RESULTS
from workbook_template.kit.spills import write_results
from workbook_template.kit.written import Written
from workbook_template.sheets.money.cost import LIVES
from workbook_template.sheets.money.quoting import PARTS_BY_THE_LIST
from workbook_template.sheets.order import declared_sheets, modules
from xlfuncs.errors import CellError, InputError, WorkbookError
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.garden.beds import BED_PLAN, BEDS
from xlfuncs.tables.garden.crops import CROPS, SOILS, published_crops, published_soils
from xlfuncs.tables.garden.lines import PIPES
from xlfuncs.tables.garden.this_week import MONTHLY_WEATHER
from xlfuncs.tables.money.parts import COUNTING_RULES, PART_LIVES, PIPES_COUNTED
from xlfuncs.tables.money.quotation import QUOTATION_LINES
from xlfuncs.workbooks.our_tables.read_inputs import properties
from xlfuncs.workbooks.recalculating.collecting import collection_put_off

if TYPE_CHECKING:
    from xlfuncs.workbooks.recalculating.engine import Evaluation


def groups() -> dict[str, list[str]]:
    """The groups of sheets that can be added, each with its sheets."""
    found: dict[str, list[str]] = {}
    for sheet in declared_sheets().values():
        if sheet.group:
            found.setdefault(sheet.group, []).append(sheet.name)
    return found


def edition_named(name: str) -> Edition:
    """The sheets of an edition by its name; WorkbookError for a name that is none."""
    person, *added = name.split("+")
    if name == CLIENT:
        clients = {s.name for s in declared_sheets().values() if s.client}
        return Edition(name, frozenset(clients), frozenset(_needed(clients) - clients))
    if person not in EDITIONS:
        raise WorkbookError(f"no edition {person!r}; there are: {', '.join(EDITIONS)}")
    sheets = declared_sheets()
    shown = {s.name for s in sheets.values() if person == ALL or person in s.people}
    for group in added:
        shown.update(_group(group))
    behind = _needed(shown) - shown
    (shown if person == ALL else behind).add(RESULTS)
    return Edition(name, frozenset(shown), frozenset(behind))


def with_group(name: str, group: str) -> str:
    """The name of an edition with a group of sheets added to it."""
    if set(_group(group)) <= edition_named(name).shown:
        raise WorkbookError(f"the sheets of {group!r} are there already")
    return f"{name}+{group}"


def edition_of(sheets: Iterable[str]) -> str:
    """The person's edition that is most like these sheets, for a file that does not say."""
    there = set(sheets)

    def unlike(person: str) -> int:
        return len(edition_named(person).shown ^ there)

    return min(reversed(EDITIONS), key=unlike)


def _group(name: str) -> list[str]:
    if name not in groups():
        raise WorkbookError(f"no group of sheets {name!r}; there are: {', '.join(groups())}")
    return groups()[name]


def _needed(shown: set[str]) -> set[str]:
    """Every sheet that those shown rest on, near or far."""
    found, waiting = set(shown), list(shown)
    while waiting:
        sheet = declared_sheets()[waiting.pop()]
        new = {*sheet.needs, *sheet.reads} - found
        found |= new
        waiting += new
    return found


@dataclass(frozen=True)
class Built:
    """What was built: where tables and names lie, and every computed value (rows from 1)."""

    inputs: Inputs
    values: Values
    places: Mapping[str, Place]
    names: Mapping[str, tuple[str, int, int]]

    def named(self, name: str) -> Any:
        """The computed value of a defined name, or the setting of that name."""
        sheet, row, col = self.names[name]
        return self.values.get(sheet, {}).get((row + 1, col + 1), self.inputs.settings.get(name))

    def rows(self, table: str) -> list[dict[str, Any]]:
        """The filled rows of a table, inputs and computed columns, by column name."""
        place, filled = self.places[table], self.inputs.tables.get(table, ())
        cells = self.values.get(place.sheet, {})
        return [
            {
                name: cells.get((place.first + i + 1, col + 1), row.get(name))
                for name, col in place.columns.items()
            }
            for i, row in enumerate(filled)
        ]

    def block(self, name: str) -> list[dict[str, Any]]:
        """The rows of a block of results, by the names of its columns."""
        place = self.places[name]
        cells = self.values.get(place.sheet, {})
        return [
            {column: cells.get((row + 1, col + 1)) for column, col in place.columns.items()}
            for row in range(place.first, place.last + 1)
        ]


def demo_inputs(system: str) -> Inputs:
    """The invented farm, with the published tables of crops and soils."""
    farm = invented_farm(system, TABLES, SETTINGS)
    tables = {
        **farm.tables,
        CROPS.name: published(CROPS, published_crops(), system),
        SOILS.name: published(SOILS, published_soils(), system),
    }
    return replace(farm, tables=tables)


def starting_inputs(
    system: str, beds: Rows | None = None, planned: Rows | None = None, lists: Inputs | None = None,
    person: str = ALL,
) -> Inputs:  # fmt: skip
    """A grower's own beds and crops, or one example row; the lines, pipes and lists to start from.

    Without `lists` the line and pipe kinds, prices and counting rules are examples to be replaced;
    they are invented and say so. Parts come with their lives and without costs.
    """
    farm = demo_inputs(system)
    kept = {"all": None, "row": 1, "none": 0}
    tables = {table.name: farm.tables.get(table.name, [])[: kept[table.begins]] for table in TABLES}
    tables[MONTHLY_WEATHER.name] = [{"month": month} for month in range(1, 13)]
    lives = ("part", *(name for name, _ in LIVES))
    tables[PART_LIVES.name] = [
        {name: row[name] for name in lives} for row in farm.tables[PART_LIVES.name]
    ]
    if person == CONSULTANT:
        tables[QUOTATION_LINES.name] = [dict(PARTS_BY_THE_LIST)]
    if lists is not None:
        tables |= lists.tables
    if beds is not None:
        tables |= {BEDS.name: beds, BED_PLAN.name: planned or []}
        tables[COUNTING_RULES.name] = [_of_pipes_laid(rule, tables)
                                       for rule in tables[COUNTING_RULES.name]]  # fmt: skip
    return Inputs(lists.settings if lists else {}, tables)


def _of_pipes_laid(rule: Mapping[str, Any], tables: Mapping[str, Rows]) -> Mapping[str, Any]:
    """A counting rule for the length of a pipe buys the pipe that most beds are fed by."""
    pipes = {row["pipe"] for row in tables[PIPES.name] if row.get("pipe")}
    column = PIPES_COUNTED.get(str(rule.get("counted_by")), "")
    laid = Counter(row[column] for row in tables[BEDS.name] if row.get(column) in pipes)
    if rule.get("part") not in pipes or not laid:
        return rule
    return {**rule, "part": laid.most_common(1)[0][0]}


@collection_put_off()
def write(
    system: str, inputs: Inputs, *, spills: bool = False, edition: str = ALL, own: Own | None = None
) -> Book:
    """The sheets of an edition, their formulas still without values; with `spills` for Excel.

    Tables get the columns of `own` too, still empty. Raises WorkbookError for a table with more
    rows than it can have.
    """
    for table in TABLES:
        if (count := len(inputs.tables.get(table.name, ()))) > table.most:
            raise WorkbookError(f"{table.name}: at most {table.most:,} rows, not {count:,}")
    book = Book(system, inputs, spills=spills, edition=edition_named(edition), own=own)
    for module in modules():
        module.write(book)
    write_results(book)
    book.settle()
    book.put_in_order([FIRST])
    book.workbook.set_properties({
        "title": str(inputs.settings.get("farm") or "Drip irrigation of vegetable beds"),
        "subject": "Drip irrigation of vegetable beds", "category": "Plan",
    })  # fmt: skip
    for name, value in properties(edition, inputs.invented).items():
        book.workbook.set_custom_property(name, value, "text")
    return book


@collection_put_off()
def build(
    path: Path, system: str, inputs: Inputs, *, macros: bool = False, edition: str = ALL
) -> Built:
    """Write the workbook to `path` with every value computed; with `macros` an .xlsm for Excel."""
    content, built = computed(write(system, inputs, spills=macros, edition=edition))
    save(path, content)
    return built


@collection_put_off()
def computed(book: Book) -> tuple[bytes, Built]:
    """The finished file with every value, and with the functions in it where answers spill."""
    built = results(book)
    content = book.finish(built.values)
    if book.spills:
        from xlfuncs.hosts.excel.macro_workbook import with_functions

        content = with_functions(content)
    return content, built


@collection_put_off()
def results(book: Book, but: Sequence[str] = ()) -> Built:
    """Every value of a book of which no file is wanted, `but` what rests on these functions."""
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.recalculating.engine import evaluate

    functions = worksheet_callables()
    if but:
        check = functions["INPUT_CHECK"]  # which asks the function that it is asked about
        functions |= dict.fromkeys(but, _unasked)
        functions["INPUT_CHECK"] = lambda given: (_unasked if given[0] in but else check)(given)
    kept: dict[tuple[str, int, int], Any] = {}  # formulas brought along that only had a value
    evaluation = evaluate(Written(book), functions)
    while stuck := _own_without_value(book, evaluation):
        kept |= stuck
        evaluation = evaluate(Written(book, kept), functions)
    if gaps := [*map(str, evaluation.unevaluated), *evaluation.failures]:  # not for anybody
        raise WorkbookError(f"{len(gaps)} cells were not computed: {'; '.join(gaps[:3])}")
    for (sheet, *place), value in kept.items():
        evaluation.values[sheet][place[0], place[1]] = "" if value is None else value
    return Built(book.inputs, evaluation.values, book.places, book.names)


def _unasked(values: Sequence[Any]) -> Any:
    raise InputError("asked", "nobody did", cell_error=CellError.NOT_AVAILABLE)


def _own_without_value(book: Book, evaluation: "Evaluation") -> dict[tuple[str, int, int], Any]:
    """Formulas that somebody brought along and that cannot be computed, with what they showed."""
    return {
        place: book.own_cells[place]
        for cell in evaluation.unevaluated
        if (place := (cell.sheet, cell.row, cell.column)) in book.own_cells
        and not cell.reason.endswith("was not evaluated")
    }
