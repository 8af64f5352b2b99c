"""Charts and pictures of the client's copy.

A chart comes along if every range that it shows is in the copy; what it remembers of those ranges
(its cache) is written anew. Pictures come along; shapes and text boxes do not, nor what hangs on
any of them: alternative texts, links, embedded workbooks, chart colours of a program's own.
"""

from __future__ import annotations

import posixpath
import re
from collections.abc import Callable
from dataclasses import dataclass, field

from workbook_template.client_copy.markup import (
    ART,
    CHART,
    DRAWING,
    Element,
    art_xml,
    child,
    children,
    local,
    read,
    relationships,
)
from xlfuncs.errors import CellError
from xlfuncs.xlsx.cell_references import Area, parse_area, split_sheet
from xlfuncs.xlsx.contents import CellValue, Contents, Sheet
from xlfuncs.xlsx.package import RELATIONSHIPS

_ID, _EMBED = f"{{{RELATIONSHIPS}}}id", f"{{{RELATIONSHIPS}}}embed"
_DROPPED_FROM_CHARTS = ("externalData", "userShapes", "printSettings", "pivotSource")
_PICTURES = (".png", ".jpg", ".jpeg", ".gif")
_TEXT = re.compile(r'"(?:[^"]|"")*"')
Value = Callable[[str, int, int], CellValue]


@dataclass
class Art:
    """The drawing, chart and picture parts that the copy has, and what was left behind."""

    parts: dict[str, bytes] = field(default_factory=dict)
    charts: int = 0
    pictures: int = 0
    left_out: list[str] = field(default_factory=list)


def copy_drawing(
    contents: Contents, sheet: Sheet, art: Art, keeps: Callable[[Area], bool], value: Value
) -> str:
    """Add a sheet's drawing to `art`; gives its part's name, '' where nothing is left of it."""
    links = contents.package.relationships(sheet.part).values()
    part = next((target for kind, target in links if kind == "drawing"), "")
    if not part:
        return ""
    root = read(contents.package, part, (DRAWING, ART, CHART))
    targets = contents.package.relationships(part)
    new_links: list[tuple[str, str]] = []
    for anchor in list(root):
        link = _kept(contents, sheet, anchor, targets, art, keeps, value)
        if link is None:
            root.remove(anchor)
        else:
            new_links.append(link)
            _relink(anchor, f"rId{len(new_links)}", len(new_links))
    if not new_links:
        return ""
    name = f"drawing{sum(p.startswith('xl/drawings/drawing') for p in art.parts) + 1}.xml"
    art.parts[f"xl/drawings/{name}"] = art_xml(root)
    art.parts[f"xl/drawings/_rels/{name}.rels"] = relationships(new_links)
    return name


def _kept(
    contents: Contents,
    sheet: Sheet,
    anchor: Element,
    targets: dict[str, tuple[str, str]],
    art: Art,
    keeps: Callable[[Area], bool],
    value: Value,
) -> tuple[str, str] | None:
    """The new link of an anchor's chart or picture; None where it stays behind."""
    frame, picture = child(anchor, "graphicFrame"), child(anchor, "pic")
    for found in anchor.iter():
        id_, kind = found.get(_ID) or found.get(_EMBED), local(found.tag)
        if frame is not None and kind == "chart" and id_ in targets:
            chart = _chart(contents, targets[id_][1], keeps, value)
            if chart is None:
                art.left_out.append(f"a chart on {sheet.name}, which shows what is not in the copy")
                return None
            art.charts += 1
            art.parts[f"xl/charts/chart{art.charts}.xml"] = chart
            return "chart", f"../charts/chart{art.charts}.xml"
        if picture is not None and kind == "blip" and id_ in targets:
            source = targets[id_][1]
            ending = posixpath.splitext(source)[1].lower()
            if ending in _PICTURES:
                art.pictures += 1
                name = f"image{art.pictures}{ending}"
                art.parts[f"xl/media/{name}"] = contents.package.read(source)
                return "image", f"../media/{name}"
    if local(anchor.tag).endswith("Anchor"):
        art.left_out.append(f"a shape or text box on {sheet.name}")
    return None


def _relink(anchor: Element, id_: str, number: int) -> None:
    """Point an anchor to its new part; take names, texts and links off it."""
    for element in anchor.iter():
        if local(element.tag) == "cNvPr":
            element.attrib.clear()
            element.attrib.update({"id": str(number + 1), "name": f"Picture {number}"})
            element[:] = []
        for key in (_ID, _EMBED):
            if key in element.attrib:
                element.set(key, id_)
    for data in anchor.iter():
        if local(data.tag) == "blip":
            data[:] = []
    for extra in ("clientData",):
        for element in children(anchor, extra):
            element.attrib.clear()


def _chart(
    contents: Contents, part: str, keeps: Callable[[Area], bool], value: Value
) -> bytes | None:
    """A chart with fresh caches; None where it shows anything that is not in the copy."""
    root = read(contents.package, part, (CHART, ART))
    for parent in list(root.iter()):
        for element in list(parent):
            if local(element.tag) in _DROPPED_FROM_CHARTS:
                parent.remove(element)
    for element in root.iter():
        reference = child(element, "f")
        if reference is None:
            continue
        written = (reference.text or "").strip()
        if _TEXT.fullmatch(written):  # Calc writes a name that no cell gives as a text's formula
            _fill_cache(element, [written[1:-1].replace('""', '"')])
            continue
        area = _area(contents, written)
        if area is None or not keeps(area):
            return None
        _fill_cache(element, [value(area.sheet, *place) for place in area.positions()])
    return art_xml(root)


def _area(contents: Contents, text: str) -> Area | None:
    sheet, rest = split_sheet(text)
    names = {known.name.lower(): known.name for known in contents.sheets}
    found = names.get((sheet or "").lower())
    return parse_area(rest, found) if found else None


def _fill_cache(element: Element, values: list[CellValue]) -> None:
    """Write the values of a range into what the chart remembers of it."""
    for kind in ("numCache", "strCache", "multiLvlStrCache"):
        cache = child(element, kind)
        if cache is None:
            continue
        if kind == "multiLvlStrCache":
            element.remove(cache)
            continue
        for old in [*children(cache, "pt"), *children(cache, "ptCount")]:
            cache.remove(old)
        count = Element(f"{{{CHART}}}ptCount", {"val": str(len(values))})
        cache.append(count)
        for i, one in enumerate(values):
            shown = _shown(one, numbers=kind == "numCache")
            if shown:
                point = Element(f"{{{CHART}}}pt", {"idx": str(i)})
                content = Element(f"{{{CHART}}}v")
                content.text = shown
                point.append(content)
                cache.append(point)


def _shown(value: CellValue, *, numbers: bool) -> str:
    if value is None or isinstance(value, CellError):
        return ""
    if isinstance(value, bool | str):
        return "" if numbers else str(value)
    return f"{value:.15g}"
