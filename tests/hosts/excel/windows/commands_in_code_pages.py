"""Every command in one folder, its words in four code pages; runs in a Windows Python. Prints JSON:
{"cp437: demo": what went wrong, or nothing}."""

from __future__ import annotations

import io
import json
import os
import sys
import traceback
from pathlib import Path

PAGES = ("cp437", "cp850", "cp1252", "utf-8")


def commands(page: str) -> list[list[str]]:
    us = Path("examples") / "us"
    return [
        ["demo"], ["demo", "--units", "metric"],
        ["new", f"{page} new.xlsx"], ["new", f"{page} Łódź.xlsm", "--excel", "--units", "metric"],
        ["new", f"{page} beds.xlsx", "--beds", str(us / "handwritten_beds.csv"),
         "--mapping", str(us / "handwritten_beds.mapping.toml")],
        ["excel", "add", f"{page} new.xlsx"], ["excel", "module", f"{page}.bas"],
        ["client-copy", "invented-farm-us.xlsx", "--output", f"{page} client.xlsx"],
        ["recalculate", f"{page} new.xlsx"], ["check", "invented-farm-metric.xlsx"],
        ["map", "invented-farm-us.xlsx"], ["functions"], ["functions", "BED_AREA"],
        ["import-ledger", str(us / "exports" / "shop_2023.csv"), f"{page} shop.xlsx",
         "--currency", "USD", "--as", "drip tape=tape"],
        ["add-columns", f"{page} beds.xlsx", "--sheet", "Beds", "--add", "BED_AREA"],
        ["doctor", f"{page} Łódź.xlsm"], ["--help"],
    ]  # fmt: skip


# These may end with a number that says what they found.
FINDS = {"check", "doctor", "add-columns", "import-ledger"}


def outcome(arguments: list[str], page: str) -> str:
    """What went wrong; a command that stops with words in order is fine."""
    from xlfuncs.command_line.main import main

    real = sys.stdout, sys.stderr
    told = io.TextIOWrapper(io.BytesIO(), encoding=page)
    sys.argv[1:], sys.stdout, sys.stderr = arguments, told, told
    try:
        main()
    except SystemExit as error:
        if error.code and arguments[0] not in FINDS:
            return f"ended with {error.code}: {_words(told)}"
    except BaseException:
        return traceback.format_exc()
    finally:
        sys.stdout, sys.stderr = real
    return "" if "Traceback" not in _words(told) else _words(told)


def _words(told: io.TextIOWrapper) -> str:
    told.flush()
    buffer = told.buffer
    assert isinstance(buffer, io.BytesIO)
    return buffer.getvalue().decode(told.encoding, "replace")[-1500:]


def main() -> None:
    os.chdir(sys.argv[1])
    found = {}
    for page in PAGES:
        for arguments in commands(page):
            found[f"{page}: {' '.join(arguments)}"] = outcome(arguments, page)
    print(json.dumps(found))


if __name__ == "__main__":
    main()
