"""new: a workbook from a bed list, or an empty one with an example row."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import click

from workbook_template.kit.declared import EDITIONS

if TYPE_CHECKING:
    from xlfuncs.workbooks.lists.bed_list_import import BedListReading


@click.command(name="new")
@click.argument("output", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--units", type=click.Choice(["us", "metric"]), help="us, unless a workbook --from says else."
)
@click.option(
    "--beds",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Your bed list: CSV or XLSX, columns in any order, units in the headers.",
)
@click.option(
    "--mapping",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Answers to what the bed list does not say (TOML); asked for when needed.",
)
@click.option(
    "--excel", is_flag=True, help="For Excel on Windows: an .xlsm with the functions in it."
)
@click.option(
    "--for", "person", type=click.Choice(EDITIONS), default="all", show_default=True,
    help="Only the sheets that this person needs.",
)  # fmt: skip
@click.option(
    "--from", "other", type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Another workbook of yours: its lines, pipes, parts, prices, crops, soils, and on Quoting"
         " its lines, rates and markup.",
)  # fmt: skip
@click.option("--force", is_flag=True, help="Replace OUTPUT if it is there.")
def command(
    output: Path,
    units: str | None,
    beds: Path | None,
    mapping: Path | None,
    excel: bool,
    person: str,
    other: Path | None,
    force: bool,
) -> None:
    """Make a workbook OUTPUT, from a bed list or empty with one example bed."""
    from workbook_template.build import build, starting_inputs
    from workbook_template.own_lists import own_lists
    from workbook_template.renewal.renewing import converted
    from xlfuncs.workbooks.lists.bed_list_import import STRAIGHT_OFF_MAIN

    ending = ".xlsm" if excel else ".xlsx"
    if output.suffix.lower() != ending:
        raise click.UsageError(f"{output}: the name must end in {ending}")
    if output.exists() and not force:
        raise click.UsageError(f"{output} is there already; choose another name, or --force")
    system, lists, words = own_lists(other) if other else (units or "us", None, [])
    units = units or system
    if lists and units != system:
        lists = converted(lists, system, units)
    tables = starting_inputs(units, lists=lists).tables
    lines, pipes, crops = ([str(next(iter(row.values()))) for row in tables[table]]
                           for table in ("Lines", "Pipes", "Crops"))  # fmt: skip
    known = {"line": lines, "main_pipe": pipes, "manifold_pipe": [*pipes, STRAIGHT_OFF_MAIN]}
    reading = _read(beds, units, mapping, output, known) if beds else None
    rows = [dict(row) for row in reading.rows] if reading else None
    planned = _planned(reading, crops) if reading else None
    inputs = starting_inputs(units, rows, planned, lists)
    build(output, units, inputs, macros=excel, edition=person)
    for line in words:
        click.echo(f"- {line}")
    for column, table in (("line", "lines"), ("main_pipe", "pipes"), ("manifold_pipe", "pipes")):
        for name in sorted({str(row[column]) for row in rows or () if row.get(column)}):
            if name not in known[column]:
                there = f"the {table} of the workbook yet ({', '.join(known[column])})"
                click.echo(f"- {name!r} is not among {there}: enter it on its sheet Lines.")
    click.echo(f"Workbook: {output}")
    click.echo("Open it at the sheet Start, which says what to fill in, in order.")


def _read(
    beds: Path, units: str, mapping: Path | None, output: Path, known: Mapping[str, list[str]]
) -> "BedListReading":
    """What came of the bed list; stops with questions and a mapping file to answer them in."""
    from xlfuncs.command_line.answering import answered_beds
    from xlfuncs.workbooks.lists.questions import OpenQuestions

    try:
        reading = answered_beds(beds, units, mapping, output.with_suffix(".mapping.toml"), known)
    except OpenQuestions as open_questions:
        click.echo(str(open_questions), err=True)
        words = "Another line or pipe may be named; enter it on the sheet Lines afterwards."
        click.echo(words, err=True)
        raise SystemExit(1) from None
    return reading


def _planned(reading: "BedListReading", known: list[str]) -> list[dict[str, object]]:
    """A row of the bed plan for each bed beside which a crop stands; tells how the list was read,
    and which crops are not known."""
    from xlfuncs.workbooks.lists.bed_list_import import named_crops

    found = named_crops(reading.beside, known)
    not_used = f"Column {found.heading!r} is not used" if found else None
    for line in reading.report:
        if not_used is None or not line.startswith(not_used):
            click.echo(f"- {line}")
    if found is None:
        return []
    click.echo(f"- Crops from {found.heading!r} stand on the sheet Plan; type their days there.")
    if found.unknown:
        there = f"choose the one of the list there that is most like it: {'; '.join(known)}"
        click.echo(f"- No crop is known by the name {', '.join(found.unknown)}; {there}.")
    beds = zip(reading.rows, found.crops, strict=True)
    return [{"bed": row["bed"], "crop": crop} for row, crop in beds if crop]
