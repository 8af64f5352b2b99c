"""Values that are allowed but look like a slip; INPUT_CHECK and `check` say so in words."""

from typing import Any

from xlfuncs.catalogue.declaration import Arg

# Sizes that pipe is called by. Half-inch tubing is about 0.60 in inside, 16 mm line about
# 13.6 to 14 mm; an inside diameter of exactly a nominal size is most likely the name of the pipe.
NOMINAL_INCHES = (0.5, 0.625, 0.75, 1.0)
NOMINAL_MILLIMETRES = (16.0, 17.0, 20.0, 25.0)


def nominal_size(metres: float) -> str:
    """Words where an inside diameter is exactly a nominal pipe size, else ''."""
    for size in NOMINAL_INCHES:
        if abs(metres / 0.0254 - size) < 1e-6:
            return f"{size:g} in is a nominal size; look up the inside diameter in the pipe table"
    for size in NOMINAL_MILLIMETRES:
        if abs(metres * 1000 - size) < 1e-6:
            return f"{size:g} mm is a nominal size; look up the inside diameter in the pipe table"
    return ""


def doubt_of_argument(arg: Arg, base: Any) -> str:
    """Words on one argument's value (base unit), or ''."""
    if arg.dimension == "diameter" and isinstance(base, float):
        return nominal_size(base)
    return ""
