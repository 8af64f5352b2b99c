"""import-ledger: entries for the ledger from the exports of water companies and shops."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from xlfuncs.errors import XlfuncsError
from xlfuncs.tables.header_words import DATE_ORDERS
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.lists.numbers import DECIMAL_MARKS, UnsettledError

if TYPE_CHECKING:
    from xlfuncs.workbooks.lists.mapping import ListMapping

_PATH = click.Path(dir_okay=False, path_type=Path)
_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(name="import-ledger")
@click.argument("exports", nargs=-1, type=_PATH)
@click.option("--into", type=_FILE, help="The workbook whose ledger the new entries go into.")
@click.option("--undo", is_flag=True, help="Take the last import into the workbook back.")
@click.option("--dry-run", is_flag=True, help="Only tell what would be done.")
@click.option("--yes", is_flag=True, help="Do not ask before writing.")
@click.option("--supplier", help="Whose exports these are: the name that the answers are kept by"
              " (default: the file's name without its numbers).")  # fmt: skip
@click.option("--units", type=click.Choice(SYSTEMS), default="us", show_default=True,
              help="Of a report; a workbook has its own.")  # fmt: skip
@click.option("--kind", help="Kind of every line, where the file has no column for it.")
@click.option("--unit", help="Unit of what is measured, where the file does not say.")
@click.option("--currency", help="Currency of the ledger.")
@click.option("--period-from", type=click.Choice(["reading", "first day"]),
              help="What a bill's first day is, if the bills do not show it.")  # fmt: skip
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
    help="Heading of a ledger column (NAME: date, period_start, kind, item, quantity,"
    " unit, amount, net, tax, recoverable, currency, share, reference, meter, bill_date, counted,"
    " note), if it is not found by itself. May be repeated.",
)
@click.option("--as", "kinds", multiple=True, metavar="WORD=MEANING",
              help="Kind or unit that a word of the file stands for, as \"St=pieces\". May be"
              " repeated.")  # fmt: skip
@click.option("--ledger", type=_FILE,
              help="For a report: what this workbook has is not taken in again.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace the report if it is there.")
def command(
    exports: tuple[Path, ...], into: Path | None, undo: bool, dry_run: bool, yes: bool,
    supplier: str | None, units: str, columns: tuple[str, ...], kinds: tuple[str, ...],
    ledger: Path | None, force: bool, **stated: str | None,
) -> None:  # fmt: skip
    """Read EXPORTS (CSV or XLSX) and add what is new to the ledger of the workbook --into.

    Everything else in the workbook stays; a backup lies beside it. What an export does not settle
    by itself is asked for; answers are kept beside the workbook, in SUPPLIER.import.toml, and
    needed no more. Without --into, EXPORT and REPORT: a new workbook to copy the entries from.
    """
    from xlfuncs.workbooks.ledger_books import answers_for, settings_file
    from xlfuncs.workbooks.ledger_books import undo as take_back
    from xlfuncs.workbooks.lists.mapping import ListMapping

    if undo:
        if into is None or exports:
            raise click.UsageError("--undo goes with --into, and with no export")
        click.echo(take_back(into))
        return
    given = {name: value or "" for name, value in stated.items()}
    values = {name: given[name] for name in ("kind", "unit", "currency") if given[name]}
    said = ListMapping(
        columns=_pairs(columns, "--column"), words=_pairs(kinds, "--as"), values=values,
        decimal=given["decimal_mark"], date_order=given["date_order"], sheet=given["sheet"],
        delimiter=given["delimiter"], encoding=given["encoding"],
        period_from=given["period_from"], credits=given["credits"],
    )  # fmt: skip
    if into is None and len(exports) != 2:
        raise click.UsageError("name exports and --into the workbook, or one export and a REPORT")
    for path in exports if into else exports[:1]:
        if not path.is_file():
            raise click.UsageError(f"there is no file {path}")
    try:
        if into is None:
            _report(exports[0], exports[1], units, said, ledger, force=force)
        else:
            kept = [settings_file(into, path, supplier or "") for path in exports]
            answers = [answers_for(file, said) for file in kept]
            _into(into, list(zip(exports, answers, kept, strict=True)), dry_run, yes)
    except UnsettledError as error:
        raise XlfuncsError(f"{error} The option: {_option(error.argument)}") from None


def _into(into: Path, read: list[tuple[Path, ListMapping, Path]], dry_run: bool, yes: bool) -> None:
    from xlfuncs.command_line.answering import in_terminal
    from xlfuncs.workbooks.ledger_books import keep_answers, planned

    plan = planned(into, [(path, answers) for path, answers, _ in read])
    click.echo(str(plan))
    if not plan.entries and not plan.changed:
        click.echo("Nothing is new; nothing was written.")
        return
    if dry_run or (not yes and in_terminal() and not click.confirm("Write it?")):
        click.echo("Nothing was written.")
        return
    backup, report = plan.write()
    click.echo(f"{report}\nThe workbook as it was: {backup}; --undo brings it back.")
    for _, answers, kept in read:
        if keep_answers(kept, answers):
            click.echo(f"Answers for the next export: {kept}")


def _report(
    export: Path, report: Path, units: str, said: ListMapping, ledger: Path | None, *, force: bool
) -> None:
    from xlfuncs.workbooks.ledger_books import told, write_import
    from xlfuncs.workbooks.lists.ledger_import import entries_of, import_ledger

    if report.resolve() in {path.resolve() for path in (export, ledger) if path}:
        raise click.UsageError(f"{report} is what is read; choose another name for the report")
    if report.exists() and not force:
        raise click.UsageError(f"{report} is there already; choose another name, or --force")
    result = import_ledger(export, units, said, entries_of(ledger) if ledger else ())
    write_import(result, report, units)
    for words in told(result):
        click.echo(words)
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
