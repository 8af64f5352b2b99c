"""The one list of what is wrong, doubtful or worth knowing in input tables and settings."""

from collections.abc import Iterable, Sequence
from typing import Any

from xlfuncs.catalogue.arguments import is_blank
from xlfuncs.catalogue.findings.cells import check_cells, check_headers, words_on_cell
from xlfuncs.catalogue.findings.garden import check_garden
from xlfuncs.catalogue.findings.given import (
    BLANK,
    KINDS,
    NOTE,
    Given,
    GivenTable,
    Said,
    column_of,
    from_range,
)
from xlfuncs.catalogue.findings.head import check_head
from xlfuncs.catalogue.findings.slips import check_slips
from xlfuncs.tables.all_tables import ALL_SECTIONS, TABLES
from xlfuncs.tables.columns import Section, Table


def find_all(given: Given) -> list[Said]:
    """Worst first; each finding once, and once a column what is blank and may wait."""
    found: list[Said] = []
    for table in given.tables.values():
        found += [*check_headers(table), *check_cells(table)]
    found += [*check_garden(given), *check_slips(given), *check_head(given)]
    found += _settings(given)
    first: dict[tuple[Any, ...], Said] = {}
    for said in found:
        waits = said.row is not None and given.tables[said.table].waits
        row = 0 if said.row is None or (waits and said.words.endswith(BLANK)) else said.row.number
        ranked = said._replace(kind=NOTE) if waits else said
        first.setdefault((*ranked[:2], row, *said[3:]), ranked)
    return sorted(first.values(), key=lambda said: KINDS.index(said.kind))


def _settings(given: Given) -> Iterable[Said]:
    """Settings that are given and cannot be used; what is missing the sheets count themselves."""
    for section in ALL_SECTIONS:
        for setting in section.settings:
            value = given.settings.get(setting.name)
            if not is_blank(value):
                for kind, words in words_on_cell(setting, value, given.system):
                    yield Said(kind, "", None, setting.name, words)


def in_full(given: Given, said: Said) -> str:
    """The words, behind the name of their row where they do not begin with it."""
    table = given.tables.get(said.table)
    name = table.row_name(said.row) if table is not None and said.row is not None else ""
    return f"{name}: {said.words}" if name and not said.words.startswith(name) else said.words


def given_ranges(ranges: Iterable[Sequence[Sequence[Any]]], system: str) -> Given:
    """Tables (headers in the first row) and settings (labels in the first column), told apart."""
    tables: dict[str, GivenTable] = {}
    settings: dict[str, Any] = {}
    for cells in ranges:
        table, headed = _table_of([str(cell or "") for cell in cells[0]])
        section, labelled = _section_of([str(row[0] or "") for row in cells])
        if table is not None and headed >= labelled:
            tables.setdefault(table.name, from_range(table, cells, system))
        elif section is not None:
            by_label = {setting.header: setting.name for setting in section.settings}
            settings |= {by_label[row[0]]: row[1] for row in cells if row[0] in by_label}
    return Given(tables, settings, system)


def _table_of(headers: Sequence[str]) -> tuple[Table | None, int]:
    def known(table: Table) -> int:
        return len({m[0].name for h in headers if (m := column_of(h, table))})

    best = max(TABLES, key=lambda table: (known(table), -len(table.columns)))
    return (best, known(best)) if known(best) else (None, 0)


def _section_of(labels: Sequence[str]) -> tuple[Section | None, int]:
    def known(section: Section) -> int:
        return len({setting.header for setting in section.settings}.intersection(labels))

    best = max(ALL_SECTIONS, key=known)
    return (best, known(best)) if known(best) else (None, 0)
