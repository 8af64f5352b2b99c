"""add-sheets: a group of sheets more in a workbook that was made for one person."""

from pathlib import Path

import click

from workbook_template.build import groups
from xlfuncs.command_line import remaking


@click.command(name="add-sheets")
@click.argument("group", type=click.Choice(list(groups())))
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@remaking.output
@remaking.dry_run
def command(group: str, file: Path, output: Path | None, dry_run: bool) -> None:
    """Add a GROUP of sheets to the workbook FILE, which is made again with them.

    New tables start as in a new workbook. The old file is kept as a backup beside the new one.
    """
    from workbook_template.build import with_group
    from workbook_template.renewal.renewing import current_edition, remade
    from xlfuncs.workbooks.our_tables.read_inputs import read_inputs

    edition = with_group(current_edition(read_inputs(file)), group)
    remaking.finish(remade(file, edition=edition), file, output or file, dry_run=dry_run)
