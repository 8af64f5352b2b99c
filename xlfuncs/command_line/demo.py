"""demo: the invented farm, from its bed list to a computed workbook and a summary."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from workbook_template.kit.declared import BOOKKEEPER, EDITIONS

if TYPE_CHECKING:
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
        _print(built, units)
    click.echo(f"Workbook: {path}")


def _print(built: Built, units: str) -> None:
    from rich.console import Console

    from xlfuncs.units import DIMENSIONS

    console = Console()

    def unit(dimension: str) -> str:
        return DIMENSIONS[dimension].unit(units)

    console.print("[bold]An invented farm: no figure here is real.[/bold]\n")
    console.print(_bed_table(built, unit("length"), unit("area"), unit("flow")))
    left_out = [row for row in built.rows("Beds") if row["counted"] != "yes"]
    facts = (
        ("Water a week", f"{built.named('water_a_week'):,.0f} {unit('volume')}"),
        ("Longest watering", f"{built.named('longest_watering'):.0f} min at nominal flow"),
        ("Lines", f"{built.named('number_of_lines'):.0f} lines,"
                  f" {built.named('line_length_total'):,.0f} {unit('length')} in all"),
        ("Rolls", f"{built.named('rolls_in_all'):.0f} by total length"),
        ("Cost of lines", f"{built.named('cost_of_lines'):,.2f} {built.named('currency')}"),
        ("Cost per area", f"{built.named('line_cost_per_planted_area'):.2f}"
                          f" {built.named('currency')} {unit('money_per_area')} planted"),
        ("Left out", f"{len(left_out)} of {len(built.rows('Beds'))} beds"),
    )  # fmt: skip
    for label, words in facts:
        console.print(f"{label:18}{words}", highlight=False)
    for row in left_out:
        why = row["check"] if row["counted"] == "no" else "off"
        console.print(f"{'':18}{row['bed']}: {why}", highlight=False, markup=False)


def _bed_table(built: Built, length: str, area: str, flow: str) -> object:
    from rich.table import Table

    table = Table(
        "Bed", f"Length ({length})", f"Planted ({area})", f"Flow ({flow})", "Minutes", box=None
    )
    for column in table.columns[1:]:
        column.justify = "right"
    for row in built.rows("Beds"):
        if row["counted"] == "yes":
            table.add_row(
                row["bed"], f"{row['length']}", f"{row['area']:.4g}",
                f"{row['nominal_flow']:.2f}", f"{row['minutes']:.0f}",
            )  # fmt: skip
        else:
            table.add_row(row["bed"], f"{row['length']}", "", "", row["counted"])
    return table
