"""excel: the worksheet functions in a workbook for Excel on Windows, or as a VBA module."""

from pathlib import Path

import click

_FILE = click.Path(dir_okay=False, path_type=Path)


@click.group(name="excel")
def command() -> None:
    """The worksheet functions in Excel on Windows.

    Excel for Mac has no functions of this kind; use LibreOffice there.
    """


@command.command()
@click.argument("workbook", type=click.Path(exists=True, dir_okay=False, path_type=Path))
def add(workbook: Path) -> None:
    """Put the functions into WORKBOOK, or renew them after an update.

    An .xlsm is changed in place; for an .xlsx an .xlsm is written beside it. Everything else in
    the workbook stays as it is. Close it in Excel first.
    """
    from xlfuncs.hosts.excel.macro_workbook import add_functions
    from xlfuncs.hosts.excel.wrapper import PYTHON, read_settings

    target = add_functions(workbook)
    click.echo(f"{target}: holds the functions. Open it in Excel and press Enable Content.")
    if not read_settings(target)[PYTHON]:
        click.echo("It names no Python yet: run the same command on the Windows machine.")


@command.command()
@click.argument("file", type=_FILE, default="xlfuncs_functions.bas")
def module(file: Path) -> None:
    """Write the VBA module of the functions to FILE, for the import of Excel's VBA editor.

    The VBA project must also refer to xlwings: by its add-in, or by its module xlwings.bas.
    """
    from xlfuncs.hosts.excel.wrapper import vba_module
    from xlfuncs.xlsx.saving import save

    save(file, vba_module().encode("ascii"))
    click.echo(f"Written: {file}")
