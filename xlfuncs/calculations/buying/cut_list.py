"""A purchase of rolls as a list that a person with scissors can follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from xlfuncs.calculations.buying.cutting import CutStretch, RollPlan

WHOLE, START, MIDDLE, REST = "whole", "start, then join", "between two joins", "rest, joined on"
LENGTH_SLACK = 1e-6  # m


@dataclass(frozen=True)
class Cut:
    """One step: from roll number `roll` cut `pieces` of `length` for row `piece` of the list."""

    roll: int
    size: int
    piece: int
    pieces: int
    length: float
    part: str
    left: float  # on the roll afterwards


def cut_list(
    plan: RollPlan,
    piece_lengths: Sequence[float],
    roll_lengths: Sequence[float],
    join_loss: float = 0.0,
) -> list[Cut]:
    """The steps roll by roll: long rolls first, rolls cut alike together, long pieces first.

    Lengths in m; rolls are numbered from 1 in the order in which they are opened. Where rolls are
    joined, `join_loss` is left at the end of each roll that a piece runs on from.
    """

    def order(stretch: CutStretch) -> tuple[list[float], list[float]]:
        return (
            sorted(-roll_lengths[size] for size in stretch.rolls),
            sorted(-piece_lengths[row] for row in stretch.pieces),
        )

    cuts: list[Cut] = []
    rolls = 0
    for stretch in sorted(plan.stretches, key=order):
        cuts += _cut_stretch(stretch, rolls, piece_lengths, roll_lengths, join_loss)
        rolls += len(stretch.rolls)
    return cuts


def _cut_stretch(
    stretch: CutStretch,
    opened: int,
    piece_lengths: Sequence[float],
    roll_lengths: Sequence[float],
    join_loss: float,
) -> list[Cut]:
    """Lay the pieces end to end along the rolls of one stretch."""
    sizes = sorted(stretch.rolls, key=lambda size: -roll_lengths[size])
    number, left = 0, roll_lengths[sizes[0]]
    cuts: list[Cut] = []
    for piece in sorted(stretch.pieces, key=lambda row: (-piece_lengths[row], row)):
        wanted, begun = piece_lengths[piece], False
        while wanted > left + LENGTH_SLACK:
            part = left - join_loss
            if part > LENGTH_SLACK:
                cuts.append(
                    Cut(
                        opened + number + 1,
                        sizes[number],
                        piece,
                        1,
                        part,
                        MIDDLE if begun else START,
                        left - part,
                    )
                )
                wanted, begun = wanted - part, True
            number += 1
            left = roll_lengths[sizes[number]]
        left = left - wanted if left - wanted > LENGTH_SLACK else 0.0
        cut = Cut(
            opened + number + 1, sizes[number], piece, 1, wanted, REST if begun else WHOLE, left
        )
        cuts = _with(cuts, cut)
    return cuts


def _with(cuts: list[Cut], cut: Cut) -> list[Cut]:
    """The list with one more cut; equal pieces of one row in a row become one step."""
    last = cuts[-1] if cuts else None
    same = last is not None and (last.roll, last.piece, last.part) == (cut.roll, cut.piece, WHOLE)
    if last is None or not same or cut.part != WHOLE:
        return [*cuts, cut]
    several = Cut(cut.roll, cut.size, cut.piece, last.pieces + 1, cut.length, WHOLE, cut.left)
    return [*cuts[:-1], several]


def left_over_by_size(cuts: Sequence[Cut], sizes: int) -> list[float]:
    """What stays on the rolls of each size after the last cut, in m."""
    last = {cut.roll: cut for cut in cuts}
    left = [0.0] * sizes
    for cut in last.values():
        left[cut.size] += cut.left
    return left
