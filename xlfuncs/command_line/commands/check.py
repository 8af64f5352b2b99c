"""check: what is wrong or doubtful in a workbook's inputs, in words with cell addresses."""

from pathlib import Path

import click

_TITLES = {"wrong": "Wrong", "doubtful": "Doubtful", "note": "To know"}


@click.command(name="check")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
def command(file: Path) -> None:
    """Say what is wrong or doubtful in the inputs of the workbook FILE, cell by cell.

    Looks at the input tables, the settings, what computed columns say of beds, and every call of
    these functions; changes nothing.
    Exit code 1 where anything is wrong; doubts alone give 0.
    """
    from xlfuncs.catalogue.findings.given import KINDS, WRONG
    from xlfuncs.workbooks.checking.input_checks import check

    findings = check(file)
    for kind in KINDS:
        of_kind = [finding for finding in findings if finding.kind == kind]
        if of_kind:
            click.echo(f"{_TITLES[kind]}:")
        for finding in of_kind:
            click.echo(f"  {finding}")
    if not findings:
        click.echo(f"{file.name}: nothing wrong and nothing doubtful was found.")
    if any(finding.kind == WRONG for finding in findings):
        raise click.exceptions.Exit(1)
