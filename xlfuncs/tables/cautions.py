"""Cautions: what can hurt somebody, declared once for every page and command that designs."""

CAUTIONS = (
    "Backflow and cross-connection: never join a creek, pond, well or tank to the drinking-water"
    " tap. Soil and fertilizer at the line count as a health hazard in many codes; which preventer"
    " suits, who fits it and who tests it is the local authority's word.",
    "Pressure: lines burst or blow off above their rating. A regulator stands before them, a gauge"
    " behind it; never work on a line under pressure.",
    "Winter and compressed air: drain by gravity first and leave drain ends open. Air only low and"
    " regulated, below the rating of the weakest part, with eye protection, nobody near, and the"
    " backflow preventer isolated.",
    "Electricity and pumps: household wiring is for licensed people. Switch off before touching a"
    " pump; never let it run dry or against a closed valve. Batteries out in winter.",
    "Fertilizer and acid: by the label, never mixed unless it says so, injected only behind a"
    " preventer that is approved for chemicals.",
    "Food and soil: have water tested before it touches what is eaten raw; salty water harms soil"
    " and crops.",
    "Digging: have buried utilities marked before you trench.",
    "Heat: water in lines that lie in the sun can scald; let it run out first. Tanks and ponds:"
    " cover or fence them, children drown in little water.",
    "Local codes and licensed practice come before anything that is said here.",
)
IN_SHORT = (
    "Cautions: backflow protection as the local authority asks; a regulator before the lines;"
    " utilities marked before digging; wiring by licensed people. Local codes come first."
)
