"""Published cutting-stock instances, with where each comes from and what is known of it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Instance:
    """Pieces by length, one roll length, and the least number of rolls."""

    name: str
    source: str
    pieces: dict[float, int]
    roll: float
    rolls: int
    first_fit_decreasing: int | None = None


def _counted(lengths: str) -> dict[float, int]:
    counts: dict[float, int] = {}
    for length in lengths.split():
        counts[float(length)] = counts.get(float(length), 0) + 1
    return counts


# fmt: off
PAPER_MACHINE = Instance(
    "paper machine of 5600 mm",
    "Wikipedia, 'Cutting stock problem': 73 rolls, waste 0.401 %; read in a copy",
    dict(zip(
        [1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200],
        [22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20], strict=True)),
    5600, 73, 82)
CHVATAL = Instance(
    "rolls of 100 in",
    "Chvatal, Linear Programming (1983), p. 195: widths and orders read in a notebook that quotes "
    "it; 453 rolls from memory, and the linear bound 452.25 rounded up says the same",
    {45: 97, 36: 610, 31: 395, 14: 211}, 100, 453)
THREE_WIDTHS = Instance(
    "rolls of 35",
    "github.com yeap0022/cutting_stock_problem README (widths and orders); 47 by linear bound "
    "46.667 and a plan over all patterns",
    {10: 75, 15: 35, 20: 15}, 35, 47, 50)
OR_LIBRARY = [
    Instance(
        f"{name}, capacity 150",
        "Falkenauer's uniform bin packing instances, OR-Library file binpack1, with the best known "
        "number of bins printed there",
        _counted(sizes), 150, rolls)
    for name, rolls, sizes in [
        ("u120_00", 48, """
            42 69 67 57 93 90 38 36 45 42 33 79 27 57 44 84 86 92 46 38 85 33 82 73 49 70 59 23 57
            72 74 69 33 42 28 46 30 64 29 74 41 49 55 98 80 32 25 38 82 30 35 39 57 84 62 50 55 27
            30 36 20 78 47 26 45 41 58 98 91 96 73 84 37 93 91 43 73 85 81 79 71 80 76 83 41 78 70
            23 42 87 43 84 60 55 49 78 73 62 36 44 94 69 32 96 70 84 58 78 25 80 58 66 83 24 98 60
            42 43 43 39"""),
        ("u120_01", 49, """
            97 57 81 62 75 81 23 43 50 38 60 58 70 88 36 90 37 45 45 39 44 53 70 24 82 81 47 97 35
            65 74 68 49 55 52 94 95 29 99 20 22 25 49 46 98 59 98 60 23 72 33 98 80 95 78 57 67 53
            47 53 36 38 92 30 80 32 97 39 80 72 55 41 60 67 53 65 95 20 66 78 98 47 100 85 53 53 67
            27 22 61 43 52 76 64 61 29 30 46 79 66 27 79 98 90 22 75 57 67 36 70 99 48 43 45 71 100
            88 48 27 39"""),
        ("u120_03", 49, """
            29 26 83 82 92 95 87 63 57 100 63 65 81 46 42 95 90 80 53 27 84 40 22 97 20 73 63 95 46
            42 47 40 26 88 49 24 92 87 68 95 34 82 84 43 54 73 66 32 62 48 99 90 86 28 25 25 89 67
            96 35 33 70 40 59 32 94 34 86 35 45 25 76 80 42 91 44 91 97 60 29 45 37 61 54 78 56 74
            74 45 21 96 37 75 100 58 84 85 56 54 71 52 79 43 35 27 70 31 47 35 26 30 97 90 80 58 60
            73 46 71 39"""),
    ]
]
# fmt: on

# Extra material on cutting stock to "Data-driven mathematical optimization in Python"
# (mo-book.ampl.com, notebook 05; data of Gilmore and Gomory 1961): the page was read for the
# statement; lengths, prices, orders and the cost of 170 are from memory.
THREE_STOCKS = {
    "piece_lengths": [2.0, 3.0, 4.0],
    "pieces": [20, 10, 20],
    "roll_lengths": [5.0, 6.0, 9.0],
    "roll_prices": [6.0, 7.0, 10.0],
}
THREE_STOCKS_COST = 170.0


def first_fit_decreasing(pieces: dict[float, int], roll: float) -> int:
    """Rolls by the usual rule of thumb: longest first, into the first roll with room."""
    rooms: list[float] = []
    for length in sorted((p for p, n in pieces.items() for _ in range(n)), reverse=True):
        for index, room in enumerate(rooms):
            if length <= room:
                rooms[index] -= length
                break
        else:
            rooms.append(roll - length)
    return len(rooms)
