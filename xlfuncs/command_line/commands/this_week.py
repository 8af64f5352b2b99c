"""this-week: what to give each bed, from the garden's workbook and the log of rain and warmth."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import click

_FILE = click.Path(exists=True, dir_okay=False, path_type=Path)
NO_CROP = "no crop this week"
_DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@click.command(name="this-week")
@click.argument("workbook", type=_FILE)
@click.option("--log", type=click.Path(dir_okay=False, path_type=Path),
              help="CSV of the weather: dates, rain, temperatures, as a station exports it. What is"
              " typed here is added to it.")  # fmt: skip
@click.option("--rain", help="The past week's rain by day, such as 'Tue 0.4, Fri 0.1'.")
@click.option("--high", help="The past week's mean highest temperature.")
@click.option("--low", help="The past week's mean lowest temperature.")
@click.option(
    "--from",
    "start",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The day to advise from, mostly a Monday (default: the day after the log's last;"
    " with typed weather this week's Monday). What is typed is of the seven days before.",
)
@click.option("--why", is_flag=True, help="Also what the advice for each bed rests on.")
@click.option("--mapping", type=_FILE, help="Answers to what the log's file does not say (TOML).")
def command(
    workbook: Path, log: Path | None, rain: str | None, high: str | None, low: str | None,
    start: Any, why: bool, mapping: Path | None,
) -> None:  # fmt: skip
    """What to do this week in the garden of WORKBOOK: minutes by valve, rests, beds by hand.

    Rain and temperatures stand in the log on its sheet This week, in a CSV, or are typed here: with
    --log NAME.csv they are kept there, which is made where it is not there yet. The workbook itself
    is only read. It needs a plan, a climate table, latitude, elevation and a soil.
    """
    from xlfuncs.workbooks.our_tables.read_inputs import Inputs, read_inputs

    reading = read_inputs(workbook)
    system = reading.marks.system
    rows = {_day(row): dict(row) for row in reading.inputs.tables.get("WeatherLog", ())}
    first = start.date() if start else None
    known = _read_log(log, system, mapping) if log and log.exists() else []
    rows |= {_day(row): row for row in known}
    if rain or high or low:
        first = first or date.today() - timedelta(date.today().weekday())
        typed = _typed(rain or "", high, low, first)
        rows |= typed
        known += typed.values()
    elif log is not None and not log.exists():
        raise click.UsageError(f"{log} is not there yet; type the week with --rain, --high, --low")
    settings = dict(reading.inputs.settings)
    if first:
        settings["week_from"] = first
    tables = {**reading.inputs.tables, "WeatherLog": [rows[day] for day in sorted(rows)]}
    _show(Inputs(settings, tables, reading.inputs.invented), system, why)
    if log and (rain or high or low):
        _keep(log, known, system)
    elif rain or high or low:
        click.echo("Not kept: --log rain.csv keeps what was typed for the weeks to come")


def _day(row: Any) -> date:
    day = row.get("date")
    if not isinstance(day, date):
        raise click.ClickException(f"the log has a row without a date that can be read: {day!r}")
    return day


def _read_log(path: Path, system: str, mapping: Path | None) -> list[dict[str, Any]]:
    from xlfuncs.command_line.answering import answered
    from xlfuncs.tables.garden.this_week import WEATHER_LOG
    from xlfuncs.workbooks.lists.doubts import Reading
    from xlfuncs.workbooks.lists.headers import Wanted
    from xlfuncs.workbooks.lists.mapping import ListMapping
    from xlfuncs.workbooks.lists.reader import read_list

    def read(answers: ListMapping) -> Reading:
        found = read_list(path, Wanted(WEATHER_LOG), system, answers)
        found.raise_questions()
        return found

    reading = answered(read, WEATHER_LOG, mapping, path.with_suffix(".mapping.toml"))
    for line in reading.report:
        click.echo(f"- {line}")
    return [dict(row.values) for row in reading.rows]


def _typed(rain: str, high: str | None, low: str | None, start: date) -> dict[date, Any]:
    """Rows of the seven days before `start`: rain by day, temperatures on the last."""
    days = [start - timedelta(back) for back in range(7, 0, -1)]
    week = {_DAYS[day.weekday()]: day for day in days}
    rows: dict[date, Any] = {}
    for part in filter(str.strip, re.split("[,;]", rain)):
        match = re.fullmatch(r"\s*([A-Za-z]{3})[a-z]*\s+(\S.*?)\s*", part)
        if match is None or match[1].lower() not in week:
            raise click.UsageError(
                f"--rain: {part.strip()!r} is no day with a depth: name the day, as Tue 0.4"
            )
        day = week[match[1].lower()]
        rows[day] = {"date": day, "rain": _number(match[2])}
    last = days[-1]
    if high or low:
        most, least = _number(high), _number(low)
        if isinstance(most, float) and isinstance(least, float) and most < least:
            raise click.UsageError(f"--high {high} is below --low {low}: are they swapped?")
        rows.setdefault(last, {"date": last})
        rows[last] |= {"max_temperature": most, "min_temperature": least}
    rows.setdefault(last, {"date": last})  # so that the log reaches to the day before
    return rows


def _number(text: str | None) -> Any:
    """A number where it is one; text with a unit stays for the workbook to read."""
    try:
        return None if text is None else float(text)
    except ValueError:
        return text


def _keep(path: Path, rows: list[dict[str, Any]], system: str) -> None:
    """The log's CSV with these rows, the later of a day in place of the earlier."""
    import csv
    from io import StringIO

    from xlfuncs.tables.garden.this_week import WEATHER_LOG
    from xlfuncs.xlsx.saving import save

    columns = [WEATHER_LOG[name] for name in ("date", "rain", "max_temperature", "min_temperature")]
    days = {row["date"]: row for row in rows}
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    others = [WEATHER_LOG[name] for name in ("reference_et", "watered")
              if any(row.get(name) is not None for row in rows)]  # fmt: skip
    writer.writerow([column.heading(system) for column in [*columns, *others]])
    for day in sorted(days):
        writer.writerow([days[day].get(column.name, "") for column in [*columns, *others]])
    save(path, text.getvalue().encode("utf-8"), backup=path.exists())
    click.echo(f"Kept in {path}.")


def _show(inputs: Any, system: str, why: bool) -> None:
    import tempfile

    from workbook_template.build import build
    from workbook_template.sheets.water.this_week import SAID, WEEK
    from xlfuncs.tables.garden.this_week import WEATHER_LOG

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
    click.echo(f"Week from {start:%A} {start}; water on {built.named('week_days')}")
    by_valve: dict[tuple[str, str], list[Any]] = {}
    for row in rows:
        by_valve.setdefault((str(row["valve"] or ""), str(row["to_do"])), []).append(row)
    for (valve, to_do), beds in by_valve.items():
        if to_do != NO_CROP:
            click.echo(f"{f'Valve {valve}: ' if valve else ''}{_names(beds)}: {to_do}")
        for row in beds:
            if why and row["why"]:
                click.echo(f"    {row['bed']}: {row['why']}")
    if idle := [row for row in rows if row["to_do"] == NO_CROP]:
        click.echo(f"No crop, keep their bed valves closed: {_names(idle)}")
    dry = [row for row in rows if row["by_hand"]]
    click.echo(f"By hand at once: {_names(dry) or 'none'}")
    for line in _rests(by_valve, system):
        click.echo(line)
    if due := [row for row in rows if row["probe"]]:
        click.echo(f"Probe readings due, to note on This week: {_names(due)}")
    percent = built.named("week_percentage")
    if why and isinstance(percent, float):
        click.echo("\nSimpler, but not as close for each valve: leave Timer's program in the timer"
                   f" and turn it to {100 * percent:.0f}%. {SAID.why}")  # fmt: skip
    if not why:
        click.echo("What it rests on, and a percentage for the timer: --why")
    elif isinstance(need := built.named("season_need_beyond_rain"), float):
        unit = WEATHER_LOG["rain"].unit(system)
        click.echo(f"\nNeed beyond rain so far, for the books of the year: {need:.3g} {unit}")


def _names(rows: Any) -> str:
    return ", ".join(str(row["bed"]) for row in rows)


def _rests(by_valve: dict[tuple[str, str], list[Any]], system: str) -> Iterator[str]:
    """After how much rain of a day each valve rests: as long as the first of its beds can."""
    from workbook_template.sheets.water.this_week import CARD

    columns = ("rest_quarter", "rest_half", "rest_inch")
    by_days: dict[str, list[str]] = {}
    for (valve, to_do), beds in by_valve.items():
        days = [min((row[name] for row in beds if row[name] not in (None, "")), default=0)
                for name in columns]  # fmt: skip
        if to_do != NO_CROP and any(days):
            said = f"{', '.join(f'{d:.0f}' for d in days)} days"
            by_days.setdefault(said, []).append(f"valve {valve}" if valve else _names(beds))
    if by_days:
        yield f"If rain of {', '.join(CARD[system])} falls in a day, rest from the day after:"
    for said, names in by_days.items():
        yield f"    {', '.join(names)}: {said}"
