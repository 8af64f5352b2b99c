"""Declarations: pipes, emitters and single laterals."""

from typing import Any

from xlfuncs.calculations.pressure import emitters, laterals, pipe_friction
from xlfuncs.catalogue.declaration import Arg, Relation, Result, worksheet_function
from xlfuncs.catalogue.sources import DEFINITION, EPANET, Source

KELLER = Source("Keller and Karmeli (1974), Trickle irrigation design parameters, Trans. ASAE 17")
CHRISTIANSEN = Source("Christiansen (1942), Irrigation by sprinkling, Calif. Agr. Exp. Sta. B. 670")
ISO9261 = Source("ISO 9261:2004, emitters and emitting pipe")
MERRIAM = Source("Merriam and Keller (1978), Farm irrigation system evaluation")

_MOST_FLOW = "2000 m³/h"
MOST_PRESSURE = "20 bar"

FLOW_IN_PIPE = Arg.of(f"flow: flow, >=0, <={_MOST_FLOW}: Flow in the pipe")
PIPE_LENGTH = Arg.of("length: length, >=0, <=100000: Length of the pipe")
BORE = Arg.of("inside_diameter: diameter, >0, <=2, divides: Inside diameter, never the nominal"
              " size")  # fmt: skip
ROUGHNESS = Arg.of(f"[roughness={pipe_friction.SMOOTH_PLASTIC}]: roughness, >=0, <=0.005:"
                   " Roughness (default smooth plastic, 0.0015 mm)")  # fmt: skip
SPACING = Arg.of("emitter_spacing: width, >0, <=5: Distance between emitters; the first lies one"
                 " full spacing from the inlet")  # fmt: skip
RATED_FLOW = Arg.of("rated_flow: emitter_flow, >0, <=24 L/h: Flow of one emitter at its rated"
                    " pressure")  # fmt: skip
RATED_PRESSURE = Arg.of("rated_pressure: pressure, >0, <=10 bar, divides: Pressure at which that"
                        " flow is given")  # fmt: skip
EXPONENT = Arg.of("[exponent=0.5]: number, >=0, <=1: Emitter discharge exponent: 0.5 for most, 0"
                  " to 0.1 compensating")  # fmt: skip
LEAST_PRESSURE = Arg.of("[min_pressure=0]: pressure, >=0, <=10 bar: Minimum working pressure;"
                        " below it flows are extrapolated as of an orifice")  # fmt: skip
CV = Arg.of("[cv=0]: number, >=0, <=0.5: Manufacturer's coefficient of variation")
TOO_ROUGH = Relation(
    "roughness",
    lambda roughness, inside_diameter: roughness > 0.01 * inside_diameter,
    "is over 1 % of the inside diameter, where the friction formula no longer holds",
)


def _friction_formula() -> str:
    """The law of `pipe_friction` as one spreadsheet formula in base units."""
    reynolds = "(4*{flow}/(PI()*{inside_diameter}*1.0034E-06))"
    rough = "{roughness}/{inside_diameter}/3.7"
    y = f"(-2*LOG10({rough}+5.74/4000^0.9))"
    fa = f"(1/{y}^2)"
    fb = f"({fa}*(2-3.6/LN(10)*5.74/4000^0.9/(({rough}+5.74/4000^0.9)*{y})))"
    r = f"({reynolds}/2000)"
    cubic = (
        f"(7*{fa}-{fb}+{r}*(0.128-17*{fa}+2.5*{fb}+{r}*(-0.128+13*{fa}-2*{fb}"
        f"+{r}*(0.032-3*{fa}+0.5*{fb}))))"
    )
    turbulent = f"(0.25/LOG10({rough}+5.74/{reynolds}^0.9)^2)"
    factor = f"IF({reynolds}<4000,{cubic},{turbulent})"
    head = "8*{length}*{flow}^2/(PI()^2*9.80665*{inside_diameter}^5)"
    laminar = "128*1.0034E-06*{length}*{flow}/(PI()*9.80665*{inside_diameter}^4)"
    return f"998.2071*9.80665*IF({reynolds}<=2000,{laminar},{head}*{factor})"


worksheet_function(
    "FRICTION_LOSS",
    help="Pressure lost along a full round pipe by Darcy-Weisbach, water at 20 deg C.",
    args=(FLOW_IN_PIPE, PIPE_LENGTH, BORE, ROUGHNESS),
    results=(Result("loss", "pressure", "Pressure lost"),),
    source=EPANET.at("appendix D: Hagen-Poiseuille to Re 2000, cubic, Swamee-Jain from Re 4000"),
    relations=(TOO_ROUGH,),
    plain=_friction_formula(),
    examples=('FRICTION_LOSS(3.3, 200, "0.600 in")',),
)(pipe_friction.friction_loss)


def _not_turbulent(flow: Any, inside_diameter: Any) -> Any:
    reynolds = pipe_friction.reynolds_number(flow, inside_diameter)
    return (flow > 0) & (reynolds < pipe_friction.TURBULENT_FROM)


worksheet_function(
    "FRICTION_LOSS_HAZEN_WILLIAMS",
    help="Pressure lost along a pipe by Hazen-Williams; for turbulent water at ordinary"
    " temperatures. In small pipe it gives too little: prefer FRICTION_LOSS.",
    args=(
        FLOW_IN_PIPE, PIPE_LENGTH, BORE,
        "[coefficient=150]: number, >=60, <=160: Hazen-Williams C (default 150, smooth plastic)",
    ),
    results=(Result("loss", "pressure", "Pressure lost"),),
    source=EPANET.at("table 3.1, 4.727 C^-1.852 d^-4.871 L in feet and cubic feet a second"),
    relations=(
        Relation(
            "flow", _not_turbulent,
            "is not turbulent in this pipe (Reynolds number under 4,000); use FRICTION_LOSS",
        ),
    ),
    plain="998.2071*9.80665*4.727*0.3048^(4.871-5.556)*{length}"
    "*({flow}/{coefficient})^1.852/{inside_diameter}^4.871",
    examples=('FRICTION_LOSS_HAZEN_WILLIAMS(8, 100, "0.818 in")',),
)(pipe_friction.friction_loss_hazen_williams)  # fmt: skip


worksheet_function(
    "FLOW_VELOCITY",
    help="Mean velocity of the water in a full pipe.",
    args=(FLOW_IN_PIPE, BORE),
    results=(Result("velocity", "velocity", "Mean velocity"),),
    source=DEFINITION.at("flow over cross-section"),
    plain="{flow}/(PI()/4*{inside_diameter}^2)",
    examples=('FLOW_VELOCITY(3.3, "0.600 in")',),
)(pipe_friction.flow_velocity)


worksheet_function(
    "MULTIPLE_OUTLET_FACTOR",
    help="Share of the friction loss that is left where a line gives its flow off through equal"
    " outlets along the way (Christiansen's F, exact sum).",
    args=(
        "outlets: count, >=1, <=5000, whole: Number of outlets",
        "[exponent=1.75]: number, >=1, <=2: Exponent of flow in the friction formula",
        "[first_outlet=1]: number, >0, <=1: Distance of the first outlet in spacings: 1 (default)"
        " or 0.5",
    ),
    results=(Result("factor", "ratio", "F"),),
    source=CHRISTIANSEN.at("the sum behind the formula; half spacing: Jensen and Fratini (1957)"),
    examples=("MULTIPLE_OUTLET_FACTOR(50)",),
)(pipe_friction.multiple_outlet_factor)


worksheet_function(
    "EMITTER_FLOW",
    help="Flow of an emitter at the pressure that it gets. Below min_pressure the flow is"
    " extrapolated as of an orifice.",
    args=(
        f"pressure: pressure, >=0, <={MOST_PRESSURE}: Pressure at the emitter",
        RATED_FLOW, RATED_PRESSURE, EXPONENT, LEAST_PRESSURE,
    ),
    results=(Result("flow", "emitter_flow", "Flow of the emitter"),),
    source=ISO9261.at("q = k p^m, flow rate as a function of inlet pressure"),
    plain="IF({pressure}<=0,0,{rated_flow}*(MAX({pressure},{min_pressure})/{rated_pressure})"
    "^{exponent}*SQRT(IF({pressure}<{min_pressure},{pressure}/{min_pressure},1)))",
    examples=("EMITTER_FLOW(12, 0.5, 10)", "EMITTER_FLOW(5, 0.5, 10, 0, 7)"),
)(emitters.emitter_flow)  # fmt: skip


worksheet_function(
    "EMISSION_UNIFORMITY",
    help="Design emission uniformity: least over mean emitter flow, less what manufacture varies.",
    args=(
        "min_flow: emitter_flow, >=0: Flow of the driest emitter",
        "mean_flow: emitter_flow, >0, divides: Mean flow of the emitters",
        CV,
        "[emitters_per_plant=1]: number, >=1, <=100: Emitters that share in watering a plant",
    ),
    results=(Result("uniformity", "ratio", "Emission uniformity, 0 to 1"),),
    source=KELLER.at("EU = (1 - 1.27 CV / sqrt(n)) qmin / qmean"),
    relations=(
        Relation("min_flow", lambda min_flow, mean_flow: min_flow > mean_flow,
                 "is greater than the mean flow"),
    ),
    plain="(1-1.27*{cv}/SQRT({emitters_per_plant}))*{min_flow}/{mean_flow}",
    examples=("EMISSION_UNIFORMITY(0.24, 0.25, 0.03)",),
)(laterals.emission_uniformity)  # fmt: skip


worksheet_function(
    "DISTRIBUTION_UNIFORMITY",
    help="Field test: mean of the lowest quarter of measured emitter flows over the mean of all.",
    args=("flows: emitter_flow, >=0, of readings: Measured flows, or volumes caught in one time",),
    results=(Result("uniformity", "ratio", "Low-quarter distribution uniformity, 0 to 1"),),
    source=MERRIAM.at("low-quarter distribution uniformity"),
    examples=("DISTRIBUTION_UNIFORMITY(A2:A17)",),
)(laterals.distribution_uniformity)
