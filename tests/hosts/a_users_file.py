"""A user's file that calls twenty functions; a test holds that a strict type checker takes it."""

from __future__ import annotations

import pandas as pd

import xlfuncs

beds = pd.DataFrame({"length": [48.0, 44.0], "width": [30.0, 30.0]})
area: float = xlfuncs.bed_area(48, "75 cm", 2)
beds["area"] = xlfuncs.bed_area(beds.length, beds.width, 2)
count: float = xlfuncs.emitter_count(48, 12)
flow: float = xlfuncs.lateral_flow(48, 12, "0.9 L/h")
bed_flow: float = xlfuncs.bed_flow(48, 12, "0.9 L/h", 3)
length: float = xlfuncs.line_length(48, 3)
volume: float = xlfuncs.volume_from_depth(area, 1)
depth: float = xlfuncs.depth_from_volume(area, volume)
rate: float = xlfuncs.application_rate(flow, area)
minutes: float = xlfuncs.run_minutes(area, 1, bed_flow)
supply: float = xlfuncs.supply_flow(5, 30)
loss: float = xlfuncs.friction_loss(5, 100, 0.6)
emitter: float = xlfuncs.emitter_flow(10, 0.25, 8)
shortest = xlfuncs.max_lateral_length(
    emitter_spacing=12,
    rated_flow=0.25,
    rated_pressure=10,
    inside_diameter=0.6,
    inlet_pressure=10,
    uniformity=0.9,
)
water: float = xlfuncs.pipe_volume(100, 0.6)
uniformity = xlfuncs.distribution_uniformity([1.0, 0.9, 0.8, 1.1])
rolls: float = xlfuncs.rolls_needed(1200, 1000, 0.05)
tape: float = xlfuncs.emitter_flow_from_tape(0.5, 8)
words: str = str(xlfuncs.input_check("RUN_MINUTES", 600, 1, 0))
metric: float = xlfuncs.bed_area(14.6, 75, units="metric")
