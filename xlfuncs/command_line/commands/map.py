"""map: the beds of a workbook drawn to scale."""

from pathlib import Path

import click


@click.command(name="map")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--output",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for the pictures (default: beside the workbook).",
)
def command(file: Path, output: Path | None) -> None:
    """Draw the beds of workbook FILE to scale, as SVG and PNG, the parts list beside them."""
    from workbook_template.kit.map_drawing import draw
    from xlfuncs.tables.cautions import IN_SHORT
    from xlfuncs.workbooks.bed_map import read_bed_map

    folder = output or file.parent
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"{file.stem}-map{ending}" for ending in (".svg", ".png")]
    bed_map = read_bed_map(file)
    draw(bed_map, paths, bed_map.parts)
    for path in paths:
        click.echo(f"Map: {path}")
    click.echo(IN_SHORT)
    for words in bed_map.left_out:
        click.echo(f"Not drawn: {words}")
