"""Parts: pieces of line, parts by the counting rules, whether they fit, backflow, winter."""

from functools import partial

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, SEEN, SheetFor
from workbook_template.kit.formulas import NUMBER, Place, call
from workbook_template.kit.page import Page
from workbook_template.kit.said import said
from xlfuncs.tables.garden.head_assembly import HEAD_PARTS, REGULATOR, REGULATORS
from xlfuncs.tables.garden.lines import LINES
from xlfuncs.tables.money.parts import COUNTING_RULES, PARTS
from xlfuncs.tables.money.prices import BACKFLOW, BUYING

SHEETS = (
    SheetFor("Parts",
             "Every part along the water's way from tap to line end, counted from the beds by the"
             " counting rules.", (CONSULTANT,), group="parts",
             needs=("Beds", "Counting rules", "Supply"), client=SEEN),
    SheetFor("Connections",
             "The parts in the order in which the water meets them, and whether each fits the one"
             " before it.", (CONSULTANT,), title="Connections and backflow", group="parts",
             client=SEEN),
)  # fmt: skip

COUNTED = "counted parts"  # the block, by which the printed list finds it
PIECES_AT = 8  # column of the pieces, beside the parts
NOTES = 6
SAID = said("parts")


def write(book: Book) -> None:
    page = Page(book, SHEETS[0], widths=(30, 14, 11, 11, 46, 18), numbers_at=19, upright=True)
    page.note(SAID.winter)
    page.settings(BUYING)
    top = page.row
    pieces = _pieces(book, page)
    page.row = top
    _counted(book, page, pieces)
    fit = Page(book, SHEETS[1], widths=(30, 34, 34, 18, 18, 60))
    fit.freeze(fit.row + 1)
    fit.table(PARTS, {"fault": _fault(book, fit.name)}, spare=5, widths={
        "part": 30, "inlet": 34, "outlet": 34, "winter": 18, "note": 18, "fault": 60})  # fmt: skip
    fit.settings(BACKFLOW)
    _backflow(fit)


def _pieces(book: Book, page: Page) -> Place:
    """One row per bed that is laid: what of it the rules and the purchase need."""
    bed = partial(book.nth, "Beds")

    def if_laid(formula: str) -> str:
        return f'IF(${{bed}}="","",{formula})'

    # A bed that lies fallow keeps its lines: they are bought and laid, but not watered.
    laid = f'IF({bed("laid")}="yes",{bed("bed")},"")'

    def or_blank(cell: str) -> str:
        return f'IF({cell}="","",{cell})'

    unit = book.unit("width")
    cut = call("CUT_LENGTH", bed("length"), bed("emitter_spacing"), "end_allowance_text")
    across = f'IF({bed("manifold_pipe")}="","0 {unit}",{_with_unit(bed("across"), unit)})'
    branch, start, valve = (or_blank(bed(name)) for name in ("branch", "branch_start", "valve"))
    columns = {
        "bed": laid,
        "line": if_laid(bed("line")),
        "laterals": if_laid(bed("laterals")),
        "cut": if_laid(cut),
        "distance": if_laid(bed("distance")),
        "branch": if_laid(branch),
        "start": if_laid(start),
        "manifold": if_laid(across),
        "valve": if_laid(valve),
        "total": if_laid("{laterals}*{cut}"),
        "number": NUMBER,
    }
    last = PIECES_AT + len(columns) - 1
    page.sheet.set_column(PIECES_AT, last, 12, None, {"level": 1, "hidden": True})
    page.sheet.write_string(page.row, PIECES_AT, "Pieces of line, bed by bed",
                            page.styles.section)  # fmt: skip
    page.row += 1
    page.text(page.row, PIECES_AT, "Allowance")
    page.formula(
        page.row,
        PIECES_AT + 1,
        f'IF(end_allowance="",0&" {unit}",{_with_unit("end_allowance", unit)})',
        "text",
    )
    book.name("end_allowance_text", page.name, page.row, PIECES_AT + 1)
    page.row += 1
    plain = dict.fromkeys(columns, page.styles.aside)
    pieces = page.block("pieces", columns, book.places["Beds"].rows, col=PIECES_AT, styles=plain)
    named = ("bed", "line", "laterals", "cut", "total")
    book.name_columns(pieces, {name: f"piece_{name}" for name in named})
    return pieces


def _with_unit(cell: str, unit: str) -> str:
    """A typed quantity as text with its unit; text has one already."""
    return f'IF(ISNUMBER({cell}),{cell}&" {unit}",{cell})'


def _counted(book: Book, page: Page, pieces: Place) -> None:
    rows = book.places["CountingRules"].rows
    counts = page.answer(
        rows, "PARTS_COUNT", pieces.with_headers("bed", "valve"), book.span(COUNTING_RULES),
        book.span(LINES), "trimming", turns="N(main_turns)",
        stations="N(stations)",
    )  # fmt: skip
    page.section("Parts by the counting rules")
    ready = f"AND(COUNT(piece_laterals)>0,COUNTA({book.column('CountingRules', 'part')})>0)"
    given = f'OR($B${page.row + 1}<>"ok",{book.nth("CountingRules", "part")}="")'
    page.state(f'IF({ready},"ok","no bed or rule is there to count from")')
    part, number, spares, length, words = (counts.item(column) for column in range(1, 6))
    winter = book.nth("CountingRules", "winter")

    def unless(condition: str, otherwise: str, shown: str) -> str:
        return f'IF({given},"",IF({condition},"{otherwise}",{shown}))'

    counted = page.block(COUNTED, {
        "part": f'IF({given},"",{_with_the_preset(book, page.name, part)})',
        "number": unless("N(${length})>0", "–", number),
        "spares": unless("N(${length})>0", "–", spares),
        "length": unless(f"{length}=0", "–", length),
        "counted_by": unless(f'{words}=""', "–", words),
        "winter": unless(f'{winter}=""', "stays", winter),
    }, rows)  # fmt: skip
    page.sheet.repeat_rows(counted.first - 1)
    names = ("part", "number", "spares", "length")
    book.name_columns(counted, {name: f"counted_{name}" for name in names})


def _with_the_preset(book: Book, sheet: str, part: str) -> str:
    """A part, or in place of a regulator the listed one that holds the preset on Supply."""
    kinds, held = (book.column(HEAD_PARTS.name, name) for name in ("kind", "preset"))
    names, presets = (book.column(REGULATORS.name, name) for name in ("regulator", "preset"))
    wanted = f'INDEX({held},MATCH("{REGULATOR}",{kinds},0))'
    wanted = book.name_formula("preset_wanted", sheet, wanted)
    book.name_formula("regulator_fitted", sheet, f"INDEX({names},MATCH({wanted},{presets},0))")
    own = f"INDEX({presets},MATCH({part},{names},0))"  # an error for what is no regulator
    return f"IFERROR(IF({own}<>{wanted},regulator_fitted,NA()),{part})"


def _fault(book: Book, sheet: str) -> str:
    parts = (f"Parts[{header}]" for header in ("Part", "Inlet", "Outlet"))
    whole = book.in_table(sheet, "CONNECTION_CHECK", *parts)
    found = whole.item(1, "ROW()-ROW(Parts[[#Headers],[Part]])")
    return f'IF({{part}}="","",IF({found}="","ok",{found}))'


def _backflow(page: Page) -> None:
    names = ("preventer", "valves_after", "pressure_hours", "preventer_height")
    ready = ",".join(f'{name}<>""' for name in names)
    notes = page.answer(NOTES, "BACKFLOW_NOTES", *names, "injection", "back_pressure")
    page.section("Notes on backflow")
    first = page.whole(notes, "notes on backflow", NOTES, ready=f"AND({ready})").first
    page.sheet.merge_range(first - 1, 0, first - 1, 5, "Note", page.styles.header)
    page.sheet.set_row(first - 1, 15)
    for row in range(first, first + NOTES):
        page.sheet.set_row(row, 28)
        page.sheet.merge_range(row, 0, row, 5, "", page.styles.words)
    for i in range(NOTES):
        page.formula(first + i, 0, f'IF({i + 1}>$B${first - 1},"",{notes.item(1, i + 1)})',
                     "text", style=page.styles.words)  # fmt: skip
