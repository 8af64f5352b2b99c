"""A purchase of rolls as a list that a person with scissors can follow."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from xlfuncs.calculations.buying.cutting import CutStretch, RollPlan

WHOLE, START, MIDDLE, REST = "whole", "start, then join", "between two joins", "rest, joined on"
LENGTH_SLACK = 5e-6  # m; more than the tolerance with which rolls are filled


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

    def order(stretch: CutStretch) -> tuple[bool, list[float], list[float]]:
        return (
            not stretch.pieces,  # bought only to reach a lower price
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
        while wanted > left + LENGTH_SLACK and number + 1 < len(sizes):
            part = left - join_loss
            if part > LENGTH_SLACK:
                where = MIDDLE if begun else START
                cuts.append(
                    Cut(opened + number + 1, sizes[number], piece, 1, part, where, left - part)
                )
                wanted, begun = wanted - part, True
            number += 1
            left = roll_lengths[sizes[number]]
        left = left - wanted if left - wanted > LENGTH_SLACK else 0.0
        _add(
            cuts,
            Cut(
                opened + number + 1, sizes[number], piece, 1, wanted, REST if begun else WHOLE, left
            ),
        )
    return cuts


def _add(cuts: list[Cut], cut: Cut) -> None:
    """One more cut at the end; equal pieces of one row in a row become one step."""
    last = cuts[-1] if cuts else None
    if last and (last.roll, last.piece, last.part, cut.part) == (cut.roll, cut.piece, WHOLE, WHOLE):
        cuts[-1] = replace(cut, pieces=last.pieces + 1)
    else:
        cuts.append(cut)


def left_over_by_size(
    plan: RollPlan, cuts: Sequence[Cut], roll_lengths: Sequence[float]
) -> list[float]:
    """What stays of the rolls of each size after the last cut, in m."""
    left = [number * length for number, length in zip(plan.rolls, roll_lengths, strict=True)]
    for cut in cuts:
        left[cut.size] -= cut.pieces * cut.length
    return [length if length > LENGTH_SLACK else 0.0 for length in left]
