"""add-columns: computed columns beside the list on a sheet of any layout."""

import dataclasses
from pathlib import Path

import click


@click.command(name="add-columns")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--sheet", default="", help="Name of the sheet with the list, if several have one.")
@click.option(
    "--add", multiple=True, metavar="NAME",
    help="area, minutes, pressure, season, purchase, or a function; repeat for more. Of itself"
    " pressure and minutes.",
)  # fmt: skip
@click.option(
    "--mapping", type=click.Path(path_type=Path), help="TOML file that answers what is asked."
)
@click.option(
    "--units",
    type=click.Choice(["us", "metric"]),
    help="What headers without a unit mean, and the units of the new columns.",
)
@click.option(
    "--settings", type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="A plan made by `new`, or a list with these columns: its settings are taken.",
)  # fmt: skip
@click.option("--dry-run", is_flag=True, help="Show what would be added; write nothing.")
@click.option("--backup", is_flag=True, help="Keep a copy of the old file beside it.")
def command(
    file: Path, sheet: str, add: tuple[str, ...], mapping: Path | None, units: str | None,
    settings: Path | None, dry_run: bool, backup: bool,
) -> None:  # fmt: skip
    """Add computed columns, as formulas with values, beside the list on a sheet of FILE.

    Headers such as `Length (ft)` are matched to what the functions take. What is in doubt is
    asked here, or in a mapping file. The sheet itself stays as it is. Of a CSV or TXT a workbook
    is made beside it.
    """
    from xlfuncs.command_line.answering import answered
    from xlfuncs.errors import WorkbookError
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.adding_columns.adding import AddedColumns, add_columns
    from xlfuncs.workbooks.adding_columns.plan_settings import settings_of
    from xlfuncs.workbooks.adding_columns.serving import columns_of_lists
    from xlfuncs.workbooks.lists.mapping import ListMapping

    def added(answers: ListMapping) -> AddedColumns:
        wanted = dict.fromkeys((*answers.add, *(name.upper() for name in add)))
        wanted = wanted or dict.fromkeys(("PRESSURE", "MINUTES"))
        answers = dataclasses.replace(answers, add=tuple(wanted), system=units or answers.system)
        if settings:
            known, system = settings_of(settings)
            if (answers.system or system) != system:
                raise WorkbookError(f"{settings.name} is {system}, the columns {answers.system}")
            known |= answers.settings
            answers = dataclasses.replace(answers, settings=known, system=system)
        return add_columns(
            file, sheet, worksheet_callables(), answers, dry_run=dry_run, backup=backup
        )

    report = answered(added, columns_of_lists(), mapping, file.with_suffix(".mapping.toml"))
    click.echo(str(report))
