"""Calling a worksheet function that works on the whole: columns in, result columns out.

Arguments are positional as in a cell, `units` apart. Results are in the default units of the
system. InputError says what is wrong in words, and in which row.
"""

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from xlfuncs.catalogue.argument_columns import (
    BLANK,
    OK,
    all_blank,
    as_column,
    blanks,
    even_out,
    read_column,
    refusal,
    tidy,
)
from xlfuncs.catalogue.arguments import default_of, is_blank, read_one
from xlfuncs.catalogue.calling_elementwise import Column, count_error, fill_defaults, repeated
from xlfuncs.catalogue.declaration import SHOWN, Arg, WorksheetFunction
from xlfuncs.catalogue.reading_tables import TablesRead, read_tables
from xlfuncs.catalogue.whole_results import EMPTY_CELL, ResultTable, as_wanted, kind_of, results_of
from xlfuncs.errors import CellError, InputError

Array = npt.NDArray[Any]
FINE = "ok"


def table(
    function: WorksheetFunction, args: Sequence[Any], system: str
) -> ResultTable | Column | None:
    """Result columns of a function on the whole; None where a required scalar is blank, or wholly
    the columns that come first. A Column where its values lie as the cells of a row or block."""
    if function.variadic:
        result = function.compute(*args)
        if isinstance(result, np.ndarray) and result.ndim == 2:
            return Column(result, np.zeros(result.shape, np.uint8))
        return as_wanted(results_of(function, result, system, {}, {}), function, system)
    if len(args) > len(function.inputs):
        raise count_error(function, len(args))
    read = read_tables(function, list(args), system)
    if read is None:
        return None
    try:
        if function.row_words:
            outcome = _with_words(function, read, system)
        else:
            outcome = _outcome(function, read.raw, system)
    except InputError as error:
        _say_where(function, read, error)
        raise
    if outcome is None:
        return None
    shown = {arg.name: _read_single(arg, read.raw[arg.name], system)
             for arg in SHOWN if arg in function.args}  # fmt: skip
    return as_wanted(outcome, function, system, **shown)


def _outcome(function: WorksheetFunction, raw: dict[str, Any], system: str) -> ResultTable | None:
    """All result columns; None where a required scalar is blank."""
    given = _read_values(function, raw, system)
    if given is None:
        return None
    values, lengths, kept = given
    needed = [arg for arg in function.values if arg.required]
    missing = [arg for arg in needed if not kept.get(arg.group, _ONE).size]
    first = next((arg.group for arg in needed if arg.group), "")
    # nothing stands in the columns; else there are rows, but none that counts
    nothing = bool(missing) and missing[0].group == first and all(
        all_blank(raw.get(arg.name)) for arg in needed if arg.group == first)  # fmt: skip
    if nothing and function.rows == first:
        return _nothing(function, lengths)
    result = _computed(function, values, kept, missing, nothing)
    if result is None:
        return _nothing(function, lengths)
    outcome = results_of(function, result, system, kept, lengths)
    if nothing and not any(c.size for c in outcome.columns):
        return _nothing(function, lengths)
    return outcome


_ONE = np.zeros(1)


def _nothing(function: WorksheetFunction, lengths: dict[str, int]) -> ResultTable | None:
    """Blank rows for blank rows; None from a function whose result has no rows of its own."""
    if not function.rows:
        return None
    blank = [EMPTY_CELL[kind_of(declared)] for declared in function.results]
    dtypes: dict[str, Any] = {"number": np.float64, "date": "datetime64[D]"}
    return ResultTable(
        tuple(
            np.full(lengths[function.rows], value, dtype=dtypes.get(kind_of(declared), object))
            for declared, value in zip(function.results, blank, strict=True)
        ),
        single=False,
        nothing=True,
    )


def _computed(
    function: WorksheetFunction,
    values: dict[str, Any],
    kept: dict[str, Array],
    missing: list[Arg],
    nothing: bool,
) -> Any:
    """The result; None where there is nothing to compute with."""
    try:
        return function.compute(**values)
    except InputError as error:
        group = next((a.group for a in function.values if a.name == error.argument), "")
        if error.row is not None and group:
            error.row = int(kept[group][error.row])
        raise
    except Exception:
        if nothing:
            return None
        if missing:
            raise InputError(missing[0].name, "is blank", cell_error=CellError.VALUE) from None
        raise


def words_on_rows(function: WorksheetFunction, args: Sequence[Any], system: str) -> list[str]:
    """What keeps each row of the table that a result follows from being used: ok where nothing.

    A row that contradicts others is found by computing without those that were found before.
    """
    read = read_tables(function, list(args), system)
    if read is None:
        return []
    words: list[str] = _of_readable(function, read, system)[0].tolist()
    return words


def _with_words(function: WorksheetFunction, read: TablesRead, system: str) -> ResultTable | None:
    """The outcome of the rows that can be read, and what is wrong with each other in words."""
    words, outcome = _of_readable(function, read, system)
    good = words == FINE
    columns = []
    for i, declared in enumerate(function.results):
        empty = EMPTY_CELL[kind_of(declared)]
        found = outcome.columns[i] if outcome else np.array([empty])[:0]
        column = words.copy() if declared.name == function.row_words else np.full(
            len(words), empty, found.dtype)  # fmt: skip
        column[good] = found
        columns.append(column)
    return ResultTable(tuple(columns), single=False, nothing=not words.any()) if columns else None


def _of_readable(
    function: WorksheetFunction, read: TablesRead, system: str
) -> tuple[Array, ResultTable | None]:
    """What keeps each row from being used, and the outcome of those that nothing keeps."""
    members = [arg for arg in function.values if arg.group == function.rows]
    columns = {arg.name: as_column(arg, read.raw.get(arg.name)) for arg in members}
    length = max((len(c) for c in columns.values() if isinstance(c, np.ndarray)), default=1)
    full = {arg.name: c if isinstance(c := columns[arg.name], np.ndarray) else repeated(c, length)
            for arg in members}  # fmt: skip
    words = _words_on_columns(read, members, full, system)
    while (good := words == FINE).any():
        some = {name: column[good] for name, column in full.items()}
        try:
            return words, _outcome(function, read.raw | some, system)
        except InputError as error:
            group = next((a.group for a in function.values if a.name == error.argument), None)
            if error.row is None or group not in (None, function.rows):  # or of another table
                if function.row_words:
                    raise
                break
            words[np.flatnonzero(good)[error.row]] = _words_in_row(read, error)
    return words, None


def _words_on_columns(
    read: TablesRead, members: list[Arg], full: dict[str, Array], system: str
) -> Array:
    """Of each row the first thing that is wrong with one of its cells; '' for a blank row."""
    blank = np.logical_and.reduce([blanks(column) for column in full.values()])
    words = np.where(blank, "", FINE).astype(object)
    for arg in sorted(members, key=lambda arg: not arg.selects):
        base, codes = read_column(arg, tidy(full[arg.name]), system)
        if arg.selects:
            words[(words == FINE) & (codes == OK) & ~base] = "left out"
        bad = codes > BLANK if not arg.required else codes != OK
        for row in np.flatnonzero(bad & (words == FINE)):
            words[row] = _words_in_row(read, refusal(arg, full[arg.name].item(row), system))
    return words


def _words_in_row(read: TablesRead, error: InputError) -> str:
    """The words of an error where table and row are known."""
    label = read.labels.get(error.argument, error.argument)
    return f"{label.rpartition(': ')[2]}: {error.message}"


def _read_values(
    function: WorksheetFunction, raw: dict[str, Any], system: str
) -> tuple[dict[str, Any], dict[str, int], dict[str, Array]] | None:
    """What the calculation gets, the length of each group and its rows that were kept."""
    values: dict[str, Any] = {}
    kept: dict[str, Array] = {}
    lengths: dict[str, int] = {}
    for arg in function.values:
        if not arg.group:
            value = _read_single(arg, raw.get(arg.name), system)
            if value is None and arg.required:
                return None
            values[arg.name] = value
    for group in dict.fromkeys(arg.group for arg in function.values if arg.group):
        members = [arg for arg in function.values if arg.group == group]
        lengths[group], kept[group] = _read_group(members, raw, values, system)
    if function.rows and lengths[function.rows] == 0:
        return None
    return values, lengths, kept


def _say_where(function: WorksheetFunction, read: TablesRead, error: InputError) -> None:
    """The header of the column and the name of the row that an error is about, where known."""
    group = next((a.group for a in function.values if a.name == error.argument), "")
    error.argument = read.labels.get(error.argument, error.argument)
    names = read.row_names.get(group or error.argument.partition(":")[0], [])
    if error.row is not None and error.row < len(names) and not is_blank(names[error.row]):
        error.row_name = str(names[error.row])


def _read_single(arg: Arg, value: Any, system: str) -> Any:
    if isinstance(value, np.ndarray):
        if value.size != 1:
            raise InputError(
                arg.name, f"needs one cell, got {value.size}", cell_error=CellError.VALUE
            )
        value = value.item()
    read = read_one(arg, value, system)
    return default_of(arg) if read is None and not arg.required else read


def _read_group(
    members: list[Arg], raw: dict[str, Any], values: dict[str, Any], system: str
) -> tuple[int, Array]:
    """Fills `values` with the group's columns; gives its length and the rows that were kept."""
    columns = {arg.name: as_column(arg, raw.get(arg.name)) for arg in members}
    lengths = {name: len(c) for name, c in columns.items() if isinstance(c, np.ndarray)}
    length = max(lengths.values(), default=0)
    if not lengths and any(not is_blank(c) for c in columns.values()):
        length = 1
    short = min(lengths.values(), default=0)
    if short < length:
        even_out(columns, lengths, short, length)
    full = {
        arg.name: column if isinstance(column, np.ndarray) else repeated(column, length)
        for arg, column in zip(members, columns.values(), strict=True)
    }
    given = [full[name] for name in lengths] or list(full.values())
    keep = ~np.logical_and.reduce([blanks(c) for c in given]) if length else np.zeros(0, bool)
    rows = np.flatnonzero(keep)
    for arg in sorted(members, key=lambda arg: not arg.selects):
        flags = _read_rows(arg, full[arg.name], rows, system)
        if arg.selects:
            rows = rows[flags]
        values[arg.name] = flags
    for arg in members:
        if arg.selects:
            del values[arg.name]
    return length, rows


def _read_rows(arg: Arg, values: Array, rows: Array, system: str) -> Array:
    base, codes = read_column(arg, tidy(values[rows]), system)
    base = fill_defaults(arg, base, codes)
    bad = np.flatnonzero(codes != OK)
    if bad.size:
        row = int(rows[bad[0]])
        error = refusal(arg, values.item(row), system)
        error.row = row
        raise error
    return np.asarray(base)
