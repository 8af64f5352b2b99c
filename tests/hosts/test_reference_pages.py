"""The generated pages say what the declarations say."""

from __future__ import annotations

import pytest

from xlfuncs.hosts.reference_pages import FOLDER, PAGES


@pytest.mark.parametrize("name", list(PAGES))
def test_page_is_true(name: str) -> None:
    written = (FOLDER / name).read_text("utf-8")
    assert written == PAGES[name](), "run: python -m xlfuncs.hosts.reference_pages"
