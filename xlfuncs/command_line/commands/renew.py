"""renew: a workbook that an older version made, in the current template."""

from pathlib import Path

import click

from xlfuncs.command_line import remaking


@click.command(name="renew")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@remaking.output
@remaking.dry_run
@click.option(
    "--valves",
    is_flag=True,
    help="Propose anew which beds open together, by the lines and parts that it has now; where some"
    " beds have a valve and others none, for these alone.",
)
def command(file: Path, output: Path | None, dry_run: bool, valves: bool) -> None:
    """Make the same garden as FILE in the current template.

    Tax, shop, date and source beside one price of yours hold for all of yours.
    Everything you entered, your own sheets and your own columns go along; what cannot is told, and
    so is each computed number that changed. The old file is kept as a backup beside the new one.
    """
    from workbook_template.renewal.renewing import remade

    remaking.finish(remade(file, valves=valves), file, output or file, dry_run=dry_run)
