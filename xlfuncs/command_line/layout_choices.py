"""layout-choices: which drip line, how many in a bed, from which rolls."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(name="layout-choices")
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
@click.option("--beds", type=_FILE, help="Your bed list, CSV or XLSX (default: the invented farm).")
@click.option("--lines", type=_FILE, help="CSV of drip lines with the headers of the Lines table.")
@click.option("--prices", type=_FILE, help="CSV of prices with the headers of the Prices table.")
@click.option("--laterals", default="2,3,4,6", show_default=True, help="Lines a bed to compare.")
@click.option("--depth", help="Gross depth of one watering (default: from the invented setup).")
@click.option("--supply", help="Measured flow of the supply (default: the invented bucket test).")
@click.option(
    "--farthest", default=None, help="Farthest a point may lie from a line, such as 6 in."
)
def command(
    units: str,
    beds: Path | None,
    lines: Path | None,
    prices: Path | None,
    laterals: str,
    depth: str | None,
    supply: str | None,
    farthest: str | None,
) -> None:
    """Compare drip lines and numbers of lines a bed: cost, coverage, flow, time, left-over."""
    from workbook_template.kit.inputs import example_folder, read_rows
    from xlfuncs.tables.garden.lines import LINES
    from xlfuncs.tables.money.prices import PRICES

    folder = example_folder(units)
    if beds and not (depth and supply):
        raise click.UsageError("with your own beds, give --depth and --supply too")
    if not (beds and lines and prices):
        click.echo("What was not given is the invented farm's: no figure of it is real.")
    rows, left_out = _beds(beds, folder, units)
    kinds = read_rows(lines or folder / "lines.csv", LINES, units)
    offers = read_rows(prices or folder / "prices.csv", PRICES, units)
    numbers = _numbers(laterals)
    demands = {
        "depth": depth or _invented_depth(folder),
        "supply_flow": supply or _invented_supply(folder, units),
        "farthest": farthest or ("6 in" if units == "us" else "16 cm"),
    }
    rolls = [offer for offer in offers if "roll_length" in offer]
    sold = {roll["part"] for roll in rolls}
    _print(
        _compare(rows, [k for k in kinds if k["line"] in sold], rolls, numbers, demands, units),
        units,
    )
    for kind in kinds:
        if kind["line"] not in sold:
            click.echo(f"Not compared: {kind['line']}: no roll of it on the price list")
    for words in left_out:
        click.echo(f"Left out: {words}")


def _numbers(laterals: str) -> list[int]:
    try:
        return [int(number) for number in laterals.split(",")]
    except ValueError:
        raise click.UsageError("--laterals: whole numbers with commas, such as 2,3,4") from None


def _beds(path: Path | None, folder: Path, units: str) -> tuple[list[dict[str, Any]], list[str]]:
    """Beds that are counted, with their planted area and width of top, and why others are not."""
    import xlfuncs
    from workbook_template.kit.inputs import read_rows
    from xlfuncs.errors import InputError
    from xlfuncs.tables.garden.beds import BEDS

    if path is None:
        rows: Sequence[Mapping[str, Any]] = read_rows(folder / "beds.csv", BEDS, units)
    else:
        from xlfuncs.workbooks.lists.bed_list_import import read_bed_list

        reading = read_bed_list(path, units, None)
        if reading.questions:
            raise click.ClickException("; ".join(map(str, reading.questions)))
        rows = reading.rows
    counted, left_out = [], []
    for row in rows:
        if str(row.get("on", "yes")).lower() in ("no", "false", "off", "0"):
            left_out.append(f"{row['bed']}: off")
            continue
        try:
            area = xlfuncs.bed_area(
                row["length"], row["strip_width"], row.get("strips", 1), units=units
            )
        except (InputError, KeyError) as error:
            left_out.append(f"{row.get('bed', '?')}: {error}")
            continue
        width = row.get("bed_top_width") or row["strip_width"]
        counted.append({"length": row["length"], "width": width, "area": area})
    return counted, left_out


def _settings(folder: Path) -> dict[str, str]:
    import csv

    with (folder / "setup.csv").open(encoding="utf-8", newline="") as file:
        return {row["name"]: row["value"] for row in csv.DictReader(file)}


def _invented_depth(folder: Path) -> float:
    setup = _settings(folder)
    week, times = float(setup["weekly_depth"]), float(setup["waterings_a_week"])
    return week / times / float(setup["efficiency"])


def _invented_supply(folder: Path, units: str) -> float:
    import xlfuncs

    setup = _settings(folder)
    volume, seconds = float(setup["bucket_volume"]), float(setup["bucket_seconds"])
    return float(xlfuncs.supply_flow(volume, seconds, units=units))


def _compare(
    beds: list[dict[str, Any]],
    lines: list[dict[str, Any]],
    rolls: list[dict[str, Any]],
    laterals: list[int],
    demands: dict[str, Any],
    units: str,
) -> pd.DataFrame:
    """All choices; one at a time first, under a progress bar, as each is kept once it is known."""
    import xlfuncs

    common = {
        "lengths": [bed["length"] for bed in beds],
        "widths": [bed["width"] for bed in beds],
        "areas": [bed["area"] for bed in beds],
        "roll_lines": [roll["part"] for roll in rolls],
        "roll_lengths": [roll["roll_length"] for roll in rolls],
        "roll_prices": [roll["price"] * (1 + roll.get("tax", 0)) for roll in rolls],
        **demands,
    }

    def choices(some: list[dict[str, Any]], numbers: list[int]) -> pd.DataFrame:
        found: pd.DataFrame = xlfuncs.layout_choices(
            lines=[line["line"] for line in some],
            emitter_spacing=[line["emitter_spacing"] for line in some],
            emitter_flow=[_emitter_flow(line, units) for line in some],
            laterals=numbers,
            **common,
            units=units,
        )
        return found

    pairs = [(line, number) for line in lines for number in laterals]
    with click.progressbar(pairs, label="Buying for each choice") as bar:
        for line, number in bar:
            choices([line], [number])
    return choices(lines, laterals)


def _emitter_flow(line: dict[str, Any], units: str) -> float:
    import xlfuncs

    if "emitter_flow" in line:
        return float(line["emitter_flow"])
    return float(
        xlfuncs.emitter_flow_from_tape(
            line["flow_per_length"], line["emitter_spacing"], units=units
        )
    )


def _print(choices: pd.DataFrame, units: str) -> None:
    from rich.console import Console
    from rich.table import Table

    from xlfuncs.units import DIMENSIONS

    width, length = (DIMENSIONS[d].unit(units) for d in ("width", "length"))
    table = Table(
        "Line", "A bed", "Cost", "Per area", f"Farthest ({width})", "Of supply", "Minutes",
        "Hours a day", f"Left over ({length})", "Its value", "Fails", "", box=None,
    )  # fmt: skip
    for column in table.columns[1:-2]:
        column.justify = "right"
    for row in choices.itertuples():
        table.add_row(
            str(row.line), f"{row.laterals:.0f}", f"{row.cost:,.2f}", f"{row.cost_per_area:.3f}",
            f"{row.farthest:.1f}", f"{row.supply_share:.0%}", f"{row.minutes:.0f}",
            f"{row.day:.1f}", f"{row.left_over:,.0f}", f"{row.left_over_value:,.2f}",
            str(row.fails), str(row.mark),
        )  # fmt: skip
    Console(width=170).print(table)
