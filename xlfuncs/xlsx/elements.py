"""Elements of a part by their path, and edits at their places: what is not named stays as it is."""

import re
from typing import NamedTuple

from xlfuncs.errors import WorkbookError
from xlfuncs.xlsx.package import STRICT_RELATIONSHIPS, expat_parser, run_parser
from xlfuncs.xlsx.sheet_cells import is_empty_tag, tag_end

Edit = tuple[int, int, bytes]
_NAME = re.compile(rb"<((?:[\w.-]+:)?)([\w.-]+)")
_ROOT = re.compile(rb"<workbook\s")
_STRICT = STRICT_RELATIONSHIPS.rpartition("/officeDocument")[0].encode()


class Element(NamedTuple):
    """One element: the bytes from `start` to `end`, whose first tag ends at `head`."""

    start: int
    head: int
    close: int  # where the closing tag begins; the same as `head` in `<x/>`
    end: int
    attributes: dict[str, str]


def find_elements(content: bytes, path: str, where: str) -> list[Element]:
    """The elements at a path from the root, such as `workbook/sheets/sheet`, by local names."""
    if content[:2] in (b"\xff\xfe", b"\xfe\xff") or content[:2] in (b"<\0", b"\0<"):
        raise WorkbookError(f"{where}: not in UTF-8, cannot be changed without rewriting it")
    parser = expat_parser(where)
    wanted = path.split("/")
    inside: list[str] = []
    begun: list[tuple[int, dict[str, str]]] = []
    found: list[Element] = []

    def start(tag: str, attributes: dict[str, str]) -> None:
        inside.append(tag.rpartition(":")[2])
        if inside == wanted:
            begun.append((parser.CurrentByteIndex, attributes))

    def end(_: str) -> None:
        if inside == wanted:
            begin, attributes = begun.pop()
            found.append(_element(content, begin, parser.CurrentByteIndex, attributes))
        inside.pop()

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    run_parser(parser, [content], where)
    return found


def appended(content: bytes, parent: Element, xml: str) -> Edit:
    """The edit that puts new elements at the end of a parent."""
    if not is_empty_tag(content, parent.head):
        return parent.close, parent.close, xml.encode()
    match = _NAME.match(content, parent.start)
    name = b"" if match is None else match[1] + match[2]
    return parent.head - 2, parent.head, b">" + xml.encode() + b"</" + name + b">"


def is_ordinary(content: bytes) -> bool:
    """Whether a workbook part names its elements without a prefix and is not of the strict kind."""
    return _ROOT.search(content) is not None and _STRICT not in content[:4000]


def _element(content: bytes, start: int, close: int, attributes: dict[str, str]) -> Element:
    head = tag_end(content, start)
    if is_empty_tag(content, head):
        return Element(start, head, head, head, attributes)
    return Element(start, head, close, tag_end(content, close), attributes)
