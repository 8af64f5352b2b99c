"""The test weather as arrays; where it comes from is in tests/weather/SOURCE.md."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

FILE = Path(__file__).parents[1] / "weather" / "seattle_2012_2013.csv"


@dataclass(frozen=True)
class WeatherYear:
    year: int
    day_of_year: npt.NDArray[np.float64]
    rain: npt.NDArray[np.float64]
    max_temperature: npt.NDArray[np.float64]
    min_temperature: npt.NDArray[np.float64]
    wind: npt.NDArray[np.float64]
    latitude: float = 47.45
    elevation: float = 122.0


@pytest.fixture(params=[2012, 2013])
def weather(request: pytest.FixtureRequest) -> WeatherYear:
    """A leap year and a common year of daily weather."""
    rows = [line.split(",") for line in FILE.read_text().splitlines()[1:]]
    columns = np.array([row[1:] for row in rows if row[0][:4] == str(request.param)], dtype=float)
    return WeatherYear(request.param, np.arange(1.0, len(columns) + 1), *columns.T)
