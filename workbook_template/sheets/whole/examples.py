"""How many rows of a workbook are still those of the invented farm: no number rests on them."""

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import by_letters, in_row
from workbook_template.kit.inputs import invented_farm
from workbook_template.kit.page import Page
from xlfuncs.tables.all_tables import SETTINGS, TABLES

# By which columns a row is known for an invented one.
KNOWN_BY = {
    "Supplies": ("supply",), "HeadParts": ("part", "loss"), "Lines": ("line", "inside_diameter"),
    "Pipes": ("pipe", "inside_diameter"), "Beds": ("bed", "length"), "Prices": ("part", "price"),
    "Parts": ("part", "inlet"), "BedPlan": ("bed", "crop"),
}  # fmt: skip
SETTINGS_KNOWN = ("farm", "bucket_seconds", "static_pressure", "latitude", "site_elevation")


def words_on_examples(book: Book, page: Page) -> None:
    """How many of the prices, parts and lines that a sum rests on are still invented ones."""
    if book.edition.for_client:
        return
    sheets = ("Prices", "Lines", "Supply", "Connections")
    counted = "+".join(f'SUMIF(examples_sheet,"{sheet}",examples_there)' for sheet in sheets)
    number = book.name_formula("examples_bought", "Prices", counted)
    words = f'{number}&" prices, parts and lines behind these sums are still invented examples"'
    style = page.styles.result("text", strong=True)
    page.sheet.merge_range(page.row, 0, page.row, 4, "", style)
    page.formula(page.row, 0, f'IF({number}=0,"",{words})', "text", style=style)
    page.row += 1


def write_examples(book: Book, page: Page, top: int, col: int) -> int:
    """One row an invented row, with how often it is in the workbook; gives the last column."""
    rows = _invented(book)
    place = page.place("invented rows", len(rows), first=top, col=col)
    farm = invented_farm(book.system, [t for t in TABLES if t.name in KNOWN_BY], SETTINGS)
    marked = {name for name, own in farm.tables.items()
              if all(str(row.get("note", "")).startswith("Invented") for row in own)}  # fmt: skip
    page.heads("invented rows", top - 1)
    for number, (table, values) in enumerate(rows, top):
        own = dict(zip(("name", "value"), values, strict=False))
        if table in KNOWN_BY:
            there = ",".join(
                f"{book.column(table, column)},{{{cell}}}"
                for column, cell in zip(KNOWN_BY[table], own, strict=False)
            )
            if table in marked and "note" in book.headings[table]:  # cleared: the row is theirs
                there += f',{book.column(table, "note")},"Invented*"'
            sheet, formula = book.places[table].sheet, f"COUNTIFS({there})"
            first = book.column(table, KNOWN_BY[table][0])
            rows_at = book.places[table]
            head = rows_at.first - 1, rows_at.columns[KNOWN_BY[table][0]]
            below = f"MATCH({{name}},{first},0)"
        else:
            sheet, formula = book.names[table][0], f"IFERROR(IF({table}={{name}},1,0),0)"
            head, below = book.names[table][1:], "0"
        for key, text in {"table": table, "sheet": sheet, **own}.items():
            at = number, place.columns[key]
            if isinstance(text, str):
                page.text(*at, text, page.styles.aside)
            else:
                page.sheet.write_number(*at, text, page.styles.aside)
        cell = f"'{sheet}'!{xl_rowcol_to_cell(*head)}"
        where = f'IF(N({{there}})=0,"",ADDRESS(ROW({cell})+{below},COLUMN({cell}),4))'
        still = 'IF(N({there})=0,"",{sheet})'
        for key, own_formula, kind in (
            ("there", formula, "count"), ("cell", where, "text"), ("still", still, "text")
        ):  # fmt: skip
            text = in_row(by_letters(own_formula, place), number, top, "")
            page.formula(number, place.columns[key], text, kind, style=page.styles.aside)
    names = {"sheet": "examples_sheet", "there": "examples_there", "cell": "examples_cell",
             "still": "examples_still"}  # fmt: skip
    book.name_columns(place, names)
    return max(place.columns.values())


def _invented(book: Book) -> list[tuple[str, tuple[str | float, ...]]]:
    """The rows of the invented farm in this edition, by what they are known by."""
    known = [table for table in TABLES if table.name in KNOWN_BY]
    farm = invented_farm(book.system, known, SETTINGS)
    found: list[tuple[str, tuple[str | float, ...]]] = [
        (name, (farm.settings[name],))
        for name in SETTINGS_KNOWN
        if book.inputs.invented and name in farm.settings and book.has(name)
    ]
    for table, columns in KNOWN_BY.items():
        if table not in book.places or book.places[table].sheet in book.aside:
            continue
        rows = (tuple(row[c] for c in columns if c in row) for row in farm.tables[table])
        found += [(table, values) for values in dict.fromkeys(rows)]
    return found
