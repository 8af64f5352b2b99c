"""Fetch workbooks that real people and real Excels made, from packages that ship them.

    python tests/workbooks/fetch_other_workbooks.py [FOLDER]

They are fetched rather than kept here, because their properties name their authors. Debian's
r-cran-openxlsx (MIT) and r-cran-readxl (MIT) ship pivot tables, slicers, charts, threaded comments
and thousands of computed formulas among their examples; the source distributions of xlsx2csv
(MIT), pyexcel-xlsx (BSD) and tablib (MIT) ship odd and broken-looking files among their tests.
The folder is, unless given, the one that the tests look into: XLFUNCS_OTHER_WORKBOOKS, or
xlfuncs-other-workbooks in the folder for temporary files.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tarfile
import tempfile
from pathlib import Path

DEBIAN = ("r-cran-openxlsx", "r-cran-readxl")
SOURCES = ("xlsx2csv", "pyexcel-xlsx", "tablib")
TIME_LIMIT = 180  # s for one package


def folder() -> Path:
    default = Path(tempfile.gettempdir()) / "xlfuncs-other-workbooks"
    return Path(os.environ.get("XLFUNCS_OTHER_WORKBOOKS", default))


def fetch(target: Path) -> int:
    """Fetch what can be reached; gives the number of workbooks in the folder."""
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        for package in DEBIAN:
            _run(["apt-get", "download", package], work)
        for archive in work.glob("*.deb"):
            _keep(_unpacked(archive), archive.name.partition("_")[0], target)
        for package in SOURCES:
            pip = [sys.executable, "-m", "pip", "download", "--no-deps", "--no-binary", ":all:"]
            _run([*pip, package], work)
        for archive in work.glob("*.tar.gz"):
            with tarfile.open(archive) as tar:
                _keep(tar, archive.name.partition("-")[0], target)
    return len(list(target.iterdir()))


def _run(command: list[str], work: Path) -> None:
    try:
        subprocess.run(command, cwd=work, timeout=TIME_LIMIT, capture_output=True, check=True)
    except (OSError, subprocess.SubprocessError) as error:
        print(f"{command[-1]}: not fetched ({error})", file=sys.stderr)


def _unpacked(package: Path) -> tarfile.TarFile:
    done = subprocess.run(
        ["dpkg-deb", "--fsys-tarfile", str(package)], capture_output=True, check=True
    )
    return tarfile.open(fileobj=io.BytesIO(done.stdout))


def _keep(tar: tarfile.TarFile, prefix: str, target: Path) -> None:
    """Copy the workbooks by their bare names, so that no path in an archive matters."""
    for member in tar.getmembers():
        name = Path(member.name).name
        if member.isfile() and name.endswith((".xlsx", ".xlsm")):
            stream = tar.extractfile(member)
            if stream is not None:
                (target / f"{prefix} {name}").write_bytes(stream.read())


if __name__ == "__main__":
    place = Path(sys.argv[1]) if len(sys.argv) > 1 else folder()
    print(f"{fetch(place)} workbooks in {place}")
