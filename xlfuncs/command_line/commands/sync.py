"""sync: what a bed list that lives on says otherwise than the plan that was made from it."""

from pathlib import Path

import click


@click.command(name="sync")
@click.argument("plan", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.argument("beds", type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option(
    "--mapping", type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="The answers that `new` was given about the list.",
)  # fmt: skip
@click.option("--take-over", is_flag=True, help="Type the changes into the plan, without asking.")
def command(plan: Path, beds: Path, mapping: Path | None, take_over: bool) -> None:
    """Read the list BEDS again and show what changed since PLAN; take it over on a word.

    Beds that are gone from the list, notes, and whatever the list leaves blank stay in the plan
    as they were typed. The old plan is kept as a backup beside the new one.
    """
    from xlfuncs.command_line.answering import answered_beds, in_terminal
    from xlfuncs.hosts.cells import worksheet_callables
    from xlfuncs.workbooks.checking.input_checks import check
    from xlfuncs.workbooks.checking.told import wrong_at_once
    from xlfuncs.workbooks.lists.bed_list_import import slopes_told
    from xlfuncs.workbooks.lists.mapping import answers_for_any, load
    from xlfuncs.workbooks.plan_changes import compare, read_plan, taken_over
    from xlfuncs.workbooks.recalculating.engine import evaluate
    from xlfuncs.workbooks.recalculating.recalculation import recalculated
    from xlfuncs.xlsx.contents import Contents
    from xlfuncs.xlsx.package import Package
    from xlfuncs.xlsx.saving import refuse_if_open, save

    content = plan.read_bytes()
    reading, rows = read_plan(content, plan.name)
    system = reading.marks.system
    of_new, otherwise = plan.with_suffix(".mapping.toml"), beds.with_suffix(".mapping.toml")
    begun = load(mapping) if mapping else None
    if begun is None and (there := [p for p in (of_new, otherwise) if p.exists()]):
        begun = answers_for_any(load(there[0]))
    known = {str(row.get("bed")): row for row in rows}
    found, _ = answered_beds(beds, system, None, otherwise, begun=begun, known=known)
    changes = compare(rows, found.rows, system)
    changes.left_out = found.left_out
    click.echo(str(changes))
    if not changes:
        return
    if not take_over and in_terminal():
        words = "Take this over into the plan? y, n, or the beds to leave as they are (B1, B2)"
        answer = click.prompt(words, default="n").strip().casefold()
        take_over = answer in ("y", "yes") or changes.without(answer)
        click.echo(str(changes) if answer not in ("y", "yes", "n", "no") else "")
    if not take_over or not changes:
        click.echo("Nothing was written; --take-over types it into the plan.")
        return
    refuse_if_open(plan)
    typed = taken_over(content, plan.name, changes)
    contents = Contents(Package.open(typed, plan.name))
    evaluation = evaluate(contents, worksheet_callables())
    made, report = recalculated(contents, evaluation)
    click.echo(f"The old plan: {save(plan, made or typed, backup=True)}")
    found_wrong = wrong_at_once(check(made or typed, evaluation.values))
    wrong = [line for line in found_wrong if " Beds!" in line]
    click.echo("\n".join([str(report), *wrong]))
    if plan.with_name(f"{plan.stem}-client.xlsx").exists():
        click.echo("A client has a copy: count Revision on Quoting up, then client-copy --force.")
    if not changes.added:
        return
    if hours := reading.inputs.settings.get("labour_hours"):
        click.echo(f"Labor on Quoting stays {hours:g} h, though beds were added: change it there.")
    for words in slopes_told(changes.added):
        click.echo(words)
