"""client-copy: the consultant's copy of a workbook for a client, without costs, notes or macros."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="client-copy")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--output", type=click.Path(path_type=Path),
    help="Where to write the copy; by default FILE with -client before its ending.",
)  # fmt: skip
@click.option(
    "--include",
    multiple=True,
    metavar="NAME",
    help="A sheet or column of your own to take along; none goes along by itself.",
)
@click.option("--leave-out", multiple=True, metavar="SHEET", help="A sheet to keep to yourself.")
@click.option("--markup", type=click.FloatRange(min=0), help="Part of cost to add, such as 0.4.")
@click.option(
    "--margin", type=click.FloatRange(min=0, max=1, max_open=True),
    help="Part of price to keep, in place of --markup.",
)  # fmt: skip
@click.option("--values-only", is_flag=True, help="No formulas at all, for any viewer.")
@click.option("--protect", is_flag=True, help="Lock everything but the inputs; no password.")
@click.option("--pdf", is_flag=True, help="Also write the copy's pages as PDF, by LibreOffice.")
@click.option("--force", is_flag=True, help="Replace a copy that is there.")
def command(
    file: Path,
    output: Path | None,
    include: tuple[str, ...],
    leave_out: tuple[str, ...],
    markup: float | None,
    margin: float | None,
    values_only: bool,
    protect: bool,
    pdf: bool,
    force: bool,
) -> None:
    """Write a copy of the workbook FILE that can go to a client.

    It is built from the inputs in FILE. Prices in it are selling prices, by the workbook's own
    markup or margin or the one given here, which then requotes everything. Formulas with our
    functions become ordinary ones where that is possible, else values that notice when an input
    behind them is changed. FILE itself is not changed.
    """
    from workbook_template.client_copy.copying import Wishes, client_copy
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.xlsx.saving import save

    if markup is not None and margin is not None:
        raise click.UsageError("give --markup or --margin, not both; the other follows")
    target = output or file.with_name(f"{file.stem}-client.xlsx")
    if target.suffix.lower() != ".xlsx":
        raise click.UsageError(f"{target}: a client's copy is an .xlsx file")
    if target.exists() and (not force or target.resolve() == file.resolve()):
        raise click.UsageError(f"{target} is there already; choose another --output, or --force")
    wishes = Wishes(markup, include, leave_out, values_only, protect, margin)
    copy = client_copy(file, worksheet_callables(), wishes)
    save(target, copy.content)
    click.echo(str(copy))
    click.echo(f"Client's copy: {target}")
    if pdf:
        _write_pdf(target.with_suffix(".pdf"), copy.pages)
    if copy.left_blank:
        raise click.exceptions.Exit(1)


def _write_pdf(target: Path, content: bytes) -> None:
    """The pages of a copy that holds values only, so that they show what it shows."""
    import tempfile

    from xlfuncs.hosts.libreoffice.office import Office
    from xlfuncs.xlsx.saving import save

    with tempfile.TemporaryDirectory() as folder, Office() as office:
        book = Path(folder) / f"{target.stem}.xlsx"
        book.write_bytes(content)
        pages = office.to_pdf(book, book.with_suffix(".pdf"), recalculate=False)
        save(target, pages.read_bytes())
    click.echo(f"Pages: {target}")
