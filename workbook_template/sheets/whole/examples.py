"""How many rows of a workbook are still those of the invented farm, and which the plan uses."""

from collections.abc import Iterable

from xlsxwriter.utility import xl_rowcol_to_cell

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import by_letters, in_row
from workbook_template.kit.inputs import invented_farm
from workbook_template.kit.page import Page
from workbook_template.sheets.money.prices import AT_INVENTED, INVENTED
from xlfuncs.tables.all_tables import SETTINGS, TABLES

# By which columns a row is known for an invented one.
KNOWN_BY = {
    "Supplies": ("supply",), "HeadParts": ("part",), "Lines": ("line", "inside_diameter"),
    "Pipes": ("pipe", "inside_diameter"), "Beds": ("bed", "length"), "Prices": ("part", "price"),
    "Parts": ("part", "inlet"), "BedPlan": ("bed", "crop"),
}  # fmt: skip
# Of a part of the head assembly any number may be typed over: it is known by their sum too.
SUMMED = ("loss", "preset", "least_flow", "greatest_flow")
# In which columns a row is used by what is laid; a price is where it is bought, all else always.
USED_IN = {"Lines": ("line",), "Pipes": ("main_pipe", "manifold_pipe")}
SETTINGS_KNOWN = ("farm", "bucket_seconds", "static_pressure", "latitude", "site_elevation")


def words_on_examples(book: Book, page: Page) -> None:
    """How many rows that a sum rests on are still invented ones: not only those of prices."""
    if book.edition.for_client:
        return
    sheets = ("Prices", "Lines", "Supply", "Connections")
    counted = "+".join(f'SUMIF(examples_sheet,"{sheet}",examples_used)' for sheet in sheets)
    number = book.name_formula("examples_bought", "Prices", counted)
    words = f'{number}&" rows behind these sums are still invented examples: Start says where"'
    style = page.styles.result("text", strong=True)
    page.sheet.merge_range(page.row, 0, page.row, 4, "", style)
    page.formula(page.row, 0, f'IF({number}=0,"",{words})', "text", style=style)
    page.row += 1


def _counted(book: Book, table: str, own: Iterable[str], marked: bool) -> tuple[str, str]:
    """Formulas for how many rows of a table are still an example, and how many are used, by what
    is known of it (its `own` name, value); `marked`: the examples have a note until it is cleared.
    """
    there = ",".join(f"{book.column(table, column)},{{{cell}}}"
                     for column, cell in zip(KNOWN_BY[table], own, strict=False))  # fmt: skip
    if table == "Prices":  # the source typed over: the row is theirs
        there += f',{book.column(table, "source")},"*{INVENTED}*"'
    elif marked and "note" in book.headings[table]:  # cleared: so too
        there += f',{book.column(table, "note")},"Invented*"'
    formula, used = f"COUNTIFS({there})", "{there}"
    if table == "Supplies":  # the example beside the tap of Setup, which is in use where none is
        used = "IF(supply_used={name},{there},0)"
    if table == "HeadParts":
        cells = {c: book.column(table, c) for c in ("part", *SUMMED)}
        alike = f"ABS({'+'.join(cells[c] for c in SUMMED)}-{{value}})<0.0001"
        formula = f"SUMPRODUCT(({cells['part']}={{name}})*({alike}))"
        # Text such as 0.7 bar has no sum: then each counts until its note is cleared.
        formula = f"IF(COUNTIFS({there})=0,0,IFERROR({formula},1))"
    if table == "Prices":
        used = f'COUNTIFS({there},{book.column(table, "bought")},"{AT_INVENTED}")'
    elif table in USED_IN and "Beds" in book.places:
        laid = (f"COUNTIF({book.column('Beds', c)},{{name}})" for c in USED_IN[table])
        used = f"IF({'+'.join(laid)}>0,{{there}},0)"
    return formula, used


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
            formula, used = _counted(book, table, own, table in marked)
            sheet = book.places[table].sheet
            first = book.column(table, KNOWN_BY[table][0])
            rows_at = book.places[table]
            head = rows_at.first - 1, rows_at.columns[KNOWN_BY[table][0]]
            below = f"MATCH({{name}},{first},0)"
        else:
            sheet, formula = book.names[table][0], f"IFERROR(IF({table}={{name}},1,0),0)"
            used = "{there}"
            head, below = book.names[table][1:], "0"
        for key, text in {"table": table, "sheet": sheet, **own}.items():
            at = number, place.columns[key]
            if isinstance(text, str):
                page.text(*at, text, page.styles.aside)
            else:
                page.sheet.write_number(*at, text, page.styles.aside)
        cell = f"'{sheet}'!{xl_rowcol_to_cell(*head, row_abs=True, col_abs=True)}"
        where = f'IF(N({{used}})=0,"",ADDRESS(ROW({cell})+{below},COLUMN({cell}),4))'
        still = 'IF(N({used})=0,"",{sheet})'
        for key, own_formula, kind in (
            ("there", formula, "count"), ("used", used, "count"), ("cell", where, "text"),
            ("still", still, "text"),
        ):  # fmt: skip
            text = in_row(by_letters(own_formula, place), number, top, "")
            page.formula(number, place.columns[key], text, kind, style=page.styles.aside)
    book.name_columns(place, {column: f"examples_{column}" for column in place.columns})
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
        if table == "HeadParts":
            rows = ((row["part"], sum(row.get(c, 0.0) for c in SUMMED))
                    for row in farm.tables[table])  # fmt: skip
        found += [(table, values) for values in dict.fromkeys(rows)]
    return found
