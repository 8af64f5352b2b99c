"""What a workbook is filled with: settings by name, tables as rows by column name."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Rows = Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class Inputs:
    """Settings and tables; `invented` marks demo data, which every page then says.

    A setting that is missing takes its default; one that is "" stays blank.
    """

    settings: Mapping[str, Any] = field(default_factory=dict)
    tables: Mapping[str, Rows] = field(default_factory=dict)
    invented: bool = False
