"""this-week: what to give each bed, from the garden's workbook and the log of rain and warmth."""

from __future__ import annotations

import re
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import click

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@click.command(name="this-week")
@click.argument("workbook", type=_FILE)
@click.option("--log", type=click.Path(dir_okay=False, path_type=Path),
              help="CSV of the weather: dates, rain, temperatures, as a station exports it. What is"
              " typed here is added to it.")  # fmt: skip
@click.option("--rain", help="The past week's rain by day, such as 'Tue 0.4, Fri 0.1'.")
@click.option("--high", help="The past week's mean greatest temperature.")
@click.option("--low", help="The past week's mean least temperature.")
@click.option("--from", "monday", type=click.DateTime(["%Y-%m-%d"]),
              help="The Monday to advise for (default: the day after the log's last; with typed"
              " weather this week's).")  # fmt: skip
def command(
    workbook: Path, log: Path | None, rain: str | None, high: str | None, low: str | None,
    monday: Any,
) -> None:  # fmt: skip
    """What to do this week in the garden of WORKBOOK: minutes by bed, rests, beds by hand.

    Rain and temperatures stand on the workbook's sheet Log, in a CSV, or are typed here. The
    workbook itself is only read.
    """
    from xlfuncs.workbooks.our_tables.inputs import Inputs
    from xlfuncs.workbooks.our_tables.read_inputs import read_inputs

    reading = read_inputs(workbook)
    system = reading.marks.system
    rows = {_day(row): dict(row) for row in reading.inputs.tables.get("WeatherLog", ())}
    first = monday.date() if monday else None
    if log and log.exists():
        rows |= {_day(row): row for row in _read_log(log, system)}
    if rain or high or low:
        first = first or date.today() - timedelta(date.today().weekday())
        typed = _typed(rain or "", high, low, first)
        rows |= typed
        if log:
            _keep(log, list(typed.values()), system)
    elif log is not None and not log.exists():
        raise click.UsageError(f"{log} is not there yet; type the week with --rain, --high, --low")
    settings = dict(reading.inputs.settings)
    if first:
        settings["week_from"] = first
    tables = {**reading.inputs.tables, "WeatherLog": [rows[day] for day in sorted(rows)]}
    _show(Inputs(settings, tables, reading.inputs.invented), system)


def _day(row: Any) -> date:
    day = row.get("date")
    if not isinstance(day, date):
        raise click.ClickException(f"the log has a row without a date that can be read: {day!r}")
    return day


def _read_log(path: Path, system: str) -> list[dict[str, Any]]:
    from xlfuncs.tables.garden.this_week import WEATHER_LOG
    from xlfuncs.workbooks.lists.headers import Wanted
    from xlfuncs.workbooks.lists.reader import read_list

    reading = read_list(path, Wanted(WEATHER_LOG), system)
    for line in reading.report:
        click.echo(f"- {line}")
    if reading.questions:
        asked = "; ".join(str(question) for question in reading.questions)
        raise click.ClickException(f"{path}: {asked}")
    return [dict(row.values) for row in reading.rows]


def _typed(rain: str, high: str | None, low: str | None, monday: date) -> dict[date, Any]:
    """Rows of the week before `monday`: rain by day, temperatures on its last."""
    week = {name: monday - timedelta(7 - i) for i, name in enumerate(_DAYS)}
    rows: dict[date, Any] = {}
    for part in filter(str.strip, re.split("[,;]", rain)):
        match = re.fullmatch(r"\s*([A-Za-z]{3})[a-z]*\s+(\S.*?)\s*", part)
        if match is None or match[1].lower() not in week:
            raise click.UsageError(f"--rain: {part.strip()!r} is no day with a depth, as Tue 0.4")
        day = week[match[1].lower()]
        rows[day] = {"date": day, "rain": _number(match[2])}
    last = week["sun"]
    if high or low:
        most, least = _number(high), _number(low)
        if isinstance(most, float) and isinstance(least, float) and most < least:
            raise click.UsageError(f"--high {high} is below --low {low}: are they swapped?")
        rows.setdefault(last, {"date": last})
        rows[last] |= {"max_temperature": most, "min_temperature": least}
    rows.setdefault(last, {"date": last})  # so that the log reaches to the Monday
    return rows


def _number(text: str | None) -> Any:
    """A number where it is one; text with a unit stays for the workbook to read."""
    try:
        return None if text is None else float(text)
    except ValueError:
        return text


def _keep(path: Path, rows: list[dict[str, Any]], system: str) -> None:
    """Add rows to the log's CSV, or begin one."""
    import csv
    from io import StringIO

    from xlfuncs.tables.garden.this_week import WEATHER_LOG
    from xlfuncs.xlsx.saving import save

    columns = [WEATHER_LOG[name] for name in ("date", "rain", "max_temperature", "min_temperature")]
    known = _read_log(path, system) if path.exists() else []
    days = {row["date"]: row for row in [*known, *rows]}
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    others = [WEATHER_LOG[name] for name in ("reference_et", "watered")
              if any(row.get(name) is not None for row in known)]  # fmt: skip
    writer.writerow([column.heading(system) for column in [*columns, *others]])
    for day in sorted(days):
        writer.writerow([days[day].get(column.name, "") for column in [*columns, *others]])
    save(path, text.getvalue().encode("utf-8"), backup=path.exists())
    click.echo(f"Kept in {path}.")


def _show(inputs: Any, system: str) -> None:
    import tempfile

    from workbook_template.build import build
    from workbook_template.sheets.water.this_week import CARD, WEEK

    with tempfile.TemporaryDirectory() as folder:
        built = build(Path(folder) / "week.xlsx", system, inputs, edition="grower")
    if (state := built.named("this_week_state")) != "ok":
        raise click.ClickException(str(state))
    place = built.places[WEEK]
    cells = built.values[place.sheet]
    rows = [
        {name: cells.get((row + 1, col + 1)) for name, col in place.columns.items()}
        for row in range(place.first, place.last + 1)
    ]
    rows = [row for row in rows if row["bed"]]
    start = date(1899, 12, 30) + timedelta(built.named("week_start"))
    if inputs.invented:
        click.echo("Invented farm: no figure here is real.")
    click.echo(f"Week from {start:%A} {start}")
    width = max(len(str(row["bed"])) for row in rows)
    for row in rows:
        valve = f"valve {row['valve']}" if row["valve"] else ""
        click.echo(f"{row['bed']:{width}}  {valve:9}  {row['to_do']}")
        if row["why"]:
            click.echo(f"{'':{width}}  {'':9}  {row['why']}")
    growing = [row for row in rows if row["rest_inch"] not in (None, "")]
    if growing:
        click.echo(f"\nAfter rain in a day, days of rest after {', '.join(CARD[system])}:")
    for row in growing:
        rests = (f"{row[name]:.0f}" for name in ("rest_quarter", "rest_half", "rest_inch"))
        click.echo(f"{row['bed']:{width}}  {', '.join(rests)}")
    due = [str(row["bed"]) for row in rows if row["probe"]]
    if due:
        click.echo(f"\nA probe reading is due in: {', '.join(due)}")
