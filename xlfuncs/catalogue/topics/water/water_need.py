"""Declarations: what the weather asks for, and what crops use of it."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water import bed_crop_use, evapotranspiration, solar_radiation
from xlfuncs.catalogue.declaration import UNITS, Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import FAO56

LATITUDE = Arg(
    "latitude", "latitude", "Latitude in degrees, south negative", minimum=-90, maximum=90
)
DAY = Arg(
    "day_of_year", "number", "Day of the year, 1 to 366; for a month that of its 15th",
    minimum=1, maximum=366,
)  # fmt: skip
MAX_TEMPERATURE = Arg(
    "max_temperature", "temperature", "Maximum temperature of the day, or its mean of a month",
    minimum=-60, maximum=60,
)  # fmt: skip
MIN_TEMPERATURE = Arg(
    "min_temperature", "temperature", "Minimum temperature of the day, or its mean of a month",
    minimum=-60, maximum=60,
)  # fmt: skip
MIN_UNDER_MAX = Relation(
    "min_temperature",
    lambda max_temperature, min_temperature: min_temperature > max_temperature,
    "must not be above max_temperature",
)
REFERENCE = Result("reference_et", "et", "Reference evapotranspiration")

# The radiation above the atmosphere as a spreadsheet formula, from its parts (FAO-56 Eq. 21-25).
_DECLINATION = "(0.409*SIN(2*PI()/365*{day_of_year}-1.39))"
_LATITUDE = "RADIANS({latitude})"
_SUNSET = f"ACOS(MAX(-1,MIN(1,-TAN({_LATITUDE})*TAN({_DECLINATION}))))"
_RADIATION = (
    "MAX(0,24*60/PI()*0.082*(1+0.033*COS(2*PI()/365*{day_of_year}))"
    f"*({_SUNSET}*SIN({_LATITUDE})*SIN({_DECLINATION})"
    f"+COS({_LATITUDE})*COS({_DECLINATION})*SIN({_SUNSET})))"
)


worksheet_function(
    "EXTRATERRESTRIAL_RADIATION",
    topic="water_need",
    help="Radiation on a level surface above the atmosphere, for a day at a latitude; 0 in the"
    " polar night.",
    args=(LATITUDE, DAY),
    results=(Result("radiation", "radiation", "Extraterrestrial radiation, Ra"),),
    source=FAO56.at("Eq. 21 to 25"),
    plain=_RADIATION,
    examples=("EXTRATERRESTRIAL_RADIATION(-20, 246)",),
)(solar_radiation.extraterrestrial_radiation)


worksheet_function(
    "REFERENCE_ET",
    topic="water_need",
    help="Reference evapotranspiration from temperature alone (Hargreaves). Best for a month or"
    " ten days; high where it is humid, low where it is windy.",
    args=(MAX_TEMPERATURE, MIN_TEMPERATURE, LATITUDE, DAY),
    results=(REFERENCE,),
    relations=(MIN_UNDER_MAX,),
    source=FAO56.at("Eq. 52, with Ra as evaporation by Eq. 20"),
    plain="MAX(0,0.0023*(({max_temperature}+{min_temperature})/2+17.8)"
    f"*SQRT({{max_temperature}}-{{min_temperature}})*0.408*{_RADIATION})",
    examples=("REFERENCE_ET(80, 59, 45.7, 196)",),
)(evapotranspiration.reference_et_from_temperature)


ELEVATION = Arg("elevation", "elevation", "Elevation above the sea", minimum=-450, maximum=6000)
# Wind, moisture and sun: what of it is not known is estimated.
MOIST_AIR = (
    Arg("wind", "wind", "Mean wind", default=None, minimum=0, maximum=40),
    Arg("max_humidity", "ratio", "Maximum relative humidity, 0 to 1",
        default=None, above=0, maximum=1),
    Arg("min_humidity", "ratio", "Minimum relative humidity, 0 to 1",
        default=None, above=0, maximum=1),
    Arg("sunshine", "hours", "Hours of bright sunshine a day",
        default=None, minimum=0, maximum="24 h"),
    Arg("radiation", "radiation", "Measured solar radiation; goes before sunshine",
        default=None, minimum=0, maximum=50),
)  # fmt: skip


@worksheet_function(
    "REFERENCE_ET_PM",
    topic="water_need",
    help="Reference evapotranspiration by FAO Penman-Monteith, of a day or a month. What is left"
    " out is estimated by FAO-56's rules: humidity from the least temperature, wind 2 m/s,"
    " radiation from the range of temperature.",
    args=(
        MAX_TEMPERATURE,
        MIN_TEMPERATURE,
        LATITUDE,
        DAY,
        ELEVATION,
        *MOIST_AIR[:-1],
        UNITS,
        MOIST_AIR[-1],
        Arg("dew_point", "temperature", "Dew point; goes before relative humidity",
            default=None, minimum=-70, maximum=40),
        Arg("mean_humidity", "ratio", "Mean relative humidity, where the extremes are not known",
            default=None, above=0, maximum=1),
        Arg("wind_height", "elevation", "Height above ground of the wind measurement (default 2 m)",
            default=2.0, minimum=0.5, maximum=100),
        Arg("radiation_adjustment", "number", "For radiation from temperature: 0.16 inland"
            " (default), 0.19 at a coast", default=0.16, minimum=0.1, maximum=0.25),
        Arg("soil_heat_flux", "radiation", "Heat that goes into the soil: 0 for a day (default),"
            " MONTHLY_SOIL_HEAT_FLUX for a month", default=0.0, minimum=-10, maximum=10),
    ),
    results=(REFERENCE,),
    relations=(MIN_UNDER_MAX,),
    source=FAO56.at("Eq. 6; missing data by chapter 3"),
    examples=("REFERENCE_ET_PM(70.7, 54.1, 50.8, 187, 328, 4.65, 84%, 63%, 9.25)",),
)  # fmt: skip
def reference_et_pm(sunshine: Any, **weather: Any) -> Any:
    return evapotranspiration.reference_et_penman_monteith(
        sunshine_hours=np.divide(sunshine, 3600.0), **weather
    )


worksheet_function(
    "MONTHLY_SOIL_HEAT_FLUX",
    topic="water_need",
    help="Heat that goes into the soil in a month, from mean temperatures of the months around it"
    " or, without the next, of the month before and this one.",
    args=(
        Arg("previous_temperature", "temperature", "Mean temperature of the month before",
            minimum=-60, maximum=60),
        Arg("temperature", "temperature", "Mean temperature of the month",
            minimum=-60, maximum=60),
        Arg("next_temperature", "temperature", "Mean temperature of the month after",
            default=None, minimum=-60, maximum=60),
    ),
    results=(Result("soil_heat_flux", "radiation", "Soil heat flux, G"),),
    source=FAO56.at("Eq. 43 and 44"),
    examples=("MONTHLY_SOIL_HEAT_FLUX(57.4, 61, 65.8)",),
)(evapotranspiration.monthly_soil_heat_flux)  # fmt: skip


_STAGES = tuple(
    Arg(f"{name}_days", "days", f"Days of the {words} stage", minimum=0, maximum=400)
    for name, words in (
        ("initial", "initial"), ("development", "development"),
        ("mid", "mid-season"), ("late", "late"),
    )
)  # fmt: skip
_COEFFICIENTS = (
    Arg("kc_initial", "number", "Coefficient of the initial stage; where lines wet part of the"
        " soil, times the wetted fraction (FAO-56 Eq. 60)", minimum=0, maximum=2),
    Arg("kc_mid", "number", "Coefficient of mid-season", minimum=0, maximum=2),
    Arg("kc_end", "number", "Coefficient on the last day", minimum=0, maximum=2),
)  # fmt: skip
_RISE = "MIN(1,MAX(0,({age}-{initial_days})/MAX({development_days},0.000000001)))"
_FADING = "({age}-{initial_days}-{development_days}-{mid_days})"


worksheet_function(
    "CROP_COEFFICIENT",
    topic="water_need",
    help="Crop coefficient at an age: level in the initial stage, rising, level in mid-season,"
    " falling; 0 before planting and after the last day.",
    args=(
        Arg("age", "days", "Days since planting: date less planting date",
            minimum=-4000, maximum=4000),
        *_STAGES,
        *_COEFFICIENTS,
    ),
    results=(Result("kc", "number", "Crop coefficient"),),
    source=FAO56.at("Eq. 66 and figure 34"),
    plain="IF(OR({age}<0," + _FADING + ">{late_days}),0,{kc_initial}+" + _RISE
    + "*({kc_mid}-{kc_initial})+MIN(1,MAX(0," + _FADING + "/MAX({late_days},0.000000001)))"
    "*({kc_end}-{kc_mid}))",
    examples=("CROP_COEFFICIENT(40, 25, 25, 30, 20, 0.15, 1.19, 0.35)",),
)(bed_crop_use.crop_coefficient)  # fmt: skip


@worksheet_function(
    "MEAN_CROP_COEFFICIENT",
    topic="water_need",
    help="Mean crop coefficient of the days from one age to another, such as a month's first and"
    " last day less the planting date; days without the crop count as 0.",
    args=(
        Arg("first_age", "days", "Age on the first day", minimum=-4000, maximum=4000, whole=True),
        Arg("last_age", "days", "Age on the last day", minimum=-4000, maximum=4000, whole=True),
        *_STAGES,
        *_COEFFICIENTS,
    ),
    results=(Result("kc", "number", "Mean crop coefficient"),),
    relations=(
        Relation(
            "last_age",
            lambda first_age, last_age: (last_age < first_age) | (last_age > first_age + 400),
            "must be the first age or up to 400 days later",
        ),
    ),
    source=FAO56.at("Eq. 66, averaged over days"),
    examples=("MEAN_CROP_COEFFICIENT(0, 29, 25, 25, 30, 20, 0.15, 1.19, 0.35)",),
)  # fmt: skip
def mean_crop_coefficient(first_age: Any, last_age: Any, **stages: Any) -> Any:
    ordered = (stages[arg.name] for arg in (*_STAGES, *_COEFFICIENTS))
    return bed_crop_use.mean_crop_coefficient(first_age, last_age, *ordered)


worksheet_function(
    "ADJUSTED_CROP_COEFFICIENT",
    topic="water_need",
    help="A tabulated mid- or end-season coefficient in your climate; the tables are for 2 m/s"
    " wind and 45 % least humidity. Coefficients under 0.45 stay as they are.",
    args=(
        Arg("tabulated", "number", "Coefficient in the table", minimum=0, maximum=2),
        Arg("wind", "wind", "Mean wind at 2 m in that stage", minimum=0, maximum=40),
        Arg("min_humidity", "ratio", "Mean least relative humidity in that stage",
            above=0, maximum=1),
        Arg("height", "length", "Height of the crop in that stage", above=0, maximum=10),
    ),
    results=(Result("kc", "number", "Adjusted crop coefficient"),),
    source=FAO56.at("Eq. 62 and 65"),
    plain="IF({tabulated}<0.45,{tabulated},{tabulated}+(0.04*(MIN(6,MAX(1,{wind}))-2)"
    "-0.4*(MIN(0.8,MAX(0.2,{min_humidity}))-0.45))*(MIN(10,MAX(0.1,{height}))/3)^0.3)",
    examples=('ADJUSTED_CROP_COEFFICIENT(1.2, "4.6 m/s", 44%, "2 m")',),
)(bed_crop_use.adjusted_crop_coefficient)  # fmt: skip


worksheet_function(
    "CROP_ET",
    topic="water_need",
    help="Water that a well-watered crop uses: reference evapotranspiration times crop"
    " coefficient.",
    args=(
        Arg("reference_et", "et", "Reference evapotranspiration", minimum=0, maximum=20),
        Arg("kc", "number", "Crop coefficient", minimum=0, maximum=2),
    ),
    results=(Result("crop_et", "et", "Crop evapotranspiration"),),
    source=FAO56.at("Eq. 58"),
    plain="{reference_et}*{kc}",
    examples=("CROP_ET(0.22, 1.05)",),
)(bed_crop_use.crop_et)
