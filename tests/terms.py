"""The words of the workbook: one word for one thing, and what is written instead of others."""

TERMS = {
    "line": "a tube with emitters along a bed, and the product that it is cut from",
    "strip": "a planted band along a bed; a bed may have several side by side",
    "valve": "what opens the water to the beds of one set",
    "set": "the beds that are watered together",
    "station": "an outlet of the timer, which opens one valve",
    "manifold": "the pipe along the head of a bed that feeds its lines",
    "main": "the pipe from the supply along the garden",
    "inset": "from the edge of a bed to its outermost line",
    "depletion": "how much of the soil's water is used up before watering",
    "stock": "rolls and parts that were bought and are not used yet",
    "efficiency": "the part of the water that serves the crops",
    "minimum": "the least that is allowed or was measured",
    "maximum": "the most that is allowed or was measured",
    "ok": "nothing is wrong there",
}
INSTEAD = {"zone": "set", "lateral": "line", "fertiliser": "fertilizer", "remark": "note",
           "verdict": "state"}  # fmt: skip
