"""The file of the client's copy, put together from new parts only."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass

from workbook_template.client_copy.drawings import Art
from workbook_template.client_copy.markup import HEAD, MAIN, relationships, tag, text
from workbook_template.client_copy.scope import Scope
from xlfuncs.xlsx.cell_references import split_sheet
from xlfuncs.xlsx.package import RELATIONSHIPS

_TYPE = "application/vnd.openxmlformats-officedocument."
_SHEET = _TYPE + "spreadsheetml."
_CALCULATION = "191029"  # of the program that last computed it; no recalculation on opening
_PRINTED = ("_xlnm.Print_Titles", "_xlnm.Print_Area")
_PICTURES = {"png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg", "gif": "image/gif"}


@dataclass(frozen=True)
class Part:
    """One sheet of the copy: its name, its XML, and the drawing on it ('' for none)."""

    name: str
    xml: bytes
    drawing: str = ""


def assembled(
    sheets: Sequence[Part],
    art: Art,
    styles: bytes,
    theme: bytes,
    names: bytes,
    title: str,
    *,
    dates_from_1904: bool,
) -> bytes:
    """The bytes of the finished file; the same input gives the same bytes."""
    parts: dict[str, bytes] = {
        "[Content_Types].xml": b"",
        "_rels/.rels": relationships(
            [("officeDocument", "xl/workbook.xml"), ("core-properties", "docProps/core.xml")]
        ),
        "docProps/core.xml": _core(title),
        "xl/workbook.xml": _workbook(sheets, names, dates_from_1904),
        "xl/styles.xml": styles,
    }
    links = [("worksheet", f"worksheets/sheet{i}.xml") for i in range(1, len(sheets) + 1)]
    links.append(("styles", "styles.xml"))
    if theme:
        parts["xl/theme/theme1.xml"] = theme
        links.append(("theme", "theme/theme1.xml"))
    parts["xl/_rels/workbook.xml.rels"] = relationships(links)
    for i, sheet in enumerate(sheets, 1):
        parts[f"xl/worksheets/sheet{i}.xml"] = sheet.xml
        if sheet.drawing:
            parts[f"xl/worksheets/_rels/sheet{i}.xml.rels"] = relationships(
                [("drawing", f"../drawings/{sheet.drawing}")]
            )
    parts |= art.parts
    parts["[Content_Types].xml"] = _content_types(list(parts))
    return _zipped(parts)


def _zipped(parts: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        for name, content in parts.items():
            info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(info, content)
    return out.getvalue()


def _workbook(sheets: Sequence[Part], names: bytes, dates_from_1904: bool) -> bytes:
    listed = "".join(
        tag("sheet", {"name": sheet.name, "sheetId": str(i), "r:id": f"rId{i}"})
        for i, sheet in enumerate(sheets, 1)
    )
    inside = (
        tag("workbookPr", {"date1904": "1"} if dates_from_1904 else {})
        + tag("bookViews", None, tag("workbookView"))
        + tag("sheets", None, listed)
        + names.decode()
        + tag("calcPr", {"calcId": _CALCULATION})
    )
    return (HEAD + tag("workbook", {"xmlns": MAIN, "xmlns:r": RELATIONSHIPS}, inside)).encode()


def defined_names(scope: Scope, used: set[str], order: Sequence[str]) -> bytes:
    """The names that plain formulas use, and the print titles and areas of kept sheets."""
    out = []
    for name in scope.contents.names:
        printed = name.name in _PRINTED and name.sheet in scope.kept_names
        if printed and not any(
            split_sheet(piece)[0] in (None, name.sheet) for piece in name.text.split(",")
        ):
            continue
        if printed or name.name in used:
            attributes = {"name": name.name}
            if name.sheet is not None:
                attributes["localSheetId"] = str(order.index(name.sheet))
            out.append(tag("definedName", attributes, text(name.text)))
    return tag("definedNames", None, "".join(out)).encode() if out else b""


def _core(title: str) -> bytes:
    spaces = {
        "xmlns:cp": "http://schemas.openxmlformats.org/package/2006/metadata/core-properties",
        "xmlns:dc": "http://purl.org/dc/elements/1.1/",
    }
    return (HEAD + tag("cp:coreProperties", spaces, tag("dc:title", None, text(title)))).encode()


def _content_types(parts: Sequence[str]) -> bytes:
    space = "http://schemas.openxmlformats.org/package/2006/content-types"
    kinds = {
        "xl/workbook": _SHEET + "sheet.main+xml",
        "xl/styles": _SHEET + "styles+xml",
        "xl/worksheets/sheet": _SHEET + "worksheet+xml",
        "xl/theme/": _TYPE + "theme+xml",
        "xl/drawings/drawing": _TYPE + "drawing+xml",
        "xl/charts/chart": _TYPE + "drawingml.chart+xml",
        "docProps/core": "application/vnd.openxmlformats-package.core-properties+xml",
    }
    defaults = {"rels": "application/vnd.openxmlformats-package.relationships+xml",
                "xml": "application/xml", **_PICTURES}  # fmt: skip
    inside = "".join(
        tag("Default", {"Extension": ending, "ContentType": kind})
        for ending, kind in defaults.items()
    )
    for part in parts:
        for start, kind in kinds.items():
            if part.startswith(start):
                inside += tag("Override", {"PartName": "/" + part, "ContentType": kind})
    return (HEAD + tag("Types", {"xmlns": space}, inside)).encode()
