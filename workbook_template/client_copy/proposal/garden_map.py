"""The map of the beds on a page: the shapes that the command `map` draws too."""

from collections.abc import Mapping
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.platypus import Flowable

from workbook_template.kit.map_drawing import WORDS_OFF, Box, Line, Mark, Shape, extent, shapes
from workbook_template.kit.style import INK
from xlfuncs.workbooks.bed_map import BedMap


class GardenMap(Flowable):  # type: ignore[misc]
    """As large as fits into a width and a height, in points."""

    def __init__(
        self, bed_map: BedMap, most: tuple[float, float], font: str, words: Mapping[str, str]
    ) -> None:
        super().__init__()
        self.font = font
        left, right, low, high = extent(bed_map)
        margin = 0.04 * max(right - left, high - low)
        low -= 0.1 * (right - left)  # the scale stands below
        across, down = right - left + 2 * margin, high - low + 2 * margin
        self.scale = min(most[0] / across, most[1] / down)
        self.width, self.height = across * self.scale, down * self.scale
        self.corner = left - margin, low - margin
        self.hAlign = "CENTER"
        self.shapes = shapes(bed_map, max(self.width, self.height) / 72, words)

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        for shape in self.shapes:
            self._put(self.canv, shape)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        return (x - self.corner[0]) * self.scale, (y - self.corner[1]) * self.scale

    def _put(self, canvas: Any, shape: Shape) -> None:
        if isinstance(shape, Line):
            canvas.setStrokeColor(HexColor(shape.color))
            canvas.setLineWidth(shape.width)
            canvas.setDash([1, 2] if shape.dashed else [])
            canvas.line(*self._at(shape.xs[0], shape.ys[0]), *self._at(shape.xs[1], shape.ys[1]))
        elif isinstance(shape, Box):
            canvas.setFillColor(HexColor(shape.fill))
            canvas.setStrokeColor(HexColor(shape.edge or shape.fill))
            canvas.setLineWidth(0.8)
            canvas.setDash([4, 3] if shape.dashed else [])
            sides = shape.width * self.scale, shape.height * self.scale
            canvas.rect(*self._at(shape.x, shape.y), *sides, stroke=int(bool(shape.edge)), fill=1)
        elif isinstance(shape, Mark):
            self._mark(canvas, shape)
        else:
            x, y = self._at(shape.x, shape.y)
            canvas.setFont(self.font, shape.size)
            if shape.centered:
                half = canvas.stringWidth(shape.text, self.font, shape.size) / 2 + 1
                canvas.setFillColor(white, alpha=0.8)
                canvas.rect(x - half, y - shape.size * 0.55, 2 * half, shape.size * 1.1, 0, 1)
                canvas.setFillColor(HexColor(INK), alpha=1)
                canvas.drawCentredString(x, y - shape.size * 0.35, shape.text)
            else:
                canvas.setFillColor(HexColor(INK), alpha=1)
                canvas.drawString(x + WORDS_OFF[0], y + WORDS_OFF[1] - shape.size, shape.text)

    def _mark(self, canvas: Any, shape: Mark) -> None:
        canvas.saveState()
        canvas.translate(*self._at(shape.x, shape.y))
        canvas.rotate(45 if shape.turned else 0)
        canvas.setFillColor(HexColor(shape.fill))
        canvas.setStrokeColor(HexColor(INK))
        canvas.setLineWidth(0.6)
        canvas.setDash([])
        canvas.rect(-shape.size / 2, -shape.size / 2, shape.size, shape.size, stroke=1, fill=1)
        canvas.restoreState()
