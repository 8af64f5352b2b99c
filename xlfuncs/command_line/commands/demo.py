"""demo: the invented farm, from its bed list to a computed workbook and a summary."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from workbook_template.kit.declared import BOOKKEEPER, EDITIONS
from workbook_template.sheets.water.timer import SETS

if TYPE_CHECKING:
    from collections.abc import Callable

    from workbook_template.build import Built


@click.command(name="demo")
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
@click.option(
    "--for", "person", type=click.Choice(EDITIONS), default="all", show_default=True,
    help="Only the sheets that this person needs.",
)  # fmt: skip
@click.option(
    "--output", type=click.Path(dir_okay=False, path_type=Path), help="Where to write the workbook."
)
def command(units: str, person: str, output: Path | None) -> None:
    """Write the invented farm's workbook here and print what a grower wants to know."""
    from workbook_template.build import build, demo_inputs

    path = output or Path(f"invented-farm-{units}.xlsx")
    built = build(path, units, demo_inputs(units), edition=person)
    if person != BOOKKEEPER:
        _print(built, units, person)
    click.echo(f"Workbook: {path}")


def _print(built: "Built", units: str, person: str) -> None:
    """What a grower wants to know, from the very cells of the workbook."""
    from rich.console import Console

    from workbook_template.build import edition_named
    from workbook_template.sheets.whole.start import answers_of
    from xlfuncs.units import DIMENSIONS

    console = Console()
    console.print("[bold]An invented farm: no figure here is real.[/bold]\n")
    console.print(_bed_table(built, *(DIMENSIONS[name].unit(units) for name in ("length", "flow"))))

    def say(label: str, words: str) -> None:
        console.print(f"{label}: {words}", highlight=False, markup=False, soft_wrap=True)

    for row in built.block(SETS):
        if row["set"]:
            say(row["set"], f"{row['minutes']:.0f} min: {row['names']}")
    for line in answers_of(built.values, edition_named(person)):
        say(*line.split(": ", 1))
    _print_left_out(built, say)
    _print_design(built, units, say)


def _print_design(built: "Built", units: str, say: "Callable[[str, str], None]") -> None:
    """The cheapest whole design that waters every bed, where it is another."""
    from workbook_template.designed import given_of
    from xlfuncs.catalogue.design_rows import in_system, lines_words
    from xlfuncs.catalogue.whole_designs import whole_designs

    found = whole_designs(given_of(built, units), front=False)
    if found.rows:
        best = found.rows[0]
        say("Cheapest design", f"{in_system(lines_words(best), units)}; main of {best.main};"
            f" {len(best.sets)} sets: every bed gets {best.least_share:.0%} or more, for"
            f" {best.cost:,.2f} {built.named('currency')} (see the command designs)")  # fmt: skip


def _print_left_out(built: "Built", say: "Callable[[str, str], None]") -> None:
    for row in built.rows("Beds"):
        if row["counted"] == "off":
            say("Not watered", f"{row['bed']}: off; its lines are laid and bought")
        elif row["counted"] != "yes":
            say("Left out", f"{row['bed']}: {row['check']}")


def _bed_table(built: "Built", length: str, flow: str) -> object:
    from rich.table import Table

    table = Table("Bed", f"Length ({length})", "Lines", f"Delivered ({flow})", "Minutes", box=None)
    for column in table.columns[1:]:
        column.justify = "right"
    for row in built.rows("Beds"):
        if row["counted"] == "yes":
            table.add_row(
                row["bed"], f"{row['length']}", f"{row['laterals']:.0f}",
                f"{row['delivered_flow']:.2f}", f"{row['minutes_delivered']:.0f}",
            )  # fmt: skip
        else:
            table.add_row(row["bed"], f"{row['length']}", "", "", row["counted"])
    return table
