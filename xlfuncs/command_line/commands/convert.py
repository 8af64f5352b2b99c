"""convert: the same workbook in other units, for another person or another program."""

from pathlib import Path

import click

from workbook_template.kit.declared import EDITIONS
from xlfuncs.command_line import remaking


@click.command(name="convert")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--units", type=click.Choice(["us", "metric"]), help="The units of the new workbook.")
@click.option("--for", "person", type=click.Choice(EDITIONS), help="The sheets of this person.")
@click.option(
    "--excel/--no-excel", default=None,
    help="An .xlsm with the functions in it for Excel on Windows, or a plain .xlsx.",
)  # fmt: skip
@remaking.output
@remaking.dry_run
def command(
    file: Path, units: str | None, person: str | None, excel: bool | None, output: Path | None,
    dry_run: bool,
) -> None:  # fmt: skip
    """Write the garden of FILE anew in other units, for another person or program.

    FILE itself is not changed. Numbers are converted; text such as 22 ft 9 in stays as typed.
    """
    from workbook_template.renewal.renewing import remade

    if units is None and person is None and excel is None:
        raise click.UsageError("give --units, --for, --excel or --no-excel")
    macros = file.suffix.lower() == ".xlsm" if excel is None else excel
    suffix = ".xlsm" if macros else ".xlsx"
    parts = [file.stem, *(p for p in (units, person) if p)]
    target = output or file.with_name("-".join(parts) + suffix)
    if target.suffix.lower() != suffix:
        raise click.UsageError(f"{target}: the name must end in {suffix}")
    made = remade(file, units=units, edition=person, macros=macros)
    remaking.finish(made, file, target, dry_run=dry_run)
