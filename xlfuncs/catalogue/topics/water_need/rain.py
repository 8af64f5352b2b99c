"""Declarations: what rain gives a bed, and what is left for the lines to bring."""

from typing import Any

import numpy as np

from xlfuncs.calculations.water import irrigation_need as needs
from xlfuncs.calculations.water import irrigation_need as rains
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import COMMON_PRACTICE, DEFINITION, FAO29, NEH623_7, SCS_TR21, Source
from xlfuncs.errors import InputError
from xlfuncs.tables.garden.beds import COVERS
from xlfuncs.tables.garden.this_week import RAIN_SHARE

PLASTIC = Source("Alabama Cooperative Extension ANR-654 and Penn State Extension (2013) on drip")
AGLW = Source("FAO/AGLW, dependable rain")
USDA_SIMPLIFIED = Source("USDA Soil Conservation Service, simplified form for a month's rain")

MONTH_RAIN = Arg.of("rain: depth, >=0, <=3000: Rain of the month")
CROP_USE = Arg.of("crop_use: depth, >=0, <=3000: Water that the crop uses")


@worksheet_function(
    "RAIN_UNDER_COVER",
    help="Rain that counts for a bed: all of it on open ground, none in a tunnel or on plastic"
    " mulch.",
    args=(MONTH_RAIN, Arg("cover", "text", "open, plastic mulch or tunnel", choices=COVERS)),
    results=(Result("rain", "depth", "Rain that counts"),),
    source=PLASTIC.at("no rain gets under plastic mulch; a roof keeps it off"),
    plain='IF({cover}="open",{rain},0)',
    examples=('RAIN_UNDER_COVER(3, "tunnel")',),
)
def rain_under_cover(rain: Any, cover: Any) -> Any:
    share = [RAIN_SHARE.get(name, np.nan) for name in np.atleast_1d(cover).ravel()]
    shares = np.asarray(share).reshape(np.shape(cover))
    return rains.rain_reaching_soil(rain, shares)


_TR21 = (
    "25.4*(0.531747+0.295164*({soil_storage}/25.4)-0.057697*({soil_storage}/25.4)^2"
    "+0.003804*({soil_storage}/25.4)^3)*(0.70917*({rain}/25.4)^0.82416-0.11556)"
    "*10^(0.02426*{crop_use}/25.4)"
)


worksheet_function(
    "EFFECTIVE_RAIN",
    help="Rain of a month that the crop can use, by what it uses and what the soil stores"
    " (TR-21). Never more than the rain or the use.",
    args=(
        MONTH_RAIN,
        "crop_use: depth, >=0, <=600: Water that the crop uses in the month",
        "[soil_storage=76.2]: depth, >=0.3 in, <=7 in: Usable soil water, the allowable depletion"
        " (default 3 in)",
    ),
    results=(Result("effective_rain", "depth", "Effective rain"),),
    source=SCS_TR21.at("as NEH 623 Eq. 2-84; storage factor fitted for 0.75 to 7 in"),
    plain=f"MAX(0,MIN({{rain}},{{crop_use}},{_TR21}))",
    examples=("EFFECTIVE_RAIN(4, 6)",),
)(rains.effective_rain_tr21)


worksheet_function(
    "EFFECTIVE_RAIN_SIMPLIFIED",
    help="Rain of a month that crops can use, by the simplified USDA form; it knows neither crop"
    " nor soil.",
    args=(MONTH_RAIN,),
    results=(Result("effective_rain", "depth", "Effective rain"),),
    source=USDA_SIMPLIFIED.at(),
    plain="IF({rain}<=250,{rain}*(125-0.2*{rain})/125,125+0.1*{rain})",
    examples=("EFFECTIVE_RAIN_SIMPLIFIED(4)",),
)(rains.effective_rain_simplified)


worksheet_function(
    "DEPENDABLE_RAIN",
    help="Rain of a month that crops can count on in four years of five, from its mean, where no"
    " series of years is at hand. Losses are in it already.",
    args=(MONTH_RAIN,),
    results=(Result("rain", "depth", "Dependable rain"),),
    source=AGLW.at("0.6 P - 10 up to 70 mm, 0.8 P - 24 above"),
    plain="MAX(0,IF({rain}<=70,0.6*{rain}-10,0.8*{rain}-24))",
    examples=("DEPENDABLE_RAIN(3)",),
)(rains.dependable_rain)


@worksheet_function(
    "RAIN_REACHED",
    help="Rain that a share of the years reaches, from a series of years of one month, or of whole"
    " years. Ten years at least; the months of one dry year are not all dry.",
    args=(
        "rain: depth, >=0, <=20000, of years: Rain of each year",
        "[share=0.8]: ratio, >0, <1: Share of the years (default 80 %)",
    ),
    results=(Result("rain", "depth", "Rain reached"),),
    source=COMMON_PRACTICE.at("plotting position m/(N+1), Weibull"),
    examples=("RAIN_REACHED(A2:A31)",),
)
def rain_reached(rain: Any, share: Any) -> Any:
    if len(rain) < 10:
        raise InputError("rain", f"needs ten years at least, got {len(rain)}")
    return rains.rain_reached(rain, share)


worksheet_function(
    "NET_IRRIGATION",
    help="Depth that watering must add to the root zone: use less effective rain and stored"
    " water, at least 0. No loss is counted yet.",
    args=(
        CROP_USE,
        "effective_rain: depth, >=0, <=3000: Effective rain",
        "[stored=0]: depth, >=0, <=1000: Water in the soil that may be used up",
    ),
    results=(Result("net_depth", "depth", "Net depth of irrigation"),),
    source=DEFINITION.at("use less supply"),
    plain="MAX({crop_use}-{effective_rain}-{stored},0)",
    examples=("NET_IRRIGATION(6, 2.9)",),
)(needs.net_irrigation)


worksheet_function(
    "GROSS_IRRIGATION",
    help="Depth to apply for a net depth: net over efficiency, and over what leaching leaves. The"
    " one place where losses count: give RUN_MINUTES its result without an efficiency.",
    args=(
        "net_depth: depth, >=0, <=3000: Net depth of irrigation",
        "efficiency: ratio, >0, <=1, divides: Share of the water that serves the crop; about 0.9"
        " for drip",
        "[leaching=0]: ratio, >=0, <1: Share that must pass the roots",
    ),
    results=(Result("gross_depth", "depth", "Depth to apply"),),
    source=FAO29.at("Eq. 7, with the efficiency"),
    plain="{net_depth}/({efficiency}*(1-{leaching}))",
    examples=("GROSS_IRRIGATION(3.1, 0.9)", "GROSS_IRRIGATION(3.1, 0.9, 10%)"),
)(needs.gross_irrigation)


WATER_SALINITY = Arg.of("water_salinity: salinity, >=0, <=30: Salinity of the water, ECw")


worksheet_function(
    "LEACHING_FRACTION",
    help="Share of the water that must pass the roots to keep the soil from salting up, under"
    " surface or sprinkler watering.",
    args=(
        WATER_SALINITY,
        "tolerated_salinity: salinity, >0, <=50: Salinity of the soil extract that the crop"
        " tolerates, ECe",
    ),
    results=(Result("leaching_fraction", "ratio", "Share of the water that must pass the roots"),),
    source=FAO29.at("Eq. 9, Rhoades"),
    plain="IF(2*{water_salinity}>=5*{tolerated_salinity},NA(),"
    "{water_salinity}/(5*{tolerated_salinity}-{water_salinity}))",
    relations=(
        Relation(
            "water_salinity",
            lambda water_salinity, tolerated_salinity: 2 * water_salinity >= 5 * tolerated_salinity,
            "is too high: no leaching keeps the soil that fresh (2 ECw must be under 5 ECe)",
        ),
    ),
    examples=("LEACHING_FRACTION(1.2, 2.5)",),
)(needs.leaching_fraction)


worksheet_function(
    "LEACHING_FRACTION_DRIP",
    help="Share of the water that must pass the roots under frequent drip watering.",
    args=(
        WATER_SALINITY,
        "max_soil_salinity: salinity, >0, <=60: Salinity of the soil extract at which the crop"
        " yields nothing",
    ),
    results=(Result("leaching_fraction", "ratio", "Share of the water that must pass the roots"),),
    source=NEH623_7.at("ECw over twice the greatest ECe"),
    plain="IF({water_salinity}>=2*{max_soil_salinity},NA(),{water_salinity}/(2*{max_soil_salinity}))",
    relations=(
        Relation(
            "water_salinity",
            lambda water_salinity, max_soil_salinity: water_salinity >= 2 * max_soil_salinity,
            "is too high: no leaching is enough (ECw must be under 2 ECe)",
        ),
    ),
    examples=("LEACHING_FRACTION_DRIP(1.2, 12.5)",),
)(needs.leaching_fraction_drip)


@worksheet_function(
    "RAIN_SHORTFALL",
    help="What rain and the soil's store leave unmet of a bed's use, month by month; all 0: the"
    " bed needs no lines in such a year.",
    args=(
        "crop_use: depth, >=0, <=3000, of months: Use of each month, the year in order",
        "effective_rain: depth, >=0, <=3000, of months: Effective rain of each month",
        "soil_storage: depth, >=0, <=1000: Usable soil water, the allowable depletion",
    ),
    results=(Result("shortfall", "depth", "Use that neither rain nor soil meets"),),
    source=DEFINITION.at("water balance of a store, the year taken as a circle"),
    rows="months",
    examples=("RAIN_SHORTFALL(A2:A13, B2:B13, 2)",),
)
def rain_shortfall(crop_use: Any, effective_rain: Any, soil_storage: Any) -> Any:
    return needs.rain_shortfall(crop_use, effective_rain, soil_storage)[0]
