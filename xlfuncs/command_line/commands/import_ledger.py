"""import-ledger: entries for the ledger from the exports of water companies and shops."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from xlfuncs.errors import XlfuncsError
from xlfuncs.tables.header_words import DATE_ORDERS
from xlfuncs.tables.money.ledger import KINDS
from xlfuncs.units import SYSTEMS
from xlfuncs.workbooks.lists.numbers import DECIMAL_MARKS, UnsettledError

if TYPE_CHECKING:
    from xlfuncs.workbooks.ledger_books import Plan
    from xlfuncs.workbooks.lists.mapping import ListMapping

_PATH = click.Path(dir_okay=False, path_type=Path)
_ADDED_UP = ("tax", "tax included", "fixed", "quantity", "note")  # columns of several headings
_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)


@click.command(name="import-ledger")
@click.argument("exports", nargs=-1, type=_PATH)
@click.option("--into", type=_PATH, help="The workbook for the entries; made if there is none.")
@click.option("--undo", is_flag=True, help="Take the last import into the workbook back.")
@click.option("--dry-run", is_flag=True, help="Only tell what would be done.")
@click.option("--yes", is_flag=True, help="Do not ask before writing.")
@click.option("--verbose", is_flag=True, help="Tell too how each file was read, line by line.")
@click.option("--supplier", help="Whose exports these are: the name that the answers are kept by"
              " (default: the file's name without its numbers).")  # fmt: skip
@click.option("--units", type=click.Choice(SYSTEMS),
              help="Of a report, or of a new workbook (else as the files).")  # fmt: skip
@click.option(
    "--kind",
    help=f"Kind of every line: {', '.join(KINDS)}, or a word of your own"
    " (counted in pieces). The heading of the file's categories keeps those.",
)
@click.option("--unit", help="Unit of what is measured, where the file does not say.")
@click.option("--currency", help="Currency of the ledger.")
@click.option("--period-from", type=click.Choice(["reading", "first day"]),
              help="What a bill's first day is, if the bills do not show it.")  # fmt: skip
@click.option("--credits", type=click.Choice(["goods", "money"]),
              help="What came back with money that takes no other line back.")  # fmt: skip
@click.option("--tax", type=click.Choice(["included", "on top"]),
              help="Of an amount beside a tax, where nothing tells.")  # fmt: skip
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
    help="Heading of a ledger column, if it is not found by itself: last day (date), first day,"
    " kind, item, quantity, unit, amount, net, tax, fixed, recoverable, currency, share,"
    " reference, meter, bill_date (of the paper), counted, note. May be repeated; several of tax,"
    " fixed, quantity or note are added up. Of several files it goes to those that have it.",
)
@click.option("--as", "kinds", multiple=True, metavar="WORD=MEANING",
              help="Kind or unit that a word of the file stands for, as \"St=pieces\". May be"
              " repeated.")  # fmt: skip
@click.option("--ledger", type=_FILE,
              help="For a report: what this workbook has is not taken in again.")  # fmt: skip
@click.option("--force", is_flag=True, help="Replace the report if it is there.")
def command(
    exports: tuple[Path, ...], into: Path | None, undo: bool, dry_run: bool, yes: bool,
    verbose: bool, supplier: str | None, units: str | None, columns: tuple[str, ...],
    kinds: tuple[str, ...], ledger: Path | None, force: bool, **stated: str | None,
) -> None:  # fmt: skip
    """Read EXPORTS (CSV or XLSX) and add what is new to the ledger of the workbook --into.

    Everything else in the workbook stays; a backup lies beside it. What an export does not settle
    by itself is asked for; answers are kept beside the workbook, in SUPPLIER.import.toml, and
    needed no more. Without --into, EXPORT and REPORT: a new workbook to copy the entries from.
    """
    from xlfuncs.workbooks.ledger_books import OR, answers_for, settings_file, where_headed
    from xlfuncs.workbooks.ledger_books import undo as take_back
    from xlfuncs.workbooks.lists.mapping import ListMapping
    from xlfuncs.workbooks.refused_lines import ENDING

    if undo:
        if into is None or exports:
            raise click.UsageError("--undo goes with --into, and with no export")
        click.echo(take_back(into))
        return
    given = {name: value or "" for name, value in stated.items()}
    values = {name: given[name] for name in ("kind", "unit", "currency", "tax") if given[name]}
    said = ListMapping(
        columns=_pairs(columns, "--column", OR if into else ""),
        words=_pairs(kinds, "--as"), values=values,
        decimal=given["decimal_mark"], date_order=given["date_order"], sheet=given["sheet"],
        delimiter=given["delimiter"], encoding=given["encoding"],
        period_from=given["period_from"], credits=given["credits"],
    )  # fmt: skip
    if into is None and len(exports) != 2:
        raise click.UsageError("name exports and --into the workbook, or one export and a REPORT")
    for path in exports if into else exports[:1]:
        if not path.is_file():
            raise click.UsageError(f"there is no file {path}")
        if path.name.endswith(ENDING):
            raise click.UsageError(f"{path} is what imports refused, no export: leave it out")
    try:
        if into is None:
            _report(exports[0], exports[1], units or "us", said, ledger, force=force)
        else:
            kept = [settings_file(into, path, supplier or "") for path in exports]
            said_of = where_headed(
                {path: answers_for(file, said) for path, file in zip(exports, kept, strict=True)},
                said.columns.values(),
            )
            for name, text in (c for one in said_of.values() for c in one.columns.items()):
                if OR in text:
                    headings = ", ".join(map(repr, text.split(OR)))
                    raise click.UsageError(f"--column {name} is given twice: {headings}")
            _into(into, units, said_of, kept, dry_run=dry_run, yes=yes, verbose=verbose)
    except UnsettledError as error:
        raise XlfuncsError("\n".join(map(_open, (error, *error.others)))) from None


def _new(into: Path, units: str) -> bytes:
    """A bookkeeper's workbook, which is written with the first entries."""
    from workbook_template.build import computed, starting_inputs, write

    if into.suffix.lower() != ".xlsx":
        raise click.UsageError(f"{into}: the name must end in .xlsx")
    return computed(write(units, starting_inputs(units), edition="bookkeeper"))[0]


def _into(
    into: Path, units: str | None, said_of: "dict[Path, ListMapping]", kept: list[Path], *,
    dry_run: bool, yes: bool, verbose: bool,
) -> None:  # fmt: skip
    from xlfuncs.command_line.answering import in_terminal
    from xlfuncs.workbooks.ledger_books import keep_answers, planned, system_of, where_headed
    from xlfuncs.workbooks.ledger_report import refuse_money_lost
    from xlfuncs.workbooks.lists.mapping import ListMapping

    files = dict(zip(said_of, kept, strict=True))
    left: list[UnsettledError] = []  # of files that wait, while those that are clear go on
    new, system = b"", ""
    typed = {text for said in said_of.values() for text in said.columns.values()}
    while True:
        if not into.exists() and (units or system_of([*said_of.items()])) != system:
            system = units or system_of([*said_of.items()])
            new = _new(into, system)  # again, where an answer tells of m³
        try:
            plan = planned(into, list(said_of.items()), new)
            break
        except UnsettledError as error:
            if error.path is None or not in_terminal():
                raise
            of_supplier = {files[one.path]: one for one in (*error.others[::-1], error) if one.path}
            for file, one in reversed(of_supplier.items()):  # of several files once
                assert one.path
                said, whole = _asked(one, said_of[one.path])
                alike = {path: said for path in said_of if files[path] == file}
                said_of = where_headed(said_of | alike, typed)
                if not dry_run:
                    keep_answers(file, said)
                if not whole:
                    left.append(one)
                    said_of.pop(one.path)
            if not said_of:
                break
    if said_of:
        if system:
            click.echo(f"{into.name} is new, in {system} units")
        click.echo(plan.in_words(verbose=verbose))
        answers: dict[Path, ListMapping] = {}
        for path, said in said_of.items():  # of a supplier's files together
            before = answers[files[path]].columns if files[path] in answers else {}
            answers[files[path]] = replace(said, columns={**before, **said.columns})
        _written(plan, answers, dry_run=dry_run, yes=yes, verbose=verbose)
    if left:
        waits = "Of these files nothing came in; the answers given are kept:\n"
        raise XlfuncsError(waits + "\n".join(map(_open, left)))
    if plan.unread:
        raise XlfuncsError(f"Nothing came in of {', '.join(plan.unread)}; why is said above.")
    refuse_money_lost(plan.read)


def _written(
    plan: "Plan", answers: "dict[Path, ListMapping]", *, dry_run: bool, yes: bool, verbose: bool
) -> None:
    """Writes what is new, once somebody says yes to it; says what Years says then."""
    from xlfuncs.command_line.answering import in_terminal
    from xlfuncs.workbooks.ledger_books import keep_answers
    from xlfuncs.workbooks.refused_lines import in_words, keep_those_of, kept, table_of

    without = f" without {', '.join(plan.unread)}, of which no line can be read"
    without = without if plan.unread else ""
    overlap = ", ".join(path.name for path, result in plan.read if result.overlap)
    over = f"most bills of {overlap} overlap" if overlap else ""
    if not plan.entries and not plan.changed:
        click.echo(f"Nothing is new{without}; nothing was written.")
        if plan.book.exists() and not dry_run:
            keep_those_of(plan.book, plan.read)  # of what is refused
        return
    if not (dry_run or yes or in_terminal()):
        raise click.UsageError("nothing was written, for nobody is here to say yes: add --yes")
    if over and yes and not dry_run:
        raise XlfuncsError(f"Nothing was written, for {over}, see above")
    though = f", though {over}" if over else ""
    if dry_run or (not yes and not click.confirm(f"Write it{without}{though}?")):
        there = [file.name for file in answers if file.exists() and not dry_run]
        click.echo(f"Nothing was written{'; answers are in ' * bool(there)}{', '.join(there)}.")
        return
    backup, report, year = plan.write()
    words = [str(report)] if verbose or report.unevaluated else []
    if refused := kept(plan.book):
        words.append(f"Not in the ledger, on the tax page and in {table_of(plan.book).name}:"
                     f" {in_words(refused) or len(refused)}")  # fmt: skip
    undo = f"Written; --undo takes it back (backup: {backup.name if backup else 'none'})"
    click.echo("\n".join([*words, *filter(None, [year]), undo]))
    new = [file.name for file, said in answers.items() if keep_answers(file, said)]
    if new:
        click.echo(f"Answers for the next exports: {', '.join(new)}")


def _asked(error: UnsettledError, said: "ListMapping") -> "tuple[ListMapping, bool]":
    """The answers given on the terminal until one is left for later, and whether each has one.

    Where there is but one choice, Enter takes it.
    """
    from xlfuncs.command_line.answering import ask
    from xlfuncs.workbooks.lists.mapping import with_answer

    click.echo(f"\n{error.path.name if error.path else ''}", nl=False, err=True)
    for question in error.questions:
        one = len(question.choices) == 1
        default = question.choices[0] if one else question.default
        put = replace(question, default=default, later=True)
        answer = ask(put) if question.choices else ""
        if not answer:
            if not question.choices:  # a heading that is not there is not kept
                columns = {k: v for k, v in said.columns.items() if k != question.key[-1]}
                said = replace(said, columns=columns)
            return said, False
        said = with_answer(said, question, answer)
    return said, True


def _report(
    export: Path, report: Path, units: str, said: "ListMapping", ledger: Path | None, *, force: bool
) -> None:
    from xlfuncs.workbooks.ledger_report import refuse_money_lost, told, write_import
    from xlfuncs.workbooks.lists.ledger.importing import entries_of, import_ledger

    if report.resolve() in {path.resolve() for path in (export, ledger) if path}:
        raise click.UsageError(f"{report} is what is read; choose another name for the report")
    if report.exists() and not force:
        raise click.UsageError(f"{report} is there already; choose another name, or --force")
    result = import_ledger(export, units, said, entries_of(ledger) if ledger else ())
    write_import(result, report, units)
    for words in told(result, verbose=True):
        click.echo(words)
    click.echo(f"{len(result.entries)} entries, {len(result.faulty)} lines refused: {report}")
    refuse_money_lost([(export, result)])


def _open(error: UnsettledError) -> str:
    """The questions of a file, each with the options that answer it, ready to be typed."""
    lines = []
    for question in error.questions:
        options = " or ".join(question.option(choice) for choice in question.choices[:6])
        lines.append(f"{question.words}" + (f"\n    {options}" if options else ""))
    first = [question.option() for question in error.questions if question.choices]
    if len(first) > 1:
        lines.append(f"If the first of each is right, add: {' '.join(first)}")
    where = f"{error.path.name} leaves open:\n" if error.path else ""
    return where + "\n".join(lines)


def _pairs(texts: tuple[str, ...], option: str, several: str = "") -> dict[str, str]:
    pairs: dict[str, str] = {}
    for text in texts:
        name, sign, value = (part.strip() for part in text.partition("="))
        if not sign:
            raise click.UsageError(f"{option} needs an equals sign, got {text!r}")
        if name in pairs and name not in _ADDED_UP and not several:
            raise click.UsageError(f"{option} {name} is given twice: {pairs[name]!r}, {value!r}")
        between = " + " if name in _ADDED_UP else several
        pairs[name] = f"{pairs[name]}{between}{value}" if name in pairs else value
    return pairs
