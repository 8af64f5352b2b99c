"""Every cell that can warn: its words, of what kind they are, and where it is."""

from collections.abc import Iterator
from dataclasses import dataclass

from workbook_template.kit.book import Book
from workbook_template.kit.said import data
from workbook_template.sheets.garden.layout import LINE_ADVICE
from workbook_template.sheets.water.pressure import DELIVERY, PRESSURE_FINDINGS
from workbook_template.sheets.water.timer import SETS, UNFIT
from workbook_template.sheets.water.valves import VALVES
from xlfuncs.catalogue.findings.given import BLANK, DOUBTFUL, NOTE, WRONG
from xlfuncs.tables.all_tables import SETTINGS
from xlfuncs.tables.garden.head_assembly import ON_SETUP
from xlfuncs.tables.garden.this_week import CATCH_TESTS, FIELD_CHECKS
from xlfuncs.tables.money.prices import BACKFLOW
from xlfuncs.tables.settings import SECTIONS, SUPPLY
from xlfuncs.workbooks.checking.input_checks import OF_A_PLAN

DRY = 0.5  # share of its flow or minutes under which a bed is left dry (common practice)
TOO_HIGH = "Efficiency on Setup is above the uniformity that catch tests measured, "
SELDOM = "its root zone dries out between waterings; water more often"
# What a pressure finding is about, where it may burst a line or makes the flows unreliable.
GRAVE = ("pressure above range", "pressure below range", "solution")


# Settings within their limits that look like a slip (common practice, no published source).
ODD = (
    ("efficiency", "efficiency<0.4", "Efficiency: very low for drip; is it the decimal point?"),
    ("longest_run", "longest_run<5", "Longest run: very short for a timer; is it in hours?"),
    ("markup", "markup>2", "Markup: more than twice the cost is added; is it a percentage?"),
    ("quotation_date", "IFERROR(ABS(N(quotation_date)-N(plan_date)),0)>730",
     "Quotation date: years from the plan date; is it the year?"),
)  # fmt: skip
# Tables of which other sheets show every row, in as many rows as there were.
MIRRORED = ("Beds", "Lines", "Prices", "CountingRules", "QuotationLines", "HeadParts")
NAMED_IN_PLACE = 2  # times


@dataclass(frozen=True)
class Check:
    """A cell that can warn: the formula of the words ('' where there is nothing), and its place."""

    words: str
    sheet: str
    row: int
    col: int
    number: int = 0  # of its row in a table, which stands in the words as {n}
    key: str = ""  # what that row is called there, which stands in them as {key}
    kind: str = DOUBTFUL  # or a formula for it, which begins with =


def checks(book: Book) -> Iterator[Check]:
    for section in (*SECTIONS, BACKFLOW):
        for setting in section.settings:
            if setting.required and (setting.name not in OF_A_PLAN or book.edition.has("Beds")):
                blank = f'{setting.name}=""'
                if section is SUPPLY and book.has("supply_kind"):
                    kinds = (f'supply_kind="{kind}"' for kind in ON_SETUP)
                    blank = f"AND({blank},OR({','.join(kinds)}))"
                words = f'IF({blank},"{setting.header}{BLANK}","")'
                yield _at_name(book, setting.name, words, NOTE if section.may_wait else WRONG)
    for setting in SETTINGS:
        if setting.one_of and setting.name != "supply_used" and book.has(setting.name):
            name, of = setting.name, setting.one_of
            words = f'"{setting.header}: "&{name}&" is not among the {of[0]}"'
            unlisted = f'AND({name}<>"",COUNTIF({book.column(*of)},{name})=0)'
            yield _at_name(book, name, f'IF({unlisted},{words},"")', WRONG)
    for name, odd, words in ODD:
        yield _at_name(book, name, f'IF(AND(ISNUMBER({name}),{odd}),"{words}","")', DOUBTFUL)
    yield from _not_computed(book)
    yield from _beds(book)
    yield from _valves(book)
    yield from _plan(book)
    yield from _lines(book)
    yield from _pressure(book)
    yield from _parts(book)
    yield from _rules(book)
    yield from _prices(book)
    yield from _measured(book)
    for name, kind, words in (row.values() for row in data("checked.csv")):
        if kind:  # of a cell that counts what is wrong
            yield _at_name(book, name, f'IF(N({name})>0,"{words}: "&{name},"")', kind)
            continue
        said = f'IF({_of_input_check(name)},"{words}: "&{_plain(name)},"")'
        kind = f'=IF(ISNUMBER(SEARCH("nothing computed",{name})),"{DOUBTFUL}","{WRONG}")'
        yield _at_name(book, name, said, kind)


def _of_input_check(words: str) -> str:
    """Whether words begin with the name of a function, as those of INPUT_CHECK do."""
    return f'AND({words}<>"",EXACT(LEFT({words},4),UPPER(LEFT({words},4))))'


def _plain(words: str) -> str:
    """Such words without the name in front."""
    return f'MID({words},FIND(": ",{words})+2,400)'


def _at_name(book: Book, name: str, words: str, kind: str) -> Check:
    return Check(words, *book.names[name], kind=kind)


def _of(book: Book, table: str, *columns: str) -> list[str]:
    """The cells of some columns in a formula that stands for every row of a table."""
    named, place = table in book.headings, book.places[table]
    cells = (book.column(table, c) if named else place.reference(c) for c in columns)
    return [f"INDEX({column},{{n}})" for column in cells]


def _each(book: Book, table: str, column: str, words: str, kind: str = DOUBTFUL) -> Iterator[Check]:
    """The same words for every row of a table, of a cell in `column`.

    What the row is called, {key}, stands in a cell of its own where the words name it often.
    """
    place = book.places[table]
    (key,) = _of(book, table, next(iter(place.columns)))
    if (often := words.count("{key}")) <= NAMED_IN_PLACE:
        words = words.replace("{key}", key)
    key = f'IF({key}="","",{key})' if often > NAMED_IN_PLACE else ""
    for i in range(place.rows):
        at = place.sheet, place.first + i, place.columns[column]
        yield Check(words, *at, number=i + 1, key=key, kind=kind)


def _not_computed(book: Book) -> Iterator[Check]:
    """Tables and blocks with an error in a cell, and what was taken out of them.

    In place of a table's column that is gone Calc reads the next one, without an error.
    """
    again = "undo, or renew the workbook"
    for name, headings in book.headings.items():
        place, columns = book.places[name], list(headings)
        columns = columns[: len(columns) - len(book.own.columns.get(name, ()))]
        span = place.span(columns[0], columns[-1])
        fewer = f"COLUMNS({span})<{len(columns)}"
        words = _broken(span, "table", fewer, f"columns were taken out: {again}")
        at = place.sheet, place.first - 1, place.columns[columns[0]]
        yield Check(words, *at, kind=WRONG)
        cells = book.column(name, columns[0])
        rows, beyond = f"ROWS({cells})", f"INDEX({cells},{place.rows + 1})"
        fewer = f'{place.rows}-{rows}&" rows of the table were taken out since it was made"'
        yield Check(f'IF({rows}<{place.rows},{fewer},"")', *at, kind=NOTE)
        if name in MIRRORED:
            words = f"other sheets have room for {place.rows} rows; take out blank ones, or renew"
            full = f'IF({beyond}="","",{beyond}&": {words} the workbook")'
            yield Check(f'IF({rows}>{place.rows},{full},"")', *at, kind=WRONG)
    for place in book.sections.values():
        lost = f"COUNTA({place.reference('label')})<{place.rows}"
        words = f'IF({lost},"settings were taken out: {again}","")'
        yield Check(words, place.sheet, place.first - 1, place.columns["label"], kind=WRONG)
    for place in book.grids:
        lost = f"COUNTA({place.reference('counted')})<{place.rows}"
        said = f"rows of the block were taken out: {again}"
        at = place.sheet, place.first - 1, place.columns["first"]
        yield Check(_broken(place.span("first", "last"), "block", lost, said), *at, kind=WRONG)


def _broken(span: str, what: str, lost: str, said: str) -> str:
    """The words of cells that show an error, and those of what was lost."""
    errors = f"SUMPRODUCT(1*ISERROR({span}))"
    return f'IF({errors}>0,{errors}&" cells of the {what} show an error",IF({lost},"{said}",""))'


def _beds(book: Book) -> Iterator[Check]:
    bed, counted, fill, said, readable = _of(
        book, "Beds", "bed", "counted", "fill_check", "check", "readable"
    )
    words = f'IF(AND({readable}<>"ok",{said}={readable},{bed}<>""),{bed}&": "&{said},"")'
    yield from _each(book, "Beds", "check", words, WRONG)
    words = f'IF(OR({fill}="",{fill}="ok"),"",{bed}&": "&{_plain(fill)})'
    yield from _each(book, "Beds", "bed", words)  # the words are folded away
    words = f'IF(AND({bed}<>"",{counted}=""),{bed}&": is not computed: copy the computed columns'
    yield from _each(book, "Beds", "counted", f'{words} from another row","")', WRONG)


def _valves(book: Book) -> Iterator[Check]:
    """Beds that get too little or too much of the minutes of the valve that they share: as they
    are laid, and by what their crops want in the timer's month; and those that get none. What
    leaves a bed dry on Pressure does so here."""
    by_lines, by_crop, share = _of(book, VALVES, "said_by_plan", "said_of_month", "share")
    kind = f'=IF(IF(N({share})>0,{share},1)<{DRY},"{WRONG}","{DOUBTFUL}")'
    yield from _each(book, "Beds", "valve", f'IF({by_lines}="",{by_crop},{by_lines})', kind)
    named, beds, notes = _of(book, SETS, "set", "names", "notes")
    unfit = f'ISNUMBER(SEARCH("{UNFIT}",{notes}))'
    words = f'IF({unfit},{named}&": "&{notes}&" for "&{beds},"")'
    yield from _each(book, SETS, "notes", words, WRONG)


def _plan(book: Book) -> Iterator[Check]:
    columns = ("bed", "crop", "doubt", "often_enough")
    bed, crop, doubt, often = _of(book, "BedPlan", *columns)
    words = f'IF({doubt}="","",{bed}&", "&{crop}&": "&{doubt})'
    yield from _each(book, "BedPlan", "check", words)
    words = f'IF(LEFT({often},2)="no",{bed}&", "&{crop}&": {SELDOM}","")'
    yield from _each(book, "BedPlan", "often_enough", words)


def _measured(book: Book) -> Iterator[Check]:
    """What was measured last and is not as planned."""
    yield _at_name(book, "efficiency_fits", f'IF(efficiency_fits="no","{TOO_HIGH}"&'
                   'TEXT(uniformity_of_catch_tests,"0.00")&": the driest plants get less","")',
                   DOUBTFUL)  # fmt: skip
    for table, of_what in ((FIELD_CHECKS.name, ": "), (CATCH_TESTS.name, ", evenness ")):
        (said,) = _of(book, table, "finding")
        words = f'IF({said}="","",{{key}}&"{of_what}"&{said})'
        yield from _each(book, table, "words", words)


def _lines(book: Book) -> Iterator[Check]:
    """Lines that do not suit the soil, where a bed has them."""
    used = book.column("Beds", "line")
    advice, reason = _of(book, LINE_ADVICE, "advice", "reason")
    words = f'IF(AND(LEFT({advice},3)="too",COUNTIF({used},{{key}})>0),{{key}}&" "&{reason},"")'
    yield from _each(book, LINE_ADVICE, "advice", words)


def _pressure(book: Book) -> Iterator[Check]:
    checked, words = _of(book, PRESSURE_FINDINGS, "checked", "words")
    stopped = 'IF(N(parts_stopped)>0,"head assembly|","")'  # as Supply's own line
    grave = f'SEARCH("|"&{checked}&"|","|{"|".join(GRAVE)}|"&{stopped})'
    kind = f'=IF(ISNUMBER({grave}),"{WRONG}","{DOUBTFUL}")'
    yield from _each(book, PRESSURE_FINDINGS, "words", f'IF({words}="","",{words})', kind)
    bed, share = _of(book, DELIVERY, "bed", "share")
    dry = f'{bed}&": gets "&TEXT({share},"0%")&" of its planned flow and is left dry"'
    words = f'IF(ISNUMBER({share}),IF({share}<{DRY},{dry},""),"")'
    yield from _each(book, DELIVERY, "share", words, WRONG)


def _parts(book: Book) -> Iterator[Check]:
    (fault,) = _of(book, "Parts", "fault")
    words = f'IF(OR({fault}="",{fault}="ok"),"",{{key}}&": "&{fault})'
    yield from _each(book, "Parts", "fault", words)


def _rules(book: Book) -> Iterator[Check]:
    """Lines and pipes of the beds that no counting rule counts: the shopping list lacks them."""
    parts, only, by = (
        book.column("CountingRules", name) for name in ("part", "only_line", "counted_by")
    )
    laid, manifold, laterals = (
        book.column("Beds", name) for name in ("laid", "manifold_pipe", "laterals")
    )
    counted = f'COUNTIFS({laid},"yes",{manifold},"",{laterals},">1")'
    without = book.name_formula(
        "beds_without_manifold", book.places["CountingRules"].sheet,
        f'IF(COUNTIF({by},"manifold length")>0,{counted},0)',
    )  # fmt: skip
    words = f'IF({without}>0,{without}&" beds of several lines have no manifold pipe: tees and'
    words += " drain ends for one are on the shopping list, but no pipe; choose it, or leave those"
    words += ' parts unbought","")'
    place = book.places["Beds"]
    yield Check(words, place.sheet, place.first - 1, place.columns["manifold_pipe"])
    used = book.column("Beds", "line")
    (kind,) = _of(book, "Lines", "kind")
    for_all = book.name_formula(
        "rules_for_all", book.places["CountingRules"].sheet,
        f'COUNTIFS({only},"",{by},"line")',
    )  # fmt: skip
    rules = f"COUNTIF({only},{{key}})+COUNTIF({only},{kind})+{for_all}=0"
    words = f'IF(AND({{key}}<>"",COUNTIF({used},{{key}})>0,{rules}),'
    words += '{key}&": no counting rule is for it; its connectors and ends are not counted","")'
    yield from _each(book, "Lines", "line", words)
    of_beds = (book.column("Beds", name) for name in ("main_pipe", "manifold_pipe"))
    mains = (f"COUNTIF({pipes},{{key}})" for pipes in of_beds)
    words = f'IF({{key}}="","",IF(AND({"+".join(mains)}>0,COUNTIF({parts},{{key}})=0),'
    words += '{key}&": leads to beds, but no counting rule counts it",""))'
    yield from _each(book, "Pipes", "pipe", words)


def _prices(book: Book) -> Iterator[Check]:
    (doubt,) = _of(book, "Prices", "doubt")
    words = f'IF({doubt}="","",{{key}}&": "&{doubt})'
    yield from _each(book, "Prices", "age", words)
