"""The styles of the client's copy: those of the workbook, and a few for the pages added to it."""

from __future__ import annotations

from workbook_template.client_copy.markup import HEAD, MAIN, Element, child, main_xml, read, tag
from xlfuncs.xlsx.contents import Contents

INK, BAND, LINE, HEADER = "FF20302B", "FFEEF3F0", "FFB9C6C0", "FF33524A"
_PARTS = (
    "numFmts", "fonts", "fills", "borders", "cellStyleXfs", "cellXfs", "cellStyles", "dxfs",
    "tableStyles", "colors",
)  # fmt: skip
_FIRST_FREE_FORMAT = 164


class CopyStyles:
    """Collects cell formats; every format is made once."""

    def __init__(self, contents: Contents) -> None:
        root = read(contents.package, contents.related("styles"), (MAIN,))
        self._parts = {name: child(root, name) for name in _PARTS}
        self._made: dict[str, int] = {}

    def as_price(self, style: str) -> str:
        """The format of a cost's cell as a price that is not for the client to fill in."""
        xf = list(self._part("cellXfs"))[int(style or 0)]
        attributes = dict(xf.attrib) | {"fillId": "0", "borderId": "0", "applyProtection": "1"}
        alignment = child(xf, "alignment")
        inside = main_xml(alignment) if alignment is not None else ""
        return self._xf(attributes, inside + tag("protection", {"locked": "1"}))

    def page(
        self, *, size: int = 10, bold: bool = False, italic: bool = False, white: bool = False,
        fill: str = "", line: bool = False, wrap: bool = False, link: bool = False,
        number_format: str = "", right: bool = False,
    ) -> str:  # fmt: skip
        """A format of the pages that the copy adds."""
        colour = "FFFFFFFF" if white else "FF1F4E5F" if link else INK
        font = (tag("b") if bold else "") + (tag("i") if italic else "")
        font += tag("u") if link else ""
        font += tag("sz", {"val": str(size)}) + tag("color", {"rgb": colour})
        font += tag("name", {"val": "Calibri"})
        attributes = {
            "numFmtId": self._number_format(number_format) if number_format else "0",
            "fontId": self._add("fonts", tag("font", None, font)),
            "fillId": self._fill(fill) if fill else "0",
            "borderId": self._line() if line else "0",
            "xfId": "0", "applyFont": "1", "applyFill": "1", "applyBorder": "1",
            "applyNumberFormat": "1", "applyAlignment": "1",
        }  # fmt: skip
        alignment = {"vertical": "top" if wrap else "center"}
        alignment |= {"wrapText": "1"} if wrap else {}
        alignment["horizontal"] = "right" if right else "left"
        return self._xf(attributes, tag("alignment", alignment))

    def listed(self, style: str) -> str:
        """The format of a value in a list, with the number format that its own cell has."""
        number_format = list(self._part("cellXfs"))[int(style or 0)].get("numFmtId", "0")
        line = int(self.page(line=True))
        xf = list(self._part("cellXfs"))[line]
        alignment = child(xf, "alignment")
        inside = main_xml(alignment) if alignment is not None else ""
        return self._xf(dict(xf.attrib) | {"numFmtId": number_format}, inside)

    def xml(self) -> bytes:
        inside = ""
        for name, part in self._parts.items():
            if part is not None:
                if name != "colors":  # the one part of these that has no count
                    part.attrib["count"] = str(len(part))
                inside += main_xml(part)
        return (HEAD + tag("styleSheet", {"xmlns": MAIN}, inside)).encode()

    def _part(self, name: str) -> Element:
        part = self._parts[name]
        if part is None:
            part = self._parts[name] = Element(name)
        return part

    def _xf(self, attributes: dict[str, str], inside: str) -> str:
        return self._add("cellXfs", tag("xf", attributes, inside))

    def _fill(self, colour: str) -> str:
        pattern = tag("fgColor", {"rgb": colour}) + tag("bgColor", {"indexed": "64"})
        return self._add(
            "fills", tag("fill", None, tag("patternFill", {"patternType": "solid"}, pattern))
        )

    def _line(self) -> str:
        bottom = tag("bottom", {"style": "hair"}, tag("color", {"rgb": LINE}))
        sides = tag("left") + tag("right") + tag("top") + bottom + tag("diagonal")
        return self._add("borders", tag("border", None, sides))

    def _number_format(self, code: str) -> str:
        formats = self._part("numFmts")
        for known in formats:
            if known.get("formatCode") == code:
                return known.get("numFmtId", "0")
        used = [int(known.get("numFmtId", "0")) for known in formats]
        number = str(max([_FIRST_FREE_FORMAT - 1, *used]) + 1)
        formats.append(Element("numFmt", {"numFmtId": number, "formatCode": code}))
        return number

    def _add(self, part: str, xml: str) -> str:
        """The index of an entry of a part of the styles."""
        from xml.etree.ElementTree import fromstring

        key = part + xml
        if key not in self._made:
            self._part(part).append(fromstring(xml))
            self._made[key] = len(self._part(part)) - 1
        return str(self._made[key])
