"""What a bookkeeper is not asked: days whose year stands once, units that a shop sells by.

The exports are invented; what they say is the truth.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from xlfuncs.tables.periods import ends_of
from xlfuncs.workbooks.lists.ledger.importing import import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping

SHOP = """Order,Date,Article,Qty,Unit,Total
A1,2024-03-02,Fleece 2 m wide,30,metre,54.00
A1,2024-03-02,Tarp,2,pcs,18.00
A2,2024-05-06,Rope,12,lfm,9.60
"""


def test_a_kind_of_ones_own_is_counted_in_what_the_shop_sells_by(tmp_path: Path) -> None:
    path = tmp_path / "shop.csv"
    path.write_text(SHOP)
    entries = import_ledger(path, "metric", ListMapping()).entries
    assert [(e["quantity"], e["unit"]) for e in entries] == [(30, "metre"), (2, ""), (12, "lfm")]


@pytest.mark.parametrize(("first", "last", "written"), [
    ("10-01", "12-31", "Q4 2024, 2024-Q4, Q4/24, 4Q24, 4. Quartal 2024, 4e kwartaal 2024,"
     " 4e trimestre 2024, T4 2024, 4T 2024, IV trimestre 2024, 4º trimestre de 2024,"
     " 4th quarter 2024, Oct-Dec 2024, 10/2024 - 12/2024, octobre à décembre 2024"),
    ("01-01", "03-31", "1er trimestre 2024, I trim. 2024, Jan. - Mar. 2024, Januar bis März 2024"),
    ("07-01", "12-31", "H2 2024, 2. Halbjahr 2024, 2e semestre 2024, Jul 2024 - Dec 2024"),
    ("03-01", "04-30", "2º bimestre 2024, Mar/Apr 2024, mars-avril 2024"),
    ("", "", "Q5 2024, Q1, 1/4/2024, Lot 3 t 20, A1 2024, 4 rolls 2024, 2024"),
])  # fmt: skip
def test_a_part_of_a_year_is_a_period(first: str, last: str, written: str) -> None:
    for text in written.replace(" à ", " - ").split(", "):
        assert ends_of(text) == ((f"2024-{first}", f"2024-{last}") if first else None), text
    assert ends_of("Nov - Jan 2025") == ("2024-11-01", "2025-01-31")


WATER = ListMapping(values={"kind": "water"})


@pytest.mark.parametrize(("heading", "periods"), [
    ("Bill No,Billing Period,Usage (m3),Total",
     ['"Aug 1 - Oct 31, 2024"', '"Nov 1 - Jan 31, 2025"', '"Feb 1 - Apr 30, 2025"']),
    ("Rechnung,Zeitraum,Verbrauch m³,Betrag",
     ["01.08. - 31.10.2024", "01.11.-31.01.2025", "1.2. – 30.4.2025"]),
    ("Bill No,Billing Period,Usage (m3),Total",
     ["1 Aug to 31 Oct 2024", "1 Nov to 31 Jan 2025", "1 Feb to 30 Apr 2025"]),
    ("Invoice date,Start,End,Account Number,Meter #,Water used (kL),Total",
     ["2024-08-01,2024-10-31,77-1,M5", "2024-11-01,2025-01-31,77-1,M5",
      "2025-02-01,2025-04-30,77-1,M5"]),
    ("Date,Period,Usage (m3),Amount", ["Aug-Oct 2024", "Nov-Jan 2025", "Feb-Apr 2025"]),
])  # fmt: skip
def test_days_of_bills_are_read_as_they_are_written(
    tmp_path: Path, heading: str, periods: list[str]
) -> None:
    path = tmp_path / "water.csv"
    papers = ["2024-11-05", "2025-02-05", "2025-05-05"]
    lines = [f"{paper},{days},{9 + i},{30 + i}.10"
             for i, (paper, days) in enumerate(zip(papers, periods, strict=True))]  # fmt: skip
    path.write_text("\n".join([heading, *lines]), "utf-8")
    entries = import_ledger(path, "metric", WATER).entries
    # the ledger has the day of the reading before a period's first
    assert [(str(e["period_start"]), str(e["date"]), e["quantity"]) for e in entries] == [
        ("2024-07-31", "2024-10-31", 9), ("2024-10-31", "2025-01-31", 10),
        ("2025-01-31", "2025-04-30", 11),
    ]  # fmt: skip
    assert {e["meter"] for e in entries} == {"M5" if "Meter" in heading else ""}
