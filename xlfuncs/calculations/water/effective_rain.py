"""How much of a month's rain a crop can use, and how much comes in most years. Depths in mm."""

import numpy as np

from xlfuncs.calculations.water.solar_radiation import Numbers

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
