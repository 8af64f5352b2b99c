"""What the consultant's own Purchase buys: the copy keeps to the sizes of packs that are in it; of
how many it buys of each, where there are several, selling prices decide."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from xlfuncs.workbooks.our_tables.table_cells import cell_value, named_cells
from xlfuncs.xlsx.contents import CellValue, Contents

COLUMNS = {"part": "Part", "packs": "Packs or rolls", "pack": "Pieces in each",
           "roll_length": "Length of each"}  # fmt: skip
_MOST_COLUMNS = 12  # that are searched for a header


@dataclass(frozen=True)
class Bought:
    """Packs and rolls by part, and the cost of all before tax; nothing where it is not known."""

    packs: Mapping[tuple[str, float, float], float] = field(default_factory=dict)
    parts: tuple[float, ...] = ()  # before tax, and with it: one of them may be a line

    def is_all(self, cost: object) -> bool:
        """Whether a line of this cost is all of the parts."""
        return isinstance(cost, float) and any(abs(cost - whole) < 0.005 for whole in self.parts)

    @classmethod
    def of(cls, contents: Contents) -> "Bought":
        """By the values that the workbook holds."""
        places = named_cells(contents)
        if "purchase_check" not in places:
            return cls()

        def named(name: str) -> float:
            value = cell_value(contents, places[name]) if name in places else None
            return value if isinstance(value, float) else 0.0

        sheet, row, _ = places["purchase_check"]
        heads = [cell_value(contents, (sheet, row + 1, col)) for col in range(1, _MOST_COLUMNS)]
        at = {name: col for name, head in COLUMNS.items() for col, text in enumerate(heads, 1)
              if str(text).startswith(head)}  # fmt: skip
        packs: dict[tuple[str, float, float], float] = {}
        while len(at) == len(COLUMNS):
            row += 1
            part, count, pack, roll = (cell_value(contents, (sheet, row + 1, at[name]))
                                       for name in COLUMNS)  # fmt: skip
            if not isinstance(part, str) or not part:
                break
            packs[part.lower(), _size(pack), _size(roll)] = _size(count)
        cost, tax = named("cost_of_parts"), named("tax_of_parts")
        return cls(packs, (cost - tax, cost) if cost else ())

    def kept(self, rows: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        """The offers that are bought; all of a part that is not."""
        parts = {part for part, *_ in self.packs}

        def name(row: dict[str, Any]) -> str:
            return str(row.get("part", "")).lower()

        return [
            row for row in rows
            if name(row) not in parts
            or (name(row), *(_size(row.get(n)) for n in ("pack", "roll_length"))) in self.packs
        ]  # fmt: skip

    def otherwise(self, rows: Sequence[Mapping[str, Any]]) -> Iterator[str]:
        """In words: parts of which the copy buys other packs, by its rows of Purchase."""
        copy = {(str(row["part"]).lower(), _size(row["pack"]), _size(row["length"])):
                _size(row["packs"]) for row in rows if row.get("part")}  # fmt: skip
        other = {of[0] for of, _ in self.packs.items() ^ copy.items()}
        if listed := ", ".join(sorted(other & {of[0] for of in self.packs})):
            yield f"Note: at selling prices the copy buys other packs than you do: {listed}"


def _size(value: CellValue | Any) -> float:
    return round(value, 4) if isinstance(value, float) else 0.0
