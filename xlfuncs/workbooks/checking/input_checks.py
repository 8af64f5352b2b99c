"""Everything that is wrong or doubtful in a workbook's inputs, in words with cell addresses."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path

from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.hosts.cells import worksheet_callables
from xlfuncs.tables.all_settings import ALL_SECTIONS, SETTINGS
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.quotation import QUOTATION_TERMS
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.checking.added_columns import check_added_columns
from xlfuncs.workbooks.checking.bed_checks import check_beds
from xlfuncs.workbooks.checking.formula_checks import FormulaChecks
from xlfuncs.workbooks.checking.table_checks import (
    check_cells,
    check_headers,
    check_not_counted,
    words_on_cell,
)
from xlfuncs.workbooks.our_tables.findings import (
    DOUBTFUL,
    NOTE,
    WRONG,
    CellValues,
    Finding,
    cell_values,
    grouped,
)
from xlfuncs.workbooks.our_tables.table_cells import TableInWorkbook, tables_in
from xlfuncs.workbooks.recalculating.engine import evaluate
from xlfuncs.xlsx.cell_references import Area, parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue, Contents
from xlfuncs.xlsx.package import Package

UNITS_NAME = "units"
TARGET_BESIDE = 2  # columns from the words of a warning to the place that it is about
NOT_FOR_ALL = (TIMER, QUOTATION_TERMS)  # left blank as a whole they are no slip
LIST_NAME = "checks_count"  # the template's list of warnings, on a sheet of its own


def check(source: Path | str | bytes) -> list[Finding]:
    """Checks the input tables, the settings and the calls of our functions; nothing is written.

    Works on the template's workbooks (tables by name, columns by header, settings by defined
    name) and on formulas in any workbook. Formulas are computed first, for their stored values
    may be older than the inputs. Wrong comes first, then doubtful, then notes.
    """
    contents = Contents(Package.open(source))
    values = cell_values(contents)
    for sheet, computed in evaluate(contents, worksheet_callables()).values.items():
        values[sheet].update(computed)
    system, faults = workbook_system(contents, values)
    tables = tables_in(contents, values)
    findings = [*faults, *_settings(contents, values, system)]
    for table in tables.values():
        findings += check_headers(table, system)
        findings += check_cells(table, system)
        findings += check_not_counted(table)
    findings += check_beds(tables, system)
    inputs = [*_input_areas(tables), *_setting_areas(contents)]
    findings += FormulaChecks(contents, values, system, inputs).findings()
    findings += check_added_columns(contents, values)
    findings += _warnings(contents, values, findings)
    return grouped(findings)


def workbook_system(contents: Contents, values: CellValues) -> tuple[str, list[Finding]]:
    """us or metric, by the defined name `units`; us where there is none."""
    area = named_area(contents, UNITS_NAME)
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


def named_area(contents: Contents, name: str) -> Area | None:
    """Where a defined name of the whole workbook lies; None where there is none."""
    for defined in contents.names:
        if defined.name.casefold() == name and defined.sheet is None:
            sheet, rest = split_sheet(defined.text)
            return parse_area(rest, sheet or "") if sheet else None
    return None


def _value(values: CellValues, area: Area) -> CellValue:
    return values.get(area.sheet, {}).get((area.first_row, area.first_column))


def _setting_areas(contents: Contents) -> Iterator[Area]:
    for setting in SETTINGS:
        if (area := named_area(contents, setting.name)) is not None:
            yield area


def _settings(contents: Contents, values: CellValues, system: str) -> Iterator[Finding]:
    for section in ALL_SECTIONS:
        areas = {s.name: named_area(contents, s.name) for s in section.settings}
        needed = [a for s in section.settings if s.required and (a := areas[s.name])]
        if section in NOT_FOR_ALL and needed and all(is_blank(_value(values, a)) for a in needed):
            at = needed[0]
            words = f"{section.title}: not filled in, so the sheet says nothing of it"
            yield Finding(NOTE, at.sheet, at.first_row, at.first_column, words)
            continue
        for setting in section.settings:
            if (area := areas[setting.name]) is not None:
                for kind, words in words_on_cell(setting, _value(values, area), system):
                    yield Finding(kind, area.sheet, area.first_row, area.first_column, words)


def _input_areas(tables: dict[str, TableInWorkbook]) -> Iterator[Area]:
    for table in tables.values():
        area = table.placed.area
        for column in table.places.values():
            yield Area(area.sheet, area.first_row, column, area.last_row, column)


def _warnings(
    contents: Contents, values: CellValues, said: Collection[Finding]
) -> Iterator[Finding]:
    """What the sheets warn of by themselves, from the rows behind the template's list Checks.

    A row of a sheet about which something is said already is not spoken of twice.
    """
    area = named_area(contents, LIST_NAME)
    cells = values.get(area.sheet, {}) if area else {}
    rows = {(finding.sheet, finding.row) for finding in said}
    words_said = [finding.words for finding in said]
    heads = [place for place, value in cells.items() if value == "Words"]
    for (row, column), words in cells.items():
        if not any(row > head and column == of for head, of in heads) or not words:
            continue
        sheet, cell = split_sheet(str(cells.get((row, column + TARGET_BESIDE), "")).lstrip("#"))
        place = parse_area(cell, sheet or "")
        told = str(words).partition(": ")[2]
        told = told if " " in told else str(words)
        if (
            place
            and (place.sheet, place.first_row) not in rows
            and not any(told in earlier for earlier in words_said)
        ):
            yield Finding(DOUBTFUL, place.sheet, place.first_row, place.first_column, str(words))
