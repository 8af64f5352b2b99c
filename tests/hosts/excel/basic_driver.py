"""Opens a macro workbook in LibreOffice and answers what is in it; runs in LibreOffice's Python.

Started as `python basic_driver.py SOFFICE PROFILE WORKBOOK`, with `[[formula, rows, columns]]` as
JSON on its input. Says `{"modules": {name: text}, "answers": [rows of cells]}`, where a cell is a
number or text.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from contextlib import suppress
from typing import Any

import uno
from com.sun.star.beans import PropertyValue

START_LIMIT = 120  # s
RUN_MACROS = 4  # com.sun.star.document.MacroExecMode.ALWAYS_EXECUTE_NO_WARN


def connect(address: str) -> Any:
    here = uno.getComponentContext()
    resolver = here.ServiceManager.createInstanceWithContext(
        "com.sun.star.bridge.UnoUrlResolver", here
    )
    end = time.monotonic() + START_LIMIT
    while True:
        try:
            return resolver.resolve(address)
        except Exception:
            if time.monotonic() > end:
                raise
            time.sleep(0.2)


def setting(name: str, value: Any) -> Any:
    item = PropertyValue()
    item.Name, item.Value = name, value
    return item


def modules(document: Any) -> dict[str, str]:
    libraries = document.BasicLibraries
    found = {}
    for library in libraries.ElementNames:
        libraries.loadLibrary(library)
        content = libraries.getByName(library)
        found.update({name: content.getByName(name) for name in content.ElementNames})
    return found


def answers(document: Any, questions: list[Any]) -> list[Any]:
    document.Sheets.insertNewByName("Questions", 0)
    sheet = document.Sheets.getByIndex(0)
    found = []
    for i, (formula, rows, columns) in enumerate(questions):
        cells = sheet.getCellRangeByPosition(0, 4 * i, columns - 1, 4 * i + rows - 1)
        if rows == columns == 1:
            cells.getCellByPosition(0, 0).setFormula(f"={formula}")
        else:
            cells.setArrayFormula(f"={formula}")
        found.append([list(row) for row in cells.getDataArray()])
    return found


def main() -> None:
    soffice, profile, workbook = sys.argv[1:]
    pipe = f"xlfuncsbasic{os.getpid()}"
    office = subprocess.Popen(
        [
            soffice, "--headless", "--invisible", "--norestore", "--nologo", "--nodefault",
            "--nofirststartwizard", f"-env:UserInstallation={uno.systemPathToFileUrl(profile)}",
            f"--accept=pipe,name={pipe};urp;",
        ],
        stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    context = connect(f"uno:pipe,name={pipe};urp;StarOffice.ComponentContext")
    desktop = context.ServiceManager.createInstanceWithContext(
        "com.sun.star.frame.Desktop", context
    )
    try:
        document = desktop.loadComponentFromURL(
            uno.systemPathToFileUrl(workbook), "_blank", 0,
            (setting("Hidden", True), setting("MacroExecutionMode", RUN_MACROS)),
        )  # fmt: skip
        questions = json.load(sys.stdin)
        print(json.dumps({"modules": modules(document), "answers": answers(document, questions)}))
        document.close(True)
    finally:
        with suppress(Exception):  # the connection ends with the office
            desktop.terminate()
        try:
            office.wait(30)
        except subprocess.TimeoutExpired:
            office.kill()


main()
