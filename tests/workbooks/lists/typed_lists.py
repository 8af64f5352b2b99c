"""The lists of `typed/` as files, each with its truth in default units; see typed/README.md."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import xlsxwriter

from xlfuncs.tables.garden.beds import BEDS
from xlfuncs.units import DIMENSIONS, from_base, parse

FOLDER = Path(__file__).with_name("typed")
_NUMBER = re.compile(r"-?\d+(\.\d+)?")


@dataclass(frozen=True)
class TypedList:
    """One list: what is in its file and what it means."""

    language: str
    data: dict[str, Any]

    @property
    def name(self) -> str:
        return f"{self.language}: {self.data['name']}"

    @property
    def units(self) -> str:
        return str(self.data["units"])

    def write(self, folder: Path) -> Path:
        """The list as a file in a folder."""
        path = folder / f"list.{self.data['file']}"
        text = self.data["text"].strip("\n") + "\n"
        if self.data["file"] == "xlsx":
            self._write_workbook(path, text)
        else:
            path.write_bytes(text.encode(self.data.get("encoding", "utf-8")))
        return path

    def _write_workbook(self, path: Path, text: str) -> None:
        with xlsxwriter.Workbook(str(path)) as book:
            self._write_sheet(book, self.data.get("sheet", "Beds"), text)
            if "other" in self.data:
                self._write_sheet(book, "Other", self.data["other"].strip("\n"), plain=True)

    def _write_sheet(self, book: Any, name: str, text: str, *, plain: bool = False) -> None:
        sheet = book.add_worksheet(name)
        data = {} if plain else self.data
        formats = {letter: book.add_format({"num_format": code})
                   for letter, code in data.get("formats", {}).items()}  # fmt: skip
        for row, line in enumerate(text.split("\n")):
            for column, cell in enumerate(map(str.strip, line.split("|"))):
                look = formats.get(chr(ord("A") + column))
                if cell.startswith("="):
                    formula, value = (part.strip() for part in cell.split("=>"))
                    sheet.write_formula(row, column, formula, look, float(value))
                elif _NUMBER.fullmatch(cell):
                    sheet.write_number(row, column, float(cell), look)
                elif cell in ("TRUE", "FALSE"):
                    sheet.write_boolean(row, column, cell == "TRUE")
                elif cell:
                    sheet.write_string(row, column, cell.removeprefix("'"))
        for area in data.get("merged", ()):
            first = area.split(":")[0]
            sheet.merge_range(area, "")
            row, column = int(first[1:]) - 1, ord(first[0]) - ord("A")
            words = text.split("\n")[row].split("|")[column].strip()
            sheet.write_string(row, column, words)
        for row in data.get("hidden_rows", ()):
            sheet.set_row(row - 1, None, None, {"hidden": True})
        for letters in data.get("hidden_columns", ()):
            sheet.set_column(f"{letters}:{letters}", None, None, {"hidden": True})

    @property
    def truth(self) -> list[dict[str, Any]]:
        """The beds by column name in the default units of the list's system."""
        return [
            {name: self._value(name, value)
             for name, value in zip(self.data["columns"], row, strict=True)}
            for row in self.data["beds"]
        ]  # fmt: skip

    def _value(self, name: str, value: Any) -> Any:
        dimension = BEDS[name].dimension
        if DIMENSIONS[dimension].kind == "number" and isinstance(value, str) and value:
            return from_base(parse(value, dimension), dimension, self.units)
        return value


def typed_lists() -> list[TypedList]:
    """All lists, by language."""
    return [
        TypedList(path.stem, data)
        for path in sorted(FOLDER.glob("*.toml"))
        for data in tomllib.loads(path.read_text("utf-8"))["list"]
    ]
