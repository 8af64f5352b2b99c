"""What a design does, and the first thing that is wrong with it."""

from dataclasses import dataclass

import numpy as np

from xlfuncs.calculations.pressure.set_checks import Breach


@dataclass(frozen=True)
class Verdict:
    """What a design does. `breach` is the first thing that is wrong (None: it passes).

    `sets` is the set of each bed, from 1 (0: none), `fewest` a number that no sets can be fewer
    than; `seconds` each set takes for one watering; `share` the least of nominal flow and
    `uniformity` the least of a bed. `proven` is false where a better search might find that the
    design passes after all. `kept` are the beds of a valve that cannot be kept together.
    """

    breach: Breach | None
    sets: tuple[int, ...] = ()
    fewest: int = 1
    seconds: tuple[float, ...] = ()
    share: float = np.nan
    uniformity: float = np.nan
    proven: bool = True
    kept: tuple[int, ...] = ()

    @property
    def watering(self) -> float:
        """Seconds of one watering of all beds."""
        return sum(self.seconds)
