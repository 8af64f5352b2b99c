"""doctor: whether this machine, its spreadsheet programs and a workbook are ready."""

from pathlib import Path

import click


@click.command(name="doctor")
@click.argument(
    "workbook", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path)
)
@click.option("--verbose", is_flag=True, help="Tell what was found of what is in order too.")
def command(workbook: Path | None, verbose: bool) -> None:
    """Say in words whether this environment, LibreOffice and Excel on this machine can use the
    functions, and how to mend what cannot. With WORKBOOK, look into that workbook too.

    Exit code 1 if anything needs mending.
    """
    from xlfuncs.hosts.excel import readiness
    from xlfuncs.hosts.excel.machine import this_machine
    from xlfuncs.hosts.libreoffice.install import of_libreoffice
    from xlfuncs.hosts.readiness import of_environment

    machine = this_machine()
    findings = [*of_environment(Path.cwd()), *of_libreoffice(), *readiness.of_machine(machine)]
    if workbook is not None:
        findings += readiness.of_workbook(workbook, machine)
    faults = [finding for finding in findings if finding.mend]
    fine = [finding for finding in findings if not finding.mend]
    for finding in fine if verbose else ():
        click.echo(f"ok    {finding.subject}: {finding.words}")
    for finding in faults:
        click.echo(f"MEND  {finding.subject}: {finding.words}\n      To mend it: {finding.mend}")
    if not verbose:
        click.echo(f"In order: {', '.join(finding.subject for finding in fine)} (see --verbose)")
    if faults:
        click.echo(f"{len(faults)} of {len(findings)} need mending.")
        raise SystemExit(1)
    click.echo("Everything that was looked at is in order.")
