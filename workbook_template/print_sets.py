"""What a garden needs on paper, a set of pages each: to the shop, the field, for winter, to file.

The pages are made for paper from the computed workbook: only filled rows, headers that repeat, the
farm, date, revision and page in the footer. They hold values, no formulas.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import xlsxwriter

from workbook_template.build import Built
from workbook_template.kit.fitting import fit
from workbook_template.kit.paper import NAMED, feet
from workbook_template.kit.style import Styles
from workbook_template.print_findings import filed_rows, first_lines, found_in
from workbook_template.sheets.money.cut_list import CUTS
from workbook_template.sheets.money.parts import COUNTED
from workbook_template.sheets.money.prices import AT_INVENTED
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.water.bed_need import MONTHS
from workbook_template.sheets.water.season import SEASON
from workbook_template.sheets.water.timer import SETS
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.cautions import CAUTIONS
from xlfuncs.tables.columns import Column
from xlfuncs.tables.money.parts import STAYS
from xlfuncs.units import DIMENSIONS
from xlfuncs.workbooks.our_tables.read_inputs import INVENTED_WORDS

PAPERS = {"letter": 1, "a4": 9}
BOX = "☐"
OWNED = "Not to buy: there already"
WORD = re.compile("(?<=[a-z])[A-Z]")
WIDTHS = {"Meaning": 60, "What Checks says": 80, "Beds": 36, "Notes": 36, "Bed": 14, "Set": 12,
          "Station": 9, "Program": 9, "Length of each": 14, "Then left on roll": 16,
          "Start times": 13, "Days": 20, "Valve": 8, "Value": 20, "Kind": 16}  # fmt: skip
FILED = ("Beds", "Lines", "Pipes", "HeadParts", "BedPlan", "MonthlyWeather", "CountingRules")
WINTER = CAUTIONS[2]
Header = tuple[str, str]  # words and dimension
Rows = Sequence[Sequence[Any]]


@dataclass
class _Pages:
    """A set that is being written, a worksheet a page or more."""

    built: Built
    system: str
    paper: str
    name: str  # of the set

    def __post_init__(self) -> None:
        self.content = BytesIO()
        self.missing: list[str] = []  # pages that there are not, and why
        self.workbook = xlsxwriter.Workbook(self.content, {"in_memory": True})
        self.styles = Styles(self.workbook, self.system)
        self.farm = str(self.built.named("farm") or "Garden")
        self.findings = found_in(self.built)

    def done(self, title: str) -> bytes:
        texts = list(self.workbook.str_table.string_table)
        for sheet in self.workbook.worksheets():
            fit(sheet, self.styles, texts)
        self.workbook.set_properties({"title": f"{self.farm}: {title}", "author": self.farm,
                                      "subject": "Drip irrigation of vegetable beds"})  # fmt: skip
        self.workbook.close()
        return self.content.getvalue()

    def sheet(self, title: str, columns: int, *, lying: bool = False) -> tuple[Any, int]:
        """A worksheet with its heading, and its first free row."""
        sheet = self.workbook.add_worksheet()  # a shop's name may hold what a sheet's may not
        sheet.hide_gridlines(2)
        (sheet.set_landscape if lying else sheet.set_portrait)()
        sheet.set_paper(PAPERS[self.paper])
        sheet.set_margins(0.5, 0.5, 0.6, 0.7)
        sheet.fit_to_pages(1, 0)
        named = {n: self.built.named(n) for n in ("plan_date", "revision")}
        revision = f", revision {named['revision']:.0f}" if named["revision"] else ""
        date = named["plan_date"] or ""
        day = date.date().isoformat() if hasattr(date, "date") else str(date)[:10]
        # A digit right behind the size would be read as part of it, hence the spaces.
        farm = self.farm[:NAMED].replace("&", "&&")
        sheet.set_footer(f"&L&10 {farm}&C&10 {title[:NAMED]}&R&10 {day}{revision}, page &P of &N",
                         {"scale_with_doc": False})  # fmt: skip
        sheet.write_string(0, 0, f"{self.farm}: {title}", self.styles.title)
        row = 1
        if self.built.inputs.invented:
            sheet.write_string(row, 0, INVENTED_WORDS, self.styles.aside)
            row += 1
        if len(self.workbook.worksheets()) == 1:
            for words in first_lines(self.findings, self.name):
                row = self.words(sheet, row, columns, words, self.styles.words_strong)
        return sheet, row + 1

    def words(self, sheet: Any, row: int, columns: int, text: str, style: Any = None) -> int:
        sheet.merge_range(row, 0, row, max(columns - 1, 1), text, style or self.styles.note)
        return row + 1

    def rows(self, sheet: Any, row: int, headers: Sequence[Header], rows: Rows) -> int:
        """A list, its columns without anything left out; gives the next free row."""
        filled = [any(line[i] not in (None, "", "–") for line in rows) for i in range(len(headers))]
        kept = [i for i, (words, _) in enumerate(headers) if words == BOX or filled[i]]
        for col, i in enumerate(kept):
            words, dimension = headers[i]
            unit = DIMENSIONS[dimension].unit(self.system)
            sheet.write_string(row, col, f"{words} ({unit})" if unit else words,
                               self.styles.header)  # fmt: skip
            style = self.styles.result(dimension)
            width = 4 if words == BOX else WIDTHS.get(words, 24) if dimension == "text" else 10
            sheet.set_column(col, col, width)
            for below, line in enumerate(rows, row + 1):
                self._value(sheet, below, col, line[i], style)
        sheet.repeat_rows(row)
        return row + len(rows) + 2

    def _value(self, sheet: Any, row: int, col: int, value: Any, style: Any) -> None:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            sheet.write_number(row, col, value, style)
        elif hasattr(value, "year"):
            sheet.write_datetime(row, col, value, self.styles.result("date"))
        else:
            words = {True: "yes", False: "no", None: "", "–": ""}.get(value, str(value))
            sheet.write_string(row, col, words, style)


def _shopping(pages: _Pages) -> None:
    """What to buy, shop by shop, with what it costs; then what to cut from which roll."""
    built, money = pages.built, f" ({pages.built.named('currency')})"
    offers = {_offer(row): row for row in built.rows("Prices")}
    star = {key: " *" for key, row in offers.items() if row["bought"] == AT_INVENTED}
    bought = [row for row in built.block(BOUGHT_ROWS) if isinstance(row["packs"], float)]
    by_shop: dict[str, list[dict[str, Any]]] = {}
    needed = Counter[str]()  # pieces of each part, told once
    for r in bought:
        shop = str(offers.get(_offer(r), {}).get("shop") or "")
        by_shop.setdefault(OWNED if r["price"] in (0, "–") else shop, []).append(r)
        if not isinstance(r["length"], float):
            needed[r["part"]] += r["packs"] * _number(r["pack"], 1) - _number(r["spare"], 0)
    headers: list[Header] = [
        (BOX, "text"), ("Part", "text"), ("Needed", "number"), ("How many", "count"),
        ("Pieces in each", "number"), ("Length of each", "length"),
        ("Price of each" + money, "money"), ("Total" + money, "money"),
    ]  # fmt: skip
    missing = str(built.named("purchase_check")).partition(": ")[2]
    own = str(built.named("sets_opened")).partition(". ")[2]  # of valves that nobody lists
    for shop, rows in sorted(by_shop.items(), key=lambda of: of[0] == OWNED):
        title = OWNED if shop == OWNED else f"Shopping list, {shop or 'no shop named'}"
        sheet, row = pages.sheet(title, len(headers))
        stars = f"* {AT_INVENTED}: a shop's may differ" if star.keys() & map(_offer, rows) else ""
        for words in filter(None, (missing, stars, own)):
            row = pages.words(sheet, row, len(headers), f"{words[0].upper()}{words[1:]}.")
        lines = [
            (BOX, r["part"] + star.get(_offer(r), ""), needed.pop(r["part"], 0) or "", r["packs"],
             r["pack"] if r["pack"] != 1 else "", r["length"], r["price"], r["total"])
            for r in rows
        ]  # fmt: skip
        lines.append(("", "Total, tax and delivery included", "", "", "", "", "",
                      sum(r["total"] for r in rows)))  # fmt: skip
        pages.rows(sheet, row, headers, lines)
    measured = feet if pages.system == "us" else float
    cut = "text" if pages.system == "us" else "length"
    for number in (1, 2):
        cuts = [r for r in built.block(CUTS[number]) if isinstance(r["roll"], float)]
        if cuts:
            line = built.named(f"cut_line_{number}")
            sheet, row = pages.sheet(f"Cut list, {line}", 7)
            pages.rows(sheet, row, [
                (BOX, "text"), ("Roll", "count"), ("Roll length", "length"), ("Bed", "text"),
                ("Lines", "count"), ("Length of each", cut), ("Then left on roll", cut),
            ], [(BOX, r["roll"], r["roll_length"], r["bed"], r["lines"], measured(r["length"]),
                 measured(r["left"])) for r in cuts])  # fmt: skip


def _offer(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """What tells one offer of the price list from others, there and among what is bought."""
    length = row.get("length", row.get("roll_length"))
    pack = row.get("pack")
    size = length if isinstance(length, (int, float)) else pack or 1
    return row["part"], float(size) if isinstance(size, (int, float)) else size, row["price"]


def _field(pages: _Pages, picture: bytes) -> None:
    """The map, what is watered together, the timer's program, the minutes of every month."""
    built = pages.built
    sheet, row = pages.sheet("Map", 8, lying=True)
    sheet.write_blank(row, 0, None)
    sheet.set_column_pixels(0, 7, 118)
    sheet.insert_image(row, 0, "map.png", {"image_data": BytesIO(picture), "x_scale": 0.9,
                                           "y_scale": 0.9})  # fmt: skip
    sheet.fit_to_pages(1, 1)
    sets = [r for r in built.block(SETS) if r["set"]]
    if (state := str(built.named("timer_inputs"))) != "ok":
        pages.missing.append(f"not yet the timer program ({state})")
    if sets:
        sheet, row = pages.sheet("Timer program", 10, lying=True)
        rests_on, opened = built.named("timer_rests_on"), built.named("sets_opened")
        row = pages.words(sheet, row, 10, f"Minutes {rests_on}. A set opens {opened}.")
        pages.rows(sheet, row, [
            ("Set", "text"), ("Beds", "text"), ("Station", "text"), ("Program", "text"),
            ("Start times", "text"), ("Set opens", "text"), ("Minutes to enter", "time"),
            ("Days", "text"), ("Flow", "flow"), ("Notes", "text"),
        ], [(r["set"], r["names"], r["station"], r["program"], r["start_times"], r["opens"],
             r["entered"], r["days"], r["flow"], r["notes"]) for r in sets])  # fmt: skip
    season = [r for r in built.block(SEASON) if r["bed"]]
    if not any(isinstance(r[str(m)], float) for r in season for m in range(1, 13)):
        pages.missing.append("not yet the season card (needs Plan, Weather, the place on Setup)")
    else:
        sheet, row = pages.sheet("Season card", 14, lying=True)
        a_week = built.named("waterings_a_week")
        words = f"Minutes of one watering, by bed and month, at {a_week:g} waterings per week;"
        row = pages.words(sheet, row, 14, f"{words} blank: no crop, or rain is enough.")
        headers = [("Bed", "text"), ("Valve", "text"), *((month, "time") for month in MONTHS)]
        pages.rows(sheet, row, headers, [
            (r["bed"], r["valve"], *(_number(r[str(m)]) for m in range(1, 13))) for r in season
        ])  # fmt: skip


def _number(value: Any, otherwise: Any = "") -> Any:
    return value if isinstance(value, float) and value > 0 else otherwise


def _winter(pages: _Pages) -> None:
    """What to drain and what to store, before frost."""
    sheet, row = pages.sheet("Before frost", 5)
    row = pages.words(sheet, row, 5, WINTER, pages.styles.caution(first=True, last=True)) + 1
    found: dict[tuple[str, str], list[float]] = {}
    for counted in pages.built.block(COUNTED):
        if counted["part"] and counted["winter"] != STAYS:
            sums = found.setdefault((counted["winter"], counted["part"]), [0.0, 0.0])
            for i, name in enumerate(("number", "length")):
                sums[i] += _number(counted[name], 0.0)
    pages.rows(sheet, row, [
        (BOX, "text"), ("Before frost", "text"), ("Part", "text"), ("Number", "count"),
        ("Length", "length"),
    ], [(BOX, *what, *(n or "" for n in sums)) for what, sums in sorted(found.items())
        if any(sums)])  # fmt: skip


def _plan(pages: _Pages) -> None:
    """What the plan rests on and what came out, to be kept."""
    built = pages.built
    sheet, row = pages.sheet("Plan and assumptions", 4)
    lines = [(s.header, with_unit(s, value, pages.system), s.help) for s in SETTINGS
             if (value := built.named(s.name)) not in (None, "") and not s.internal]  # fmt: skip
    pages.rows(sheet, row, [("What", "text"), ("Value", "text"), ("Meaning", "text")], lines)
    if said := filed_rows(pages.findings):
        sheet, row = pages.sheet("What is wrong or doubtful", 3, lying=True)
        heads = [("It is", "text"), ("Where", "text"), ("What Checks says", "text")]
        pages.rows(sheet, row, heads, said)
    for table in TABLES:
        rows = [r for r in built.rows(table.name) if any(r[c.name] for c in table.columns)]
        if table.name in FILED and rows:
            title = WORD.sub(lambda word: f" {word[0].lower()}", table.name)
            sheet, row = pages.sheet(title, len(table.columns), lying=True)
            columns = [c for c in table.columns if not c.internal]
            row = pages.words(sheet, row, 6, table.help)
            pages.rows(sheet, row, [(c.header, c.dimension) for c in columns],
                       [tuple(r[c.name] for c in columns) for r in rows])  # fmt: skip


def with_unit(setting: Column, value: Any, system: str) -> str:
    unit = setting.unit(system)
    if hasattr(value, "date"):
        return str(value.date().isoformat())
    shown = f"{value:g}" if isinstance(value, float) else str(value)
    return f"{shown} {unit}" if unit and isinstance(value, (int, float)) else shown


SETS_OF_PAGES: dict[str, str] = {
    "shop": "to the shop: shopping list and cut list",
    "field": "to the field: map, timer program, season card",
    "winter": "for winter: what to drain, what to store",
    "file": "to file: the plan and what it rests on",
}


def pages_of(
    name: str, built: Built, system: str, paper: str, picture: Callable[[], Path]
) -> tuple[bytes, list[str]]:
    """A set of pages as a workbook of values, what could not be in it; `picture` gives the map."""
    pages = _Pages(built, system, paper, name)
    if name == "field":
        _field(pages, picture().read_bytes())
    else:
        {"shop": _shopping, "winter": _winter, "file": _plan}[name](pages)
    if not pages.workbook.worksheets():  # nothing could be computed: Checks says why
        pages.sheet("Nothing to show", 6)
    return pages.done(SETS_OF_PAGES[name]), pages.missing
