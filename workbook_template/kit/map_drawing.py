"""Drawing a map of beds to scale, as SVG or PNG: our own plain shapes, legible in grey."""

from __future__ import annotations

import io
import logging
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbook_template.kit.style import INK, LINE, SERIES
from xlfuncs.xlsx.saving import save

if TYPE_CHECKING:
    from xlfuncs.workbooks.bed_map import BedMap, MapBed

NAME_SIZE, SMALLEST_NAME = 6.5, 2.5  # points; a picture of a large garden is there to zoom in
DRAWN_INCHES = 5.5  # about what a garden that is as high as wide takes of the page
BARS = {"us": (5, 10, 20, 50, 100), "metric": (1, 2, 5, 10, 20, 50)}  # lengths of a scale bar


def draw(bed_map: BedMap, paths: Sequence[Path], parts: Sequence[Sequence[str]] = ()) -> None:
    """Write the map to each path (.svg or .png), with a list of parts beside it if given."""
    logging.getLogger("matplotlib").setLevel(logging.ERROR)  # it warns where it can keep no fonts
    import matplotlib as mpl

    mpl.use("Agg")
    mpl.rcParams["svg.hashsalt"] = "xlfuncs"  # the same map is the same file
    from matplotlib import pyplot

    figure, axes = pyplot.subplots(figsize=(11, 8.5))
    try:
        left, right, low, high = _extent(bed_map)
        size = _name_size(bed_map, max(right - left, high - low))
        for bed in bed_map.beds:
            _draw_bed(axes, bed, size)
        _draw_pipes(axes, bed_map)
        _draw_scale(axes, bed_map, left, right, low)
        axes.set_aspect("equal")
        margin = 0.06 * max(right - left, high - low)
        axes.set_xlim(left - margin, right + margin)
        axes.set_ylim(low - 2.5 * margin, high + margin)
        axes.axis("off")
        axes.set_title(f"{bed_map.title}: beds, strips and lines to scale", color=INK)
        _draw_words(figure, bed_map, parts)
        for path in paths:
            picture, kind = io.BytesIO(), path.suffix.lstrip(".")
            dateless = {"Date": None} if kind == "svg" else {}
            figure.savefig(picture, format=kind, dpi=150, metadata=dateless)
            save(path, picture.getvalue())
    finally:
        pyplot.close(figure)


def _extent(bed_map: BedMap) -> tuple[float, float, float, float]:
    across = [x for bed in bed_map.beds for x in (bed.inlet_x, bed.end_x, bed.pipe_x)]
    tops = [bed.y + bed.width / 2 for bed in bed_map.beds]
    return min(*across, 0.0), max(*across, 0.0), 0.0, max(tops)


def _name_size(bed_map: BedMap, extent: float) -> float:
    """Points for the names of beds, so that those of beds side by side stay apart."""
    rows: dict[tuple[float, bool], list[float]] = {}
    for bed in bed_map.beds:
        rows.setdefault((bed.pipe_x, bed.end_x > bed.pipe_x), []).append(bed.y)
    gaps = [b - a for ys in rows.values() for a, b in pairwise(sorted(ys)) if b > a]
    points = DRAWN_INCHES * 72 / extent * min(gaps, default=extent)
    return min(NAME_SIZE, max(0.75 * points, SMALLEST_NAME))


def _draw_bed(axes: Any, bed: MapBed, size: float) -> None:
    from matplotlib.patches import Rectangle

    start, length = min(bed.inlet_x, bed.end_x), abs(bed.end_x - bed.inlet_x)
    axes.add_patch(
        Rectangle((start, bed.y - bed.width / 2), length, bed.width, facecolor="#F4F1E6",
                  edgecolor=INK, linewidth=0.8, linestyle="-" if bed.on else (0, (4, 3)))
    )  # fmt: skip
    for low, high in bed.strip_edges:
        axes.add_patch(
            Rectangle((start, bed.y + low), length, high - low, facecolor="#DDE5D3", linewidth=0)
        )
    if bed.on:
        for offset in bed.lines:
            axes.plot((bed.inlet_x, bed.end_x), (bed.y + offset,) * 2, color=SERIES[0],
                      linewidth=0.7)  # fmt: skip
        if bed.lines:
            axes.plot((bed.inlet_x,) * 2, (bed.y + bed.lines[0], bed.y + bed.lines[-1]),
                      color=SERIES[0], linewidth=1.4)  # fmt: skip
    axes.plot((bed.pipe_x, bed.inlet_x), (bed.y, bed.y), color=SERIES[0], linewidth=1.4)
    axes.plot([(bed.pipe_x + bed.inlet_x) / 2], [bed.y], marker="D", markersize=3.5,
              color=SERIES[1] if bed.on else "white", markeredgecolor=INK,
              markeredgewidth=0.6)  # fmt: skip
    text = bed.name + ("" if bed.on else " (off)") + (f"  valve {bed.valve}" if bed.valve else "")
    behind = {"facecolor": "white", "alpha": 0.75, "linewidth": 0, "pad": size / 8}
    axes.text(start + length / 2, bed.y, text, ha="center", va="center", fontsize=size, color=INK,
              bbox=behind)  # fmt: skip


def _draw_pipes(axes: Any, bed_map: BedMap) -> None:
    for x in sorted({bed.pipe_x for bed in bed_map.beds}):
        ys = [bed.y for bed in bed_map.beds if bed.pipe_x == x]
        axes.plot((x, x), (0 if x == 0 else min(ys), max(ys)), color=INK, linewidth=2.2)
        if x != 0:  # how a branch comes from the main is not known, only that it does
            axes.plot((0, x), (min(ys), min(ys)), color=INK, linewidth=1, linestyle=":")
    axes.plot([0], [0], marker="s", markersize=9, color=INK)
    axes.annotate("supply", (0, 0), xytext=(8, -4), textcoords="offset points", fontsize=8,
                  color=INK)  # fmt: skip


def _draw_scale(axes: Any, bed_map: BedMap, left: float, right: float, low: float) -> None:
    wanted = (right - left) / 4
    length = max((b for b in BARS[bed_map.system] if b <= wanted), default=BARS[bed_map.system][0])
    y = low - 0.07 * (right - left)
    axes.plot((left, left + length), (y, y), color=INK, linewidth=3, solid_capstyle="butt")
    axes.text(left, y - 0.012 * (right - left), f"{length} {bed_map.unit}", fontsize=8, color=INK,
              va="top")  # fmt: skip


def _draw_words(figure: Any, bed_map: BedMap, parts: Sequence[Sequence[str]]) -> None:
    notes = [
        "Diamond: valve of a bed. Dashed outline: bed is off. Pipes are drawn straight; their"
        " lengths along the way are to scale, bends are not shown."
    ]
    if bed_map.left_out:
        notes.append("Not drawn: " + "; ".join(bed_map.left_out))
    figure.text(0.02, 0.015, "\n".join(notes), fontsize=7, color=INK, wrap=True)
    if parts:
        figure.subplots_adjust(left=0.01, right=0.72)
        width = max(len(count) for _, count in parts)
        lines = "\n".join(f"{count:>{width}}  {name}" for name, count in parts)
        figure.text(0.74, 0.9, "Parts (+ spares)\n\n" + lines, fontsize=7, color=INK, va="top",
                    family="monospace", bbox={"facecolor": "white", "edgecolor": LINE})  # fmt: skip
