"""What the formulas of one workbook can name: its sheets, defined names and tables."""

from bisect import insort
from collections import defaultdict
from collections.abc import Iterator

from xlfuncs.workbooks.formulas.parsing import Node, UnreadableReference, parse
from xlfuncs.xlsx.cell_references import Area, is_relative, parse_area, split_sheet
from xlfuncs.xlsx.contents import Contents, DefinedName


class WorkbookNames:
    """Looks names up as spreadsheet programs do, in any letters; what was read is kept."""

    def __init__(self, contents: Contents) -> None:
        self.contents = contents
        self.tables = contents.tables
        self.targets: dict[tuple[str, str], Area | DefinedName | None] = {}  # by sheet and text
        self._sheets = {s.name.lower(): s.name for s in contents.sheets}
        self._names = {(d.sheet, d.name.lower()): d for d in contents.names}
        self._areas: dict[DefinedName, Area | None] = {}
        self._fixed: dict[DefinedName, bool] = {}
        self._parsed: dict[str, Node] = {}
        self._filled: dict[str, dict[int, list[int]]] = {}

    def parse(self, formula: str) -> Node:
        """The parsed formula, such as a defined name's; equal ones are parsed once."""
        if formula not in self._parsed:
            self._parsed[formula] = parse(formula)
        return self._parsed[formula]

    def sheet(self, text: str) -> str:
        """The sheet of that name, in its own letters; raises UnreadableReference."""
        if "[" in text:
            raise UnreadableReference("reads another workbook, which is never followed")
        if text.lower() in self._sheets:
            return self._sheets[text.lower()]
        kind = "reads across several sheets" if ":" in text else "there is no sheet"
        raise UnreadableReference(f"{kind}: {text}")

    def defined(self, text: str, sheet: str) -> DefinedName | None:
        """The defined name that a formula on a sheet means."""
        lower = text.lower()
        return self._names.get((sheet, lower)) or self._names.get((None, lower))

    def area(self, name: DefinedName) -> Area | None:
        """The cells that a name stands for; None for a name of anything else, or that moves."""
        if name not in self._areas:
            prefix, rest = split_sheet(name.text)
            plain = (prefix or "").lower() in self._sheets and not is_relative(rest)
            self._areas[name] = parse_area(rest, self.sheet(prefix or "")) if plain else None
        return self._areas[name]

    def filled(self, sheet: str, column: int) -> list[int]:
        """The rows of a column that hold anything, as COUNTA sees it."""
        if sheet not in self._filled:
            columns = self._filled[sheet] = defaultdict(list)
            for cell in self.contents.scan(self.contents.sheet(sheet)).cells:
                if cell.formula_start >= 0 or cell.text is not None:
                    insort(columns[cell.column], cell.row)
        return self._filled[sheet].get(column, [])

    def is_fixed(self, name: DefinedName) -> bool:
        """Whether a name means the same in every cell that reads it."""
        if name not in self._fixed:
            self._fixed[name] = all(map(_is_fixed, _references(self.parse(name.text))))
        return self._fixed[name]


def _references(node: Node) -> Iterator[str]:
    if node["node_type"] == "Reference":
        yield node["reference"]
    for part in node.values():
        for inner in part if isinstance(part, list) else [part]:
            if isinstance(inner, dict):
                yield from _references(inner)


def _is_fixed(reference: str) -> bool:
    prefix, rest = split_sheet(reference)
    if rest.endswith("]"):
        return "#this row" not in rest.lower() and "@" not in rest
    return not is_relative(rest) and (prefix is not None or parse_area(rest, "") is None)
