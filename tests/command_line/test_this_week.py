"""this-week: the same advice as on the sheet, from typed weather and from a station's file."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from workbook_template.build import demo_inputs
from workbook_template.sheets.water.this_week import WEEK
from xlfuncs.command_line.commands.this_week import NO_CROP, command


@pytest.fixture(scope="module", params=["us", "metric"])
def garden(request, tmp_path_factory):
    path = tmp_path_factory.mktemp(request.param) / "garden.xlsx"
    return made_once(path, request.param, demo_inputs(request.param), edition="grower"), path


def run(*arguments):
    return CliRunner().invoke(command, [str(each) for each in arguments])


def shown(built):
    place = built.places[WEEK]
    cells = built.values[place.sheet]
    return {
        cells[row + 1, 1]: cells[row + 1, place.columns["to_do"] + 1]
        for row in range(place.first, place.last + 1) if cells.get((row + 1, 1))
    }  # fmt: skip


def test_the_command_says_what_the_sheet_says(garden):
    built, path = garden
    before = path.read_bytes()
    result = run(path)
    assert result.exit_code == 0, result.output
    for bed, words in shown(built).items():
        said = rf"\b{bed}\b.*: {re.escape(words)}$"
        if words == NO_CROP:
            said = rf"^No crop.*\b{bed}\b"
        assert re.search(said, result.output, re.M), bed
    need = re.search(r"books of the year: ([0-9.]+) \w+$", run(path, "--why").output, re.M)
    assert float(need[1]) == pytest.approx(built.named("season_need_beyond_rain"), rel=0.005)
    assert path.read_bytes() == before


def test_a_typed_week_is_kept_and_read_again(garden, tmp_path):
    log = tmp_path / "rain.csv"
    typed = ("--log", log, "--rain", "Tue 0.4, Fri 0.1", "--high", "30 °C", "--low", "18 °C")
    first = run(garden[1], *typed, "--from", "2026-07-06")
    assert first.exit_code == 0, first.output
    assert "Week from Monday 2026-07-06" in first.output
    again = run(garden[1], "--log", log)
    to_do = [re.findall(r"^\S.* (?:min|week).*$", each.output, re.M) for each in (first, again)]
    assert to_do[0] == to_do[1]
    assert len(to_do[0]) >= 6
    run(garden[1], "--log", log, "--rain", "Mon 1", "--from", "2026-07-13")
    lines = log.read_text("utf-8").splitlines()
    assert [line[:10] for line in lines[1:]] == [
        "2026-06-30", "2026-07-03", "2026-07-05", "2026-07-06", "2026-07-12",
    ]  # fmt: skip


def test_a_stations_file_in_its_own_words_and_units(garden, tmp_path):
    station = tmp_path / "station.csv"
    rows = [date(2026, 6, 29) + timedelta(i) for i in range(7)]
    station.write_text(
        "Day;Precipitation (mm);Tmax (°C);Tmin (°C)\n"
        + "".join(f"{day};{25 * (i == 6)};27,5;14,0\n" for i, day in enumerate(rows)), "utf-8"
    )  # fmt: skip
    result = run(garden[1], "--log", station)
    assert result.exit_code == 0, result.output
    assert "Week from Monday 2026-07-06" in result.output
    assert "rest until" in result.output


def test_the_days_of_a_typed_week_are_those_before_the_day_that_is_advised_from(garden, tmp_path):
    log = tmp_path / "rain.csv"
    typed = ("--log", log, "--rain", "Tue 0.4, Wed 0.2", "--high", "30 °C", "--low", "18 °C")
    result = run(garden[1], *typed, "--from", "2026-07-08")  # a Wednesday
    assert "Week from Wednesday 2026-07-08" in result.output, result.output
    days = [line.split(",")[:2] for line in log.read_text("utf-8").splitlines()[1:]]
    assert days == [["2026-07-01", "0.2"], ["2026-07-07", "0.4"]]


def test_what_a_log_leaves_open_is_answered_in_a_mapping_file(garden, tmp_path):
    log = tmp_path / "station.csv"
    log.write_text("Tag;Regen (mm)\n6.7.2026;3\n7.7.2026;4\n5.7.2026;0\n", "utf-8")
    asked = run(garden[1], "--log", log)
    assert asked.exit_code == 1
    assert "Does the day or the month come first?" in str(asked.exception)
    answers = log.with_suffix(".mapping.toml")
    text = answers.read_text("utf-8")
    answers.write_text(text.replace('date_order = ""', 'date_order = "DMY"'), "utf-8")
    told = run(garden[1], "--log", log, "--mapping", answers)
    assert "Week from Wednesday 2026-07-08" in told.output, told.output


def test_a_week_that_is_refused_is_not_kept(garden, tmp_path):
    log = tmp_path / "rain.csv"
    result = run(garden[1], "--log", log, "--rain", "Tue 3 psi", "--from", "2026-07-06")
    assert result.exit_code == 1
    assert not log.exists()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [(("--rain", "0.4"), "'0.4' is no day with a depth"), (("--log", "none.csv"), "not there")],
)
def test_what_cannot_be_read_is_said(garden, arguments, words):
    result = run(garden[1], *arguments)
    assert result.exit_code == 2
    assert words in result.output
