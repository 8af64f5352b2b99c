"""functions: the list of worksheet functions, and help for one."""

import click

from xlfuncs.catalogue.declaration import TOPICS, WorksheetFunction
from xlfuncs.catalogue.registry import find, functions


@click.command(name="functions")
@click.argument("name", required=False)
def command(name: str | None) -> None:
    """List the worksheet functions, or explain the one called NAME."""
    if name is None:
        _list()
        return
    try:
        _explain(find(name))
    except KeyError as error:
        raise click.UsageError(str(error.args[0])) from None


def _list() -> None:
    from rich.console import Console
    from rich.table import Table

    console = Console()
    for topic, title in TOPICS.items():
        table = Table("Function", "What it gives", title=title, title_justify="left", box=None)
        for function in functions().values():
            if function.topic == topic:
                table.add_row(function.signature.replace("[", "\\["), function.help)
        console.print(table)
        console.print()
    console.print("xlfuncs functions NAME explains one.")


def _explain(function: WorksheetFunction) -> None:
    from rich.console import Console
    from rich.table import Table

    from xlfuncs.units import DIMENSIONS

    console = Console()
    console.print(f"[bold]{function.signature.replace('[', chr(92) + '[')}[/bold]")
    console.print(function.help)
    table = Table("Argument", "US", "Metric", "Meaning", box=None)
    for name, arg in function.described:
        unit = DIMENSIONS[arg.dimension]
        name = name if arg in function.inputs else f"  {name}"
        table.add_row(name.replace("[", "\\["), unit.us, unit.metric, arg.help)
    for result in function.results:
        unit = DIMENSIONS[result.dimension]
        table.add_row(f"gives {result.name}", unit.us, unit.metric, result.help)
    console.print(table)
    console.print(f"Source: {function.source}")
    for example in function.examples:
        console.print(f"Example: ={example}", markup=False)
