"""Cell styles of a workbook: a neighbour's look with another number format, wrapped, or colored.

Nothing in the styles part is changed; a style or a fill that is missing is appended to its list.
"""

import re
from dataclasses import dataclass

from xlfuncs.xlsx.contents import Contents
from xlfuncs.xlsx.package import edited, expat_parser, run_parser
from xlfuncs.xlsx.sheet_cells import tag_end

WRAPPED, INDENTED = 'wrapText="1"', 'horizontal="left" indent="1"'  # 18.8.1
GENERAL, WHOLE, TWO_DECIMALS, PERCENT = 0, 1, 2, 9  # built-in formats, ECMA-376 part 1, 18.8.30
_PLAIN_BUILT_IN = {1, 2, 3, 4}
_PLAIN_CODE = re.compile(r"#?,?#*0+(\.0+)?")
_FILL = re.compile(rb"""\s(?:fillId|applyFill)\s*=\s*("[^"]*"|'[^']*')""")
_ALIGNED = re.compile(rb"""\sapplyAlignment\s*=\s*("[^"]*"|'[^']*')""")
_HEAD = re.compile(rb"<((?:[\w.-]+:)?)xf\b[^>]*?(/?)>")
_ALIGNMENT = re.compile(rb"<(?:[\w.-]+:)?alignment\b")
_FORMAT = re.compile(rb"""\snumFmtId\s*=\s*("[^"]*"|'[^']*')""")
_APPLIED = re.compile(rb"""\sapplyNumberFormat\s*=\s*("[^"]*"|'[^']*')""")
_COUNT = re.compile(rb"""(\scount\s*=\s*)("[^"]*"|'[^']*')""")


@dataclass
class _Style:
    start: int
    end: int
    format: int


class CellStyles:
    """The list of cell formats (`cellXfs`) of a workbook."""

    def __init__(self, contents: Contents) -> None:
        self.part = contents.related("styles")
        self.content = contents.package.read(self.part) if self.part else b""
        self.styles: list[_Style] = []
        self.codes: dict[int, str] = {}
        self._list_start = self._list_end = self._fills_start = self._fills_end = -1
        self._fills = 0
        self._new_fills: list[str] = []
        self._added: list[bytes] = []
        if self.part:
            self._scan(f"{contents.package.name}: styles")

    def format_of(self, style: str) -> int:
        """The number format of a cell's style attribute."""
        number = int(style or 0)
        return self.styles[number].format if number < len(self.styles) else GENERAL

    def is_plain_number(self, style: str) -> bool:
        """A format of digits alone: no date, percent, currency or unit."""
        number = self.format_of(style)
        code = self.codes.get(number)
        return number in _PLAIN_BUILT_IN or (
            code is not None and _PLAIN_CODE.fullmatch(code) is not None
        )

    def like(self, style: str, number_format: int) -> str:
        """The style attribute for a look like `style` with another number format."""
        number = int(style or 0)
        if number >= len(self.styles) or self.styles[number].format == number_format:
            return style
        return self._kept(self._variant(number, number_format))

    def dressed(self, style: str, *, align: str = "", fill: str = "") -> str:
        """The style attribute for a look like `style`, aligned, or on a fill of that RGB color."""
        number = int(style or 0)
        if number < len(self.styles):
            xml = self.content[self.styles[number].start : self.styles[number].end]
        elif number < len(self.styles) + len(self._added):
            xml = self._added[number - len(self.styles)]
        else:
            return style
        if fill and self._fills_start >= 0:
            if fill not in self._new_fills:
                self._new_fills.append(fill)
            place = f' fillId="{self._fills + self._new_fills.index(fill)}" applyFill="1"'.encode()
            bare = _FILL.sub(b"", xml)
            xml = re.sub(rb"(<(?:[\w.-]+:)?xf\b)", lambda m: m[1] + place, bare, count=1)
        return self._kept(_aligned(xml, align) if align else xml)

    def _kept(self, wanted: bytes) -> str:
        for other, existing in enumerate(self.styles):
            if self.content[existing.start : existing.end] == wanted:
                return str(other)
        if wanted not in self._added:
            self._added.append(wanted)
        return str(len(self.styles) + self._added.index(wanted))

    def result(self) -> bytes | None:
        """The new bytes of the part; None when nothing was added."""
        if not self._added:
            return None
        head = tag_end(self.content, self._list_start)
        edits = [(self._list_end, self._list_end, b"".join(self._added))]
        match = _COUNT.search(self.content, self._list_start, head)
        if match is not None:
            total = f'"{len(self.styles) + len(self._added)}"'.encode()
            edits.append((*match.span(2), total))
        if self._new_fills:
            edits += self._fills_added()
        return edited(self.content, edits)

    def _fills_added(self) -> list[tuple[int, int, bytes]]:
        name = re.match(rb"<((?:[\w.-]+:)?)fills", self.content[self._fills_start :])
        p = name[1].decode() if name else ""
        added = "".join(f'<{p}fill><{p}patternFill patternType="solid"><{p}fgColor rgb="FF{fill}"/>'
                        f"</{p}patternFill></{p}fill>" for fill in self._new_fills)  # fmt: skip
        edits = [(self._fills_end, self._fills_end, added.encode())]
        head = tag_end(self.content, self._fills_start)
        if match := _COUNT.search(self.content, self._fills_start, head):
            edits.append((*match.span(2), f'"{self._fills + len(self._new_fills)}"'.encode()))
        return edits

    def _variant(self, number: int, number_format: int) -> bytes:
        style = self.styles[number]
        xml = self.content[style.start : style.end]
        xml = _APPLIED.sub(b"", xml, count=1)
        attributes = f' numFmtId="{number_format}" applyNumberFormat="1"'.encode()
        return _FORMAT.sub(attributes, xml, count=1)

    def _scan(self, where: str) -> None:
        parser = expat_parser(where)
        path: list[str] = []

        def start(tag: str, attributes: dict[str, str]) -> None:
            path.append(tag.rpartition(":")[2])
            at = parser.CurrentByteIndex
            if path[1:] == ["cellXfs"]:
                self._list_start = at
            elif path[1:] == ["fills"]:
                self._fills_start = at
            elif path[1:] == ["fills", "fill"]:
                self._fills += 1
            elif path[1:] == ["cellXfs", "xf"]:
                self.styles.append(_Style(at, -1, int(attributes.get("numFmtId", "0"))))
            elif path[1:] == ["numFmts", "numFmt"]:
                self.codes[int(attributes["numFmtId"])] = attributes.get("formatCode", "")

        def end(_: str) -> None:
            at = parser.CurrentByteIndex
            if path[1:] == ["cellXfs"]:
                self._list_end = at
            elif path[1:] == ["fills"]:
                self._fills_end = at
            elif path[1:] == ["cellXfs", "xf"]:
                style = self.styles[-1]
                head = tag_end(self.content, style.start)
                empty = self.content[head - 2 : head] == b"/>"
                style.end = head if empty else tag_end(self.content, at)
            path.pop()

        parser.StartElementHandler = start
        parser.EndElementHandler = end
        run_parser(parser, [self.content], where)


def _aligned(xml: bytes, words: str) -> bytes:
    """A cell format with these words of its alignment; the others of it stay."""
    names = "|".join(re.findall(r"(\w+)=", words)).encode()
    if match := _ALIGNMENT.search(xml):
        end = tag_end(xml, match.start())
        own = re.sub(rb"""\s(?:%b)\s*=\s*("[^"]*"|'[^']*')""" % names, b"", xml[match.end() : end])
        return xml[: match.end()] + b" " + words.encode() + own + xml[end:]
    xml = _ALIGNED.sub(b"", xml)
    head = _HEAD.match(xml)
    if head is None:
        return xml
    tag = b"<" + head[1] + b"alignment " + words.encode() + b"/>"
    opened = xml[: head.end() - len(head[2]) - 1] + b' applyAlignment="1">' + tag
    return opened + (b"</" + head[1] + b"xf>" if head[2] else xml[head.end() :])
