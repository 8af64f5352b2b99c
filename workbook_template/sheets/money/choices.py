"""Layout choices: what other lines and other numbers of lines would cost and do; fit to rolls."""

from __future__ import annotations

from workbook_template.kit.book import Book
from workbook_template.kit.declared import CONSULTANT, ForClient, SheetFor
from workbook_template.kit.formulas import GridColumn, call
from workbook_template.kit.page import Page
from xlfuncs.tables.money.buying import CHOICES

SHEETS = (
    SheetFor(
        "Layout choices",
        (CONSULTANT,),
        group="choices",
        needs=("Beds", "Lines", "Prices", "Parts", "Cut list", "Summary"),
        client=ForClient(),
    ),
)

COMPARED = 5  # numbers of lines a bed
SHOWN = (
    ("Line", "text"), ("Lines a bed", "count"), ("Rolls", "text"), ("Cost", "money"),
    ("Cost per planted area", "money_per_area"), ("Farthest point", "width"),
    ("Flow of largest bed", "flow"), ("Share of supply", "ratio"), ("Longest run", "time"),
    ("All beds", "hours"), ("Left over", "length"), ("Left-over value", "money"),
    ("Does not pass", "text"), ("Mark", "text"),
)  # fmt: skip
FIT = (
    ("Lines would be", "text"), ("Emitter spacings", "count"), ("Change of length", "length"),
    ("More lines", "count"), ("Cost", "money"), ("Saving", "money"), ("Left over", "length"),
    ("Proof", "text"),
)  # fmt: skip
FIT_ROWS = 14


def write(book: Book) -> None:
    page = Page(
        book,
        "Layout choices",
        "Layout choices",
        "Every line with rolls on the price list, with each number of lines a bed; the cheapest"
        " that passes the checks is marked. Costs are without tax and delivery.",
        widths=(22, 12, 34, 11, 11, 11, 10, 13, 10, 9, 10, 11, 16, 20),
    )
    page.settings(CHOICES)
    lists = _lists(book, page)
    _choices(book, page, lists)
    page.next_printed_page()
    _fit(book, page)


def _lists(book: Book, page: Page) -> dict[str, str]:
    """Rolls of lines, lines with rolls, and numbers of lines, in columns folded away."""
    offers, lines = book.places["Prices"].rows, book.places["Lines"].rows
    below, top = page.row, page.row + 2  # headers beside those of the choices
    page.row = top

    def price(column: str) -> str:
        return f"INDEX({book.column('Prices', column)},{{n}})"

    def line(column: str) -> str:
        return f"INDEX({book.column('Lines', column)},{{n}})"

    known = f"COUNTIF({book.column('Lines', 'line')},{price('part')})>0"
    is_line = f'AND({price("part")}<>"",{price("roll_length")}<>"",{known})'
    names: dict[str, str] = {}
    col = len(SHOWN)

    def beside(
        columns: tuple[GridColumn, ...], rows: int | list[dict[str, str]], gap: int = 1
    ) -> None:
        """A block to the right of what is there; its columns are named like arguments."""
        nonlocal col
        page.row, col = top, col + gap
        styles = {c.name: page.styles.aside for c in columns if c.dimension == "text"}
        place = page.block(columns, rows, col=col, styles=styles)
        names.update({column.name: place.here(column.name) for column in columns})
        col += len(columns)

    def of_roll(column: str) -> str:
        return f'IF({is_line},{price(column)},"")'

    def of_sold(column: str) -> str:
        return f'IF(COUNTIF({names["roll_lines"]},{line("line")})=0,"",{line(column)})'

    beside((
        GridColumn("roll_lines", "Rolls of", "text", of_roll("part")),
        GridColumn("roll_lengths", "Roll length", "length", of_roll("roll_length")),
        GridColumn("roll_prices", "Price", "money", of_roll("price")),
    ), offers)  # fmt: skip
    beside((
        GridColumn("lines", "Line", "text", of_sold("line")),
        GridColumn("spacings", "Spacing", "width", of_sold("emitter_spacing")),
        GridColumn("flows", "Emitter flow", "emitter_flow", of_sold("flow_of_emitter")),
    ), lines)  # fmt: skip
    beside((GridColumn("laterals", "Lines a bed", "count"),),
           [{"laterals": f"N(compare_from)+{i}"} for i in range(COMPARED)])  # fmt: skip
    # a number, where the depth was typed as text with its unit
    net = call("DEPTH_FROM_VOLUME", call("VOLUME_FROM_DEPTH", "1", "weekly_depth"), "1")
    known = 'AND(weekly_depth<>"",N(waterings_a_week)>0,N(efficiency)>0)'
    depth = f'IF({known},{net}/waterings_a_week/efficiency,"")'
    beside((GridColumn("depth", "Depth a watering", "depth", depth),), 1, gap=0)
    names["depth"] = names["depth"].partition(":")[0]
    page.sheet.set_column(len(SHOWN), col - 1, 10, None, {"level": 1, "hidden": True})
    page.row = below
    return names


def _choices(book: Book, page: Page, lists: dict[str, str]) -> None:
    def bed(column: str) -> str:
        return book.column("Beds", column)

    choices = call(
        "LAYOUT_CHOICES", lengths=bed("length"), widths=bed("bed_top_width"), areas=bed("area"),
        lines=lists["lines"], emitter_spacing=lists["spacings"], emitter_flow=lists["flows"],
        roll_lines=lists["roll_lines"], roll_lengths=lists["roll_lengths"],
        roll_prices=lists["roll_prices"], laterals=lists["laterals"],
        depth=lists["depth"], supply_flow="measured_flow",
        farthest="farthest_point", counted=bed("counted"), share="supply_share",
        longest_day="longest_day", line_parts="N(line_fittings)",
        end_allowance="end_allowance_text",
    )  # fmt: skip
    ready = (
        f'AND(beds_counted>0,measured_flow<>"",weekly_depth<>"",COUNT({lists["roll_prices"]})>0,'
        f'COUNTIF({bed("counted")},"yes")=COUNTIFS({bed("counted")},"yes",{bed("bed_top_width")},"<>"))'
    )
    page.section("Choices")
    missing = (
        ("beds_counted=0", "No bed is counted yet"),
        ('measured_flow=""', "The bucket test on Setup is missing"),
        ('weekly_depth=""', "Net depth a week on Setup is missing"),
        (f"COUNT({lists['roll_prices']})=0", "Prices has no roll of a line yet"),
    )
    words = '"A counted bed has no bed top width"'
    for condition, said in reversed(missing):
        words = f'IF({condition},"{said}",{words})'
    page.formula(page.row, 2, f'IF({ready},"",{words})', "text", style=page.styles.aside)
    rows = COMPARED * book.places["Lines"].rows
    page.whole(choices, SHOWN, rows, ready=ready, dash=True)


def _fit(book: Book, page: Page) -> None:
    page.section("Fit to the rolls: the first line of the cut list")
    page.note(
        "How much shorter every line would have to be for the next cheaper purchase, and how much"
        " longer, or how many more, for nothing. Steps are whole emitter spacings.",
    )
    spacing = book.lookup("Lines", "emitter_spacing", "line", "cut_line_1")
    names = (f"cut_line_1_{name}" for name in ("lengths", "counts", "rolls", "prices"))
    fit = call("ROLL_FIT", *names, spacing)
    ready = 'AND(cut_line_1<>"",COUNT(cut_line_1_lengths)>0,COUNT(cut_line_1_prices)>0)'
    page.whole(fit, FIT, FIT_ROWS, ready=ready, dash=True)
