"""new: a workbook from a bed list, or an empty one with an example row."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import click

from workbook_template.kit.declared import EDITIONS


@click.command(name="new")
@click.argument("output", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
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
@click.option("--force", is_flag=True, help="Replace OUTPUT if it is there.")
def command(
    output: Path,
    units: str,
    beds: Path | None,
    mapping: Path | None,
    excel: bool,
    person: str,
    force: bool,
) -> None:
    """Make a workbook OUTPUT, from a bed list or empty with one example bed."""
    from workbook_template.build import build, starting_inputs

    ending = ".xlsm" if excel else ".xlsx"
    if output.suffix.lower() != ending:
        raise click.UsageError(f"{output}: the name must end in {ending}")
    if output.exists() and not force:
        raise click.UsageError(f"{output} is there already; choose another name, or --force")
    tables = starting_inputs(units).tables
    known = {table: _names(tables[table]) for table in ("Lines", "Pipes")}
    rows = _read(beds, units, mapping, output, known) if beds else None
    build(output, units, starting_inputs(units, rows), macros=excel, edition=person)
    for column, table in (("line", "Lines"), ("main_pipe", "Pipes"), ("manifold_pipe", "Pipes")):
        for name in sorted({str(row[column]) for row in rows or () if row.get(column)}):
            if name not in known[table]:
                there = f"the {table.lower()} of the workbook yet ({', '.join(known[table])})"
                click.echo(f"- {name!r} is not among {there}: enter it on its sheet Lines.")
    click.echo(f"Workbook: {output}")
    click.echo("Open it at the sheet Start, which says what to fill in, in order.")


def _names(rows: Sequence[Mapping[str, object]]) -> list[str]:
    return [str(next(iter(row.values()))) for row in rows]


def _read(
    beds: Path, units: str, mapping: Path | None, output: Path, known: Mapping[str, list[str]]
) -> list[dict[str, object]]:
    """The rows of the bed list; stops with questions and a mapping file to answer them in."""
    from xlfuncs.command_line.answering import answered_beds
    from xlfuncs.workbooks.lists.questions import OpenQuestions

    try:
        reading = answered_beds(beds, units, mapping, output.with_suffix(".mapping.toml"))
    except OpenQuestions as open_questions:
        click.echo(str(open_questions), err=True)
        for table, names in known.items():
            there = f"The {table.lower()} of a new workbook, by name: {', '.join(names)}."
            click.echo(there, err=True)
        click.echo("Another may be named; enter it on the sheet Lines afterwards.", err=True)
        raise SystemExit(1) from None
    for line in reading.report:
        click.echo(f"- {line}")
    return [dict(row) for row in reading.rows]
