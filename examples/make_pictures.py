"""The README's pictures, made from the invented farm's workbook by LibreOffice.

python examples/make_pictures.py        needs LibreOffice and pdftoppm
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

FOLDER = Path(__file__).parent / "pictures"
SHEETS = ("Start", "Beds", "Pressure", "Purchase", "Season", "Timer", "Years", "Quotation")
PAGES = {"Timer": 1, "Years": 1}  # its program, the years with their charts; the others' first
WIDTH = 900  # pixels
TALLEST = 640  # pixels; a page's upper part says enough


def run(folder: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "xlfuncs.command_line.main", *words],
        cwd=folder, check=True, capture_output=True, text=True,
    )  # fmt: skip
    return done.stdout


def pages_of(folder: Path) -> dict[str, list[Path]]:
    """The pages of each sheet, by the sheet's name in the page's foot."""
    pdf = next(folder.glob("*.pdf"))
    text = subprocess.run(
        ["pdftotext", "-layout", pdf, "-"], check=True, capture_output=True, text=True
    ).stdout
    found: dict[str, list[Path]] = {}
    pages = sorted(folder.glob("*.png"))
    for page, words in zip(pages, text.split("\f"), strict=False):
        foot = words.rstrip().rsplit("\n", 1)[-1]
        sheet = foot.split("  ")[0].strip().rpartition(", ")[2]  # after the farm's name
        found.setdefault(sheet, []).append(page)
    return found


def save(picture: Image.Image, name: str) -> None:
    """Cut off the white margins, shrink, and keep the file small."""
    picture = picture.convert("RGB")
    box = ImageChops.difference(picture, Image.new("RGB", picture.size, "white")).getbbox()
    picture = picture.crop(box)
    picture = picture.resize((WIDTH, round(picture.height * WIDTH / picture.width)))
    picture = picture.crop((0, 0, WIDTH, min(picture.height, TALLEST)))
    picture.quantize(32).save(FOLDER / f"{name}.png", optimize=True)


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run(folder, "demo", "--output", "farm.xlsx")
        run(folder, "map", "farm.xlsx", "--output", "map")
        sheets = ("--sheets", ",".join(SHEETS), "--as-saved")  # demo computed it
        run(folder, "render", "farm.xlsx", "--dpi", "110", "--output", "pages", *sheets)
        pages = pages_of(folder / "pages")
        for sheet in SHEETS:
            picture = Image.open(pages[sheet][PAGES.get(sheet, 0)])
            foot = picture.height - picture.height // 12  # the line with sheet and page number
            save(picture.crop((0, 0, picture.width, foot)), sheet.lower())
        save(Image.open(folder / "map" / "farm-map.png"), "map")


if __name__ == "__main__":
    main()
