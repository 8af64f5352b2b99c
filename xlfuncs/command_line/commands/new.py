"""new: a workbook from a bed list, or an empty one with an example row."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from workbook_template.kit.declared import EDITIONS

if TYPE_CHECKING:
    from xlfuncs.workbooks.lists.bed_list_import import BedListReading
    from xlfuncs.workbooks.lists.mapping import ListMapping
    from xlfuncs.workbooks.lists.questions import Question


@click.command(name="new")
@click.argument("output", type=click.Path(dir_okay=False, path_type=Path))
@click.option(
    "--units", type=click.Choice(["us", "metric"]),
    help="Those of a workbook --from, else of the list's headings, else us.",
)  # fmt: skip
@click.option(
    "--beds",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Your bed list: CSV or XLSX, columns in any order, units in the headers.",
)
@click.option(
    "--mapping",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Answers to what the bed list does not say (TOML); asked for when needed.",
)
@click.option(
    "--excel", is_flag=True, help="For Excel on Windows: an .xlsm with the functions in it."
)
@click.option(
    "--for", "person", type=click.Choice(EDITIONS),
    help="Only the sheets that this person needs; all, unless a workbook --from has fewer.",
)  # fmt: skip
@click.option(
    "--from", "other", type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="Another workbook of yours: its lines, pipes, parts, prices, crops, soils, and on Quoting"
         " its lines, rates and markup.",
)  # fmt: skip
@click.option("--force", is_flag=True, help="Replace OUTPUT if it is there; a backup is kept.")
def command(
    output: Path, units: str | None, beds: Path | None, mapping: Path | None, excel: bool,
    person: str | None, other: Path | None, force: bool,
) -> None:  # fmt: skip
    """Make a workbook OUTPUT, from a bed list or empty with one example bed."""
    from workbook_template.build import build, edition_named, starting_inputs
    from workbook_template.first_plan import planned, questions
    from workbook_template.own_lists import OwnLists, own_lists
    from workbook_template.quoted_for import terms_of
    from workbook_template.renewal.renewing import converted
    from workbook_template.sheets.whole.start import answers_of
    from xlfuncs.workbooks.checking.input_checks import check
    from xlfuncs.workbooks.checking.told import of_proposal, told
    from xlfuncs.workbooks.lists.bed_list_import import stated_system
    from xlfuncs.xlsx.saving import save

    ending = ".xlsm" if excel else ".xlsx"
    if output.suffix.lower() != ending:
        raise click.UsageError(f"{output}: the name must end in {ending}")
    if output.exists() and not force:
        told_in = output.with_suffix(".mapping.toml")
        asked = f", and asks only what {told_in.name} leaves open" if told_in.exists() else ""
        there = f"{output} is there already; --force makes it anew, with a backup{asked}"
        raise click.UsageError(f"{there}. Or choose another name")
    last = own_lists(other) if other else OwnLists()
    lists, system, words = last.inputs, last.system, list(last.words)
    if beds and not (units or lists) and (units := stated_system(beds)) != system:
        click.echo(f"Units: {units}, by the list; else --units {system}", err=True)
    units, person = units or system, person or last.edition
    if lists and units != system:
        lists = converted(lists, system, units)
    inputs = starting_inputs(units, lists=lists, person=person)
    terms: dict[str, Any] = {}
    if beds:
        lines = [str(row["line"]) for row in inputs.tables["Lines"]]
        open_in = partial(questions, person=person, system=units, start=inputs, last=last)
        reading, given = _read(beds, units, mapping, output, lines, open_in)
        terms, assumed = terms_of(given, inputs.settings, last.hours_a_bed * len(reading.rows))
        farm = terms.get("client") or output.stem.replace("-", " ").capitalize()
        inputs, told_of = planned(reading, given, inputs, lists, (farm, units, person))
        inputs = replace(inputs, settings={**inputs.settings, **terms})
        words += [*told_of, *assumed]
    words = [*last.not_taken_over(terms), *words]
    if output.exists() and (kept := save(output, output.read_bytes(), backup=True)):
        words.append(f"The old file: {kept.name}")
    built = build(output, units, inputs, macros=excel, edition=person)
    if beds:  # what is to be done first, then how the list was read
        *answers, _ = answers_of(built.values, edition_named(person))  # the last: how much is wrong
        if other:  # who planned the last garden finds the sets on Timer
            answers = [line for line in answers if not line.startswith(("Sets", "Minutes"))]
        found = [f for f in check(output, built.values) if of_proposal(f)]
        click.echo("\n".join([*told(found, named=False, doubts=False), *answers]))
    click.echo("\n".join([*words, f"Workbook: {output}; begin at its sheet Start."]))


def _read(
    beds: Path, units: str, mapping: Path | None, output: Path, lines: list[str],
    open_in: Callable[["ListMapping", "BedListReading"], Sequence["Question"]],
) -> tuple["BedListReading", Mapping[str, Any]]:  # fmt: skip
    """What came of the bed list, and the answers to what is `open_in` it; stops with questions
    and a mapping file to answer them in."""
    from xlfuncs.command_line.answering import answered_beds
    from xlfuncs.workbooks.lists.questions import OpenQuestions

    otherwise = output.with_suffix(".mapping.toml")
    try:
        return answered_beds(beds, units, mapping, otherwise, {"line": lines}, open_in)
    except OpenQuestions as open_questions:
        click.echo(str(open_questions), err=True)
        words = "Another line may be named; enter it on the sheet Lines afterwards."
        click.echo(words, err=True)
        raise SystemExit(1) from None
