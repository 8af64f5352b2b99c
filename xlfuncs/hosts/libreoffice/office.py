"""Calc without a screen: recalculate, read values, convert. Always with a profile of its own.

    with Office() as office:
        values = office.values(Path("beds.xlsx"))
        office.to_pdf(Path("beds.xlsx"), Path("beds.pdf"))

The user's own LibreOffice, its settings and its open documents are never touched.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import tempfile
import threading
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Any, Self

from xlfuncs.errors import CellError
from xlfuncs.hosts.libreoffice import oxt
from xlfuncs.hosts.libreoffice.installation import Installation, OfficeError, find
from xlfuncs.xlsx.cell_references import cell_name

CellValue = float | str | CellError
Values = dict[str, dict[str, CellValue]]

TIME_LIMIT = 300.0  # s for one request
_DRIVER = Path(__file__).parent / "office_driver.py"
_ERRORS = {error.value: error for error in CellError}


class Office:
    """A running Calc with our worksheet functions, to be used in a `with` statement.

    `in_process` is passed to `oxt.build`. `extension` is the folder of another, unpacked extension
    to load, None for the one of this environment; `profile` is a folder to keep as the office's
    profile, with whatever is installed there, in place of a fresh one and of the extension.
    """

    def __init__(
        self,
        *,
        in_process: bool = True,
        extension: Path | None = None,
        profile: Path | None = None,
        time_limit: float = TIME_LIMIT,
    ) -> None:
        self._in_process = in_process
        self._extension = extension
        self._profile = profile
        self._time_limit = time_limit
        self._process: subprocess.Popen[str] | None = None
        self.version = ""

    def __enter__(self) -> Self:
        installation = find()
        self._folder = tempfile.TemporaryDirectory(prefix="xlfuncs-office-")
        try:
            self._start(installation, Path(self._folder.name))
        except BaseException:
            self.__exit__()
            raise
        return self

    def _start(self, installation: Installation, folder: Path) -> None:
        options = []
        if self._profile is None:
            unpacked = folder / "extensions" / "xlfuncs"
            if self._extension is not None:
                shutil.copytree(self._extension, unpacked)
            else:
                built = oxt.build(folder / "xlfuncs.oxt", in_process=self._in_process)
                shutil.unpack_archive(built, unpacked, "zip")
            options.append(f"-env:BUNDLED_EXTENSIONS={unpacked.parent.as_uri()}")
        profile = self._profile or folder / "profile"
        self._process = subprocess.Popen(
            [installation.python, _DRIVER, installation.soffice, profile, *options],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            env=installation.environment(),
            start_new_session=True,  # so that the office can be ended together with its driver
        )
        self.version = self._read()["version"]

    def __exit__(self, *_: object) -> None:
        process, self._process = self._process, None
        if process is not None:
            with suppress(OSError):
                _pipe(process.stdin).close()
            try:
                process.wait(30)
            except subprocess.TimeoutExpired:
                _end(process)
            _pipe(process.stdout).close()
            _pipe(process.stderr).close()
        self._folder.cleanup()

    def values(self, path: Path, *, recalculate: bool = True) -> Values:
        """Values of every sheet's cells that are not empty: {sheet: {"B2": value}}.

        Everything is computed anew unless `recalculate` is false. Dates and yes or no are
        numbers, as Calc keeps them. An error that only Calc has (such as Err:522) counts as
        #VALUE!.
        """
        sheets = self._ask(do="values", path=str(path.absolute()), recalculate=recalculate)
        return {name: _by_address(rows) for name, rows in sheets.items()}

    def to_pdf(
        self, path: Path, target: Path, *, recalculate: bool = True, sheets: Sequence[str] = ()
    ) -> Path:
        """Every page of the workbook, or of some sheets, as it prints.

        From a copy: sheets and rows are hidden, which needs a lock, and beside the workbook none
        may be allowed, or another has it.
        """
        with tempfile.TemporaryDirectory(dir=self._folder.name) as folder:
            copy = Path(shutil.copyfile(path, Path(folder) / path.name))
            return self.save(
                copy, target, "calc_pdf_Export", recalculate=recalculate, sheets=sheets
            )

    def save(
        self, path: Path, target: Path, filter: str, *, recalculate: bool = True,
        sheets: Sequence[str] = (),
    ) -> Path:  # fmt: skip
        """Write through one of LibreOffice's export filters, e.g. `Calc MS Excel 2007 XML`."""
        try:
            self._ask(
                do="save", path=str(path.absolute()), target=str(target.absolute()), filter=filter,
                recalculate=recalculate, sheets=list(sheets),
            )  # fmt: skip
        except OfficeError as error:
            if "IOException" not in str(error):
                raise
            asked = "is there room on the disk, and a folder for temporary files to write in?"
            raise OfficeError(f"LibreOffice could not write {target.name}: {asked}") from None
        return target

    def _ask(self, **question: object) -> Any:
        if self._process is None:
            raise OfficeError("the office is not running; use it in a `with` statement")
        with suppress(OSError):
            stdin = _pipe(self._process.stdin)
            stdin.write(json.dumps(question) + "\n")
            stdin.flush()
        answer = self._read()
        if "failed" in answer:
            raise OfficeError(answer["failed"])
        return answer["result"]

    def _read(self) -> dict[str, Any]:
        process = self._process
        assert process is not None
        late = threading.Event()

        def give_up() -> None:
            late.set()
            _end(process)

        timer = threading.Timer(self._time_limit, give_up)
        timer.start()
        try:
            line = _pipe(process.stdout).readline()
        finally:
            timer.cancel()
        if line:
            answer: dict[str, Any] = json.loads(line)
            return answer
        if late.is_set():
            raise OfficeError(f"LibreOffice gave no answer within {self._time_limit:g} s")
        _end(process)
        words = _pipe(process.stderr).read().strip().splitlines()
        raise OfficeError(f"LibreOffice ended unexpectedly: {words[-1] if words else 'no words'}")


def _pipe(stream: IO[str] | None) -> IO[str]:
    assert stream is not None
    return stream


def _end(process: subprocess.Popen[str]) -> None:
    """End the driver and the office that it started."""
    if os.name == "posix":
        with suppress(ProcessLookupError):
            os.killpg(process.pid, signal.SIGKILL)
    else:
        subprocess.run(["taskkill", "/F", "/T", "/PID", str(process.pid)], capture_output=True)
    process.wait()


def _by_address(rows: list[list[Any]]) -> dict[str, CellValue]:
    return {
        cell_name(r, c): _ERRORS.get(value["error"], CellError.VALUE)
        if isinstance(value, dict)
        else value
        for r, row in enumerate(rows, 1)
        for c, value in enumerate(row, 1)
        if value != ""
    }
