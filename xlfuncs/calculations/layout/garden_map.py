"""Where beds lie on a map: the main runs straight up from the supply, beds stand across it.

The bed list knows distances along the pipe, not the compass. So the map is to scale along the
pipes and the beds, and says nothing of bends: the main is straight, each branch is drawn as a
line of its own beside the main, far enough that no two beds overlap. Lengths in m.
"""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]

SAME_PLACE = 0.01  # m; beds closer than this along the pipe face each other


def bed_positions(
    distance: Floats, length: Floats, branch: Floats, gap: float, half_width: Floats
) -> tuple[Floats, Floats, Floats, Floats]:
    """The inlet and far end of each bed's centre line, and where its pipe runs.

    `gap` is from the pipe to the head of a bed. Gives x of the inlet, x of the far end, y, and x
    of the pipe. The first of two beds at one place lies left (x below the pipe's), the second
    right; a bed alone at its place lies on the side of the one before it in the list, or across
    from it where the two would overlap by their `half_width`. Three at one place do not happen on
    a pipe; the third goes right again.
    """
    side = np.zeros(distance.size)
    pipe = np.zeros(distance.size)
    right_edge = 0.0
    for number in np.unique(branch):
        members = np.flatnonzero(branch == number)
        side[members] = _sides(distance[members], half_width[members])
        reach = length[members] + gap
        left = reach[side[members] < 0].max(initial=0.0)
        right = reach[side[members] > 0].max(initial=0.0)
        x = 0.0 if number == branch.min() else right_edge + left + 2 * gap
        pipe[members] = x
        right_edge = x + right
    near = pipe + side * gap
    return near, near + side * length, distance.copy(), pipe


def _sides(distance: Floats, half_width: Floats) -> Floats:
    """-1 for left, 1 for right, for the beds of one pipe in the order of the list."""
    side = np.zeros(distance.size)
    last = -1.0
    for i, at in enumerate(distance):
        faces = np.abs(distance - at) < SAME_PLACE
        touches = np.abs(distance - at) < half_width + half_width[i] - SAME_PLACE
        taken = side[faces | touches]
        if faces.sum() > 1:
            last = 1.0 if (taken == -1).any() else -1.0
        elif (taken == last).any():
            last = -last
        side[i] = last
    return side
