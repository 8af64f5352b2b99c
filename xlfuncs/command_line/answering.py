"""Questions about a list: put in the terminal where there is one, else left in a mapping file."""

import datetime as dt
import re
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import deepcopy
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

import click

from xlfuncs.errors import WorkbookError
from xlfuncs.tables.columns import Table
from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.tables.header_words import plain
from xlfuncs.workbooks.lists.bed_list_import import BedListReading, read_bed_list
from xlfuncs.workbooks.lists.mapping import (
    LISTS,
    ListMapping,
    load,
    mapping_from,
    mapping_text,
    written_here,
)
from xlfuncs.workbooks.lists.questions import LEAVE_OUT, OpenQuestions, Question
from xlfuncs.xlsx.saving import save

Read = TypeVar("Read")


def in_terminal() -> bool:
    return sys.stdin.isatty() and sys.stderr.isatty()


def answered(
    read: Callable[[ListMapping], Read], table: Table, mapping: Path | None, otherwise: Path,
    begun: Mapping[str, Any] | None = None,
) -> Read:  # fmt: skip
    """What `read` gives with the answers of a mapping file or those `begun` with, or given now.

    Answers of the terminal are kept in the mapping file, or in the file `otherwise`, but not those
    that add to what was `begun` with. Where nobody
    answers, the questions stand in that file, and OpenQuestions goes on.
    """
    raw = load(mapping) if mapping else {**(begun or {})}
    path = mapping or otherwise
    asking, ours = in_terminal(), False
    later: set[tuple[str, ...]] = set()
    if asking and not mapping and begun is None and otherwise.exists() and written_here(otherwise):
        raw, ours = load(otherwise), True
        click.echo(f"Answers of before are taken from {otherwise}.", err=True)
    while True:
        try:
            answers = mapping_from(raw, path.name, table)
            return read(replace(answers, asking=asking, left_open=later))
        except OpenQuestions as found:
            if asking and any(question.key for question in found.questions):
                ours = ours or mapping is not None or not path.exists()
                kept_in = path if ours and begun is None else None
                asking = _ask_all(found.questions, raw, later, kept_in, table)
                continue
            if found.mapping and (ours or mapping is None):
                raise OpenQuestions(
                    tuple(found.questions), where=_left(path, found.mapping, ours=ours)
                ) from None
            raise


def answered_beds(
    beds: Path, system: str, mapping: Path | None, otherwise: Path,
    names: Mapping[str, Sequence[str]] | None = None,
    open_in: Callable[[ListMapping, BedListReading], Sequence[Question]] = lambda _, r: r.questions,
    begun: Mapping[str, Any] | None = None, known: Mapping[str, Mapping[str, Any]] | None = None,
) -> tuple[BedListReading, Mapping[str, Any]]:  # fmt: skip
    """A bed list with all that is `open_in` it answered, by itself what it leaves open; `names` as
    in read_bed_list. What is `known` of beds by their names is not asked for; where nobody is
    asked, a row that cannot be read is then left out, and told."""

    def read(answers: ListMapping) -> tuple[BedListReading, Mapping[str, Any]]:
        answers, bad = replace(answers, known=known or {}), []
        found = read_bed_list(beds, system, answers, names)
        while known and not in_terminal() and (row := _bad_row(found.questions)):
            bad.append(row.words)
            rows = map(int, re.findall(r"\d+", row.choices[0]))
            answers = replace(answers, leave_out=(*answers.leave_out, *rows))
            found = read_bed_list(beds, system, answers, names)
        found = replace(found, left_out=(*bad, *found.left_out))
        if asked := open_in(answers, found):
            raise OpenQuestions(tuple(asked), found.mapping)
        return found, answers.settings

    return answered(read, BEDS, mapping, otherwise, begun)


def _bad_row(questions: Iterable[Question]) -> Question | None:
    return next((asked for asked in questions if asked.key == ("leave_out",)), None)


def _left(path: Path, text: str, *, ours: bool) -> str:
    """Leaves the questions in the mapping file; says where. A file of somebody else's stays."""
    if path.exists() and not ours:
        return f"{path} is there already: run again with --mapping {path}."
    save(path, text.encode("utf-8"))
    return f"Answer in {path}, or correct the list; run again with --mapping {path}."


def _ask_all(
    questions: list[Question], raw: dict[str, Any], later: set[tuple[str, ...]], path: Path | None,
    table: Table,
) -> bool:  # fmt: skip
    """Puts the questions that can be answered here, and keeps each answer in the file at once, for
    a sitting may be broken off; False where one is left open that must not. Those after one that
    takes a column which they offer too wait until the list is read again."""
    answered_all = True

    def refused(answer: str) -> str:
        """What a mapping file would be refused for; else every later run would stop at it. Of rows
        to leave out only those that are asked about: another number is no row of the question."""
        if question.key == ("leave_out",) and not _is_value(question, answer):
            asked = {*re.findall(r"\d+", question.choices[0])}
            if not asked >= {*re.findall(r"\d+", answer)}:
                return f"{answer!r} is not what was asked about: {question.choices[0]}."
        tried = deepcopy(raw)
        _keep(tried, question, answer)
        try:
            mapping_from(tried, repr(answer), table)
        except WorkbookError as error:
            return str(error)
        return ""

    for i, question in enumerate(questions):
        if question.key:
            if answer := ask(question, refused):
                _keep(raw, question, answer)
            elif question.later:
                later.add(question.key)
            else:
                click.echo("Left open; nothing is made without it.", err=True)
            answered_all = answered_all and bool(answer or question.later)
            if path:
                save(path, mapping_text(raw, (), {}).encode("utf-8"))
            if answer in question.choices and any(
                    other.key[:1] == ("columns",) and answer in other.choices
                    for other in questions[i + 1 :]):  # fmt: skip
                break
    return answered_all


def _is_value(question: Question, answer: str) -> bool:
    """Whether rows are given a value, where they may be left out."""
    return bool(question.instead) and not answer.startswith(LEAVE_OUT)


def ask(question: Question, refused: Callable[[str], str] = lambda answer: "") -> str:
    listed = [question.words]
    for number, choice in enumerate(question.choices, 1):
        sample = "".join(f": {text}" for text in question.samples[number - 1 : number])
        listed.append(f"  {number if question.numbered else '-'}  {choice}{sample}")
    click.echo("" if question.folded else "\n".join(["", *listed]), err=True)
    default, echoed, shown = question.default, "", question.prompt
    while True:
        typed = click.prompt(shown, default, show_default=False, err=True)
        if (answer := typed.strip()) == "?":
            if question.folded:
                click.echo("\n".join(listed), err=True)
            click.echo(question.explained, err=True)
            continue
        if question.numbered and answer.isdigit() and 1 <= int(answer) <= len(question.choices):
            answer = question.choices[int(answer) - 1]
        ends = tuple(f"{answer}{mark}".casefold() for mark in " :")
        begun = [c for c in question.choices if f"{c} ".casefold().startswith(ends)]
        answer = begun[0] if len(begun) == 1 else answer  # 3/4 in, for what begins so
        if answer and (words := question.fault(answer) or refused(answer)):
            click.echo(words, err=True)
            continue
        words, doubt = question.echo(answer) if answer and answer != echoed else ("", "")
        if words:  # the day is on the sheet, to be typed over
            click.echo(f"{words}; dated today" if question.dated else words, err=True)
        if not doubt:
            return str(answer)
        default, echoed, shown = answer, answer, f"({doubt})"


def _keep(raw: dict[str, Any], question: Question, answer: str) -> None:
    *sections, name = question.key
    if question.dated:
        raw.setdefault("settings", {})[question.dated] = dt.date.today()
    if _is_value(question, answer):
        raw.setdefault("values", {})[question.instead] = answer
        return
    answer = answer.removeprefix(LEAVE_OUT)
    heading = plain(answer) in map(plain, question.columns)
    heading = heading or (answer.isalpha() and answer.isupper() and len(answer) <= 3)
    if sections == ["columns"] and answer not in question.choices and not heading:
        sections = ["values"]  # one value for all rows
    elif sections == ["values"] and answer not in question.choices and heading:
        sections = ["columns"]
        raw.get("values", {}).pop(name, None)
    for section in sections:
        raw = raw.setdefault(section, {})
    if name in LISTS and not sections:
        items = [item.strip() for item in answer.split(",") if item.strip()]
        raw[name] = [*raw.get(name, []), *(int(i) if i.isdigit() else i for i in items)]
    else:
        raw[name] = answer
