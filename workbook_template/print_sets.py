"""What a garden needs on paper, a set of pages each: to the shop, the field, for winter, to file.

The pages are made for paper from the computed workbook: only filled rows, headers that repeat, the
farm, date, revision and page in the footer. They hold values, no formulas.
"""

import re
from collections import Counter
from collections.abc import Callable, Mapping
from io import BytesIO
from math import ceil
from pathlib import Path
from typing import Any

from workbook_template.build import Built
from workbook_template.kit.book import WORKINGS
from workbook_template.kit.declared import ALL
from workbook_template.kit.paper import feet
from workbook_template.print_findings import filed_rows
from workbook_template.print_pages import BOX, Header, Pages
from workbook_template.sheets.money.cut_list import CUTS
from workbook_template.sheets.money.parts import COUNTED
from workbook_template.sheets.money.prices import AT_INVENTED
from workbook_template.sheets.money.purchase import BOUGHT_ROWS
from workbook_template.sheets.water.bed_need import MONTHS
from workbook_template.sheets.water.season import SEASON
from workbook_template.sheets.water.timer import BY_TIMER, SETS
from xlfuncs.tables.all_tables import SETTINGS, TABLES
from xlfuncs.tables.cautions import CAUTIONS
from xlfuncs.tables.columns import Column
from xlfuncs.tables.money.parts import STAYS
from xlfuncs.units import DIMENSIONS

OWNED = "Not to buy: there already"
UNLISTED = "Not on this list: the sets' valves, if electric, and the pipe from tap to each set"
WORD = re.compile("(?<=[a-z])[A-Z]")
FILED = (
    ("Pipes", "HeadParts", "Lines"),
    ("Beds",),
    ("CountingRules",),
    ("BedPlan",),
    ("MonthlyWeather",),
)  # tables by page
A_PAGE = 20  # rows of several tables that fit one
UNKNOWN = "?"  # of minutes
WINTER = CAUTIONS[2]


def _shopping(pages: Pages) -> None:
    """What to buy, shop by shop, with what it costs; then what to cut from which roll."""
    built, money = pages.built, f" ({pages.built.named('currency')})"
    offers = {_offer(row): row for row in built.rows("Prices")}
    star = {key: " *" for key, row in offers.items() if row["bought"] == AT_INVENTED}
    bought = [row for row in built.block(BOUGHT_ROWS) if isinstance(row["packs"], float)]
    by_shop: dict[str, list[dict[str, Any]]] = {}
    needed = Counter[str]()  # pieces or length of each part, told once
    for r in bought:
        shop = str(offers.get(_offer(r), {}).get("shop") or "")
        by_shop.setdefault(OWNED if r["price"] in (0, "–") else shop, []).append(r)
        size = _number(r["length"], _number(r["pack"], 1))
        needed[r["part"]] += r["packs"] * size - _number(r["spare"], 0) - _number(r["left"], 0)
    unit = DIMENSIONS["length"].unit(pages.system)

    def wanted(row: Mapping[str, Any]) -> Any:
        if (number := needed.pop(row["part"], None)) is None:
            return "the rest"
        length = isinstance(row["length"], float)
        return f"{ceil(round(number, 2)):,} {unit}" if length else number or ""

    missing = str(built.named("purchase_check")).partition(": ")[2]
    unlisted = UNLISTED if _opened(built) == BY_TIMER != built.named("sets_opened") else ""
    for shop, rows in sorted(by_shop.items(), key=lambda of: of[0] == OWNED):
        title = OWNED if shop == OWNED else f"Shopping list, {shop or 'no shop named'}"
        headers: list[Header] = [
            (BOX, "text"), ("Part", "text"), ("Needed", "number"),
            ("How many" if shop == OWNED else "Buy", "count"), ("Pieces in each", "number"),
            ("Length of each", "length"), ("Each before tax" + money, "money"),
            ("Total with tax, delivery" + money, "money"),
        ]  # fmt: skip
        sheet, row = pages.sheet(title, len(headers))
        stars = f"* {AT_INVENTED}: a shop's may differ" if star.keys() & map(_offer, rows) else ""
        for words in filter(None, (missing, stars, unlisted if shop != OWNED else "")):
            row = pages.words(sheet, row, len(headers), f"{words[0].upper()}{words[1:]}.")
        lines = [
            (BOX, r["part"] + star.get(_offer(r), ""), wanted(r), r["packs"],
             r["pack"] if r["pack"] != 1 else "", r["length"], r["price"], r["total"])
            for r in rows
        ]  # fmt: skip
        lines.append(("", "Total", "", "", "", "", "",
                      sum(r["total"] for r in rows)))  # fmt: skip
        pages.rows(sheet, row, headers, lines)
    measured = feet if pages.system == "us" else float
    cut = "text" if pages.system == "us" else "length"
    cuts = [(str(built.named(f"cut_line_{number}")), r) for number, block in CUTS.items()
            for r in built.block(block) if isinstance(r["roll"], float)]  # fmt: skip
    if cuts:
        sheet, row = pages.sheet("Cut list", 8)
        words = "A line is cut between two emitters: as many whole spacings as fit into the bed's"
        row = pages.words(
            sheet, row, 8, f"{words} length, and {built.named('end_allowance_text')} for its ends."
        )
        pages.rows(sheet, row, [
            (BOX, "text"), ("Line", "text"), ("Roll", "count"), ("Roll length", "length"),
            ("Bed", "text"), ("Lines", "count"), ("Length of each", cut),
            ("Then left on roll", cut),
        ], [(BOX, line, r["roll"], r["roll_length"], r["bed"], r["lines"], measured(r["length"]),
             measured(r["left"])) for line, r in cuts])  # fmt: skip


def _opened(built: Built) -> str:
    """How a set opens, without what nobody lists."""
    opened = str(built.named("sets_opened"))
    return BY_TIMER if opened.startswith(BY_TIMER) else opened


def _offer(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """What tells one offer of the price list from others, there and among what is bought."""
    length = row.get("length", row.get("roll_length"))
    pack = row.get("pack")
    size = length if isinstance(length, (int, float)) else pack or 1
    return row["part"], float(size) if isinstance(size, (int, float)) else size, row["price"]


def _field(pages: Pages, picture: bytes) -> None:
    """The map, what is watered together, the timer's program, the minutes of every month."""
    built = pages.built
    sheet, row = pages.sheet("Map", 8, lying=True)
    sheet.write_blank(row, 0, None)
    sheet.set_column_pixels(0, 7, 118)
    sheet.insert_image(row, 0, "map.png", {"image_data": BytesIO(picture), "x_scale": 0.86,
                                           "y_scale": 0.86})  # fmt: skip
    sheet.fit_to_pages(1, 1)
    sets = [r for r in built.block(SETS) if r["set"]]
    if (state := str(built.named("timer_inputs"))) != "ok":
        pages.missing.append(f"not yet the timer program ({state})")
    if sets:
        sheet, row = pages.sheet("Timer program", 10, lying=True)
        off = ", ".join(r["bed"] for r in built.rows("Beds") if r["counted"] == "off")
        words = f"Minutes {built.named('timer_rests_on')}. A set opens {_opened(built)}."
        row = pages.words(sheet, row, 10, f"{words} Off, without water: {off}." if off else words)
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
        least = _number(built.named("least_run"), 0.0)
        lines = [(r["bed"], _set_of(r["valve"]),
                  *(_minutes(r[str(month)], least) for month in range(1, 13)))
                 for r in season]  # fmt: skip
        said = {cell for line in lines for cell in line[2:] if isinstance(cell, str)}
        if any(cell.endswith("*") for cell in said):
            words = f"* below the shortest run ({least:g} min): water less often, longer each time."
            row = pages.words(sheet, row, 14, words)
        if UNKNOWN in said:
            words = f"{UNKNOWN}: not known, see Checks; it may need water."
            row = pages.words(sheet, row, 14, words)
        read = [line for line in lines if line[0] not in pages.unread]
        wet = [m for m in range(2, 14) if any(line[m] not in ("", "off") for line in read)]
        heads = [("Bed", "text"), ("Set", "text"), *((month, "time") for month in MONTHS)]
        pages.rows(sheet, row, [heads[i] for i in (0, 1, *wet)],
                   [tuple(line[i] for i in (0, 1, *wet)) for line in lines])  # fmt: skip


def _set_of(valve: str) -> str:
    """A bed's set as the timer program names it."""
    return f"Valve {valve}" if valve and valve[:5].casefold() != "valve" else valve


def _minutes(value: Any, least: float) -> Any:
    """What the season card says of a bed in a month."""
    if isinstance(value, float):
        return f"{value:.0f} *" if value > 0 and round(value) < least else _number(value)
    return {"fallow": "", "off": "off"}.get(value, UNKNOWN)


def _number(value: Any, otherwise: Any = "") -> Any:
    return value if isinstance(value, float) and value > 0 else otherwise


def _winter(pages: Pages) -> None:
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


def _plan(pages: Pages) -> None:
    """What the plan rests on and what came out, to be kept."""
    built = pages.built
    sheet, row = pages.sheet("Plan and assumptions", 4)
    money = f" {built.named('currency')}"
    lines = [(pages.sheet_of(built.names[s.name][0]), s.header,
              with_unit(s, value, pages.system) + (money if s.dimension == "money" else ""), s.help)
             for s in SETTINGS
             if (value := built.named(s.name)) not in (None, "") and not s.internal]  # fmt: skip
    heads = [("Sheet", "text"), ("What", "text"), ("Value", "text"), ("Meaning", "text")]
    pages.rows(sheet, row, heads, lines)
    if said := filed_rows(pages.findings):
        sheet, row = pages.sheet("What is wrong or doubtful", 3, lying=True)
        heads = [("It is", "text"), ("Where", "text"), ("What Checks says", "text")]
        pages.rows(sheet, row, heads, said)
    tables = {table.name: table for table in TABLES}
    for names in FILED:
        filled = {tables[name]: rows for name in names
                  if (rows := [r for r in built.rows(name)
                               if any(r[c.name] for c in tables[name].columns)])}  # fmt: skip
        short = sum(map(len, filled.values())) <= A_PAGE
        for number, (table, rows) in enumerate(filled.items()):
            if number == 0 or not short:
                title = ", ".join(
                    WORD.sub(r" \g<0>", t.name) for t in (filled if short else [table])
                )
                sheet, row = pages.sheet(title.capitalize(), len(table.columns), lying=True)
            columns = [c for c in table.columns if not c.internal]
            if pages.sheet_of(built.places[table.name].sheet) != WORKINGS:
                row = pages.words(sheet, row, 6, table.help)
            row = pages.rows(sheet, row, [(c.header, c.dimension) for c in columns],
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
    name: str,
    built: Built,
    system: str,
    paper: str,
    picture: Callable[[], Path],
    edition: str = ALL,
) -> tuple[bytes, list[str]]:
    """A set of pages as a workbook of values, what could not be in it; `picture` gives the map."""
    pages = Pages(built, system, paper, name, edition)
    if name == "field":
        _field(pages, picture().read_bytes())
    else:
        {"shop": _shopping, "winter": _winter, "file": _plan}[name](pages)
    if not pages.workbook.worksheets():  # nothing could be computed: Checks says why
        pages.sheet("Nothing to show", 6)
    return pages.done(SETS_OF_PAGES[name]), pages.missing
