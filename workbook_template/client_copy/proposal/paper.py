"""The paper of a proposal: fonts, colours, headers and footers, tables; pages from the top down."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFError, TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    Image,
    KeepInFrame,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)

from workbook_template.client_copy.settings import Settings
from xlfuncs.errors import WorkbookError

SIDE, TOP, BOTTOM = 54.0, 66.0, 54.0  # margins in points
A_LITTLE = 1.2  # so many pages are made one, for the second would be nearly empty
BEGUN = 60  # points for a heading and what begins below it; else both go to the next page
_USUAL = {"regular": "Helvetica", "bold": "Helvetica-Bold"}
_FREE = {"regular": "DejaVuSans.ttf", "bold": "DejaVuSans-Bold.ttf"}  # with most alphabets


class Paper:
    """Makes the pieces of pages in the consultant's looks, and the file of them."""

    def __init__(self, settings: Settings, system: str, words: Iterable[str]) -> None:
        self.size = {"": LETTER if system == "us" else A4, "letter": LETTER,
                     "a4": A4}[settings.paper]  # fmt: skip
        self.width, self.height = self.size[0] - 2 * SIDE, self.size[1] - TOP - BOTTOM
        self.colors = {name: HexColor(color) for name, color in settings.colors.items()}
        self.font, self.bold = _fonts(settings, "".join(words))
        self.logo = settings.consultant.get("logo", "")

    def style(
        self, size: float = 9.5, *, bold: bool = False, color: str = "ink", **more: Any
    ) -> Any:
        return ParagraphStyle(
            "", fontName=self.bold if bold else self.font, fontSize=size, leading=size * 1.35,
            textColor=white if color == "white" else self.colors[color], **more,
        )  # fmt: skip

    def text(self, words: str, size: float = 9.5, **looks: Any) -> Flowable:
        """A paragraph of words that are ready for the page."""
        return Paragraph(words, self.style(size, **looks))

    def title(self, words: str) -> list[Flowable]:
        return [self.text(words, 20, bold=True, color="accent"), Spacer(0, 12)]

    def section(self, words: str) -> list[Flowable]:
        heading = self.text(words, 11.5, bold=True, color="accent")
        return [Spacer(0, 12), CondPageBreak(BEGUN), heading, Spacer(0, 4)]

    def bullets(self, texts: Iterable[str], size: float = 9.5) -> list[Flowable]:
        looks: dict[str, Any] = {"leftIndent": 11, "bulletIndent": 1, "spaceAfter": 3}
        return [Paragraph(text, self.style(size, **looks), bulletText="–") for text in texts]

    def table(
        self, rows: Sequence[Sequence[Any]], widths: Sequence[float], *, right: Iterable[int] = (),
        head: int = 1, strong: Iterable[int] = (), size: float = 8.5, more: Sequence[Any] = (),
    ) -> Flowable:  # fmt: skip
        """Rows of words; `widths` are shares of the page, `right` columns of numbers."""
        right, strong = set(right), {*range(head), *strong}
        whole = sum(widths)
        cells = [
            [
                cell if not isinstance(cell, str)
                else self.text(cell, size, bold=r in strong,
                               alignment=TA_RIGHT if c in right else TA_LEFT)
                for c, cell in enumerate(row)
            ]
            for r, row in enumerate(rows)
        ]  # fmt: skip
        looks: list[Any] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 3),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5), ("LEFTPADDING", (0, 0), (-1, -1), 4),
            ("RIGHTPADDING", (0, 0), (-1, -1), 4),
            ("LINEBELOW", (0, 0), (-1, -1), 0.4, self.colors["line"]), *more,
        ]  # fmt: skip
        if head:
            looks += [
                ("BACKGROUND", (0, 0), (-1, head - 1), self.colors["tint"]),
                ("LINEBELOW", (0, head - 1), (-1, head - 1), 0.9, self.colors["accent"]),
            ]
        return Table(cells, [self.width * w / whole for w in widths], repeatRows=head, style=looks,
                     hAlign="LEFT")  # fmt: skip

    def filled(
        self, rows: Sequence[Sequence[str]], widths: Sequence[float], *, right: Collection[int],
        size: float,
    ) -> Flowable:  # fmt: skip
        """A table with a head, without the columns in which nothing stands below it."""
        kept = [c for c in range(len(widths)) if any(row[c] for row in rows[1:])]
        at_right = [i for i, c in enumerate(kept) if c in right]
        return self.table([[row[c] for c in kept] for row in rows], [widths[c] for c in kept],
                          right=at_right, size=size)  # fmt: skip

    def beside(self, columns: Sequence[Sequence[Flowable]], *, framed: bool = False) -> Flowable:
        """Columns of equal width side by side, in frames if wanted."""
        looks: list[Any] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0),
            ("RIGHTPADDING", (0, 0), (-1, -1), 12),
        ]  # fmt: skip
        if framed:
            looks += [
                ("BACKGROUND", (0, 0), (-1, -1), self.colors["tint"]),
                ("LINEABOVE", (0, 0), (-1, 0), 2, self.colors["accent"]),
                ("LEFTPADDING", (0, 0), (-1, -1), 10), ("RIGHTPADDING", (0, 0), (-1, -1), 8),
                ("INNERGRID", (0, 0), (-1, -1), 5, white), ("TOPPADDING", (0, 0), (-1, -1), 8),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 9),
            ]  # fmt: skip
        each = self.width / len(columns)
        return Table([list(columns)], [each] * len(columns), style=looks, hAlign="LEFT")

    def picture(self, most: tuple[float, float]) -> Flowable | None:
        """The logo, at most so wide and high."""
        if not self.logo:
            return None
        try:
            across, down = ImageReader(self.logo).getSize()
        except (OSError, ValueError) as error:
            raise WorkbookError(f"logo: {Path(self.logo).name} is no picture: {error}") from None
        scale = min(most[0] / across, most[1] / down)
        return Image(self.logo, across * scale, down * scale, hAlign="LEFT")

    def on_one_page(self, pieces: list[Flowable]) -> list[Flowable]:
        """Pieces that are made smaller where one page would not hold them."""
        return [KeepInFrame(self.width, self.height - 1, pieces, mode="shrink")]

    def _pulled_back(self, pieces: list[Flowable]) -> list[Flowable]:
        """Pieces on one page where only a few lines of them would come onto a second."""
        canvas = Canvas(BytesIO())
        high = sum(piece.wrapOn(canvas, self.width, self.height)[1] + piece.getSpaceAfter()
                   for piece in pieces)  # fmt: skip
        few = self.height < high <= A_LITTLE * self.height
        return self.on_one_page(pieces) if few else pieces

    def file(
        self, pages: Sequence[list[Flowable]], about: dict[str, str], running: Any, day: date
    ) -> bytes:
        """The PDF, made on a day; `running` says the words at the head and foot of a page, by its
        number."""
        made = BytesIO()
        document = BaseDocTemplate(
            made, pagesize=self.size, leftMargin=SIDE, rightMargin=SIDE, topMargin=TOP,
            bottomMargin=BOTTOM, invariant=1, title=about["title"], author=about["author"],
            creator="",
        )  # fmt: skip
        frame = Frame(SIDE, BOTTOM, self.width, self.height, 0, 0, 0, 0)
        document.addPageTemplates(PageTemplate("page", [frame]))
        paper = self

        class Numbered(Canvas):  # type: ignore[misc]
            """Knows how many pages there are before the first is written."""

            def __init__(self, *args: Any, **options: Any) -> None:
                super().__init__(*args, **options)
                self._doc._timeStamp.YMDhms = day.timetuple()[:6]  # its library's, else of 2000
                self.kept: list[dict[str, Any]] = []

            def showPage(self) -> None:  # noqa: N802 - its name in the library
                self.kept.append(dict(self.__dict__))
                self._startPage()

            def save(self) -> None:
                for number, state in enumerate(self.kept, 1):
                    self.__dict__.update(state)
                    paper.run(self, running(number, len(self.kept)))
                    super().showPage()
                super().save()

        story: list[Flowable] = []
        for page in pages:
            story += [*([PageBreak()] if story else []), *self._pulled_back(page)]
        document.build(story, canvasmaker=Numbered)
        return made.getvalue()

    def run(self, canvas: Canvas, words: Sequence[str]) -> None:
        """Head and foot of a page: left and right above, left and right below."""
        across, down = self.size
        canvas.setFillColor(self.colors["accent"])
        canvas.rect(0, down - 9, across, 9, stroke=0, fill=1)
        canvas.setFillColor(self.colors["ink"])
        canvas.setFont(self.font, 8)
        canvas.drawString(SIDE, down - 38, words[0])
        canvas.drawRightString(across - SIDE, down - 38, words[1])
        canvas.drawString(SIDE, 30, words[2])
        canvas.drawRightString(across - SIDE, 30, words[3])
        canvas.setStrokeColor(self.colors["line"])
        canvas.line(SIDE, 42, across - SIDE, 42)


def _fonts(settings: Settings, words: str) -> tuple[str, str]:
    """The consultant's own, the usual ones, or where those lack letters ones that have most."""
    files = dict(settings.fonts)
    if not files:
        try:
            words.encode("cp1252")
        except UnicodeEncodeError:
            spec = find_spec("matplotlib")
            folder = Path(str(spec.origin if spec else "")).parent / "mpl-data" / "fonts" / "ttf"
            files = {name: str(folder / file) for name, file in _FREE.items()}
    if not files:
        return _USUAL["regular"], _USUAL["bold"]
    files.setdefault("regular", files.get("bold", ""))
    files.setdefault("bold", files["regular"])
    for name, file in files.items():
        try:
            pdfmetrics.registerFont(TTFont(f"proposal-{name}-{file}", file))
        except TTFError as error:
            raise WorkbookError(f"fonts.{name}: {error}") from None
    return f"proposal-regular-{files['regular']}", f"proposal-bold-{files['bold']}"
