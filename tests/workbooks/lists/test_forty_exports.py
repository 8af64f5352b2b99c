"""Forty-five invented exports, nine troubles in five languages, beside arithmetic in pandas.

The arithmetic starts from what was written into the files, day by day: neither the reader nor the
comparison of years has a part in it. Equal to the cent and the litre, or refused with its line.
"""

from __future__ import annotations

import csv
import datetime as dt
import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest

import xlfuncs
from xlfuncs.workbooks.lists.ledger.bills import ALREADY
from xlfuncs.workbooks.lists.ledger.importing import import_ledger
from xlfuncs.workbooks.lists.mapping import ListMapping

DAY = dt.timedelta(days=1)
# Bill date, from, to, meter, quantity, amount, number, currency; date format, marks, "," or ";".
LOCALES = {
    "de": ("Rechnungsdatum;Zeitraum von;Zeitraum bis;Zähler;Verbrauch m³;Betrag;"
           "Rechnungsnummer;Währung", "%d.%m.%Y", ".,", ";"),
    "fr": ("Date facture;Période du;au;Compteur;Consommation (m³);Montant TTC;N° facture;Devise",
           "%d/%m/%Y", "\u00a0,", ";"),
    "es": ("Fecha factura;Periodo desde;hasta;Contador;Consumo m³;Importe;Nº factura;Moneda",
           "%d/%m/%Y", ".,", "\t"),
    "nl": ("Factuurdatum;Periode van;t/m;Meternummer;Verbruik (m³);Bedrag incl. btw;"
           "Factuurnummer;Valuta", "%d-%m-%Y", ".,", ","),
    "it": ("Data fattura;Periodo dal;al;Contatore;Consumo (mc);Importo;Numero fattura;Valuta",
           "%d/%m/%Y", ".,", ";"),
}  # fmt: skip
# What the register shows before and after, in exports that state it beside the use.
READINGS = {
    "de": ["Zählerstand alt", "Zählerstand neu"], "fr": ["Ancien index", "Nouvel index"],
    "es": ["Lectura anterior", "Lectura actual"], "nl": ["Beginstand", "Eindstand"],
    "it": ["Lettura precedente", "Lettura attuale"],
}  # fmt: skip
REGISTER = 10_000_000  # litres, at which it returns to zero
TROUBLES = ("credit", "cancelled", "replaced", "missing", "exchange", "currency", "two_meters",
            "thousand_lines", "roll_over")  # fmt: skip


@dataclass
class Line:
    """One line as the utility meant it; litres and cents are whole."""

    before: dt.date | None
    end: dt.date | None
    meter: str
    litres: int | None
    cents: int
    number: str
    currency: str = "EUR"
    becomes: str = "counted"  # or uncounted, refused
    over: tuple[dt.date, dt.date] | None = None  # what a credit without days takes back


@dataclass
class Export:
    lines: list[Line] = field(default_factory=list)

    def bill(self, before: dt.date, end: dt.date, number: str, chance: random.Random,
             **more: Any) -> list[Line]:  # fmt: skip
        """Water, and a fixed charge for the same days; dearer from 2025 on."""
        price = 2_113 if end.year >= 2025 else 1_987  # of ten m³, in cents
        litres = chance.randrange(1_000, 1_900_000)
        made = [
            Line(before, end, "A", litres, litres * price // 10_000, number),
            Line(before, end, "A", None, 1_850, number),
        ]
        for line in made:
            for name, value in more.items():
                setattr(line, name, value)
        self.lines += made
        return made


def export(trouble: str, chance: random.Random) -> Export:
    made, day, count = Export(), dt.date(2023, 11, 17), 0
    bills = 500 if trouble == "thousand_lines" else 14
    days = 2 if trouble == "thousand_lines" else 61  # the usual ones run over New Year
    for i in range(bills):
        before, day, count = day, day + days * DAY, count + 1
        number, meter = f"R-{count}", "B" if trouble == "exchange" and i >= 7 else "A"
        if trouble == "missing" and i == 5:
            continue
        wrong = trouble == "currency" and i % 4 == 3
        other = {"currency": "CHF", "becomes": "refused"} if wrong else {}
        lines = made.bill(before, day, number, chance, meter=meter, **other)
        if trouble == "two_meters":
            made.bill(before, day, number, chance, meter="B")
        if trouble == "credit" and i % 5 == 4:  # money alone: of no line
            made.lines.append(
                Line(None, day + 9 * DAY, "A", None, -chance.randrange(100, 900), "G")
            )
        if trouble == "cancelled" and i % 4 == 1:
            water = lines[0]
            dated = (before, day) if i % 8 == 1 else (None, None)
            made.lines.append(Line(*dated, "A", water.litres if i % 8 == 1 else None, -water.cents,
                                   f"S zu {number}", over=(before, day)))  # fmt: skip
            true = made.bill(before, day, f"{number}N", chance)
            made.lines.remove(true[1])  # the fixed charge was not taken back
        if trouble == "replaced" and i % 6 == 2:
            for line in lines:
                line.becomes = "uncounted"
            made.bill(before, day + 20 * DAY, f"{number}N", chance)
            day += 20 * DAY
    return made


def number(value: int | None, places: int, marks: str) -> str:
    if value is None:
        return ""
    text = f"{value / 10**places:,.{places}f}"
    return text.translate(str.maketrans({",": marks[0], ".": marks[1]}))


def written(
    made: Export, locale: str, path: Path, *, first_day: bool, register: int | None = None
) -> Path:
    """The file, its heading on line 1; a workbook has the days of a bill in merged cells. With
    `register`, the litres that it shows at first, the readings stand in columns of their own."""
    heads, dates, marks, delimiter = LOCALES[locale]
    titles = [*heads.split(";"), *(READINGS[locale] if register is not None else ())]
    rows = []
    for line in made.lines:
        start = line.before + DAY if line.before and first_day else line.before
        bill = line.end + 5 * DAY if line.end and line.before else None
        rows.append([bill, start, line.end, line.meter, line.litres, line.cents, line.number,
                     line.currency])  # fmt: skip
        if register is not None and line.litres:
            shown = [register % REGISTER, (register := register + line.litres) % REGISTER]
            rows[-1] += [f"{litres // 1000:05}" for litres in shown]
    if path.suffix == ".csv":
        with path.open("w", encoding="utf-8-sig", newline="") as file:
            out = csv.writer(file, delimiter=delimiter)
            out.writerow(titles)
            for bill, start, end, meter, litres, cents, *rest in rows:
                typed = [day.strftime(dates) if day else "" for day in (bill, start, end)]
                out.writerow([*typed, meter, number(litres, 3, marks), number(cents, 2, marks),
                              *rest])  # fmt: skip
        return path
    book = openpyxl.Workbook()
    page = book.active
    page.append(titles)
    for row in rows:
        litres, cents = row[4:6]
        page.append([*row[:4], None if litres is None else litres / 1000, cents / 100, *row[6:]])
    for row in range(2, len(rows) + 1):
        upper, lower = rows[row - 2], rows[row - 1]
        if lower[4] is None and lower[1] and upper[:4] == lower[:4]:
            for column in "ABC":
                page.merge_cells(f"{column}{row}:{column}{row + 1}")
    book.save(path)
    return path


def by_year(made: Export) -> pd.DataFrame:
    """Litres and cents of each calendar year, each line spread over its days by pandas."""
    frames = []
    for line in made.lines:
        if line.becomes != "counted":
            continue
        before, end = line.over or (line.before, line.end)
        days = pd.date_range(before + DAY if before else end, end)
        litres = line.litres or 0
        if line.over:
            back = (o for o in made.lines if (o.before, o.end) == line.over)
            litres = -next(o.litres for o in back if o.cents == -line.cents)
        daily = {"litres": litres / len(days), "cents": line.cents / len(days)}
        frames.append(pd.DataFrame({"year": days.year, **daily}))
    return pd.concat(frames).groupby("year").sum()


def _cases() -> Iterator[Any]:
    for i, locale in enumerate(LOCALES):
        for j, trouble in enumerate(TROUBLES):
            kind = "csv" if (i + j) % 2 else "xlsx"
            yield pytest.param(locale, trouble, kind, id=f"{locale}-{trouble}-{kind}")


@pytest.mark.parametrize(("locale", "trouble", "kind"), list(_cases()))
def test_an_export_gives_what_was_written_into_it(
    locale: str, trouble: str, kind: str, tmp_path: Path
) -> None:
    made = export(trouble, random.Random(f"{locale}{trouble}"))
    first_day = list(LOCALES).index(locale) % 2 == 0
    register = REGISTER - 3_000_000 if trouble == "roll_over" else None
    path = written(made, locale, tmp_path / f"export.{kind}", first_day=first_day,
                   register=register)  # fmt: skip
    said = ListMapping(values={"kind": "water", "currency": "EUR"})
    result = import_ledger(path, "metric", said)

    # every line stands where it belongs
    numbers = {name: [i for i, line in enumerate(made.lines, 2) if line.becomes == name]
               for name in ("counted", "uncounted", "refused")}  # fmt: skip
    assert [line.line for line in result.refused] == numbers["refused"]
    assert all("is in CHF" in line.reason for line in result.refused)
    assert [line for line, _ in result.doubles] == numbers["uncounted"]
    assert all("replaced by line" in words for _, words in result.doubles)
    assert result.lines_read == len(made.lines) + 1
    missing = [words for words in result.findings if "are on no bill" in words]
    assert len(missing) == {"missing": 1, "currency": 3}.get(trouble, 0), missing

    # to the cent and the litre, in all and in each year
    counted = [entry for entry in result.entries if entry["counted"]]
    expected = by_year(made)
    used = sum(round((entry["quantity"] or 0) * 1000) for entry in counted)
    paid = sum(round(entry["amount"] * 100) for entry in counted)
    assert (used, paid) == (round(expected["litres"].sum()), round(expected["cents"].sum()))
    given = {f"{name}s": [entry[name] for entry in counted] for name in ("kind", "amount", "meter")}
    years = xlfuncs.year_on_year(
        dates=[str(entry["date"]) for entry in counted],
        quantities=[entry["quantity"] for entry in counted],
        period_starts=[e["period_start"] and str(e["period_start"]) for e in counted],
        units="metric", **given,
    ).set_index("year")  # fmt: skip
    assert sorted(years.index) == sorted(expected.index)
    for year, row in expected.iterrows():
        assert years["amount"][year] == pytest.approx(row["cents"] / 100, abs=0.0101)
        assert years["quantity"][year] == pytest.approx(row["litres"] / 1000, abs=0.0005)
    effects = years[[name for name in years if name.endswith("_effect")]].sum(axis=1)
    compared = years["change"].notna()
    assert (effects[compared] - years["change"][compared]).abs().max() < 1e-9

    # nothing is counted twice
    again = import_ledger(path, "metric", said, result.entries)
    assert again.entries == []
    known = sum(line.reason == ALREADY for line in again.refused)
    assert known == len(result.entries)
