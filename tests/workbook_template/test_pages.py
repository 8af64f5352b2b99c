"""Pages as people meet them: nothing printed under 8 points, no blank page, ways to and from each
sheet, drop-downs where there is a list, one sense a label."""

from __future__ import annotations

import os
from collections import defaultdict
from pathlib import Path

import openpyxl
import pypdf
import pytest
from click.testing import CliRunner

from tests.made_once import made_once
from tests.terms import INSTEAD, TERMS
from workbook_template.build import (
    Built,
    build,
    demo_inputs,
    edition_named,
    results,
    starting_inputs,
    write,
)
from workbook_template.kit.declared import ALL, EDITIONS
from workbook_template.kit.paper import FIRST
from workbook_template.kit.style import FRAME, HEADER, INK, PALE, SERIES, TINT, TINT_HEADER, TYPED
from workbook_template.print_findings import found_in
from xlfuncs.command_line.commands import print as print_sets
from xlfuncs.hosts.libreoffice.install import font_for_calibri
from xlfuncs.hosts.libreoffice.office import Office
from xlfuncs.tables.all_tables import SETTINGS, TABLES

SMALLEST = 8.0  # points
SYSTEMS = ("us", "metric")


@pytest.fixture(scope="module", params=SYSTEMS)
def farm(request, tmp_path_factory) -> tuple[Path, Built]:
    path = tmp_path_factory.mktemp(request.param) / "farm.xlsx"
    return path, made_once(path, request.param, demo_inputs(request.param))


def _sizes(page: pypdf.PageObject) -> tuple[list[float], str]:
    """The sizes in points of all text of a page, as it stands on the paper; and the text."""
    found: list[float] = []

    def visit(text: str, of_page: list[float], of_text: list[float], _font, size: float) -> None:
        if text.strip():
            across = (of_text[2] ** 2 + of_text[3] ** 2) ** 0.5
            found.append(size * across * (of_page[2] ** 2 + of_page[3] ** 2) ** 0.5)

    return found, page.extract_text(visitor_text=visit)


def _readable(pdf: Path) -> str:
    """Its text, each page of which is large enough."""
    family, narrow = font_for_calibri()
    if not narrow and not os.environ.get("CI"):
        pytest.skip(f"{family} is wider than the font that pages are laid out for; see doctor")
    texts = []
    for number, page in enumerate(pypdf.PdfReader(pdf).pages, 1):
        sizes, text = _sizes(page)
        texts.append(text)
        assert len(sizes) > 8, f"{pdf.name}: page {number} is blank but for its footer"
        assert round(min(sizes), 1) >= SMALLEST, f"{pdf.name}: page {number} {min(sizes):.1f}"
    return "\n".join(texts)


@pytest.mark.libreoffice
def test_no_page_is_blank_or_too_small_to_read(farm, tmp_path: Path) -> None:
    with Office(time_limit=1200) as office:  # some eighty pages, on a busy machine too
        _readable(office.to_pdf(farm[0], tmp_path / "farm.pdf", recalculate=False))


def test_of_the_books_alone_no_page_of_a_garden_is_printed(tmp_path: Path) -> None:
    path = tmp_path / "books.xlsx"
    build(path, "us", demo_inputs("us"), edition="bookkeeper")
    told = CliRunner().invoke(print_sets.command, [str(path), "--output", str(tmp_path / "out")])
    assert told.exit_code == 2 and "render" in told.output
    assert not (tmp_path / "out").exists()


@pytest.mark.libreoffice
def test_printed_sets_are_readable_and_hold_what_they_are_for(farm, tmp_path: Path) -> None:
    path, built = farm
    paper = "letter" if "us" in path.parent.name else "a4"  # what each system prints on
    words = ["--paper", paper, "--output", str(tmp_path)]
    told = CliRunner().invoke(print_sets.command, [str(path), *words])
    assert told.exit_code == 1, told.output  # for a length of the example is wrong on purpose
    assert "1 wrong" in told.output and "South 4: Length" in told.output
    text = {}
    for name in print_sets.SETS:
        pdf = tmp_path / f"farm-{name}.pdf"
        text[name] = _readable(pdf)
        reader = pypdf.PdfReader(pdf)
        upright = {tuple(sorted(map(round, page.mediabox[2:]))) for page in reader.pages}
        assert upright == {(612, 792) if paper == "letter" else (595, 842)}
        assert built.named("farm") in text[name] and f"of {len(reader.pages)}" in text[name]
        assert str(reader.metadata.title).startswith(built.named("farm"))
    for row in built.block("bought"):
        if row["packs"]:
            assert row["part"].split()[0] in text["shop"]
    assert "Cut list" in text["shop"] and "Needed" in text["shop"]
    assert all(t in text["field"] for t in ("Timer program", "Set opens", "Season card"))
    assert "comes indoors" in text["winter"] and "Plan and assumptions" in text["file"]
    for name, pages in {"field": 3, "shop": 3}.items():  # which get parted: each says what it lacks
        assert text[name].count("Without South 4 (cannot be read") == pages
    card = text["field"].partition("Season card")[2]
    assert "North 7 Valve 3 off" in card and "South 4 Valve 4 ?" in card and "2 *" in card


def test_paper_finds_nothing_on_sheets_that_the_edition_lacks() -> None:
    built = results(write("us", starting_inputs("us")))
    all_found, own = (found_in(built, edition_named(name).shown) for name in (ALL, "grower"))
    assert "Connections" in {f.sheet for f in all_found} - {f.sheet for f in own}
    assert own == [f for f in all_found if f.sheet in edition_named("grower").shown]


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_sheet_is_reached_from_start_and_leads_back(edition: str, tmp_path: Path) -> None:
    path = tmp_path / "farm.xlsx"
    made_once(path, "us", demo_inputs("us"), edition=edition)
    book = openpyxl.load_workbook(path)

    def led(sheet) -> set[str]:
        links = (c.hyperlink.location for row in sheet.iter_rows() for c in row if c.hyperlink)
        to = (book.defined_names[link].attr_text for link in links if "!" not in link)
        return {text.split("'")[1] for text in to}  # by names, which follow a renamed sheet

    others = set(book.sheetnames) - {FIRST, "Workings"}
    assert others <= led(book[FIRST])
    assert not [name for name in others if FIRST not in led(book[name])]
    tabs = [name for name in book.sheetnames if name != "Workings"]
    steps = [c.value for c in book[FIRST]["B"] if c.hyperlink]
    assert tabs[0] == FIRST and [n for n in tabs if n in steps] == steps


def test_every_list_has_its_drop_down_in_every_row(farm) -> None:
    path, built = farm
    book = openpyxl.load_workbook(path)
    for table in TABLES:
        place = built.places[table.name]
        rules = book[place.sheet].data_validations.dataValidation
        for column in table.columns:
            if column.choices or column.one_of or column.dimension == "flag":
                for row in (place.first, place.last):
                    cell = book[place.sheet].cell(row + 1, place.columns[column.name] + 1)
                    kinds = {r.type for r in rules if cell.coordinate in r.sqref}
                    assert "list" in kinds, (table.name, column.header, row)


def test_folded_columns_say_what_they_are_and_headers_stay_in_view(farm) -> None:
    """Words above the header right of a fold name its columns; the way back never scrolls."""
    book = openpyxl.load_workbook(farm[0])
    for sheet in book:
        if sheet.title != FIRST:
            assert sheet.freeze_panes, sheet.title
        for table in sheet.tables.values():
            first, top, last, _ = openpyxl.utils.range_boundaries(table.ref)
            letters = openpyxl.utils.get_column_letter
            level = [False] * (last + 2)
            for dimension in sheet.column_dimensions.values():
                for col in range(dimension.min, min(dimension.max, last) + 1):
                    level[col] |= bool(dimension.outlineLevel)
            for col in range(first, last):
                if level[col] and not level[col + 1] and top < 10:
                    said = " ".join(
                        str(sheet[f"{letters(col + 1)}{r}"].value) for r in range(1, top)
                    )
                    assert "folded" not in said.replace("folded: ", ""), (sheet.title, col)


def test_blank_rows_behind_charts_keep_their_height(farm) -> None:
    """A program that makes them lower would end the page before the chart ends."""
    sheet = openpyxl.load_workbook(farm[0])["Years"]
    assert len(sheet._charts) == 4
    for chart in sheet._charts:
        for row in range(chart.anchor._from.row + 1, chart.anchor.to.row + 1):
            assert sheet.row_dimensions[row].height, row


def test_no_header_is_nameless_and_every_indent_is_one(farm) -> None:
    """An indent is none, and words of two columns touch, unless it is said from which side."""
    for sheet in openpyxl.load_workbook(farm[0]):
        merged = {cell for area in sheet.merged_cells.ranges for cell in area.cells}
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            if cell.fill.fgColor.rgb[-6:] == HEADER[1:] and (cell.row, cell.column) not in merged:
                assert cell.value, (sheet.title, cell.coordinate)
            if cell.alignment.indent:
                assert cell.alignment.horizontal in ("left", "right"), (sheet.title, cell)


def test_no_label_has_two_senses() -> None:
    """One label is one dimension everywhere; the words of the list of terms are kept to."""
    senses = defaultdict(set)
    columns = [c for table in TABLES for c in table.columns] + list(SETTINGS)
    for column in columns:
        senses[column.header].add(column.dimension.partition("_per_")[0])
    assert not {label: kinds for label, kinds in senses.items() if len(kinds) > 1}
    said = {c.header: c.header.lower().split() for c in columns}
    for word, better in INSTEAD.items():
        found = [label for label, words in said.items() if word in words]
        assert not found, f"{found}: the list of terms has {better!r}"
    assert len(set(TERMS.values())) == len(TERMS)


def _contrast(one: str, other: str) -> float:
    """WCAG 2.1, relative luminance and contrast ratio."""

    def light(colour: str) -> float:
        parts = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
        r, g, b = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    low, high = sorted((light(one), light(other)))
    return (high + 0.05) / (low + 0.05)


def test_colours_are_told_apart() -> None:
    white = "#FFFFFF"
    for text, ground in ((INK, white), (TYPED, TINT), (TYPED, TINT_HEADER), (white, HEADER),
                         (PALE, white)):  # fmt: skip
        assert _contrast(text, ground) >= 4.5, (text, ground)
    for mark, ground in ((FRAME, white), (FRAME, TINT), (FRAME, TINT_HEADER),
                         *((colour, white) for colour in SERIES)):  # fmt: skip
        assert _contrast(mark, ground) >= 3, (mark, ground)
