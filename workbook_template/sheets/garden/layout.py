"""Line layout: how many lines a bed needs, where they lie, and which line suits the soil."""

from xlsxwriter.utility import xl_col_to_name

from workbook_template.kit.book import Book
from workbook_template.kit.charts import Series, chart
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import Place
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from xlfuncs.tables.garden.lines import LINE_LAYOUT

SHEETS = (
    SheetFor("Line layout",
             "How many drip lines one bed needs, where they lie across it, and which line the soil"
             " suits.", (CONSULTANT,), group="choices", needs=("Lines", "Soils"), client=SEEN),
)  # fmt: skip

SAID = said("layout")
LINE_ADVICE = "advice by line"  # the block, by which the checks find it
MOST = 6  # lines compared
WIDTH = 10  # columns
# Title of the column, the setting that asks for it (or the strips' width), its name as an argument.
PLANTINGS = (
    ("Single row", "layout_single_row", "single row"),
    ("Twin rows", "layout_twin_rows", "twin rows"),
    ("Zigzag", "layout_zigzag", "zigzag"),
    ("Strips", "layout_strip_width", "strips"),
    ("Broad cover", "layout_broad_cover", "broad cover"),
)
FIRST_PLANTING, FOUND = 2, 8  # columns of the comparison


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(26, 16, 11, 11, 11, 14, 11, 11, 34, 9))
    page.settings(LINE_LAYOUT)
    _soil(book, page)
    compared = _comparison(book, page)
    _positions(page, compared)
    _lines_by_soil(book, page)
    _chart(page, compared)


def _soil(book: Book, page: Page) -> None:
    page.section("Soil")
    page.result_row("Soil", 'IF(soil="","not chosen yet",soil)', "text")
    page.result("layout_wetted", "soil_wetted_width")
    page.result("layout_intake", 'IF(measured_intake="",soil_intake,measured_intake)')
    spacing = book.lookup("Lines", "emitter_spacing", "line", "layout_line")
    page.result("layout_spacing", f'IF(layout_line="","",IFERROR({spacing},""))')
    page.row += 1


def _comparison(book: Book, page: Page) -> Place:
    """Rows for 1, 2, ... lines; gives where they lie."""
    page.section("Lines compared: how far the farthest planted point is from a line")
    page.text(page.row, 0, "To be served", page.styles.strong)
    names = page.row
    for i, (_, setting, planting) in enumerate(PLANTINGS):
        left_out = f'OR({setting}="",{setting}="no")'
        page.formula(names, FIRST_PLANTING + i, f'IF({left_out},"","{planting}")', "text",
                     style=page.styles.words)  # fmt: skip
    page.row += 1
    letters = [xl_col_to_name(FIRST_PLANTING + i) for i in range(len(PLANTINGS))]
    asked = f"${letters[0]}${names + 1}:${letters[-1]}${names + 1}"

    def if_given(setting: str) -> str:
        return f'IF({setting}="","",{setting})'

    arguments = (
        "layout_width", "layout_wetted", asked, if_given("layout_row_gap"),
        "MAX(1,N(layout_strips))",
        if_given("layout_strip_width"), if_given("layout_spacing"), str(MOST),
    )  # fmt: skip
    layouts = page.answer(MOST, "LINE_LAYOUTS", *arguments)
    any_asked = "+".join(f'({c}{names + 1}<>"")' for c in letters)
    ready = f'AND(layout_width<>"",layout_wetted<>"",{any_asked}>0)'
    words = f'IF({ready},{page.book.words(layouts)},"Give a width, a soil and a planting")'
    page.formula(names, FOUND, words, "text", style=page.styles.words)
    page.book.name("layout_state", page.name, names, FOUND)
    *computed, _ = page.place("lines compared", MOST).columns
    cells = {column: f'IF(layout_state="ok",{layouts.item(j)},"")'
             for j, column in enumerate(computed, 1)}  # fmt: skip
    for (title, _, _), letter in zip(PLANTINGS, letters, strict=True):
        cells[title] = f'IF({letter}${names + 1}="","",{cells[title]})'
    cells["fewest"] = f'IF(layout_state="ok",IF({layouts.item(10)},"fewest","–"),"")'
    compared = page.block("lines compared", cells, MOST)
    found = f'MATCH("fewest",{compared.here("fewest")},0)'
    page.row = compared.last + 1
    page.result(
        "fewest_to_serve", f'IF(layout_state="ok",IFERROR({found},"none of these"),"")', strong=True
    )
    page.row += 1
    return compared


def _positions(page: Page, compared: Place) -> None:
    page.section("Where the lines lie, from one edge of the bed")
    page.result("lines_laid",
                'IF(layout_state<>"ok","",IF(layout_lines="",IF(ISNUMBER(fewest_to_serve),'
                'fewest_to_serve,""),layout_lines))')  # fmt: skip
    inset = f"INDEX({compared.here('inset')},lines_laid)"
    offsets = page.answer(MOST, "LINE_OFFSETS", "layout_width", "lines_laid", inset)
    rows = [
        {"line": f'IF(N(lines_laid)<{i},"",{i})',
         "edge": f'IF(N(lines_laid)<{i},"",{offsets.item(1, i)})',
         "before": f'IF(N(lines_laid)<{i},"",{{edge}}-{{edge-1}})' if i > 1 else ""}
        for i in range(1, MOST + 1)
    ]  # fmt: skip
    page.block("line positions", rows)


def _lines_by_soil(book: Book, page: Page) -> None:
    """What the soil takes in over the wetted strip against what each line gives."""
    page.section("Which line suits the soil")
    page.note(SAID.suits)
    rows = book.places["Lines"].rows
    flows = book.column("Lines", "flow_of_emitter")
    spacings = book.column("Lines", "emitter_spacing")
    arguments = (spacings, flows, "layout_wetted", "layout_intake")
    advice = page.answer(rows, "LINE_ADVICE", *arguments)
    missing = (
        ('layout_wetted=""', '"Choose a soil on Setup"'),
        ('layout_intake=""',
         '"The intake rate of this soil is not known: measure it with a ring"'),
        (f"COUNT({flows})=0", '"No line with a flow yet"'),
    )  # fmt: skip
    page.state(book.words(advice), "line_advice_state", missing=missing)
    line = book.nth("Lines", "line")
    unknown = 'OR(${line}="",${flow}="",line_advice_state<>"ok")'
    rate, share, said = (f'IF({unknown},"",{advice.item(j)})' for j in (1, 2, 3))
    place = page.block(LINE_ADVICE, {
        "line": f'IF({line}="","",{line})',
        "flow": f'IF(${{line}}="","",INDEX({flows},{{n}}))',
        "spacing": f'IF(${{line}}="","",INDEX({spacings},{{n}}))',
        "rate": rate,
        "share": share,
        "advice": said,
        "reason": f'IF(${{advice}}="","",{advice.item(4)})',
    }, rows, styles={"reason": page.styles.aside})  # fmt: skip
    heading = place.first - 1, place.columns["reason"], place.first - 1, WIDTH - 1
    page.sheet.merge_range(*heading, "Reason", page.styles.header)


def _chart(page: Page, compared: Place) -> None:
    counts = compared.reference("lines")
    series = [Series(title, counts, compared.reference(title)) for title, _, _ in PLANTINGS]
    series.append(
        Series("Wetted distance each side", counts, compared.reference("reach"), line=True)
    )
    chart(
        page, "column", "Farthest planted point from a line: what stands above the line stays dry",
        series, (page.row, 0), x_title="Drip lines in the bed",
        y_title=f"Distance ({page.book.unit('width')})", size=(900, 300),
    )  # fmt: skip
