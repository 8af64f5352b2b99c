"""import-ledger: entries for the ledger from the export of a water company or a shop."""

from __future__ import annotations

from pathlib import Path

import click

from xlfuncs.errors import XlfuncsError
from xlfuncs.tables.date_words import DATE_ORDERS
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.lists.numbers import DECIMAL_MARKS, UnsettledError


@click.command(name="import-ledger")
@click.argument("export", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("report", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--units", type=click.Choice(SYSTEMS), default="us", show_default=True)
@click.option("--kind", help="Kind of every line, where the file has no column for it.")
@click.option("--unit", help="Unit of what is measured, where the file does not say.")
@click.option("--currency", help="Currency of the ledger.")
@click.option(
    "--period-from",
    type=click.Choice(["reading", "first day"]),
    help="What the first day of a bill's period is, if the bills do not show it.",
)
@click.option("--credits", type=click.Choice(["goods", "money"]),
              help="What came back with money that takes no other line back.")  # fmt: skip
@click.option("--date-order", type=click.Choice(DATE_ORDERS))
@click.option("--decimal-mark", type=click.Choice(DECIMAL_MARKS))
@click.option("--delimiter", help="What parts the columns of a CSV file.")
@click.option("--encoding", help="Encoding of a CSV file.")
@click.option("--sheet", help="Sheet of a workbook.")
@click.option(
    "--column",
    "columns",
    multiple=True,
    metavar="NAME=HEADING",
    help="Heading of a ledger column (NAME: date, period_start, kind, item, quantity, unit,"
    " amount, net, tax ...), if it is not found by itself. May be repeated.",
)
@click.option("--as", "kinds", multiple=True, metavar="WORD=MEANING",
              help="Kind or unit that a word of the file stands for, as \"St=pieces\". May be"
              " repeated.")  # fmt: skip
@click.option(
    "--ledger",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Workbook with your ledger: what is in it already is not taken in again.",
)
@click.option("--force", is_flag=True, help="Replace REPORT if it is there.")
def command(
    export: Path, report: Path, units: str, columns: tuple[str, ...], kinds: tuple[str, ...],
    ledger: Path | None, force: bool, **stated: str | None,
) -> None:  # fmt: skip
    """Read EXPORT (CSV or XLSX) and write REPORT, a workbook of entries, refusals and findings.

    What the file does not settle by itself (day or month first, decimal mark ...) is asked for.
    """
    from xlfuncs.workbooks.lists.ledger_import import entries_of, import_ledger
    from xlfuncs.workbooks.lists.ledger_report import write_import
    from xlfuncs.workbooks.lists.mapping import ListMapping

    if report.resolve() in {path.resolve() for path in (export, ledger) if path}:
        raise click.UsageError(f"{report} is what is read; choose another name for the report")
    if report.exists() and not force:
        raise click.UsageError(f"{report} is there already; choose another name, or --force")
    given = {name: value or "" for name, value in stated.items()}
    values = {name: given[name] for name in ("kind", "unit", "currency") if given[name]}
    said = ListMapping(
        columns=_pairs(columns, "--column"), words=_pairs(kinds, "--as"), values=values,
        decimal=given["decimal_mark"], date_order=given["date_order"], sheet=given["sheet"],
        delimiter=given["delimiter"], encoding=given["encoding"],
        period_from=given["period_from"], credits=given["credits"],
    )  # fmt: skip
    existing = entries_of(ledger) if ledger else ()
    try:
        result = import_ledger(export, units, said, existing)
    except UnsettledError as error:
        raise XlfuncsError(f"{error} The option: {_option(error.argument)}") from None
    write_import(result, report, units)
    for words in result.findings:
        click.echo(words)
    for line in result.refused:
        click.echo(f"line {line.line} refused: {line.reason}: {line.text}")
    for _, words in result.replaced:
        click.echo(f"in the ledger: {words}; say Counted: no there")
    for number, note in result.doubles:
        click.echo(f"line {number} is not counted: {note}")
    click.echo(f"{len(result.entries)} entries, {len(result.refused)} lines refused: {report}")


def _option(argument: str) -> str:
    """The option that states what is asked for, as it is typed."""
    if argument == "columns":
        return '--column "date=Your heading" --column "amount=Your heading" ...'
    return f"--{argument.replace('_', '-')} ..."


def _pairs(texts: tuple[str, ...], option: str) -> dict[str, str]:
    pairs = {}
    for text in texts:
        name, sign, value = text.partition("=")
        if not sign:
            raise click.UsageError(f"{option} needs an equals sign, got {text!r}")
        pairs[name.strip()] = value.strip()
    return pairs
