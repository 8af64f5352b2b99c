"""add-columns: computed columns beside the list on a sheet of any layout."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import click


@click.command(name="add-columns")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--sheet", required=True, help="Name of the sheet with the list.")
@click.option("--add", multiple=True, metavar="FUNCTION", help="A column to add; repeat for more.")
@click.option(
    "--mapping", type=click.Path(path_type=Path), help="TOML file that answers what is asked."
)
@click.option(
    "--units",
    type=click.Choice(["us", "metric"]),
    help="What headers without a unit mean, and the units of the new columns.",
)
@click.option("--dry-run", is_flag=True, help="Show what would be added; write nothing.")
@click.option("--backup", is_flag=True, help="Keep a copy of the old file beside it.")
def command(
    file: Path,
    sheet: str,
    add: tuple[str, ...],
    mapping: Path | None,
    units: str | None,
    dry_run: bool,
    backup: bool,
) -> None:
    """Add computed columns, as formulas with values, beside the list on a sheet of FILE.

    Headers such as `Length (ft)` are matched to the arguments of the functions. What is in doubt
    is asked, with the line for the mapping file that answers it. The sheet itself stays as it is.
    """
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.adding_columns.adding import add_columns
    from xlfuncs.workbooks.adding_columns.serving import columns_of_lists
    from xlfuncs.workbooks.lists.mapping import ListMapping, read_mapping

    answers = read_mapping(mapping, columns_of_lists()) if mapping is not None else ListMapping()
    if add:
        wanted = dict.fromkeys((*answers.add, *(name.upper() for name in add)))
        answers = dataclasses.replace(answers, add=tuple(wanted))
    if units:
        answers = dataclasses.replace(answers, system=units)
    report = add_columns(
        file, sheet, worksheet_callables(), answers, dry_run=dry_run, backup=backup
    )
    click.echo(str(report))
