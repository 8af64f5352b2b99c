"""The bed plan: which crop stands in which bed, from when to when."""

from xlfuncs.tables.columns import Column, Table

BED_PLAN = Table(
    "BedPlan",
    "One row per crop in a bed. A bed without a row in a month lies fallow then and gets no water.",
    (
        Column(
            "bed", "Bed", "text", "Name of the bed, as in the bed list",
            required=True, one_of=("Beds", "bed"),
            synonyms=("bed name", "bed no", "bed number", "bed #", "bed id", "plot", "block"),
        ),
        Column(
            "crop", "Crop", "text", "Name of the crop, as in the crop table",
            required=True, one_of=("Crops", "crop"),
            synonyms=("crop name", "planting", "planted with", "what", "vegetable"),
        ),
        Column(
            "start", "From", "date", "First day that the bed is watered for the crop",
            required=True,
            synonyms=("start", "start date", "planted", "plant date", "planting date", "sown",
                      "transplanted", "begin", "date in"),
        ),
        Column(
            "end", "To", "date", "Last day that the bed is watered for the crop",
            required=True,
            synonyms=("end", "end date", "until", "till", "harvest end", "last harvest", "out",
                      "removed", "date out", "cleared"),
        ),
    ),
)  # fmt: skip
