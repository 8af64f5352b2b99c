"""All input tables, in the order in which a workbook asks for them."""

from xlfuncs.tables.columns import Column, Section, Table, named, section, table

TABLES: tuple[Table, ...] = tuple(map(table, named("table")))
ALL_SECTIONS: tuple[Section, ...] = tuple(map(section, named("settings")))
SETTINGS: tuple[Column, ...] = tuple(s for of in ALL_SECTIONS for s in of.settings)
