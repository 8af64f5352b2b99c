"""A real LibreOffice for the tests here. Without one they are skipped, but in CI they fail."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest

from xlfuncs.hosts.libreoffice.installation import Installation, OfficeError, find
from xlfuncs.hosts.libreoffice.office import Office


@pytest.fixture(scope="session")
def installation() -> Installation:
    try:
        return find()
    except OfficeError as error:
        if os.environ.get("CI"):
            pytest.fail(f"CI must have LibreOffice: {error}")
        pytest.skip(f"needs LibreOffice: {error}")


@pytest.fixture(scope="session", params=["in-process", "worker"])
def office(request: pytest.FixtureRequest, installation: Installation) -> Iterator[Office]:
    """A running Calc with our functions, by each of the two ways."""
    with Office(in_process=request.param == "in-process") as running:
        yield running
