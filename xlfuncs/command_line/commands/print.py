"""print: sets of pages for the shop, the field, the winter and the file, one PDF each."""

from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import click

SETS = ("shop", "field", "winter", "file")


def _all_cut(inputs: Any) -> dict[str, Any]:
    """The settings, with the lines that lie on beds chosen for the cut list where none is."""
    settings = dict(inputs.settings)
    used = {str(row["line"]): None for row in inputs.tables.get("Beds", ()) if row.get("line")}
    if not settings.get("cut_line_1"):
        settings |= dict(zip(("cut_line_1", "cut_line_2"), used, strict=False))
    return settings


@click.command(name="print")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--set", "chosen", multiple=True, type=click.Choice(SETS),
              help="Only this set of pages; may be given several times.")  # fmt: skip
@click.option("--paper", type=click.Choice(["letter", "a4"]),
              help="By default letter for US units, A4 for metric ones.")  # fmt: skip
@click.option(
    "--output", type=click.Path(file_okay=False, path_type=Path), default=Path(),
    help="Folder for the PDFs; by default the current one.",
)  # fmt: skip
def command(file: Path, chosen: tuple[str, ...], paper: str | None, output: Path) -> None:
    """Print the workbook FILE in sets of pages, one PDF each, by LibreOffice.

    shop: shopping list by shop, cut list. field: map, timer program, season card. winter: what to
    drain, what to store. file: the plan and what it rests on. The workbook is not changed.
    Exit code 1 where anything is wrong, as with check; the pages are made all the same.
    """
    from workbook_template.build import edition_named, results, write
    from workbook_template.kit.map_drawing import draw
    from workbook_template.print_findings import found_in
    from workbook_template.print_sets import SETS_OF_PAGES, pages_of
    from workbook_template.renewal.renewing import current_edition
    from xlfuncs.hosts.libreoffice.office import Office
    from xlfuncs.workbooks.bed_map import read_bed_map
    from xlfuncs.workbooks.checking.told import wrong_at_once
    from xlfuncs.workbooks.our_tables.read_inputs import read_inputs
    from xlfuncs.xlsx.saving import save

    reading = read_inputs(file)
    system, inputs, edition = reading.marks.system, reading.inputs, current_edition(reading)
    if not edition_named(edition).has("Beds"):
        raise click.UsageError(f"{file} keeps the books alone, and these pages are of a garden;"
                               f" `xlfuncs render {file} --pdf-only` prints them")  # fmt: skip
    built = results(write(system, replace(inputs, settings=_all_cut(inputs))))
    output.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix="xlfuncs-") as folder:

        def picture() -> Path:
            drawn = Path(folder) / "map.png"
            draw(read_bed_map(file), [drawn])
            return drawn

        with Office() as office:
            for name in chosen or SETS:
                book, pdf = (Path(folder) / f"{name}.{ending}" for ending in ("xlsx", "pdf"))
                default = "letter" if system == "us" else "a4"
                pages, missing = pages_of(name, built, system, paper or default, picture, edition)
                book.write_bytes(pages)
                office.to_pdf(book, pdf, recalculate=False)
                made = output / f"{file.stem}-{name}.pdf"
                save(made, pdf.read_bytes())
                click.echo("; ".join([f"{made}: {SETS_OF_PAGES[name]}", *missing]))
    if wrong := wrong_at_once(found_in(built, edition_named(edition).shown)):
        click.echo(f"{len(wrong)} wrong; mend before you use these pages (xlfuncs check {file}):")
        click.echo(f"  {wrong[0]}")
        raise click.exceptions.Exit(1)
