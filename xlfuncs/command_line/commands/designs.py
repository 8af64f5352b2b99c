"""designs: what to buy, and how to lay and group it, so that every bed gets its water."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from workbook_template.kit.inputs import Inputs
    from xlfuncs.catalogue.design_rows import DesignRow, Designs


@click.command(name="designs")
@click.argument(
    "workbook", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path)
)
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True,
              help="Without WORKBOOK: of the invented farm.")  # fmt: skip
@click.option("--choose", type=int, default=1, show_default=True,
              help="Which of the designs goes into --output.")  # fmt: skip
@click.option("--output", type=click.Path(dir_okay=False, path_type=Path),
              help="A new workbook with that design in its tables.")  # fmt: skip
@click.option("--seconds", type=float, default=10.0, show_default=True,
              help="Longest search on a common machine; more finds more designs.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace OUTPUT if it is there.")
def command(
    workbook: Path | None, units: str, choose: int, output: Path | None, seconds: float, force: bool
) -> None:
    """Compare whole designs of WORKBOOK over its own lists: lines, pipes, regulators, sets.

    Shows the cheapest that passes every check, those that are better in some other way, and cheaper
    ones that fail, with what would mend them.
    """
    from workbook_template.build import build, demo_inputs, results, write
    from workbook_template.designed import given_of, with_design
    from xlfuncs.catalogue.whole_designs import whole_designs
    from xlfuncs.tables.cautions import IN_SHORT
    from xlfuncs.workbooks.our_tables.read_inputs import read_inputs

    if output is not None and output.exists() and not force:
        raise click.UsageError(f"{output} is there already; choose another name, or --force")
    inputs: Inputs = demo_inputs(units)
    if workbook is not None:
        reading = read_inputs(workbook)
        inputs, units = reading.inputs, reading.marks.system
    built = results(write(units, inputs), but=["DESIGNS"])
    found = whole_designs(given_of(built, units), seconds)
    if inputs.invented:
        click.echo("The invented farm: no figure of it is real.\n")
    passing = [row for row in found.rows if row.kind != "fails"]
    currency, as_it_is = str(built.named("currency") or ""), built.named("cost_of_parts")
    _print(found, passing, currency, units)
    if isinstance(as_it_is, float):
        click.echo(f"As the beds are now, Purchase buys for {as_it_is:,.2f} {currency}.")
    click.echo(f"\n{IN_SHORT}")
    if output is None:
        return
    if not 1 <= choose <= len(passing):
        raise click.UsageError(f"--choose: there are {len(passing)} designs")
    build(output, units, with_design(inputs, passing[choose - 1], units))
    click.echo(f"\nWorkbook with design {choose}: {output}")


def _print(found: "Designs", passing: "list[DesignRow]", currency: str, units: str) -> None:
    from rich.console import Console
    from rich.table import Table

    from xlfuncs.catalogue.design_rows import in_system, lines_words, proof_words

    console = Console(width=170)
    table = Table(
        "", "Lines", "Main", "Manifold", "Regulator", f"Cost ({currency})", "Hours a watering",
        "Sets", "Driest bed", "Evenness", "Left over", box=None,
    )  # fmt: skip
    for column in table.columns[5:]:
        column.justify = "right"
    for number, row in enumerate(passing, start=1):
        table.add_row(
            str(number), in_system(lines_words(row), units), row.main, row.manifold or "–",
            row.regulator or "as it is", f"{row.cost:,.2f}", f"{row.hours:.1f}",
            str(len(row.sets)), f"{row.least_share:.0%}", f"{row.uniformity:.0%}",
            f"{row.left_over_value:,.2f}",
        )  # fmt: skip
    if passing:
        console.print(table)
        console.print(f"\n{proof_words(found)}.", highlight=False)
        console.print("Driest bed: share of its nominal flow. Evenness: least emission uniformity"
                      " of a bed. Left over: its cost.", highlight=False)  # fmt: skip
        for number, names in enumerate(passing[0].sets, start=1):
            minutes = passing[0].minutes[number - 1]
            console.print(f"Set {number} of design 1, {minutes:.0f} min: {', '.join(names)}",
                          highlight=False, markup=False)  # fmt: skip
        for number, row in enumerate(passing, start=1):
            for words in row.doubts:
                console.print(f"Design {number}: {words}.", highlight=False, markup=False)
    else:
        console.print("No design of these lists passes every check.", highlight=False)
    for row in found.rows:
        if row.kind == "fails":
            words = (
                f"Fails: {lines_words(row)}; {row.main}, {row.regulator}"
                f" ({row.cost:,.2f}): {row.fails}. {row.mends}."
            )
            console.print(in_system(words, units), highlight=False, markup=False, soft_wrap=True)
    for words in found.left_out:
        console.print(f"Not compared: {words}", highlight=False, markup=False)
