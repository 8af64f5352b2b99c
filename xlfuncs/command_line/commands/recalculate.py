"""recalculate: bring every computed value of a workbook up to date, and nothing else in it."""

from pathlib import Path

import click


@click.command(name="recalculate")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--output", type=click.Path(path_type=Path), help="Write here instead of into FILE.")
@click.option("--backup", is_flag=True, help="Keep a copy of the old file beside it.")
@click.option(
    "--with",
    "engine",
    type=click.Choice(["libreoffice"]),
    help="Let LibreOffice compute a temporary copy; its values are written into FILE.",
)
@click.option("--live", is_flag=True, help="FILE is open in Excel (not tested with a real Excel).")
def command(file: Path, output: Path | None, backup: bool, engine: str | None, live: bool) -> None:
    """Compute all formulas of the workbook FILE without opening a spreadsheet program.

    Only computed values change; everything else stays byte for byte. Formulas that cannot be
    computed keep their old value and are listed (exit code 1).
    """
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.recalculating.in_excel import recalculate_open
    from xlfuncs.workbooks.recalculating.recalculation import recalculate

    if live and (output or engine):
        raise click.UsageError("--live goes with neither --output nor --with")
    functions = worksheet_callables()
    if live:
        result = recalculate_open(str(file), functions)
    else:
        result = recalculate(
            file, functions, output=output, backup=backup, with_libreoffice=engine is not None
        )
    click.echo(str(result))
    if result.unevaluated:
        raise click.exceptions.Exit(1)
