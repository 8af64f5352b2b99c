"""client-copy: what goes to a client: a proposal as PDF, and a workbook without costs or notes."""

from dataclasses import replace
from pathlib import Path

import click


@click.command(name="client-copy")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--output", type=click.Path(path_type=Path),
    help="Where to write the copy; by default FILE with -client before its ending.",
)  # fmt: skip
@click.option(
    "--settings", type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Your settings of proposals; by default proposal.toml beside FILE, where there is one.",
)  # fmt: skip
@click.option(
    "--include",
    multiple=True,
    metavar="NAME",
    help="A sheet or column of your own, or a sheet not filled in, to take along.",
)
@click.option("--leave-out", multiple=True, metavar="SHEET", help="A sheet to keep to yourself.")
@click.option("--markup", type=click.FloatRange(min=0), help="Part of cost to add, such as 0.4.")
@click.option(
    "--margin", type=click.FloatRange(min=0, max=1, max_open=True),
    help="Part of price to keep, in place of --markup.",
)  # fmt: skip
@click.option("--exact", is_flag=True, help="Every price by the markup to the cent, none moved.")
@click.option("--values-only", is_flag=True, help="No formulas at all, for any viewer.")
@click.option("--protect", is_flag=True, help="Lock everything but the inputs; no password.")
@click.option("--quotation-only", is_flag=True, help="A PDF of the quotation alone, on one page.")
@click.option(
    "--pages", metavar="NAMES",
    help="Pages of the PDF, with commas: cover, design, map, options, quotation, calendar, terms.",
)  # fmt: skip
@click.option("--force", is_flag=True, help="Replace a copy that is there.")
@click.option("--verbose", is_flag=True, help="Name each sheet, cell and reason.")
def command(
    file: Path, output: Path | None, settings: Path | None, include: tuple[str, ...],
    leave_out: tuple[str, ...], markup: float | None, margin: float | None, exact: bool,
    values_only: bool, protect: bool, quotation_only: bool, pages: str | None, force: bool,
    verbose: bool,
) -> None:  # fmt: skip
    """Write what of the workbook FILE can go to a client: a proposal (PDF) and a copy (.xlsx).

    Both are built from the inputs in FILE. Prices in them are selling prices, by the workbook's own
    markup or margin or the one given here, which then requotes everything. Formulas with our
    functions become ordinary ones where that is possible, else values that notice when an input
    behind them is changed. FILE itself is not changed.
    """
    from workbook_template.client_copy.agreeing import left_open, not_told, to_settle
    from workbook_template.client_copy.copying import Wishes, client_copy
    from workbook_template.client_copy.scheme import EXACT, Scheme, secret_of
    from workbook_template.client_copy.settings import NAME, PAGES, Settings, read_settings
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.checking.input_checks import check
    from xlfuncs.workbooks.checking.told import of_proposal, told
    from xlfuncs.workbooks.recalculating.engine import evaluate
    from xlfuncs.xlsx.saving import save

    if markup is not None and margin is not None:
        raise click.UsageError("give --markup or --margin, not both; the other follows")
    chosen = [name.strip().lower() for name in (pages or "").split(",") if name.strip()]
    if unknown := [name for name in chosen if name not in PAGES]:
        raise click.UsageError(f"--pages {unknown[0]}: is none of {', '.join(PAGES)}")
    if quotation_only and chosen:
        raise click.UsageError("give --quotation-only or --pages, not both")
    target = output or file.with_name(f"{file.stem}-client.xlsx")
    if target.suffix.lower() != ".xlsx":
        raise click.UsageError(f"{target}: a client's copy is an .xlsx file")
    proposal = target.with_suffix(".pdf")
    for path in (target, proposal):
        if path.exists() and (not force or path.resolve() == file.resolve()):
            raise click.UsageError(f"{path} is there already; choose another --output, or --force")
    beside = settings or file.with_name(NAME)
    secret = "" if beside.is_file() or exact else secret_of(file.read_bytes())
    own = read_settings(beside) if beside.is_file() else Settings(prices=Scheme(secret=secret))
    own = replace(own, prices=EXACT) if exact else own
    wishes = Wishes(markup, include, leave_out, values_only, protect, margin, own, target)
    functions = worksheet_callables()
    copy = client_copy(file, functions, wishes)
    document = copy.proposal(["quotation"] if quotation_only else chosen)
    kept = [
        saved for saved in (save(target, copy.content, backup=copy.keeps_former),
                            save(proposal, document, backup=copy.keeps_former)) if saved
    ]  # fmt: skip
    if secret:
        save(beside, f'[prices]\nsecret = "{secret}"\n'.encode())
    # Of the search of whole designs, which takes long, no client sees anything: as the file has it.
    quick = {name: function for name, function in functions.items() if name != "DESIGNS"}
    findings = check(file, evaluate(file, quick).values)
    others = not_told(copy.facts, [f for f in findings if of_proposal(f)])
    for line in (*to_settle(others), str(copy) if verbose else copy.brief(),
                 *told(others, named=False), *left_open(copy.facts, others)):  # fmt: skip
        click.echo(line)
    new = " (its secret holds unchanged prices in every revision)" if secret else ""
    own_files = [file, *[f"{beside}{new}"] * beside.is_file(), *kept]
    click.echo(f"Send: {proposal}, {target}\nKeep: {', '.join(map(str, own_files))}")
    if copy.left_blank:
        raise click.exceptions.Exit(1)
