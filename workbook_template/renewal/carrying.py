"""Writing own sheets and columns into a new workbook."""

from typing import Any

from workbook_template.kit.book import Book
from workbook_template.kit.formulas import Place
from workbook_template.kit.own import Own, OwnCell, OwnSheet
from workbook_template.kit.worksheet import TemplateSheet
from workbook_template.renewal.moved import Lost, Moved
from xlfuncs.xlsx.cell_references import cell_name, parse_area


def carry(book: Book, own: Own, moved: Moved) -> None:
    """Put all of it in; what changes on the way is added to the words of `own`."""
    for sheet in own.sheets:
        _sheet(book, sheet, own, moved)
    for name, text in own.names.items():
        book.workbook.define_name(name, "=" + text)
    for table, columns in own.columns.items():
        place, old = book.places[table], moved.tables[table.lower()]
        sheet = book.workbook.sheetnames.get(place.sheet)
        if sheet is None:
            own.words.append(f"your columns of {table}, which is not in this edition")
            continue
        for column in columns:
            for row, cell in enumerate(column.cells[: place.rows], place.first):
                where = (sheet, row, place.columns[column.name])
                _put(book, where, cell, (own, moved, old.sheet))
            sheet.set_column(where[2], where[2], column.width)


def _sheet(book: Book, sheet: OwnSheet, own: Own, moved: Moved) -> None:
    if sheet.name in book.workbook.sheetnames:
        own.words.append(f"your sheet {sheet.name}: the template has one of that name now")
        return
    page = book.workbook.add_worksheet(sheet.name, worksheet_class=TemplateSheet)
    for column, width in sheet.widths.items():
        page.set_column(column - 1, column - 1, width)
    for row, height in sheet.heights.items():
        page.set_row(row - 1, height)
    for merged in sheet.merged:
        area = parse_area(merged, "")
        if area is not None:
            page.merge_range(area.first_row - 1, area.first_column - 1, area.last_row - 1,
                             area.last_column - 1, "")  # fmt: skip
    for (row, column), cell in sheet.cells.items():
        _put(book, (page, row - 1, column - 1), cell, (own, moved, sheet.name))
    for name, reference in sheet.tables.items():
        _table(book, page, name, reference, sheet)
    if sheet.frozen:
        page.freeze_panes(*sheet.frozen)
    if sheet.landscape:
        page.set_landscape()
    if sheet.hidden and not book.edition.for_client:  # who asked for it
        page.hide()


def _table(book: Book, page: Any, name: str, reference: str, sheet: OwnSheet) -> None:
    area = parse_area(reference, "")
    if area is None or name in book.headings:
        return
    columns = range(area.first_column, area.last_column + 1)
    headers = [str(sheet.cells[area.first_row, column].value) for column in columns]
    page.add_table(reference, {"name": name, "columns": [{"header": h} for h in headers]})
    book.headings[name] = {header: header for header in headers}
    book.places[name] = Place(
        sheet.name, area.first_row, area.last_row - 1,
        {header: column - 1 for header, column in zip(headers, columns, strict=True)},
    )  # fmt: skip


def _put(
    book: Book, where: tuple[Any, int, int], cell: OwnCell, origin: tuple[Own, Moved, str]
) -> None:
    """One cell; a formula that cannot be written for the new workbook leaves its value."""
    page, row, col = where
    own, moved, old_sheet = origin
    style = book.workbook.add_format(dict(cell.look)) if cell.look else None
    if cell.comment and book.edition.for_client:
        own.words.append(f"the comment at {page.get_name()}!{cell_name(row + 1, col + 1)}")
    elif cell.comment:
        page.write_comment(row, col, cell.comment)
    if cell.formula:
        place = f"{page.get_name()}!{cell_name(row + 1, col + 1)}"
        try:
            page.put_formula(row, col, moved.formula(cell.formula, old_sheet), style)
            book.own_cells[page.get_name(), row + 1, col + 1] = cell.value
            return
        except Lost as why:
            if book.edition.for_client:  # the value may be a cost, or rest on one
                own.lost[page.get_name(), row + 1, col + 1] = str(why)
                page.write_blank(row, col, None, style)
                return
            own.words.append(f"your formula at {place}, now its value: ={cell.formula} ({why})")
    if cell.value is None:
        page.write_blank(row, col, None, style)
    elif isinstance(cell.value, bool):
        page.write_boolean(row, col, cell.value, style)
    elif isinstance(cell.value, float):
        page.write_number(row, col, cell.value, style)
    else:
        page.write_string(row, col, str(cell.value), style)
