"""The single values that a plan rests on, in sections; each is a defined name in the workbook."""

from __future__ import annotations

from dataclasses import dataclass

from xlfuncs.tables.columns import Column


@dataclass(frozen=True)
class Section:
    """Settings that belong together."""

    title: str
    help: str
    settings: tuple[Column, ...]


PLAN = Section(
    "This plan",
    "Who and what the plan is for.",
    (
        Column("farm", "Farm", "text", "Name of the farm or garden", required=True),
        Column("plan_date", "Plan date", "date", "Date that prices and seasons are judged by",
               required=True),
        Column("currency", "Currency", "text", "Currency of every price and amount",
               required=True),
        Column("garden_area", "Garden with paths", "area",
               "The whole garden, beds and paths together; cost per area is said of it too",
               above=0),
    ),
)  # fmt: skip

SUPPLY = Section(
    "Supply",
    "Measured at the tap that feeds the garden, at the hour when the garden is watered.",
    (
        Column("bucket_volume", "Volume caught", "volume", "Water caught in the bucket test",
               required=True, above=0),
        Column("bucket_seconds", "Seconds it took", "seconds", "Seconds until it was full",
               required=True, above=0),
        Column("static_pressure", "Static pressure", "pressure",
               "Pressure at the tap with nothing running, by a gauge", required=True, above=0,
               maximum=1.5e6),
        Column("supply_share", "Share of the supply to use", "ratio",
               "Part of the measured flow that the garden may take (0.75 by common practice)",
               default=0.75, above=0, maximum=1),
    ),
)  # fmt: skip

TARGET = Section(
    "Target",
    "How much water the beds should get. Say the depth that the crops need; what is lost on the"
    " way is covered by the efficiency, here and nowhere else.",
    (
        Column("weekly_depth", "Net depth a week", "depth",
               "Depth of water a week that the crops need in the hottest part of the season",
               required=True, above=0, maximum=200),
        Column("waterings_a_week", "Waterings a week", "number", "Days with water in a week",
               default=3, above=0, maximum=28),
        Column("efficiency", "Efficiency", "ratio",
               "Part of the water that serves the crops; about 0.9 for drip lines",
               default=0.9, above=0, maximum=1),
    ),
)  # fmt: skip

SECTIONS = (PLAN, SUPPLY, TARGET)
