"""libreoffice: the worksheet functions in LibreOffice Calc: install, remove, build, status."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from xlfuncs.hosts.libreoffice.office import Office

_ALL_USERS = click.option(
    "--all-users", is_flag=True, help="For every user of this machine (needs an administrator)."
)
_START = (
    "Start LibreOffice from the menu or from a shell without an active Python environment: from one"
    " with it, LibreOffice on Linux may refuse to open workbooks that use the functions."
)
_AGAIN = "`xlfuncs libreoffice install` puts it right"
_WORKER = click.option("--worker", is_flag=True, help="Always use a separate Python process.")


@click.group(name="libreoffice")
def command() -> None:
    """The worksheet functions in LibreOffice Calc.

    The extension uses the Python environment that built it, so install it again after moving
    that environment or upgrading the package.
    """


@command.command()
@_ALL_USERS
@_WORKER
def install(all_users: bool, worker: bool) -> None:
    """Build the extension and install it, in place of an older one."""
    import tempfile

    from xlfuncs.hosts.libreoffice import oxt
    from xlfuncs.hosts.libreoffice.install import install as install_extension

    with tempfile.TemporaryDirectory(prefix="xlfuncs-") as folder:
        extension = oxt.build(Path(folder) / "xlfuncs.oxt", in_process=not worker)
        install_extension(extension, all_users=all_users)
    click.echo("Installed. Restart LibreOffice; the functions are in the category Add-in.")
    click.echo(_START)


@command.command()
@_ALL_USERS
def remove(all_users: bool) -> None:
    """Remove the extension."""
    from xlfuncs.hosts.libreoffice.install import remove as remove_extension

    removed = remove_extension(all_users=all_users)
    click.echo("Removed." if removed else "It was not installed.")


@command.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path), default="xlfuncs.oxt")
@_WORKER
def build(file: Path, worker: bool) -> None:
    """Write the extension to FILE, to be added by hand in LibreOffice's extension manager."""
    from xlfuncs.hosts.libreoffice import oxt

    click.echo(f"Extension: {oxt.build(file, in_process=not worker)}")


@command.command()
@_ALL_USERS
def status(all_users: bool) -> None:
    """Say what is installed in which LibreOffice, and try a function of it (in a profile apart)."""
    import xlfuncs
    from xlfuncs.hosts.libreoffice.install import installed
    from xlfuncs.hosts.libreoffice.installation import find
    from xlfuncs.hosts.libreoffice.office import Office

    found = find()
    click.echo(f"LibreOffice  {found.soffice}")
    click.echo(f"its Python   {found.python}")
    extension = installed(all_users=all_users)
    if extension is None:
        click.echo("extension    not installed: run `xlfuncs libreoffice install`")
        return
    click.echo(f"extension    {extension.version}, built by {extension.python}")
    if extension.version != xlfuncs.__version__:
        click.echo(f"             this is {xlfuncs.__version__}: {_AGAIN}")
    if trouble := extension.trouble():
        raise click.ClickException(f"{trouble}; {_AGAIN}")
    where = "inside LibreOffice" if extension.runs_within(found) else "in a process beside it"
    click.echo(f"they run     {where}")
    with Office(extension=extension.folder) as office:
        click.echo(f"version      {office.version}")
        area = _try_function(office)
    shown = f"{area:g}" if isinstance(area, float) else area
    click.echo(f"functions    BED_AREA(12, 12) gives {shown}; 12 is right")
    click.echo(_START)


def _try_function(office: "Office") -> object:
    import tempfile

    import openpyxl

    book = openpyxl.Workbook()
    book.worksheets[0]["A1"] = "=BED_AREA(12,12)"
    with tempfile.TemporaryDirectory(prefix="xlfuncs-") as folder:
        path = Path(folder) / "trial.xlsx"
        book.save(path)
        return office.values(path)[book.worksheets[0].title]["A1"]
