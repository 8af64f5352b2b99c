"""Start: the answers, then what to fill in, in the order of the tabs, and what is missing."""

from collections.abc import Iterable, Mapping

from workbook_template.kit.book import Book, Values
from workbook_template.kit.declared import BOOKKEEPER, CONSULTANT, GROWER, Edition, SheetFor
from workbook_template.kit.page import Page
from workbook_template.kit.said import data, said
from workbook_template.sheets.order import declared_sheets
from workbook_template.sheets.water.pressure import DELIVERY
from workbook_template.sheets.water.timer import SETS
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, NOTE, WRONG
from xlfuncs.tables.columns import Column
from xlfuncs.tables.garden.timer import TIMER
from xlfuncs.tables.money.prices import BACKFLOW

SHEETS = (
    SheetFor("Start",
             "Yellow, framed cells are yours to fill in; the rest is computed. A click on a name"
             " leads there.", (GROWER, CONSULTANT, BOOKKEEPER)),
)  # fmt: skip

# Where nothing is missing, wrong or doubtful; no plan that rests on examples is ready.
READY = 'IF(SUM(examples_used)>0,"nothing missing, ","ready, ")'
WORDS_AT = 9  # column of the state's words, behind what it counts; all this is folded
ALSO = 10  # column of the links to sheets that are read together with one


def _found(kind: str, more: str = "") -> str:
    return f'COUNTIFS(findings_sheet,{{sheet}},findings_kind,"{kind}"{more})'


_BLANK = f',findings_words,"*{BLANK}"'
# What a state counts, by the words that follow the number; what is blank is missing, not wrong.
COUNTED = (
    ("missing", f"MAX({{missing}},{_found(WRONG, _BLANK)})"),
    ("of the example", "SUMIF(examples_sheet,{sheet},examples_used)"),
    ("wrong", f"{_found(WRONG)}-{_found(WRONG, _BLANK)}"),
    ("doubtful", _found(DOUBTFUL)),
    ("may wait", f"MAX({{later}},{_found(NOTE, _BLANK)})"),
)
GARDEN, BOOKS = "Your garden as it is", "Your books"  # parts of the work, of which one is there
STATELESS = "Functions"  # of which nothing can be missing or wrong
SAID = said("start")
ANSWERS = (  # what a person wants to know first: a label, the sheet that says more
    ("What to buy", "Purchase"), ("Sets", "Timer"), ("Minutes by Timer", "Timer"),
    ("Driest bed", "Pressure"), ("Year explained", "Years"), ("What is wrong", "Checks"),
)  # fmt: skip


def _blanks(book: Book, settings: Iterable[Column]) -> str:
    """How many of the settings that are required are still blank."""
    asked = (s.name for s in settings if s.required and book.has(s.name))
    return "+".join(f'IF({name}="",1,0)' for name in asked)


def _missing(book: Book) -> dict[str, str]:
    """Formulas for how many things are still missing on a sheet, where any are asked there."""
    lines, beds = book.column("Lines", "line"), book.column("Beds", "bed")
    return {
        "Setup": "0", "Checks": "0",
        "Supply": 'IF(head_state="ok",0,1)',
        "Lines": f"IF(COUNTA({lines})=0,1,0)",
        "Beds": f"IF(COUNTA({beds})=0,1,0)",
        "Pressure": 'IF(pressure_state="ok",beds_not_solved,1)',
        "Connections": _blanks(book, BACKFLOW.settings),
        "Purchase": 'IF(purchase_check="ok",0,1)',
        "Plan": "0", "Weather": "IF(weather_months=0,0,12-weather_months)",
        "Timer": _blanks(book, TIMER.settings),
        "Ledger": "entries_to_correct",
        "Years": 'IF(OR(years_check="ok",years_check="The ledger is empty"),0,1)',
    }  # fmt: skip


def _answers(book: Book) -> tuple[str, ...]:
    """The formulas of the answers."""
    sets, beds = book.places[SETS], book.places[DELIVERY]
    minutes, shares = sets.reference("entered"), beds.reference("share")
    driest = book.name_formula(
        "driest_bed", "Pressure", f"INDEX({beds.reference('bed')},MATCH(least_share,{shares},0))"
    )
    least = 'TEXT(100*least_share,"0")&"%"'
    enough = f'"every bed gets its planned flow; the least, "&{driest}&", "&{least}'
    dry = f'{driest}&" gets "&{least}&" of its planned flow"'
    book.name_formula("flow_in_words", "Pressure", f"IF(ROUND(least_share,2)<1,{dry},{enough})")
    cost = book.name_formula(
        "cost_in_words",
        "Purchase",
        'TEXT(IF(N(cost_of_priced)>0,cost_of_priced,cost_of_parts),"#,##0.00")&" "&currency',
    )
    less = ""
    if "Designs" in book.edition.shown:
        saved = 'IF(N(cheapest_saves)<1,"","; "&TEXT(cheapest_saves,"#,##0")&" less: see Designs")'
        less = "&" + book.name_formula("less_in_words", "Designs", saved)
    least_minutes, most_minutes = (f'TEXT({end}({minutes}),"0")' for end in ("MIN", "MAX"))
    return (
        (f'IF(N(cost_of_priced)>0,{cost}&" without parts that have no price: see State there",'
         f'IF(N(cost_of_parts)=0,"not known yet",{cost}&'
         '", tax and delivery included; "&rolls_in_all&IF(rolls_in_all=1," roll"," rolls")&'
         f'" of line"{less}))'),
        ('IF(number_of_sets=0,"not known yet",number_of_sets&'
         'IF(number_of_sets=1," set, "," sets, ")&'
         'TEXT(hours_of_sets,"0.0")&" h per watering; a set opens "&'
         'LEFT(sets_opened,FIND(":",sets_opened&":")-1))'),
        (f'IF(timer_state<>"ok",timer_state,IF({least_minutes}={most_minutes},"",'
         f'{least_minutes}&" to ")&{most_minutes}&" min per set, "&watering_days&" days a week")'),
        ('IF(N(least_share)=0,"not known yet",flow_in_words&IF(N(beds_with_too_little)=0,"",'
         '"; beds with too few minutes of their valve: "&beds_with_too_little&" (see Checks)"))'),
        ('IF(compared_year="",years_check,compared_year&"; entries to correct: "&'
         "entries_to_correct)"),
        ('checks_missing&" to fill in; "&(checks_wrong-checks_missing)&" wrong; "&'
         'checks_doubtful&" doubtful"'),
    )  # fmt: skip


def answers_of(values: Values, edition: Edition) -> list[str]:
    """The answers at its top, a line each, from the computed workbook."""
    labels = [label for label, sheet in ANSWERS if sheet in edition.shown]
    said = [words for (_, col), words in sorted(values["Start"].items()) if col == 3]
    return [f"{label}: {words}" for label, words in zip(labels, said, strict=False)]


def _steps(book: Book, left_out: str) -> list[dict[str, str]]:
    """The steps for the sheets that are shown; a sheet that none names comes after its neighbor."""
    steps = [step for step in data("steps.csv") if step["part"] != left_out]
    place = 0
    for name, sheet in declared_sheets().items():
        named = [i for i, step in enumerate(steps, 1) if name in (step["sheet"], step["also"])]
        if not named and name != SHEETS[0].name:
            what, part = sheet.words.split(". ")[0].rstrip("."), steps[max(place - 1, 0)]["part"]
            steps.insert(place, {"part": part, "sheet": name, "what": what, "also": ""})
        place = named[0] if named else place + 1
    return [step for step in steps if step["sheet"] in book.edition.shown]


def write(book: Book) -> None:
    page = Page(
        book, SHEETS[0], title=str(book.inputs.settings.get("farm") or "How to start"),
        widths=(4, 14, 60, 49), upright=True,
    )  # fmt: skip
    plan = book.edition.has("Beds")  # and not books alone
    if plan and not book.inputs.invented:
        page.text(page.row - 1, 0, SAID.examples, page.styles.aside)
        page.row += 1
    steps = _steps(book, BOOKS if plan else GARDEN)
    also = any(step["also"] in book.edition.shown for step in steps)
    last = ALSO if also else 3
    book.name_formula("all_there", page.name, READY)
    page.section("Answers", columns=last + 1)
    for (label, sheet), words in zip(ANSWERS, _answers(book), strict=True):
        if sheet in book.edition.shown:
            page.sheet.merge_range(page.row, 0, page.row, 1, "", page.styles.link_words)
            _link(page, 0, sheet, label)
            page.formula(page.row, 2, words, "text", strong=True)
            page.row += 1
    page.row += 1
    headers = ("No.", "Sheet", "What to do there", "State", *(column for column, _ in COUNTED))
    page.headers(headers)
    if also:
        page.text(page.row - 1, ALSO, "See too", page.styles.header)
    missing, part = _missing(book), ""
    later = {"Plan": f"IF(COUNTA({book.column('BedPlan', 'bed')})=0,1,0)",
             "Weather": "IF(weather_months=0,1,0)"}  # fmt: skip
    for number, step in enumerate(steps, 1):
        if step["part"] != part:
            page.section(part := step["part"], columns=last + 1)
        if step["also"] in book.edition.shown:
            _link(page, ALSO, step["also"], step["also"])
        name = step["sheet"]
        _row(page, number, step, missing.get(name, ""), later.get(name, "0"))
    page.row += 1
    if plan:
        page.cautions()
    page.sheet.print_area(0, 0, page.row, last)
    page.sheet.set_column(4, WORDS_AT, 10, None, {"level": 1, "hidden": True})
    book.put_in_order([page.name, *(step[name] for step in steps for name in ("sheet", "also"))])


def _link(page: Page, col: int, sheet: str, words: str) -> None:
    page.sheet.write_url(page.row, col, page.leads_to(sheet), page.styles.link_words, words)


def _row(page: Page, number: int, step: Mapping[str, str], missing: str, later: str) -> None:
    """A step with its state: what is missing, invented, wrong or doubtful, and a link to it."""
    page.sheet.write_number(page.row, 0, number, page.styles.label)
    name = step["sheet"]
    _link(page, 1, name, name)
    page.text(page.row, 2, step["what"])
    if name != STATELESS:
        row = page.row + 1
        sheet = '"?*"' if name == "Checks" else f"$B{row}"
        for col, (_, formula) in enumerate(COUNTED, 4):
            counted = formula.format(sheet=sheet, missing=missing or "0", later=later)
            page.formula(page.row, col, counted, "count", style=page.styles.aside)
        at = f'IFERROR(" (at "&INDEX(examples_cell,MATCH(B{row},examples_still,0))&")","")'
        more = {"F": f'"&{at}&", '} if name != "Checks" else {}
        parts = (f'IF({c}{row},{c}{row}&" {words}{more.get(c, ", ")}","")'
                 for c, (words, _) in zip("EFGHI", COUNTED, strict=True))  # fmt: skip
        ready = "all_there" if missing else '", "'
        said = f"IF(SUM(E{row}:I{row}),{'&'.join(parts)},{ready})"
        page.remark(page.row, WORDS_AT, said)
        target = f"INDEX(findings_target,INDEX(shown_findings,MATCH($B{row},shown_sheets,0)))"
        first = f'IFERROR({target},"{page.leads_to(name).replace("internal:", "#")}")'
        shown = f"LEFT($J{row},LEN($J{row})-2)"
        page.formula(page.row, 3, f"HYPERLINK({first},{shown})", "text",
                     style=page.styles.link_words)  # fmt: skip
        page.sheet.conditional_format(
            page.row, 3, page.row, 3,
            {"type": "formula", "criteria": f"=SUM($E${row}:$H${row})>0",
             "format": page.styles.emphasis},
        )  # fmt: skip
    page.row += 1
