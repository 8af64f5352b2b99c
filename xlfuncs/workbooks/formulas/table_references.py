"""Structured references such as `Beds[[#This Row],[Length (ft)]]`, turned into areas."""

from xlfuncs.workbooks.formulas.origins import Moving
from xlfuncs.workbooks.formulas.parsing import UnreadableReference
from xlfuncs.xlsx.cell_references import Area
from xlfuncs.xlsx.contents import ExcelTable

_SECTIONS = {"#all", "#data", "#headers", "#totals", "#this row"}


def table_area(table: ExcelTable, inside: str, sheet: str, row: int) -> Area | None:
    """The area meant by `inside` (the text between the outer brackets, which may be empty).

    `sheet` and `row` are those of the formula's cell, for `#This Row`. None stands for #REF!.
    Raises UnreadableReference for an unknown column or form.
    """
    sections, columns = _parts(inside)
    rows = _rows(table, sections, sheet, row)
    if rows is None:
        return None
    first, last = _column_span(table, columns)
    kind = Moving if sections == {"#this row"} else Area
    return kind(table.area.sheet, rows[0], first, rows[1], last)


def data_rows(table: ExcelTable) -> tuple[int, int]:
    """First and last row between the header and the total row."""
    return table.area.first_row + table.header_rows, table.area.last_row - table.total_rows


def _rows(table: ExcelTable, sections: set[str], sheet: str, row: int) -> tuple[int, int] | None:
    top = table.area.first_row
    bottom = table.area.last_row
    data_top, data_bottom = data_rows(table)
    if sections == {"#this row"}:
        inside = sheet == table.area.sheet and data_top <= row <= data_bottom
        if not inside:
            raise UnreadableReference(f"#This Row of {table.name} from outside its rows")
        return row, row
    spans = {"#all": (top, bottom), "#data": (data_top, data_bottom),
             "#headers": (top, data_top - 1), "#totals": (data_bottom + 1, bottom)}  # fmt: skip
    if not sections <= spans.keys():
        raise UnreadableReference(f"a mix of parts of {table.name}: {sorted(sections)}")
    chosen = [spans[section] for section in sections or {"#data"}]
    if any(first > last for first, last in chosen):
        return None
    if sections == {"#headers", "#totals"}:
        raise UnreadableReference(f"headers with totals of {table.name}")
    return min(first for first, _ in chosen), max(last for _, last in chosen)


def _column_span(table: ExcelTable, columns: list[str]) -> tuple[int, int]:
    if not columns:
        return table.area.first_column, table.area.last_column
    lower = [name.lower() for name in table.columns]
    places = []
    for column in columns:
        if column.lower() not in lower:
            raise UnreadableReference(f"the table {table.name} has no column {column!r}")
        places.append(table.area.first_column + lower.index(column.lower()))
    return min(places), max(places)


def _parts(inside: str) -> tuple[set[str], list[str]]:
    """`[#This Row],[a]:[b]` -> ({'#this row'}, ['a', 'b']); `@a`, `a` and `` likewise."""
    sections: set[str] = set()
    text = inside.strip()
    if text.startswith("@"):
        sections.add("#this row")
        text = text[1:].strip()
    if not text:
        return sections, []
    if not text.startswith("["):
        if text.lower() in _SECTIONS:
            return {text.lower()}, []
        return sections, [_unquoted(text)]
    columns = []
    for item in _bracketed(text):
        if item.lower() in _SECTIONS:
            sections.add(item.lower())
        else:
            columns.append(_unquoted(item))
    if len(columns) > 2:
        raise UnreadableReference(f"more than two columns in [{inside}]")
    return sections, columns


def _bracketed(text: str) -> list[str]:
    """The items of `[a],[b]:[c]`; an apostrophe quotes the next character."""
    items: list[str] = []
    current: list[str] | None = None
    at = 0
    while at < len(text):
        letter = text[at]
        if current is None:
            if letter == "[":
                current = []
            elif letter not in ",: ":
                raise UnreadableReference(f"cannot read the table reference [{text}]")
        elif letter == "'" and at + 1 < len(text):
            current.append(text[at : at + 2])
            at += 1
        elif letter == "]":
            items.append("".join(current))
            current = None
        else:
            current.append(letter)
        at += 1
    return items


def _unquoted(text: str) -> str:
    """A column name without the apostrophes that quote special characters."""
    out = []
    at = 0
    while at < len(text):
        if text[at] == "'" and at + 1 < len(text):
            at += 1
        out.append(text[at])
        at += 1
    return "".join(out)
