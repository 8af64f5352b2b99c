"""Declarations: what the weather asks for, and what crops use of it."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water import bed_crop_use, evapotranspiration, solar_radiation
from xlfuncs.catalogue.declaration import (
    UNITS,
    Arg,
    Relation,
    Result,
    arguments,
    worksheet_function,
)
from xlfuncs.catalogue.sources import FAO56

LATITUDE = Arg.of("latitude: latitude, >=-90, <=90: Latitude in degrees, south negative")
DAY = Arg.of("day_of_year: number, >=1, <=366: Day of the year, 1 to 366; for a month that of its"
             " 15th")  # fmt: skip
MAX_TEMPERATURE = Arg.of("max_temperature: temperature, >=-60, <=60: Maximum temperature of the"
                         " day, or its mean of a month")  # fmt: skip
MIN_TEMPERATURE = Arg.of("min_temperature: temperature, >=-60, <=60: Minimum temperature of the"
                         " day, or its mean of a month")  # fmt: skip
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


ELEVATION = Arg.of("elevation: elevation, >=-450, <=6000: Elevation above the sea")
# Wind, moisture and sun: what of it is not known is estimated.
MOIST_AIR = (
    "[wind]: wind, >=0, <=40: Mean wind",
    "[max_humidity]: ratio, >0, <=1: Maximum relative humidity, 0 to 1",
    "[min_humidity]: ratio, >0, <=1: Minimum relative humidity, 0 to 1",
    "[sunshine]: hours, >=0, <=24 h: Hours of bright sunshine a day",
    "[radiation]: radiation, >=0, <=50: Measured solar radiation; goes before sunshine",
)


@worksheet_function(
    "REFERENCE_ET_PM",
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
        "[dew_point]: temperature, >=-70, <=40: Dew point; goes before relative humidity",
        "[mean_humidity]: ratio, >0, <=1: Mean relative humidity, where the extremes are not known",
        "[wind_height=2]: elevation, >=0.5, <=100: Height above ground of the wind measurement"
        " (default 2 m)",
        "[radiation_adjustment=0.16]: number, >=0.1, <=0.25: For radiation from temperature: 0.16"
        " inland (default), 0.19 at a coast",
        "[soil_heat_flux=0]: radiation, >=-10, <=10: Heat that goes into the soil: 0 for a day"
        " (default), MONTHLY_SOIL_HEAT_FLUX for a month",
    ),
    results=(REFERENCE,),
    relations=(MIN_UNDER_MAX,),
    source=FAO56.at("Eq. 6; missing data by chapter 3"),
    examples=("REFERENCE_ET_PM(70.7, 54.1, 50.8, 187, 328, 4.65, 84%, 63%, 9.25)",),
)
def reference_et_pm(sunshine: Any, **weather: Any) -> Any:
    return evapotranspiration.reference_et_penman_monteith(
        sunshine_hours=np.divide(sunshine, 3600.0), **weather
    )


worksheet_function(
    "MONTHLY_SOIL_HEAT_FLUX",
    help="Heat that goes into the soil in a month, from mean temperatures of the months around it"
    " or, without the next, of the month before and this one.",
    args=(
        "previous_temperature: temperature, >=-60, <=60: Mean temperature of the month before",
        "temperature: temperature, >=-60, <=60: Mean temperature of the month",
        "[next_temperature]: temperature, >=-60, <=60: Mean temperature of the month after",
    ),
    results=(Result("soil_heat_flux", "radiation", "Soil heat flux, G"),),
    source=FAO56.at("Eq. 43 and 44"),
    examples=("MONTHLY_SOIL_HEAT_FLUX(57.4, 61, 65.8)",),
)(evapotranspiration.monthly_soil_heat_flux)


STAGES = {
    "initial_days": "initial",
    "development_days": "development",
    "mid_days": "mid-season",
    "late_days": "late",
}
_STAGES = arguments(f"{name}: days, >=0, <=400: Days of the {words} stage"
                    for name, words in STAGES.items())  # fmt: skip
_COEFFICIENTS = arguments((
    "kc_initial: number, >=0, <=2: Coefficient of the initial stage; where lines wet part of the"
    " soil, times the wetted fraction (FAO-56 Eq. 60)",
    "kc_mid: number, >=0, <=2: Coefficient of mid-season",
    "kc_end: number, >=0, <=2: Coefficient on the last day",
))  # fmt: skip
_RISE = "MIN(1,MAX(0,({age}-{initial_days})/MAX({development_days},0.000000001)))"
_FADING = "({age}-{initial_days}-{development_days}-{mid_days})"


worksheet_function(
    "CROP_COEFFICIENT",
    help="Crop coefficient at an age: level in the initial stage, rising, level in mid-season,"
    " falling; 0 before planting and after the last day.",
    args=(
        "age: days, >=-4000, <=4000: Days since planting: date less planting date",
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
    help="Mean crop coefficient of the days from one age to another, such as a month's first and"
    " last day less the planting date; days without the crop count as 0.",
    args=(
        "first_age: days, >=-4000, <=4000, whole: Age on the first day",
        "last_age: days, >=-4000, <=4000, whole: Age on the last day",
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
)
def mean_crop_coefficient(first_age: Any, last_age: Any, **stages: Any) -> Any:
    ordered = (stages[arg.name] for arg in (*_STAGES, *_COEFFICIENTS))
    return bed_crop_use.mean_crop_coefficient(first_age, last_age, *ordered)


worksheet_function(
    "ADJUSTED_CROP_COEFFICIENT",
    help="A tabulated mid- or end-season coefficient in your climate; the tables are for 2 m/s"
    " wind and 45 % least humidity. Coefficients under 0.45 stay as they are.",
    args=(
        "tabulated: number, >=0, <=2: Coefficient in the table",
        "wind: wind, >=0, <=40: Mean wind at 2 m in that stage",
        "min_humidity: ratio, >0, <=1: Mean least relative humidity in that stage",
        "height: length, >0, <=10: Height of the crop in that stage",
    ),
    results=(Result("kc", "number", "Adjusted crop coefficient"),),
    source=FAO56.at("Eq. 62 and 65"),
    plain="IF({tabulated}<0.45,{tabulated},{tabulated}+(0.04*(MIN(6,MAX(1,{wind}))-2)"
    "-0.4*(MIN(0.8,MAX(0.2,{min_humidity}))-0.45))*(MIN(10,MAX(0.1,{height}))/3)^0.3)",
    examples=('ADJUSTED_CROP_COEFFICIENT(1.2, "4.6 m/s", 44%, "2 m")',),
)(bed_crop_use.adjusted_crop_coefficient)


worksheet_function(
    "CROP_ET",
    help="Water that a well-watered crop uses: reference evapotranspiration times crop"
    " coefficient.",
    args=(
        "reference_et: et, >=0, <=20: Reference evapotranspiration",
        "kc: number, >=0, <=2: Crop coefficient",
    ),
    results=(Result("crop_et", "et", "Crop evapotranspiration"),),
    source=FAO56.at("Eq. 58"),
    plain="{reference_et}*{kc}",
    examples=("CROP_ET(0.22, 1.05)",),
)(bed_crop_use.crop_et)
