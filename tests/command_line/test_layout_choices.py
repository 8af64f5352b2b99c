"""The command that compares layouts, as a person would call it."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from xlfuncs.command_line.main import commands

OWN_BEDS = """Bed,Length (ft),Strip width (in),Bed top width (in),Laterals,Line,Distance (ft)
A,50,30,36,3,tape 8 in,10
B,40,30,36,3,tape 8 in,16
"""


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_invented_farm(units):
    result = CliRunner().invoke(commands, ["layout-choices", "--units", units])
    assert result.exit_code == 0, result.output
    assert result.output.count("cheapest that passes") == 1
    assert "no figure of it is real" in result.output
    assert "Left out: North 7: off" in result.output
    assert "Left out: South 4" in result.output
    assert "Not compared: holding line" in result.output


def test_own_beds(tmp_path):
    """Two beds of 36 in: 3 lines are 6 in from the farthest point, 2 are 9 in."""
    beds = tmp_path / "beds.csv"
    beds.write_text(OWN_BEDS)
    arguments = ["layout-choices", "--beds", str(beds), "--laterals", "2,3"]
    result = CliRunner().invoke(commands, [*arguments, "--depth", "0.4 in", "--supply", "9 gpm"])
    assert result.exit_code == 0, result.output
    cheapest = next(line for line in result.output.splitlines() if "cheapest that" in line)
    assert cheapest.split()[:4] == ["tape", "8", "in", "3"]
    missing = CliRunner().invoke(commands, arguments)
    assert missing.exit_code == 2
    assert "--depth and --supply" in missing.output


def test_laterals_that_are_no_numbers():
    result = CliRunner().invoke(commands, ["layout-choices", "--laterals", "two"])
    assert result.exit_code == 2
