"""What the commands share that make a workbook again from its inputs."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from workbook_template.renewal.renewing import Remade

dry_run = click.option("--dry-run", is_flag=True, help="Only tell what would be done.")
output = click.option(
    "--output", type=click.Path(dir_okay=False, path_type=Path), help="Write here instead."
)


def finish(made: "Remade", file: Path, target: Path, *, dry_run: bool) -> None:
    """Tell what was made and write it; FILE itself is replaced only with a backup beside it."""
    from xlfuncs.xlsx.saving import save

    click.echo(str(made))
    if dry_run:
        click.echo(f"Nothing was written; it would go to {target}.")
        return
    same = target.exists() and target.resolve() == file.resolve()
    if target.exists() and not same:
        raise click.UsageError(f"{target} is there already; choose another --output")
    kept = save(target, made.content, backup=same)
    if kept is not None:
        click.echo(f"The old file: {kept}")
    click.echo(f"Workbook: {target}")
