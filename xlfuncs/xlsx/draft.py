"""A workbook with changes that are not written yet: parts replaced, parts added."""

import posixpath
from html import escape
from pathlib import Path

from xlfuncs.errors import WorkbookError
from xlfuncs.xlsx.contents import Contents, Sheet
from xlfuncs.xlsx.elements import Edit, Element, appended, find_elements, is_ordinary
from xlfuncs.xlsx.package import RELATIONSHIPS, Package, edited

TYPES = "[Content_Types].xml"
_SHEET_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"


class Draft:
    """The parts of one workbook as they shall become; `result` gives the file's bytes."""

    def __init__(self, source: Path | str | bytes, name: str | None = None) -> None:
        self.package = Package.open(source, name)
        self.contents = Contents(self.package)
        self.workbook = self.contents.workbook_part
        if not is_ordinary(self.package.read(self.workbook)):
            raise WorkbookError(
                f"{self.package.name}: written in an unusual way (the strict variant of the format,"
                " or prefixed elements); save it once in a spreadsheet program as an ordinary"
                " workbook first"
            )
        self._changed: dict[str, bytes] = {}
        self._added: dict[str, bytes] = {}

    def read(self, part: str) -> bytes:
        """A part as it shall become."""
        if part in self._added:
            return self._added[part]
        return self._changed[part] if part in self._changed else self.package.read(part)

    def find(self, part: str, path: str) -> list[Element]:
        """The elements of a part at a path from its root."""
        return find_elements(self.read(part), path, f"{self.package.name}: {part}")

    def one(self, part: str, path: str) -> Element:
        """The first element at a path; WorkbookError without one."""
        found = self.find(part, path)
        if not found:
            words = f"{self.package.name}: unusual inside ({part} has no {path}); "
            words += "save it once in a spreadsheet program, then try again"
            raise WorkbookError(words)
        return found[0]

    def replace(self, part: str, element: Element, xml: str) -> None:
        self._edit(part, (element.start, element.end, xml.encode()))

    def insert_after(self, part: str, element: Element, xml: str) -> None:
        self._edit(part, (element.end, element.end, xml.encode()))

    def append(self, part: str, parent: Element, xml: str) -> None:
        self._edit(part, appended(self.read(part), parent, xml))

    def set_type(self, part: str, kind: str) -> None:
        """Say of what kind a part is, in the list of content types."""
        for entry in self.find(TYPES, "Types/Override"):
            if entry.attributes.get("PartName", "").lower() == f"/{part.lower()}":
                old, content = entry.attributes.get("ContentType", ""), self.read(TYPES)
                tag = content[entry.start : entry.end].replace(old.encode(), kind.encode())
                self.replace(TYPES, entry, tag.decode())
                return
        types = self.one(TYPES, "Types")
        self.append(TYPES, types, f'<Override PartName="/{part}" ContentType="{kind}"/>')

    def write(self, part: str, content: bytes) -> None:
        """A part of the package in place of what it holds."""
        (self._added if part in self._added else self._changed)[part] = content

    def add_sheet(self, name: str, xml: str, *, hidden: bool = False) -> None:
        """A new worksheet at the end; `xml` is its whole part."""
        folder, base = posixpath.split(self.workbook)
        relations = posixpath.join(folder, "_rels", f"{base}.rels")
        links = {e.attributes.get("Id", "") for e in self.find(relations, _LINK)}
        sheets = self.find(self.workbook, "workbook/sheets/sheet")
        numbers = [int(e.attributes.get("sheetId", 0)) for e in sheets]
        taken = [*self.package.names(), *self._added]
        part = _free(posixpath.join(folder, "worksheets/sheet{}.xml"), taken)
        link = _free("rId{}", links)
        self._added[part] = xml.encode()
        self.set_type(part, _SHEET_TYPE)
        root = self.one(relations, "Relationships")
        self.append(
            relations, root,
            f'<Relationship Id="{link}" Type="{RELATIONSHIPS}/worksheet"'
            f' Target="{posixpath.relpath(part, folder)}"/>',
        )  # fmt: skip
        root = self.one(self.workbook, "workbook/sheets")
        state = ' state="hidden"' if hidden else ""
        self.append(
            self.workbook, root,
            f'<sheet name="{escape(name)}" sheetId="{max(numbers, default=0) + 1}"'
            f'{state} r:id="{link}" xmlns:r="{RELATIONSHIPS}"/>',
        )  # fmt: skip

    def sheet(self, name: str) -> Sheet | None:
        """The worksheet of that name, as the file had it."""
        return next((s for s in self.contents.sheets if s.name.lower() == name.lower()), None)

    def result(self) -> bytes:
        return self.package.with_parts(self._changed, self._added)

    def _edit(self, part: str, edit: Edit) -> None:
        self.write(part, edited(self.read(part), [edit]))


_LINK = "Relationships/Relationship"


def _free(pattern: str, taken: list[str] | set[str]) -> str:
    """The first numbered name that does not occur yet, whatever the case of its letters."""
    lower, number = {name.lower() for name in taken}, 1
    while pattern.format(number).lower() in lower:
        number += 1
    return pattern.format(number)
