"""The zip package of a workbook: read with suspicion, written with every other part untouched.

Nothing is unpacked to disk. A member is read only after its stated size has been checked, and
never beyond it. Links to other files are never followed.
"""

import io
import posixpath
import zipfile
from collections.abc import Iterable
from pathlib import Path
from xml.etree import ElementTree
from xml.parsers import expat

from xlfuncs.errors import WorkbookError

MAX_FILE_BYTES = 200 * 2**20
MAX_PART_BYTES = 400 * 2**20
MAX_TOTAL_BYTES = 800 * 2**20
MAX_MEMBERS = 20_000
MAX_EXPANSION = 400  # ordinary sheets expand 5 to 60 times, very repetitive ones about 150 times
EXPANSION_CHECKED_ABOVE = 2**20
MAX_XML_DEPTH = 200

RELATIONSHIPS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
STRICT_RELATIONSHIPS = "http://purl.oclc.org/ooxml/officeDocument/relationships"


class Package:
    """The members of one .xlsx or .xlsm file, held in memory."""

    def __init__(self, content: bytes, name: str = "the workbook") -> None:
        self.name, self.content = name, content
        self._refuse_other_formats(content)
        try:
            self._zip = zipfile.ZipFile(io.BytesIO(content))
            self._members = self._zip.infolist()
        except (zipfile.BadZipFile, OSError, ValueError, NotImplementedError) as error:
            raise WorkbookError(f"{name}: not a readable zip package ({error})") from None
        self._check_members(len(content))
        self._by_lower_name = {member.filename.lower(): member for member in self._members}
        self._read: dict[str, bytes] = {}
        if not self.has("[Content_Types].xml"):
            raise WorkbookError(f"{name}: not a workbook, [Content_Types].xml is missing")
        if any(member.filename.lower().startswith("_xmlsignatures/") for member in self._members):
            words = f"{name}: digitally signed; any change would break the signature. "
            words += "Remove the signature in a spreadsheet program first, or work on a copy"
            raise WorkbookError(words)

    @classmethod
    def open(cls, source: Path | str | bytes, name: str | None = None) -> "Package":
        """Read a file (or its bytes) and check it; raises WorkbookError with the reason."""
        if isinstance(source, bytes):
            return cls(source, name or "the workbook")
        path = Path(source)
        try:
            size = path.stat().st_size
        except OSError as error:
            raise WorkbookError(f"{path}: cannot be read ({error.strerror})") from None
        if size > MAX_FILE_BYTES:
            raise WorkbookError(
                f"{path.name}: {size:,} bytes, more than the {MAX_FILE_BYTES:,} that are accepted"
            )
        return cls(path.read_bytes(), name or path.name)

    def _refuse_other_formats(self, content: bytes) -> None:
        if len(content) > MAX_FILE_BYTES:
            raise WorkbookError(f"{self.name}: more than {MAX_FILE_BYTES:,} bytes")
        if content.startswith(b"\xd0\xcf\x11\xe0"):
            words = f"{self.name}: an old .xls file or a workbook locked by a password; "
            words += "save it as .xlsx without a password first"
            raise WorkbookError(words)

    def _check_members(self, file_bytes: int) -> None:
        if len(self._members) > MAX_MEMBERS:
            raise WorkbookError(f"{self.name}: {len(self._members):,} parts, too many")
        seen: set[str] = set()
        offsets: set[int] = set()
        total = 0
        for member in self._members:
            part = member.filename
            self._check_name(part)
            if part.lower() in seen:
                raise WorkbookError(f"{self.name}: the part {part!r} occurs twice")
            seen.add(part.lower())
            if member.header_offset in offsets:
                raise WorkbookError(f"{self.name}: two parts share the same bytes ({part!r})")
            offsets.add(member.header_offset)
            if member.flag_bits & 0x1:
                raise WorkbookError(f"{self.name}: the part {part!r} is encrypted")
            if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                raise WorkbookError(f"{self.name}: the part {part!r} is compressed in another way")
            if member.file_size > MAX_PART_BYTES:
                raise WorkbookError(
                    f"{self.name}: the part {part!r} would unpack to {member.file_size:,} bytes, "
                    f"more than the {MAX_PART_BYTES:,} that are accepted"
                )
            expands_too_far = member.file_size > MAX_EXPANSION * max(member.compress_size, 1)
            if member.file_size > EXPANSION_CHECKED_ABOVE and expands_too_far:
                words = f"{self.name}: the part {part!r} expands more than {MAX_EXPANSION} times "
                words += "(a zip bomb)"
                raise WorkbookError(words)
            total += member.file_size
        if total > MAX_TOTAL_BYTES:
            words = f"{self.name}: would unpack to {total:,} bytes, "
            words += f"more than the {MAX_TOTAL_BYTES:,} that are accepted"
            raise WorkbookError(words)

    def _check_name(self, part: str) -> None:
        pieces = part.split("/")
        if part.startswith("/") or "\\" in part or ":" in pieces[0] or ".." in pieces:
            raise WorkbookError(f"{self.name}: the part name {part!r} points outside the package")

    def names(self) -> list[str]:
        """Names of all parts, in the order of the file."""
        return [member.filename for member in self._members]

    def has(self, part: str) -> bool:
        return part.lower() in self._by_lower_name

    def read(self, part: str) -> bytes:
        """The bytes of one part; case does not matter in names, as the standard says."""
        key = part.lower()
        if key not in self._read:
            if key not in self._by_lower_name:
                raise WorkbookError(f"{self.name}: the part {part!r} is missing")
            try:
                self._read[key] = self._zip.read(self._by_lower_name[key])
            except Exception as error:  # zlib, zipfile and struct all raise their own kinds
                raise WorkbookError(f"{self.name}: {part!r} is damaged ({error})") from None
        return self._read[key]

    def tree(self, part: str) -> ElementTree.Element:
        """The XML of one part as elements without namespaces."""
        return parse_xml(self.read(part), f"{self.name}: {part}")

    def relationships(self, part: str) -> dict[str, tuple[str, str]]:
        """Relationship id -> (last word of its type, target part) of the links inside the file."""
        folder, base = posixpath.split(part)
        rels = posixpath.join(folder, "_rels", base + ".rels")
        if not self.has(rels):
            return {}
        found = {}
        for link in self.tree(rels):
            if link.get("TargetMode") == "External" or not link.get("Target"):
                continue
            target = posixpath.normpath(posixpath.join("/" + folder, link.attrib["Target"]))
            kind = link.get("Type", "").rsplit("/", 1)[-1]
            found[link.get("Id", "")] = (kind, target.lstrip("/"))
        return found

    def with_parts(self, changed: dict[str, bytes], added: dict[str, bytes] | None = None) -> bytes:
        """The package with some parts replaced; order, names and dates of all parts stay.

        New parts come at the end, with a fixed date.
        """
        by_lower = {part.lower(): content for part, content in changed.items()}
        unknown = by_lower.keys() - self._by_lower_name.keys()
        if unknown:
            raise WorkbookError(f"{self.name}: no such parts to replace: {sorted(unknown)}")
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w") as target:
            target.comment = self._zip.comment
            for member in self._members:
                content = by_lower.get(member.filename.lower())
                if content is None:
                    content = self.read(member.filename)
                target.writestr(_fresh_info(member), content)
            for name, content in (added or {}).items():
                info = zipfile.ZipInfo(name)  # 1980-01-01
                info.compress_type = zipfile.ZIP_DEFLATED
                target.writestr(info, content)
        return out.getvalue()


def _fresh_info(member: zipfile.ZipInfo) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(member.filename, member.date_time)
    info.compress_type = member.compress_type
    info.external_attr = member.external_attr
    info.create_system = member.create_system
    info.comment = member.comment
    return info


def expat_parser(where: str, separator: str | None = None) -> expat.XMLParserType:
    """An XML parser that refuses document type declarations, and so every entity trick."""
    parser = expat.ParserCreate(namespace_separator=separator)
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        words = f"{where}: holds a document type declaration, which a workbook never needs "
        words += "and which can hide entity tricks"
        raise WorkbookError(words)

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    return parser


def run_parser(parser: expat.XMLParserType, pieces: Iterable[bytes], where: str) -> None:
    try:
        for piece in pieces:
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise WorkbookError(f"{where}: damaged XML ({error})") from None


def parse_xml(content: bytes, where: str) -> ElementTree.Element:
    """Elements with local names; an attribute of the relationships namespace becomes `r:name`."""
    builder = ElementTree.TreeBuilder()
    parser = expat_parser(where, separator="}")
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > MAX_XML_DEPTH:
            raise WorkbookError(f"{where}: nested more than {MAX_XML_DEPTH} deep")
        builder.start(_local(tag), {_attribute(key): v for key, v in attributes.items()})

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(_local(tag))

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    run_parser(parser, [content], where)
    return builder.close()


def _local(tag: str) -> str:
    return tag.rsplit("}", 1)[-1]


def _attribute(key: str) -> str:
    namespace, _, name = key.rpartition("}")
    return f"r:{name}" if namespace in (RELATIONSHIPS, STRICT_RELATIONSHIPS) else name


def edited(content: bytes, edits: list[tuple[int, int, bytes]]) -> bytes:
    """Bytes with each (start, end) replaced; the edits must not overlap."""
    pieces = []
    at = 0
    for start, end, replacement in sorted(edits, key=lambda edit: edit[:2]):
        if start < at:
            raise ValueError("overlapping edits")
        pieces += [content[at:start], replacement]
        at = end
    pieces.append(content[at:])
    return b"".join(pieces)
