"""XML of the client's copy: read without what is foreign, written afresh.

Nothing is carried over that is not asked for: elements and attributes of namespaces other than the
wanted ones, and extension lists, are where traces hide.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from xml.etree import ElementTree
from xml.sax.saxutils import escape, quoteattr

from xlfuncs.errors import WorkbookError
from xlfuncs.xlsx.package import RELATIONSHIPS, Package, expat_parser, run_parser

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
DRAWING = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
CHART = "http://schemas.openxmlformats.org/drawingml/2006/chart"
ART = "http://schemas.openxmlformats.org/drawingml/2006/main"
STRICT = "http://purl.oclc.org/ooxml/"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_PREFIXES = {DRAWING: "xdr", CHART: "c", ART: "a", RELATIONSHIPS: "r"}
_XML_SPACE = "{http://www.w3.org/XML/1998/namespace}space"

Element = ElementTree.Element


def read(package: Package, part: str, namespaces: Collection[str]) -> Element:
    """A part's elements and attributes of these namespaces, without extension lists."""
    content, where = package.read(part), f"{package.name}: {part}"
    run_parser(expat_parser(where), content, where)  # refuses what is hostile
    root = ElementTree.fromstring(content)
    if _space(root.tag).startswith(STRICT):
        raise WorkbookError(
            f"{package.name}: in the strict variant of the format; save it as an ordinary .xlsx"
        )
    _strip(root, namespaces)
    return root


def _strip(element: Element, namespaces: Collection[str]) -> None:
    for key in list(element.attrib):
        own = not key.startswith("{") or key == _XML_SPACE or _space(key) == RELATIONSHIPS
        if not own:
            del element.attrib[key]
    for child in list(element):
        if _space(child.tag) not in namespaces or local(child.tag) == "extLst":
            element.remove(child)
        else:
            _strip(child, namespaces)


def _space(name: str) -> str:
    return name[1:].partition("}")[0] if name.startswith("{") else ""


def local(name: str) -> str:
    return name.rpartition("}")[2]


def children(element: Element, name: str) -> Iterator[Element]:
    """The children of a local name."""
    return (child for child in element if local(child.tag) == name)


def child(element: Element, name: str) -> Element | None:
    return next(children(element, name), None)


def tag(name: str, attributes: dict[str, str] | None = None, inside: str = "") -> str:
    """One element as text; `inside` is XML already."""
    given = "".join(f" {key}={quoteattr(value)}" for key, value in (attributes or {}).items())
    return f"<{name}{given}>{inside}</{name}>" if inside else f"<{name}{given}/>"


def text(value: str) -> str:
    return escape(value)


def main_xml(element: Element) -> str:
    """An element of the spreadsheet's own namespace, written without a prefix."""
    inside = escape(element.text or "") if not len(element) else ""
    inside += "".join(main_xml(child) for child in element)
    attributes = {_plain(key): value for key, value in element.attrib.items()}
    return tag(local(element.tag), attributes, inside)


def _plain(key: str) -> str:
    if key == _XML_SPACE:
        return "xml:space"
    return f"r:{local(key)}" if key.startswith("{") else key


def art_xml(root: Element) -> bytes:
    """A drawing or chart part."""
    for space, prefix in _PREFIXES.items():
        ElementTree.register_namespace(prefix, space)
    written: bytes = ElementTree.tostring(root, encoding="utf-8")
    return HEAD.encode() + written


def relationships(links: list[tuple[str, str]]) -> bytes:
    """A .rels part of (last words of the type, target), numbered rId1 on."""
    space = "http://schemas.openxmlformats.org/package/2006/relationships"
    inside = "".join(
        tag("Relationship", {"Id": f"rId{i}", "Type": _type(kind), "Target": target})
        for i, (kind, target) in enumerate(links, 1)
    )
    return (HEAD + tag("Relationships", {"xmlns": space}, inside)).encode()


def _type(kind: str) -> str:
    if kind == "core-properties":
        return "http://schemas.openxmlformats.org/package/2006/relationships/metadata/" + kind
    return f"{RELATIONSHIPS}/{kind}"
