"""From crop use and rain to the water that the lines must bring. Depths in mm, salinity in dS/m.

The efficiency is counted in one place only: `gross_irrigation`. Everything before it is net.
"""

from collections.abc import Sequence

import numpy as np

from xlfuncs.calculations.arrays import Floats, Numbers, Texts

MM_PER_INCH = 25.4


def storage_factor(storage: Numbers) -> Numbers:
    """Soil storage factor of TR-21; 1 at 3 in. `storage` is the usable soil water in mm.

    Fitted for 0.75 to 7 in (19 to 178 mm).
    """
    inches = storage / MM_PER_INCH
    return 0.531747 + inches * (0.295164 + inches * (-0.057697 + inches * 0.003804))


def effective_rain_tr21(rain: Numbers, crop_use: Numbers, soil_storage: Numbers = 76.2) -> Numbers:
    """Effective rain of a month by SCS Technical Release 21 (1970), NEH 623 Eq. 2-84.

    Rain and crop evapotranspiration of the month and the usable soil storage in mm. Never more
    than the rain, and never more than the crop uses (both rules of TR-21).
    """
    fit = 0.70917 * (rain / MM_PER_INCH) ** 0.82416 - 0.11556
    inches = storage_factor(soil_storage) * fit * 10.0 ** (0.02426 * crop_use / MM_PER_INCH)
    return np.maximum(np.minimum(np.minimum(inches * MM_PER_INCH, rain), crop_use), 0.0)


def effective_rain_simplified(rain: Numbers) -> Numbers:
    """Effective rain of a month in mm by the simplified USDA Soil Conservation Service form.

    P (125 - 0.2 P) / 125 up to 250 mm, 125 + 0.1 P above. It knows neither crop nor soil.
    """
    return np.where(
        np.less_equal(rain, 250.0), rain * (125.0 - 0.2 * rain) / 125.0, 125.0 + 0.1 * rain
    )


def dependable_rain(rain: Numbers) -> Numbers:
    """Rain of a month that is there for crops in four years of five, FAO/AGLW rule, in mm.

    0.6 P - 10 up to 70 mm of mean rain, 0.8 P - 24 above. Losses are in it already: no efficiency
    and no dry year's rain goes with it.
    """
    return np.maximum(np.where(np.less_equal(rain, 70.0), 0.6 * rain - 10.0, 0.8 * rain - 24.0), 0)


def rain_reached(years: Numbers, share: float = 0.8) -> float:
    """Rain that this share of years reaches, by the plotting position m / (N + 1) (Weibull).

    Month by month it is drier than a dry year shared out, for dry months don't all fall in one.
    """
    return float(np.quantile(years, 1.0 - share, method="weibull"))


def rain_reaching_soil(rain: Numbers, cover_share: Numbers) -> Numbers:
    """Rain that gets past a cover: `cover_share` is 1 in the open and 0 under a roof."""
    return rain * cover_share


VALVE_TOLERANCE = 0.1  # of what a bed wants; common practice, no published source


def net_irrigation(crop_use: Numbers, effective_rain: Numbers, stored: Numbers = 0.0) -> Numbers:
    """Depth that the lines must add to the root zone: crop use less rain and stored water, or 0."""
    return np.maximum(np.subtract(crop_use, effective_rain) - stored, 0.0)


def gross_irrigation(net_depth: Numbers, efficiency: Numbers, leaching: Numbers = 0.0) -> Numbers:
    """Depth to apply for a net depth: net / (efficiency (1 - leaching)).

    FAO Irrigation and Drainage Paper 29, Eq. 7, for the leaching. Water lost by deep percolation
    leaches too, so an efficiency that counts such losses covers part of the leaching.
    """
    return net_depth / (efficiency * (1.0 - np.asarray(leaching)))


def leaching_fraction(water_salinity: Numbers, tolerated_salinity: Numbers) -> Numbers:
    """Share of the water that must pass the roots, surface and sprinkler (FAO-29 Eq. 9, Rhoades).

    ECw / (5 ECe - ECw): salinity of the water, and of the soil extract that the crop tolerates.
    NaN where no leaching is enough: the share reaches 1 where 5 ECe = 2 ECw.
    """
    spare = 5.0 * np.asarray(tolerated_salinity) - water_salinity
    share = np.divide(water_salinity, np.where(spare > 0.0, spare, np.nan))
    return np.where(share < 1.0, share, np.nan)


def leaching_fraction_drip(water_salinity: Numbers, max_soil_salinity: Numbers) -> Numbers:
    """Share of the water that must pass the roots under frequent drip watering.

    ECw / (2 max ECe), with the soil salinity at which the crop yields nothing; USDA NEH 623
    chapter 7 and Keller and Bliesner 1990. NaN where no leaching is enough.
    """
    share = np.divide(water_salinity, 2.0 * np.asarray(max_soil_salinity))
    return np.where(share < 1.0, share, np.nan)


def watering_seconds(
    month_depth: Numbers, days: Numbers, waterings: Numbers, area: Numbers, flow: Numbers,
    efficiency: Numbers = 1.0,
) -> Numbers:  # fmt: skip
    """How long each watering of a month takes, in s; the cells of a season table.

    The depth of the month in mm spread evenly over its waterings, so many a week; area in m², flow
    in m³/s. A gross depth takes efficiency 1; a net one takes the efficiency here, nowhere else.
    """
    in_month = np.asarray(waterings) * days / 7.0
    return month_depth / 1000.0 * area / (flow * efficiency * in_month)


def rain_shortfall(crop_et: Floats, effective_rain: Floats, storage: Numbers) -> Floats:
    """What rain and the soil's store leave unmet in each month, in mm.

    Arrays of (beds, 12); `storage` is the allowable depletion of each bed. The store empties by
    need, fills by rain, and never holds more than `storage`. The year is run twice and the second
    kept, so it does not matter with which month it starts. A bed with no shortfall needs no lines
    in such a year; a drier year than the table's still finds it dry.
    """
    change = np.atleast_2d(np.subtract(crop_et, effective_rain))
    limit = np.broadcast_to(np.asarray(storage, dtype=float), change.shape[:1])
    depletion = np.zeros_like(limit)
    shortfall = np.zeros_like(change)
    for month in [*range(change.shape[1])] * 2:
        wanted = np.maximum(depletion + change[:, month], 0.0)
        depletion = np.minimum(wanted, limit)
        shortfall[:, month] = wanted - depletion
    return shortfall


def shared_valve_seconds(valves: Texts, wanted: Floats, flows: Floats) -> Floats:
    """The one time that beds on a valve share, in s for each bed: the mean weighted by flow.

    So the valve passes just the water that its beds want together. A bed whose valve is blank has
    one of its own.
    """
    names = [f"valve {name}" if name else f"bed {row}" for row, name in enumerate(valves)]
    codes = np.unique(names, return_inverse=True)[1]
    volume = np.bincount(codes, weights=wanted * flows)
    return np.asarray((volume / np.bincount(codes, weights=flows))[codes])


def names_on_same_valve(valves: Sequence[str], beds: Sequence[str]) -> list[str]:
    """For each bed the names of all that its valve opens, in the order of the list."""
    keys = [valve or row for row, valve in enumerate(valves)]
    names: dict[str | int, list[str]] = {}
    for key, bed in zip(keys, beds, strict=True):
        names.setdefault(key, []).append(str(bed))
    return [", ".join(names[key]) for key in keys]


def verdicts(given: Floats, wanted: Floats) -> list[str]:
    """Who gets too much and who too little, in words; a tenth either way is right."""
    pairs = zip(given, wanted, strict=True)
    return [
        "ok" if abs(g - w) <= VALVE_TOLERANCE * w else "too much" if g > w else "too little"
        for g, w in pairs
    ]
