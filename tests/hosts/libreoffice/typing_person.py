"""A person at one Calc, for tests that type into, and edit, a workbook that stays open."""

from __future__ import annotations

import json
import subprocess
import zipfile
from pathlib import Path
from typing import Any, Self

from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import Installation

_SCRIPT = Path(__file__).parent / "typing_in_calc.py"


class Person:
    """`person.ask("open", path)` and so on: see the methods of typing_in_calc.Typing."""

    def __init__(self, installation: Installation, folder: Path) -> None:
        with zipfile.ZipFile(oxt.build(folder / "xlfuncs.oxt")) as archive:
            archive.extractall(folder / "extensions" / "xlfuncs")
        bundled = f"-env:BUNDLED_EXTENSIONS={(folder / 'extensions').as_uri()}"
        driver = Path(oxt.__file__).parent
        self._process = subprocess.Popen(
            [installation.python, _SCRIPT, driver, installation.soffice, folder / "profile",
             bundled],
            env=installation.environment(), stdin=subprocess.PIPE, stdout=subprocess.PIPE,
            text=True, encoding="utf-8",
        )  # fmt: skip

    def __enter__(self) -> Self:
        return self

    def ask(self, what: str, *arguments: Any) -> Any:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.write(json.dumps([what, *arguments]) + "\n")
        self._process.stdin.flush()
        answer = self._process.stdout.readline()
        assert answer, f"Calc ended at {what}"
        return json.loads(answer)

    def __exit__(self, *_: object) -> None:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.close()
        self._process.wait(60)
        self._process.stdout.close()
