"""Pages of a proposal: the cover, the design in words and numbers, the map."""

from collections.abc import Mapping, Sequence
from typing import Any

from reportlab.lib.colors import HexColor, white
from reportlab.platypus import Flowable, Spacer

from workbook_template.client_copy.agreeing import unlike_minutes, unsaid_of_backflow
from workbook_template.client_copy.former import Facts
from workbook_template.client_copy.proposal.offer import Offer
from workbook_template.client_copy.proposal.paper import Paper
from workbook_template.client_copy.proposal.words import Words
from workbook_template.client_copy.settings import Settings
from workbook_template.kit.map_drawing import WORDS_OFF, Box, Line, Mark, Shape, extent, shapes
from workbook_template.kit.style import INK
from workbook_template.sheets.water.timer import A_WEEK, BY_TIMER
from xlfuncs.tables.garden.head_assembly import BACKFLOW_PREVENTER
from xlfuncs.workbooks.bed_map import BedMap

LINE = 11.0  # height of one in a list of small letters
PARTS_ACROSS = 3


def cover(paper: Paper, facts: Facts, words: Words, settings: Settings) -> list[Flowable]:
    offer = Offer(facts, words)
    page: list[Flowable] = [letterhead(paper, facts, settings), Spacer(0, 70)]
    page += [paper.text(words["heading"], 30, bold=True, color="accent"), Spacer(0, 4)]
    if client := facts.text("client"):
        page.append(paper.text(words.fill("proposal_for", client=client), 15))
    page += [Spacer(0, 30), _particulars(paper, facts, words, offer), Spacer(0, 26),
             _figures(paper, facts, words)]  # fmt: skip
    if offer.options:
        page += [*paper.section(words["what_it_costs"]), offer.price_boxes(paper)]
    return page


def contents(paper: Paper, words: Words, titles: Sequence[str]) -> list[Flowable]:
    """What follows, page by page."""
    listed = paper.bullets((words[title] for title in titles), 9.5)
    return [Spacer(0, 14), *paper.section(words["in_this"]), *listed] if titles else []


def letterhead(paper: Paper, facts: Facts, settings: Settings) -> Flowable:
    """Who makes the offer, and where they are reached."""
    given = settings.letterhead()
    if settings.consultant.get("name"):
        name, *lines = given
    else:
        name, lines = facts.text("prepared_by") or facts.text("farm"), given
    left: list[Flowable] = [p for p in [paper.picture((190, 64))] if p is not None]
    left.append(paper.text(Words.escaped(name), 13, bold=True))
    return paper.beside([left, [paper.text(Words.escaped(line), 9) for line in lines]])


def _particulars(paper: Paper, facts: Facts, words: Words, offer: Offer) -> Flowable:
    day = facts.named("quotation_date")
    until = words.date(day, facts.number("validity_days")) if day and facts.number(
        "validity_days") else ""  # fmt: skip
    known = (
        ("client", facts.text("client")), ("site", facts.text("site")), ("number", offer.number),
        ("date", words.date(day)), ("valid", until), ("prepared", facts.text("prepared_by")),
    )  # fmt: skip
    rows = [[words[key], Words.escaped(value)] for key, value in known if value]
    return paper.table(rows, (1, 3), head=0, size=10) if rows else Spacer(0, 0)


def _figures(paper: Paper, facts: Facts, words: Words) -> Flowable:
    figures = [
        (words.number(facts.number("beds_counted")), "beds"),
        (words.quantity(facts.named("planted_area"), "area"), "planted"),
        (words.quantity(facts.named("line_length_total"), "length"), "line_laid"),
        (words.number(facts.number("number_of_sets")), "sets"),
        (words.quantity(facts.named("water_a_week"), "volume"), "a_week"),
    ]
    return paper.beside([
        [paper.text(Words.escaped(figure), 15, bold=True), paper.text(words[key], 8.5)]
        for figure, key in figures if figure not in ("", "0")
    ], framed=True)  # fmt: skip


def design(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    page = [*paper.title(words["design"]), *_in_short(paper, facts, words)]
    if beds := _beds(paper, facts, words):
        page += [*paper.section(words["each_bed"]), *beds]
    if sets := _sets(paper, facts, words):
        page += [*paper.section(words["how_watered"]), *sets]
    return [*page, *paper.section(words["your_part"]), *paper.bullets(words.all("client_needs"))]


def _in_short(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    told = [words.fill(
        "short", beds=words.number(facts.number("beds_counted")),
        area=words.quantity(facts.named("planted_area"), "area"),
        length=words.quantity(facts.named("line_length_total"), "length"),
        lines=words.number(facts.number("number_of_lines")),
    )]  # fmt: skip
    if sets := facts.number("number_of_sets"):
        told.append(words.fill("in_sets", sets=words.number(sets)))
    if depth := facts.number("weekly_depth"):
        told.append(words.fill("net_depth", depth=words.quantity(depth, "depth")))
    if share := facts.number("efficiency_used"):
        by = facts.text("efficiency_words").partition(",")[0]
        told.append(words.fill(f"efficiency_{by}", share=words.rate(round(share, 2))))
    if soil := facts.text("soil"):
        told.append(words.fill("soil", soil=soil))
    given = (("flow", "supply_greatest_flow", "supply_flow"),
             ("pressure", "supply_static", "supply_pressure"),
             ("pressure", "supply_cut_in_pressure", "supply_held"))  # fmt: skip
    known = {of: words.fill(key, **{of: words.quantity(facts.named(name), of)})
             for of, name, key in given if facts.named(name)}  # fmt: skip
    if (supply := facts.text("supply_used")) or known:
        known = {"flow": "", "pressure": "", **known}
        told.append(words.filled("supply", supply=Words.escaped(supply) or words["tap"], **known))
    if day := facts.named("supply_measured_on"):
        told.append(words.fill("measured_on", date=words.date(day)))
    if head := [row for row in facts.rows("HeadParts") if row.get("part")]:
        told.append(words.fill("head", parts=", ".join(str(row["part"]) for row in head)))
    if unsaid_of_backflow(facts):
        preventers = (row for row in head if row.get("kind") == BACKFLOW_PREVENTER)
        listed = ", ".join(str(row["part"]) for row in preventers)
        told.append(words.fill("backflow_proposed" if listed else "backflow_open", part=listed))
    return [paper.text(" ".join(told), 10)]


def _beds(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    delivered = {row["bed"]: row for row in facts.block("delivery") if row.get("bed")}
    rows: list[list[str]] = [words.all("bed_columns")]
    few: list[str] = []
    resting: list[str] = []
    missing: list[str] = []
    for row in facts.rows("Beds"):
        name = str(row.get("bed") or "")
        if row.get("counted") != "yes":
            (resting if row.get("counted") == "off" else missing).append(name)
            continue
        got = delivered.get(name, {})
        share = got.get("share")
        if str(got.get("remark", "")).startswith("too little"):
            few.append(name)
        rows.append([
            name, words.named(row.get("valve")), str(row.get("line") or ""),
            words.plain(row.get("laterals")), words.quantity(row.get("length"), "bed_length"),
            words.quantity(row.get("area"), "area"),
            words.quantity(row.get("flow_used"), "bed_flow"),
            words.rate(round(share, 2)) if isinstance(share, float) else "",
        ])  # fmt: skip
    if len(rows) == 1:
        return []
    rows[1:] = [[Words.escaped(cell) for cell in row] for row in rows[1:]]
    slopes: dict[Any, list[str]] = {}
    for row in facts.rows("Beds"):
        if row.get("counted") == "yes" and (slope := row.get("slope")):
            slopes.setdefault(slope, []).append(str(row["bed"]))
    each = "; ".join(words.slope(slope, ", ".join(beds)) for slope, beds in slopes.items())
    share_wanted = words.rate(facts.number("wanted_share"))
    said = [words.fill("slopes", beds=each)] if each else []
    said += [words.fill("short_beds", share=share_wanted, beds=", ".join(few))] if few else []
    said += [words.fill(key, beds=listed) for key, beds in
             (("resting", resting), ("not_designed", missing))
             if (listed := ", ".join(filter(None, beds)))]  # fmt: skip
    said += [words["lines_by_option"]] if len(Offer(facts, words).options) > 1 else []
    told = [Spacer(0, 4), paper.text(" ".join(said), 9)] if said else []
    return [paper.filled(rows, (16, 8, 22, 8, 12, 13, 12, 15), right=range(3, 8), size=8), *told]


def _sets(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    """The program of the timer, set by set."""
    rows = [words.all("set_columns")]
    valves = {words.named(bed.get("valve")) for bed in facts.rows("Beds")}
    each_week = f"{facts.number('watering_days'):g}{A_WEEK}"  # where no days are chosen yet
    for row in facts.block("sets of the timer"):
        if not row.get("set"):
            continue
        minutes = row.get("minutes")
        at_hand = row.get("station") == "by hand"
        rows.append([Words.escaped(cell) for cell in (
            words.of_valve(str(row["set"]), valves), str(row.get("names") or ""),
            words.days(str(row.get("days") or each_week)),
            words.texts["by_hand"] if at_hand else str(row.get("opens") or ""),
            words.quantity(row.get("flow"), "bed_flow"),
            words.number(minutes) if isinstance(minutes, float) else "",
        )])  # fmt: skip
    if len(rows) == 1:
        return []
    pieces: list[Flowable] = [paper.filled(rows, (9, 38, 15, 10, 11, 10), right=(4, 5), size=8)]
    if how := facts.text("sets_opened"):
        by_station = "set_by_station" if how.startswith(BY_TIMER) else "set_by_hand"
        opened = words["set_by_timer" if how == BY_TIMER else by_station]
        pieces += [Spacer(0, 4), paper.text(opened, 8.5)]
    if beds := unlike_minutes(facts):
        each = (words.texts["of_minutes"].format(bed=bed, share=words.rate(round(share, 2)))
                for bed, share in beds.items())  # fmt: skip
        unlike = words.fill("unlike_minutes", beds=", ".join(each))
        pieces += [Spacer(0, 4), paper.text(unlike, 8.5)]
    if 1 <= (month := int(facts.number("timer_month"))) <= 12:
        pieces += [Spacer(0, 4), paper.text(words.fill("for_month", month=words.month(month)), 8.5)]
    return pieces


def garden_map(paper: Paper, facts: Facts, words: Words) -> list[Flowable]:
    if (drawn := facts.map()) is None:
        return []
    listed = _parts(paper, words, drawn.parts)
    room = paper.height - 90 - (48 + LINE * -(-len(drawn.parts) // PARTS_ACROSS) if listed else 0)
    if room < paper.height / 2:
        listed, room = [], paper.height - 90
    picture = GardenMap(drawn, (paper.width, room), paper.font, words.texts)
    is_off = any(isinstance(shape, Box) and shape.dashed for shape in picture.shapes)
    legend = " ".join(words[key] for key in ("legend", *["legend_off"] * is_off))
    return [*paper.title(words["map"]), picture, Spacer(0, 8), paper.text(legend, 8.5), *listed]


def _parts(paper: Paper, words: Words, parts: Sequence[tuple[str, str]]) -> list[Flowable]:
    """The parts of the plan in columns below the map."""
    rows = -(-len(parts) // PARTS_ACROSS)
    columns = [[paper.text(f"{Words.escaped(name)}: {Words.escaped(count)}", 8)
                for name, count in parts[i : i + rows]]
               for i in range(0, len(parts), max(rows, 1))]  # fmt: skip
    return [*paper.section(words["parts"]), paper.beside(columns)] if parts else []


# --- the map of the beds on a page: the shapes that the command `map` draws too ---


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
