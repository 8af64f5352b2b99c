"""Python's search for objects that hold each other, put off while cells are made by the thousand.

Cells and formulas hold nothing in circles; searching through them again and again, as their number
grows, takes about a tenth of the time that a large workbook needs (tests/bench/bench_tricks.py).
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager


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
