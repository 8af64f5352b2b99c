"""What a supply gives: its pressure at the flow that is drawn from it."""

from bisect import bisect_right

import numpy as np

from xlfuncs.calculations.arrays import Floats
from xlfuncs.calculations.pressure.networks import Supply
from xlfuncs.calculations.pressure.properties import Number, pressure_from_head
from xlfuncs.errors import InputError

SERVICE_EXPONENT = 1 / 0.54
"""Pressure drop against flow of a service line, as hydrant flow tests take it (NFPA 291)."""

_UP_TO = 1 + 1e-9  # a yield in another unit is the same yield
_GIVES_WAY = 0.02  # beyond its last point a supply curve falls to nothing within this share of flow


def service_pressure(
    flow: Number,
    static_pressure: Number,
    open_flow: Number,
    gauge_flow: Number = np.nan,
    gauge_pressure: Number = np.nan,
) -> Number:
    """Pressure (Pa) of a house or street connection at a flow.

    From the static pressure and the flow of the open tap (the bucket test, all pressure spent on
    the way): p = ps (1 - (Q/Qo)^m), with m = 1/0.54, or such that the curve passes through a gauge
    reading at a working flow where there is one. Beyond the flow of the open tap it is 0.
    """
    left = 1 - gauge_pressure / static_pressure
    with np.errstate(divide="ignore", invalid="ignore"):
        measured = np.log(left) / np.log(gauge_flow / open_flow)
    exponent = np.where(np.isnan(measured), SERVICE_EXPONENT, measured)
    share = np.minimum(flow / open_flow, 1.0)
    pressure = static_pressure * (1 - share**exponent)
    return float(pressure) if np.ndim(pressure) == 0 else pressure


def well_pressure(flow: Number, switch_pressure: Number, sustained_yield: Number) -> Number:
    """Pressure (Pa) that a well with a pressure switch holds: cut-in up to its sustained yield.

    The pressure swings between cut-in and cut-out; a design rests on the lower of them. Beyond the
    yield nothing is sustained: 0.
    """
    pressure = np.where(flow <= sustained_yield * _UP_TO, switch_pressure, 0.0)
    return float(pressure) if np.ndim(pressure) == 0 else pressure


def pump_pressure(flow: Floats, curve_flow: Floats, curve_head: Floats, lift: float) -> Floats:
    """Pressure (Pa) behind a pump that lifts the water by `lift` (m), from points of its curve.

    Straight between the points; beyond the last of them 0, and never below 0.
    """
    ordered = _falling_curve(curve_flow, curve_head, "curve_flow", "curve_head")
    if np.any(flow < ordered[0][0]):
        row = int(np.argmax(flow < ordered[0][0]))
        raise InputError("flow", "is below the first flow of the pump curve", row=row)
    head = np.interp(flow, *ordered, right=lift) - lift
    return pressure_from_head(np.maximum(head, 0.0))


def tank_pressure(water_level: Number, drawn: Number, tank_area: Number) -> Number:
    """Pressure (Pa) at the start of the main under a tank from which a volume (m3) was drawn.

    `water_level` (m) of the full tank above the start of the main; `tank_area` (m2) is that of its
    water surface. 0 once the level has come down to the start of the main.
    """
    level = water_level - np.where(drawn > 0, drawn / tank_area, 0.0)
    pressure = pressure_from_head(np.maximum(level, 0.0))
    return float(pressure) if np.ndim(pressure) == 0 else pressure


def _falling_curve(
    flow: Floats, pressure: Floats, flow_name: str, pressure_name: str
) -> tuple[Floats, Floats]:
    """The points by flow; raises where two have one flow or pressure rises with flow."""
    order = np.argsort(flow, kind="stable")
    flow, pressure = flow[order], pressure[order]
    if flow.size < 2:
        raise InputError(flow_name, "needs at least two points")
    same = np.flatnonzero(np.diff(flow) <= 0)
    if same.size:
        raise InputError(flow_name, "names one flow twice", row=int(order[same[0] + 1]))
    rising = np.flatnonzero(np.diff(pressure) > 0)
    if rising.size:
        words = "rises with the flow; what is steady is a pressure that falls as more is drawn"
        raise InputError(pressure_name, words, row=int(order[rising[0] + 1]))
    return flow, pressure


def supply_from_curve(flow: Floats, pressure: Floats, most: float = np.inf) -> Supply:
    """A supply from points of flow (m3/s) and pressure (Pa), straight between them.

    It never gives more than the pressure `most` (a regulator's). Below the first flow it holds the
    first pressure; beyond the last flow it gives way, within 2 % of flow.
    """
    flow, pressure = _falling_curve(flow, pressure, "supply_flow", "supply_pressure")
    metre = pressure_from_head(1.0)
    head, slopes = pressure / metre, np.diff(pressure) / metre / np.diff(flow)
    giving_way = -max(head[0], 1.0) / (_GIVES_WAY * flow[-1])
    slopes = np.concatenate([[0.0], slopes, [min(slopes[-1], giving_way)]])
    flows = np.concatenate([[0.0], flow])
    heads = np.concatenate([[head[0]], head])
    most_head, begins = most / metre, flow.tolist()
    pieces = list(zip(flows.tolist(), heads.tolist(), slopes.tolist(), strict=True))

    def supply(drawn: float) -> tuple[float, float]:
        start, head, slope = pieces[bisect_right(begins, drawn)]
        given = head + slope * (drawn - start)
        return (most_head, 0.0) if given > most_head else (given, slope)

    return supply
