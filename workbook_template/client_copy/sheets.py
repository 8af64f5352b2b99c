"""One worksheet part of the client's copy, written afresh from a kept sheet.

Only the elements named here come along, in the order that the standard asks for
(ECMA-376 part 1, 18.3.1.99): no comments, printer settings, filters, scenarios, controls, custom
views, links to the outside or extension lists. Tables become plain cells.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from workbook_template.client_copy.cells import CopyCell
from workbook_template.client_copy.markup import (
    HEAD,
    MAIN,
    Element,
    child,
    children,
    main_xml,
    tag,
    text,
)
from workbook_template.client_copy.scope import Scope
from workbook_template.client_copy.styles import CopyStyles
from xlfuncs.workbooks.formulas.formula_cells import Position
from xlfuncs.xlsx.cell_references import (
    MAX_COLUMN,
    cell_name,
    parse_area,
    split_sheet,
)
from xlfuncs.xlsx.contents import Sheet
from xlfuncs.xlsx.package import RELATIONSHIPS
from xlfuncs.xlsx.sheet_edits import value_xml

PROTECTION = {
    "sheet": "1", "objects": "1", "scenarios": "1", "formatColumns": "0", "formatRows": "0",
}  # fmt: skip
_VIEW = ("showGridLines", "showZeros", "zoomScale", "zoomScaleNormal", "rightToLeft")
_PAGE = (
    "paperSize", "orientation", "fitToWidth", "fitToHeight", "scale", "pageOrder",
    "firstPageNumber", "useFirstPageNumber", "horizontalDpi", "verticalDpi",
)  # fmt: skip
_PICTURE_CODE = re.compile("&G")


@dataclass(frozen=True)
class SheetJob:
    """What the writing of a sheet needs beside the sheet itself."""

    scope: Scope
    cells: dict[Position, CopyCell]
    styles: CopyStyles
    formula: Callable[[CopyCell], str]  # '' for a plain value
    checked: Callable[[Sheet, str], bool]  # whether a rule's formula rests on kept cells only
    protect: bool = False


def sheet_xml(job: SheetJob, sheet: Sheet, *, first: bool, drawing: bool) -> bytes:
    """The part of a kept sheet; a drawing hangs on rId1."""
    root = job.scope.tree(sheet)
    rows, used = _rows(job, sheet, root)
    pieces = [
        _properties(root), _views(root, first), _plain(root, "sheetFormatPr"),
        _columns(job, sheet, root, used), tag("sheetData", None, rows),
        tag("sheetProtection", PROTECTION) if job.protect else "",
        _merges(job, sheet, root), _conditional(job, sheet, root), _validations(job, sheet, root),
        _hyperlinks(job, sheet, root), _plain(root, "printOptions"), _plain(root, "pageMargins"),
        _page(root), _header_footer(root), _plain(root, "rowBreaks"), _plain(root, "colBreaks"),
        tag("drawing", {"r:id": "rId1"}) if drawing else "",
    ]  # fmt: skip
    spaces = {"xmlns": MAIN, "xmlns:r": RELATIONSHIPS}
    return (HEAD + tag("worksheet", spaces, "".join(pieces))).encode()


def cell_xml(row: int, column: int, style: str, cell: CopyCell | None, formula: str) -> str:
    """One `<c>` element."""
    attributes = {"r": cell_name(row, column)} | ({"s": style} if style else {})
    if cell is None or (cell.value is None and not formula):
        return tag("c", attributes)
    kind, shown = value_xml(cell.value)
    if formula:
        inside = tag("f", None, text(formula)) + f"<v>{shown}</v>"
        return tag("c", attributes | ({"t": kind} if kind != "n" else {}), inside)
    if kind == "str":
        inside = tag("is", None, f'<t xml:space="preserve">{shown}</t>')
        return tag("c", attributes | {"t": "inlineStr"}, inside)
    return tag("c", attributes | ({"t": kind} if kind != "n" else {}), f"<v>{shown}</v>")


def _rows(job: SheetJob, sheet: Sheet, root: Element) -> tuple[str, set[int]]:
    """The rows, and the columns in which anything is left."""
    stored = {(c.row, c.column): c for c in job.scope.contents.scan(sheet).cells}
    places = set(stored) | {place[1:] for place in job.cells if place[0] == sheet.name}
    by_row: dict[int, list[int]] = {}
    emptied: set[int] = set()
    used: set[int] = set()
    for row, column in sorted(places):
        if job.scope.is_gone(sheet.name, row, column):
            emptied.add(row)
        else:
            by_row.setdefault(row, []).append(column)
            if (sheet.name, row, column) in job.cells or not job.scope.clears(sheet.name, column):
                used.add(column)
    given = {int(r.get("r", "0")): r for r in root.iterfind(f"{{{MAIN}}}sheetData/{{{MAIN}}}row")}
    out = []
    for row in sorted(given.keys() | by_row.keys()):
        attributes = {k: v for k, v in given[row].attrib.items() if k != "spans"} if (
            row in given
        ) else {"r": str(row)}  # fmt: skip
        if row in emptied and row not in by_row:
            attributes["hidden"] = "1"  # nothing is left in it
        cells = []
        for column in by_row.get(row, ()):
            place = (sheet.name, row, column)
            old, cell = stored.get((row, column)), job.cells.get(place)
            style = old.style if old is not None else ""
            if place in job.scope.costs:
                style = job.styles.as_price(style)
            formula = job.formula(cell) if cell is not None else ""
            cells.append(cell_xml(row, column, style, cell, formula))
        out.append(tag("row", attributes, "".join(cells)))
    return "".join(out), used


def _properties(root: Element) -> str:
    element = child(root, "sheetPr")
    if element is None:
        return ""
    return tag("sheetPr", None, "".join(main_xml(c) for c in element))


def _views(root: Element, first: bool) -> str:
    view = next(iter(root.iter(f"{{{MAIN}}}sheetView")), None)
    attributes = {k: view.attrib[k] for k in _VIEW if k in view.attrib} if view is not None else {}
    attributes |= {"tabSelected": "1"} if first else {}
    pane = child(view, "pane") if view is not None else None
    inside = main_xml(pane) if pane is not None else ""
    return tag("sheetViews", None, tag("sheetView", attributes | {"workbookViewId": "0"}, inside))


def _plain(root: Element, name: str) -> str:
    element = child(root, name)
    return main_xml(element) if element is not None else ""


def _columns(job: SheetJob, sheet: Sheet, root: Element, used: set[int]) -> str:
    """Widths, column by column; a column of which nothing is left is folded away."""
    given: dict[int, dict[str, str]] = {}
    rest: list[str] = []
    stored = {cell.column for cell in job.scope.contents.scan(sheet).cells}
    last = max(stored, default=1)
    for element in root.iterfind(f"{{{MAIN}}}cols/{{{MAIN}}}col"):
        low, high = int(element.get("min", "1")), int(element.get("max", "1"))
        for column in range(low, min(high, last) + 1):
            given[column] = dict(element.attrib)
        if high > last:
            tail = {"min": str(max(low, last + 1)), "max": str(min(high, MAX_COLUMN))}
            rest.append(tag("col", dict(element.attrib) | tail))
    for column in stored - used:
        given.setdefault(column, {"width": "9"})["hidden"] = "1"
    out = [
        tag("col", given[column] | {"min": str(column), "max": str(column)})
        for column in sorted(given)
    ]
    return tag("cols", None, "".join(out + rest)) if out or rest else ""


def _kept_ranges(job: SheetJob, sheet: Sheet, sqref: str) -> str:
    """The ranges of a rule that are in the copy in full."""
    kept = []
    for reference in sqref.split():
        area = parse_area(reference, sheet.name)
        if area is not None and job.scope.keeps(area):
            kept.append(reference)
    return " ".join(kept)


def _merges(job: SheetJob, sheet: Sheet, root: Element) -> str:
    found = root.iterfind(f"{{{MAIN}}}mergeCells/{{{MAIN}}}mergeCell")
    kept = [ref for m in found if (ref := _kept_ranges(job, sheet, m.get("ref", "")))]
    inside = "".join(tag("mergeCell", {"ref": ref}) for ref in kept)
    return tag("mergeCells", {"count": str(len(kept))}, inside) if kept else ""


def _conditional(job: SheetJob, sheet: Sheet, root: Element) -> str:
    out = []
    for element in children(root, "conditionalFormatting"):
        sqref = _kept_ranges(job, sheet, element.get("sqref", ""))
        rules = [r for r in children(element, "cfRule") if _rule_is_kept(job, sheet, r)]
        if sqref and rules:
            inside = "".join(main_xml(rule) for rule in rules)
            out.append(tag("conditionalFormatting", {"sqref": sqref}, inside))
    return "".join(out)


def _rule_is_kept(job: SheetJob, sheet: Sheet, rule: Element) -> bool:
    values = [f.text or "" for f in children(rule, "formula")]
    values += [f.get("val", "") for f in rule.iter(f"{{{MAIN}}}cfvo") if f.get("type") == "formula"]
    return all(job.checked(sheet, value) for value in values)


def _validations(job: SheetJob, sheet: Sheet, root: Element) -> str:
    """Rules and prompts of the inputs that are still there, in the client's words."""
    out = []
    for element in root.iterfind(f"{{{MAIN}}}dataValidations/{{{MAIN}}}dataValidation"):
        sqref = _kept_ranges(job, sheet, element.get("sqref", ""))
        formulas = [f for name in ("formula1", "formula2") for f in children(element, name)]
        if not sqref or not all(job.checked(sheet, f.text or "") for f in formulas):
            continue
        attributes = {k: job.scope.words.get(v, v) for k, v in element.attrib.items()}
        inside = "".join(main_xml(formula) for formula in formulas)
        out.append(tag("dataValidation", attributes | {"sqref": sqref}, inside))
    out += _fixed_units(job, sheet)
    return tag("dataValidations", {"count": str(len(out))}, "".join(out)) if out else ""


def _fixed_units(job: SheetJob, sheet: Sheet) -> list[str]:
    """The units were written into the plain formulas: their cell takes nothing else."""
    place = job.scope.units_cell
    if place is None or place[0] != sheet.name:
        return []
    attributes = {
        "type": "list", "showErrorMessage": "1", "errorTitle": "Fixed units",
        "error": "The units of this copy are fixed.", "sqref": cell_name(*place[1:]),
    }  # fmt: skip
    return [tag("dataValidation", attributes, tag("formula1", None, f'"{job.scope.system}"'))]


def _hyperlinks(job: SheetJob, sheet: Sheet, root: Element) -> str:
    """Links to places in kept sheets."""
    out = []
    for element in root.iterfind(f"{{{MAIN}}}hyperlinks/{{{MAIN}}}hyperlink"):
        location, ref = element.get("location", ""), element.get("ref", "")
        target = split_sheet(location)[0]
        outside = any(key.startswith("{") for key in element.attrib)
        if not outside and target in job.scope.kept_names and _kept_ranges(job, sheet, ref):
            out.append(tag("hyperlink", {"ref": ref, "location": location}))
    return tag("hyperlinks", None, "".join(out)) if out else ""


def _page(root: Element) -> str:
    element = child(root, "pageSetup")
    if element is None:
        return ""
    return tag("pageSetup", {k: element.attrib[k] for k in _PAGE if k in element.attrib})


def _header_footer(root: Element) -> str:
    element = child(root, "headerFooter")
    if element is None:
        return ""
    for part in element:
        part.text = _PICTURE_CODE.sub("", part.text or "")
    return main_xml(element)
