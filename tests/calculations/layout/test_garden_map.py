"""The map against plain geometry: no two beds overlap, beds keep their lengths and distances."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from xlfuncs.calculations.layout.beds import bed_positions

beds = st.lists(
    st.tuples(st.integers(1, 30), st.floats(3, 60), st.integers(0, 3)), min_size=1, max_size=24
)


def _at_most_two_at_a_place(rows: list[tuple[int, float, int]]) -> list[tuple[int, float, int]]:
    kept: list[tuple[int, float, int]] = []
    for row in rows:
        if sum(k[0] == row[0] and k[2] == row[2] for k in kept) < 2:
            kept.append(row)
    return kept


@given(beds)
def test_beds_keep_length_and_distance_and_never_overlap(
    rows: list[tuple[int, float, int]],
) -> None:
    rows = _at_most_two_at_a_place(rows)
    distance, length, branch = (np.array(column, float) for column in zip(*rows, strict=True))
    near, far, y, pipe = bed_positions(distance, length, branch, 0.3, np.zeros(len(rows)))
    assert np.allclose(np.abs(far - near), length)
    assert np.array_equal(y, distance)
    assert np.allclose(np.abs(near - pipe), 0.3)
    for i in range(len(rows)):
        for j in range(i):
            if distance[i] == distance[j]:
                low = max(min(near[i], far[i]), min(near[j], far[j]))
                high = min(max(near[i], far[i]), max(near[j], far[j]))
                assert high <= low + 1e-9


def test_two_beds_at_one_place_face_each_other() -> None:
    near, far, _, _ = bed_positions(
        np.array([5.0, 5.0]), np.array([10.0, 12.0]), np.zeros(2), 0.3, np.zeros(2)
    )
    assert near.tolist() == [-0.3, 0.3]
    assert far.tolist() == [-10.3, 12.3]


def test_beds_of_one_row_stay_on_their_side_unless_they_would_overlap() -> None:
    def sides(*distances: float) -> list[float]:
        distance = np.array(distances)
        half = np.full(distance.size, 0.6)
        near = bed_positions(distance, half + 9, np.zeros(distance.size), 0.3, half)[0]
        return np.sign(near).tolist()

    assert sides(2, 4, 6, 8) == [-1, -1, -1, -1]
    assert sides(2, 4, 6, 2, 4) == [-1, -1, -1, 1, 1]  # north 1 to 3, then south 1 and 2
    assert sides(2, 2, 4, 4, 6) == [-1, 1, -1, 1, 1]
    assert sides(2, 3, 4, 5) == [-1, 1, -1, 1]  # 1 m apart, 1.2 m wide
