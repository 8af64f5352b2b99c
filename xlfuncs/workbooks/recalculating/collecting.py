"""Python's search for objects that hold each other, put off while cells are made by the thousand.

Cells and formulas hold nothing in circles; searching through them again and again, as their number
grows, takes about a tenth of the time that a large workbook needs (tests/bench/bench_tricks.py).
A book that was written does, 20 MB each; what is put off again and again is done at times.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count

AT_MOST = 8  # times that it is put off; a command ends before that
_times = count(1)


@contextmanager
def collection_put_off() -> Iterator[None]:
    """Nothing is collected inside; afterwards as before."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()  # all that was made counts as old, so that it is not searched at once
        gc.unfreeze()
        if was_on:
            gc.enable()
            if next(_times) % AT_MOST == 0:
                gc.collect()
