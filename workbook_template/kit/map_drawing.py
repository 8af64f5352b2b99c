"""Drawing a map of beds to scale, as SVG or PNG: our own plain shapes, legible in grey."""

import io
import logging
import math
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from workbook_template.kit.style import INK, LINE, SERIES
from xlfuncs.tables.settings import COMPASS
from xlfuncs.xlsx.saving import save

if TYPE_CHECKING:
    from xlfuncs.workbooks.bed_map import BedMap, MapBed

NAME_SIZE, SMALLEST_NAME = 9.0, 4.0  # points; a picture of a large garden is there to zoom in
LETTER = 0.5  # of its size: how wide a letter is, about
DRAWN_INCHES = 5.5  # about what a garden that is as high as wide takes of the page
LEGEND = ("Diamond: where a bed is fed. Dashed outline: bed is off. Pipes are drawn straight; their"
          " lengths along the way are to scale, their bends and sides are not known.")  # fmt: skip
WORDS = {"off": "{bed} (off)", "map_valve": "{bed}  valve {valve}", "map_supply": "supply",
         "map_north": "N"}  # fmt: skip
WORDS_OFF = (8, -4)  # points from a place to words beside it
BARS = {"us": (5, 10, 20, 50, 100), "metric": (1, 2, 5, 10, 20, 50)}  # lengths of a scale bar


class Line(NamedTuple):
    """A line through points, in the garden's unit of length; its width is in points."""

    xs: tuple[float, ...]
    ys: tuple[float, ...]
    color: str
    width: float
    dashed: bool = False


class Box(NamedTuple):
    """A rectangle from its lower left corner, with an edge where one has a colour."""

    x: float
    y: float
    width: float
    height: float
    fill: str
    edge: str = ""
    dashed: bool = False


class Mark(NamedTuple):
    """A square or diamond of so many points."""

    x: float
    y: float
    size: float
    fill: str
    turned: bool = False


class Words(NamedTuple):
    """Text at a point: in the middle on white, or to the right and below of it."""

    x: float
    y: float
    text: str
    size: float
    centered: bool = False


Shape = Line | Box | Mark | Words


def shapes(
    bed_map: "BedMap", inches: float = DRAWN_INCHES, words: Mapping[str, str] = WORDS
) -> list[Shape]:
    """The map from the back to the front; names fit a picture that is so many inches wide."""
    left, right, low, high = extent(bed_map)
    size = _name_size(bed_map, max(right - left, high - low), inches)
    letter = LETTER * size * max(right - left, high - low) / (inches * 72)
    edges = left, right
    beds = (shape for bed in bed_map.beds for shape in _bed(bed, size, letter, words, edges))
    supply = Words(0, 0, words["map_supply"], 9)
    shown = [*beds, *_pipes(bed_map), supply, *_scale(bed_map, left, right, low)]
    if bed_map.toward in COMPASS:
        wide = max(right - left, high - low)
        turn, half = COMPASS.index(bed_map.toward), 0.04 * wide
        shown += _north(turn, right, low - 0.07 * wide, half, words["map_north"])
    return shown


def draw(bed_map: "BedMap", paths: Sequence[Path], parts: Sequence[tuple[str, str]] = ()) -> None:
    """Write the map to each path (.svg or .png), with a list of parts beside it if given."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # it warns where it can keep no fonts
    import matplotlib as mpl

    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "xlfuncs"  # the same map is the same file
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(11, 8.5))
    try:
        for shape in shapes(bed_map):
            _put(axes, shape)
        left, right, low, high = extent(bed_map)
        axes.set_aspect("equal")
        margin = 0.06 * max(right - left, high - low)
        axes.set_xlim(left - margin, right + margin)
        axes.set_ylim(low - 2.5 * margin, high + margin)
        axes.axis("off")
        axes.set_title(bed_map.title, color=INK, fontsize=16, fontweight="bold")
        _draw_words(figure, bed_map, parts)
        for path in paths:
            picture, kind = io.BytesIO(), path.suffix.lstrip(".")
            dateless = {"Date": None} if kind == "svg" else {}
            figure.savefig(picture, format=kind, dpi=150, metadata=dateless)
            save(path, picture.getvalue())
    finally:
        pyplot.close(figure)


def _put(axes: Any, shape: Shape) -> None:
    from matplotlib.patches import Rectangle

    if isinstance(shape, Box):
        edge = {"edgecolor": shape.edge, "linewidth": 0.8} if shape.edge else {"linewidth": 0}
        dashes = (0, (4, 3)) if shape.dashed else "-"
        axes.add_patch(Rectangle((shape.x, shape.y), shape.width, shape.height, fc=shape.fill,
                                 linestyle=dashes, **edge))  # fmt: skip
    elif isinstance(shape, Line):
        axes.plot(shape.xs, shape.ys, color=shape.color, linewidth=shape.width,
                  linestyle=":" if shape.dashed else "-", solid_capstyle="butt")  # fmt: skip
    elif isinstance(shape, Mark):
        axes.plot([shape.x], [shape.y], marker="D" if shape.turned else "s", color=shape.fill,
                  markersize=shape.size, markeredgecolor=INK, markeredgewidth=0.6)  # fmt: skip
    elif shape.centered:
        behind = {"facecolor": "white", "alpha": 0.75, "linewidth": 0, "pad": shape.size / 8}
        axes.text(shape.x, shape.y, shape.text, ha="center", va="center", fontsize=shape.size,
                  color=INK, bbox=behind)  # fmt: skip
    else:
        axes.annotate(shape.text, (shape.x, shape.y), xytext=WORDS_OFF, color=INK,
                      textcoords="offset points", fontsize=shape.size, va="top")  # fmt: skip


def extent(bed_map: "BedMap") -> tuple[float, float, float, float]:
    """From where to where the beds and pipes reach: left, right, low, high."""
    across = [x for bed in bed_map.beds for x in (bed.inlet_x, bed.end_x, bed.pipe_x)]
    tops = [bed.y + bed.width / 2 for bed in bed_map.beds]
    return min(*across, 0.0), max(*across, 0.0), 0.0, max(tops)


def _name_size(bed_map: "BedMap", across: float, inches: float) -> float:
    """Points for the names of beds, so that those of beds side by side stay apart."""
    rows: dict[tuple[float, bool], list[float]] = {}
    for bed in bed_map.beds:
        rows.setdefault((bed.pipe_x, bed.end_x > bed.pipe_x), []).append(bed.y)
    gaps = [b - a for ys in rows.values() for a, b in pairwise(sorted(ys)) if b > a]
    points = inches * 72 / across * min(gaps, default=across)
    return min(NAME_SIZE, max(0.75 * points, SMALLEST_NAME))


def _bed(
    bed: "MapBed", size: float, letter: float, words: Mapping[str, str], edges: tuple[float, float]
) -> Iterator[Shape]:
    start, length = min(bed.inlet_x, bed.end_x), abs(bed.end_x - bed.inlet_x)
    yield Box(start, bed.y - bed.width / 2, length, bed.width, "#F4F1E6", INK, not bed.on)
    for low, high in bed.strip_edges:
        yield Box(start, bed.y + low, length, high - low, "#DDE5D3")
    if bed.on:
        for offset in bed.lines:
            yield Line((bed.inlet_x, bed.end_x), (bed.y + offset,) * 2, SERIES[0], 0.7)
        if bed.lines:
            ends = bed.y + bed.lines[0], bed.y + bed.lines[-1]
            yield Line((bed.inlet_x,) * 2, ends, SERIES[0], 1.4)
    yield Line((bed.pipe_x, bed.inlet_x), (bed.y, bed.y), SERIES[0], 1.4)
    middle = (bed.pipe_x + bed.inlet_x) / 2
    yield Mark(middle, bed.y, 3.5, SERIES[1] if bed.on else "#FFFFFF", turned=True)
    text = bed.name if bed.on else words["off"].format(bed=bed.name)
    text = words["map_valve"].format(bed=text, valve=bed.valve) if bed.valve else text
    wide, away = letter * len(text), math.copysign(1, bed.end_x - bed.inlet_x)
    middle = bed.inlet_x + away * max(length, wide) / 2  # longer words run on, away from the main,
    if wide > length and edges[0] <= bed.end_x + away * (wide + letter) <= edges[1]:
        middle = bed.end_x + away * (wide / 2 + letter)  # or stand beside the bed, where is room
    yield Words(middle, bed.y, text, size, centered=True)


def _pipes(bed_map: "BedMap") -> Iterator[Shape]:
    for x in sorted({bed.pipe_x for bed in bed_map.beds}):
        ys = [bed.y for bed in bed_map.beds if bed.pipe_x == x]
        yield Line((x, x), (0 if x == 0 else min(ys), max(ys)), INK, 2.2)
        if x != 0:  # how a branch comes from the main is not known, only that it does
            yield Line((0, x), (min(ys), min(ys)), INK, 1, dashed=True)
    yield Mark(0, 0, 9, INK)


def _north(toward: int, x: float, y: float, half: float, letter: str) -> Iterator[Shape]:
    """An arrow to the north; the main runs up the page, toward so many eighths of a turn."""

    def at(along: float, aside: float = 0.0) -> tuple[float, float]:
        turn = -toward * math.pi / 4
        return (x + half * (along * math.sin(turn) + aside * math.cos(turn)),
                y + half * (along * math.cos(turn) - aside * math.sin(turn)))  # fmt: skip

    for points in ((at(-1), at(1)), (at(0.5, 0.3), at(1), at(0.5, -0.3))):
        xs, ys = zip(*points, strict=True)
        yield Line(xs, ys, INK, 1.6)
    yield Words(*at(1.6), letter, 11, centered=True)


def _scale(bed_map: "BedMap", left: float, right: float, low: float) -> Iterator[Shape]:
    wanted = (right - left) / 4
    length = max((b for b in BARS[bed_map.system] if b <= wanted), default=BARS[bed_map.system][0])
    y = low - 0.07 * (right - left)
    yield Line((left, left + length), (y, y), INK, 3)
    yield Words(left, y, f"{length} {bed_map.unit}", 9)


def _draw_words(figure: Any, bed_map: "BedMap", parts: Sequence[tuple[str, str]]) -> None:
    notes = [LEGEND]
    if bed_map.left_out:
        notes.append("Not drawn: " + "; ".join(bed_map.left_out))
    figure.text(0.02, 0.015, "\n".join(notes), fontsize=9, color=INK, wrap=True)
    if parts:
        figure.subplots_adjust(left=0.01, right=0.72)
        width = max(len(count) for _, count in parts)
        lines = "\n".join(f"{count:>{width}}  {name}" for name, count in parts)
        figure.text(0.74, 0.9, "Parts (+ spares)\n\n" + lines, fontsize=7, color=INK, va="top",
                    family="monospace", bbox={"facecolor": "white", "edgecolor": LINE})  # fmt: skip
