"""Every command in one folder: `python every_command.py FOLDER ENCODING ...`, run in a process of
its own by the tests of hard places and of Windows' code pages.

Prints JSON: under `told` the exit code and words of each command, as the terminal of each encoding
shows them, under `changed` the files that are new, gone or other than before. Whoever asks for the
network gets none, and is told on.
"""

from __future__ import annotations

import errno
import io
import json
import os
import shlex
import shutil
import sys
import traceback
from dataclasses import replace
from pathlib import Path
from typing import Any

US = Path(__file__).parents[2] / "examples" / "us"
# The command, and the file that it writes.
COMMANDS: dict[str, str] = {
    "--help": "",
    "functions": "",
    "functions BED_AREA": "",
    "doctor": "",
    "doctor farm.xlsm": "",
    "check farm.xlsx": "",
    "libreoffice status": "",
    "libreoffice build": "xlfuncs.oxt",
    "demo --for grower": "invented-farm-us.xlsx",
    "new Łódź.xlsm --excel --for grower --units metric": "Łódź.xlsm",
    "new asked.xlsx --beds beds.csv": "asked.mapping.toml",
    "new new.xlsx --beds beds.csv --mapping beds.mapping.toml --for grower": "new.xlsx",
    "add-columns own.xlsx --add BED_AREA": "own.xlsx",
    "add-sheets costs farm.xlsx --output costs.xlsx": "costs.xlsx",
    "client-copy farm.xlsx --markup 0.4": "farm-client.xlsx",
    "convert farm.xlsx --units metric": "farm-metric.xlsx",
    "designs farm.xlsx --output design.xlsx": "design.xlsx",
    "excel add farm.xlsm": "farm.xlsm",
    "excel module": "xlfuncs_functions.bas",
    "import-ledger shop.csv shop.xlsx --currency USD": "shop.xlsx",
    "import-ledger shop.csv --into books.xlsx --currency USD --yes": "books.xlsx",
    "map farm.xlsx": "farm-map.png",
    "recalculate own.xlsx --output computed.xlsx": "computed.xlsx",
    "render own.xlsx": "own.pdf",
    "print farm.xlsx --set winter": "farm-winter.pdf",
    "renew farm.xlsx --output renewed.xlsx": "renewed.xlsx",
    "sync listed.xlsx changed.csv --mapping beds.mapping.toml --take-over": "listed.xlsx",
    "this-week farm.xlsx --log rain.csv --rain 'Sun 0.4' --high 84 --low 61": "rain.csv",
}
# What these find may end them with 1 although all is well.
FINDS = {"check farm.xlsx", "doctor", "doctor farm.xlsm", "libreoffice status",
         "new asked.xlsx --beds beds.csv", "print farm.xlsx --set winter"}  # fmt: skip


def prepare(folder: Path) -> Path:
    """The folder with the files that the commands need."""
    import openpyxl

    from workbook_template.build import build, demo_inputs

    was = Path.cwd()
    os.chdir(folder)
    for name in ("handwritten_beds.csv", "handwritten_beds.mapping.toml", "exports/shop_2023.csv"):
        shutil.copy(US / name, name.split("_")[-1].replace("2023", "shop"))
    listed = Path("beds.csv").read_text("utf-8")
    Path("changed.csv").write_text(listed.replace("T1;30;", "T1;33;"), "utf-8")
    book = openpyxl.Workbook()
    for row in (["Bed", "Length (ft)", "Width (in)"], ["A", 20, 30], ["B", 30, 30]):
        book.active.append(row)
    book.active["E1"] = "=BED_AREA(B2,C2)"
    book.save("own.xlsx")
    farm = demo_inputs("us")
    beds = {None, *(row["bed"] for row in farm.tables["Beds"][:4])}  # all would take twice as long
    tables = {name: [row for row in rows if row.get("bed") in beds]
              for name, rows in farm.tables.items()}  # fmt: skip
    build(Path("farm.xlsx"), "us", replace(farm, tables=tables), edition="grower")
    for command in (
        "new farm.xlsm --excel --for grower",
        "new books.xlsx --for bookkeeper",
        "new listed.xlsx --beds beds.csv --mapping beds.mapping.toml --for grower",
    ):  # fmt: skip
        code, words = outcome(command, "utf-8")
        assert code == 0, f"{command}: {words}"
    os.chdir(was)
    return folder


class Terminals(io.TextIOWrapper):
    """One terminal of each encoding; every word goes to all of them."""

    def __init__(self, first: str, *others: str) -> None:
        super().__init__(io.BytesIO(), encoding=first)
        self.others = [io.TextIOWrapper(io.BytesIO(), encoding=other) for other in others]

    def write(self, text: str) -> int:
        for other in self.others:
            other.write(text)
        return super().write(text)

    def reconfigure(self, **settings: Any) -> None:
        for other in self.others:
            other.reconfigure(**settings)
        super().reconfigure(**settings)

    def show(self) -> str:
        shown = []
        for one in (self, *self.others):
            one.seek(0)
            shown.append(one.read())
        return "\n".join(shown)


def outcome(command: str, *encodings: str) -> tuple[int, str]:
    """What a person sees of the command whose words go to terminals of these encodings."""
    from xlfuncs.command_line.main import main

    real = sys.stdout, sys.stderr
    sys.stdout = sys.stderr = words = Terminals(*encodings)
    sys.argv[1:] = shlex.split(command)
    code: Any = 0
    try:
        main()
    except SystemExit as error:
        code = error.code or 0
    except BaseException:
        code = traceback.format_exc()
    finally:
        sys.stdout, sys.stderr = real
    said = words.show()
    return (code, said) if isinstance(code, int) else (1, f"{said}{code}")


def mistakes(told: dict[str, tuple[int, str]]) -> dict[str, str]:
    """Where a person would have seen what only we can read."""
    ours = (
        "Traceback",
        "mistake of ours",
        "com.sun.star",
        "Errno",
        "WARNING",
        "asked for a network",
    )
    return {command: words for command, (_, words) in told.items()
            if any(word in words for word in ours)}  # fmt: skip


def _no_network(event: str, args: tuple[Any, ...]) -> None:
    place = args[1] if event == "socket.connect" else None
    away = isinstance(place, tuple) and place[0] != "127.0.0.1"  # a pair of sockets on Windows
    if away or event == "socket.getaddrinfo":
        print("asked for a network", file=sys.stderr)
        raise OSError(errno.ENETUNREACH, "there is no network")


def _contents(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir()
            if file.is_file() and file.name != "fill"}  # fmt: skip


def main() -> None:
    folder, *encodings = sys.argv[1:]
    os.chdir(folder)
    sys.addaudithook(_no_network)
    before = _contents(Path())
    told = {command: outcome(command, *encodings) for command in COMMANDS}
    after = _contents(Path())
    changed = [name for name in before | after if before.get(name) != after.get(name)]
    print(json.dumps({"told": told, "changed": sorted(changed)}))


if __name__ == "__main__":
    main()
