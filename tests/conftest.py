"""For all tests."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reference engines leave files of their own where they run; keep them out of the checkout."""
    monkeypatch.chdir(tmp_path)
