"""Weather as a grower has it: monthly means for planning, a daily log for the season."""

from xlfuncs.tables.columns import Column, Table
from xlfuncs.tables.garden.beds import OPEN_GROUND, PLASTIC_MULCH, TUNNEL

# Share of the rain that gets to the roots. A roof keeps it off. On plastic mulch plants "receive
# water only from the irrigation system" (Alabama Cooperative Extension ANR-654), and Penn State
# Extension (2013, how long to run drip irrigation) subtracts rain on bare ground only.
RAIN_SHARE = {OPEN_GROUND: 1.0, PLASTIC_MULCH: 0.0, TUNNEL: 0.0}

# What a cover leaves of the water that a crop uses in the open. Plastic mulch: drip-watered
# cucumber used 15.6 % less under black plastic than on bare ground (Yaghi, Arslan and Naoum 2013,
# yield over water use efficiency); elsewhere pepper used no less (Shukla et al. 2012). Tunnel:
# common practice says 0.6 to 0.8 of outside, a glasshouse was measured at 0.64 (Amiri,
# Abedi-Koupai and Eslamian 2018); the wet end here. A probe in the bed knows better.
USE_SHARE = {OPEN_GROUND: 1.0, PLASTIC_MULCH: 0.85, TUNNEL: 0.8}

# The day of the year on which FAO-56 table 2.6 takes each month: its 15th.
MID_MONTH_DAYS = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)

GREATEST = Column("max_temperature", "Maximum temperature", "temperature",
              "Mean of the days' greatest temperatures", required=True, minimum=-60, maximum=60,
              former=("greatest temperature",), synonyms=("tmax", "max temp", "high", "mean high",
                        "average high"))  # fmt: skip
LEAST = Column("min_temperature", "Minimum temperature", "temperature",
              "Mean of the days' least temperatures", required=True, minimum=-60, maximum=60,
              former=("least temperature",), synonyms=("tmin", "min temp", "low", "mean low",
                        "average low"))  # fmt: skip
RAIN = Column("rain", "Rain", "depth", "Depth of rain", required=True, minimum=0, maximum=3000,
               synonyms=("rainfall", "precipitation", "precip", "rain gauge"))  # fmt: skip
_OTHERS = (
    Column("wind", "Wind", "wind", "Mean wind at 2 m above the ground; blank: 2 m/s",
           minimum=0, maximum=40, synonyms=("wind speed", "mean wind")),
    Column("max_humidity", "Maximum humidity", "ratio", "Mean of the greatest relative humidity",
           above=0, maximum=1, former=("greatest humidity",),
           synonyms=("rhmax", "rh max", "max humidity")),
    Column("min_humidity", "Minimum humidity", "ratio", "Mean of the least relative humidity",
           above=0, maximum=1, former=("least humidity",),
           synonyms=("rhmin", "rh min", "min humidity")),
    Column("sunshine", "Sunshine", "hours", "Hours of bright sunshine a day",
           minimum=0, maximum=86400, synonyms=("sun hours", "sunshine hours")),
    Column("radiation", "Solar radiation", "radiation", "Solar radiation, where it is measured",
           minimum=0, maximum=50, synonyms=("solar", "rs", "solar radiation")),
)  # fmt: skip

MONTHLY_WEATHER = Table(
    "MonthlyWeather",
    "Twelve rows, from a climate table of a station near you. Blank columns follow FAO-56's rules.",
    (
        Column("month", "Month", "count", "Month, 1 to 12", required=True, minimum=1, maximum=12,
               synonyms=("month number", "m")),
        GREATEST,
        LEAST,
        RAIN,
        *_OTHERS,
    ),
)  # fmt: skip
