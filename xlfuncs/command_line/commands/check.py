"""check: what is wrong or doubtful in a workbook's inputs, in words with cell addresses."""

from pathlib import Path

import click


@click.command(name="check")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--verbose", is_flag=True, help="Every cell in a line of its own.")
def command(file: Path, verbose: bool) -> None:
    """Say what is missing, wrong or doubtful in the inputs of the workbook FILE.

    Looks at the input tables, the settings, what computed columns say of beds, and every call of
    these functions; changes nothing. What a purchase or a proposal rests on comes first.
    Exit code 1 where anything is wrong; doubts alone give 0.
    """
    from xlfuncs.catalogue.findings.given import NOTE, WRONG
    from xlfuncs.workbooks.checking.input_checks import check
    from xlfuncs.workbooks.checking.told import told
    from xlfuncs.workbooks.our_tables.findings import EXAMPLES_USED
    from xlfuncs.workbooks.refused_lines import in_words, kept, table_of

    findings = check(file)
    for line in [f"{f.kind.capitalize()}: {f}" for f in findings] if verbose else told(findings):
        click.echo(line)
    if refused := kept(file):
        where = f"{table_of(file).name} and the tax page list them"
        click.echo(f"Note: not in the ledger: {in_words(refused) or len(refused)}; {where}")
    if all(f.kind == NOTE and EXAMPLES_USED not in f.words for f in findings):
        click.echo(f"{file.name} is ready: nothing is missing, wrong or doubtful.")
    if any(finding.kind == WRONG for finding in findings):
        raise click.exceptions.Exit(1)
