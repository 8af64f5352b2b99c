"""Everything that is wrong or doubtful in a workbook's inputs, in words with cell addresses."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from xlfuncs.catalogue.arguments import is_blank, nominal_size
from xlfuncs.catalogue.findings.all_findings import find_all, in_full
from xlfuncs.catalogue.findings.given import BLANK, KINDS, NOTE, WRONG, Given
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.all_tables import ALL_SECTIONS, SETTINGS
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.garden.head_assembly import ON_SETUP
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.quotation import QUOTATION_TERMS
from xlfuncs.tables.settings import SUPPLY
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.checking.added_columns import check_added_columns
from xlfuncs.workbooks.checking.formula_checks import FormulaChecks
from xlfuncs.workbooks.checking.told import OF_CELL
from xlfuncs.workbooks.our_tables.findings import (
    EXAMPLES_LEFT,
    EXAMPLES_USED,
    CellValues,
    Finding,
    cell_values,
    grouped,
)
from xlfuncs.workbooks.our_tables.table_cells import TableInWorkbook, named_areas, tables_in
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.xlsx.cell_references import Area, parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package

UNITS_NAME = "units"
OF_A_PLAN = ("farm", "plan_date")  # a ledger alone needs neither
TARGET_BESIDE = 3  # columns from the kind of a finding, words beside it, to its place
NOT_FOR_ALL = (TIMER, QUOTATION_TERMS)  # left blank as a whole they are no slip
# What it counts of the invented farm.
EXAMPLES = tuple(f"examples_{column}" for column in ("sheet", "name", "there", "used", "cell"))
LIST_NAME = "checks_count"  # the template's list of warnings, on a sheet of its own


def check(source: Path | str | bytes, computed: CellValues | None = None) -> list[Finding]:
    """Checks the input tables, the settings and the calls of our functions; nothing is written.

    Works on the template's workbooks (tables by name, columns by header, settings by defined
    name) and on formulas in any workbook. Formulas are computed first, for their stored values
    may be older than the inputs, unless they were `computed` just now. Wrong comes first, then
    doubtful, then notes.
    """
    contents = Contents(Package.open(source))
    values = cell_values(contents)
    computed = computed or evaluate(contents, worksheet_callables()).values
    for sheet, of_sheet in computed.items():
        values[sheet].update(of_sheet)
    system, faults = workbook_system(contents, values)
    tables = tables_in(contents, values)
    listed = list(_listed(contents, values))
    named = named_areas(contents)
    settings = {s.name: named[s.name] for s in SETTINGS if s.name in named}
    kind = str(_value(values, named["supply_kind"]) or "") if "supply_kind" in named else ""
    findings = [
        *faults,
        *_said(values, tables, settings, system),
        *_missing(values, settings, tables, kind),
    ]
    for table in tables.values():
        findings += () if table.given(system).waits else _not_counted(table)
    inputs = [*_input_areas(tables), *settings.values()]
    typed = {f.words.rpartition(": ")[2] for f in findings}  # and not again of what reads the cell
    for lines in (t.given(system) for name, t in tables.items() if name == LINES.name):
        bores = (lines.base(row, "inside_diameter") for row in lines.rows())
        typed |= {nominal_size(bore) for bore in bores if bore}
    findings += (
        f
        for f in FormulaChecks(contents, values, system, inputs).findings()
        if f.kind == WRONG or OF_CELL.sub("", f.words).rpartition(": ")[2] not in typed
    )
    findings += check_added_columns(contents, values)
    findings += examples(contents, values)
    return grouped([*listed, *(f for f in findings if not _is_among(f, listed))])


def _said(
    values: CellValues, tables: Mapping[str, TableInWorkbook], areas: Mapping[str, Area],
    system: str,
) -> Iterator[Finding]:  # fmt: skip
    """What the inputs say against each other, whether or not the workbook lists it itself."""
    settings = {name: _value(values, area) for name, area in areas.items()}
    given = Given({n: t.given(system) for n, t in tables.items()}, settings, system)
    for said in find_all(given):
        if table := tables.get(said.table):
            row = said.row.number if said.row else table.header_row
            column = table.places.get(said.column, table.placed.area.first_column)
            yield Finding(said.kind, table.sheet, row, column, in_full(given, said))
        elif area := areas.get(said.column):
            yield Finding(said.kind, area.sheet, area.first_row, area.first_column, said.words)


def _is_among(finding: Finding, listed: Collection[Finding]) -> bool:
    """Whether the workbook's own list says it too: of the same cell, or in the same words."""
    words = finding.words.partition(": ")[2] or finding.words
    return any(
        (
            (finding.sheet, finding.row) == (f.sheet, f.row)
            and (finding.column == f.column or finding.kind == NOTE)
        )
        or (finding.sheet == f.sheet and words in f.words)
        for f in listed
    )


def _not_counted(table: TableInWorkbook) -> Iterator[Finding]:
    """Rows that the workbook itself leaves out of its totals, with its own reason."""
    first = table.table.columns[0].name
    for row in table.rows():
        counted = str(table.other("Counted", row.number) or "").casefold()
        if counted not in ("no", "off"):
            continue
        name = row.text(first) or f"row {row.number}"
        reason = str(table.other("Check", row.number) or "")
        words = f"{name} is not counted in any total: {reason}"
        if counted == "off":
            words = f"{name} is off: it gets no water, but its lines stay laid, and are bought"
        elif not reason:
            continue  # what is missing there is said of the cell
        yield Finding(NOTE, table.sheet, row.number, table.places.get(first, 1), words)


def workbook_system(contents: Contents, values: CellValues) -> tuple[str, list[Finding]]:
    """us or metric, by the defined name `units`; us where there is none."""
    area = named_areas(contents).get(UNITS_NAME)
    if area is None:
        return _system_of_headers(contents), []
    value = _value(values, area)
    text = str(value).strip().casefold()
    if text in SYSTEMS:
        return text, []
    words = f"units must be {' or '.join(SYSTEMS)}, is {value!r}; read as us"
    return "us", [Finding(WRONG, area.sheet, area.first_row, area.first_column, words)]


def _system_of_headers(contents: Contents) -> str:
    """Of a workbook that does not say: metric where more table headers are in metres."""
    headers = [header for table in contents.tables.values() for header in table.columns]
    metric = sum(header.endswith(("(m)", "(cm)", "(mm)", "(L/h)")) for header in headers)
    us = sum(header.endswith(("(ft)", "(in)", "(gph)", "(gpm)")) for header in headers)
    return "metric" if metric > us else "us"


def _value(values: CellValues, area: Area) -> CellValue:
    return values.get(area.sheet, {}).get((area.first_row, area.first_column))


def _missing(
    values: CellValues, areas: Mapping[str, Area], tables: Collection[str], kind: str
) -> Iterator[Finding]:
    """Settings that are needed and blank; a sheet that nobody began is only noted, and a ledger
    without a plan needs nothing of it. `kind` is that of the supply in use."""
    areas = {name: area for name, area in areas.items()
             if BEDS.name in tables or name not in OF_A_PLAN}  # fmt: skip
    for section in ALL_SECTIONS:
        if section is SUPPLY and kind not in ("", *ON_SETUP):
            continue  # the sheet Supply says all of it
        needed = [(s, a) for s in section.settings if s.required and (a := areas.get(s.name))]
        blank = [(s, a) for s, a in needed if is_blank(_value(values, a))]
        if section in NOT_FOR_ALL and blank and len(blank) == len(needed):
            words = f"{section.title}: not filled in, so the sheet says nothing of it"
            at = blank[0][1]
            yield Finding(NOTE, at.sheet, at.first_row, at.first_column, words)
            continue
        for setting, at in blank:
            words, kind = f"{setting.header}{BLANK}", NOTE if section.may_wait else WRONG
            yield Finding(kind, at.sheet, at.first_row, at.first_column, words)


def examples(contents: Contents, values: CellValues) -> Iterator[Finding]:
    """Sheets on which the workbook counts rows of the invented farm, as it does itself, at the
    first one that the plan uses, and by name."""
    named = named_areas(contents)
    areas = [named[name] for name in EXAMPLES if name in named]
    if len(areas) < len(EXAMPLES) - 1:  # older ones do not say the cell
        return
    found = defaultdict[tuple[str, str], Counter[str]](Counter)
    first: dict[tuple[str, str], tuple[int, int]] = {}
    for places in zip(*(area.positions() for area in areas), strict=True):
        cells = values[areas[0].sheet]
        of, name, still, count, *at = map(cells.get, places)
        there, in_use = (int(v) if isinstance(v, float) else 0 for v in (still, count))
        found[EXAMPLES_USED, str(of)][str(name)] += in_use
        found[EXAMPLES_LEFT, str(of)][str(name)] += there - in_use
        if in_use and at and (cell := parse_area(str(at[0]), str(of))):
            first.setdefault((EXAMPLES_USED, str(of)), (cell.first_row, cell.first_column))
    for (words, sheet), names in found.items():
        if number := sum(names.values()):
            said = f"{number}{words}{', '.join(+names)}"
            yield Finding(NOTE, sheet, *first.get((words, sheet), (1, 1)), said)


def _input_areas(tables: dict[str, TableInWorkbook]) -> Iterator[Area]:
    for table in tables.values():
        area = table.placed.area
        for column in table.places.values():
            yield Area(area.sheet, area.first_row, column, area.last_row, column)


def _listed(contents: Contents, values: CellValues) -> Iterator[Finding]:
    """What the workbook lists itself, from the rows behind the template's list on Checks."""
    area = named_areas(contents).get(LIST_NAME)
    cells = values.get(area.sheet, {}) if area else {}
    for (row, column), kind in sorted(cells.items()):
        if kind not in KINDS:
            continue
        words, link = (
            str(cells.get((row, column + beside)) or "") for beside in (1, TARGET_BESIDE)
        )
        sheet, cell = split_sheet(link.lstrip("#"))
        place = parse_area(cell, sheet or "")
        if words and place:
            yield Finding(str(kind), place.sheet, place.first_row, place.first_column, words)
