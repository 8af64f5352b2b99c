"""doctor: whether this machine, its spreadsheet programs and a workbook are ready."""

from pathlib import Path

import click


@click.command(name="doctor")
@click.argument(
    "workbook", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path)
)
def command(workbook: Path | None) -> None:
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
    for finding in findings:
        click.echo(f"{'MEND' if finding.mend else 'ok':4}  {finding.subject}: {finding.words}")
        if finding.mend:
            click.echo(f"      To mend it: {finding.mend}")
    faults = sum(bool(finding.mend) for finding in findings)
    if faults:
        click.echo(f"{faults} of {len(findings)} need mending.")
        raise SystemExit(1)
    click.echo("Everything that was looked at is in order.")
